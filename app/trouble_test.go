package main

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"math/rand/v2"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"quietwater/app/exchange"
	"quietwater/app/session"
	"quietwater/app/store"
	"quietwater/i18n"
	"quietwater/model"
	"quietwater/ui"
)

func soak() bool { return os.Getenv("QW_SOAK") != "" }

func must(t testing.TB, err error) {
	t.Helper()
	if err != nil {
		t.Fatal(err)
	}
}

// program is this program, called as a helper would.
func program(dir string, args ...string) *exec.Cmd {
	self, err := os.Executable()
	if err != nil {
		panic(err)
	}
	c := exec.Command(self, args...)
	c.Dir = dir
	c.Env = append(os.Environ(), "QUIETWATER_AS_PROGRAM=yes", "XDG_DATA_HOME="+filepath.Join(dir, "data"), "LC_ALL=C", "TZ=UTC",
		"DISPLAY=", "WAYLAND_DISPLAY=", "GOMAXPROCS=1")
	return c
}

func runVerb(t testing.TB, dir string, args ...string) string {
	t.Helper()
	out, err := program(dir, args...).CombinedOutput()
	if err != nil {
		t.Fatalf("%q: %v: %s", args, err, out)
	}
	return string(out)
}

// tableText is a book as the plain table.
func tableText(t testing.TB, book model.Book) string {
	t.Helper()
	var out bytes.Buffer
	must(t, exchange.WriteTable(&out, book.Rows()))
	return out.String()
}

// pageAbout opens a book as the window does and gives the page about what stands
// in the way, nil when the book is shown.
func pageAbout(path string) (*ui.Trouble, error) {
	r := &running{options: options{book: path}, clock: newClock(time.Time{}, 1)}
	s, _, _, err := r.load()
	if err == nil {
		return nil, s.Close(context.Background())
	}
	t := r.troubleOf(err, session.Tell(err))
	return &t, err
}

// says gives what stands on a page in English, and complains of a text that is
// not there.
func says(t testing.TB, page *ui.Trouble) string {
	t.Helper()
	words, err := i18n.New("en", "")
	must(t, err)
	out := words.T(page.Why)
	if !page.Safe.IsZero() {
		out += " " + words.T(page.Safe)
	}
	for _, c := range page.Copies {
		out += " " + words.T(c.Ask)
	}
	if strings.Contains(out, "trouble.") || page.Why.IsZero() || page.Again == nil || page.Quit == nil {
		t.Errorf("no words, or no way on: %q", out)
	}
	return out
}

// TestEveryDamageEndsInAPage damages a book in every way the fault plan names:
// its page says what happened and what is safe and offers the safe copy, which
// opens and holds what the book held, or the book is shown and holds the same.
func TestEveryDamageEndsInAPage(t *testing.T) {
	from := t.TempDir()
	book := filepath.Join(from, "household.book")
	table, err := os.ReadFile("testdata/version-1.csv")
	must(t, err)
	must(t, os.WriteFile(filepath.Join(from, "t.csv"), table, 0o600))
	runVerb(t, from, "import", "--table", "t.csv", "--book", book)
	want := exported(t, book)
	whole, err := os.ReadFile(book)
	must(t, err)

	flips, cuts := 60, 15
	if soak() {
		flips, cuts = 1000, 100
	}
	r := rand.New(rand.NewPCG(71, 1))
	harm := map[string][]byte{"gone": nil, "empty": {}, "blank": make([]byte, len(whole)), "noise": noise(r, len(whole)), "a letter": []byte(strings.Repeat("Dear doctor. ", 99))}
	for range flips {
		at, bit := r.IntN(len(whole)), r.IntN(8)
		b := bytes.Clone(whole)
		b[at] ^= 1 << bit
		harm[fmt.Sprintf("bit %d of byte %d flipped", bit, at)] = b
	}
	for range cuts {
		n := r.IntN(len(whole))
		harm[fmt.Sprintf("cut at %d", n)] = whole[:n]
	}
	foreign := bytes.Clone(whole)
	copy(foreign[68:], "Else")
	harm["another program's"] = foreign
	newer := bytes.Clone(whole)
	newer[63] = 99
	harm["the header of a newer one"] = newer

	dir := filepath.Join(t.TempDir(), "house")
	must(t, os.CopyFS(dir, os.DirFS(from)))
	book = filepath.Join(dir, "household.book")
	shown, offered := 0, 0
	for name, b := range harm {
		must(t, errors.Join(removed(book), removed(book+"-journal")))
		if b != nil {
			must(t, os.WriteFile(book, b, 0o600))
		}
		page, err := pageAbout(book)
		if page == nil {
			shown++
			if got := exported(t, book); err != nil || got != want {
				t.Errorf("%s: shown, %v, and holds\n%s", name, err, got)
			}
			continue
		}
		said := says(t, page)
		if errors.Is(err, store.ErrNewer) && name == "the header of a newer one" || errors.Is(err, store.ErrNotABook) && name == "another program's" {
			continue // neither is damage, and no copy of ours could stand in for it
		}
		if len(page.Copies) == 0 || page.Copies[0].Entries == 0 || page.Restore == nil || page.Safe.IsZero() || !strings.Contains(said, "Look at") {
			t.Errorf("%s: %v; the page says %q and offers %d copies", name, err, said, len(page.Copies))
			continue
		}
		offered++
		if now, err := os.ReadFile(book); b != nil && (err != nil || !bytes.Equal(now, b)) {
			t.Errorf("%s: the damaged file was changed: %v", name, err)
		}
	}
	copies, err := store.Snapshots(book)
	must(t, err)
	if len(copies) == 0 || exported(t, copies[0].Path) != want {
		t.Errorf("the copy that is offered holds something else")
	}
	t.Logf("%d damages: %d end in the page with the safe copy, %d do no harm", len(harm), offered, shown)
	if offered < cuts+5 { // most bits of a young book are in room nobody uses; a cut never is
		t.Error("not even every cut was found out")
	}
}

func noise(r *rand.Rand, n int) []byte {
	b := make([]byte, n)
	for i := range b {
		b[i] = byte(r.Uint32())
	}
	return b
}

func removed(path string) error {
	if err := os.Remove(path); !errors.Is(err, os.ErrNotExist) {
		return err
	}
	return nil
}

// exported is what a book says, read without touching it.
func exported(t testing.TB, path string) string {
	t.Helper()
	b, err := store.OpenSnapshot(context.Background(), path, store.Options{})
	must(t, err)
	defer b.Close(context.Background())
	book, _, err := b.Load(context.Background())
	must(t, err)
	return tableText(t, book)
}

// TestPagesOfTrouble: each page says the truth about its case. A page for a book
// that is not shown never says that it is.
func TestPagesOfTrouble(t *testing.T) {
	r := &running{options: options{book: "b"}, clock: newClock(time.Time{}, 1)}
	whole := store.Snapshot{Path: "w", Entries: 3}
	bad := store.Snapshot{Path: "x", Entries: 4, Err: store.ErrDamaged}
	for name, c := range map[string]struct {
		err     error
		copies  int
		restore bool
		says    string
	}{
		"open elsewhere":       {store.ErrInUse, 0, false, "other window"},
		"damaged":              {&store.Trouble{Err: store.ErrDamaged, Snapshots: []store.Snapshot{bad, whole}}, 1, true, "Look at the newest first"},
		"damaged, no copy":     {&store.Trouble{Err: store.ErrDamaged}, 0, true, "Please delete nothing"},
		"damaged, bad copies":  {&store.Trouble{Err: store.ErrDamaged, Snapshots: []store.Snapshot{bad}}, 0, true, "Please delete nothing"},
		"gone":                 {&store.Trouble{Err: store.ErrMissing, Snapshots: []store.Snapshot{whole}}, 1, true, "Nothing was made in its place"},
		"not a book":           {&store.Trouble{Err: store.ErrNotABook}, 0, false, "Your own book was not touched"},
		"newer and unreadable": {fmt.Errorf("%w, and this one cannot read it", store.ErrNewer), 0, false, "cannot read it"},
		"another's account":    {store.ErrReadOnlyFolder, 0, false, "This account may"},
		"a full disk":          {store.ErrDiskFull, 0, false, "Free some space"},
		"something else":       {errors.New("the moon"), 0, false, "Nothing was changed"},
	} {
		page := r.troubleOf(c.err, session.Tell(c.err))
		said := says(t, &page)
		if len(page.Copies) != c.copies || (page.Restore != nil) != c.restore || !strings.Contains(said, c.says) || strings.Contains(said, "reading only") {
			t.Errorf("%s: %d copies, %q", name, len(page.Copies), said)
		}
	}
}

// TestABadCopyLeadsToTheNext: a copy that turns out damaged when somebody looks
// at it does not take the others off the page.
func TestABadCopyLeadsToTheNext(t *testing.T) {
	a, b := store.Snapshot{Path: "a", Entries: 3}, store.Snapshot{Path: "b", Entries: 2}
	damage := &store.Trouble{Err: store.ErrDamaged, Snapshots: []store.Snapshot{a, b}}
	r := &running{options: options{book: "b"}, clock: newClock(time.Time{}, 1)}
	left, why := afterCopy(a, store.ErrDamaged, damage)
	page := r.troubleOf(left, why)
	if why.Key != "trouble.copy-damaged" || len(page.Copies) != 1 || page.Copies[0].Entries != 2 || len(damage.Snapshots) != 2 {
		t.Errorf("%v, %+v", why, page)
	}
	left, why = afterCopy(a, store.ErrDiskFull, damage)
	if page = r.troubleOf(left, why); why.Key != session.Tell(store.ErrDiskFull).Key || len(page.Copies) != 2 {
		t.Errorf("a full disk: %v, %d copies", why, len(page.Copies))
	}
}

// TestAnOlderProgramsBook: a book that the first version of this program wrote,
// kept in testdata with the table that program made of it, is read, brought up to
// date, restored from a backup on a computer where nothing of ours is, and taken
// out again, to the same byte.
func TestAnOlderProgramsBook(t *testing.T) {
	want, err := os.ReadFile("testdata/version-1.csv")
	must(t, err)
	dir := t.TempDir()
	book := filepath.Join(dir, "stick", "household.book")
	must(t, os.MkdirAll(filepath.Dir(book), 0o700))
	old, err := os.ReadFile("testdata/version-1.book")
	must(t, err)
	must(t, os.WriteFile(book, old, 0o600))
	same := func(when string, has string) {
		t.Helper()
		if has != string(want) {
			t.Errorf("%s:\n%s", when, has)
		}
	}
	same("read where it lies", runVerb(t, dir, "export", "--book", book))
	if now, err := os.ReadFile(book); err != nil || !bytes.Equal(now, old) {
		t.Errorf("reading changed it: %v", err)
	}
	runVerb(t, dir, "backup", "--book", book, "--out", "b.zip", "--plain")
	home := filepath.Join(dir, "a clean account", "household.book")
	runVerb(t, dir, "restore", "--from", "b.zip", "--book", home)
	same("restored from a backup of it", runVerb(t, dir, "export", "--book", home))
	if page, err := pageAbout(home); page != nil || err != nil { // a start brings it to this version
		t.Errorf("the restored book does not open: %v", err)
	}
	if page, err := pageAbout(book); page != nil || err != nil {
		t.Errorf("the old book does not open: %v", err)
	}
	same("brought up to date", runVerb(t, dir, "export", "--book", book))
	copies, err := store.Snapshots(book)
	must(t, err)
	if len(copies) == 0 {
		t.Fatal("no safe copy of the old version")
	}
	oldest := copies[len(copies)-1].Path
	same("its safe copy", runVerb(t, dir, "export", "--book", oldest))
	if rep, err := store.CheckFile(context.Background(), oldest); err != nil || rep.Version != 1 {
		t.Errorf("the safe copy is of version %d, %v", rep.Version, err)
	}
	if got := runVerb(t, dir, "restore", "--from", "b.zip", "--rehearse", "--book", book); strings.Contains(got, `"differs"`) {
		t.Errorf("the backup and the book differ: %s", got)
	}
}
