package main

import (
	"bytes"
	"cmp"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"unicode/utf8"

	"quietwater/assets"
)

// module is as much of what go list tells of one as is needed here.
type module struct {
	Path, Version, Dir string
	Main               bool
}

// licenceFile is how licences, and what they ask to be passed on, are called.
var licenceFile = regexp.MustCompile(`(?i)^(un)?(licen[cs]es?|copying|notice|patents)([-._].*)?$`)

// choice leaves out a licence we do not use where the authors leave the choice.
var choice = map[string]string{
	"github.com/golang/freetype/licenses/gpl.txt": "the FreeType License is taken",
}

// licences is the text of [assets.Licences]: whatever is built into the program
// on any of the systems it is made for, each with all its licences.
func licences() ([]byte, error) {
	mods, err := modules()
	if err != nil {
		return nil, err
	}
	var b bytes.Buffer
	part := func(name string, texts ...string) {
		fmt.Fprintf(&b, "%s%s\n\n%s\n\n", assets.LicenceMark, name, strings.Join(texts, "\n\n"))
	}
	fonts, err := os.ReadFile("assets/fonts/OFL.txt")
	if err != nil {
		return nil, err
	}
	b.WriteString(licencesHead)
	part("The typeface (Noto Sans)", clean(fonts))
	part("Codes in files", clean([]byte(assets.CodeNotices)))
	root, err := exec.Command("go", "env", "GOROOT").Output()
	if err != nil {
		return nil, err
	}
	library, err := textsIn(strings.TrimSpace(string(root)), false)
	if err != nil {
		return nil, err
	}
	if len(library) == 0 {
		return nil, fmt.Errorf("%s has no licence file: take Go from go.dev", root)
	}
	part("Go, its standard library", library...)
	part("SQLite", "SQLite is in the public domain: sqlite.org/copyright.html. It comes with github.com/mattn/go-sqlite3.")
	for _, m := range mods {
		texts, err := textsIn(m.Dir, true)
		if err != nil {
			return nil, err
		}
		if len(texts) == 0 {
			return nil, fmt.Errorf("%s %s has no licence file: find out under which terms it may be passed on", m.Path, m.Version)
		}
		part(m.Path+" "+m.Version, texts...)
	}
	return append(bytes.TrimRight(b.Bytes(), "\n"), '\n'), nil
}

const licencesHead = `Quietwater is made with the work of many others. Here are the licences of
everything that is built into the program on any system, as their authors wrote
them. Quietwater itself is under the Apache License 2.0.

Portions of this software are copyright (c) The FreeType Project
(www.freetype.org). All rights reserved.

`

// modules are those of the program on all systems, without ours, by path.
func modules() ([]module, error) {
	seen := map[string]module{}
	for _, system := range []string{"linux", "windows", "darwin"} {
		cmd := exec.Command("go", "list", "-deps", "-json=Module", "-tags", "migrated_fynedo,nodynamic", "./app")
		cmd.Env = append(os.Environ(), "GOOS="+system, "GOARCH=amd64", "CGO_ENABLED=1")
		cmd.Stderr = os.Stderr
		out, err := cmd.Output()
		if err != nil {
			return nil, err
		}
		for d := json.NewDecoder(bytes.NewReader(out)); ; {
			var p struct{ Module *module }
			if err := d.Decode(&p); errors.Is(err, io.EOF) {
				break
			} else if err != nil {
				return nil, err
			}
			if p.Module != nil && !p.Module.Main {
				seen[p.Module.Path] = *p.Module
			}
		}
	}
	var out []module
	for _, m := range seen {
		out = append(out, m)
	}
	slices.SortFunc(out, func(a, b module) int { return cmp.Compare(strings.ToLower(a.Path), strings.ToLower(b.Path)) })
	return out, nil
}

// textsIn are the licences in a folder, each text once. Below it are those of
// parts that a module took from elsewhere; they come after its own.
func textsIn(dir string, below bool) ([]string, error) {
	var paths []string
	err := filepath.WalkDir(dir, func(path string, d fs.DirEntry, err error) error {
		if err != nil {
			return err
		}
		name, in := d.Name(), filepath.Base(filepath.Dir(path))
		if d.IsDir() {
			if path != dir && (!below || name == "testdata" || strings.HasPrefix(name, ".")) {
				return fs.SkipDir
			}
			return nil
		}
		if licenceFile.MatchString(name) && filepath.Ext(name) != ".go" || in == "licenses" {
			if _, other := choice[named(path)]; !other {
				paths = append(paths, path)
			}
		}
		return nil
	})
	if err != nil {
		return nil, err
	}
	depth := func(p string) int { return strings.Count(p, string(filepath.Separator)) }
	slices.SortStableFunc(paths, func(a, b string) int { return cmp.Or(depth(a)-depth(b), cmp.Compare(a, b)) })
	var out []string
	for _, p := range paths {
		b, err := os.ReadFile(p)
		if err != nil {
			return nil, err
		}
		if text := clean(b); !slices.Contains(out, text) {
			out = append(out, text)
		}
	}
	return out, nil
}

// named is a file of the module cache by the name of its module.
func named(path string) string {
	_, path, _ = strings.Cut(filepath.ToSlash(path), "/pkg/mod/")
	return regexp.MustCompile(`@[^/]*`).ReplaceAllString(path, "")
}

// clean is a text with our line ends, and in UTF-8 whatever it was written in.
func clean(b []byte) string {
	b = bytes.TrimPrefix(b, []byte("\ufeff"))
	if !utf8.Valid(b) { // the older ones are Latin-1
		wide := make([]rune, len(b))
		for i, c := range b {
			wide[i] = rune(c)
		}
		b = []byte(string(wide))
	}
	lines := strings.Split(strings.NewReplacer("\r\n", "\n", "\r", "\n", "\f", "", "\t", "    ").Replace(string(b)), "\n")
	for i := range lines {
		lines[i] = strings.TrimRight(lines[i], " ")
	}
	return strings.Trim(strings.Join(lines, "\n"), "\n")
}
