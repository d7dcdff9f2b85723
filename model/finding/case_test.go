package finding_test

import (
	"bufio"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"quietwater/model"
	"quietwater/model/finding"
	"quietwater/model/strip"
)

// A case file is plain text a clinician can read:
//
//	now TIME
//	rows
//	WHEN,KIND,WHAT,VALUE[,UNIT[,NOTE]]
//	expect
//	RULE[/VARIANT] URGENCY [WITHIN or FROM TO]
//	not RULE[/VARIANT], of whatever form where none is named
//	nothing
//
// Lines that begin with # are for the reader.
type testCase struct {
	now    time.Time
	rows   []model.Row
	expect []string
}

func readCase(t *testing.T, path string) testCase {
	t.Helper()
	f, err := os.Open(path)
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	var c testCase
	part := ""
	for s := bufio.NewScanner(f); s.Scan(); {
		line := strings.TrimSpace(s.Text())
		switch {
		case line == "" || strings.HasPrefix(line, "#"):
		case strings.HasPrefix(line, "now "):
			c.now, err = time.Parse(time.RFC3339, line[4:])
			if err != nil {
				t.Fatalf("%s: %v", path, err)
			}
		case line == "rows" || line == "expect":
			part = line
		case part == "rows":
			c.rows = append(c.rows, caseRow(t, path, line, len(c.rows)+1))
		case part == "expect":
			c.expect = append(c.expect, line)
		default:
			t.Fatalf("%s: %q stands before rows", path, line)
		}
	}
	return c
}

func caseRow(t *testing.T, path, line string, n int) model.Row {
	t.Helper()
	cells := append(strings.SplitN(line, ",", 6), "", "", "")
	if len(cells) < 7 {
		t.Fatalf("%s: %q needs when,kind,what,value", path, line)
	}
	r := model.Row{Number: n, Person: "Rosa", When: cells[0], Kind: cells[1], What: cells[2], Value: cells[3], Unit: cells[4], Note: cells[5]}
	if r.Kind == "pack" {
		r.Person = ""
	}
	return r
}

// judge runs the rules over a case, and refuses rows the program would refuse.
func judge(t *testing.T, path string, c testCase) finding.Result {
	t.Helper()
	n := 0
	reader := model.Reader{Zone: c.now.Location(), NewID: func() model.ID {
		n++
		return model.ID(fmt.Sprintf("%032d", n))
	}}
	book, refused := reader.Read(c.rows)
	for _, r := range refused {
		t.Fatalf("%s: row %d: %s %s %v", path, r.Row, r.Field, r.Why.Key, r.Why.Args)
	}
	if len(book.Persons) != 1 {
		t.Fatalf("%s: wants one person", path)
	}
	return finding.Run(finding.Input{Book: book, Kinds: strip.Generic(), Now: c.now}, book.Persons[0])
}

func TestCases(t *testing.T) {
	for _, r := range finding.Rules() {
		for _, kind := range []string{"fires", "quiet", "edge"} {
			files, _ := filepath.Glob(filepath.Join("testdata", r.ID, kind+"*.txt"))
			if len(files) == 0 {
				t.Errorf("rule %s has no case of kind %s", r.ID, kind)
			}
			for _, f := range files {
				t.Run(r.ID+"/"+filepath.Base(f), func(t *testing.T) { checkCase(t, f) })
			}
		}
	}
}

func checkCase(t *testing.T, path string) {
	c := readCase(t, path)
	res := judge(t, path, c)
	if len(c.expect) == 0 {
		t.Fatalf("%s expects nothing: write \"nothing\" if that is meant", path)
	}
	for _, want := range c.expect {
		if !meets(res.Open, want) {
			t.Errorf("%s: want %q, got %s", path, want, describe(res.Open))
		}
	}
}

func meets(open []finding.Finding, want string) bool {
	if want == "nothing" {
		return len(open) == 0
	}
	if rule, not := strings.CutPrefix(want, "not "); not {
		return !strings.Contains(" "+describe(open)+";", " "+rule+" ") && !strings.Contains(describe(open), " "+rule+"/")
	}
	for _, f := range open {
		// A rule's name alone means its plain form.
		if strings.HasPrefix(line(f)+" ", want+" ") {
			return true
		}
	}
	return false
}

func line(f finding.Finding) string {
	s := f.Rule
	if f.Variant != "" {
		s += "/" + f.Variant
	}
	s += " " + f.Urgency.String()
	if w := f.Within(); w != "" {
		s += " " + w
	}
	if f.Due != nil {
		s += " " + f.Due.From.Format(time.RFC3339) + " " + f.Due.To.Format(time.RFC3339)
	}
	return s
}

func describe(fs []finding.Finding) string {
	var b strings.Builder
	for _, f := range fs {
		b.WriteString(" " + line(f) + ";")
	}
	return b.String()
}
