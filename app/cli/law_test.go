package cli

import (
	"bytes"
	"encoding/json"
	"fmt"
	"math/rand/v2"
	"os"
	"path/filepath"
	"reflect"
	"slices"
	"strings"
	"testing"
	"time"

	"quietwater/app/exchange"
	"quietwater/i18n"
	"quietwater/model"
	"quietwater/model/finding"
	"quietwater/model/household"
)

// items is the whole catalogue and, as their codes are not in it, an answer
// to every rule.
func items() []model.Item {
	out := model.Items()
	for _, r := range finding.Rules() {
		if it, ok := model.ItemFor(model.Answer, model.Code(r.ID)); ok {
			out = append(out, it)
		}
	}
	return out
}

// dice make rows that are right, unless told otherwise.
type dice struct{ *rand.Rand }

func (d dice) of(list ...string) string { return list[d.IntN(len(list))] }

func (d dice) row(it model.Item, when string) model.Row {
	r := model.Row{Person: "Rosa", When: when, Kind: string(it.Kind), What: string(it.Code)}
	takes := it.Takes
	if takes == model.GradeOrNumber {
		takes = []model.Takes{model.GradeWord, model.Number}[d.IntN(2)]
	}
	switch takes {
	case model.Number:
		u := it.Units[d.IntN(len(it.Units))]
		v := u.Min + d.Float64()*(u.Max-u.Min)
		r.Unit, r.Value = u.UCUM, model.FormatNumber(float64(int(v)))
		if !it.Whole && v*100 < 1e9 {
			r.Value = model.FormatNumber(min(u.Max, max(u.Min, float64(int(v*1000))/1000)))
		}
	case model.GradeWord:
		r.Value = model.Grades()[d.IntN(len(model.Grades()))].String()
	case model.Flag:
		r.Value = d.of("yes", "no", "unsure")
	case model.Span:
		r.Value = d.of("start", "end")
	case model.Words:
		r.Value = it.Words[d.IntN(len(it.Words))]
	case model.Day, model.DayOrMonth:
		r.Value = fmt.Sprintf("19%02d-%02d-%02d", 40+d.IntN(60), 1+d.IntN(12), 1+d.IntN(28))
	case model.Language:
		r.Value = d.of("es", "en", "pt-BR")
	case model.Text:
		r.Value = d.of("EUR", "tea", "=SUM(A1)", "a, b; \"c\"", "two\nlines")
	}
	if it.Kind == model.PackKind {
		r.When, r.Note = "", "Bathroom tub"
	}
	return r
}

// spoilt is a row with one cell nobody would write, or nearly.
func (d dice) spoilt(r model.Row) model.Row {
	cells := []*string{&r.Person, &r.When, &r.Kind, &r.What, &r.Value, &r.Unit, &r.Note}
	*cells[d.IntN(len(cells))] = d.of("", "-1", "99999999999999999999", "1e9", "NaN", "24/11/2026", "2026-02-30", "+++",
		"0", "neg", "start", "\u202e", "'=", "-0.0", strings.Repeat("9", 400), "2026-11-24T25:00:00Z", "1800-01-01", "8999-12-31")
	return r
}

func (d dice) when() string {
	t := now.Add(-time.Duration(d.Int64N(int64(400 * 24 * time.Hour)))).Add(48 * time.Hour)
	return d.of(t.Format("2006-01-02"), t.Format("2006-01-02 15:04"), t.Format(time.RFC3339))
}

func writeTable(t *testing.T, path string, rows []model.Row) {
	t.Helper()
	var b bytes.Buffer
	if err := exchange.WriteTable(&b, rows); err != nil {
		t.Fatal(err)
	}
	if err := os.WriteFile(path, b.Bytes(), 0o600); err != nil {
		t.Fatal(err)
	}
}

// TestFindingsOnAnyTable holds findings to its word on tables that people
// wrote well, badly, or by machine.
func TestFindingsOnAnyTable(t *testing.T) {
	t.Chdir(t.TempDir())
	catalogue := items()
	for seed := range uint64(60) {
		d := dice{rand.New(rand.NewPCG(seed, 1))}
		var rows []model.Row
		for range d.IntN(150) {
			r := d.row(catalogue[d.IntN(len(catalogue))], d.when())
			r.Person = d.of("Rosa", "Emil", "Rosa ")
			if d.IntN(10) == 0 {
				r = d.spoilt(r)
			}
			rows = append(rows, r)
		}
		writeTable(t, "t.csv", rows)
		args := []string{"findings", "--table", "t.csv", "--at", now.Format(time.RFC3339), "--lang", d.of("en", "es")}
		if d.IntN(3) == 0 {
			args = append(args, "--person", "Rosa")
		}
		out, errs, code := call(args...)
		if code != OK && code != Refused || (code == OK) != (errs == "") {
			t.Fatalf("seed %d: exit %d, %s", seed, code, errs)
		}
		if out != "" {
			checkFindings(t, out)
		}
		if again, _, _ := call(args...); again != out {
			t.Fatalf("seed %d: the same table was judged differently", seed)
		}
	}
}

// checkFindings holds every finding to the form design promises.
func checkFindings(t *testing.T, out string) {
	t.Helper()
	var fs []map[string]json.RawMessage
	if err := json.Unmarshal([]byte(out), &fs); err != nil {
		t.Fatalf("%v: %s", err, out)
	}
	keys := []string{"about", "change", "do", "due", "evidence", "id", "person", "sources", "title", "urgency", "why", "within"}
	within := map[string]string{"emergency": `"PT0S"`, "today": `"PT12H"`, "soon": `"P`, "mention": "null", "retest": "null", "note": "null"}
	order := []string{"emergency", "today", "soon", "mention", "retest", "note"}
	last := 0
	for _, f := range fs {
		for _, k := range keys {
			if v, there := f[k]; !there || len(f) != len(keys) || slices.Contains([]string{`""`, "[]", "⟦"}, string(v)) {
				t.Errorf("%s: %s is %s", f["id"], k, v)
			}
		}
		var u string
		json.Unmarshal(f["urgency"], &u)
		at := slices.Index(order, u)
		if at < last {
			t.Errorf("%s stands after something less urgent", f["id"])
		}
		last = at
		if want := within[u]; want == "" || !strings.HasPrefix(string(f["within"]), want) {
			t.Errorf("%s: %s within %s", f["id"], u, f["within"])
		}
		var words map[string]string // every word of evidence a string
		var evidence []json.RawMessage
		json.Unmarshal(f["evidence"], &evidence)
		for _, e := range evidence {
			if err := json.Unmarshal(e, &words); err != nil || len(words) != 5 || words["when"] == "" || words["value"] == "" {
				t.Errorf("%s: evidence %s: %v", f["id"], e, err)
			}
		}
		var sources []sourceJSON
		if json.Unmarshal(f["sources"], &sources); slices.ContainsFunc(sources, func(s sourceJSON) bool { return s.ID == "" || s.Citation == "" }) {
			t.Errorf("%s: a source without citation: %s", f["id"], f["sources"])
		}
		if strings.Contains(string(f["title"])+string(f["why"])+string(f["do"])+string(f["change"]), "⟦") {
			t.Errorf("%s has a text nobody wrote", f["id"])
		}
		var due *spanJSON
		if json.Unmarshal(f["due"], &due); due != nil {
			from, e1 := time.Parse(time.RFC3339, due.From)
			to, e2 := time.Parse(time.RFC3339, due.To)
			if e1 != nil || e2 != nil || to.Before(from) {
				t.Errorf("%s: due %s", f["id"], f["due"])
			}
		}
	}
}

// TestLanguageOfFindings: the same findings, in the first language asked for.
func TestLanguageOfFindings(t *testing.T) {
	t.Chdir(t.TempDir())
	writeTable(t, "t.csv", []model.Row{
		{Person: "Emil", When: "2026-11-24 08:00", Kind: "strip", What: "protein", Value: "2+"},
		{Person: "Emil", When: "2026-11-25", Kind: "symptom", What: "chest-pain", Value: "3"},
	})
	in := map[string][]foundJSON{}
	for _, tag := range []string{"", "en", "es", "es,en", "en,es", "es-MX"} {
		var fs []foundJSON
		args := []string{"findings", "--table", "t.csv"}
		if tag != "" {
			args = append(args, "--lang", tag)
		}
		if err := json.Unmarshal([]byte(must(t, args...)), &fs); err != nil || len(fs) < 2 {
			t.Fatalf("%s: %v, %d findings", tag, err, len(fs))
		}
		in[tag] = fs
	}
	for _, same := range [][2]string{{"", "en"}, {"en", "en,es"}, {"es", "es,en"}, {"es", "es-MX"}} {
		if !reflect.DeepEqual(in[same[0]], in[same[1]]) {
			t.Errorf("--lang %q and %q differ", same[0], same[1])
		}
	}
	for i, en := range in["en"] {
		es := in["es"][i]
		if en.ID != es.ID || en.Title == es.Title || en.Why == es.Why || en.Do == es.Do || en.Change == es.Change {
			t.Errorf("%+v\n%+v", en, es)
		}
	}
}

// TestEveryKindOfRow takes one row of everything that can be recorded through
// two books and out again.
func TestEveryKindOfRow(t *testing.T) {
	t.Chdir(t.TempDir())
	for seed := range uint64(3) {
		d := dice{rand.New(rand.NewPCG(seed, 2))}
		a, b := fmt.Sprintf("a%d.book", seed), fmt.Sprintf("b%d.book", seed)
		var rows []model.Row
		for i, it := range items() {
			when := now.AddDate(0, 0, -i-1).Format("2006-01-02")
			if it.Kind.OneEvent() {
				when = "2026-11-24T08:00:00+01:00"
			}
			if it.Code == "diastolic" { // below any systolic
				when = "2026-11-23"
			}
			r := d.row(it, when)
			rows = append(rows, r)
		}
		writeTable(t, "in.csv", rows)
		must(t, "import", "--table", "in.csv", "--book", a)
		out := must(t, "export", "--book", a)
		for _, r := range rows {
			if !strings.Contains(out, ","+r.Kind+","+r.What+",") {
				t.Errorf("%s %s went in and did not come out", r.Kind, r.What)
			}
		}
		if err := os.WriteFile("out.csv", []byte(out), 0o600); err != nil {
			t.Fatal(err)
		}
		must(t, "import", "--table", "out.csv", "--book", b)
		if again := must(t, "export", "--book", b); again != out {
			t.Errorf("the table changed on its way through a book:\n%s", difference(out, again))
		}
		if strings.Count(out, "\r\n") < len(rows) {
			t.Errorf("%d rows went in, out came:\n%s", len(rows), out)
		}
		os.Remove("in.csv")
		os.Remove("out.csv")
	}
}

func must(t *testing.T, args ...string) string {
	t.Helper()
	out, errs, code := call(args...)
	if code != OK {
		t.Fatalf("%q: exit %d: %s%s", args, code, errs, out)
	}
	return out
}

// TestReadingNeverChangesABook looks at bytes, times and neighbours.
func TestReadingNeverChangesABook(t *testing.T) {
	dir := t.TempDir()
	t.Chdir(dir)
	writeTable(t, "t.csv", []model.Row{{Person: "Rosa", When: "2026-11-24", Kind: "vital", What: "weight", Value: "61.5"}})
	must(t, "import", "--table", "t.csv", "--book", "a.book")
	old := time.Date(2020, 1, 1, 0, 0, 0, 0, time.UTC)
	if err := os.Chtimes("a.book", old, old); err != nil {
		t.Fatal(err)
	}
	before := listing(t, dir)
	must(t, "export", "--book", "a.book")
	must(t, "check", "--book", "a.book")
	call("import", "--table", "t.csv", "--book", "a.book", "--dry-run")
	if after := listing(t, dir); after != before {
		t.Errorf("before:\n%s\nafter:\n%s", before, after)
	}
}

// listing names every file with its size, time and content.
func listing(t *testing.T, dir string) string {
	t.Helper()
	var out strings.Builder
	files, err := filepath.Glob(filepath.Join(dir, "*"))
	more, err2 := filepath.Glob(filepath.Join(dir, "*", "*"))
	if err != nil || err2 != nil {
		t.Fatal(err, err2)
	}
	for _, f := range append(files, more...) {
		st, err := os.Stat(f)
		if err != nil {
			t.Fatal(err)
		}
		b, _ := os.ReadFile(f)
		fmt.Fprintf(&out, "%s %v %d %x\n", f, st.ModTime(), st.Size(), b)
	}
	return out.String()
}

// TestImportedIsValid: what the reader of tables takes, a screen would too.
func TestImportedIsValid(t *testing.T) {
	catalogue := items()
	for seed := range uint64(100) {
		d := dice{rand.New(rand.NewPCG(seed, 3))}
		var rows []model.Row
		for range 60 {
			r := d.row(catalogue[d.IntN(len(catalogue))], d.when())
			if d.IntN(4) == 0 {
				r = d.spoilt(r)
			}
			rows = append(rows, r)
		}
		var b bytes.Buffer
		if err := exchange.WriteTable(&b, rows); err != nil {
			t.Fatal(err)
		}
		c := &command{w: world(nil, nil)}
		got := exchange.Import(&b, model.Book{}, madrid, now, c.newID, knownRule)
		changes := household.Changes{Persons: got.Book.Persons, Entries: got.Book.Entries, Packs: got.Book.Packs}
		for _, p := range changes.Validate(now) {
			t.Errorf("seed %d: %s %v", seed, p.Field, p.Why)
		}
	}
}

// TestHelpFitsAScreen: 80 columns, 25 lines.
func TestHelpFitsAScreen(t *testing.T) {
	pages := [][]string{{"help"}}
	for _, v := range verbs() {
		pages = append(pages, []string{v.name, "--help"})
		if !IsVerb(v.name) {
			t.Errorf("%s is no verb", v.name)
		}
	}
	for _, args := range pages {
		lines := strings.Split(strings.TrimSpace(must(t, args...)), "\n")
		if len(lines) > 25 {
			t.Errorf("%q has %d lines", args, len(lines))
		}
		for _, l := range lines {
			if len([]rune(l)) > 80 {
				t.Errorf("%q: too wide: %s", args, l)
			}
		}
	}
	if _, errs, code := call(); code != Usage || errs == "" {
		t.Errorf("no verb at all: exit %d, %q", code, errs)
	}
	for _, word := range []string{"", "--help", "findings2"} {
		if IsVerb(word) {
			t.Errorf("%q is a verb", word)
		}
	}
}

// TestMachineLanguage: whatever a machine is set to, the verbs speak.
func TestMachineLanguage(t *testing.T) {
	for set, want := range map[string]string{"es-MX": "es", "en": "en", "zz": "en", "": "en", "C": "en", "pt-BR": "pt", "ja-JP": "en"} {
		c := &command{w: World{Language: set}}
		p, err := c.words("")
		if err != nil || p.First() != want {
			t.Errorf("%q speaks %v, %v", set, p, err)
		}
	}
	c := &command{w: World{Language: "en"}}
	for _, l := range i18n.Languages() {
		for _, tag := range []string{l.Tag, l.Tag + ",en", strings.ToUpper(l.Tag)} {
			if p, err := c.words(tag); err != nil || p.First() != l.Tag {
				t.Errorf("--lang %s: %v", tag, err)
			}
		}
	}
}
