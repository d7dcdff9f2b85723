package arrival

import (
	"os"
	"path/filepath"
	"slices"
	"testing"
	"time"
)

func TestNewest(t *testing.T) {
	home := t.TempDir()
	at := time.Date(2026, 3, 2, 8, 0, 0, 0, time.UTC)
	for i, name := range []string{"Pictures/a.jpg", "Pictures/Phone/b.HEIC", "Pictures/Phone/deep/c.jpg", "Downloads/d.png", "Downloads/e.pdf", "Downloads/.f.jpg"} {
		path := filepath.Join(home, name)
		if err := os.MkdirAll(filepath.Dir(path), 0o700); err != nil {
			t.Fatal(err)
		}
		if err := os.WriteFile(path, nil, 0o600); err != nil {
			t.Fatal(err)
		}
		if err := os.Chtimes(path, at, at.Add(time.Duration(i)*time.Minute)); err != nil {
			t.Fatal(err)
		}
	}
	names := func(files []File) (out []string) {
		for _, f := range files {
			out = append(out, filepath.Base(f.Path))
		}
		return out
	}
	picture := func(name string) bool { return slices.Contains([]string{".jpg", ".png", ".heic"}, filepath.Ext(name)) }
	usual := UsualFolders(home, filepath.Join(home, "none"), Pictures, Downloads, Desktop)
	if got := names(Newest(append(usual, "", "/no/such", usual[0]), picture, 9)); !slices.Equal(got, []string{"d.png", "b.HEIC", "a.jpg"}) {
		t.Errorf("found %v", got)
	}
	if got := names(Newest(usual, picture, 1)); !slices.Equal(got, []string{"d.png"}) {
		t.Errorf("the newest is %v", got)
	}
	if err := os.WriteFile(filepath.Join(home, "user-dirs.dirs"), []byte("# written by hand\nXDG_PICTURES_DIR=\"$HOME/Imágenes\"\nXDG_DOWNLOAD_DIR=\"/media/card\"\nXDG_DESKTOP_DIR=\"$HOME/\"\n"), 0o600); err != nil {
		t.Fatal(err)
	}
	if got := UsualFolders(home, home, Pictures, Downloads, Desktop); !slices.Equal(got, []string{filepath.Join(home, "Imágenes"), "/media/card"}) {
		t.Errorf("the folders are %v", got)
	}
}
