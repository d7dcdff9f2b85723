package store

import (
	"errors"
	"fmt"
	"os"
	"path/filepath"
)

// Adopt gives a checked book, fresh, that lies in path's folder or one below
// it, the name path. A book that has this name already is ErrExists, unless it
// may go aside: then it keeps all it holds under another name, which is
// returned. At no moment is there neither of them, or half of one.
func Adopt(fresh, path string, aside bool) (was string, err error) {
	path, err = filepath.Abs(path)
	if err != nil {
		return "", err
	}
	if aside {
		return adopt(fresh, path, asReplaced)
	}
	return adopt(fresh, path, "")
}

// adopt is Adopt of an absolute path; aside says why the book there goes aside,
// "" that it may not.
func adopt(fresh, path, aside string) (was string, err error) {
	lock, err := takeLock(path)
	if err != nil {
		return "", err
	}
	defer lock.Unlock()
	if exists(path) {
		if aside == "" {
			return "", fmt.Errorf("%s: %w", path, ErrExists)
		}
		if was, err = stepAside(path, aside); err != nil {
			return "", classify(err)
		}
	} else if err := moveCompanions(path, freeAside(path, asDamaged)); err != nil {
		return "", classify(err)
	}
	if err := os.Rename(fresh, path); err != nil {
		if was != "" && exists(path) { // it still has its name, and needs no other
			os.Remove(was)
			was = ""
		}
		return was, classify(err)
	}
	return was, classify(syncFolder(filepath.Dir(path)))
}

// stepAside gives a book a second name, so that the first may be given away in
// one step. A book that a crash left half saved and that cannot be mended loses
// the first name at once: its journal must never meet another book.
//
// A damaged one is not even mended: whoever wants to save what is left of it
// finds it as it was.
func stepAside(path, why string) (string, error) {
	to := freeAside(path, why)
	if why != asDamaged {
		_ = recoverJournal(path) // what it could not do shows in what lies there
	}
	for _, f := range companions(path) {
		if sizeOf(f) > 0 {
			return to, errors.Join(os.Rename(path, to), moveCompanions(path, to))
		}
	}
	if err := os.Link(path, to); err != nil { // some drives know no second name
		if err := copyFile(path, to); err != nil {
			os.Remove(to)
			return "", err
		}
	}
	return to, errors.Join(moveCompanions(path, to), syncFolder(filepath.Dir(path)))
}
