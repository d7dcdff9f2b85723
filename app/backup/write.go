package backup

import (
	"context"
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"reflect"
	"strings"
	"time"

	"quietwater/app/store"
	"quietwater/app/whole"
)

// Suffixes of a backup's name: what it is once it is decrypted, and how.
const (
	PlainSuffix  = ".zip"
	SealedSuffix = ".zip.age"
)

// IsName reports a name that [FreeName] gives.
func IsName(name string) bool {
	return strings.HasPrefix(name, "quietwater-") && (strings.HasSuffix(name, PlainSuffix) || strings.HasSuffix(name, SealedSuffix))
}

// FreeName is a name for a backup of that day in dir that no file has yet.
func FreeName(dir string, o Options) string {
	suffix := PlainSuffix
	if o.Passphrase != "" {
		suffix = SealedSuffix
	}
	base := filepath.Join(dir, "quietwater-"+o.Now.Format(time.DateOnly))
	for n := 1; ; n++ {
		name := base + suffix
		if n > 1 {
			name = fmt.Sprintf("%s-%d%s", base, n, suffix)
		}
		if _, err := os.Lstat(name); errors.Is(err, os.ErrNotExist) || n > 10_000 {
			return name
		}
	}
}

// Write backs a book up into the new file to, which gets its name only after it
// was read back: decrypted, every sum compared, the book inside opened, checked
// and counted. An error is a [StepError], and leaves no file. Without a
// passphrase everybody who has the file can read it.
func Write(ctx context.Context, b *store.Book, to string, o Options) (Found, error) {
	if o.Passphrase != "" {
		if err := CheckPassphrase(o.Passphrase); err != nil {
			return Found{}, failed(Opening, err)
		}
	}
	if err := free(to); err != nil {
		return Found{}, failed(Naming, err)
	}
	dir, drop, err := workFolder(b.Path())
	if err != nil {
		return Found{}, failed(Copying, err)
	}
	defer drop()
	m, parts, err := gather(ctx, b, dir, o)
	if err != nil {
		return Found{}, failed(Copying, err)
	}
	temp, err := writeTemp(ctx, to, m, parts, o)
	if err != nil {
		return Found{}, failed(Writing, err)
	}
	defer os.Remove(temp) // gone already when it got its name
	found, err := readBack(ctx, temp, filepath.Join(dir, "back"), m, o)
	if err != nil {
		return Found{}, failed(Checking, err)
	}
	if err := free(to); err != nil {
		return Found{}, failed(Naming, err)
	}
	if err := whole.Name(temp, to); err != nil {
		return Found{}, failed(Naming, err)
	}
	found.Path = to
	return found, nil
}

func free(path string) error {
	if _, err := os.Lstat(path); !errors.Is(err, os.ErrNotExist) {
		return fmt.Errorf("%s: %w", path, errors.Join(store.ErrExists, err))
	}
	return nil
}

// workFolder is a private folder beside the book, where what is not encrypted
// lies anyway, and never where the backup goes. A book in a folder that cannot
// be written has it among the system's.
func workFolder(book string) (dir string, drop func(), err error) {
	dir, err = store.Staging(book)
	if errors.Is(err, store.ErrReadOnlyFolder) {
		dir, err = os.MkdirTemp("", "quietwater-*") // 0700
	}
	return dir, func() { os.RemoveAll(dir) }, err
}

// gather copies the book and says what shall be in the backup.
func gather(ctx context.Context, b *store.Book, dir string, o Options) (manifest, []part, error) {
	m := manifest{Format: format, Version: formatVersion, Made: o.Now.Round(time.Second), Program: o.Version}
	copied := filepath.Join(dir, bookName)
	if err := b.CopyTo(ctx, copied); err != nil {
		return m, nil, err
	}
	rep, err := store.CheckFile(ctx, copied)
	if err != nil {
		return m, nil, err
	}
	if !rep.OK() {
		return m, nil, fmt.Errorf("%w: %v", store.ErrDamaged, rep.Flaws)
	}
	m.Counts = countsOf(rep)
	book, _, err := filePart(ctx, bookName, copied)
	if err != nil {
		return m, nil, err
	}
	parts := []part{bytesPart(readmeName, []byte(readme)), book}
	pictures, err := store.PictureFiles(b.Path())
	if err != nil {
		return m, nil, err
	}
	for _, p := range pictures {
		one, sum, err := filePart(ctx, pictureDir+p.Name, p.Path)
		if err != nil {
			return m, nil, err
		}
		if !store.PictureFits(p.Name, sum) {
			m.Counts.DamagedPictures++
		}
		parts = append(parts, one)
	}
	m.Counts.Pictures = len(pictures)
	for _, p := range parts {
		m.Files = append(m.Files, p.listed)
	}
	return m, parts, nil
}

// writeTemp writes the backup beside its place and waits until it is there.
func writeTemp(ctx context.Context, to string, m manifest, parts []part, o Options) (string, error) {
	return whole.Temp(filepath.Dir(to), func(f io.Writer) error { return writeTo(ctx, f, m, parts, o) })
}

func writeTo(ctx context.Context, f io.Writer, m manifest, parts []part, o Options) error {
	w, err := seal(f, o)
	if err != nil {
		return err
	}
	if err := pack(ctx, w, m, parts); err != nil {
		return err
	}
	return w.Close()
}

// readBack does with a fresh file all that restoring would, and holds what it
// found against what was meant.
func readBack(ctx context.Context, temp, dir string, meant manifest, o Options) (Found, error) {
	if err := os.Mkdir(dir, 0o700); err != nil {
		return Found{}, err
	}
	got, found, err := unpack(ctx, temp, dir, false, o)
	if err != nil {
		return found, err
	}
	if got.Program != meant.Program || !got.Made.Equal(meant.Made) || !reflect.DeepEqual(got.Files, meant.Files) || !found.Counts.same(meant.Counts) {
		return found, fmt.Errorf("%w: it holds %+v instead of %+v", ErrDamaged, found.Counts, meant.Counts)
	}
	return found, nil
}
