package finding_test

import (
	"testing"

	"quietwater/i18n"
	"quietwater/model"
)

// TestSaysWhatWasRead: who has no protein pad is told of her albumin and
// creatinine pads, by every rule about protein.
func TestSaysWhatWasRead(t *testing.T) {
	for _, c := range []struct{ file, rule, en, es string }{
		{"protein-high/edge-acr.txt", "protein-high", "albumin 150 mg/L with creatinine 50 mg/dL", "albúmina 150 mg/L con creatinina 50 mg/dL"},
		{"protein-once/fires-no-creatinine.txt", "protein-once", "albumin 150 mg/L without a creatinine reading", "albúmina 150 mg/L sin lectura de creatinina"},
		{"protein-once/edge-15-mg-dl.txt", "protein-once", "albumin 15 mg/dL without a creatinine reading", "albúmina 15 mg/dL sin lectura de creatinina"},
		{"protein-once/fires.txt", "protein-once", "protein 1+ (one plus)", "proteína 1+ (una cruz)"},
	} {
		open := judge(t, c.file, readCase(t, "testdata/"+c.file)).Open
		var seen []model.Msg
		for _, f := range open {
			if m, ok := f.Why.Args["read"].(model.Msg); ok && f.Rule == c.rule {
				seen = append(seen, m)
			}
		}
		if len(seen) == 0 {
			t.Errorf("%s: %s does not say what was read", c.file, c.rule)
			continue
		}
		for lang, want := range map[string]string{"en": c.en, "es": c.es} {
			words, err := i18n.New(lang, "")
			if err != nil {
				t.Fatal(err)
			}
			if got := words.T(seen[0]); got != want {
				t.Errorf("%s: %s says %q, want %q", c.file, lang, got, want)
			}
		}
	}
}
