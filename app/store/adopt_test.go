package store

import (
	"crypto/sha256"
	"errors"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"quietwater/model"
)

// TestCopyTo copies a book that is open, one that may only be read, and none
// over another file.
func TestCopyTo(t *testing.T) {
	b := openNew(t)
	mustPut(t, b, changesOf(daysBook(3))...)
	want := contentOf(t, b)
	to := filepath.Join(t.TempDir(), "copy.db")
	check(t, b.CopyTo(ctx, to))
	if err := b.CopyTo(ctx, to); !errors.Is(err, ErrExists) {
		t.Errorf("over another: %v", err)
	}
	if st, err := os.Stat(to); err != nil || st.Mode().Perm() != privateFile {
		t.Errorf("%v %v", st.Mode(), err)
	}
	o := optionsFor(to)
	o.ReadOnly = true
	r, err := Open(ctx, o)
	check(t, err)
	defer r.release()
	again := filepath.Join(t.TempDir(), "again.db")
	check(t, r.CopyTo(ctx, again))
	sameText(t, "the copy of a copy", contentOf(t, openAt(t, again)), want)
}

// bookOf is a closed book with one person of that name.
func bookOf(t *testing.T, path, name string) {
	t.Helper()
	b := openAt(t, path)
	mustPut(t, b, SavePerson(model.Person{ID: "p", Name: name}))
	check(t, b.release())
}

func nameIn(t *testing.T, path string) string {
	t.Helper()
	b := openAt(t, path)
	book, _, err := b.Load(ctx)
	check(t, errors.Join(err, b.release()))
	return book.Persons[0].Name
}

func TestAdopt(t *testing.T) {
	dir := t.TempDir()
	path, fresh := filepath.Join(dir, "book.db"), filepath.Join(dir, "fresh.db")
	bookOf(t, path, "Ada")
	bookOf(t, fresh, "Rosa")
	if _, err := Adopt(fresh, path, false); !errors.Is(err, ErrExists) {
		t.Errorf("over a book: %v", err)
	}
	if was, err := Adopt(filepath.Join(dir, "gone.db"), path, true); err == nil || was != "" || nameIn(t, path) != "Ada" {
		t.Errorf("a step that fails: %q, %v", was, err) // the old one never loses its name before the new one has it
	}
	was, err := Adopt(fresh, path, true)
	check(t, err)
	if exists(fresh) || nameIn(t, path) != "Rosa" || nameIn(t, was) != "Ada" {
		t.Errorf("the old book should be %s", was)
	}
	other := filepath.Join(dir, "other.db")
	bookOf(t, fresh, "Emil")
	if was, err := Adopt(fresh, other, false); err != nil || was != "" || nameIn(t, other) != "Emil" {
		t.Errorf("%q %v", was, err)
	}
	held := openAt(t, other)
	bookOf(t, fresh, "Ida")
	if _, err := Adopt(fresh, held.Path(), true); !errors.Is(err, ErrInUse) {
		t.Errorf("while open: %v", err)
	}
}

// A journal that nobody can play back must not meet the book that takes the
// name: SQLite would play it into that one.
func TestAdoptKeepsAForeignJournalAway(t *testing.T) {
	dir := t.TempDir()
	path, fresh := filepath.Join(dir, "book.db"), filepath.Join(dir, "fresh.db")
	bookOf(t, fresh, "Rosa")
	check(t, os.WriteFile(path, []byte("no book any more"), privateFile))
	check(t, os.WriteFile(path+"-journal", []byte(strings.Repeat("half done", 1000)), privateFile))
	was, err := Adopt(fresh, path, true)
	check(t, err)
	if exists(path+"-journal") || !exists(was) || nameIn(t, path) != "Rosa" {
		t.Errorf("the journal is still there, or did not go with %s", was)
	}
}

func TestAddPictures(t *testing.T) {
	b := openNew(t)
	key := PictureKey{Person: "p", Entry: "e"}
	good := []byte("\x89PNG good")
	check(t, b.KeepPicture(key, good))
	files, err := PictureFiles(b.Path())
	check(t, err)
	if len(files) != 1 || !PictureFits(files[0].Name, sha256.Sum256(good)) || files[0].Size != int64(len(good)) {
		t.Fatalf("%+v", files)
	}
	from := t.TempDir()
	put := func(content []byte) {
		t.Helper()
		path := filepath.Join(from, filepath.FromSlash(files[0].Name))
		check(t, os.MkdirAll(filepath.Dir(path), privateFolder))
		check(t, os.WriteFile(path, content, privateFile))
		check(t, AddPictures(b.Path(), from, []string{files[0].Name}))
		if exists(path) {
			t.Error("it was not moved")
		}
		have, _, err := b.Picture(key)
		if err != nil || string(have) != string(good) {
			t.Errorf("%q %v", have, err)
		}
	}
	put([]byte("worse"))                                                  // never over a good one
	put(good)                                                             // the same again
	check(t, os.WriteFile(files[0].Path, []byte("flipped"), privateFile)) // damaged: the good one takes its place
	put(good)
	if string(fileBytes(files[0].Path+".damaged")) != "flipped" {
		t.Error("the damaged one was thrown away")
	}
	for _, bad := range []string{"../p/e-0123456789abcdef.png", "p/../../e-0123456789abcdef.png", "p/e.png", "e-0123456789abcdef.png", "p/e-0123456789abcdef.exe", ""} {
		if err := AddPictures(b.Path(), from, []string{bad}); !errors.Is(err, ErrInvalid) {
			t.Errorf("%q: %v", bad, err)
		}
	}
}
