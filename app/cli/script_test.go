package cli

import (
	"bytes"
	"context"
	"database/sql"
	"encoding/json"
	"flag"
	"fmt"
	"io/fs"
	"math/rand/v2"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"testing"
	"time"

	"quietwater/app/store"
)

var update = flag.Bool("update", false, "write the expected answers of testdata/*.txt anew")

var madrid = func() *time.Location {
	z, err := time.LoadLocation("Europe/Madrid")
	if err != nil {
		panic(err)
	}
	return z
}()

// now is the time at the kitchen table in all these tests.
var now = time.Date(2026, 11, 25, 10, 0, 0, 0, madrid)

// world is a machine whose clock stands still and whose dice fall the same.
func world(stdout, stderr *bytes.Buffer) World {
	return World{Stdin: strings.NewReader(""), Stdout: stdout, Stderr: stderr, Now: func() time.Time { return now },
		Rand: rand.NewChaCha8([32]byte{}), DefaultBook: "data/household.book", Language: "en", Version: "test", Work: 3}
}

// call runs one verb as the program would.
func call(args ...string) (stdout, stderr string, code int) {
	var out, errs bytes.Buffer
	code = Run(context.Background(), world(&out, &errs), args)
	return out.String(), errs.String(), code
}

// TestScripts plays testdata/*.txt: files to begin with, each after a line
// "-- name --", and last "-- script --": every line "$ …" is a command, and
// what follows is what it must answer; lines of standard error begin with
// "! ", and the exit code stands last when it is not 0. Besides the verbs of
// the program there are the helpers of [stage].
func TestScripts(t *testing.T) {
	scripts, err := filepath.Glob("testdata/*.txt")
	if err != nil || len(scripts) == 0 {
		t.Fatalf("no scripts: %v", err)
	}
	for _, path := range scripts {
		t.Run(strings.TrimSuffix(filepath.Base(path), ".txt"), func(t *testing.T) { play(t, path) })
	}
}

func play(t *testing.T, path string) {
	path, err := filepath.Abs(path)
	if err != nil {
		t.Fatal(err)
	}
	text, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	before, script, found := strings.Cut(string(text), "-- script --\n")
	if !found {
		t.Fatal("there is no line -- script --")
	}
	t.Chdir(t.TempDir())
	writeFiles(t, before)
	st := &stage{dice: rand.NewChaCha8([32]byte{})}
	defer st.release()
	var got strings.Builder
	for line := range strings.Lines(script) {
		switch {
		case strings.HasPrefix(line, "$ "):
			got.WriteString(line)
			got.WriteString(st.run(t, words(strings.TrimSpace(line[2:]))))
		case strings.HasPrefix(line, "# "), got.Len() == 0:
			got.WriteString(line)
		}
	}
	if *update {
		if err := os.WriteFile(path, []byte(before+"-- script --\n"+got.String()), 0o600); err != nil {
			t.Fatal(err)
		}
		return
	}
	if got.String() != script {
		t.Errorf("%s", difference(script, got.String()))
	}
}

func writeFiles(t *testing.T, text string) {
	t.Helper()
	var name string
	var body strings.Builder
	flush := func() {
		if name != "" {
			if err := os.WriteFile(name, []byte(body.String()), 0o600); err != nil {
				t.Fatal(err)
			}
		}
		body.Reset()
	}
	for line := range strings.Lines(text) {
		if n, ok := strings.CutPrefix(strings.TrimSpace(line), "-- "); ok && strings.HasSuffix(n, " --") {
			flush()
			name = strings.TrimSuffix(n, " --")
			continue
		}
		body.WriteString(line)
	}
	flush()
}

// words splits a command at spaces outside double quotes.
func words(s string) []string {
	var out []string
	for i, part := range strings.Split(s, `"`) {
		if i%2 == 1 {
			out = append(out, part)
		} else {
			out = append(out, strings.Fields(part)...)
		}
	}
	return out
}

func difference(want, got string) string {
	w, g := strings.Split(want, "\n"), strings.Split(got, "\n")
	for i := range g {
		if i >= len(w) || w[i] != g[i] {
			from := max(0, i-6)
			return fmt.Sprintf("line %d of the script\nwant:\n%s\ngot:\n%s\n(go test ./app/cli -update writes it anew)", i+1,
				strings.Join(w[min(from, len(w)):min(i+8, len(w))], "\n"), strings.Join(g[from:min(i+8, len(g))], "\n"))
		}
	}
	return "the answer ends early:\n" + strings.Join(w[len(g)-1:], "\n")
}

// sentence is a text of a finding that somebody may word better any day.
var sentence = regexp.MustCompile(`"(title|why|do|change|citation)": "[^"⟦]*[^"⟦\\]"`)

// stage is what a script may do besides calling the program.
type stage struct {
	held *store.Book
	dice *rand.ChaCha8
}

func (s *stage) release() {
	if s.held != nil {
		s.held.Close(context.Background())
		s.held = nil
	}
}

func (s *stage) run(t *testing.T, args []string) string {
	t.Helper()
	must := func(err error) {
		t.Helper()
		if err != nil {
			t.Fatalf("%q: %v", args, err)
		}
	}
	switch args[0] {
	case "quietwater":
		return s.program(t, args[1:])
	case "brief": // findings in a line each, without the texts
		return s.program(t, append(args[1:], "--brief"))
	case "shape": // the answer with … for every sentence
		return sentence.ReplaceAllString(s.program(t, args[1:]), `"$1": "…"`)
	case "hold": // FILE: another program has this book open
		b, err := store.Open(context.Background(), store.Options{Path: args[1]})
		must(err)
		s.held = b
	case "release":
		s.release()
	case "ls": // DIR: every file in it
		var out strings.Builder
		must(filepath.WalkDir(args[1], func(p string, d fs.DirEntry, err error) error {
			if err == nil && !d.IsDir() {
				fmt.Fprintln(&out, filepath.ToSlash(p))
			}
			return err
		}))
		return out.String()
	case "cat":
		b, err := os.ReadFile(args[1])
		must(err)
		return strings.ReplaceAll(string(b), "\r", "")
	case "cp": // FILE NEW
		b, err := os.ReadFile(args[1])
		must(err)
		must(os.WriteFile(args[2], b, 0o600))
	case "mkdir":
		must(os.Mkdir(args[1], 0o700))
	case "rm":
		must(os.Remove(args[1]))
	case "poke": // FILE OLD NEW: other bytes where the first were
		b, err := os.ReadFile(args[1])
		must(err)
		if !bytes.Contains(b, []byte(args[2])) {
			t.Fatalf("%q: %s is not in it", args, args[2])
		}
		must(os.WriteFile(args[1], bytes.Replace(b, []byte(args[2]), []byte(args[3]), 1), 0o600))
	case "age": // FILE: a later program wrote to this book
		db, err := sql.Open("sqlite3", args[1])
		must(err)
		_, err = db.Exec(`INSERT INTO migration VALUES(99, '2030-01-01T00:00:00Z', 'later'); PRAGMA user_version = 99`)
		must(err)
		must(db.Close())
	default:
		t.Fatalf("no such helper: %q", args)
	}
	return ""
}

// program calls a verb and writes its answer down.
func (s *stage) program(t *testing.T, argv []string) string {
	var out, errs bytes.Buffer
	w := world(&out, &errs)
	w.Rand = s.dice
	if n := len(argv); n > 1 && argv[n-2] == "<" { // FILE on standard input
		in, err := os.ReadFile(argv[n-1])
		if err != nil {
			t.Fatal(err)
		}
		w.Stdin, argv = bytes.NewReader(in), argv[:n-2]
	}
	brief := slices.Contains(argv, "--brief")
	argv = slices.DeleteFunc(argv, func(a string) bool { return a == "--brief" })
	code := Run(context.Background(), w, argv)
	here, err := os.Getwd()
	if err != nil {
		t.Fatal(err)
	}
	real, _ := filepath.EvalSymlinks(here)
	text := out.String()
	if brief {
		text = inBrief(t, text)
	}
	for line := range strings.Lines(errs.String()) {
		text += "! " + line
	}
	for _, dir := range slices.Compact([]string{here, real}) {
		text = strings.ReplaceAll(text, dir, "HERE")
	}
	if text != "" && !strings.HasSuffix(text, "\n") {
		text += "\n"
	}
	text = strings.ReplaceAll(text, "\r", "")
	if code != OK {
		text += fmt.Sprintf("exit %d\n", code)
	}
	return text
}

// inBrief tells findings by what does not depend on their wording.
func inBrief(t *testing.T, text string) string {
	t.Helper()
	if text == "" {
		return ""
	}
	var fs []foundJSON
	if err := json.Unmarshal([]byte(text), &fs); err != nil {
		t.Fatalf("%v in %s", err, text)
	}
	var out strings.Builder
	for _, f := range fs {
		fmt.Fprintf(&out, "%s %s %s", f.Person, f.Urgency, f.ID)
		if f.Within != nil {
			fmt.Fprintf(&out, " within %s", *f.Within)
		}
		if f.Due != nil {
			fmt.Fprintf(&out, " due %s to %s", f.Due.From, f.Due.To)
		}
		for _, e := range f.Evidence {
			fmt.Fprintf(&out, "; %s", strings.Join(strings.Fields(strings.Join([]string{e.When, e.Kind, e.What, e.Value, e.Unit}, " ")), " "))
		}
		out.WriteString("\n")
	}
	if out.Len() == 0 {
		return "none\n"
	}
	return out.String()
}
