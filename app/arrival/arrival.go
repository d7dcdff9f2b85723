// Package arrival finds files where they usually come to lie on a desktop: in
// the folders for downloads, documents and pictures, and on drives.
//
// It goes by names and times alone and refuses to know what is in a file.
package arrival

import (
	"bufio"
	"cmp"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"time"
)

// File is a file of a wanted kind, by its name.
type File struct {
	Path    string
	Changed time.Time
}

// Newest lists the files of some folders, and of the folders right in them, that
// are wanted by their names in small letters; the newest first. A folder that
// cannot be looked into holds none.
func Newest(folders []string, wanted func(name string) bool, most int) []File {
	seen := map[string]bool{}
	var out []File
	var look func(folder string, deeper bool)
	look = func(folder string, deeper bool) {
		if folder = filepath.Clean(folder); seen[folder] {
			return
		}
		seen[folder] = true
		all, _ := os.ReadDir(folder)
		for _, e := range all {
			path := filepath.Join(folder, e.Name())
			switch {
			case strings.HasPrefix(e.Name(), "."):
			case e.IsDir() && deeper:
				look(path, false)
			case wanted(strings.ToLower(e.Name())):
				if st, err := e.Info(); err == nil && st.Mode().IsRegular() {
					out = append(out, File{path, st.ModTime()})
				}
			}
		}
	}
	for _, f := range folders {
		if f != "" {
			look(f, true)
		}
	}
	slices.SortFunc(out, func(a, b File) int { return cmp.Or(b.Changed.Compare(a.Changed), cmp.Compare(a.Path, b.Path)) })
	return out[:min(len(out), most)]
}

// Folder is one of the folders a system gives a name of its own
// (xdg-user-dirs), with the name it has else.
type Folder struct{ key, name string }

// The folders files come to lie in.
var (
	Pictures  = Folder{"XDG_PICTURES_DIR", "Pictures"}
	Downloads = Folder{"XDG_DOWNLOAD_DIR", "Downloads"}
	Desktop   = Folder{"XDG_DESKTOP_DIR", "Desktop"}
	Documents = Folder{"XDG_DOCUMENTS_DIR", "Documents"}
)

// UsualFolders are the paths of some folders, for a home and the folder where
// its settings lie. One that is switched off is left out.
func UsualFolders(home, config string, folders ...Folder) []string {
	names := map[string]string{}
	if f, err := os.Open(filepath.Join(config, "user-dirs.dirs")); err == nil {
		defer f.Close()
		for s := bufio.NewScanner(f); s.Scan(); {
			if key, value, ok := strings.Cut(strings.TrimSpace(s.Text()), "="); ok {
				names[key] = strings.TrimPrefix(strings.Trim(value, `"`), "$HOME/")
			}
		}
	}
	var out []string
	for _, f := range folders {
		path, named := names[f.key]
		if !named {
			path = f.name
		}
		if !filepath.IsAbs(path) {
			path = filepath.Join(home, path)
		}
		if path != filepath.Clean(home) { // switched off, and never the whole home
			out = append(out, path)
		}
	}
	return out
}
