package backup

import (
	"context"
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"strings"

	"quietwater/app/store"
)

// Ready is a backup that was taken out of its file whole, checked and counted,
// and waits beside the place of a book for its name.
type Ready struct {
	Found

	dir      string // private; holds the fresh book and its pictures
	path     string
	pictures []string
}

const freshName = "fresh.book"

// Prepare takes a backup out of its file into a private folder beside the
// place of the book at path, which it does not touch. Every byte is held
// against the list, the book is examined as at every start, and rebuilt page by
// page, for the file may come from anywhere. An error is a [StepError].
//
// Call Take or Drop afterwards; a program that is killed before leaves a folder
// that the next start of the book sweeps away.
func Prepare(ctx context.Context, from, path string, o Options) (*Ready, error) {
	dir, err := store.Staging(path)
	if err != nil {
		return nil, failed(Taking, err)
	}
	r := &Ready{dir: dir, path: path}
	m, found, err := unpack(ctx, from, dir, true, o)
	if err == nil {
		err = r.rebuild(ctx, found)
	}
	if err != nil {
		r.Drop()
		return nil, failed(Taking, err)
	}
	r.Found = found
	for _, l := range m.Files {
		if name, ok := strings.CutPrefix(l.Name, pictureDir); ok {
			r.pictures = append(r.pictures, name)
		}
	}
	return r, nil
}

// unpack opens a backup, takes it out into dir and examines the book.
func unpack(ctx context.Context, from, dir string, pictures bool, o Options) (manifest, Found, error) {
	f, err := open(ctx, from, o.Passphrase)
	if err != nil {
		return manifest{}, Found{}, failed(Opening, err)
	}
	defer f.Close()
	found := Found{Path: from, Encrypted: f.encrypted, Size: f.fileSize}
	a, err := readArchive(f, f.size)
	if err != nil {
		return manifest{}, found, failed(Opening, err)
	}
	m := a.manifest
	found.Made, found.Program, found.Counts = m.Made, m.Program, m.Counts
	damaged, err := a.takeOut(ctx, dir, pictures)
	if err != nil {
		return m, found, err
	}
	have, err := examine(ctx, filepath.Join(dir, bookName))
	if err != nil {
		return m, found, err
	}
	have.Pictures, have.DamagedPictures = m.Counts.Pictures, damaged
	if !have.same(m.Counts) || have.Schema != m.Counts.Schema {
		return m, found, fmt.Errorf("%w: it holds %+v and should hold %+v", ErrDamaged, have, m.Counts)
	}
	return m, found, nil
}

// examine checks a book that came out of a backup and counts it.
func examine(ctx context.Context, path string) (Counts, error) {
	rep, err := store.CheckFile(ctx, path)
	switch {
	case errors.Is(err, store.ErrNotABook), errors.Is(err, store.ErrDamaged):
		return Counts{}, fmt.Errorf("%w: the book: %w", ErrDamaged, err)
	case err != nil:
		return Counts{}, err
	case !rep.OK():
		return Counts{}, fmt.Errorf("%w: the book: %v", ErrDamaged, rep.Flaws)
	}
	return countsOf(rep), nil
}

// rebuild copies the book into a fresh file of ours: its pages and whatever
// hides between them stay behind.
func (r *Ready) rebuild(ctx context.Context, found Found) error {
	came := filepath.Join(r.dir, bookName)
	b, err := store.OpenSnapshot(ctx, came, store.Options{})
	if err != nil {
		return err
	}
	newer := errors.Is(b.ReadOnlyReason, store.ErrNewer)
	fresh := filepath.Join(r.dir, freshName)
	if !newer {
		err = b.CopyTo(ctx, fresh)
	}
	if err = errors.Join(err, b.Close(ctx)); err != nil {
		return err
	}
	if newer {
		return fmt.Errorf("%w: version %d of the book", store.ErrNewer, found.Counts.Schema)
	}
	have, err := examine(ctx, fresh)
	if err != nil {
		return err
	}
	have.Pictures, have.DamagedPictures = found.Counts.Pictures, found.Counts.DamagedPictures
	if !have.same(found.Counts) {
		return fmt.Errorf("%w: rebuilt it holds %+v instead of %+v", ErrDamaged, have, found.Counts)
	}
	return os.Remove(came)
}

// Take gives what is ready its place. The pictures come first, each beside those
// that are there (a picture's name says what it holds, so that none stands in
// another's way); then the book gets its name in one step. A book that has the
// name is store.ErrExists, unless aside: then it keeps everything under another
// name, which is returned.
func (r *Ready) Take(aside bool) (was string, err error) {
	defer r.Drop()
	if !aside {
		if err := free(r.path); err != nil {
			return "", failed(Naming, err)
		}
	}
	if err := store.AddPictures(r.path, filepath.Join(r.dir, "pictures"), r.pictures); err != nil {
		return "", failed(Naming, err)
	}
	was, err = store.Adopt(filepath.Join(r.dir, freshName), r.path, aside)
	return was, failed(Naming, err)
}

// Book is the book that waits, with its pictures in the folder beside it as
// every book has them. It is gone after Take or Drop.
func (r *Ready) Book() string { return filepath.Join(r.dir, freshName) }

// Drop removes what was taken out.
func (r *Ready) Drop() { os.RemoveAll(r.dir) }

// Restore puts a backup under the new name path.
func Restore(ctx context.Context, from, path string, o Options) (Found, error) {
	if err := free(path); err != nil {
		return Found{}, failed(Naming, err)
	}
	r, err := Prepare(ctx, from, path, o)
	if err != nil {
		return Found{}, err
	}
	_, err = r.Take(false)
	return r.Found, err
}

// Rehearse restores a backup into a private folder beside the place of the
// book at path, counts, and removes it all.
func Rehearse(ctx context.Context, from, path string, o Options) (Found, error) {
	r, err := Prepare(ctx, from, path, o)
	if err != nil {
		return Found{}, err
	}
	r.Drop()
	return r.Found, nil
}

// Count tells what a book and its pictures hold now, to be set beside a backup.
func Count(ctx context.Context, path string) (Counts, error) {
	rep, err := store.CheckFile(ctx, path)
	if err != nil {
		return Counts{}, err
	}
	if !rep.OK() {
		return countsOf(rep), fmt.Errorf("%w: %v", store.ErrDamaged, rep.Flaws)
	}
	c := countsOf(rep)
	pictures, err := store.PictureFiles(path)
	if err != nil {
		return c, err
	}
	c.Pictures = len(pictures)
	for _, p := range pictures {
		_, sum, err := filePart(ctx, p.Name, p.Path)
		if err != nil {
			return c, err
		}
		if !store.PictureFits(p.Name, sum) {
			c.DamagedPictures++
		}
	}
	return c, nil
}
