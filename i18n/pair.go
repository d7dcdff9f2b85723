package i18n

import (
	"fmt"
	"strings"

	"golang.org/x/text/language"

	"quietwater/model"
)

// Pair speaks a first language and, where the household wants it, a second
// beneath it. It is safe for concurrent use and never changes.
type Pair struct {
	first, second *tongue // second is nil when there is none
}

// New opens the languages named by BCP 47 tags, each served by the nearest one
// there is: es-MX by es, with the decimal sign of Mexico. A first language
// nobody serves is an error that names it; a second one that is empty, not
// served, or served by the first's texts is left out, which Second tells.
func New(first, second string) (*Pair, error) {
	c, err := load()
	if err != nil {
		return nil, err
	}
	p := &Pair{}
	if p.first, err = c.tongue(first); err != nil {
		return nil, err
	}
	if second == "" {
		return p, nil
	}
	if t, err := c.tongue(second); err == nil && t.tag != p.first.tag {
		p.second = t
	}
	return p, nil
}

func (c *catalogue) tongue(tag string) (*tongue, error) {
	t, err := parseTag(tag)
	if err != nil {
		return nil, fmt.Errorf("language %q is not a tag such as en or es: %w", tag, err)
	}
	folder, ok := c.offered(t)
	if !ok {
		return nil, fmt.Errorf("there are no texts in the language %q; there are: %s", tag, strings.Join(c.tags, ", "))
	}
	return newTongue(c, folder, t)
}

// parseTag reads BCP 47, and the form systems write it in (es_MX.UTF-8).
func parseTag(tag string) (language.Tag, error) {
	tag, _, _ = strings.Cut(tag, ".")
	tag, _, _ = strings.Cut(tag, "@")
	return language.Parse(tag)
}

// First is the tag of the first language's texts.
func (p *Pair) First() string { return p.first.tag }

// Second is the tag of the second language's texts, "" when there is none.
func (p *Pair) Second() string {
	if p.second == nil {
		return ""
	}
	return p.second.tag
}

// In speaks one language only: a page for a doctor. Of the pair's own
// languages it keeps the region; a tag nobody serves gives English.
func (p *Pair) In(tag string) *Pair {
	for _, t := range []*tongue{p.first, p.second} {
		if t != nil && t.tag == tag {
			return &Pair{first: t}
		}
	}
	t, err := p.first.cat.tongue(tag)
	if err != nil {
		t, _ = newTongue(p.first.cat, source, language.English) // was read with the catalogue
	}
	return &Pair{first: t}
}

// Swap changes first and second language over; without a second it is p.
func (p *Pair) Swap() *Pair {
	if p.second == nil {
		return p
	}
	return &Pair{first: p.second, second: p.first}
}

// T says m in the first language, in English where it lacks the text. A key
// nobody knows comes back in ⟦⟧, as does a placeholder without an argument.
func (p *Pair) T(m model.Msg) string { return p.first.say(m) }

// T2 says m in the second language, "" when there is none or when it would
// repeat the first.
func (p *Pair) T2(m model.Msg) string {
	if p.second == nil {
		return ""
	}
	s := p.second.say(m)
	if s == p.first.say(m) {
		return ""
	}
	return s
}
