package picture

import (
	"bufio"
	"cmp"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"time"
)

// File is a file that looks like a photograph by its name.
type File struct {
	Path    string
	Changed time.Time
}

var suffixes = []string{".jpg", ".jpeg", ".png", ".heic", ".heif"}

// Newest lists the photographs of some folders and of the folders right in
// them, the newest first. A folder that cannot be looked into holds none.
func Newest(folders []string, most int) []File {
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
			case slices.Contains(suffixes, strings.ToLower(filepath.Ext(e.Name()))):
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

// UsualFolders are where a phone's pictures arrive on a desktop: the folders
// for pictures and downloads and the desktop itself, under the names the system
// gives them (xdg-user-dirs), else under the English ones.
func UsualFolders(home, config string) []string {
	names := map[string]string{"XDG_PICTURES_DIR": "Pictures", "XDG_DOWNLOAD_DIR": "Downloads", "XDG_DESKTOP_DIR": "Desktop"}
	if f, err := os.Open(filepath.Join(config, "user-dirs.dirs")); err == nil {
		defer f.Close()
		for s := bufio.NewScanner(f); s.Scan(); {
			key, value, ok := strings.Cut(strings.TrimSpace(s.Text()), "=")
			if _, ours := names[key]; ok && ours {
				names[key] = strings.TrimPrefix(strings.Trim(value, `"`), "$HOME/")
			}
		}
	}
	var out []string
	for _, key := range []string{"XDG_PICTURES_DIR", "XDG_DOWNLOAD_DIR", "XDG_DESKTOP_DIR"} {
		path := names[key]
		if !filepath.IsAbs(path) {
			path = filepath.Join(home, path)
		}
		if path != filepath.Clean(home) { // switched off, and never the whole home
			out = append(out, path)
		}
	}
	return out
}
