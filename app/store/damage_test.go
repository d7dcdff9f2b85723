package store

import (
	"bytes"
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"quietwater/model"
)

// closedBook is a book on disk with one snapshot, and what it holds.
func closedBook(t *testing.T) (path string, want []string) {
	t.Helper()
	b := openNew(t)
	book := someBook(seeded(20), 60)
	for i := range book.Entries {
		book.Entries[i].Values = append(book.Entries[i].Values, model.Value{Code: "note", Word: fmt.Sprintf("needle-%d-in-the-hay", i)})
	}
	mustPut(t, b, changesOf(book)...)
	want = contentOf(t, b)
	mustClose(t, b)
	return b.Path(), want
}

// hurt gives a copy of a book, with its snapshots, whose bytes were changed.
func hurt(t *testing.T, path string, change func([]byte) []byte) string {
	t.Helper()
	dir := t.TempDir()
	check(t, os.CopyFS(dir, os.DirFS(filepath.Dir(path))))
	to := filepath.Join(dir, filepath.Base(path))
	check(t, os.WriteFile(to, change(fileBytes(path)), 0o600))
	return to
}

// TestFlipInsideAValue: the fault that SQLite's own check does not see.
func TestFlipInsideAValue(t *testing.T) {
	path, _ := closedBook(t)
	r := seeded(21)
	clean := fileBytes(path)
	unseen := 0
	for i := range 200 {
		needle := []byte(fmt.Sprintf("needle-%d-in", i%60))
		at := bytes.Index(clean, needle)
		if at < 0 {
			t.Fatalf("%s is not in the file", needle)
		}
		bad := hurt(t, path, func(data []byte) []byte {
			data[at+r.IntN(len(needle))] ^= 1 << r.IntN(7)
			return data
		})
		_, err := Open(ctx, optionsFor(bad))
		var trouble *Trouble
		if !errors.Is(err, ErrDamaged) || !errors.As(err, &trouble) || len(trouble.Snapshots) != 1 || trouble.Snapshots[0].Entries != 60 {
			t.Fatalf("flip %d: %v", i, err)
		}
		seen := false
		for _, f := range trouble.Flaws {
			seen = seen || f.Part == InStructure
		}
		if !seen {
			unseen++
		}
		if i%20 == 0 {
			book, _, rep, err := Salvage(ctx, optionsFor(bad))
			check(t, err)
			if rep.OK() || len(book.Entries) != 59 {
				t.Errorf("%d entries salvaged, report %v", len(book.Entries), rep.Flaws)
			}
		}
		check(t, os.RemoveAll(filepath.Dir(bad)))
	}
	if unseen == 0 {
		t.Error("SQLite's own check saw every flip: this test proves nothing")
	}
	t.Logf("200 of 200 flips caught; SQLite's own check missed %d", unseen)
}

// TestDamageIsCaughtOrHarmless flips bits anywhere, cuts, blanks and fills
// the file: it is refused with the snapshots, or its content is what it was.
func TestDamageIsCaughtOrHarmless(t *testing.T) {
	path, want := closedBook(t)
	r := seeded(22)
	size := len(fileBytes(path))
	cases := map[string]func([]byte) []byte{
		"empty":        func(d []byte) []byte { return nil },
		"zero bytes":   func(d []byte) []byte { return make([]byte, len(d)) },
		"random bytes": func(d []byte) []byte { readerOf{r}.Read(d); return d },
		"one byte":     func(d []byte) []byte { return d[:1] },
	}
	flips, cuts, pages := 300, 50, 30
	if soak() {
		flips, cuts, pages = 1000, 100, 50
	}
	for i := range flips {
		at, bit := r.IntN(size), r.IntN(8)
		if i < 60 {
			at = r.IntN(100) // the header
		}
		cases[fmt.Sprintf("flip %d bit %d", at, bit)] = func(d []byte) []byte { d[at] ^= 1 << bit; return d }
	}
	for range cuts {
		n := r.IntN(size)
		cases[fmt.Sprintf("cut at %d", n)] = func(d []byte) []byte { return d[:n] }
	}
	for range pages { // a page that never reached the disk, or reached the wrong place
		a, b := r.IntN(size/4096), r.IntN(size/4096)
		cases[fmt.Sprintf("page %d lost", a)] = func(d []byte) []byte { clear(d[a*4096 : (a+1)*4096]); return d }
		cases[fmt.Sprintf("page %d in place of %d", b, a)] = func(d []byte) []byte { copy(d[a*4096:(a+1)*4096], d[b*4096:]); return d }
	}
	caught := 0
	for name, change := range cases {
		bad := hurt(t, path, change)
		before := fileBytes(bad)
		b, err := Open(ctx, optionsFor(bad))
		var trouble *Trouble
		switch {
		case err == nil:
			sameText(t, name, contentOf(t, b), want)
			savesAgain(t, name, b)
			check(t, b.release())
		case (errors.Is(err, ErrDamaged) || errors.Is(err, ErrNotABook)) && errors.As(err, &trouble) && len(trouble.Snapshots) == 1:
			caught++
			if !bytes.Equal(before, fileBytes(bad)) {
				t.Errorf("%s: the damaged file was changed", name)
			}
		default:
			t.Errorf("%s: %v", name, err)
		}
		CheckFile(ctx, bad) // whatever it says, it does not panic
		Salvage(ctx, optionsFor(bad))
		check(t, os.RemoveAll(filepath.Dir(bad)))
	}
	t.Logf("%d damages: %d caught, %d harmless", len(cases), caught, len(cases)-caught)
}

// halfSaved is what lies on the disk in the middle of a save.
func halfSaved(t *testing.T, path string) (half, journal []byte) {
	t.Helper()
	b := openAt(t, path)
	_, err := b.db.Exec(`PRAGMA cache_size = 1`)
	check(t, err)
	tx, err := b.db.Begin()
	check(t, err)
	_, err = tx.Exec(`UPDATE value SET note = 'half done' || hex(randomblob(3000))`)
	check(t, err)
	half, journal = fileBytes(path), fileBytes(path+"-journal")
	check(t, tx.Rollback())
	check(t, b.release())
	return half, journal
}

// TestDamagedInTheMiddleOfASave: the journal by which a half-done save would be
// taken back is gone, cut, blank or another's. The book is refused with its
// snapshots, or what it holds is what it held.
func TestDamagedInTheMiddleOfASave(t *testing.T) {
	path, want := closedBook(t)
	half, journal := halfSaved(t, path)
	r := seeded(24)
	change := map[string][]byte{"whole": journal, "gone": nil, "cut": journal[:len(journal)/2], "blank": make([]byte, len(journal)), "another's": []byte(strings.Repeat("Dear doctor. ", 500))}
	for i := range 20 {
		flipped := bytes.Clone(journal)
		flipped[r.IntN(len(flipped))] ^= 1 << r.IntN(8)
		change[fmt.Sprintf("flip %d", i)] = flipped
	}
	caught := 0
	for name, with := range change {
		bad := hurt(t, path, func([]byte) []byte { return half })
		if with != nil {
			check(t, os.WriteFile(bad+"-journal", with, privateFile))
		}
		b, err := Open(ctx, optionsFor(bad))
		var trouble *Trouble
		switch {
		case err == nil:
			sameText(t, name, contentOf(t, b), want)
			check(t, b.release())
		case !errors.Is(err, ErrDamaged) || !errors.As(err, &trouble) || len(trouble.Snapshots) != 1:
			t.Errorf("%s: %v", name, err)
		default:
			caught++
		}
		if (name == "whole") != (err == nil) && !strings.HasPrefix(name, "flip") {
			t.Errorf("the journal was %s: %v", name, err)
		}
	}
	t.Logf("%d journals: %d books caught, the others taken back", len(change), caught)
}

// TestADamagedCopyIsNotOfferedFirst: what is offered as the way back was read
// whole.
func TestADamagedCopyIsNotOfferedFirst(t *testing.T) {
	path, _ := closedBook(t)
	b := openAt(t, path)
	mustPut(t, b, SavePerson(model.Person{ID: "late", Name: "Late"}))
	mustClose(t, b)
	snaps, err := snapshotNames(path)
	check(t, err)
	bad := bytes.Replace(fileBytes(snaps[0].Path), []byte("needle-7-in"), []byte("needle-7-im"), 1)
	check(t, os.WriteFile(snaps[0].Path, bad, privateFile))
	check(t, os.WriteFile(path, []byte("?"), privateFile))
	_, err = Open(ctx, optionsFor(path))
	var trouble *Trouble
	if !errors.As(err, &trouble) || len(trouble.Snapshots) != 2 || !errors.Is(trouble.Snapshots[0].Err, ErrDamaged) || trouble.Snapshots[1].Err != nil {
		t.Errorf("%+v", trouble)
	}
}

// savesAgain writes every record once more: an index that no longer finds
// its row would double it.
func savesAgain(t *testing.T, name string, b *Book) {
	t.Helper()
	book, _, err := b.Load(ctx)
	check(t, err)
	if _, err := b.Put(ctx, "Ada", changesOf(book)); err != nil {
		t.Errorf("%s: saving again: %v", name, err)
	}
	sameText(t, name+", saved again", contentOf(t, b), describe(book))
}

// TestRowsOfAnotherTime: a row that vanished or came back whole has a good
// checksum of its own; the total tells.
func TestRowsOfAnotherTime(t *testing.T) {
	for _, sql := range []string{
		`DELETE FROM entry WHERE n = 7`,
		`INSERT INTO person SELECT id || 'x', name, mark, created, changed, deleted_at, sum FROM person LIMIT 1`,
		`DELETE FROM value WHERE entry = 8`,
		`UPDATE value SET pos = pos + 50 WHERE code = 'note' AND entry = 9; UPDATE value SET pos = 0 WHERE code = 'note' AND entry = 9 AND 0; UPDATE value SET code = 'noted' WHERE entry = 9`,
		`UPDATE meta SET total = total + 1`,
		`PRAGMA user_version = 0`,
		`CREATE TRIGGER evil AFTER INSERT ON entry BEGIN DELETE FROM value; END`,
		`DROP TABLE change_row`,
		`PRAGMA foreign_keys = 0; DELETE FROM person`,
	} {
		path, _ := closedBook(t)
		b := openAt(t, path)
		_, err := b.db.Exec(sql)
		check(t, err)
		check(t, b.release())
		if _, err := Open(ctx, optionsFor(path)); !errors.Is(err, ErrDamaged) {
			t.Errorf("%s: %v", sql, err)
		}
	}
}

// TestWayBack is the whole walk from damage to a restored book.
func TestWayBack(t *testing.T) {
	path, want := closedBook(t)
	damaged := append([]byte("?"), fileBytes(path)[1:]...)
	check(t, os.WriteFile(path, damaged, 0o600))
	_, err := Open(ctx, optionsFor(path))
	var trouble *Trouble
	if !errors.As(err, &trouble) || len(trouble.Snapshots) != 1 {
		t.Fatalf("error %v", err)
	}
	snap := trouble.Snapshots[0].Path
	look, err := OpenSnapshot(ctx, snap, optionsFor(""))
	check(t, err)
	sameText(t, "snapshot", contentOf(t, look), want)
	if _, err := look.Put(ctx, "", []Change{Set("a", "b")}); !errors.Is(err, ErrReadOnly) {
		t.Errorf("saving in a snapshot: %v", err)
	}
	mustClose(t, look)
	check(t, os.WriteFile(path+"-journal", []byte("half a save of the damaged book"), 0o600))
	aside, err := GoOnFrom(ctx, snap, path)
	check(t, err)
	if exists(path+"-journal") || !bytes.Equal(fileBytes(aside), damaged) ||
		string(fileBytes(aside+"-journal")) != "half a save of the damaged book" {
		t.Fatal("not all was set aside")
	}
	b := openAt(t, path)
	sameText(t, "restored", contentOf(t, b), want)
	mustPut(t, b, Set("a", "b"))
	mustClose(t, b)

	second, err := GoOnFrom(ctx, snap, path)
	check(t, err)
	if second == aside || !bytes.Equal(fileBytes(aside), damaged) {
		t.Errorf("%s overwritten", aside)
	}
	before := fileBytes(path)
	if was, err := GoOnFrom(ctx, aside, path); !errors.Is(err, ErrDamaged) && !errors.Is(err, ErrNotABook) || was != "" || !bytes.Equal(fileBytes(path), before) {
		t.Errorf("a damaged file was restored: %v", err)
	}
}

// TestHistoryIsCheckedToo: undo does not bring back what rotted.
func TestHistoryIsCheckedToo(t *testing.T) {
	b := openNew(t)
	book := someBook(seeded(23), 1)
	mustPut(t, b, changesOf(book)...)
	token := mustPut(t, b, DeleteEntry(book.Entries[0].ID))
	_, err := b.db.Exec(`UPDATE change_row SET old = replace(old, '"kind":"', '"kind":"x') WHERE change = ?`, token)
	check(t, err)
	if _, err := b.Undo(ctx, "Ada", token); !errors.Is(err, ErrDamaged) {
		t.Errorf("error %v", err)
	}
}

func TestTroubleSpeaks(t *testing.T) {
	err := &Trouble{Path: "book.db", Err: ErrDamaged, Flaws: []Flaw{{InRow, `entry "x"`}}}
	if !strings.Contains(err.Error(), `row: entry "x"`) || !strings.Contains((&Trouble{Err: ErrMissing}).Error(), ErrMissing.Error()) {
		t.Error(err)
	}
}
