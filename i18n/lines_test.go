package i18n_test

import (
	"strings"
	"testing"
	"unicode"

	"quietwater/i18n"
)

func TestWords(t *testing.T) {
	for _, tt := range []struct{ text, want string }{
		{"", ""},
		{"Ring your doctor  today.", "Ring|your|doctor|today."},
		{"1.73\u00a0m² and/or self-made", "1.73\u00a0m²|and/or|self-made"},
		{"肾脏过滤。", "肾|脏|过|滤。"},
		{"（3 个月）内", "（3|个|月）|内"},
		{"高于 3.5 mmol/L（14 mg/dL）时", "高|于|3.5|mmol/L|（14|mg/dL）|时"},
		{"“微量”是什么？", "“微|量”|是|什|么？"},
	} {
		var got []string
		for _, w := range i18n.Words(tt.text) {
			got = append(got, w.Text)
		}
		if strings.Join(got, "|") != tt.want {
			t.Errorf("%q: %q, want %q", tt.text, strings.Join(got, "|"), tt.want)
		}
	}
}

// FuzzWords: words put behind each other again are the text, its white space
// counted once.
func FuzzWords(f *testing.F) {
	for _, s := range []string{"a b", "肾脏 eGFR（约）", "\u00a0x\t y\n", "क्षि त"} {
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, s string) {
		s = strings.ToValidUTF8(s, "")
		line := ""
		for _, w := range i18n.Words(s) {
			if w.Text == "" {
				t.Fatalf("%q has an empty word", s)
			}
			line = w.After(line)
		}
		want := strings.Join(strings.FieldsFunc(s, func(r rune) bool { return strings.ContainsRune(" \n\t", r) }), " ")
		if line != want {
			t.Errorf("%q came back as %q", s, line)
		}
	})
}

func TestBeginning(t *testing.T) {
	for _, c := range []struct {
		word string
		most int // letters that fit, marks not counted
		want string
	}{
		{"creatinine", 4, "crea"}, {"mg/mmol", 5, "mg/"}, {"a", 0, "a"}, {"", 3, ""}, {"नीति", 1, "नी"},
	} {
		fits := func(part string) bool {
			n := 0
			for _, r := range part {
				if !unicode.Is(unicode.M, r) {
					n++
				}
			}
			return n <= c.most
		}
		if got := i18n.Beginning(c.word, fits); got != c.want {
			t.Errorf("of %q stand %q, want %q", c.word, got, c.want)
		}
	}
}
