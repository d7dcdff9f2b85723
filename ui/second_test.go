package ui

import (
	"slices"
	"testing"
	"unicode"

	"quietwater/i18n"
	"quietwater/model"
	"quietwater/model/household"
	"quietwater/ui/kit"
)

// overheard notes what is said in the second language with letters of the first.
type overheard struct {
	*i18n.Pair
	leaks map[string]string
}

func (o overheard) T2(m model.Msg) string {
	s := o.Pair.T2(m)
	if m.Key != "kit.said" && slices.ContainsFunc([]rune(s), func(r rune) bool { return unicode.Is(unicode.Cyrillic, r) }) {
		o.leaks[m.Key] = s
	}
	return s
}

// A line in the second language says all of itself in that language: the days,
// grades and names of symptoms in it, too. The household's own names have no
// Cyrillic letters, so that whatever has some is of the first.
func TestTheSecondLanguageIsSpokenThroughout(t *testing.T) {
	r := fullBook()
	r = r.Apply(household.Changes{Settings: map[string]string{household.SetLanguage: "ru", household.SetSecond: "en"}})
	d := open(t, newBook(r))
	heard := overheard{d.w.words, map[string]string{}}
	d.w.kit = kit.New(heard, d.w.look).Heeding(d.w.echoes)
	d.w.safe = d.w.kit
	start := *d.book
	for _, p := range places(r) {
		d.fresh(start)
		p.open(d)
		d.settle()
		for key, said := range heard.leaks {
			t.Errorf("%s: %s says %q", p.name, key, said)
		}
		clear(heard.leaks)
	}
}
