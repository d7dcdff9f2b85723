package i18n

import (
	"embed"
	"fmt"
	"io/fs"
	"path"
	"slices"
	"sync"

	"github.com/BurntSushi/toml"
	goi18n "github.com/nicksnyder/go-i18n/v2/i18n"
	"golang.org/x/text/language"
)

//go:embed text
var texts embed.FS

// source is the language the texts are written in first, and the one that
// answers where another lacks a text.
const source = "en"

// catalogue is every text of every language, read once and never changed.
type catalogue struct {
	bundle  *goi18n.Bundle
	tags    []string                              // folders, English first
	matcher language.Matcher                      // over tags, in that order
	byTag   map[string]map[string]*goi18n.Message // tag, key
	files   map[string]map[string][]string        // tag, key: the files that have it
}

var load = sync.OnceValues(func() (*catalogue, error) { return read(texts) })

// read takes every language folder of fsys/text.
func read(fsys fs.FS) (*catalogue, error) {
	dirs, err := fs.ReadDir(fsys, "text")
	if err != nil {
		return nil, fmt.Errorf("reading the texts: %w", err)
	}
	c := &catalogue{
		bundle: goi18n.NewBundle(language.English),
		byTag:  map[string]map[string]*goi18n.Message{},
		files:  map[string]map[string][]string{},
	}
	for _, d := range dirs {
		if d.IsDir() {
			c.tags = append(c.tags, d.Name())
		}
	}
	i := slices.Index(c.tags, source)
	if i < 0 {
		return nil, fmt.Errorf("there is no folder text/%s", source)
	}
	// The rest stay in the order of their tags.
	c.tags = slices.Insert(slices.Delete(c.tags, i, i+1), 0, source)
	var known []language.Tag
	for _, tag := range c.tags {
		t, err := language.Parse(tag)
		if err != nil {
			return nil, fmt.Errorf("folder text/%s: %w", tag, err)
		}
		known = append(known, t)
		if err := c.readLanguage(fsys, tag, t); err != nil {
			return nil, err
		}
	}
	c.matcher = language.NewMatcher(known)
	return c, nil
}

func (c *catalogue) readLanguage(fsys fs.FS, tag string, t language.Tag) error {
	names, err := fs.Glob(fsys, "text/"+tag+"/*.toml")
	if err != nil {
		return fmt.Errorf("reading text/%s: %w", tag, err)
	}
	c.byTag[tag], c.files[tag] = map[string]*goi18n.Message{}, map[string][]string{}
	for _, name := range names {
		b, err := fs.ReadFile(fsys, name)
		if err != nil {
			return fmt.Errorf("reading %s: %w", name, err)
		}
		ms, err := goi18n.ParseMessageBytes(b, toml.Unmarshal)
		if err != nil {
			return fmt.Errorf("reading %s: %w", name, err)
		}
		if err := c.bundle.AddMessages(t, ms...); err != nil {
			return fmt.Errorf("reading %s: %w", name, err)
		}
		for _, m := range ms {
			c.byTag[tag][m.ID] = m
			c.files[tag][m.ID] = append(c.files[tag][m.ID], path.Base(name))
		}
	}
	return nil
}

// offered is the folder that serves a language tag: es for es-MX.
func (c *catalogue) offered(tag language.Tag) (string, bool) {
	_, i, confidence := c.matcher.Match(tag)
	return c.tags[i], confidence > language.No
}

func (c *catalogue) word(tag, key string) string {
	if m := c.byTag[tag][key]; m != nil {
		return m.Other
	}
	return ""
}

// Language is one the texts exist in.
type Language struct {
	Tag     string // BCP 47, the folder's name
	Name    string // in itself: "Español"
	Checked string // which native medical speaker checked it, and when; "" while nobody has
}

// Languages lists the languages the program speaks, English first.
func Languages() []Language {
	c, err := load()
	if err != nil {
		return nil
	}
	out := make([]Language, 0, len(c.tags))
	for _, tag := range c.tags {
		l := Language{Tag: tag, Name: c.word(tag, "language.name"), Checked: c.word(tag, "language.checked")}
		if l.Checked == "no" { // the loader takes no empty text
			l.Checked = ""
		}
		out = append(out, l)
	}
	return out
}

// Nearest is the tag of the language that serves a machine's setting such as
// "es_MX.UTF-8", English where none does.
func Nearest(setting string) string {
	c, err := load()
	if err != nil {
		return source
	}
	t, err := parseTag(setting)
	if err != nil {
		return source
	}
	if tag, ok := c.offered(t); ok {
		return tag
	}
	return source
}
