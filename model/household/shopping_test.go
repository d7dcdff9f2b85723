package household

import (
	"reflect"
	"testing"

	"quietwater/model"
)

func TestShopping(t *testing.T) {
	if s := (Records{}).Shopping(); s.Every != 7 || s.Persons != 1 || s.Offers != nil {
		t.Errorf("at first %+v", s)
	}
	want := Shopping{2, 2, []ShopOffer{{ID: "a", Label: "Big", Strips: 100, Price: "20.50", Currency: "EUR", UseBy: "2027-02", DaysOpen: 90}}}
	r := Records{}.Apply(KeepShopping(want))
	if got := r.Shopping(); !reflect.DeepEqual(got, want) {
		t.Errorf("kept %+v", got)
	}
	o := want.Offers[0].Offer()
	if o.Price.FloatString(2) != "20.50" || o.UseBy.String() != "2027-02-28" || o.Sealed != model.Tub {
		t.Errorf("read as %+v", o)
	}
	for _, price := range []string{"", "1/3", "-2", "0", "1e3", "cheap"} {
		if (ShopOffer{Price: price}).Offer().Price != nil {
			t.Errorf("%q is a price", price)
		}
	}
}
