package store

import (
	"bytes"
	"crypto/sha256"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"regexp"
	"strings"

	"quietwater/model"
)

// PictureKey says which picture: the one an entry was read from, set straight,
// or the whole photograph it was cut from. A picture is written once and never
// changed; it lies in a file of its own beside the book, in a folder of the
// person's, and its name says what its bytes must add up to. Snapshots do not
// hold it.
type PictureKey struct {
	Person, Entry model.ID
	Whole         bool
}

// PicturesDir is the folder that holds the pictures of the book at path.
func PicturesDir(path string) string { return filepath.Join(filepath.Dir(path), "pictures") }

func (k PictureKey) stem() string {
	if k.Whole {
		return string(k.Entry) + "-whole-"
	}
	return string(k.Entry) + "-"
}

// names reports identities that can be parts of a file's name; those that came
// with an import may be anything.
func (k PictureKey) names() bool {
	plain := func(id model.ID) bool {
		return id != "" && len(id) <= 64 && strings.Trim(string(id), "0123456789abcdefghijklmnopqrstuvwxyz-") == ""
	}
	return plain(k.Person) && plain(k.Entry)
}

func (b *Book) pictureDir(k PictureKey) string {
	return filepath.Join(PicturesDir(b.Path()), string(k.Person))
}

func sumOfBytes(content []byte) string {
	sum := sha256.Sum256(content)
	return fmt.Sprintf("%x", sum[:8])
}

// suffix is what programs know a picture's kind by.
func suffix(content []byte) string {
	switch {
	case bytes.HasPrefix(content, []byte("\xff\xd8")):
		return ".jpg"
	case bytes.HasPrefix(content, []byte("\x89PNG")):
		return ".png"
	}
	return ".heic"
}

// KeepPicture keeps a picture for good before it returns. An entry keeps its
// first: another one is [ErrExists].
func (b *Book) KeepPicture(k PictureKey, content []byte) error {
	if b.ReadOnlyReason != nil {
		return b.ReadOnlyReason
	}
	if !k.names() || len(content) == 0 {
		return fmt.Errorf("%w: a picture of entry %q of %q with %d bytes", ErrInvalid, k.Entry, k.Person, len(content))
	}
	if old, err := b.findPicture(k); err == nil {
		return fmt.Errorf("%w: %s", ErrExists, old)
	}
	return classify(b.writePicture(k, content))
}

func (b *Book) writePicture(k PictureKey, content []byte) error {
	dir := b.pictureDir(k)
	if err := makeFolder(dir); err != nil {
		return err
	}
	temp, err := tempFile(dir, b.Path())
	if err != nil {
		return err
	}
	defer os.Remove(temp) // gone already when it got its name
	if err := os.WriteFile(temp, content, privateFile); err != nil {
		return err
	}
	if err := syncFile(temp); err != nil {
		return err
	}
	if err := os.Rename(temp, filepath.Join(dir, k.stem()+sumOfBytes(content)+suffix(content))); err != nil {
		return err
	}
	return syncFolder(dir)
}

// Picture gives a picture and the file it lies in. One that is not there is
// [ErrNotFound], one that was changed [ErrDamaged].
func (b *Book) Picture(k PictureKey) (content []byte, path string, err error) {
	path, err = b.findPicture(k)
	if err != nil {
		return nil, "", err
	}
	content, err = os.ReadFile(path)
	if err != nil {
		return nil, path, classify(err)
	}
	if !strings.Contains(filepath.Base(path), sumOfBytes(content)) {
		return nil, path, fmt.Errorf("%w: picture %s", ErrDamaged, path)
	}
	return content, path, nil
}

func (b *Book) findPicture(k PictureKey) (string, error) {
	if !k.names() {
		return "", ErrNotFound
	}
	all, err := os.ReadDir(b.pictureDir(k))
	if err != nil && !errors.Is(err, fs.ErrNotExist) {
		return "", classify(err)
	}
	for _, f := range all {
		if rest, ok := strings.CutPrefix(f.Name(), k.stem()); ok && (k.Whole || !strings.HasPrefix(rest, "whole-")) {
			return filepath.Join(b.pictureDir(k), f.Name()), nil
		}
	}
	return "", fmt.Errorf("%w: no picture of entry %q", ErrNotFound, k.Entry)
}

// PictureFile is one kept picture. Name is its place below the pictures folder,
// person/file, as every book names it.
type PictureFile struct {
	Name, Path string
	Size       int64
}

// PictureFiles lists the pictures kept beside the book at path, by name.
func PictureFiles(path string) ([]PictureFile, error) {
	people, err := os.ReadDir(PicturesDir(path))
	if err != nil && !errors.Is(err, fs.ErrNotExist) {
		return nil, classify(err)
	}
	var out []PictureFile
	for _, p := range people {
		if !p.IsDir() {
			continue
		}
		files, err := os.ReadDir(filepath.Join(PicturesDir(path), p.Name()))
		if err != nil {
			return nil, classify(err)
		}
		for _, f := range files {
			name := p.Name() + "/" + f.Name()
			if st, err := f.Info(); err == nil && st.Mode().IsRegular() && IsPictureName(name) {
				out = append(out, PictureFile{name, filepath.Join(PicturesDir(path), p.Name(), f.Name()), st.Size()})
			}
		}
	}
	return out, nil
}

// pictureName is how writePicture names: person, entry, what the bytes add up
// to, and kind.
var pictureName = regexp.MustCompile(`^([0-9a-z-]{1,64})/[0-9a-z-]{1,64}-([0-9a-f]{16})\.(jpg|png|heic)$`)

// IsPictureName reports a name that a kept picture can have.
func IsPictureName(name string) bool { return pictureName.MatchString(name) }

// PictureFits reports whether bytes with this SHA-256 are those the picture was
// named after.
func PictureFits(name string, sum [sha256.Size]byte) bool {
	m := pictureName.FindStringSubmatch(name)
	return m != nil && m[2] == fmt.Sprintf("%x", sum[:8])
}

// AddPictures moves pictures from a folder of the same drive, where they lie
// under the same names, among those of the book at path. A picture of that name
// stays what it is; only one whose bytes are not what its name says makes room,
// and goes aside.
func AddPictures(path, from string, names []string) error {
	folders := map[string]bool{}
	for _, name := range names {
		to := filepath.Join(PicturesDir(path), filepath.FromSlash(name))
		if err := addPicture(name, filepath.Join(from, filepath.FromSlash(name)), to); err != nil {
			return classify(err)
		}
		folders[filepath.Dir(to)] = true
	}
	for dir := range folders {
		if err := syncFolder(dir); err != nil {
			return classify(err)
		}
	}
	return nil
}

func addPicture(name, from, to string) error {
	m := pictureName.FindStringSubmatch(name)
	if m == nil {
		return fmt.Errorf("%w: picture %q", ErrInvalid, name)
	}
	if err := makeFolder(filepath.Dir(to)); err != nil {
		return err
	}
	if exists(to) {
		if isSum(to, m[2]) || !isSum(from, m[2]) {
			return os.Remove(from)
		}
		aside := to + ".damaged" // sorts after the good one, which is found first
		for n := 2; exists(aside); n++ {
			aside = fmt.Sprintf("%s.damaged-%d", to, n)
		}
		if err := os.Rename(to, aside); err != nil {
			return err
		}
	}
	return os.Rename(from, to)
}

func isSum(path, sum string) bool {
	content, err := os.ReadFile(path)
	return err == nil && sumOfBytes(content) == sum
}

// forgetPictures takes all pictures of a person away.
func (b *Book) forgetPictures(person model.ID) error {
	if k := (PictureKey{Person: person, Entry: "x"}); k.names() {
		return classify(os.RemoveAll(b.pictureDir(k)))
	}
	return nil
}
