package i18n

import (
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"testing"

	"github.com/BurntSushi/toml"
)

func glossary(t *testing.T, tag string) map[string][]string {
	t.Helper()
	b, err := os.ReadFile(filepath.Join("glossary", tag+".toml"))
	if err != nil {
		t.Fatalf("text/%s has no glossary: %v", tag, err)
	}
	out := map[string][]string{}
	if err := toml.Unmarshal(b, &out); err != nil {
		t.Fatalf("glossary/%s.toml: %v", tag, err)
	}
	return out
}

// astray names the texts in which a concept of the English, one of words, is
// not said with the term the language has for it, which begins like one of stems.
func astray(english, said map[string]string, words, stems []string) (out []string) {
	concept := regexp.MustCompile(`(?i)\b(` + strings.Join(words, "|") + `)\b`)
	var begins []string
	for _, s := range stems {
		inside, ok := strings.CutPrefix(s, "-")
		if ok || Chinese(s) {
			begins = append(begins, regexp.QuoteMeta(inside))
			continue
		}
		begins = append(begins, `(?:^|[^\pL\pM])`+regexp.QuoteMeta(s))
	}
	term := regexp.MustCompile(strings.Join(begins, "|"))
	for _, k := range sorted(english) {
		if said[k] == "" || !concept.MatchString(placeholder.ReplaceAllString(english[k], "")) {
			continue
		}
		if !term.MatchString(strings.ToLower(said[k])) {
			out = append(out, k)
		}
	}
	return out
}

// TestGlossary: one term for one concept in each language (needs R20).
func TestGlossary(t *testing.T) {
	if testing.Short() {
		t.Skip("texts do not race")
	}
	c := mustLoad(t)
	concepts := glossary(t, source)
	english := others(c, source)
	for _, tag := range c.tags {
		if tag == source {
			continue
		}
		terms := glossary(t, tag)
		except := terms["except"]
		delete(terms, "except")
		for concept, words := range concepts {
			if len(terms[concept]) == 0 {
				t.Errorf("glossary/%s.toml: no term for %s", tag, concept)
				continue
			}
			for _, k := range astray(english, others(c, tag), words, terms[concept]) {
				if e := concept + " " + k; slices.Contains(except, e) {
					except = slices.DeleteFunc(except, func(s string) bool { return s == e })
					continue
				}
				t.Errorf("text/%s: %s says %s without %q: %s", tag, k, concept, terms[concept], c.texts(tag)[k].Other)
			}
		}
		for concept := range terms {
			if concepts[concept] == nil {
				t.Errorf("glossary/%s.toml: English has no concept %s", tag, concept)
			}
		}
		for _, e := range except {
			t.Errorf("glossary/%s.toml: the exception %q is needed no longer", tag, e)
		}
	}
}

func others(c *catalogue, tag string) map[string]string {
	out := map[string]string{}
	for k, m := range c.texts(tag) {
		out[k] = m.Other
	}
	return out
}

func TestAstray(t *testing.T) {
	english := map[string]string{"a": "Two strips left", "b": "Stripped", "c": "The strip", "d": "{{.strip}}", "e": "A strip", "f": "No strip"}
	said := map[string]string{"a": "Quedan dos tiras", "b": "Nada", "c": "La cinta", "d": "{{.strip}}", "e": "La mentira", "f": "Teststreifen"}
	if got := astray(english, said, []string{"strip", "strips"}, []string{"tira", "-streifen"}); !slices.Equal(got, []string{"c", "e"}) {
		t.Errorf("texts astray %v, want c, and e, where it only ends so", got)
	}
}
