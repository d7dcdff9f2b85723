package main

import (
	"os"
	"os/exec"
	"slices"
	"strings"
	"testing"

	"quietwater/assets"
)

// TestLicencesWhole holds the licences that the program shows and every package
// carries against the modules that are built into it on each system.
func TestLicencesWhole(t *testing.T) {
	shown := map[string]string{}
	for _, l := range assets.Licences() {
		shown[l.Name] = l.Text
	}
	var built []string
	for _, system := range []string{"linux", "windows", "darwin"} {
		cmd := exec.Command("go", "list", "-deps", "-tags", "migrated_fynedo,nodynamic", "-f", "{{with .Module}}{{if not .Main}}{{.Path}} {{.Version}}{{end}}{{end}}", ".")
		cmd.Env = append(os.Environ(), "GOOS="+system, "GOARCH=amd64", "CGO_ENABLED=1")
		out, err := cmd.Output()
		if err != nil {
			t.Fatalf("%s: %v", system, err)
		}
		for _, m := range strings.Split(string(out), "\n") {
			if m != "" && !slices.Contains(built, m) {
				built = append(built, m)
			}
		}
	}
	if len(built) < 20 {
		t.Fatalf("only %d modules: %v", len(built), built)
	}
	for _, m := range append(built, "Go, its standard library", "SQLite", "The typeface (Noto Sans)", "Codes in files") {
		text := strings.ToLower(shown[m])
		if !slices.ContainsFunc([]string{"copyright", "public domain", "unlicense"}, func(w string) bool { return strings.Contains(text, w) }) {
			t.Errorf("%s has no licence in assets/licences/all.txt: make licences", m)
		}
		delete(shown, m)
	}
	for m := range shown {
		t.Errorf("assets/licences/all.txt has %s, which is not in the program: make licences", m)
	}
}
