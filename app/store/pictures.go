package store

import (
	"bytes"
	"crypto/sha256"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
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

// forgetPictures takes all pictures of a person away.
func (b *Book) forgetPictures(person model.ID) error {
	if k := (PictureKey{Person: person, Entry: "x"}); k.names() {
		return classify(os.RemoveAll(b.pictureDir(k)))
	}
	return nil
}
