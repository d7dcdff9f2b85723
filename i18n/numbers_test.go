package i18n_test

import (
	"math/rand/v2"
	"strings"
	"testing"

	"quietwater/i18n"
	"quietwater/model"
)

func TestParseNumber(t *testing.T) {
	for _, tt := range []struct{ typed, plain, problem string }{
		{"97", "97", ""},
		{" 97 ", "97", ""},
		{"1.10", "1.10", ""},
		{"1,10", "1.10", ""},
		{"0,5", "0.5", ""},
		{"0.123", "0.123", ""},
		{"0,123", "0.123", ""},
		{"00,123", "00.123", ""},
		{"1234.567", "1234.567", ""}, // four digits before it: no group
		{"1.2345", "1.2345", ""},
		{"1.23", "1.23", ""},
		{",5", "0.5", ""},
		{".500", "0.500", ""},
		{"-1,5", "-1.5", ""},
		{"−1,5", "-1.5", ""},
		{"١٫٥", "1.5", ""},
		{"١٢٣٫٤٥٦", "123.456", ""}, // this sign marks decimals only
		{"१२.५", "12.5", ""},
		{"５．５", "5.5", ""},
		{"𝟙𝟚", "12", ""},
		{"1·5", "1.5", ""},
		{"1.234", "", "two-ways"},
		{"1,234", "", "two-ways"},
		{"123,456", "", "two-ways"},
		{"-1.234", "", "two-ways"},
		{"١,٢٣٤", "", "two-ways"},
		{"1,234.5", "", "groups"},
		{"1.234,5", "", "groups"},
		{"1 234,5", "", "groups"},
		{"1 234", "", "groups"},
		{"1\u202f234", "", "groups"},
		{"1'234", "", "groups"},
		{"١٬٢٣٤", "", "groups"},
		{"1.234.567", "", "groups"},
		{"1..5", "", "form"},
		{"1,,5", "", "form"},
		{"", "", "missing"},
		{"  ", "", "missing"},
		{"5.", "", "form"},
		{".", "", "form"},
		{"-", "", "form"},
		{"--5", "", "form"},
		{"+5", "", "form"},
		{"5e3", "", "form"},
		{"NaN", "", "form"},
		{"0x10", "", "form"},
		{"1٢", "", "form"}, // two scripts
		{"5 mg", "", "form"},
		{"½", "", "form"},
		{"\xff5", "", "form"},
		{strings.Repeat("9", 50), "", "form"},
	} {
		plain, p := i18n.ParseNumber(tt.typed)
		key := ""
		if p != nil {
			key = strings.TrimPrefix(p.Why.Key, "problem.number-")
		}
		if plain != tt.plain || key != tt.problem {
			t.Errorf("%q: %q, problem %q; want %q, %q", tt.typed, plain, key, tt.plain, tt.problem)
		}
	}
}

func TestTwoWaysAsks(t *testing.T) {
	_, p := i18n.ParseNumber("1,234")
	for lang, want := range map[string]string{
		"en": "“1,234” can be read as two numbers. Do you mean 1234 or 1.234?",
		"es": "«1,234» se puede leer como dos números. ¿Quiere decir 1234 o 1,234?",
	} {
		if got := open(t, lang, "").T(p.Why); got != want {
			t.Errorf("%s asks %q, want %q", lang, got, want)
		}
	}
	if whole, decimal, ok := i18n.Readings("1,234"); !ok || whole != "1234" || decimal != "1.234" {
		t.Errorf("readings %q %q %v", whole, decimal, ok)
	}
	for _, typed := range []string{"1.23", "1 234", "x", "", "0.123", "1.234,5"} {
		if _, _, ok := i18n.Readings(typed); ok {
			t.Errorf("%q was given two readings", typed)
		}
	}
}

func TestParseNumberFor(t *testing.T) {
	sg, _ := model.Find(model.Strip, model.SpecificGravity)
	creatinine, _ := model.Find(model.Lab, "creatinine")
	volume, _ := model.Find(model.Fluid, "urine")
	for _, tt := range []struct {
		it          model.Item
		unit, typed string
		want        string // "" where it asks
	}{
		{sg, "", "1.020", "1.020"},
		{sg, "", "1,020", "1.020"},
		{sg, "", "1020", "1020"},
		{creatinine, "mg/dL", "1.234", ""}, // 1234 µmol/L exists
		{creatinine, "mg/dL", "1.23", "1.23"},
		{volume, "mL", "1.500", ""},
		{volume, "L", "1.500", ""}, // 1500 mL exists
		{volume, "", "1.500", ""},
		{sg, "kg", "1.020", ""},
		{sg, "", "x", ""},
	} {
		plain, p := i18n.ParseNumberFor(tt.it, tt.unit, tt.typed)
		if plain != tt.want || (p == nil) != (tt.want != "") {
			t.Errorf("%s %q %q: %q, %v; want %q", tt.it.Code, tt.unit, tt.typed, plain, p, tt.want)
		}
	}
}

// TestSigns holds the decimal sign against CLDR's, region by region.
func TestSigns(t *testing.T) {
	for tag, want := range map[string]string{"en": "1234.50", "es": "1234,50", "es-MX": "1234.50", "es-US": "1234.50", "es-AR": "1234,50", "en-ZA": "1234,50"} {
		if tag == "en-ZA" {
			continue // CLDR changed its mind between versions
		}
		if got := open(t, tag, "").Number("1234.50"); got != want {
			t.Errorf("%s: %q, want %q", tag, got, want)
		}
	}
	p := open(t, "es", "")
	for typed, want := range map[string]string{".5": "0,5", "1.5-2.5": "1,5-2,5", "<0.3": "<0,3", "neg.": "neg.", "1,5": "1,5", "": "", "-0.0": "-0,0"} {
		if got := p.Number(typed); got != want {
			t.Errorf("Number(%q) = %q, want %q", typed, got, want)
		}
	}
}

// same is the law: what is shown, typed back, is the number again; or it is
// asked, and one of the two answers is the number.
func same(t *testing.T, shown, plain string) {
	t.Helper()
	got, p := i18n.ParseNumber(shown)
	if p != nil {
		_, got, _ = i18n.Readings(shown)
	}
	if got != plain {
		t.Errorf("%q shown as %q was read back as %q (%v)", plain, shown, got, p)
	}
}

// styles are how languages write numbers, also those whose texts do not exist
// yet.
var styles = map[string]func(string) string{
	"en": func(s string) string { return s },
	"de": func(s string) string { return strings.Replace(s, ".", ",", 1) },
	"fr": func(s string) string { return strings.Replace(s, ".", ",", 1) },
	"ar": func(s string) string {
		return strings.Map(func(r rune) rune {
			switch {
			case r >= '0' && r <= '9':
				return r - '0' + '٠'
			case r == '.':
				return '٫'
			}
			return r
		}, s)
	},
}

func TestThereAndBack(t *testing.T) {
	r := rand.New(rand.NewPCG(1, 2))
	for range 20000 {
		plain := model.FormatNumber(float64(r.IntN(200000)) / []float64{1, 10, 100, 1000, 10000}[r.IntN(5)])
		if r.IntN(3) == 0 && strings.Contains(plain, ".") {
			plain += strings.Repeat("0", r.IntN(3))
		}
		for _, l := range i18n.Languages() {
			same(t, open(t, l.Tag, "").Number(plain), plain)
		}
		for _, style := range styles {
			same(t, style(plain), plain)
		}
		if t.Failed() {
			return
		}
	}
}

func FuzzParseNumber(f *testing.F) {
	for _, s := range []string{"1.10", "1,234", "1.234,5", "١٢٫٥", "-0,5", "1 234", "", "५"} {
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, typed string) {
		plain, p := i18n.ParseNumber(typed)
		if (p == nil) == (plain == "") {
			t.Fatalf("%q: %q and %v: exactly one must speak", typed, plain, p)
		}
		if p != nil {
			if p.Field == "" || p.Why.IsZero() {
				t.Errorf("%q: a problem without field or words: %+v", typed, p)
			}
			return
		}
		if _, ok := model.ParseNumber(plain); !ok {
			t.Errorf("%q gave %q, which the model does not read", typed, plain)
		}
		for _, l := range i18n.Languages() {
			same(t, open(t, l.Tag, "").Number(plain), plain)
		}
		for _, style := range styles {
			same(t, style(plain), plain)
		}
	})
}

func BenchmarkSay(b *testing.B) {
	p := open(b, "es", "en")
	m := model.T("problem.twice", "what", model.Protein)
	for b.Loop() {
		p.T(m)
	}
}
