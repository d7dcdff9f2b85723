package store

import (
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"runtime"
	"strings"

	"github.com/gofrs/flock"
)

// Every file here holds a person's health: the owner alone may read it,
// whatever the umask says.
const (
	privateFile   = 0o600
	privateFolder = 0o700
)

// stem is what the files beside a book are named after.
func stem(path string) string {
	base := filepath.Base(path)
	return strings.TrimSuffix(base, filepath.Ext(base))
}

func lockPath(path string) string {
	return filepath.Join(filepath.Dir(path), stem(path)+".lock")
}

// BackupsDir is the folder that holds the snapshots of the book at path.
func BackupsDir(path string) string { return filepath.Join(filepath.Dir(path), "backups") }

// takeLock keeps every other program off the book until it is released; the
// system releases it when this program dies.
func takeLock(path string) (*flock.Flock, error) {
	l := flock.New(lockPath(path), flock.SetPermissions(privateFile))
	ok, err := l.TryLock()
	if err != nil {
		return nil, classify(err)
	}
	if !ok {
		return nil, fmt.Errorf("%s: %w", path, ErrInUse)
	}
	return l, nil
}

// makeFolder makes a private folder, and those above it, and makes sure that
// a power cut does not take it away again.
func makeFolder(dir string) error {
	if st, err := os.Stat(dir); err == nil {
		if !st.IsDir() {
			return &fs.PathError{Op: "mkdir", Path: dir, Err: fs.ErrExist}
		}
		return nil
	}
	if up := filepath.Dir(dir); up != dir {
		if err := makeFolder(up); err != nil {
			return err
		}
	}
	if err := os.Mkdir(dir, privateFolder); err != nil && !errors.Is(err, fs.ErrExist) {
		return err
	}
	return syncFolder(filepath.Dir(dir))
}

// syncFolder makes a created or renamed name in dir last. Windows has no such
// call and orders its own journal.
func syncFolder(dir string) error {
	if runtime.GOOS == "windows" {
		return nil
	}
	return syncPath(dir)
}

func syncPath(path string) error {
	f, err := os.Open(path)
	if err != nil {
		return err
	}
	return errors.Join(f.Sync(), f.Close())
}

func syncFile(path string) error {
	f, err := os.OpenFile(path, os.O_RDWR, 0)
	if err != nil {
		return err
	}
	return errors.Join(f.Sync(), f.Close())
}

// tempFile makes an empty private file in dir that the next start sweeps away
// should this program die.
func tempFile(dir, path string) (string, error) {
	f, err := os.CreateTemp(dir, "."+stem(path)+"-*.tmp")
	if err != nil {
		return "", err
	}
	return f.Name(), f.Close()
}

// Staging makes an empty private folder beside the book at path, to put
// together there what will take a name beside it. The next start of that book
// sweeps it away should this program die.
func Staging(path string) (string, error) {
	abs, err := filepath.Abs(path)
	if err != nil {
		return "", err
	}
	if err := makeFolder(filepath.Dir(abs)); err != nil {
		return "", classify(err)
	}
	dir, err := os.MkdirTemp(filepath.Dir(abs), "."+stem(abs)+"-*.tmp") // 0700
	return dir, classify(err)
}

// removeTemp also takes what SQLite left beside it on a full disk.
func removeTemp(temp string) {
	for _, f := range append(companions(temp), temp) {
		os.Remove(f) // gone already when it got its final name
	}
}

// sweep removes what a killed program left half done. Only call it while
// holding the lock.
func sweep(path string) {
	of, _ := filepath.Glob(filepath.Join(globQuote(PicturesDir(path)), "*"))
	for _, dir := range append(of, filepath.Dir(path), BackupsDir(path)) {
		left, _ := filepath.Glob(filepath.Join(globQuote(dir), "."+globQuote(stem(path))+"-*.tmp*"))
		for _, f := range left {
			os.RemoveAll(f) // if it stays, nothing is lost but space
		}
	}
}

func globQuote(s string) string {
	if runtime.GOOS == "windows" {
		return s // no escapes there, and no such names either
	}
	return strings.NewReplacer(`\`, `\\`, `*`, `\*`, `?`, `\?`, `[`, `\[`).Replace(s)
}

// exists reports whether anything of that name is there.
func exists(path string) bool {
	_, err := os.Lstat(path)
	return !errors.Is(err, fs.ErrNotExist)
}

// sizeOf is 0 for a file that is not there.
func sizeOf(path string) int64 {
	st, err := os.Stat(path)
	if err != nil {
		return 0
	}
	return st.Size()
}

// companions are the files SQLite keeps beside a database. One left behind
// would be played into whatever takes the database's name.
func companions(path string) []string {
	return []string{path + "-journal", path + "-wal", path + "-shm"}
}

// copyFile fills the existing file to and waits until it is on the disk.
func copyFile(from, to string) error {
	in, err := os.Open(from)
	if err != nil {
		return err
	}
	defer in.Close()
	out, err := os.OpenFile(to, os.O_WRONLY|os.O_CREATE|os.O_TRUNC, privateFile)
	if err != nil {
		return err
	}
	_, err = io.Copy(out, in)
	return errors.Join(err, out.Sync(), out.Close())
}
