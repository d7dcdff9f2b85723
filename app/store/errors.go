package store

import (
	"errors"
	"fmt"
	"io/fs"
	"runtime"
	"strings"
	"syscall"

	"github.com/mattn/go-sqlite3"
)

// What can go wrong, for errors.Is. An error may be several of these at once:
// a full disk while saving is both ErrNotSaved and ErrDiskFull.
var (
	// ErrInUse: another window or program has the book open.
	ErrInUse = errors.New("the book is open elsewhere")
	// ErrNotABook: the file is something else and was not touched.
	ErrNotABook = errors.New("the file is not a household book")
	// ErrNewer: a newer program wrote the book; this one may only read it.
	ErrNewer = errors.New("the book was written by a newer program")
	// ErrDamaged: the book is not as it was written. See [Trouble].
	ErrDamaged = errors.New("the book is damaged")
	// ErrMissing: there is no book, but snapshots of it are there. See [Trouble].
	ErrMissing = errors.New("the book is gone, its snapshots are not")
	// ErrReadOnly: the book is open for reading only.
	ErrReadOnly = errors.New("the book may only be read")
	// ErrReadOnlyFolder: nothing can be written where the book lies. It is
	// also an ErrReadOnly.
	ErrReadOnlyFolder = fmt.Errorf("the folder cannot be written: %w", ErrReadOnly)
	// ErrDiskFull: no space is left. What was saved before is safe.
	ErrDiskFull = errors.New("the disk is full")
	// ErrNotSaved: nothing of this save is in the book; what was there is.
	ErrNotSaved = errors.New("not saved")
	// ErrNoSnapshot: the copy could not be made; the book itself is safe.
	ErrNoSnapshot = errors.New("no snapshot was made")
	// ErrInvalid: a record breaks a rule of the book (text that is not UTF-8,
	// a number that is none, a person or pack that is not there).
	ErrInvalid = errors.New("the record does not fit the book")
	// ErrNotFound: no such record, or it is already deleted.
	ErrNotFound = errors.New("not in the book")
	// ErrOverwritten: a later change stands on the one to be undone, or it
	// was undone already.
	ErrOverwritten = errors.New("changed again since")
	// ErrExists: a file is in the way; nothing is ever overwritten.
	ErrExists = errors.New("a file of that name is there")
)

// Trouble is why a book was not opened, with the snapshots that could stand
// in for it. Err is ErrDamaged, ErrMissing or ErrNotABook.
type Trouble struct {
	Path      string
	Err       error
	Flaws     []Flaw
	Snapshots []Snapshot // newest first; those before the first without Err were read whole, and are not
}

func (t *Trouble) Error() string {
	var why []string
	for _, f := range t.Flaws {
		why = append(why, f.String())
	}
	return strings.TrimSuffix(fmt.Sprintf("%s: %v: %s", t.Path, t.Err, strings.Join(why, "; ")), ": ")
}

// Unwrap lets errors.Is see Err.
func (t *Trouble) Unwrap() error { return t.Err }

// Classify gives an error of the system the error of ours that it means, if
// any, for those who write files beside a book.
func Classify(err error) error { return classify(err) }

// classify adds our own error to what the system or SQLite said, so that a
// caller need know neither.
func classify(err error) error {
	kind := kindOf(err)
	if err == nil || kind == nil || errors.Is(err, kind) {
		return err
	}
	return fmt.Errorf("%w: %w", kind, err)
}

func kindOf(err error) error {
	var se sqlite3.Error
	if errors.As(err, &se) {
		if k := kindOfErrno(se.SystemErrno); k != nil && se.Code != sqlite3.ErrBusy {
			return k
		}
		switch se.Code {
		case sqlite3.ErrFull:
			return ErrDiskFull
		case sqlite3.ErrCorrupt, sqlite3.ErrNotADB:
			return ErrDamaged
		case sqlite3.ErrReadonly, sqlite3.ErrPerm:
			return ErrReadOnly
		case sqlite3.ErrBusy, sqlite3.ErrLocked:
			return ErrInUse
		case sqlite3.ErrConstraint, sqlite3.ErrMismatch, sqlite3.ErrTooBig:
			return ErrInvalid
		}
		return nil
	}
	var no syscall.Errno
	if errors.As(err, &no) {
		return kindOfErrno(no)
	}
	if errors.Is(err, fs.ErrPermission) {
		return ErrReadOnlyFolder
	}
	return nil
}

func kindOfErrno(no syscall.Errno) error {
	switch no {
	case syscall.ENOSPC, syscall.EDQUOT:
		return ErrDiskFull
	case syscall.EROFS, syscall.EACCES, syscall.EPERM:
		return ErrReadOnlyFolder
	}
	const handleDiskFull, diskFull = 39, 112 // the same two on Windows
	if runtime.GOOS == "windows" && (no == handleDiskFull || no == diskFull) {
		return ErrDiskFull
	}
	return nil
}

func notSaved(err error) error {
	if err == nil {
		return nil
	}
	return fmt.Errorf("%w: %w", ErrNotSaved, classify(err))
}
