package moveout

import (
	"bytes"
	"errors"
	"io/fs"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"
	"time"

	"quietwater/app/exchange"
	"quietwater/app/fhir"
	"quietwater/i18n"
	"quietwater/model"
	"quietwater/model/finding"
	"quietwater/model/household"
	"quietwater/model/strip"
)

var now = time.Date(2026, 11, 28, 10, 0, 0, 0, time.FixedZone("", 3600))

func source(t testing.TB) Source {
	t.Helper()
	w, err := i18n.New("es", "en")
	if err != nil {
		t.Fatal(err)
	}
	r := household.Demo(now)
	own := strip.Generic()[0]
	own.ID, own.Name = "ours", "Ours / bathroom"
	r.OwnKinds = []strip.Kind{own}
	st := household.Derive(r, now)
	jpeg := []byte("\xff\xd8 a picture")
	pictured := map[model.ID]bool{}
	for _, m := range st.Members {
		if n := len(m.Result.History.Tests); n > 0 {
			pictured[m.Result.History.Tests[n-1].Entry.ID] = true
		}
	}
	return Source{State: &st, Words: w, Picture: func(e model.Entry, whole bool) ([]byte, error) {
		if !pictured[e.ID] || whole {
			return nil, nil
		}
		return jpeg, nil
	}}
}

func files(t testing.TB, dir string) []string {
	t.Helper()
	var out []string
	err := filepath.WalkDir(dir, func(path string, d fs.DirEntry, err error) error {
		if err == nil && !d.IsDir() {
			rel, _ := filepath.Rel(dir, path)
			out = append(out, filepath.ToSlash(rel))
			if st, _ := d.Info(); st.Mode().Perm() != 0o600 {
				t.Errorf("%s has %v", rel, st.Mode())
			}
		}
		return err
	})
	if err != nil {
		t.Fatal(err)
	}
	return out
}

// TestEverythingIsThere: the folder holds the whole book twice, in forms that
// read back to the same, a page and the pictures of each person, and a text that
// names every file in both languages.
func TestEverythingIsThere(t *testing.T) {
	from := source(t)
	dir := filepath.Join(t.TempDir(), "out")
	done, err := Write(dir, from)
	if err != nil {
		t.Fatal(err)
	}
	got := files(t, dir)
	for _, want := range []string{"read-me.txt", "table.csv", "fhir.json", "to-dos.ics", "strip-kinds/ours---bathroom.json", "rosa/page.pdf", "tomás/page.pdf"} {
		if !slices.Contains(got, want) {
			t.Errorf("%s is not there: %v", want, got)
		}
	}
	if done.Entries != len(from.State.Records.Book.Entries) || done.Pages != len(from.State.Members) || done.Pictures == 0 || done.Unreadable != 0 {
		t.Errorf("done %+v", done)
	}
	text := read(t, dir, "read-me.txt")
	for _, name := range got {
		top := strings.Split(name, "/")
		mentioned := strings.Count(text, top[0])
		if len(top) > 1 && top[1] == "page.pdf" {
			mentioned = strings.Count(text, name)
		}
		if name != "read-me.txt" && mentioned < 2 {
			t.Errorf("the text names %s %d times, not in both languages", name, mentioned)
		}
	}
	n := 0
	newID := func() model.ID {
		n++
		return model.ID(strings.Repeat("x", 3) + string(rune('a'+n%26)) + time.Duration(n).String())
	}
	known := func(id string) bool { _, ok := finding.FindRule(id); return ok }
	var table bytes.Buffer
	if err := exchange.WriteTable(&table, from.State.Records.Book.Rows()); err != nil {
		t.Fatal(err)
	}
	back := exchange.Import(strings.NewReader(read(t, dir, "table.csv")), model.Book{}, now.Location(), now, newID, known)
	var again bytes.Buffer
	if err := exchange.WriteTable(&again, back.Book.Rows()); err != nil || again.String() != table.String() {
		t.Errorf("the table reads back to something else (%v)", err)
	}
	fromFHIR := fhir.Import(strings.NewReader(read(t, dir, "fhir.json")), fhir.Target{Zone: now.Location(), Now: now, NewID: newID, KnownAnswer: known})
	again.Reset()
	if err := exchange.WriteTable(&again, fromFHIR.Book.Rows()); err != nil || again.String() != table.String() {
		t.Errorf("FHIR reads back to something else (%v)", err)
	}
	kind, err := strip.ReadKind(strings.NewReader(read(t, dir, "strip-kinds/ours---bathroom.json")))
	if err != nil || kind.Name != "Ours / bathroom" {
		t.Errorf("the strip kind reads back as %q, %v", kind.Name, err)
	}
}

func read(t testing.TB, dir, name string) string {
	t.Helper()
	b, err := os.ReadFile(filepath.Join(dir, filepath.FromSlash(name)))
	if err != nil {
		t.Fatal(err)
	}
	return string(b)
}

// TestNeverOverNorHalf: what is there is not touched, and what cannot be
// finished leaves nothing.
func TestNeverOverNorHalf(t *testing.T) {
	from := source(t)
	home := t.TempDir()
	there := filepath.Join(home, "there")
	if err := os.WriteFile(there, []byte("mine"), 0o600); err != nil {
		t.Fatal(err)
	}
	if _, err := Write(there, from); !errors.Is(err, ErrThere) {
		t.Errorf("over a file: %v", err)
	}
	if read(t, home, "there") != "mine" {
		t.Error("the file was touched")
	}
	if _, err := Write(filepath.Join(home, "no", "such"), from); !errors.Is(err, fs.ErrNotExist) {
		t.Errorf("in no folder: %v", err)
	}
	from.State.Records.OwnKinds = append(from.State.Records.OwnKinds, strip.Kind{})
	broken := *from.State
	broken.Members = slices.Clone(broken.Members)
	broken.Members[1].Person.Name = strings.Repeat("../", 30) + "x"
	from.State = &broken
	if _, err := Write(filepath.Join(home, "odd"), from); err == nil {
		for _, f := range files(t, filepath.Join(home, "odd")) {
			if strings.Contains(f, "..") {
				t.Errorf("a name leads out of the folder: %s", f)
			}
		}
	}
	left, err := os.ReadDir(home)
	if err != nil {
		t.Fatal(err)
	}
	for _, e := range left {
		if strings.Contains(e.Name(), ".part-") {
			t.Errorf("half of a folder was left: %s", e.Name())
		}
	}
}

// TestUnreadablePictures are counted and said, and stop nothing.
func TestUnreadablePictures(t *testing.T) {
	from := source(t)
	from.Picture = func(e model.Entry, whole bool) ([]byte, error) {
		if whole {
			return nil, nil
		}
		return nil, errors.New("changed on the disk")
	}
	dir := filepath.Join(t.TempDir(), "out")
	done, err := Write(dir, from)
	if err != nil || done.Unreadable == 0 || done.Pictures != 0 {
		t.Fatalf("%+v, %v", done, err)
	}
	if w := from.Words.T(model.T("folder.missing", "n", done.Unreadable)); !strings.Contains(read(t, dir, "read-me.txt"), w) {
		t.Errorf("the text does not say %q", w)
	}
}

// TestUnused: names of people who share one stay apart, and none leads
// anywhere.
func TestUnused(t *testing.T) {
	used := map[string]bool{}
	for _, c := range [][2]string{{"Rosa", "rosa"}, {"rosa", "rosa-2"}, {"ROSA", "rosa-3"}, {"../etc", "---etc"}, {"", "-"}, {"日本", "日本"}, {strings.Repeat("a", 99), strings.Repeat("a", 40)}} {
		if got := unused(used, c[0]); got != c[1] {
			t.Errorf("%q became %q, want %q", c[0], got, c[1])
		}
	}
}
