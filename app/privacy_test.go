package main

import (
	"go/ast"
	"go/token"
	"os"
	"strconv"
	"strings"
	"testing"
)

// TestNothingIsLogged: no package of ours writes a log, and only the program and
// its verbs know a standard error. What a crash prints besides addresses is what
// panic was given, so no panic is given anything that was typed.
func TestNothingIsLogged(t *testing.T) {
	for _, s := range sources(t) {
		for _, imp := range importsOf(s.file) {
			if imp == "log" || strings.HasPrefix(imp, "log/") {
				t.Errorf("%s imports %s", s.path, imp)
			}
		}
		ast.Inspect(s.file, func(n ast.Node) bool {
			for _, why := range tells(s.pkg, n) {
				t.Errorf("%s: %s", s.path, why)
			}
			return true
		})
	}
}

// tells finds what could print somebody's values.
func tells(pkg string, n ast.Node) (out []string) {
	switch n := n.(type) {
	case *ast.SelectorExpr:
		name := nameOf(n.X) + "." + n.Sel.Name
		speaks := pkg == "app" || pkg == "app/cli" || pkg == "model/finding/newrule"
		if !speaks && (name == "os.Stderr" || name == "os.Stdout" || strings.HasPrefix(name, "fmt.Print")) {
			out = append(out, name)
		}
	case *ast.CallExpr:
		if name := nameOf(n.Fun); (name == "println" || name == "print") && pkg != "app/print" {
			out = append(out, name)
		}
		if nameOf(n.Fun) == "panic" && len(n.Args) == 1 && !dumb(n.Args[0]) {
			out = append(out, "panic with more than a fixed text, a type or an error that cannot be")
		}
	}
	return out
}

func nameOf(e ast.Expr) string {
	if id, ok := e.(*ast.Ident); ok {
		return id.Name
	}
	return ""
}

// dumb reports a text that is written in the code, one that holds only a type, or
// an error.
func dumb(e ast.Expr) bool {
	switch e := e.(type) {
	case *ast.BasicLit:
		return e.Kind == token.STRING
	case *ast.Ident:
		return e.Name == "err"
	case *ast.CallExpr:
		if len(e.Args) == 0 {
			return false
		}
		lit, ok := e.Args[0].(*ast.BasicLit)
		if !ok {
			return false
		}
		text, _ := strconv.Unquote(lit.Value)
		return strings.Count(text, "%") == strings.Count(text, "%T")
	}
	return false
}

// TestPassingPapers: the papers of the invented household lie in one private
// folder, which goes with the program.
func TestPassingPapers(t *testing.T) {
	t.Setenv("TMPDIR", t.TempDir())
	r := &running{}
	r.sweep() // nothing was written
	first, err := r.passing()
	if err != nil {
		t.Fatal(err)
	}
	second, err := r.passing()
	if err != nil || first != second {
		t.Errorf("%s, then %s, %v", first, second, err)
	}
	if st, err := os.Stat(first); err != nil || st.Mode().Perm()&0o077 != 0 {
		t.Errorf("%v, %v", st.Mode(), err)
	}
	if err := os.WriteFile(first+"/page.pdf", nil, 0o600); err != nil {
		t.Fatal(err)
	}
	if r.sweep(); exists(first) {
		t.Error("the papers are still there")
	}
}

func exists(path string) bool {
	_, err := os.Stat(path)
	return err == nil
}
