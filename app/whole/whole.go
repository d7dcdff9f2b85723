// Package whole gives a file its name only once all of it is on the disk, so
// that a program that is killed, or a disk that is full, leaves no half of a
// page, a table or a backup that somebody would take for a whole one.
//
// It refuses to know what is in the file.
package whole

import (
	"errors"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"runtime"
	"syscall"
	"time"
)

// pattern is what a file is called while it is being written.
const pattern = ".quietwater-*.tmp"

// old is how long a half-written file lies there before it can only be one that
// nobody writes any more.
const old = 24 * time.Hour

// New writes the new file path, for its owner alone. What has that name already
// is an [fs.ErrExist] and is not touched; after any error nothing has the name.
func New(path string, write func(io.Writer) error) error {
	if err := Free(path); err != nil {
		return err
	}
	temp, err := Temp(filepath.Dir(path), write)
	if err != nil {
		return err
	}
	defer os.Remove(temp) // gone already when it got its name
	return Name(temp, path)
}

// Over writes content in place of what has the name path, if anything has. After
// an error that is still there.
func Over(path string, content []byte) error {
	temp, err := Temp(filepath.Dir(path), func(w io.Writer) error { _, err := w.Write(content); return err })
	if err != nil {
		return err
	}
	defer os.Remove(temp)
	if err := os.Rename(temp, path); err != nil {
		return err
	}
	return SyncFolder(filepath.Dir(path))
}

// Free is an [fs.ErrExist] when something has the name.
func Free(path string) error {
	if _, err := os.Lstat(path); err == nil {
		return &fs.PathError{Op: "write", Path: path, Err: fs.ErrExist}
	} else if !errors.Is(err, fs.ErrNotExist) {
		return err
	}
	return nil
}

// Temp writes a file that has no name yet in dir and waits until it is on the
// disk. The caller gives it its name or removes it; when this program is killed
// first, a later Temp in that folder does.
func Temp(dir string, write func(io.Writer) error) (string, error) {
	sweep(dir)
	f, err := os.CreateTemp(dir, pattern) // 0600
	if err != nil {
		return "", err
	}
	if err := errors.Join(write(f), f.Sync(), f.Close()); err != nil {
		os.Remove(f.Name())
		return "", err
	}
	return f.Name(), nil
}

// Name gives what Temp wrote its name, for good.
func Name(temp, path string) error {
	if err := Free(path); err != nil {
		return err
	}
	if err := os.Rename(temp, path); err != nil {
		return err
	}
	return SyncFolder(filepath.Dir(path))
}

func sweep(dir string) {
	left, _ := filepath.Glob(filepath.Join(dir, pattern)) // of an odd folder name it finds none, and no harm
	for _, f := range left {
		if st, err := os.Lstat(f); err == nil && time.Since(st.ModTime()) > old {
			os.Remove(f)
		}
	}
}

// SyncFolder makes a new name last. Not every stick's or network's file system
// knows the call, and Windows has none.
func SyncFolder(dir string) error {
	if runtime.GOOS == "windows" {
		return nil
	}
	f, err := os.Open(dir)
	if err != nil {
		return err
	}
	err = f.Sync()
	if errors.Is(err, syscall.EINVAL) || errors.Is(err, errors.ErrUnsupported) {
		err = nil
	}
	return errors.Join(err, f.Close())
}
