package main

import (
	"go/ast"
	"go/parser"
	"go/token"
	"io/fs"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"testing"

	"quietwater/model/finding"
)

// allowed says, for every package, what of ours and which foreign modules it
// may import besides the standard library. An arrow that is not here is a
// decision somebody must take on purpose.
var allowed = map[string][]string{
	"model":                 {},
	"model/strip":           {"model"},
	"model/photo":           {"model", "model/strip"},
	"model/renal":           {"model"},
	"model/numbers":         {"model", "model/renal"},
	"model/water":           {"model"},
	"model/pressure":        {"model"},
	"model/daily":           {"model"},
	"model/sheet":           {"model", "model/numbers", "model/renal"},
	"model/finding":         {"model", "model/strip", "model/renal", "model/numbers", "model/water", "model/pressure"},
	"model/timeline":        {"model", "model/strip", "model/finding", "model/water", "model/renal"},
	"model/merge":           {"model"},
	"model/household":       {"model/supply", "model", "model/merge", "model/strip", "model/finding", "model/timeline"},
	"i18n":                  {"model", "github.com/nicksnyder/go-i18n/v2", "golang.org/x/text", "github.com/BurntSushi/toml", "github.com/go-text/typesetting"},
	"charts":                {"model", "model/renal", "model/numbers", "model/strip", "model/finding", "model/timeline", "i18n", "charts/typeset", "github.com/wcharczuk/go-chart/v2", "github.com/golang/freetype", "golang.org/x/image"},
	"charts/typeset":        {"github.com/go-text/typesetting", "golang.org/x/image"},
	"assets":                {},
	"ui":                    {"ui/kit", "model", "model/renal", "model/numbers", "model/sheet", "model/daily", "model/water", "model/pressure", "model/strip", "model/finding", "model/timeline", "model/household", "model/todo", "model/page", "model/supply", "model/merge", "model/photo", "i18n", "charts", "assets", "fyne.io/fyne/v2"},
	"ui/kit/kittest":        {"ui/kit", "fyne.io/fyne/v2"},
	"ui/kit":                {"model", "i18n", "assets", "fyne.io/fyne/v2", "golang.org/x/image"},
	"app/session":           {"model", "model/strip", "model/merge", "model/finding", "model/household", "app/store"},
	"app/store":             {"model", "model/merge", "github.com/mattn/go-sqlite3", "github.com/gofrs/flock"},
	"app/backup":            {"model", "app/store", "app/whole", "filippo.io/age", "golang.org/x/text"},
	"app/exchange":          {"model"},
	"app/exchange/booktest": {"model"},
	"app/fhir":              {"model"},
	"app/arrival":           {},
	"app/whole":             {},
	"app/picture":           {"model", "model/photo", "github.com/bep/imagemeta", "github.com/gen2brain/heic"},
	"model/supply":          {"model", "model/strip"},
	"model/page":            {"model", "model/strip", "model/finding", "model/numbers", "model/renal", "model/pressure", "model/water", "model/sheet"},
	"model/todo":            {"model", "model/strip", "model/finding", "model/pressure", "model/household"},
	"app/calendar":          {"model", "model/todo", "github.com/arran4/golang-ical"},
	"app/cli":               {"app/moveout", "app/print", "app/fhir", "assets", "model/page", "model", "model/strip", "model/renal", "model/finding", "model/household", "model/todo", "model/merge", "model/photo", "i18n", "app/store", "app/session", "app/backup", "app/exchange", "app/calendar", "app/picture", "app/whole"},
	"app/print":             {"model", "model/strip", "model/finding", "model/todo", "model/household", "model/page", "i18n", "charts", "charts/typeset", "assets", "github.com/go-pdf/fpdf", "github.com/wcharczuk/go-chart/v2"},
	"app/moveout":           {"model", "model/household", "model/page", "model/todo", "i18n", "app/exchange", "app/fhir", "app/print", "app/calendar", "app/whole"},
	"app/voice":             {},
	"app/sound":             {"github.com/ebitengine/oto/v3"},
	"app":                   {"*"},
	"model/finding/newrule": {"model/finding"},
}

// pure packages see no clock, disk, network or randomness of their own.
func pure(pkg string) bool {
	return pkg == "model" || strings.HasPrefix(pkg, "model/") && pkg != "model/finding/newrule" || pkg == "charts" || pkg == "charts/typeset"
}

var impure = []string{"os", "os/exec", "net", "net/http", "database/sql", "math/rand", "math/rand/v2", "crypto/rand", "syscall"}

type source struct {
	pkg  string
	path string
	file *ast.File
}

// sources parses every Go file of ours that is not a test.
func sources(t *testing.T) []source {
	t.Helper()
	var out []source
	fset := token.NewFileSet()
	err := filepath.WalkDir("..", func(path string, d fs.DirEntry, err error) error {
		if err != nil {
			return err
		}
		name := d.Name()
		if d.IsDir() && (path != ".." && strings.HasPrefix(name, ".") || name == "testdata" || name == "build") {
			return fs.SkipDir
		}
		if d.IsDir() || !strings.HasSuffix(name, ".go") || strings.HasSuffix(name, "_test.go") {
			return nil
		}
		f, err := parser.ParseFile(fset, path, nil, parser.ParseComments)
		if err != nil {
			return err
		}
		rel, _ := filepath.Rel("..", filepath.Dir(path))
		out = append(out, source{filepath.ToSlash(rel), path, f})
		return nil
	})
	if err != nil || len(out) == 0 {
		t.Fatalf("found %d files: %v", len(out), err)
	}
	return out
}

func importsOf(f *ast.File) []string {
	var out []string
	for _, i := range f.Imports {
		p, _ := strconv.Unquote(i.Path.Value)
		out = append(out, p)
	}
	return out
}

// badImport says why a package may not import path, "" when it may.
func badImport(pkg, path string) string {
	list, known := allowed[pkg]
	if !known {
		return "has no line in allowed"
	}
	ours, isOurs := strings.CutPrefix(path, "quietwater/")
	foreign := strings.Contains(strings.SplitN(path, "/", 2)[0], ".")
	switch {
	case path == "fyne.io/fyne/v2/app" && pkg != "app":
		return "only app may open windows: all other tests run without a display"
	case pure(pkg) && slices.Contains(impure, path):
		return "is pure"
	case !isOurs && !foreign, slices.Contains(list, "*"):
		return ""
	case isOurs && slices.Contains(list, ours):
		return ""
	case foreign && slices.ContainsFunc(list, func(a string) bool { return path == a || strings.HasPrefix(path, a+"/") }):
		return ""
	}
	return "may not"
}

func TestImports(t *testing.T) {
	seen := map[string]bool{}
	for _, s := range sources(t) {
		seen[s.pkg] = true
		for _, p := range importsOf(s.file) {
			if why := badImport(s.pkg, p); why != "" {
				t.Errorf("%s imports %s: %s %s", s.path, p, s.pkg, why)
			}
		}
	}
	for pkg := range allowed {
		if !seen[pkg] {
			t.Errorf("allowed names %s, which is gone", pkg)
		}
	}
}

func TestImportRuleCanFail(t *testing.T) {
	for _, bad := range [][2]string{
		{"model", "fyne.io/fyne/v2"}, {"model/finding", "database/sql"}, {"model", "os"}, {"ui", "quietwater/app/store"},
		{"app/store", "quietwater/ui"}, {"ui/kit", "fyne.io/fyne/v2/app"}, {"ui", "github.com/mattn/go-sqlite3"}, {"nowhere", "fmt"},
	} {
		if badImport(bad[0], bad[1]) == "" {
			t.Errorf("%s could import %s", bad[0], bad[1])
		}
	}
}

func TestPackageComments(t *testing.T) {
	comments := map[string]int{}
	for _, s := range sources(t) {
		comments[s.pkg] += 0
		if s.file.Doc != nil {
			comments[s.pkg]++
		}
	}
	for pkg, n := range comments {
		if n != 1 {
			t.Errorf("%s has %d package comments, wants exactly one that says what it owns", pkg, n)
		}
	}
}

// TestNoClock keeps time an argument: a reading of the clock inside the model,
// the charts or a screen could not be tested and would differ between them.
func TestNoClock(t *testing.T) {
	for _, s := range sources(t) {
		if !pure(s.pkg) && s.pkg != "ui" {
			continue
		}
		ast.Inspect(s.file, func(n ast.Node) bool {
			if sel, ok := n.(*ast.SelectorExpr); ok {
				if x, ok := sel.X.(*ast.Ident); ok && x.Name == "time" && slices.Contains([]string{"Now", "Since", "Until"}, sel.Sel.Name) {
					t.Errorf("%s calls time.%s: take the time as an argument", s.path, sel.Sel.Name)
				}
			}
			return true
		})
	}
}

var letters = regexp.MustCompile(`\pL`)

// TestWordsInCode keeps words out of the screens: a string with a letter given
// straight to a toolkit constructor would be in one language only.
func TestWordsInCode(t *testing.T) {
	for _, s := range sources(t) {
		if s.pkg != "ui" && s.pkg != "ui/kit" {
			continue
		}
		ast.Inspect(s.file, func(n ast.Node) bool {
			call, ok := n.(*ast.CallExpr)
			if !ok {
				return true
			}
			sel, ok := call.Fun.(*ast.SelectorExpr)
			if !ok || !strings.HasPrefix(sel.Sel.Name, "New") {
				return true
			}
			if x, ok := sel.X.(*ast.Ident); !ok || x.Name != "widget" && x.Name != "canvas" && x.Name != "dialog" {
				return true
			}
			for _, a := range call.Args {
				if lit, ok := a.(*ast.BasicLit); ok && lit.Kind == token.STRING && letters.MatchString(lit.Value) {
					t.Errorf("%s: %s.%s(%s): words belong into i18n/text", s.path, sel.X, sel.Sel.Name, lit.Value)
				}
			}
			return true
		})
	}
}

// TestTopLevel keeps the root to what the house agreed on.
func TestTopLevel(t *testing.T) {
	want := []string{".ci", ".git", ".gitignore", "DEVELOPERS.md", "FyneApp.toml", "LICENSE", "Makefile", "README.md", "app", "assets", "build", "charts", "go.mod", "go.sum", "i18n", "model", "ui"}
	have, err := os.ReadDir("..")
	if err != nil {
		t.Fatal(err)
	}
	for _, e := range have {
		if !slices.Contains(want, e.Name()) && filepath.Ext(e.Name()) != ".test" && filepath.Ext(e.Name()) != ".prof" {
			t.Errorf("%s does not belong at the top level", e.Name())
		}
	}
}

// TestDevelopersPage keeps the generated table of all rules current.
func TestDevelopersPage(t *testing.T) {
	page, err := os.ReadFile("../DEVELOPERS.md")
	if err != nil {
		t.Fatal(err)
	}
	if !strings.Contains(string(page), strings.TrimSpace(finding.Table())) {
		t.Error("the table of rules in DEVELOPERS.md is not current: put in model/finding/testdata/rules.md")
	}
}
