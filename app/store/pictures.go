package store

import (
	"bytes"
	"context"
	"crypto/sha256"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"regexp"
	"slices"
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

// findPicture looks where the picture was kept: with the person, or with the
// other identity of somebody who was entered twice.
func (b *Book) findPicture(k PictureKey) (string, error) {
	for _, person := range append([]model.ID{k.Person}, b.identities(k.Person)...) {
		under := PictureKey{Person: person, Entry: k.Entry, Whole: k.Whole}
		if !under.names() {
			continue
		}
		all, err := os.ReadDir(b.pictureDir(under))
		if err != nil && !errors.Is(err, fs.ErrNotExist) {
			return "", classify(err)
		}
		for _, f := range all {
			if rest, ok := strings.CutPrefix(f.Name(), k.stem()); ok && (k.Whole || !strings.HasPrefix(rest, "whole-")) {
				return filepath.Join(b.pictureDir(under), f.Name()), nil
			}
		}
	}
	return "", fmt.Errorf("%w: no picture of entry %q", ErrNotFound, k.Entry)
}

// remember keeps which identities are one person.
func (b *Book) remember(recs *records) {
	who := recs.who()
	others := map[model.ID][]model.ID{}
	for _, s := range recs.sames {
		if to := who(s.ID); to != s.ID {
			others[model.ID(to)] = append(others[model.ID(to)], model.ID(s.ID))
		}
	}
	b.others.Store(&others)
}

func (b *Book) identities(person model.ID) []model.ID {
	if others := b.others.Load(); others != nil {
		return (*others)[person]
	}
	return nil
}

// mostPicture is how large a picture may be that another copy brings.
const mostPicture = 25 << 20

// picturesFrom counts the pictures of another copy's entries that are not here,
// and copies them when it is told to. Nothing is ever overwritten: the name of
// a picture says what is in it. One that is not what its name says stays where
// it is.
func (b *Book) picturesFrom(ctx context.Context, from Another, recs *records, copied bool) (n, unsound int, err error) {
	dir := from.Pictures
	if dir == "" {
		dir = PicturesDir(from.Path)
	}
	listed := map[string][]os.DirEntry{}
	for _, e := range recs.entries {
		k := PictureKey{Person: model.ID(e.Person), Entry: model.ID(e.ID)}
		if e.Deleted != "" || !k.names() {
			continue
		}
		files, read := listed[e.Person]
		if !read {
			files, _ = os.ReadDir(filepath.Join(dir, e.Person)) // no folder, no pictures
			listed[e.Person] = files
		}
		at, _ := slices.BinarySearchFunc(files, k.stem(), func(f os.DirEntry, s string) int { return strings.Compare(f.Name(), s) })
		for ; at < len(files) && strings.HasPrefix(files[at].Name(), k.stem()); at++ {
			name := files[at].Name()
			k.Whole = strings.HasPrefix(name, string(k.Entry)+"-whole-")
			if exists(filepath.Join(b.pictureDir(k), name)) {
				continue
			}
			if err := ctx.Err(); err != nil {
				return n, unsound, err
			}
			content, ok := soundPicture(filepath.Join(dir, e.Person, name), k)
			if !ok {
				unsound++
				continue
			}
			if n++; copied {
				if err := b.writePicture(k, content); err != nil {
					return n, unsound, err
				}
			}
		}
	}
	return n, unsound, nil
}

// soundPicture reads a picture somebody else brought, if it is a file of the
// size of a picture and bears the name that its content gives it.
func soundPicture(path string, k PictureKey) ([]byte, bool) {
	st, err := os.Lstat(path)
	if err != nil || !st.Mode().IsRegular() || st.Size() == 0 || st.Size() > mostPicture {
		return nil, false
	}
	content, err := os.ReadFile(path)
	return content, err == nil && filepath.Base(path) == k.stem()+sumOfBytes(content)+suffix(content)
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

// hidePictures gives the picture folders of persons names that the next start
// sweeps away, in the order of the persons; "" where there is none.
func (b *Book) hidePictures(persons []string) (hidden []string, err error) {
	for _, p := range persons {
		k, to := (PictureKey{Person: model.ID(p), Entry: "x"}), ""
		if k.names() && exists(b.pictureDir(k)) {
			if to, err = Staging(b.opts.Path); err != nil {
				return hidden, err
			}
			if err := os.Rename(b.pictureDir(k), filepath.Join(to, "pictures")); err != nil {
				return hidden, errors.Join(err, os.Remove(to))
			}
		}
		hidden = append(hidden, to)
	}
	return hidden, nil
}

// showPictures takes hidePictures back.
func (b *Book) showPictures(persons, hidden []string) (err error) {
	for i, from := range hidden {
		if from != "" {
			err = errors.Join(err, os.Rename(filepath.Join(from, "pictures"), b.pictureDir(PictureKey{Person: model.ID(persons[i])})), os.Remove(from))
		}
	}
	return classify(err)
}
