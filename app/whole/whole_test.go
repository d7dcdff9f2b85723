package whole

import (
	"errors"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"testing"
	"time"
)

func text(s string) func(io.Writer) error {
	return func(w io.Writer) error { _, err := io.WriteString(w, s); return err }
}

// TestNothingHalf: a file is whole under its name or not there, never over
// another, and what a killed program left is swept a day later.
func TestNothingHalf(t *testing.T) {
	dir := t.TempDir()
	path := filepath.Join(dir, "page.pdf")
	half := errors.New("half way")
	if err := New(path, func(w io.Writer) error { io.WriteString(w, "ha"); return half }); !errors.Is(err, half) {
		t.Error(err)
	}
	if list, _ := os.ReadDir(dir); len(list) > 0 {
		t.Errorf("left: %v", list)
	}
	if err := New(path, text("whole")); err != nil {
		t.Fatal(err)
	}
	if st, err := os.Stat(path); err != nil || st.Mode().Perm()&0o077 != 0 {
		t.Errorf("%v, %v", st.Mode(), err)
	}
	if err := New(path, text("another")); !errors.Is(err, fs.ErrExist) {
		t.Errorf("over another: %v", err)
	}
	if got, _ := os.ReadFile(path); string(got) != "whole" {
		t.Errorf("it holds %q", got)
	}
	for _, age := range []time.Duration{time.Hour, old + time.Hour} {
		left := filepath.Join(dir, ".quietwater-1.tmp")
		if err := errors.Join(os.WriteFile(left, nil, 0o600), os.Chtimes(left, time.Time{}, time.Now().Add(-age))); err != nil {
			t.Fatal(err)
		}
		if err := Over(path, []byte("newer")); err != nil {
			t.Fatal(err)
		}
		if _, err := os.Stat(left); (err == nil) != (age < old) {
			t.Errorf("%v old: %v", age, err)
		}
	}
	if got, _ := os.ReadFile(path); string(got) != "newer" {
		t.Errorf("it holds %q", got)
	}
	if err := New(filepath.Join(dir, "nowhere", "page.pdf"), text("")); !errors.Is(err, fs.ErrNotExist) {
		t.Error(err)
	}
}
