package i18n_test

import (
	"slices"
	"strings"
	"testing"
	"time"

	"quietwater/i18n"
	"quietwater/model"
)

func open(t testing.TB, first, second string) *i18n.Pair {
	t.Helper()
	p, err := i18n.New(first, second)
	if err != nil {
		t.Fatal(err)
	}
	return p
}

func TestNew(t *testing.T) {
	for _, tt := range []struct{ first, second, gotFirst, gotSecond string }{
		{"en", "", "en", ""},
		{"es", "en", "es", "en"},
		{"es-MX", "en-GB", "es", "en"},
		{"en-US", "en-GB", "en", ""}, // the same texts
		{"en", "es-419", "en", "es"},
		{"es_ES.UTF-8", "", "es", ""},
		{"en", "ja", "en", ""}, // nobody serves it: left out
		{"en", "?", "en", ""},
	} {
		p := open(t, tt.first, tt.second)
		if p.First() != tt.gotFirst || p.Second() != tt.gotSecond {
			t.Errorf("New(%q, %q) speaks %q and %q, want %q and %q", tt.first, tt.second, p.First(), p.Second(), tt.gotFirst, tt.gotSecond)
		}
	}
	for _, tag := range []string{"", "ja", "no such", "C"} {
		if _, err := i18n.New(tag, ""); err == nil {
			t.Errorf("New(%q) gave no error", tag)
		}
	}
}

func TestNearest(t *testing.T) {
	for setting, want := range map[string]string{"es_MX.UTF-8": "es", "en_GB": "en", "C": "en", "C.UTF-8": "en", "": "en", "zh_CN": "zh", "fr_CA": "fr", "ja_JP": "en", "POSIX": "en"} {
		if got := i18n.Nearest(setting); got != want {
			t.Errorf("Nearest(%q) = %q, want %q", setting, got, want)
		}
	}
}

func TestLanguages(t *testing.T) {
	ls := i18n.Languages()
	if len(ls) < 2 || ls[0].Tag != "en" || ls[0].Name != "English" {
		t.Fatalf("languages %+v, want English first of at least two", ls)
	}
	for _, l := range ls {
		if l.Name == "" || l.Checked == "no" {
			t.Errorf("%+v lacks its name, or says who checked it wrongly", l)
		}
	}
}

func TestSay(t *testing.T) {
	day := model.OnDay(time.Date(2018, 8, 6, 0, 0, 0, 0, time.UTC))
	type args []any
	for _, tt := range []struct {
		lang, key string
		args      args
		want      string
	}{
		{"en", "day.in", args{"n", 1}, "in 1 day"},
		{"en", "day.in", args{"n", 2}, "in 2 days"},
		{"en", "day.in", args{"n", 1.5}, "in 1.5 days"},
		{"es", "day.in", args{"n", 1}, "dentro de 1 día"},
		{"es", "day.in", args{"n", 1.5}, "dentro de 1,5 días"},
		{"es", "urgency.soon.when", args{"n", 7}, "Vaya al médico en los próximos 7 días: llame ya"},
		{"en", "problem.twice", args{"what", model.Protein}, "Protein is there twice for the same time. Keep the one that is right."},
		{"en", "problem.unit-missing", args{"what", model.Code("egfr")}, "Kidney filtering (eGFR) needs its unit. Laboratories differ, so copy the unit from your sheet."},
		{"en", "problem.value-missing", args{"what", model.Protein}, "A value is missing for protein. Enter one."},
		{"en", "problem.did-you-mean", args{"what", model.Creatinine, "value", model.Quantity{Typed: "97", UCUM: "mg/dL"}, "other", model.Quantity{Typed: "97", UCUM: "umol/L"}},
			"Creatinine: 97 mg/dL is outside what can be entered. Did you mean 97 µmol/L?"},
		{"es", "problem.did-you-mean", args{"what", model.Code("potassium"), "value", model.Quantity{Typed: "0.50", UCUM: "mmol/L"}, "other", model.Quantity{}},
			"Potasio: 0,50 mmol/L queda fuera de lo que se puede anotar. ¿Quiso decir ?"},
		{"en", "day.ahead", args{"time", 90 * time.Minute}, "in 1 hour and 30 minutes"},
		{"en", "day.ahead", args{"time", model.T("day.tomorrow")}, "in tomorrow"},
		{"en", "day.ahead", args{"time", day}, "in 6 August 2018"},
		{"es", "day.ahead", args{"time", day}, "dentro de 6 de agosto de 2018"},
		{"en", "day.ahead", args{"time", model.Plus1}, "in 1+ (one plus)"},
		{"en", "day.ahead", args{"time", model.NoGrade}, "in "},
		{"en", "day.ahead", args{"time", []model.Msg{model.T("word.yes"), model.T("word.no"), model.T("word.unsure")}}, "in yes, no and not sure"},
		{"es", "day.ahead", args{"time", []string{"Rosa", "Inés"}}, "dentro de Rosa e Inés"},
		{"es", "day.ahead", args{"time", []string{"agua", "hielo"}}, "dentro de agua y hielo"},
		{"es", "day.ahead", args{"time", []model.Code{model.Protein, model.Blood, model.Nitrite}}, "dentro de proteína, sangre y nitrito"},
		{"en", "day.ahead", args{"time", model.AnyOf{model.T("word.yes"), model.T("word.no"), model.T("word.unsure")}}, "in yes, no or not sure"},
		{"es", "daily.list", args{"what", model.AnyOf{model.T("name.symptom.fever"), model.T("name.symptom.dark-urine")}}, "Fiebre u orina oscura"},
		{"en", "day.ahead", args{"time", []string{}}, "in "},
		{"en", "day.ahead", args{"time", "{{.n}} %s <b>"}, "in {{.n}} %s <b>"},
		{"en", "day.ahead", args{"time", model.Problem{Why: model.T("word.no")}}, "in no"},
		{"en", "day.ahead", args{"time", model.Code("no-such")}, "in no-such"},
		{"en", "day.ahead", nil, "in ⟦time⟧"},
		{"en", "no.such-key", args{"n", 1}, "⟦no.such-key⟧"},
		{"es", "no.such-key", nil, "⟦no.such-key⟧"},
		{"en", "", nil, ""},
	} {
		if got := open(t, tt.lang, "").T(model.T(tt.key, tt.args...)); got != tt.want {
			t.Errorf("%s %s %v:\n got %q\nwant %q", tt.lang, tt.key, tt.args, got, tt.want)
		}
	}
}

func TestSecond(t *testing.T) {
	p := open(t, "en", "es")
	for _, tt := range []struct {
		m           model.Msg
		first, then string
	}{
		{model.T("day.today"), "today", "hoy"},
		{model.T("name.lab.urea"), "urea", ""}, // one word for both
		{model.Msg{}, "", ""},
	} {
		if a, b := p.T(tt.m), p.T2(tt.m); a != tt.first || b != tt.then {
			t.Errorf("%v: %q and %q, want %q and %q", tt.m, a, b, tt.first, tt.then)
		}
	}
	if got := p.Swap().T(model.T("day.today")); got != "hoy" {
		t.Errorf("swapped pair says %q", got)
	}
	if q := p.In("es"); q.First() != "es" || q.Second() != "" || q.T2(model.T("day.today")) != "" {
		t.Errorf("In(es) speaks %q and %q", q.First(), q.Second())
	}
	if got := p.In("ja").First(); got != "en" {
		t.Errorf("In(ja) speaks %q, want en", got)
	}
	if got := open(t, "es-MX", "en").In("es").Number("1.5"); got != "1.5" {
		t.Errorf("In(es) of a Mexican pair writes %q, want the region's 1.5", got)
	}
}

func TestDates(t *testing.T) {
	zone := time.FixedZone("", 2*60*60)
	at := time.Date(2018, 8, 6, 8, 5, 0, 0, zone)
	en, es, fr := open(t, "en", ""), open(t, "es", ""), open(t, "fr", "")
	for _, tt := range []struct{ got, want string }{
		{en.Date(model.At(at)), "6 August 2018, 08:05"},
		{en.Date(model.OnDay(at)), "6 August 2018"},
		{en.Date(model.When{}), "no date"},
		{en.DateShort(model.At(at)), "6 Aug 2018"},
		{en.DateShort(model.When{}), "no date"},
		{es.Date(model.At(at)), "6 de agosto de 2018, 08:05"},
		{es.DateShort(model.OnDay(at)), "6 ago 2018"},
		{en.Weekday(at), "Monday"},
		{es.Weekday(at), "lunes"},
		{fr.Date(model.OnDay(time.Date(2018, 3, 1, 0, 0, 0, 0, zone))), "1er mars 2018"},
		{fr.Date(model.OnDay(time.Date(2018, 3, 11, 0, 0, 0, 0, zone))), "11 mars 2018"},
		{en.Month(8), "August"},
		{es.MonthShort(8), "ago"},
		{en.Clock(at), "08:05"},
		{en.Duration(2 * time.Hour), "2 hours"},
		{en.Duration(90 * time.Second), "1 minute and 30 seconds"},
		{en.Duration(49*time.Hour + time.Minute), "2 days and 1 hour"},
		{en.Duration(48*time.Hour + time.Minute), "2 days"},
		{en.Duration(0), "0 seconds"},
		{en.Duration(-time.Minute), "1 minute"},
		{en.Ahead(2 * time.Hour), "in 2 hours"},
		{en.Ahead(-time.Hour), "now"},
		{es.Ahead(time.Hour), "dentro de 1 hora"},
	} {
		if tt.got != tt.want {
			t.Errorf("got %q, want %q", tt.got, tt.want)
		}
	}
}

func TestRelDay(t *testing.T) {
	zone, err := time.LoadLocation("Europe/Madrid")
	if err != nil {
		t.Skip(err)
	}
	today := time.Date(2026, 3, 28, 23, 30, 0, 0, zone) // the night the clocks go forward follows
	p := open(t, "en", "")
	for days, want := range map[int]string{0: "today", 1: "tomorrow", -1: "yesterday", 2: "in 2 days", 14: "in 14 days", -3: "3 days ago", 15: "12 April 2026", -15: "13 March 2026"} {
		day := time.Date(2026, 3, 28+days, 0, 10, 0, 0, zone)
		if got := p.RelDay(day, today); got != want {
			t.Errorf("%d days away: %q, want %q", days, got, want)
		}
	}
}

func TestNames(t *testing.T) {
	en, es, ru := open(t, "en", ""), open(t, "es", ""), open(t, "ru", "")
	for _, tt := range []struct{ got, want string }{
		{en.Name(model.Strip, model.Leukocytes), "White blood cells (leukocytes)"},
		{en.Name(model.Lab, model.Creatinine), "Creatinine in blood"},
		{es.Name(model.Lab, "potassium"), "Potasio"},
		{en.Name(model.Lab, "no-such"), "No-such"},
		{en.Kind(model.Strip), "Strip test"},
		{en.Word("unsure"), "Not sure"},
		{en.Grade(model.Plus2), "2+ (two plus)"},
		{es.Grade(model.Plus2), "2+ (dos cruces)"},
		{en.Grade(99), ""},
		{en.Unit("umol/L"), "µmol/L"},
		{en.Unit("mL/min/{1.73_m2}"), "mL/min/1.73 m²"},
		{es.Unit("mL/min/{1.73_m2}"), "mL/min/1,73 m²"},
		{en.Unit("{SG}"), ""},
		{en.Unit("[pH]"), ""},
		{en.Unit("Cel"), "°C"},
		{en.Unit("mm[Hg]"), "mmHg"},
		{en.Unit("/uL"), "per µL"},
		{en.Unit("[unknown]"), "[unknown]"},
		// Russian sheets and devices print Cyrillic signs (GOST 8.417; from memory).
		{ru.Unit("mm[Hg]"), "мм рт. ст."},
		{ru.Unit("umol/L"), "мкмоль/л"},
		{ru.Unit("mL/min/{1.73_m2}"), "мл/мин/1,73 м²"},
		{ru.Unit("Cel"), "°C"},
		{ru.Unit("meq/L"), "мэкв/л"},
		{es.Quantity(model.Quantity{Typed: "1.10", UCUM: "mg/dL"}), "1,10 mg/dL"},
		{en.Quantity(model.Quantity{Typed: "1.010", UCUM: "{SG}"}), "1.010"},
		{en.Quantity(model.Quantity{Typed: "1", UCUM: "h"}), "1 hour"},
		{en.Quantity(model.Quantity{Typed: "24", UCUM: "h"}), "24 hours"},
		{en.Value(model.Strip, model.Value{Code: model.Protein, Grade: model.Plus1}), "1+ (one plus)"},
		{en.Value(model.Strip, model.Value{Code: "first-morning", Word: "unsure"}), "not sure"},
		{en.Value(model.Symptom, model.Value{Code: "fever", Number: 3}), "severe"},
		{en.Value(model.Symptom, model.Value{Code: "visible-blood", Number: model.There}), "yes"},
		{en.Value(model.Symptom, model.Value{Code: "visible-blood"}), "no"},
		{en.Value(model.Symptom, model.Value{Code: "visible-blood", Number: 3}), "severe"}, // by the plain table
		{en.Value(model.Vital, model.Value{Code: "temperature", Number: 38.2, Typed: "38.20", Unit: "Cel"}), "38.20 °C"},
		{en.Value(model.Profile, model.Value{Code: "birth-date", Word: "1947-05-02"}), "2 May 1947"},
		{en.Value(model.Profile, model.Value{Code: "language", Word: "es-MX"}), "Español"},
		{en.Value(model.PackKind, model.Value{Code: "use-by", Word: "2027-02"}), "28 February 2027"},
		{en.Value(model.PackKind, model.Value{Code: "lot", Word: "A 12"}), "A 12"},
		{en.Value(model.Lab, model.Value{Code: "newer", Word: "x"}), "x"},
	} {
		if tt.got != tt.want {
			t.Errorf("got %q, want %q", tt.got, tt.want)
		}
	}
}

// TestProblemsSpoken says every problem the model can find, in every
// language: each placeholder finds its argument.
func TestProblemsSpoken(t *testing.T) {
	var rows []model.Row
	row := func(kind, what, value, unit, when string) {
		rows = append(rows, model.Row{Number: len(rows) + 1, Person: "Rosa", When: when, Kind: kind, What: what, Value: value, Unit: unit})
	}
	const day = "2026-05-01"
	row("lab", "creatinine", "x", "umol/L", day)
	row("lab", "creatinine", "97", "", day)
	row("lab", "creatinine", "97", "kg", day)
	row("lab", "creatinine", "97", "mg/dL", day)
	row("lab", "potassium", "99", "mmol/L", day)
	row("lab", "potassium", "", "mmol/L", day)
	row("strip", "nitrite", "much", "", day)
	row("strip", "first-morning", "perhaps", "", day)
	row("strip", "first-morning", "yes", "kg", day)
	row("symptom", "fever", "1.5", "", day)
	row("profile", "language", "español", "", "")
	row("profile", "birth-date", "2/5/47", "", "")
	row("profile", "birth-date", "2999-01-01", "", "")
	row("vital", "weight", "61", "kg", "1/5/26")
	row("vital", "weight", "61", "kg", "")
	row("vital", "weight", "61", "kg", "2999-01-01")
	row("vital", "mood", "61", "kg", day)
	row("mood", "weight", "61", "kg", day)
	row("vital", "weight", "61", "kg", day)
	row("vital", "weight", "61", "kg", day)
	row("vital", "systolic", "80", "mm[Hg]", day)
	row("vital", "diastolic", "120", "mm[Hg]", day)
	row("pack", "lot", "A", "", "")
	row("note", "text", strings.Repeat("x", model.MaxText+1), "", day)
	row("note", "text", "\xff", "", day)
	n := 0
	r := model.Reader{Zone: time.UTC, Now: time.Date(2026, 6, 1, 0, 0, 0, 0, time.UTC), NewID: func() model.ID { n++; return model.ID(strings.Repeat("a", n)) }}
	_, refused := r.Read(rows)
	heard := map[string]bool{}
	for _, l := range i18n.Languages() {
		p := open(t, l.Tag, "")
		for _, ref := range refused {
			heard[ref.Why.Key] = true
			if got := p.T(ref.Why); strings.ContainsAny(got, "⟦⟧{}") || got == "" {
				t.Errorf("%s, row %d: %q", l.Tag, ref.Row, got)
			}
		}
	}
	if len(heard) < 18 {
		t.Errorf("only %d problems were heard: %v", len(heard), heard)
	}
	if !slices.ContainsFunc(refused, func(r model.Refusal) bool { return r.Why.Key == "problem.did-you-mean" }) {
		t.Error("no row asked back")
	}
}

func FuzzSay(f *testing.F) {
	f.Add("problem.twice", "what", "x")
	f.Add("day.in", "n", "2")
	f.Add("day.in", "n", "{{.n}}")
	f.Fuzz(func(t *testing.T, key, name, value string) {
		m := model.Msg{Key: key, Args: map[string]any{name: value, "v": model.Code(value), "q": model.Quantity{Typed: value, UCUM: value}}}
		p := open(t, "es", "en")
		if got := p.T(m); got == "" && key != "" {
			t.Errorf("%q said nothing", key)
		}
		p.T2(m)
	})
}

// A value handed over as such is said in each language; what was put into words
// before would stay in the first.
func TestValuesAreSaidInEachLanguage(t *testing.T) {
	p, err := i18n.New("ru", "en")
	if err != nil {
		t.Fatal(err)
	}
	for _, c := range []struct {
		v    model.ValueOf
		want [2]string
	}{
		{model.ValueOf{Kind: model.Strip, Value: model.Value{Code: "protein", Grade: model.Plus2}}, [2]string{p.Value(model.Strip, model.Value{Grade: model.Plus2}), "2+ (two plus)"}},
		{model.ValueOf{Kind: model.Symptom, Value: model.Value{Code: "tiredness", Number: 1, Typed: "1"}}, [2]string{"слабо", "mild"}},
	} {
		m := model.T("kit.said", "text", c.v)
		if got := [2]string{p.T(m), p.T2(m)}; got != c.want {
			t.Errorf("%+v is said %q, want %q", c.v, got, c.want)
		}
	}
}
