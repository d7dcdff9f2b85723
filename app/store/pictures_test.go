package store

import (
	"bytes"
	"context"
	"errors"
	"os"
	"path/filepath"
	"testing"

	"quietwater/model"
)

var jpegs = [][]byte{[]byte("\xff\xd8one"), []byte("\xff\xd8two"), []byte("\x89PNG three"), []byte("    ftypheic")}

func TestPictures(t *testing.T) {
	b := openNew(t)
	path := b.Path()
	k := PictureKey{Person: "aa", Entry: "e1"}
	if _, _, err := b.Picture(k); !errors.Is(err, ErrNotFound) {
		t.Errorf("before one is kept: %v", err)
	}
	whole := k
	whole.Whole = true
	for i, key := range []PictureKey{k, {Person: "aa", Entry: "e11"}, whole, {Person: "bb", Entry: "e1"}} {
		if err := b.KeepPicture(key, jpegs[i]); err != nil {
			t.Fatal(err)
		}
	}
	for i, key := range []PictureKey{k, {Person: "aa", Entry: "e11"}, whole, {Person: "bb", Entry: "e1"}} {
		got, file, err := b.Picture(key)
		if err != nil || !bytes.Equal(got, jpegs[i]) || filepath.Ext(file) != []string{".jpg", ".jpg", ".png", ".heic"}[i] {
			t.Errorf("%+v: %q in %s, %v", key, got, file, err)
		}
		if st, err := os.Stat(file); err != nil || st.Mode().Perm() != 0o600 {
			t.Errorf("%s may be read by others: %v", file, st.Mode())
		}
	}
	if err := b.KeepPicture(k, jpegs[1]); !errors.Is(err, ErrExists) {
		t.Errorf("a second one: %v", err)
	}
	for _, bad := range []PictureKey{{}, {Person: "../aa", Entry: "e"}, {Person: "aa", Entry: "../../e"}, {Person: "aa", Entry: "a/b"}} {
		if err := b.KeepPicture(bad, jpegs[0]); !errors.Is(err, ErrInvalid) {
			t.Errorf("%+v: %v", bad, err)
		}
		if _, _, err := b.Picture(bad); !errors.Is(err, ErrNotFound) {
			t.Errorf("%+v: %v", bad, err)
		}
	}
	if err := b.KeepPicture(PictureKey{Person: "aa", Entry: "e5"}, nil); !errors.Is(err, ErrInvalid) {
		t.Errorf("an empty picture: %v", err)
	}

	// One changed byte is noticed; the other pictures are as they were.
	_, file, _ := b.Picture(k)
	if err := os.WriteFile(file, []byte("\xff\xd8onf"), 0o600); err != nil {
		t.Fatal(err)
	}
	if got, _, err := b.Picture(k); !errors.Is(err, ErrDamaged) || got != nil {
		t.Errorf("a changed picture is %q, %v", got, err)
	}

	// What a killed program left half done is swept; whole pictures stay.
	left := filepath.Join(PicturesDir(path), "aa", "."+stem(path)+"-7.tmp")
	if err := os.WriteFile(left, jpegs[0], 0o600); err != nil {
		t.Fatal(err)
	}
	mustClose(t, b)
	again := openAt(t, path)
	if _, err := os.Stat(left); !os.IsNotExist(err) {
		t.Error("half a picture is still there")
	}
	if got, _, err := again.Picture(whole); err != nil || !bytes.Equal(got, jpegs[2]) {
		t.Errorf("after a restart: %q, %v", got, err)
	}
	again.ReadOnlyReason = ErrReadOnly
	if err := again.KeepPicture(PictureKey{Person: "aa", Entry: "e6"}, jpegs[0]); !errors.Is(err, ErrReadOnly) {
		t.Errorf("read only: %v", err)
	}
}

// The pictures of somebody forgotten are gone, those of others stay.
func TestForgetPictures(t *testing.T) {
	ctx := context.Background()
	b := openNew(t)
	path := b.Path()
	mustPut(t, b, SavePerson(model.Person{ID: "aa", Name: "Rosa"}), SavePerson(model.Person{ID: "bb", Name: "Otto"}))
	for _, p := range []model.ID{"aa", "bb"} {
		if err := b.KeepPicture(PictureKey{Person: p, Entry: "e1"}, jpegs[0]); err != nil {
			t.Fatal(err)
		}
	}
	if _, err := b.Forget(ctx, "aa"); err != nil {
		t.Fatal(err)
	}
	if _, err := os.Stat(filepath.Join(PicturesDir(path), "aa")); !os.IsNotExist(err) {
		t.Error("their pictures are still there")
	}
	if _, _, err := b.Picture(PictureKey{Person: "bb", Entry: "e1"}); err != nil {
		t.Error(err)
	}
}
