package store

import (
	"context"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"syscall"
	"testing"
	"time"

	"github.com/mattn/go-sqlite3"

	"quietwater/model"
)

func contextCancelled() (context.Context, func()) { return context.WithCancel(ctx) }

func TestSettingsOnTheLiveConnection(t *testing.T) {
	b := openNew(t)
	check(t, readBack(b.db, safe))
	rep, err := b.Check(ctx)
	check(t, err)
	if rep.Journal != "truncate" || rep.Synchronous != "2" || !rep.ForeignKeys || !rep.OK() {
		t.Errorf("%+v", rep)
	}
	for _, d := range []durability{{"WAL", "FULL"}, {"TRUNCATE", "NORMAL"}} {
		if err := readBack(b.db, d); err == nil {
			t.Errorf("%v: the read-back sees no difference", d)
		}
	}
	if _, err := b.db.Exec(`PRAGMA foreign_keys = 0`); err != nil {
		t.Fatal(err)
	}
	if readBack(b.db, safe) == nil {
		t.Error("references are off and nobody noticed")
	}
}

// TestPrivate looks at every file the program makes, under a careless umask.
func TestPrivate(t *testing.T) {
	old := syscall.Umask(0)
	defer syscall.Umask(old)
	top := t.TempDir()
	b := openAt(t, filepath.Join(top, "a", "b", "book.db"))
	mustPut(t, b, changesOf(someBook(seeded(1), 5))...)
	look := func() (n int) {
		check(t, filepath.WalkDir(filepath.Join(top, "a"), func(path string, d fs.DirEntry, err error) error {
			info, _ := d.Info()
			want := fs.FileMode(privateFile)
			if d.IsDir() {
				want = privateFolder
			}
			if info.Mode().Perm() != want {
				t.Errorf("%s is %v", path, info.Mode())
			}
			n++
			return err
		}))
		return n
	}
	look()
	mustClose(t, b)
	if n := look(); n < 7 { // a, b, book, journal, lock, backups, snapshot
		t.Errorf("only %d files seen", n)
	}
	check(t, os.Chmod(b.Path(), 0o644))
	mustClose(t, openAt(t, b.Path()))
	look()
}

func TestTwoOpens(t *testing.T) {
	b := openNew(t)
	if _, err := Open(ctx, optionsFor(b.Path())); !errors.Is(err, ErrInUse) {
		t.Errorf("second open: %v", err)
	}
	if was, err := GoOnFrom(ctx, b.Path(), b.Path()); was != "" || !errors.Is(err, ErrInUse) {
		t.Errorf("restore: %v", err)
	}
	mustPut(t, b, changesOf(someBook(seeded(1), 5))...)
	ro, err := OpenSnapshot(ctx, b.Path(), optionsFor(""))
	check(t, err)
	sameText(t, "read while open elsewhere", contentOf(t, ro), contentOf(t, b))
	mustClose(t, ro)
	mustClose(t, b)
	mustClose(t, b) // twice does no harm
	if _, err := b.Put(ctx, "", []Change{Set("a", "b")}); !errors.Is(err, ErrNotSaved) {
		t.Errorf("saving in a closed book: %v", err)
	}
	mustClose(t, openAt(t, b.Path()))
}

// TestOddPaths: a person's folder may be called anything.
func TestOddPaths(t *testing.T) {
	for _, name := range []string{"a?mode=memory", "100%41", "#1", "søster 尿", "a*[b]", "book"} {
		b := openAt(t, filepath.Join(t.TempDir(), name, name))
		mustPut(t, b, changesOf(someBook(seeded(1), 2))...)
		mustClose(t, b)
		if sizeOf(b.Path()) == 0 {
			t.Errorf("%s: the book lies elsewhere", name)
		}
		if snaps, err := Snapshots(b.Path()); err != nil || len(snaps) != 1 || snaps[0].Err != nil {
			t.Errorf("%s: snapshots %+v %v", name, snaps, err)
		}
		mustClose(t, openAt(t, b.Path()))
	}
}

func TestTempFilesAreSwept(t *testing.T) {
	b := openNew(t)
	mustPut(t, b, changesOf(someBook(seeded(1), 2))...)
	mustClose(t, b)
	left, err := tempFile(BackupsDir(b.Path()), b.Path())
	check(t, err)
	mine := filepath.Join(filepath.Dir(b.Path()), "holiday.tmp")
	check(t, os.WriteFile(mine, nil, 0o600))
	mustClose(t, openAt(t, b.Path()))
	if exists(left) || !exists(mine) {
		t.Errorf("left over: %v, the household's own: %v", exists(left), exists(mine))
	}
}

// withHeader writes one big-endian number into the file's header.
func withHeader(t *testing.T, path string, offset int64, n uint32) {
	t.Helper()
	f, err := os.OpenFile(path, os.O_RDWR, 0)
	check(t, err)
	_, err = f.WriteAt([]byte{byte(n >> 24), byte(n >> 16), byte(n >> 8), byte(n)}, offset)
	check(t, errors.Join(err, f.Close()))
}

func TestNewerBookIsReadOnly(t *testing.T) {
	o := optionsFor(filepath.Join(t.TempDir(), "book.db"))
	o.steps = append(append([]string{}, steps...), `ALTER TABLE person ADD COLUMN colour TEXT`)
	b, err := Open(ctx, o)
	check(t, err)
	want := someBook(seeded(1), 5)
	mustPut(t, b, changesOf(want)...)
	mustClose(t, b)
	before := fileBytes(o.Path)

	b = openAt(t, o.Path)
	if !errors.Is(b.ReadOnlyReason, ErrNewer) {
		t.Errorf("reason %v", b.ReadOnlyReason)
	}
	sameText(t, "newer book", contentOf(t, b), describe(want))
	_, err = b.Put(ctx, "", []Change{Set("a", "b")})
	if !errors.Is(err, ErrNotSaved) || !errors.Is(err, ErrReadOnly) || !errors.Is(err, ErrNewer) {
		t.Errorf("saving: %v", err)
	}
	mustClose(t, b)
	if string(fileBytes(o.Path)) != string(before) {
		t.Error("the file was changed")
	}
}

func TestNewerBookNobodyHereCanRead(t *testing.T) {
	o := optionsFor(filepath.Join(t.TempDir(), "book.db"))
	o.steps = append(append([]string{}, steps...), `ALTER TABLE person RENAME COLUMN name TO called`)
	b, err := Open(ctx, o)
	if err == nil {
		b.release() // it may read its own no better
	}
	if _, err := Open(ctx, optionsFor(o.Path)); !errors.Is(err, ErrNewer) || errors.Is(err, ErrDamaged) {
		t.Errorf("error %v", err)
	}
}

func TestNotABook(t *testing.T) {
	dir := t.TempDir()
	text := filepath.Join(dir, "letter.db")
	check(t, os.WriteFile(text, []byte(strings.Repeat("Dear doctor, ", 50)), 0o644))
	b := openAt(t, filepath.Join(dir, "x", "other.db"))
	check(t, b.release())
	withHeader(t, b.Path(), 68, 0x12345678)
	for _, path := range []string{text, b.Path()} {
		before := fileBytes(path)
		if _, err := Open(ctx, optionsFor(path)); !errors.Is(err, ErrNotABook) {
			t.Errorf("open: %v", err)
		}
		if _, err := OpenSnapshot(ctx, path, Options{}); !errors.Is(err, ErrNotABook) {
			t.Errorf("read: %v", err)
		}
		if _, err := CheckFile(ctx, path); !errors.Is(err, ErrNotABook) {
			t.Errorf("check: %v", err)
		}
		if string(fileBytes(path)) != string(before) {
			t.Error("the file was changed")
		}
	}
}

func TestMissingBook(t *testing.T) {
	b := openNew(t)
	want := someBook(seeded(1), 5)
	mustPut(t, b, changesOf(want)...)
	mustClose(t, b)
	check(t, os.Remove(b.Path()))
	_, err := Open(ctx, optionsFor(b.Path()))
	var trouble *Trouble
	if !errors.Is(err, ErrMissing) || !errors.As(err, &trouble) || len(trouble.Snapshots) != 1 {
		t.Fatalf("error %v", err)
	}
	if exists(b.Path()) {
		t.Fatal("a blank book was made in silence")
	}
	check(t, os.WriteFile(b.Path()+"-journal", []byte("of the lost book"), 0o600))
	if was, err := GoOnFrom(ctx, trouble.Snapshots[0].Path, b.Path()); was != "" || err != nil {
		t.Errorf("%q, %v", was, err)
	}
	if aside := filepath.Join(filepath.Dir(b.Path()), "book-damaged-1.db-journal"); exists(b.Path()+"-journal") || !exists(aside) {
		t.Error("the journal of the lost book would be played into the restored one")
	}
	back := openAt(t, b.Path())
	sameText(t, "restored", contentOf(t, back), describe(want))
	mustClose(t, back)

	check(t, os.Remove(b.Path()))
	o := optionsFor(b.Path())
	o.Fresh = true
	fresh, err := Open(ctx, o)
	check(t, err)
	if len(contentOf(t, fresh)) != 0 {
		t.Error("a fresh book is not empty")
	}
	mustClose(t, fresh)
}

func TestOpenWhereNothingCanBeWritten(t *testing.T) {
	if _, err := os.Stat("/proc/self"); err != nil {
		t.Skip("no /proc")
	}
	if _, err := Open(ctx, optionsFor("/proc/quietwater/book.db")); err == nil {
		t.Error("a book in /proc")
	}
	if _, err := OpenSnapshot(ctx, filepath.Join(t.TempDir(), "none.db"), Options{}); !errors.Is(err, fs.ErrNotExist) {
		t.Errorf("a snapshot that is not there: %v", err)
	}
	if _, err := CheckFile(ctx, filepath.Join(t.TempDir(), "none.db")); !errors.Is(err, fs.ErrNotExist) {
		t.Errorf("a file that is not there: %v", err)
	}
	file := filepath.Join(t.TempDir(), "file")
	check(t, os.WriteFile(file, nil, 0o600))
	if _, err := Open(ctx, optionsFor(filepath.Join(file, "book.db"))); err == nil {
		t.Error("a book inside a file")
	}
}

func TestErrorsAreTold(t *testing.T) {
	for _, c := range []struct{ err, want error }{
		{&fs.PathError{Op: "open", Err: syscall.ENOSPC}, ErrDiskFull},
		{&fs.PathError{Op: "open", Err: syscall.EDQUOT}, ErrDiskFull},
		{&fs.PathError{Op: "open", Err: syscall.EROFS}, ErrReadOnlyFolder},
		{&fs.PathError{Op: "open", Err: syscall.EACCES}, ErrReadOnlyFolder},
		{&fs.PathError{Op: "open", Err: syscall.EACCES}, ErrReadOnly},
		{sqlite3.Error{Code: sqlite3.ErrFull}, ErrDiskFull},
		{sqlite3.Error{Code: sqlite3.ErrIoErr, SystemErrno: syscall.ENOSPC}, ErrDiskFull},
		{sqlite3.Error{Code: sqlite3.ErrCantOpen, SystemErrno: syscall.EROFS}, ErrReadOnlyFolder},
		{sqlite3.Error{Code: sqlite3.ErrReadonly}, ErrReadOnly},
		{sqlite3.Error{Code: sqlite3.ErrCorrupt}, ErrDamaged},
		{sqlite3.Error{Code: sqlite3.ErrNotADB}, ErrDamaged},
		{sqlite3.Error{Code: sqlite3.ErrBusy}, ErrInUse},
		{sqlite3.Error{Code: sqlite3.ErrConstraint}, ErrInvalid},
	} {
		wrapped := notSaved(fmt.Errorf("saving: %w", c.err))
		if !errors.Is(wrapped, c.want) || !errors.Is(wrapped, ErrNotSaved) || !errors.Is(wrapped, c.err) {
			t.Errorf("%v became %v", c.err, wrapped)
		}
	}
	if notSaved(nil) != nil || classify(nil) != nil {
		t.Error("an error from nothing")
	}
}

// TestPlainCopyIsWhole copies the file by hand while the program is open and
// idle, as families do.
func TestPlainCopyIsWhole(t *testing.T) {
	b := openNew(t)
	w := newTruth()
	for i := range 20 {
		for range 5 {
			check(t, w.do(b))
		}
		to := filepath.Join(t.TempDir(), fmt.Sprintf("copy-%d.db", i))
		check(t, copyFile(b.Path(), to))
		c, err := OpenSnapshot(ctx, to, optionsFor(""))
		check(t, err)
		sameText(t, "copy", contentOf(t, c), describe(w.book()))
		mustClose(t, c)
	}
}

// TestPlainCopyNeedsOurJournal is the control: with the journal that is often
// advised, a copy of the file alone lacks what was saved last.
func TestPlainCopyNeedsOurJournal(t *testing.T) {
	o := optionsFor(filepath.Join(t.TempDir(), "book.db"))
	o.durability = durability{"WAL", "FULL"}
	b, err := Open(ctx, o)
	check(t, err)
	defer b.release()
	w := newTruth()
	missing := 0
	for i := range 20 {
		for range 5 {
			check(t, w.do(b))
		}
		to := filepath.Join(t.TempDir(), fmt.Sprintf("copy-%d.db", i))
		check(t, copyFile(b.Path(), to))
		c, err := OpenSnapshot(ctx, to, optionsFor(""))
		if err != nil || !slices.Equal(contentOf(t, c), describe(w.book())) {
			missing++
		}
		if err == nil {
			check(t, c.release())
		}
	}
	if missing == 0 {
		t.Error("every copy was whole: the test of our own journal proves nothing")
	}
	t.Logf("%d of 20 copies incomplete", missing)
}

// TestClockSetBack: a clock that is wrong, by an hour or by years, loses neither
// the newest safe copy nor its place as the first that is offered.
func TestClockSetBack(t *testing.T) {
	for name, wrong := range map[string]time.Duration{"an hour back": -time.Hour, "a year back": -365 * 24 * time.Hour, "a year ahead": 365 * 24 * time.Hour,
		"ten years back": -3650 * 24 * time.Hour} {
		t.Run(name, func(t *testing.T) {
			o := optionsFor(filepath.Join(t.TempDir(), "book.db"))
			now := noon
			o.Now = func() time.Time { return now }
			n := 0
			save := func() {
				t.Helper()
				b, err := Open(ctx, o)
				check(t, err)
				n++
				mustPut(t, b, SavePerson(model.Person{ID: model.ID(fmt.Sprint("p", n)), Name: "Ada"}))
				mustClose(t, b)
			}
			for range 60 { // more than a year of weeks
				now = now.Add(7 * 24 * time.Hour)
				save()
			}
			offered := func(when string) {
				t.Helper()
				path := filepath.Join(t.TempDir(), "book.db")
				check(t, os.CopyFS(filepath.Dir(path), os.DirFS(filepath.Dir(o.Path))))
				check(t, os.WriteFile(path, []byte("?"), privateFile))
				bad := o
				bad.Path = path
				_, err := Open(ctx, bad)
				var trouble *Trouble
				if !errors.As(err, &trouble) || len(trouble.Snapshots) == 0 || trouble.Snapshots[0].Persons != n {
					t.Fatalf("%s: %d saves; offered first: %+v, %v", when, n, trouble.Snapshots[0], err)
				}
			}
			right := now
			now = now.Add(wrong)
			for range 3 {
				save()
				offered("with the wrong clock")
				now = now.Add(time.Minute)
			}
			now = right.Add(time.Hour)
			for range 10 {
				save()
				offered("with the right clock again")
				now = now.Add(24 * time.Hour)
			}
		})
	}
}

func TestCheckLeavesNoTrace(t *testing.T) {
	b := openNew(t)
	book := someBook(seeded(3), 30)
	mustPut(t, b, changesOf(book)...)
	mustPut(t, b, DeleteEntry(book.Entries[0].ID), Set("language", "en"))
	check(t, b.release())
	dir := t.TempDir()
	path := filepath.Join(dir, "copy.db")
	check(t, copyFile(b.Path(), path))
	before := fileBytes(path)
	rep, err := CheckFile(ctx, path)
	check(t, err)
	entries := 0
	for _, n := range rep.Entries {
		entries += n
	}
	if !rep.OK() || rep.Version != len(steps) || rep.Writes != 2 || rep.Persons != len(book.Persons) || rep.Packs != len(book.Packs) ||
		entries != 29 || rep.Deleted != 1 || rep.Settings != 1 || rep.Changes != 2 || rep.Book == "" {
		t.Errorf("%+v", rep)
	}
	files, err := os.ReadDir(dir)
	check(t, err)
	if len(files) != 1 || string(fileBytes(path)) != string(before) {
		t.Errorf("%d files, changed: %v", len(files), string(fileBytes(path)) != string(before))
	}
}

// TestWriteAheadBook: somebody's tool switched the journal; the next start
// switches back, and looking changes nothing.
func TestWriteAheadBook(t *testing.T) {
	o := optionsFor(filepath.Join(t.TempDir(), "book.db"))
	o.durability = durability{"WAL", "NORMAL"}
	b, err := Open(ctx, o)
	check(t, err)
	want := someBook(seeded(3), 3)
	mustPut(t, b, changesOf(want)...)
	for range 2 { // with its log beside it, and after
		rep, err := CheckFile(ctx, o.Path)
		check(t, err)
		if !rep.OK() || rep.Persons != len(want.Persons) {
			t.Errorf("%+v", rep)
		}
		check(t, b.release())
	}
	if exists(o.Path + "-shm") {
		t.Error("looking left a file behind")
	}
	b = openAt(t, o.Path)
	sameText(t, "switched back", contentOf(t, b), describe(want))
	check(t, readBack(b.db, safe))
}

func TestUnknownGradeIsShownAsItIs(t *testing.T) {
	r := valueRow{Code: "protein", Grade: "5+"}
	if v := r.model(newShared()); v.Word != "5+" || v.Grade != model.NoGrade {
		t.Errorf("%+v", v)
	}
}

// TestOneConnectionStays: the connection whose settings were read back is the
// one that is written on, however often the book is examined on two.
func TestOneConnectionStays(t *testing.T) {
	b := openNew(t)
	mustPut(t, b, changesOf(daysBook(200))...) // so much that SQLite is done first
	_, err := b.db.Exec(`CREATE TEMP TABLE marked(x)`)
	check(t, err)
	for range 10 {
		rep, err := b.Check(ctx)
		check(t, err)
		if n := b.db.Stats().OpenConnections; !rep.OK() || n != 1 {
			t.Fatalf("%v, %d connections", rep.Flaws, n)
		}
		_, err = b.db.Exec(`INSERT INTO marked VALUES(1)`)
		check(t, err)
	}
}
