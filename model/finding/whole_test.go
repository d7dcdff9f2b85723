package finding_test

import (
	"flag"
	"go/ast"
	"go/parser"
	"go/token"
	"maps"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"testing"

	"github.com/BurntSushi/toml"

	"quietwater/model"
	"quietwater/model/finding"
	"quietwater/model/strip"
)

var update = flag.Bool("update", false, "write the golden files anew")

// wordsAbout are the words of a finding's "about" that are no codes.
var wordsAbout = []string{"failure-risk", "slope", "kidney-injury", "infection", "dilute", "late", "stale",
	"sick-day", "fluid-limit", "strips-only"}

func TestRulesWhole(t *testing.T) {
	known := codes()
	for i, r := range finding.Rules() {
		if again, _ := finding.FindRule(r.ID); again != r {
			t.Errorf("rule %s stands twice in list.go (place %d)", r.ID, i)
		}
		if len(r.Urgencies) == 0 || len(r.About) == 0 || len(r.Reads) == 0 || r.Eval == nil {
			t.Errorf("rule %s lacks urgencies, about, reads or eval", r.ID)
		}
		if len(r.Cites) == 0 {
			t.Errorf("rule %s rests on no source", r.ID)
		}
		for _, c := range r.Cites {
			checkCite(t, r.ID, c)
		}
		for _, l := range r.Limits {
			checkCite(t, r.ID+", limit "+l.Name, l.Cite)
		}
		for _, c := range r.Judges {
			if !slices.Contains(r.Reads, c) {
				t.Errorf("rule %s judges %s and does not read it", r.ID, c)
			}
		}
		for _, c := range r.Reads {
			if !known[c] {
				t.Errorf("rule %s reads %q, which nobody can record", r.ID, c)
			}
		}
		for _, w := range r.About {
			if !known[model.Code(w)] && !slices.Contains(wordsAbout, w) {
				t.Errorf("rule %s is about %q, which the command line does not know", r.ID, w)
			}
		}
		for _, s := range r.Supersedes {
			if _, ok := finding.FindRule(s); !ok || s == r.ID {
				t.Errorf("rule %s supersedes %q, which is no other rule", r.ID, s)
			}
		}
	}
}

func codes() map[model.Code]bool {
	out := map[model.Code]bool{}
	for _, it := range model.Items() {
		out[it.Code] = true
	}
	return out
}

func checkCite(t *testing.T, where string, c model.Cite) {
	t.Helper()
	s, ok := model.FindSource(c.Source)
	if !ok {
		t.Errorf("rule %s cites %q, which is not in the source table", where, c.Source)
	}
	if published := s.DOI != "" || s.URL != ""; published && c.At == "" {
		t.Errorf("rule %s cites %q without saying where in it", where, c.Source)
	}
}

// TestEveryRuleFileIsListed reads the code: a rule that is written and not
// listed would be silent.
func TestEveryRuleFileIsListed(t *testing.T) {
	files, _ := filepath.Glob("*.go")
	for _, name := range files {
		if strings.HasSuffix(name, "_test.go") {
			continue
		}
		f, err := parser.ParseFile(token.NewFileSet(), name, nil, 0)
		if err != nil {
			t.Fatal(err)
		}
		ids := ruleIDs(f)
		for _, id := range ids {
			if _, ok := finding.FindRule(id); !ok {
				t.Errorf("%s: rule %s is not in list.go", name, id)
			}
			if want := strings.ReplaceAll(id, "-", "_") + ".go"; name != want {
				t.Errorf("rule %s stands in %s, not in %s", id, name, want)
			}
		}
		if len(ids) > 1 {
			t.Errorf("%s holds %d rules", name, len(ids))
		}
	}
}

func ruleIDs(f *ast.File) []string {
	var out []string
	ast.Inspect(f, func(n ast.Node) bool {
		lit, ok := n.(*ast.CompositeLit)
		if !ok {
			return true
		}
		if typ, ok := lit.Type.(*ast.Ident); !ok || typ.Name != "Rule" {
			return true
		}
		for _, el := range lit.Elts {
			kv, ok := el.(*ast.KeyValueExpr)
			if !ok {
				continue
			}
			key, _ := kv.Key.(*ast.Ident)
			if val, ok := kv.Value.(*ast.BasicLit); ok && key != nil && key.Name == "ID" {
				id, _ := strconv.Unquote(val.Value)
				out = append(out, id)
			}
		}
		return true
	})
	return out
}

// TestCasesShowAll: every form and every urgency a rule declares is shown by a
// case, and no case shows another. Case folders of no rule are named.
func TestCasesShowAll(t *testing.T) {
	variants, urgencies := map[string]bool{}, map[string]bool{}
	for path, res := range allCases(t) {
		for _, f := range slices.Concat(res.Open, res.Answered) {
			r, _ := finding.FindRule(f.Rule)
			variants[f.Rule+"/"+f.Variant] = true
			if !f.Old {
				urgencies[f.Rule+" "+f.Urgency.String()] = true
			}
			checkDeclared(t, path, r, f)
		}
	}
	for _, r := range finding.Rules() {
		for _, v := range append([]string{""}, r.Variants...) {
			if !variants[r.ID+"/"+v] {
				t.Errorf("rule %s: no case shows the form %q", r.ID, v)
			}
		}
		for _, u := range r.Urgencies {
			if !urgencies[r.ID+" "+u.String()] {
				t.Errorf("rule %s declares %s, and no case shows it", r.ID, u)
			}
		}
	}
	dirs, _ := filepath.Glob("testdata/*/")
	for _, d := range dirs {
		if _, ok := finding.FindRule(filepath.Base(d)); !ok {
			t.Errorf("%s holds cases of no rule", d)
		}
	}
}

func allCases(t *testing.T) map[string]finding.Result {
	t.Helper()
	out := map[string]finding.Result{}
	files, _ := filepath.Glob("testdata/*/*.txt")
	for _, f := range files {
		out[f] = judge(t, f, readCase(t, f))
	}
	return out
}

// checkDeclared holds a finding against what its rule says of itself.
func checkDeclared(t *testing.T, where string, r *finding.Rule, f finding.Finding) {
	t.Helper()
	if !f.Old && !slices.Contains(r.Urgencies, f.Urgency) {
		t.Errorf("%s: rule %s says %s, which it does not declare", where, f.Rule, f.Urgency)
	}
	if f.Variant != "" && !slices.Contains(r.Variants, f.Variant) {
		t.Errorf("%s: rule %s has an undeclared form %q", where, f.Rule, f.Variant)
	}
	if len(f.Evidence) == 0 || len(f.About) == 0 || len(f.Sources) == 0 {
		t.Errorf("%s: rule %s without evidence, about or sources", where, f.Rule)
	}
	if (f.Urgency == finding.Soon) != (f.Days > 0) {
		t.Errorf("%s: rule %s: %s with %d days", where, f.Rule, f.Urgency, f.Days)
	}
	if (f.Urgency == finding.Retest) && f.Due == nil {
		t.Errorf("%s: rule %s: a retest without a date", where, f.Rule)
	}
	if f.Due != nil && f.Due.To.Before(f.Due.From) {
		t.Errorf("%s: rule %s: due to before from", where, f.Rule)
	}
}

// texts are all texts of one language, plurals by their "other" form.
func texts(t *testing.T, dir string) map[string]string {
	t.Helper()
	out := map[string]string{}
	files, _ := filepath.Glob(filepath.Join(dir, "*.toml"))
	for _, f := range files {
		maps.Copy(out, textsOf(t, f))
	}
	return out
}

func textsOf(t *testing.T, file string) map[string]string {
	t.Helper()
	out := map[string]string{}
	var m map[string]any
	if _, err := toml.DecodeFile(file, &m); err != nil {
		t.Fatalf("%s: %v", file, err)
	}
	for k, v := range m {
		switch v := v.(type) {
		case string:
			out[k] = v
		case map[string]any:
			out[k], _ = v["other"].(string)
		}
	}
	return out
}

const textRoot = "../../i18n/text"

func languages(t *testing.T) []string {
	t.Helper()
	dirs, _ := filepath.Glob(filepath.Join(textRoot, "*", "findings.toml"))
	all, _ := filepath.Glob(filepath.Join(textRoot, "*/"))
	if len(all) == 0 || len(dirs) != len(all) {
		t.Fatalf("%d language folders, %d of them with findings.toml", len(all), len(dirs))
	}
	for i, d := range dirs {
		dirs[i] = filepath.Dir(d)
	}
	return dirs
}

func wantedTexts() []string {
	keys := []string{"finding.old.do", "finding.lapsed.do", "finding.script", "finding.script-lab", "finding.script-values", "finding.script-about", "finding.script-age", "finding.read.protein", "finding.read.ratio", "finding.read.albumin",
		"finding.old.lab.do", "finding.lab.tell", "finding.lab.unit-now", "finding.whom.doctor", "finding.whom.dialysis", "finding.whom.transplant",
		"finding.potassium.creatinine", "finding.read.calcium", "finding.read.calcium-adjusted",
		"finding.read.haemoglobin", "finding.read.haemoglobin-since",
		"finding.read.egfr-creatinine", "finding.read.egfr-cystatin", "finding.read.egfr-laboratory"}
	for _, r := range finding.Rules() {
		for _, v := range append([]string{""}, r.Variants...) {
			base := "finding." + r.ID
			if v != "" {
				base += "." + v
			}
			for _, part := range []string{"title", "why", "do", "change"} {
				keys = append(keys, base+"."+part)
			}
		}
	}
	for _, r := range strip.Reasons() {
		keys = append(keys, "reason."+string(r)+".name", "reason."+string(r)+".why")
	}
	return keys
}

var placeholder = regexp.MustCompile(`\{\{\s*\.([a-z0-9]+)\s*\}\}`)

func placeholders(s string) []string {
	var out []string
	for _, m := range placeholder.FindAllStringSubmatch(s, -1) {
		out = append(out, m[1])
	}
	slices.Sort(out)
	return slices.Compact(out)
}

func TestTextsWhole(t *testing.T) {
	english := texts(t, filepath.Join(textRoot, "en"))
	wanted := wantedTexts()
	for _, dir := range languages(t) {
		all := texts(t, dir)
		for _, key := range wanted {
			s := all[key]
			if strings.TrimSpace(s) == "" {
				t.Errorf("%s: text %q is missing", dir, key)
				continue
			}
			if a, b := placeholders(english[key]), placeholders(s); !slices.Equal(a, b) {
				t.Errorf("%s: %q uses %v, English %v", dir, key, b, a)
			}
			checkWording(t, dir, key, s)
		}
		for key := range textsOf(t, filepath.Join(dir, "findings.toml")) {
			if !slices.Contains(wanted, key) {
				t.Errorf("%s: text %q belongs to no rule, form or reason", dir, key)
			}
		}
	}
}

var forbidden = regexp.MustCompile(`(?i)%|\b(normal|healthy|fine|percent|sano|sana|saludable|por ciento|tranquil\w*|don't worry)\b`)

// checkWording holds a text to the plain-language numbers: at most 20 words a
// sentence, 8 in a title, no percentages, no word that reassures.
func checkWording(t *testing.T, dir, key, s string) {
	t.Helper()
	if w := forbidden.FindString(s); w != "" {
		t.Errorf("%s: %q says %q", dir, key, w)
	}
	// A date fills four words, any other argument one.
	plain := regexp.MustCompile(`\{\{\s*\.(when|first)\s*\}\}`).ReplaceAllString(s, "1 March 2027 08:00")
	plain = placeholder.ReplaceAllString(plain, "word")
	for _, sentence := range regexp.MustCompile(`[.?!।](\s|$)`).Split(plain, -1) {
		if n := len(strings.Fields(sentence)); n > 24 || n > 20 && !strings.Contains(sentence, "1 March") {
			t.Errorf("%s: %q has a sentence of %d words: %s", dir, key, n, sentence)
		}
	}
	if n := len(strings.Fields(plain)); strings.HasSuffix(key, ".title") && n > 8 {
		t.Errorf("%s: title %q has %d words", dir, key, n)
	}
}

// TestTextsGetTheirArguments: whatever a text asks for, the rule gives.
func TestTextsGetTheirArguments(t *testing.T) {
	english := texts(t, filepath.Join(textRoot, "en"))
	for path, res := range allCases(t) {
		for _, f := range slices.Concat(res.Open, res.Answered) {
			msgs := []model.Msg{f.Title, f.Why, f.Do, f.Change}
			if s, ok := f.Script(); ok {
				msgs = append(msgs, s...)
			}
			for _, m := range msgs {
				for _, p := range placeholders(english[m.Key]) {
					if _, ok := m.Args[p]; !ok {
						t.Errorf("%s: %q wants %q, which rule %s does not give", path, m.Key, p, f.Rule)
					}
				}
			}
		}
	}
}

func TestTable(t *testing.T) {
	const golden = "testdata/rules.md"
	got := finding.Table()
	if *update {
		if err := os.WriteFile(golden, []byte(got), 0o644); err != nil {
			t.Fatal(err)
		}
	}
	want, err := os.ReadFile(golden)
	if err != nil || string(want) != got {
		t.Errorf("%s is not current: run go test ./model/finding -run TestTable -update", golden)
	}
}
