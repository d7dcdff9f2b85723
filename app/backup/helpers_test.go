package backup

import (
	"context"
	"encoding/json"
	"flag"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"quietwater/app/store"
	"quietwater/model"
	"quietwater/model/household"
)

// TestMain is also the program that the kill tests kill: see child. A disk in
// memory tests the same and does not wear the other; benchmarks take the real
// one.
func TestMain(m *testing.M) {
	if job := os.Getenv("QW_BACKUP_CHILD"); job != "" {
		child(job)
		os.Exit(0)
	}
	flag.Parse()
	if st, err := os.Stat("/dev/shm"); err == nil && st.IsDir() && flag.Lookup("test.bench").Value.String() == "" {
		os.Setenv("TMPDIR", "/dev/shm")
	}
	os.Exit(m.Run())
}

var (
	ctx = context.Background()
	now = time.Date(2027, 3, 1, 12, 0, 0, 0, time.FixedZone("", 3600))
)

const secret = "quiet water runs déep"

// fast options cost milliseconds instead of seconds.
func fast(passphrase string) Options {
	return Options{Passphrase: passphrase, Now: now, Version: "test", Work: 3}
}

func check(t testing.TB, err error) {
	t.Helper()
	if err != nil {
		t.Fatal(err)
	}
}

func openBook(t testing.TB, path string) *store.Book {
	t.Helper()
	b, err := store.Open(ctx, store.Options{Path: path, Now: func() time.Time { return now }, Zone: now.Location(), Version: "test"})
	check(t, err)
	t.Cleanup(func() { b.Close(ctx) })
	return b
}

// household writes the invented household into a book, times over, with some
// pictures, and leaves it open.
func demoBook(t testing.TB, path string, times int) *store.Book {
	t.Helper()
	b := openBook(t, path)
	r := household.Demo(now)
	var list []store.Change
	for _, p := range r.Book.Persons {
		list = append(list, store.SavePerson(p))
	}
	for _, p := range r.Book.Packs {
		list = append(list, store.SavePack(p))
	}
	for n := range times {
		for _, e := range r.Book.Entries {
			if n > 0 {
				e.ID = model.ID(fmt.Sprintf("%s-%d", e.ID, n))
			}
			list = append(list, store.SaveEntry(e))
		}
	}
	list = append(list, store.Set("language", "en"), store.Set("draft/strip", "half a test"))
	_, err := b.Put(ctx, "Ada", list)
	check(t, err)
	for i, e := range r.Book.Entries[:7] {
		content := append([]byte("\xff\xd8"), strings.Repeat(fmt.Sprint("picture ", i), 1000*(i+1))...)
		check(t, b.KeepPicture(store.PictureKey{Person: e.Person, Entry: e.ID, Whole: i == 6}, content))
	}
	return b
}

// told is all that a book and its pictures say, as text.
func told(t testing.TB, path string) string {
	t.Helper()
	b, err := store.Open(ctx, store.Options{Path: path, ReadOnly: true, Zone: now.Location()})
	check(t, err)
	defer b.Close(ctx)
	book, extras, err := b.Load(ctx)
	check(t, err)
	text, err := json.Marshal([]any{book, extras})
	check(t, err)
	pictures, err := store.PictureFiles(path)
	check(t, err)
	out := string(text)
	for _, p := range pictures {
		content, err := os.ReadFile(p.Path)
		check(t, err)
		out += fmt.Sprintf("\n%s %x", p.Name, content)
	}
	return out
}

// lying lists every file below dir, with its size.
func lying(t testing.TB, dir string) string {
	t.Helper()
	var out strings.Builder
	check(t, filepath.WalkDir(dir, func(path string, d fs.DirEntry, err error) error {
		if err == nil && path != dir && !strings.HasSuffix(path, ".lock") {
			st, _ := d.Info()
			rel, _ := filepath.Rel(dir, path)
			fmt.Fprintln(&out, rel, st.Mode(), map[bool]int64{false: st.Size()}[d.IsDir()])
		}
		return err
	}))
	return out.String()
}
