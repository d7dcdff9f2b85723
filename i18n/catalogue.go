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

// catalogue is the texts of all languages. Which there are is read once, with
// English; the others when somebody speaks them, since each takes 10 ms and
// 1.5 MB and a household speaks two.
type catalogue struct {
	tags    []string                              // folders, English first
	own     map[string]map[string]*goi18n.Message // tag, key: what a language says of itself
	matcher language.Matcher                      // over tags, in that order
	open    map[string]func() (*voice, error)     // tag: its texts, read the first time
}

// voice is the texts of one language, never changed once read.
type voice struct {
	bundle *goi18n.Bundle
	byKey  map[string]*goi18n.Message
	files  map[string][]string // key: the files that have it
}

var load = sync.OnceValues(func() (*catalogue, error) { return read(texts) })

// read looks which languages fsys/text has.
func read(fsys fs.FS) (*catalogue, error) {
	dirs, err := fs.ReadDir(fsys, "text")
	if err != nil {
		return nil, fmt.Errorf("reading the texts: %w", err)
	}
	c := &catalogue{own: map[string]map[string]*goi18n.Message{}, open: map[string]func() (*voice, error){}}
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
		own, err := readVoice(fsys, tag, t, "language")
		if err != nil {
			return nil, err
		}
		c.own[tag] = own.byKey
		c.open[tag] = sync.OnceValues(func() (*voice, error) { return readVoice(fsys, tag, t, "*") })
	}
	c.matcher = language.NewMatcher(known)
	_, err = c.open[source]()
	return c, err
}

// readVoice takes the files of a language's folder that bear one of the names.
func readVoice(fsys fs.FS, tag string, t language.Tag, names string) (*voice, error) {
	paths, err := fs.Glob(fsys, "text/"+tag+"/"+names+".toml")
	if err != nil {
		return nil, fmt.Errorf("reading text/%s: %w", tag, err)
	}
	v := &voice{bundle: goi18n.NewBundle(t), byKey: map[string]*goi18n.Message{}, files: map[string][]string{}}
	for _, p := range paths {
		b, err := fs.ReadFile(fsys, p)
		if err != nil {
			return nil, fmt.Errorf("reading %s: %w", p, err)
		}
		ms, err := goi18n.ParseMessageBytes(b, toml.Unmarshal)
		if err != nil {
			return nil, fmt.Errorf("reading %s: %w", p, err)
		}
		if err := v.bundle.AddMessages(t, ms...); err != nil {
			return nil, fmt.Errorf("reading %s: %w", p, err)
		}
		for _, m := range ms {
			v.byKey[m.ID] = m
			v.files[m.ID] = append(v.files[m.ID], path.Base(p))
		}
	}
	return v, nil
}

// offered is the folder that serves a language tag: es for es-MX.
func (c *catalogue) offered(tag language.Tag) (string, bool) {
	_, i, confidence := c.matcher.Match(tag)
	return c.tags[i], confidence > language.No
}

// says is what a language says of itself.
func (c *catalogue) says(tag, key string) string {
	if m := c.own[tag][key]; m != nil {
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
		l := Language{Tag: tag, Name: c.says(tag, "language.name"), Checked: c.says(tag, "language.checked")}
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
