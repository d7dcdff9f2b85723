// Package cli owns the verbs that run without a window, for helpers, scripts
// and tests: JSON on standard output, words on standard error, exit 0 when
// all went well, 1 when data was refused, 2 when the call was wrong.
//
// It refuses to know rules and formats: it reads, asks the packages that
// know, and prints.
package cli

import (
	"context"
	"encoding/json"
	"errors"
	"flag"
	"fmt"
	"io"
	"io/fs"
	"os"
	"slices"
	"strings"
	"time"

	"quietwater/i18n"
	"quietwater/model"
)

// Exit codes of every verb.
const (
	OK      = 0
	Refused = 1
	Usage   = 2
)

// World is everything a verb may touch.
type World struct {
	Stdin          io.Reader
	Stdout, Stderr io.Writer
	Now            func() time.Time // in the machine's zone
	Rand           io.Reader
	DefaultBook    string // where the household's book lies unless --book says otherwise
	Language       string // of the machine; "en" when unknown
	Version        string
	Work           int // of locking a backup; 0 the usual one, tests ask for less
}

type verb struct {
	name, line string
	run        func(context.Context, World, []string) int
}

func verbs() []verb {
	return []verb{
		{"findings", "judge a plain table: what calls for whom, how soon", findings},
		{"page", "write a page for the doctor from a plain table", doctorPage},
		{"estimate", "work out kidney numbers from cases on standard input", estimate},
		{"read", "read strips from photographs beside their charts", readPhotos},
		{"import", "take a plain table or FHIR file into a book", importFile},
		{"export", "write a book as table or FHIR, its to-dos as calendar", export},
		{"merge", "take another copy of a book into it", mergeCopy},
		{"backup", "write a book and its pictures into one file", backUp},
		{"restore", "bring a book back from such a file", restore},
		{"check", "look whether a book is whole; changes nothing", check},
		{"rescue", "see what can be saved of a damaged book, and save it", rescue},
		{"version", "say which version this is; --licences: of all in it", version},
	}
}

// IsVerb reports whether word is one of ours, so that anything else is left
// to the window.
func IsVerb(word string) bool {
	return word == "help" || slices.ContainsFunc(verbs(), func(v verb) bool { return v.name == word })
}

// Run carries out args[0] and gives the exit code.
func Run(ctx context.Context, w World, args []string) int {
	for _, v := range verbs() {
		if len(args) > 0 && v.name == args[0] {
			return v.run(ctx, w, args[1:])
		}
	}
	if len(args) > 0 && args[0] == "help" {
		Help(w.Stdout)
		return OK
	}
	if len(args) > 0 {
		fmt.Fprintf(w.Stderr, "quietwater: there is no verb %q\n\n", args[0])
	}
	Help(w.Stderr)
	return Usage
}

// Help prints what the program can be called with, in one screen.
func Help(w io.Writer) {
	fmt.Fprint(w, `quietwater                 open the household's book in a window
  --book FILE              another book
  --demo                   an invented household, in memory, never written
  --lang TAG               first language, e.g. es
  --large                  text at 200 %

Without a window:
`)
	for _, v := range verbs() {
		fmt.Fprintf(w, "quietwater %-15s %s\n", v.name, v.line)
	}
	fmt.Fprint(w, "\nEach has --help. Exit 0: all well; 1: something was refused; 2: wrong call.\nQuietwater never diagnoses. If you feel unwell, call your doctor or your\nemergency number.\n")
}

// command is one verb's flags.
type command struct {
	*flag.FlagSet
	w   World
	use string
}

func newCommand(w World, name, use string) *command {
	c := &command{flag.NewFlagSet(name, flag.ContinueOnError), w, use}
	c.SetOutput(io.Discard) // its own sentences write one dash and no name of ours
	return c
}

func (c *command) help() {
	fmt.Fprintf(c.w.Stdout, "quietwater %s\n\n", c.use)
	c.VisitAll(func(f *flag.Flag) {
		name, what := flag.UnquoteUsage(f)
		fmt.Fprintf(c.w.Stdout, "  %-14s %s\n", strings.TrimSpace("--"+f.Name+" "+name), what)
	})
	fmt.Fprint(c.w.Stdout, "\nExit 0: all well; 1: something was refused; 2: the call was wrong.\n")
}

// parse reads flags and nothing else. done is true when the verb is over,
// with its exit code.
func (c *command) parse(args []string) (code int, done bool) {
	code, done = c.parseSome(args)
	if !done && c.NArg() > 0 {
		return c.wrong("%q is not expected here; see quietwater %s --help", c.Arg(0), c.Name()), true
	}
	return code, done
}

// parseSome reads flags and leaves what follows them.
func (c *command) parseSome(args []string) (code int, done bool) {
	err := c.Parse(args)
	switch {
	case errors.Is(err, flag.ErrHelp):
		c.help()
		return OK, true
	case err != nil:
		return c.wrong("%s; see quietwater %s --help", strings.ReplaceAll(err.Error(), ": -", ": --"), c.Name()), true
	}
	return OK, false
}

func (c *command) wrong(format string, args ...any) int {
	fmt.Fprintf(c.w.Stderr, "quietwater %s: "+format+"\n", append([]any{c.Name()}, args...)...)
	return Usage
}

func (c *command) refuse(format string, args ...any) int {
	c.wrong(format, args...)
	return Refused
}

// words opens the catalogue of a language tag; "" takes the machine's.
func (c *command) words(tag string) (*i18n.Pair, error) {
	if tag == "" {
		tag = i18n.Nearest(c.w.Language)
	}
	first, second, _ := strings.Cut(tag, ",")
	return i18n.New(first, second)
}

// moment reads --at: RFC 3339, or local time of the machine.
func (c *command) moment(at string) (time.Time, error) {
	now := c.w.Now()
	if at == "" {
		return now, nil
	}
	when, err := model.ParseWhen(at, now.Location())
	if err != nil {
		return now, err
	}
	switch {
	case when.DayOnly(): // the whole day belongs to it
		return when.Time().AddDate(0, 0, 1).Add(-time.Second), nil
	case strings.Contains(at, "T"): // its own offset, which rows without one take
		return when.Time(), nil
	}
	// Of the machine's zone, not of its offset on that day: rows of the summer
	// keep summer time.
	return when.Time().In(now.Location()), nil
}

// open opens a file to read, or says plainly that it is not there.
func (c *command) open(path string) (*os.File, int) {
	f, err := os.Open(path)
	if err == nil {
		var st fs.FileInfo
		if st, err = f.Stat(); err == nil && st.IsDir() {
			err = errFolder
		}
	}
	if err != nil {
		return nil, c.noFile(path, err)
	}
	return f, OK
}

var errFolder = errors.New("it is a folder")

func (c *command) noFile(path string, err error) int {
	if errors.Is(err, fs.ErrNotExist) {
		return c.refuse("there is no file %s", path)
	}
	if pe := (*fs.PathError)(nil); errors.As(err, &pe) {
		err = pe.Err
	}
	return c.refuse("%s cannot be used: %v", path, err)
}

func (c *command) newID() model.ID {
	id, err := model.NewID(c.w.Rand)
	if err != nil {
		panic(err) // the system's randomness is gone: nothing can be saved safely
	}
	return id
}

func (c *command) print(v any) int {
	enc := json.NewEncoder(c.w.Stdout)
	enc.SetEscapeHTML(false)
	enc.SetIndent("", " ")
	if err := enc.Encode(v); err != nil {
		return c.refuse("writing the answer: %v", err)
	}
	return OK
}

// refusal is a refused row as the command line prints it.
type refusal struct {
	Row    int    `json:"row"`
	Column string `json:"column"`
	Why    string `json:"why"`
}

// String is the refusal in a line; a row with the wrong number of cells has
// no column to blame.
func (r refusal) String() string {
	if r.Column == "" {
		return fmt.Sprintf("row %d: %s", r.Row, r.Why)
	}
	return fmt.Sprintf("row %d, %s: %s", r.Row, r.Column, r.Why)
}

func refusals(p *i18n.Pair, rs []model.Refusal) []refusal {
	out := make([]refusal, 0, len(rs))
	for _, r := range rs {
		out = append(out, refusal{r.Row, r.Field, p.T(r.Why)})
	}
	return out
}
