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
}

type verb struct {
	name, line string
	run        func(context.Context, World, []string) int
}

func verbs() []verb {
	return []verb{
		{"findings", "judge a plain table and print what calls for anybody, most urgent first", findings},
		{"import", "take a plain table into a book", importTable},
		{"export", "write a book as a plain table", export},
		{"check", "look whether a book is whole; changes nothing", check},
	}
}

// IsVerb reports whether word is one of ours, so that anything else is left
// to the window.
func IsVerb(word string) bool {
	return word == "help" || slices.ContainsFunc(verbs(), func(v verb) bool { return v.name == word })
}

// Run carries out args[0].
func Run(ctx context.Context, w World, args []string) int {
	for _, v := range verbs() {
		if len(args) > 0 && v.name == args[0] {
			return v.run(ctx, w, args[1:])
		}
	}
	Help(w.Stdout)
	if len(args) > 0 && args[0] == "help" {
		return OK
	}
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
	fmt.Fprint(w, "\nEach has --help. They print JSON; exit 0 all well, 1 data refused, 2 wrong call.\nQuietwater never diagnoses. If you feel unwell, call your doctor or your emergency number.\n")
}

// command is one verb's flags.
type command struct {
	*flag.FlagSet
	w World
}

func newCommand(w World, name, use string) *command {
	c := &command{flag.NewFlagSet(name, flag.ContinueOnError), w}
	c.SetOutput(w.Stderr)
	c.Usage = func() {
		fmt.Fprintf(c.Output(), "quietwater %s\n\n", use)
		c.PrintDefaults()
	}
	return c
}

// parse reads flags and nothing else. done is true when the verb is over,
// with its exit code.
func (c *command) parse(args []string) (code int, done bool) {
	if slices.Contains(args, "--help") || slices.Contains(args, "-help") || slices.Contains(args, "-h") {
		c.SetOutput(c.w.Stdout)
	}
	err := c.Parse(args)
	switch {
	case errors.Is(err, flag.ErrHelp):
		return OK, true
	case err != nil:
		return Usage, true
	case c.NArg() > 0:
		fmt.Fprintf(c.w.Stderr, "quietwater %s: %q is not expected here\n", c.Name(), c.Arg(0))
		return Usage, true
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
	if when.DayOnly() { // the whole day belongs to it
		return when.Time().AddDate(0, 0, 1).Add(-time.Second), nil
	}
	return when.Time(), nil
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

func refusals(p *i18n.Pair, rs []model.Refusal) []refusal {
	out := make([]refusal, 0, len(rs))
	for _, r := range rs {
		out = append(out, refusal{r.Row, r.Field, p.T(r.Why)})
	}
	return out
}
