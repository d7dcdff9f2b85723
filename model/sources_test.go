package model

import (
	"io/fs"
	"net/url"
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"testing"
	"time"
)

var doiForm = regexp.MustCompile(`^10\.\d{4,9}/\S+$`)

func TestSourcesWhole(t *testing.T) {
	meta := map[SourceID]bool{CommonPractice: true, FromMemory: true, OurChoice: true}
	seen := map[SourceID]bool{}
	for _, s := range Sources() {
		if seen[s.ID] || !answerCode.MatchString(string(s.ID)) {
			t.Errorf("%q: id is there twice or is not of small letters, digits and hyphens", s.ID)
		}
		seen[s.ID] = true
		if s.Citation == "" {
			t.Errorf("%s has no citation", s.ID)
		}
		day, _, _ := strings.Cut(s.Checked, ",")
		if _, err := time.Parse("2006-01-02", day); err != nil {
			t.Errorf("%s: checked %q", s.ID, s.Checked)
		}
		u, err := url.Parse(s.URL)
		switch {
		case meta[s.ID]:
			if s.DOI+s.URL != "" {
				t.Errorf("%s stands for no publication but has an address", s.ID)
			}
		case s.DOI == "" && s.URL == "":
			t.Errorf("%s has neither DOI nor URL", s.ID)
		case s.DOI != "" && !doiForm.MatchString(s.DOI):
			t.Errorf("%s: %q is no DOI", s.ID, s.DOI)
		case s.URL != "" && (err != nil || u.Scheme != "https" || u.Host == ""):
			t.Errorf("%s: %q is no address", s.ID, s.URL)
		}
		if got, ok := FindSource(s.ID); !ok || got != s {
			t.Errorf("%s is not found", s.ID)
		}
	}
	if _, ok := FindSource("nobody1900"); ok {
		t.Error("a source of nobody is found")
	}
	reportUnused(t)
}

// reportUnused prints sources that no other Go file of the model names.
func reportUnused(t *testing.T) {
	var text strings.Builder
	err := filepath.WalkDir(".", func(path string, d fs.DirEntry, err error) error {
		if err != nil || filepath.Ext(path) != ".go" || path == "sources.go" || strings.HasSuffix(path, "_test.go") {
			return err
		}
		b, err := os.ReadFile(path)
		text.Write(b)
		return err
	})
	if err != nil {
		t.Fatal(err)
	}
	for _, s := range Sources() {
		if !strings.Contains(text.String(), `"`+string(s.ID)+`"`) && s.Citation != "" && len(s.DOI)+len(s.URL) > 0 {
			t.Logf("unused: %s", s.ID)
		}
	}
}
