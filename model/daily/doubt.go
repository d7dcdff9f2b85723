package daily

import (
	"math"
	"slices"
	"time"

	"quietwater/model"
)

// Doubt is a question about an entry that is probably not meant as it stands.
// It is answered with yes, or by looking again.
type Doubt struct {
	ID    string // names the question, so that it is asked once
	Ask   model.Msg
	Meant *model.Value // what was probably meant instead; nil where nobody can tell
}

// Again is the doubt whether the same happened once more: its no leaves the
// entry out.
const Again = "again"

// LongAgo is the doubt about the day of an entry.
const LongAgo = "long-ago"

// The limits beyond which an entry is asked about. All are our own choice but
// the days back and the weight (needs R35, R31).
const (
	LongAgoDays  = 30
	AgainWithin  = 2 * time.Minute
	WeightPerDay = 3.0  // kg up or down
	MuchDrink    = 1500 // mL at once
	MuchUrine    = 1000 // mL at once, where it is no collection
	ColdBelow    = 34.0 // °C
	HotAbove     = 42.0 // °C
	LightAdult   = 30.0 // kg, of a first weight: later ones are held against it
	HeavyAdult   = 250.0
	weightLooks  = 30  // days back
	NearWeight   = 1.2 // times the last weight, or a part of it, is near it
	FewML        = 5.0 // less of a drink, or of urine, is a slip for litres
)

// Check lists what must be asked about e before it is kept, given what the
// person recorded before, in time order. It says nothing of what may not be
// kept at all: see [model.Entry.Validate].
func Check(e model.Entry, had []model.Entry, now time.Time) []Doubt {
	zone := now.Location()
	var out []Doubt
	ask := func(id string, args ...any) {
		out = append(out, Doubt{ID: id, Ask: model.T("daily.doubt-"+id, args...)})
	}
	if model.DaysBetween(e.When, model.OnDay(now), zone) > LongAgoDays {
		ask(LongAgo, "when", e.When)
	}
	if o, ok := again(e, had, zone); ok {
		ask(Again, "when", o.When)
	}
	slipped := false
	for _, v := range e.Values {
		if d, ok := Slip(e, v, had); ok {
			out, slipped = append(out, d), true
		}
	}
	if last, ok := jump(e, had, zone); ok && !slipped {
		now, _ := e.Value("weight")
		ask("jump", "value", quantity(now), "last", quantity(last.Value), "when", last.When, "other", otherWeight(now))
	}
	if v, ok := e.Value("weight"); ok && unlikely(e, v, had, now) {
		ask("weight", "value", quantity(v))
	}
	if v, ok := e.Value("drink"); ok && in(model.Fluid, v, "mL") > MuchDrink {
		ask("drink", "value", quantity(v))
	}
	_, collected := e.Value("urine-hours")
	if v, ok := e.Value("urine"); ok && !collected && in(model.Fluid, v, "mL") > MuchUrine {
		ask("urine", "value", quantity(v))
	}
	if v, ok := e.Value("temperature"); ok {
		if c := in(model.Vital, v, "Cel"); c < ColdBelow || c > HotAbove {
			ask("temperature", "value", quantity(v))
		}
	}
	return out
}

// Slip finds a number of an entry that another one was probably meant by: a weight whose
// point is not where the last one had it, an amount in litres where millilitres
// are asked for. It also looks at numbers that could not be kept as they stand.
func Slip(e model.Entry, v model.Value, had []model.Entry) (Doubt, bool) {
	switch k := e.Kind; {
	case k == model.Vital && v.Code == "weight":
		return pointMoved(e, v, had)
	case k == model.Fluid && (v.Code == "drink" || v.Code == "urine") && v.Unit == "mL" && v.Number > 0 && v.Number < FewML:
		if meant, ok := times(k, v, 1000); ok {
			return Doubt{"litres", model.T("daily.doubt-litres", "value", quantity(v), "other", quantity(meant)), &meant}, true
		}
	}
	return Doubt{}, false
}

// unlikely reports a first weight that few grown people have: the next one would
// be judged as a great gain, or loss, against it.
func unlikely(e model.Entry, v model.Value, had []model.Entry, now time.Time) bool {
	kg := in(model.Vital, v, "kg")
	if kg >= LightAdult && kg <= HeavyAdult {
		return false
	}
	age, known := model.FactsAt(had, e.Person, now).AgeYears(now)
	first := !slices.ContainsFunc(had, func(o model.Entry) bool {
		_, weighed := o.Value("weight")
		return o.ID != e.ID && o.Kind == model.Vital && weighed
	})
	return known && age >= 18 && first
}

// pointMoved finds a weight ten or a hundred times the last one, or a tenth of
// it, in the same unit.
func pointMoved(e model.Entry, v model.Value, had []model.Entry) (Doubt, bool) {
	for _, o := range slices.Backward(had) {
		last, weighed := o.Value("weight")
		if o.ID == e.ID || o.Kind != model.Vital || !weighed || o.When.Compare(e.When) > 0 {
			continue
		}
		was := in(model.Vital, last, "kg")
		for _, by := range []float64{0.1, 10, 0.01} {
			meant, ok := times(model.Vital, v, by)
			if x := in(model.Vital, meant, "kg"); ok && x <= was*NearWeight && x >= was/NearWeight {
				return Doubt{"point", model.T("daily.doubt-point", "value", quantity(v), "last", quantity(last), "when", o.When, "other", quantity(meant)), &meant}, true
			}
		}
		break
	}
	return Doubt{}, false
}

// times is a value times by, where that can be kept.
func times(k model.Kind, v model.Value, by float64) (model.Value, bool) {
	n := math.Round(v.Number*by*1000) / 1000
	it, _ := model.Find(k, v.Code)
	meant, ps := model.ParseValue(it, model.FormatNumber(n), v.Unit, "")
	return meant, len(ps) == 0
}

func quantity(v model.Value) model.Quantity { return model.Quantity{Typed: v.Text(), UCUM: v.Unit} }

// in converts a value of the catalogue; it knows all its units.
func in(k model.Kind, v model.Value, ucum string) float64 {
	it, _ := model.Find(k, v.Code)
	n, ok := it.In(v, ucum)
	if !ok {
		return math.NaN() // compares as nothing
	}
	return n
}

// otherWeight gives a weight in the unit it was not written in.
func otherWeight(v model.Value) model.Quantity {
	unit := "kg"
	if v.Unit == "kg" {
		unit = "[lb_av]"
	}
	return model.Quantity{Typed: model.FormatNumber(math.Round(in(model.Vital, v, unit)*10) / 10), UCUM: unit}
}

// again finds an entry that says the same at the same time: a button pressed
// twice, a slip of paper copied twice. A pressure taken a minute later is none.
func again(e model.Entry, had []model.Entry, zone *time.Location) (model.Entry, bool) {
	for _, o := range slices.Backward(had) {
		if e.When.Time().Sub(o.When.Time()) > 3*24*time.Hour { // a day alone lies up to three from where a zone has it
			break
		}
		if o.ID == e.ID || o.Kind != e.Kind || !same(o.Values, e.Values) {
			continue
		}
		near := o.When.DayOnly() == e.When.DayOnly() && model.Within(o.When, e.When, AgainWithin, zone)
		if near {
			return o, true
		}
	}
	return model.Entry{}, false
}

func same(a, b []model.Value) bool {
	return slices.EqualFunc(a, b, func(v, w model.Value) bool {
		return v.Code == w.Code && v.Grade == w.Grade && v.Word == w.Word && v.Number == w.Number && v.Unit == w.Unit
	})
}

// jump finds the last weight before e where e lies further from it than a body
// moves in that time.
func jump(e model.Entry, had []model.Entry, zone *time.Location) (Said, bool) {
	v, ok := e.Value("weight")
	if !ok {
		return Said{}, false
	}
	for _, o := range slices.Backward(had) {
		if e.When.Time().Sub(o.When.Time()) > (weightLooks+3)*24*time.Hour { // as above
			break
		}
		w, weighed := o.Value("weight")
		if o.ID == e.ID || o.Kind != model.Vital || !weighed || o.When.Compare(e.When) > 0 {
			continue
		}
		days := model.DaysBetween(o.When, e.When, zone)
		if days > weightLooks {
			break
		}
		far := math.Abs(in(model.Vital, v, "kg")-in(model.Vital, w, "kg")) > WeightPerDay*float64(max(days, 1))
		return Said{w, o.When}, far
	}
	return Said{}, false
}
