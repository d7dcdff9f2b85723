package store

import (
	"bytes"
	"errors"
	"os"
	"path/filepath"
	"syscall"
	"testing"
)

// smallDisk mounts a file system of so many kilobytes in memory.
func smallDisk(t *testing.T, kB string) string {
	t.Helper()
	dir := filepath.Join(t.TempDir(), "disk")
	check(t, os.Mkdir(dir, 0o700))
	if err := syscall.Mount("tmpfs", dir, "tmpfs", 0, "size="+kB+"k,mode=0700"); err != nil {
		t.Skipf("mounting a small file system is not permitted here (needs root): %v", err)
	}
	t.Cleanup(func() { syscall.Unmount(dir, syscall.MNT_DETACH) })
	return dir
}

// fill takes all room that is left.
func fill(t *testing.T, path string) {
	t.Helper()
	f, err := os.Create(path)
	check(t, err)
	defer f.Close()
	for block := make([]byte, 4096); err == nil; {
		_, err = f.Write(block)
	}
	if !errors.Is(classify(err), ErrDiskFull) {
		t.Fatalf("filling the disk: %v", err)
	}
}

func TestDiskFull(t *testing.T) {
	sizes := []string{"300", "600", "1200"}
	if soak() {
		sizes = append(sizes, "2500", "5000")
	}
	for _, kB := range sizes {
		t.Run(kB+"kB", func(t *testing.T) {
			dir := smallDisk(t, kB)
			path := filepath.Join(dir, "book.db")
			filler := filepath.Join(dir, "filler")
			check(t, os.WriteFile(filler, make([]byte, 100<<10), 0o600))
			b := openAt(t, path)
			w := newTruth()
			for {
				err := w.do(b)
				if err == nil {
					continue
				}
				if !errors.Is(err, ErrNotSaved) || !errors.Is(err, ErrDiskFull) {
					t.Fatalf("save %d: %v", w.step, err)
				}
				break
			}
			acked := w.step - 1
			holds := func(when string, b *Book, n int) {
				t.Helper()
				if have := writesOf(t, b); have != n {
					t.Fatalf("%s: %d saves instead of %d", when, have, n)
				}
				sameText(t, when, contentOf(t, b), describe(again(n).book()))
			}
			holds("while full", b, acked)
			if _, err := b.Snapshot(ctx); !errors.Is(err, ErrNoSnapshot) || !errors.Is(err, ErrDiskFull) {
				t.Errorf("snapshot: %v", err)
			}
			if files, _ := os.ReadDir(BackupsDir(path)); len(files) > 0 {
				t.Errorf("half a snapshot: %v", files)
			}
			if err := b.Close(ctx); !errors.Is(err, ErrNoSnapshot) || !errors.Is(err, ErrDiskFull) {
				t.Errorf("closing: %v", err)
			}
			b = openAt(t, path)
			holds("opened while full", b, acked)
			check(t, b.release())

			o := optionsFor(path)
			o.steps = stepsWithMigration()
			before := fileBytes(path)
			m, err := Open(ctx, o) // no room to migrate, but enough to be read
			check(t, err)
			if m.ReadOnlyReason != ErrDiskFull {
				t.Errorf("migrating: %v", m.ReadOnlyReason)
			}
			sameText(t, "read while full", contentOf(t, m), describe(again(acked).book()))
			check(t, m.release())
			if !bytes.Equal(fileBytes(path), before) {
				t.Error("a migration that failed changed the book")
			}

			b = openAt(t, path)
			check(t, os.Remove(filler)) // the household frees some room
			w = again(acked)
			for range 5 {
				check(t, w.do(b))
			}
			holds("after room was made", b, acked+5)
			check(t, b.release())
			t.Logf("%d saves until the disk was full, 0 lost, 5 of 5 after room was made", acked)
		})
	}
}

// TestDiskFullOfPictures: no half of a picture, and the entry it belongs to is
// not touched.
func TestDiskFullOfPictures(t *testing.T) {
	dir := smallDisk(t, "700")
	b := openAt(t, filepath.Join(dir, "book.db"))
	book := someBook(seeded(41), 3)
	mustPut(t, b, changesOf(book)...)
	key := PictureKey{Person: book.Entries[0].Person, Entry: book.Entries[0].ID}
	picture := append([]byte("\xff\xd8"), make([]byte, 400<<10)...)
	filler := filepath.Join(dir, "filler")
	check(t, os.WriteFile(filler, make([]byte, 250<<10), privateFile))
	if err := b.KeepPicture(key, picture); !errors.Is(err, ErrDiskFull) {
		t.Fatalf("error %v", err)
	}
	if _, _, err := b.Picture(key); !errors.Is(err, ErrNotFound) {
		t.Errorf("half a picture: %v", err)
	}
	sameText(t, "while full", contentOf(t, b), describe(book))
	check(t, os.Remove(filler))
	check(t, b.KeepPicture(key, picture))
	if got, _, err := b.Picture(key); err != nil || !bytes.Equal(got, picture) {
		t.Errorf("after room was made: %d bytes, %v", len(got), err)
	}
}

// TestDiskFullFromTheStart: no new book, and no half of one.
func TestDiskFullFromTheStart(t *testing.T) {
	dir := smallDisk(t, "200")
	path := filepath.Join(dir, "book.db")
	fill(t, filepath.Join(dir, "filler"))
	b, err := Open(ctx, optionsFor(path))
	if err == nil || !errors.Is(err, ErrDiskFull) {
		b.release()
		t.Fatalf("error %v", err)
	}
	check(t, os.Remove(filepath.Join(dir, "filler")))
	mustClose(t, openAt(t, path))
}

func TestReadOnlyFolder(t *testing.T) {
	dir := smallDisk(t, "4000")
	path := filepath.Join(dir, "book.db")
	w := newTruth()
	b := openAt(t, path)
	for range 30 {
		check(t, w.do(b))
	}
	mustClose(t, b)
	check(t, syscall.Mount("tmpfs", dir, "tmpfs", syscall.MS_REMOUNT|syscall.MS_RDONLY, "size=4000k,mode=0700"))
	b = openAt(t, path)
	if !errors.Is(b.ReadOnlyReason, ErrReadOnlyFolder) || !errors.Is(b.ReadOnlyReason, ErrReadOnly) {
		t.Errorf("reason %v", b.ReadOnlyReason)
	}
	sameText(t, "read only", contentOf(t, b), describe(w.book()))
	if _, err := b.Put(ctx, "", []Change{Set("a", "b")}); !errors.Is(err, ErrNotSaved) || !errors.Is(err, ErrReadOnlyFolder) {
		t.Errorf("saving: %v", err)
	}
	if _, err := b.Snapshot(ctx); !errors.Is(err, ErrReadOnlyFolder) {
		t.Errorf("snapshot: %v", err)
	}
	mustClose(t, b)
	if rep, err := CheckFile(ctx, path); err != nil || !rep.OK() {
		t.Errorf("check: %+v %v", rep, err)
	}
	if _, err := Open(ctx, optionsFor(filepath.Join(dir, "new", "book.db"))); !errors.Is(err, ErrReadOnlyFolder) {
		t.Errorf("a new book: %v", err)
	}
	if _, err := GoOnFrom(ctx, path, path); !errors.Is(err, ErrReadOnlyFolder) {
		t.Errorf("set aside: %v", err)
	}
}
