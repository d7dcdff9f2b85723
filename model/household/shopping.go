package household

import (
	"encoding/json"
	"math/big"

	"quietwater/model"
	"quietwater/model/supply"
)

// Shopping is what the household compares before it buys strips.
type Shopping struct {
	Every, Persons int // days between tests, and how many people test
	Offers         []ShopOffer
}

// ShopOffer is an offer as somebody typed it.
type ShopOffer struct {
	ID, Label       string
	Strips          int
	Price, Currency string // a plain number; "" where not known
	Single          bool   // sealed one by one
	UseBy           string // as in the plain table; "" where not known
	DaysOpen        int    // 0 where not known
}

// Offer is the same for the arithmetic. What cannot be read is not known.
func (o ShopOffer) Offer() supply.Offer {
	out := supply.Offer{Label: o.Label, Strips: o.Strips, Currency: o.Currency, Sealed: model.Tub, DaysOpen: o.DaysOpen}
	if o.Single {
		out.Sealed = model.Single
	}
	out.UseBy, _ = model.ParseDay(o.UseBy, true)
	if _, number := model.ParseNumber(o.Price); number {
		if price, ok := new(big.Rat).SetString(o.Price); ok && price.Sign() > 0 {
			out.Price = price
		}
	}
	return out
}

// Shopping is what was compared the last time; at first one test a week by one
// person, and no offer.
func (r Records) Shopping() Shopping {
	s := Shopping{}
	_ = json.Unmarshal([]byte(r.Settings[SetShopping]), &s) // what cannot be read any more is nothing
	if s.Every < 1 {
		s.Every = 7
	}
	s.Persons = max(s.Persons, 1)
	return s
}

// KeepShopping is the change that keeps it.
func KeepShopping(s Shopping) Changes {
	return kept(SetShopping, s)
}
