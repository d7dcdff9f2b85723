// Command newrule writes the skeleton of a finding rule: its file, its three
// cases and its text keys in every language. Run it from the top of the
// project with the rule's id.
//
// It refuses to write over anything, and leaves the one word in list.go to
// whoever writes the rule: until it is there, the tests name the rule as
// missing.
package main

import (
	"errors"
	"fmt"
	"go/format"
	"io/fs"
	"os"
	"path/filepath"
	"regexp"
	"strings"
)

func main() {
	if len(os.Args) != 2 {
		fmt.Fprintln(os.Stderr, "usage: newrule ID, for example: newrule protein-once")
		os.Exit(2)
	}
	made, err := write(".", os.Args[1])
	for _, f := range made {
		fmt.Println(f)
	}
	if err != nil {
		fmt.Fprintln(os.Stderr, err)
		os.Exit(1)
	}
	fmt.Printf("Now put %s into list.go, fill in what is empty, and run go test ./model/finding.\n", variable(os.Args[1]))
}

var goodID = regexp.MustCompile(`^[a-z][a-z0-9]*(-[a-z0-9]+)*$`)

// write makes the files of a new rule under root and names them. It changes
// nothing when the id is not a rule's or exists already.
func write(root, id string) (made []string, err error) {
	if !goodID.MatchString(id) || len(id) > 64 {
		return nil, fmt.Errorf("%q is no rule's id: small letters, digits and single hyphens, such as protein-once", id)
	}
	dir := filepath.Join(root, "model", "finding")
	code := filepath.Join(dir, strings.ReplaceAll(id, "-", "_")+".go")
	cases := filepath.Join(dir, "testdata", id)
	texts, err := filepath.Glob(filepath.Join(root, "i18n", "text", "*", "findings.toml"))
	if err != nil || len(texts) == 0 {
		return nil, errors.New("no i18n/text/*/findings.toml here: run newrule from the top of the project")
	}
	if err := free(id, append(texts, code, cases)...); err != nil {
		return nil, err
	}
	if err := os.MkdirAll(cases, 0o755); err != nil {
		return nil, err
	}
	source, err := format.Source([]byte(fill(skeleton, id)))
	if err != nil {
		return nil, fmt.Errorf("laying out the skeleton: %w", err)
	}
	files := map[string]string{code: string(source)}
	names := []string{code}
	for _, kind := range []string{"fires", "quiet", "edge"} {
		name := filepath.Join(cases, kind+".txt")
		files[name] = fill(caseFile[kind], id)
		names = append(names, name)
	}
	for _, name := range names {
		if err := os.WriteFile(name, []byte(files[name]), 0o644); err != nil {
			return made, err
		}
		made = append(made, name)
	}
	for _, name := range texts {
		if err := grow(name, fill(textKeys, id)); err != nil {
			return made, err
		}
		made = append(made, name)
	}
	return made, nil
}

// free reports the first thing that a rule of this id already has.
func free(id string, names ...string) error {
	for _, name := range names {
		if filepath.Ext(name) == ".toml" {
			b, err := os.ReadFile(name)
			if err != nil {
				return err
			}
			if strings.Contains(string(b), `"finding.`+id+".title\"") {
				return fmt.Errorf("rule %s exists: %s has its texts", id, name)
			}
			continue
		}
		if _, err := os.Stat(name); !errors.Is(err, fs.ErrNotExist) {
			return fmt.Errorf("rule %s exists: %s", id, name)
		}
	}
	return nil
}

func grow(name, more string) error {
	f, err := os.OpenFile(name, os.O_APPEND|os.O_WRONLY, 0)
	if err != nil {
		return err
	}
	if _, err := f.WriteString(more); err != nil {
		return errors.Join(err, f.Close())
	}
	return f.Close()
}

// variable is the Go name of a rule.
func variable(id string) string {
	words := strings.Split(id, "-")
	for i := 1; i < len(words); i++ {
		words[i] = strings.ToUpper(words[i][:1]) + words[i][1:]
	}
	name := strings.Join(words, "")
	if len(words) == 1 {
		name += "Rule" // a single word could be one of Go's, or a package's
	}
	return name
}

func fill(text, id string) string {
	return strings.NewReplacer("RULEVAR", variable(id), "RULEID", id).Replace(text)
}

const skeleton = `package finding

import "quietwater/model"

// RULEVAR: say in a sentence what is noticed and why it matters.
var RULEVAR = &Rule{
	ID:        "RULEID",
	Urgencies: []Urgency{},   // what it may say
	Reads:     []model.Code{}, // codes it looks at
	About:     []string{},    // codes, or words of the command line; never empty
	Limits:    []Limit{},     // every clinical number below: limit(name, value, unit, source, place) or ours(name, value, unit)
	Cites:     []model.Cite{}, // where the rule itself comes from
	Eval: func(r *Rule, h *History) []Finding {
		return nil
	},
}
`

var caseFile = map[string]string{
	"fires": "# What fires, in one line.\nnow 2027-03-01T09:00:00+01:00\nrows\n2027-03-01T08:00:00+01:00,strip,protein,1+\nexpect\nRULEID note\n",
	"quiet": "# What looks alike and does not fire.\nnow 2027-03-01T09:00:00+01:00\nrows\n2027-03-01T08:00:00+01:00,strip,protein,neg\nexpect\nnot RULEID\n",
	"edge":  "# On the limit. A second file, edge-below.txt, stands one step below.\nnow 2027-03-01T09:00:00+01:00\nrows\n2027-03-01T08:00:00+01:00,strip,protein,neg\nexpect\nRULEID note\n",
}

const textKeys = `
"finding.RULEID.title" = ""
"finding.RULEID.why" = ""
"finding.RULEID.do" = ""
"finding.RULEID.change" = ""
`
