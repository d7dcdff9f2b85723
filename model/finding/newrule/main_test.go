package main

import (
	"go/format"
	"os"
	"path/filepath"
	"strings"
	"testing"
)

// project makes the two folders newrule writes to.
func project(t *testing.T) string {
	t.Helper()
	root := t.TempDir()
	for _, d := range []string{"model/finding/testdata", "i18n/text/en", "i18n/text/es"} {
		if err := os.MkdirAll(filepath.Join(root, d), 0o755); err != nil {
			t.Fatal(err)
		}
	}
	for _, l := range []string{"en", "es"} {
		put(t, filepath.Join(root, "i18n/text", l, "findings.toml"), "\"finding.old.do\" = \"x\"\n\"finding.glucose.title\" = \"x\"\n")
	}
	put(t, filepath.Join(root, "model/finding/protein_once.go"), "package finding\n")
	return root
}

func put(t *testing.T, name, text string) {
	t.Helper()
	if err := os.WriteFile(name, []byte(text), 0o644); err != nil {
		t.Fatal(err)
	}
}

func read(t *testing.T, name string) string {
	t.Helper()
	b, err := os.ReadFile(name)
	if err != nil {
		t.Fatal(err)
	}
	return string(b)
}

func TestWrite(t *testing.T) {
	root := project(t)
	made, err := write(root, "foamy-urine-2")
	if err != nil || len(made) != 6 {
		t.Fatalf("made %v, %v", made, err)
	}
	code := read(t, filepath.Join(root, "model/finding/foamy_urine_2.go"))
	if tidy, err := format.Source([]byte(code)); err != nil || string(tidy) != code || !strings.Contains(code, "var foamyUrine2 = &Rule{") {
		t.Errorf("%v in\n%s", err, code)
	}
	for _, kind := range []string{"fires", "quiet", "edge"} {
		if c := read(t, filepath.Join(root, "model/finding/testdata/foamy-urine-2", kind+".txt")); !strings.Contains(c, "foamy-urine-2") {
			t.Errorf("%s: %s", kind, c)
		}
	}
	for _, l := range []string{"en", "es"} {
		c := read(t, filepath.Join(root, "i18n/text", l, "findings.toml"))
		for _, want := range []string{"finding.old.do", `"finding.foamy-urine-2.title" = ""`, `"finding.foamy-urine-2.change" = ""`} {
			if !strings.Contains(c, want) {
				t.Errorf("%s lacks %s", l, want)
			}
		}
	}
}

func TestRefuse(t *testing.T) {
	for id, why := range map[string]string{
		"protein-once": "exists", // its file
		"glucose":      "exists", // its texts
		"Upper":        "no rule's id",
		"a--b":         "no rule's id",
		"../x":         "no rule's id",
		"":             "no rule's id",
	} {
		root := project(t)
		made, err := write(root, id)
		if err == nil || !strings.Contains(err.Error(), why) || len(made) > 0 {
			t.Errorf("%q: made %v, %v", id, made, err)
		}
		if strings.Contains(read(t, filepath.Join(root, "i18n/text/en/findings.toml")), `= ""`) {
			t.Errorf("%q: grew the texts", id)
		}
	}
	if _, err := write(t.TempDir(), "new-rule"); err == nil {
		t.Error("wrote outside the project")
	}
}
