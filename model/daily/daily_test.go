package daily

import (
	"slices"
	"testing"
	"time"

	"quietwater/model"
)

var (
	zone = time.FixedZone("", 3600)
	now  = time.Date(2026, 3, 10, 9, 0, 0, 0, zone)
)

// read makes an entry from plain-table words.
func read(t testing.TB, when string, k model.Kind, cells ...string) model.Entry {
	t.Helper()
	w, err := model.ParseWhen(when, zone)
	if err != nil {
		t.Fatal(err)
	}
	e := model.Entry{ID: model.ID(when + string(k) + cells[0]), Kind: k, When: w}
	for i := 0; i < len(cells); i += 3 {
		it, ok := model.Find(k, model.Code(cells[i]))
		if !ok {
			t.Fatalf("no %s %s", k, cells[i])
		}
		v, ps := model.ParseValue(it, cells[i+1], cells[i+2], "")
		if len(ps) > 0 {
			t.Fatal(ps)
		}
		e.Values = append(e.Values, v)
	}
	return e
}

// Every symptom of the catalogue is asked for once, and yes-or-no ones are
// symptoms.
func TestAreasWhole(t *testing.T) {
	var asked []model.Code
	for _, a := range Areas() {
		asked = append(asked, a.Codes...)
	}
	for _, it := range model.ItemsOf(model.Symptom) {
		n := 0
		for _, c := range asked {
			if c == it.Code {
				n++
			}
		}
		if n != 1 {
			t.Errorf("%s is asked for %d times", it.Code, n)
		}
	}
	for _, c := range asked {
		if _, ok := model.Find(model.Symptom, c); !ok {
			t.Errorf("%s is no symptom", c)
		}
	}
}

func TestStanding(t *testing.T) {
	entries := []model.Entry{
		read(t, "2026-03-01", model.Symptom, "cramps", "2", ""),          // too long ago
		read(t, "2026-03-03", model.Symptom, "itching", "1", ""),         // seven days
		read(t, "2026-03-08 20:00", model.Symptom, "vomiting", "2", ""),  // gone since
		read(t, "2026-03-09 08:00", model.Symptom, "tiredness", "1", ""), // worse since
		read(t, "2026-03-09 08:00", model.Symptom, "vomiting", "0", ""),
		read(t, "2026-03-09 20:00", model.Symptom, "tiredness", "2", ""),
		read(t, "2026-03-09 20:00", model.Symptom, "ankle-swelling", "1", ""),
	}
	var got []string
	for _, s := range Standing(entries, now) {
		got = append(got, string(s.Value.Code)+" "+s.Value.Text())
	}
	if want := []string{"ankle-swelling 1", "tiredness 2", "itching 1"}; !slices.Equal(got, want) {
		t.Errorf("standing are %v, want %v", got, want)
	}
}

func TestCheck(t *testing.T) {
	weighed := read(t, "2026-03-09 08:00", model.Vital, "weight", "70", "kg")
	born := func(day string) []model.Entry {
		return []model.Entry{{ID: "p", Kind: model.Profile, Values: []model.Value{{Code: "birth-date", Word: day}}}}
	}
	drank := read(t, "2026-03-10 08:59", model.Fluid, "drink", "200", "mL")
	for _, c := range []struct {
		name string
		e    model.Entry
		had  []model.Entry
		want []string
	}{
		{"a glass", read(t, "2026-03-10 09:00", model.Fluid, "drink", "200", "mL"), nil, nil},
		{"30 days back", read(t, "2026-02-08", model.Vital, "weight", "70", "kg"), nil, nil},
		{"31 days back", read(t, "2026-02-07", model.Vital, "weight", "70", "kg"), nil, []string{"long-ago"}},
		{"the same glass a minute later", read(t, "2026-03-10 09:00", model.Fluid, "drink", "200", "mL"), []model.Entry{drank}, []string{"again"}},
		{"another glass a minute later", read(t, "2026-03-10 09:00", model.Fluid, "drink", "150", "mL"), []model.Entry{drank}, nil},
		{"the same glass three minutes later", read(t, "2026-03-10 09:02", model.Fluid, "drink", "200", "mL"), []model.Entry{drank}, nil},
		{"the same glass, its day alone", read(t, "2026-03-10", model.Fluid, "drink", "200", "mL"), []model.Entry{drank}, nil},
		{"the same day alone twice", read(t, "2026-03-10", model.Fluid, "drink", "200", "mL"),
			[]model.Entry{read(t, "2026-03-10", model.Fluid, "drink", "200", "mL"), drank}, nil}, // the same ID: it is changed
		{"3 kg in a day", read(t, "2026-03-10 08:00", model.Vital, "weight", "73", "kg"), []model.Entry{weighed}, nil},
		{"more than 3 kg in a day", read(t, "2026-03-10 08:00", model.Vital, "weight", "73.1", "kg"), []model.Entry{weighed}, []string{"jump"}},
		{"6 kg in two days", read(t, "2026-03-11 08:00", model.Vital, "weight", "76", "kg"), []model.Entry{weighed}, nil},
		{"down", read(t, "2026-03-10 08:00", model.Vital, "weight", "66.9", "kg"), []model.Entry{weighed}, []string{"jump"}},
		{"pounds taken for kilograms", read(t, "2026-03-10 08:00", model.Vital, "weight", "70", "[lb_av]"), []model.Entry{weighed}, []string{"jump"}},
		{"a comma forgotten", read(t, "2026-03-10 08:00", model.Vital, "weight", "7.1", "kg"), []model.Entry{weighed}, []string{"point"}},
		{"a comma forgotten in pounds", read(t, "2026-03-10 08:00", model.Vital, "weight", "15.6", "[lb_av]"), []model.Entry{weighed}, []string{"point"}},
		{"a child's weight, and no last one near", read(t, "2026-03-10 08:00", model.Vital, "weight", "9", "kg"), []model.Entry{weighed}, []string{"jump"}},
		{"a first weight, of a grown person", read(t, "2026-03-10 08:00", model.Vital, "weight", "7.25", "kg"), born("1948-03-09"), []string{"weight"}},
		{"a heavy first weight", read(t, "2026-03-10 08:00", model.Vital, "weight", "260", "kg"), born("1948-03-09"), []string{"weight"}},
		{"a first weight, light but likely", read(t, "2026-03-10 08:00", model.Vital, "weight", "34", "kg"), born("1948-03-09"), nil},
		{"a first weight, of a child", read(t, "2026-03-10 08:00", model.Vital, "weight", "12.5", "kg"), born("2024-03-09"), nil},
		{"a first weight, of nobody knows what age", read(t, "2026-03-10 08:00", model.Vital, "weight", "12.5", "kg"), nil, nil},
		{"litres for millilitres", read(t, "2026-03-10 08:00", model.Fluid, "drink", "1.5", "mL"), nil, []string{"litres"}},
		{"a sip", read(t, "2026-03-10 08:00", model.Fluid, "drink", "5", "mL"), nil, nil},
		{"litres of urine", read(t, "2026-03-10 08:00", model.Fluid, "urine", "1.8", "mL", "urine-hours", "24", "h"), nil, []string{"litres"}},
		{"no urine", read(t, "2026-03-10 08:00", model.Fluid, "urine", "0", "mL"), nil, nil},
		{"the same weight in pounds", read(t, "2026-03-10 08:00", model.Vital, "weight", "154.5", "[lb_av]"), []model.Entry{weighed}, nil},
		{"later ones do not count", read(t, "2026-03-08 08:00", model.Vital, "weight", "60", "kg"), []model.Entry{weighed}, nil},
		{"nor do very old ones", read(t, "2026-03-10 08:00", model.Vital, "weight", "40", "kg"),
			[]model.Entry{read(t, "2026-02-07", model.Vital, "weight", "70", "kg")}, nil},
		{"at once", read(t, "2026-03-10 08:00", model.Fluid, "drink", "1500", "mL"), nil, nil},
		{"a litre and a half and more at once", read(t, "2026-03-10 08:00", model.Fluid, "drink", "1.6", "L"), nil, []string{"drink"}},
		{"much urine at once", read(t, "2026-03-10 08:00", model.Fluid, "urine", "1001", "mL"), nil, []string{"urine"}},
		{"a collection", read(t, "2026-03-10 08:00", model.Fluid, "urine", "2400", "mL", "urine-hours", "24", "h"), nil, nil},
		{"34 degrees", read(t, "2026-03-10 08:00", model.Vital, "temperature", "34", "Cel"), nil, nil},
		{"under 34 degrees", read(t, "2026-03-10 08:00", model.Vital, "temperature", "33.9", "Cel"), nil, []string{"temperature"}},
		{"over 42 degrees", read(t, "2026-03-10 08:00", model.Vital, "temperature", "108", "[degF]"), nil, []string{"temperature"}},
	} {
		var got []string
		for _, d := range Check(c.e, c.had, now) {
			got = append(got, d.ID)
		}
		if !slices.Equal(got, c.want) {
			t.Errorf("%s: asked %v, want %v", c.name, got, c.want)
		}
	}
}

// A slip names what was meant, also where the number could not be kept.
func TestSlip(t *testing.T) {
	had := []model.Entry{read(t, "2025-03-09 08:00", model.Vital, "weight", "63.5", "kg"), read(t, "2026-03-11 08:00", model.Vital, "weight", "6", "kg")}
	at := model.At(now)
	for _, c := range []struct {
		k           model.Kind
		code        model.Code
		typed, unit string
		want        string
	}{
		{model.Vital, "weight", "635", "kg", "63.5 kg"},
		{model.Vital, "weight", "6350", "kg", "63.5 kg"},
		{model.Vital, "weight", "6.35", "kg", "63.5 kg"},
		{model.Vital, "weight", "1400", "[lb_av]", "140 [lb_av]"},
		{model.Vital, "weight", "762", "kg", "76.2 kg"},
		{model.Vital, "weight", "763", "kg", ""}, // 76.3 is no weight near the last
		{model.Vital, "weight", "140", "kg", ""},
		{model.Vital, "temperature", "365", "Cel", ""},
		{model.Fluid, "drink", "0.3", "mL", "300 mL"},
		{model.Fluid, "drink", "0.3", "L", ""},
		{model.Fluid, "drink", "0.0001", "mL", ""},
	} {
		n, _ := model.ParseNumber(c.typed)
		d, ok := Slip(model.Entry{Kind: c.k, When: at}, model.Value{Code: c.code, Number: n, Typed: c.typed, Unit: c.unit}, had)
		got := ""
		if ok {
			got = d.Meant.Text() + " " + d.Meant.Unit
		}
		if got != c.want {
			t.Errorf("%s %s %s: meant %q, want %q", c.code, c.typed, c.unit, got, c.want)
		}
	}
}
