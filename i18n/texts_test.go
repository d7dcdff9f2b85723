package i18n

import (
	"bytes"
	"crypto/sha256"
	"encoding/hex"
	"flag"
	"fmt"
	"go/ast"
	"go/parser"
	"go/token"
	"io/fs"
	"maps"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"testing"
	"testing/fstest"
	"unicode"

	goi18n "github.com/nicksnyder/go-i18n/v2/i18n"
	"golang.org/x/image/font/sfnt"
	"golang.org/x/text/feature/plural"
	"golang.org/x/text/language"

	"quietwater/assets"
	"quietwater/model"
)

var update = flag.Bool("update", false, "write source.sums anew: every translation is up to date with the English of now")

// fault is one thing wrong with the texts of a language.
type fault struct{ tag, key, what string }

func (f fault) String() string { return fmt.Sprintf("text/%s: %s: %s", f.tag, f.key, f.what) }

// checks find the faults of one language; a language added later is checked
// by all of them.
var checks = map[string]func(*catalogue, string) []fault{
	"keys": keyFaults, "doubles": doubleFaults, "placeholders": placeholderFaults, "plurals": pluralFaults,
	"glyphs": glyphFaults, "names": nameFaults, "words": wordFaults, "sentences": sentenceFaults,
}

func TestTextsWhole(t *testing.T) {
	if testing.Short() {
		t.Skip("texts do not race")
	}
	c := mustLoad(t)
	for name, check := range checks {
		t.Run(name, func(t *testing.T) {
			for _, tag := range c.tags {
				for _, f := range check(c, tag) {
					t.Error(f)
				}
			}
		})
	}
}

func mustLoad(t testing.TB) *catalogue {
	t.Helper()
	c, err := load()
	if err != nil {
		t.Fatal(err)
	}
	return c
}

// texts are those of a language; a language that cannot be read has none, and
// every text is found missing.
func (c *catalogue) texts(tag string) map[string]*goi18n.Message {
	v, err := c.open[tag]()
	if err != nil {
		return nil
	}
	return v.byKey
}

// in names the files each text stands in.
func (c *catalogue) in(tag string) map[string][]string {
	v, err := c.open[tag]()
	if err != nil {
		return nil
	}
	return v.files
}

// A language that cannot be read is an error for who asks for it, and for nobody else.
func TestBrokenLanguage(t *testing.T) {
	c, err := read(fstest.MapFS{"text/en/a.toml": {Data: []byte(`"a" = "yes"`)}, "text/pl/a.toml": {Data: []byte(`"a" = `)}})
	if err != nil {
		t.Fatal(err)
	}
	if _, err := c.tongue("en"); err != nil {
		t.Errorf("English: %v", err)
	}
	if _, err := c.tongue("pl"); err == nil || !strings.Contains(err.Error(), "text/pl/a.toml") {
		t.Errorf("Polish, which is no TOML: %v", err)
	}
}

func sorted[V any](m map[string]V) []string { return slices.Sorted(maps.Keys(m)) }

func keyFaults(c *catalogue, tag string) (out []fault) {
	for _, k := range sorted(c.texts(source)) {
		if c.texts(tag)[k] == nil {
			out = append(out, fault{tag, k, "missing; English says: " + c.texts(source)[k].Other})
		}
	}
	for _, k := range sorted(c.texts(tag)) {
		if c.texts(source)[k] == nil {
			out = append(out, fault{tag, k, "English does not have it"})
		}
		for form, s := range forms(c.texts(tag)[k]) {
			if form == "other" && strings.TrimSpace(s) == "" {
				out = append(out, fault{tag, k, "empty"})
			}
		}
	}
	return out
}

func doubleFaults(c *catalogue, tag string) (out []fault) {
	for _, k := range sorted(c.in(tag)) {
		if in := c.in(tag)[k]; len(in) > 1 {
			out = append(out, fault{tag, k, "stands in " + strings.Join(in, " and ")})
		}
	}
	return out
}

// forms are the plural forms of a message that are written; "other" always.
func forms(m *goi18n.Message) map[string]string {
	all := map[string]string{"zero": m.Zero, "one": m.One, "two": m.Two, "few": m.Few, "many": m.Many}
	maps.DeleteFunc(all, func(_, s string) bool { return s == "" })
	all["other"] = m.Other
	return all
}

func hasPlural(m *goi18n.Message) bool { return len(forms(m)) > 1 }

func placeholders(s string) []string {
	var out []string
	for _, m := range placeholder.FindAllStringSubmatch(s, -1) {
		out = append(out, m[1])
	}
	slices.Sort(out)
	return slices.Compact(out)
}

func placeholderFaults(c *catalogue, tag string) (out []fault) {
	for _, k := range sorted(c.texts(tag)) {
		english := c.texts(source)[k]
		if english == nil {
			continue
		}
		want := placeholders(english.Other)
		for form, s := range forms(c.texts(tag)[k]) {
			got := placeholders(s)
			if form != "other" { // "one strip" need not say the number
				got = slices.Compact(slices.Sorted(slices.Values(append(got, slices.DeleteFunc(slices.Clone(want), func(p string) bool { return p != "n" })...))))
			}
			if !slices.Equal(got, want) {
				out = append(out, fault{tag, k, fmt.Sprintf("%s has the placeholders %v, English %v", form, got, want)})
			}
			if strings.ContainsAny(placeholder.ReplaceAllString(s, ""), "{}") {
				out = append(out, fault{tag, k, form + " holds braces that are no placeholder"})
			}
		}
	}
	return out
}

// pluralFaults asks CLDR which forms the numbers from 0 to 199 need.
func pluralFaults(c *catalogue, tag string) (out []fault) {
	t := language.Make(tag)
	names := map[plural.Form]string{plural.Other: "other", plural.Zero: "zero", plural.One: "one", plural.Two: "two", plural.Few: "few", plural.Many: "many"}
	need := map[string]bool{}
	for n := range 200 {
		need[names[plural.Cardinal.MatchPlural(t, n, 0, 0, 0, 0)]] = true
	}
	for _, k := range sorted(c.texts(source)) {
		m := c.texts(tag)[k]
		if m == nil || !hasPlural(c.texts(source)[k]) {
			continue
		}
		for form := range need {
			if forms(m)[form] == "" {
				out = append(out, fault{tag, k, "has no plural form " + form})
			}
		}
	}
	return out
}

// ownSigns are what the program itself puts between texts. Not ⟦⟧: a missing
// text is our fault, and may well show a missing sign too.
const ownSigns = "…0123456789+-.,µ²°% "

func glyphFaults(c *catalogue, tag string) (out []fault) {
	base, han := missingGlyphs(assets.FontRegular, assets.FontBold), missingGlyphs(assets.HanRegular, assets.HanBold)
	texts := map[string]string{"(our own signs)": ownSigns + strings.Join(sorted(invert(printed)), "")}
	for k, m := range c.texts(tag) {
		for _, s := range forms(m) {
			texts[k] += placeholder.ReplaceAllString(s, "")
		}
	}
	for _, k := range sorted(texts) {
		lacks := base
		if Chinese(texts[k]) {
			lacks = han
		}
		for _, r := range texts[k] {
			if font := lacks(r); font != "" {
				out = append(out, fault{tag, k, fmt.Sprintf("the %s typeface lacks %q (%U)", font, r, r)})
			}
		}
	}
	return out
}

func invert(m map[string]string) map[string]bool {
	out := map[string]bool{}
	for _, v := range m {
		out[v] = true
	}
	return out
}

func missingGlyphs(weights ...[]byte) func(rune) string {
	type face struct {
		name string
		font *sfnt.Font
	}
	var faces []face
	for i, b := range weights {
		f, err := sfnt.Parse(b)
		if err != nil {
			panic(err)
		}
		faces = append(faces, face{[]string{"regular", "bold"}[i], f})
	}
	var buf sfnt.Buffer
	return func(r rune) string {
		for _, f := range faces {
			if i, err := f.font.GlyphIndex(&buf, r); err != nil || i == 0 {
				return f.name
			}
		}
		return ""
	}
}

// nameFaults looks for everything the catalogue of the model can bring up.
func nameFaults(c *catalogue, tag string) (out []fault) {
	need := []string{"language.name", "language.checked", "language.never-say", "language.units", "list.more", "list.last"}
	for _, k := range model.Kinds() {
		need = append(need, "kind."+string(k))
	}
	for _, g := range model.Grades() {
		need = append(need, "grade."+strings.ReplaceAll(g.String(), "+", "plus"))
	}
	words := append([]string{"yes", "no", "unsure", "start", "end"}, model.AnswerWords()...)
	for _, it := range model.Items() {
		name := "name." + string(it.Kind) + "." + string(it.Code)
		if _, ok := model.TimedPad(it.Code); ok {
			name = "name.strip.own-after-dip"
		}
		need = append(need, name)
		words = append(words, it.Words...)
		for _, u := range it.Units {
			if _, ok := printed[u.UCUM]; !ok {
				out = append(out, fault{tag, string(it.Code), "no printed form of the unit " + u.UCUM})
			}
			if it.Kind == model.Symptom {
				for n := u.Min; n <= u.Max; n++ {
					need = append(need, "severity."+model.FormatNumber(n))
				}
			}
		}
	}
	for _, w := range words {
		need = append(need, "word."+w)
	}
	for _, p := range printed {
		if strings.HasPrefix(p, "unit.") {
			need = append(need, p)
		}
	}
	for i := range 12 {
		need = append(need, fmt.Sprintf("month.%d", i+1), fmt.Sprintf("month.%d.short", i+1), fmt.Sprintf("month.%d.alone", i+1))
	}
	for i := range 7 {
		need = append(need, fmt.Sprintf("weekday.%d", i))
	}
	slices.Sort(need)
	for _, k := range slices.Compact(need) {
		if c.texts(tag)[k] == nil {
			out = append(out, fault{tag, k, "has no name"})
		}
	}
	return out
}

// wordFaults: no percentages (needs R41), no reassurance beyond the evidence.
func wordFaults(c *catalogue, tag string) (out []fault) {
	never := strings.Fields(strings.ToLower(c.says(tag, "language.never-say")))
	for _, k := range sorted(c.texts(tag)) {
		if k == "language.never-say" || k == "language.units" {
			continue
		}
		for _, s := range forms(c.texts(tag)[k]) {
			if strings.Contains(s, "%") {
				out = append(out, fault{tag, k, "says a percentage; write “3 of 10”"})
			}
			words := letters.FindAllString(strings.ToLower(s), -1)
			for _, w := range words {
				if slices.ContainsFunc(never, func(n string) bool { return w == n || chinese.MatchString(n) && strings.Contains(w, n) }) {
					out = append(out, fault{tag, k, "says “" + w + "”"})
				}
			}
			for _, n := range never { // bình_thường is one word, written in two
				if p := strings.ReplaceAll(n, "_", " "); p != n && strings.Contains(" "+strings.Join(words, " ")+" ", " "+p+" ") {
					out = append(out, fault{tag, k, "says “" + p + "”"})
				}
			}
		}
	}
	return out
}

var (
	letters = regexp.MustCompile(`[\p{L}\p{M}]+`)
	chinese = regexp.MustCompile(`^\p{Han}+$`) // no spaces say where a word ends
)

// longest is how many words a sentence may have that somebody reads while
// worried (needs R07, R39: NHS content guide).
const longest = 20

func sentenceFaults(c *catalogue, tag string) (out []fault) {
	for _, k := range sorted(c.texts(tag)) {
		if !strings.HasPrefix(k, "finding.") && !strings.HasPrefix(k, "guided.") && !strings.HasPrefix(k, "problem.") {
			continue
		}
		for _, s := range forms(c.texts(tag)[k]) {
			for _, sentence := range sentences(s) {
				if n := countWords(sentence); n > longest {
					out = append(out, fault{tag, k, fmt.Sprintf("a sentence of %d words: %s", n, sentence)})
				}
			}
		}
	}
	return out
}

var sentenceEnd = regexp.MustCompile(`[.!?।][»”"')]*(\s+|$)|[。！？][”）]*|\n+`)

// countWords counts what stands between spaces; Chinese, which has none, as
// half a word a character (common practice: most of its words have two).
func countWords(sentence string) int {
	signs := 0
	rest := strings.Map(func(r rune) rune {
		if !isHan(r) {
			return r
		}
		if unicode.IsLetter(r) {
			signs++
		}
		return ' '
	}, sentence)
	return len(strings.Fields(rest)) + (signs+1)/2
}

func sentences(s string) []string { return sentenceEnd.Split(s, -1) }

// TestChecksFire breaks a copy of the texts in every way the checks look for.
func TestChecksFire(t *testing.T) {
	whole := map[string]string{}
	for _, tag := range mustLoad(t).tags {
		if tag != source && tag != "es" && tag != "zh" && tag != "vi" {
			continue
		}
		names, _ := fs.Glob(texts, "text/"+tag+"/*.toml")
		for _, name := range names {
			b, _ := fs.ReadFile(texts, name)
			whole[name] = string(b)
		}
	}
	es := "text/es/dates.toml"
	for _, tt := range []struct{ name, check, file, old, new string }{
		{"missing", "keys", es, `"day.now" = "ahora"`, ``},
		{"extra", "keys", es, `"day.now"`, "\"day.never\" = \"nunca\"\n\"day.now\""},
		{"empty", "keys", es, `"ahora"`, `" "`},
		{"in two files", "doubles", es, `"day.now"`, "\"word.yes\" = \"sí\"\n\"day.now\""},
		{"other placeholder", "placeholders", es, `"dentro de {{.time}}"`, `"dentro de {{.tiempo}}"`},
		{"condition", "placeholders", es, `"dentro de {{.time}}"`, `"{{if .x}}dentro{{end}} de {{.time}}"`},
		{"no form", "plurals", es, `{ one = "hace {{.n}} día", other = "hace {{.n}} días" }`, `"hace {{.n}} días"`},
		{"no glyph", "glyphs", es, `"ahora"`, `"現在"`},
		{"no name", "names", "text/es/names.toml", `"name.lab.potassium" = "potasio"`, ``},
		{"percentage", "words", es, `"ahora"`, `"el 30 %"`},
		{"reassurance", "words", es, `"ahora"`, `"Está sano."`},
		{"Chinese reassurance", "words", "text/zh/problems.toml", `"缺少数字。请用数字写出来。"`, `"您很健康。"`},
		{"Vietnamese reassurance", "words", "text/vi/problems.toml", `"Thiếu con số. Hãy viết bằng chữ số."`, `"Điều này là bình thường."`},
		{"long Chinese sentence", "sentences", "text/zh/problems.toml", `"缺少数字。请用数字写出来。"`, `"缺少数字。` + strings.Repeat("写出", 21) + `。"`},
		{"long sentence", "sentences", "text/es/problems.toml", `"Falta la fecha. Diga cuándo fue."`, `"Falta la fecha. ` + strings.Repeat("muy ", 20) + `larga."`},
	} {
		t.Run(tt.name, func(t *testing.T) {
			fsys := fstest.MapFS{}
			for name, s := range whole {
				if name == tt.file {
					if !strings.Contains(s, tt.old) {
						t.Fatalf("%s no longer holds %s", name, tt.old)
					}
					s = strings.Replace(s, tt.old, tt.new, 1)
				}
				fsys[name] = &fstest.MapFile{Data: []byte(s)}
			}
			broken, err := read(fsys)
			if err != nil {
				t.Fatal(err)
			}
			tag := strings.Split(tt.file, "/")[1]
			before := len(checks[tt.check](mustLoad(t), tag))
			if after := len(checks[tt.check](broken, tag)); after <= before {
				t.Errorf("check %q found nothing new", tt.check)
			}
		})
	}
}

func TestRead(t *testing.T) {
	file := func(s string) *fstest.MapFile { return &fstest.MapFile{Data: []byte(s)} }
	c, err := read(fstest.MapFS{"text/de/a.toml": file(`"a" = "ja"`), "text/en/a.toml": file(`"a" = "yes"`), "text/pl/a.toml": file(``)})
	if err != nil || !slices.Equal(c.tags, []string{"en", "de", "pl"}) {
		t.Errorf("languages %v, %v; want English first", c.tags, err)
	}
	pl, err := newTongue(c, "pl", language.Polish)
	if err != nil {
		t.Fatal(err)
	}
	if got := pl.word("a"); got != "yes" {
		t.Errorf("a text Polish lacks came out as %q, want the English", got)
	}
	for name, fsys := range map[string]fstest.MapFS{
		"no English":    {"text/de/a.toml": file(``)},
		"no tag":        {"text/en/a.toml": file(``), "text/not a tag/a.toml": file(``)},
		"not TOML":      {"text/en/a.toml": file(`"a" = `)},
		"reserved word": {"text/en/a.toml": file("\"a\" = { other = \"x\", more = \"y\" }")},
		"nothing":       {},
	} {
		if _, err := read(fsys); err == nil {
			t.Errorf("%s: no error", name)
		}
	}
}

func TestCapital(t *testing.T) {
	p, err := newTongue(mustLoad(t), "es", language.Spanish)
	if err != nil {
		t.Fatal(err)
	}
	for s, want := range map[string]string{"ácido": "Ácido", "pH": "pH", "eGFR": "eGFR", "a": "A", "": "", "1+": "1+"} {
		if got := p.capital(s); got != want {
			t.Errorf("%q got the capital %q, want %q", s, got, want)
		}
	}
}

func sum(m *goi18n.Message) string {
	h := sha256.New()
	for _, form := range []string{"zero", "one", "two", "few", "many", "other"} {
		fmt.Fprintf(h, "%s\x00%s\x00", form, forms(m)[form])
	}
	return hex.EncodeToString(h.Sum(nil))[:8]
}

// TestTranslationsFresh names texts whose English changed after they were
// translated. text/<tag>/source.sums holds, per key, a hash of the English it
// was translated from; a key that is not in it yet is not judged.
func TestTranslationsFresh(t *testing.T) {
	c := mustLoad(t)
	for _, tag := range c.tags {
		if tag == source {
			continue
		}
		path := filepath.Join("text", tag, "source.sums")
		old := readSums(t, path)
		now := map[string]string{}
		for k := range c.texts(tag) {
			if e := c.texts(source)[k]; e != nil {
				now[k] = sum(e)
			}
		}
		for _, k := range stale(old, now) {
			if *update {
				t.Logf("text/%s: %s counts as up to date now: %s", tag, k, c.texts(tag)[k].Other)
				continue
			}
			t.Errorf("text/%s: %s was translated from other English than: %s", tag, k, c.texts(source)[k].Other)
		}
		if *update {
			writeSums(t, path, now)
		}
	}
}

func stale(old, now map[string]string) []string {
	var out []string
	for _, k := range sorted(now) {
		if was, ok := old[k]; ok && was != now[k] {
			out = append(out, k)
		}
	}
	return out
}

func TestStale(t *testing.T) {
	got := stale(map[string]string{"a": "1", "b": "1", "gone": "1"}, map[string]string{"a": "1", "b": "2", "new": "3"})
	if !slices.Equal(got, []string{"b"}) {
		t.Errorf("stale keys %v, want only b", got)
	}
}

func readSums(t *testing.T, path string) map[string]string {
	b, err := os.ReadFile(path)
	if err != nil && !os.IsNotExist(err) {
		t.Fatal(err)
	}
	out := map[string]string{}
	for line := range strings.Lines(string(b)) {
		if k, sum, ok := strings.Cut(strings.TrimSpace(line), " "); ok {
			out[k] = sum
		}
	}
	return out
}

func writeSums(t *testing.T, path string, sums map[string]string) {
	var b bytes.Buffer
	for _, k := range sorted(sums) {
		fmt.Fprintf(&b, "%s %s\n", k, sums[k])
	}
	if err := os.WriteFile(path, b.Bytes(), 0o644); err != nil {
		t.Fatal(err)
	}
}

// TestKeysSpoken finds every key written out in the code and looks for its
// text: problems anywhere, and what is handed to T.
func TestKeysSpoken(t *testing.T) {
	c := mustLoad(t)
	keys := spokenKeys(t)
	if len(keys) < 30 {
		t.Fatalf("found only %d keys in the code", len(keys))
	}
	say := func(t *testing.T, problems bool) {
		for _, k := range sorted(keys) {
			if strings.HasPrefix(k, "problem.") == problems && c.texts(source)[k] == nil {
				t.Errorf("%s says %s, which has no text", keys[k], k)
			}
		}
	}
	t.Run("problems", func(t *testing.T) { say(t, true) })
	t.Run("others", func(t *testing.T) { say(t, false) })
}

var (
	aProblem = regexp.MustCompile(`^problem\.[a-z0-9.-]*[a-z0-9]$`)
	aKey     = regexp.MustCompile(`^[a-z]+(\.[a-z0-9-]+)+$`)
)

// spokenKeys gives each key with a place that says it.
func spokenKeys(t *testing.T) map[string]string {
	t.Helper()
	out := map[string]string{}
	fset := token.NewFileSet()
	err := filepath.WalkDir("..", func(path string, d fs.DirEntry, err error) error {
		if err != nil {
			return err
		}
		if d.IsDir() && (d.Name() == "testdata" || d.Name() == "build" || len(d.Name()) > 2 && d.Name()[0] == '.') {
			return fs.SkipDir
		}
		if d.IsDir() || !strings.HasSuffix(path, ".go") || strings.HasSuffix(path, "_test.go") {
			return nil
		}
		f, err := parser.ParseFile(fset, path, nil, 0)
		if err != nil {
			return err
		}
		ast.Inspect(f, func(n ast.Node) bool {
			switch n := n.(type) {
			case *ast.BasicLit:
				if s, ok := literal(n); ok && aProblem.MatchString(s) {
					out[s] = path
				}
			case *ast.CallExpr:
				if s, ok := keyOf(n); ok && aKey.MatchString(s) {
					out[s] = path
				}
			}
			return true
		})
		return nil
	})
	if err != nil {
		t.Fatal(err)
	}
	return out
}

// keyOf is the literal first argument of a call of T, or of our word.
func keyOf(call *ast.CallExpr) (string, bool) {
	name := ""
	switch f := call.Fun.(type) {
	case *ast.Ident:
		name = f.Name
	case *ast.SelectorExpr:
		name = f.Sel.Name
	}
	if (name != "T" && name != "word") || len(call.Args) == 0 {
		return "", false
	}
	lit, ok := call.Args[0].(*ast.BasicLit)
	if !ok {
		return "", false
	}
	return literal(lit)
}

func literal(lit *ast.BasicLit) (string, bool) {
	if lit.Kind != token.STRING {
		return "", false
	}
	s, err := strconv.Unquote(lit.Value)
	return s, err == nil
}
