package supply

import (
	"fmt"
	"math/big"
	"math/rand/v2"
	"testing"
	"time"

	"quietwater/model"
	"quietwater/model/strip"
)

var planDay = time.Date(2027, 3, 1, 9, 0, 0, 0, time.UTC)

// The arithmetic of needs.md, part 2, row 2 (days after opening divided by the
// days between tests), at 90 days.
func TestPlanAgainstTheNeeds(t *testing.T) {
	for _, c := range []struct{ every, box, used, wasted int }{
		{1, 100, 90, 10},
		{2, 50, 45, 5}, {2, 100, 45, 55},
		{3, 50, 30, 20}, {3, 100, 30, 70},
		{7, 25, 12, 13}, {7, 50, 12, 38}, {7, 100, 12, 88},
		{14, 25, 6, 19},
	} {
		p := PlanOf(Offer{Strips: c.box, Sealed: model.Tub, DaysOpen: 90}, Use{c.every, 1, planDay})
		if p.Used != c.used || p.Wasted != c.wasted || p.Why != OpenTooLong {
			t.Errorf("every %d days of %d: used %d, wasted %d, %v", c.every, c.box, p.Used, p.Wasted, p.Why)
		}
	}
}

func TestPlan(t *testing.T) {
	day := func(s string) model.When {
		w, err := model.ParseWhen(s, time.UTC)
		if err != nil {
			t.Fatal(err)
		}
		return w
	}
	for _, c := range []struct {
		name    string
		o       Offer
		u       Use
		used    int
		why     Why
		ends    string
		assumed bool
	}{
		{"a small box is used up", Offer{Strips: 25, DaysOpen: 90}, Use{3, 1, planDay}, 25, UsedUp, "2027-05-14", false},
		{"two people use twice as many", Offer{Strips: 100, DaysOpen: 90}, Use{3, 2, planDay}, 60, OpenTooLong, "2027-05-29", false},
		{"singles do not mind being opened", Offer{Strips: 100, Sealed: model.Single, DaysOpen: 90}, Use{7, 1, planDay}, 100, UsedUp, "2029-01-28", false},
		{"but their date", Offer{Strips: 100, Sealed: model.Single, UseBy: day("2027-05-02")}, Use{7, 1, planDay}, 9, PastUseBy, "2027-05-02", false},
		{"the earlier of the two", Offer{Strips: 100, DaysOpen: 90, UseBy: day("2027-03-30")}, Use{1, 1, planDay}, 30, PastUseBy, "2027-03-30", false},
		{"past its date already", Offer{Strips: 100, DaysOpen: 90, UseBy: day("2027-02-28")}, Use{1, 1, planDay}, 0, PastUseBy, "2027-03-01", false},
		{"days nobody gave are 30", Offer{Strips: 100}, Use{1, 1, planDay}, 30, OpenTooLong, "2027-03-30", true},
	} {
		p := PlanOf(c.o, c.u)
		if p.Used != c.used || p.Wasted != c.o.Strips-c.used || p.Why != c.why || p.Ends.String() != c.ends || p.Assumed != c.assumed {
			t.Errorf("%s: %+v", c.name, p)
		}
	}
}

// A hundred cheap strips can be the dearer buy.
func TestCompare(t *testing.T) {
	rat := func(s string) *big.Rat { r, _ := new(big.Rat).SetString(s); return r }
	big100 := Offer{Label: "100", Strips: 100, Price: rat("20"), Currency: "EUR", DaysOpen: 90}
	small25 := Offer{Label: "25", Strips: 25, Price: rat("9.90"), Currency: "EUR", DaysOpen: 90}
	none := Offer{Label: "none", Strips: 50, DaysOpen: 90}
	plans, ok := Compare([]Offer{none, big100, small25}, Use{7, 1, planDay})
	if !ok || plans[0].Offer.Label != "25" || plans[1].Offer.Label != "100" || plans[2].Offer.Label != "none" {
		t.Errorf("the order is %v", plans)
	}
	if plans[0].PerUsed.Cmp(rat("0.825")) != 0 || plans[1].PerUsed.FloatString(4) != "1.6667" {
		t.Errorf("they cost %v and %v", plans[0].PerUsed, plans[1].PerUsed)
	}
	daily, _ := Compare([]Offer{small25, big100}, Use{1, 1, planDay})
	if daily[0].Offer.Label != "100" {
		t.Error("tested daily the big box is cheaper")
	}
	big100.Currency = "USD"
	if _, ok := Compare([]Offer{big100, small25}, Use{7, 1, planDay}); ok {
		t.Error("two currencies were set against each other")
	}
	big100.Currency = ""
	for _, offers := range [][]Offer{{big100, small25}, {small25, big100}} {
		if _, ok := Compare(offers, Use{7, 1, planDay}); ok {
			t.Error("a price in no currency was set against one in euros")
		}
	}
}

func TestOpenNext(t *testing.T) {
	until := model.OnDay(planDay.AddDate(0, 0, 20))
	for _, c := range []struct {
		left  int
		until model.When
		want  string
		why   Why
		ok    bool
	}{
		{10, model.When{}, "2027-03-21", UsedUp, true},
		{10, until, "2027-03-21", UsedUp, true},
		{30, until, "2027-03-22", OpenTooLong, true},
		{-1, until, "2027-03-22", OpenTooLong, true},
		{0, until, "2027-03-01", UsedUp, true},
		{-1, model.When{}, "", UsedUp, false},
	} {
		next, why, ok := OpenNext(c.left, c.until, Use{2, 1, planDay})
		if next.String() != c.want || why != c.why || ok != c.ok {
			t.Errorf("%d left until %v: %v %v %v", c.left, c.until, next, why, ok)
		}
	}
}

func TestPlanLaws(t *testing.T) {
	r := rand.New(rand.NewPCG(5, 6))
	for range 3000 {
		o := Offer{Strips: 1 + r.IntN(200), DaysOpen: r.IntN(200), Price: big.NewRat(int64(1+r.IntN(5000)), 100), Currency: "EUR", Sealed: model.Tub}
		if r.IntN(2) == 0 {
			o.Sealed = model.Single
		}
		if r.IntN(2) == 0 {
			o.UseBy = model.OnDay(planDay.AddDate(0, 0, r.IntN(500)-50))
		}
		u := Use{1 + r.IntN(30), 1 + r.IntN(4), planDay}
		p := PlanOf(o, u)
		name := fmt.Sprintf("%+v %+v", o, u)
		if p.Used+p.Wasted != o.Strips || p.Used < 0 || p.Wasted < 0 {
			t.Fatalf("%s: used %d, wasted %d", name, p.Used, p.Wasted)
		}
		if p.PerUsed != nil && p.PerUsed.Cmp(new(big.Rat).Quo(o.Price, big.NewRat(int64(o.Strips), 1))) < 0 {
			t.Fatalf("%s: a used strip costs less than a bought one", name)
		}
		longer := o
		longer.DaysOpen = max(o.DaysOpen, strip.PresetDaysOpen) + 10
		if !o.UseBy.IsZero() {
			longer.UseBy = model.OnDay(o.UseBy.Time().AddDate(0, 0, 10))
		}
		if PlanOf(longer, u).Used < p.Used {
			t.Fatalf("%s: what is good for longer is used less", name)
		}
	}
}
