package main

import (
	"bytes"
	"context"
	"crypto/sha256"
	"errors"
	"fmt"
	"image"
	"image/jpeg"
	"math/rand/v2"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strings"
	"sync/atomic"
	"syscall"
	"testing"
	"time"

	"quietwater/app/backup"
	"quietwater/app/store"
	"quietwater/model/strip"
)

// The faults of a disk, over the program itself: it is asked to do each of its
// deeds with a book, and is stopped, or told that the disk is failing, at any of
// its system calls. Whatever happens, what it said was done is done, what was
// there before is there, and nothing is half of anything.

// inMemory is a folder in memory where there is one: what is tried is what the
// program asks of the disk, not the disk.
func inMemory(t testing.TB) string {
	t.Helper()
	if st, err := os.Stat("/dev/shm"); err != nil || !st.IsDir() {
		return t.TempDir()
	}
	dir, err := os.MkdirTemp("/dev/shm", "quietwater-faults-*")
	must(t, err)
	t.Cleanup(func() { os.RemoveAll(dir) })
	return dir
}

// fresh is a copy of all that lies in dir.
func fresh(t testing.TB, dir string) string {
	t.Helper()
	to := inMemory(t)
	must(t, os.CopyFS(to, os.DirFS(dir)))
	return to
}

// tableOf is all a book says, as the plain table. The book is opened as a start
// opens it, and closed again, so that what lay about half done is swept.
func tableOf(t testing.TB, path string) string {
	t.Helper()
	b, err := store.Open(context.Background(), store.Options{Path: path, Version: Version})
	if err != nil {
		t.Fatalf("opening %s: %v", path, err)
	}
	book, _, err := b.Load(context.Background())
	must(t, err)
	if b.ReadOnlyReason != nil {
		t.Fatalf("%s may only be read: %v", path, b.ReadOnlyReason)
	}
	must(t, b.Close(context.Background()))
	return tableText(t, book)
}

// aHouse is a folder with all that the deeds need: a book of two persons with a
// safe copy, one that the first version of this program wrote, another copy to
// merge, a backup, a
// table to take in, and a damaged book with its safe copy.
func aHouse(t testing.TB) string {
	t.Helper()
	dir := inMemory(t)
	for _, d := range []string{"house", "old", "other", "stick"} {
		must(t, os.Mkdir(filepath.Join(dir, d), 0o700))
	}
	old, err := os.ReadFile("testdata/version-1.book")
	must(t, err)
	must(t, os.WriteFile(filepath.Join(dir, "old", "household.book"), old, 0o600))
	table, err := os.ReadFile("testdata/version-1.csv")
	must(t, err)
	must(t, os.WriteFile(filepath.Join(dir, "first.csv"), table, 0o600))
	const head = "person,when,kind,what,value,unit,note\n"
	must(t, os.WriteFile(filepath.Join(dir, "more.csv"), []byte(head+"Rosa,2026-03-02 08:00,lab,potassium,4.4,mmol/L,\nRosa,2026-03-02 08:10,vital,weight,61.2,kg,\n"), 0o600))
	must(t, os.WriteFile(filepath.Join(dir, "theirs.csv"), []byte(head+"Tomás,2026-03-03 08:00,vital,weight,80,kg,\n"), 0o600))
	runVerb(t, dir, "import", "--table", "first.csv", "--book", "house/household.book")
	must(t, os.CopyFS(filepath.Join(dir, "other"), os.DirFS(filepath.Join(dir, "house"))))
	runVerb(t, dir, "import", "--table", "theirs.csv", "--book", "other/household.book")
	runVerb(t, dir, "backup", "--book", "house/household.book", "--out", "stick/b.zip", "--plain")
	must(t, os.CopyFS(filepath.Join(dir, "sick"), os.DirFS(filepath.Join(dir, "house"))))
	sick := filepath.Join(dir, "sick", "household.book")
	b, err := os.ReadFile(sick)
	must(t, err)
	must(t, os.WriteFile(sick, bytes.ReplaceAll(b, []byte("lilies"), []byte("lillis")), 0o600))
	return dir
}

// deed is one thing the program is asked to do. law holds what lies in dir
// afterwards against what may lie there; done is true when the program said that
// it did it.
type deed struct {
	name string
	args []string
	law  func(t *testing.T, dir string, done bool) error
}

// oneOf is a law: the book holds one of these, the last one when it is done.
func oneOf(book string, may ...string) func(*testing.T, string, bool) error {
	return func(t *testing.T, dir string, done bool) error {
		path := filepath.Join(dir, book)
		has := tableOf(t, path)
		switch {
		case done && has != may[len(may)-1]:
			return fmt.Errorf("it was acknowledged, and the book holds\n%s", has)
		case !slices.Contains(may, has):
			return fmt.Errorf("the book holds neither the old nor the new:\n%s", has)
		}
		return orderly(path)
	}
}

// orderly: every safe copy is whole, and nothing half done lies about after a
// start.
func orderly(book string) error {
	copies, err := store.Snapshots(book)
	if err != nil {
		return err
	}
	for _, c := range copies {
		if rep, err := store.CheckFile(context.Background(), c.Path); err != nil || !rep.OK() {
			return fmt.Errorf("the safe copy %s: %v %v", c.Path, rep.Flaws, err)
		}
	}
	for _, dir := range []string{filepath.Dir(book), store.BackupsDir(book)} {
		if left, _ := filepath.Glob(filepath.Join(dir, ".household-*")); len(left) > 0 {
			return fmt.Errorf("not swept: %v", left)
		}
	}
	return nil
}

// absentOr is a law: nothing has the name, or the whole of it, and it is there
// when it is done.
func absentOr(name string, whole func(path string) error) func(*testing.T, string, bool) error {
	return func(t *testing.T, dir string, done bool) error {
		path := filepath.Join(dir, name)
		if _, err := os.Lstat(path); errors.Is(err, os.ErrNotExist) {
			if done {
				return fmt.Errorf("it was acknowledged, and there is no %s", name)
			}
			return nil
		}
		if err := whole(path); err != nil {
			return fmt.Errorf("half of %s: %w", name, err)
		}
		return nil
	}
}

// deeds are all of them, with what each must come to when nobody stops it.
func deeds(t *testing.T, house string) []deed {
	after := func(d deed) string { // what the program makes of it undisturbed
		dir := fresh(t, house)
		runVerb(t, dir, d.args...)
		return dir
	}
	const book = "house/household.book"
	at := func(dir, name string) string { return filepath.Join(dir, name) }
	had := tableOf(t, at(fresh(t, house), book))
	hadOld := tableOf(t, at(fresh(t, house), "old/household.book"))

	save := deed{name: "save", args: []string{"import", "--table", "more.csv", "--book", book}}
	save.law = oneOf(book, had, tableOf(t, at(after(save), book)))

	migrate := deed{name: "migrate", args: []string{"import", "--table", "more.csv", "--book", "old/household.book"}}
	newer := oneOf("old/household.book", hadOld, tableOf(t, at(after(migrate), "old/household.book")))
	migrate.law = func(t *testing.T, dir string, done bool) error {
		was, err := os.ReadFile(at(dir, "old/household.book"))
		must(t, err)
		if brought := was[63] > 1; brought { // the header's version, once a crash is taken back
			copies, err := store.Snapshots(at(dir, "old/household.book"))
			if err != nil || len(copies) == 0 {
				return fmt.Errorf("the book was brought to this version without a safe copy of the old one: %v", err)
			}
			rep, err := store.CheckFile(context.Background(), copies[len(copies)-1].Path)
			if err != nil || !rep.OK() || rep.Version != 1 {
				return fmt.Errorf("the safe copy of the old book: %+v, %v", rep, err)
			}
		}
		return newer(t, dir, done)
	}

	merge := deed{name: "merge", args: []string{"merge", "--from", "other/household.book", "--book", book, "--json"}}
	merge.law = oneOf(book, had, tableOf(t, at(after(merge), book)))

	restore := deed{name: "restore", args: []string{"restore", "--from", "stick/b.zip", "--book", "new/household.book"}}
	restored := absentOr("new/household.book", func(path string) error { return oneOf("household.book", had)(t, filepath.Dir(path), true) })
	restore.law = func(t *testing.T, dir string, done bool) error {
		if _, err := backup.Rehearse(context.Background(), at(dir, "stick/b.zip"), at(dir, "rehearsed.book"), backup.Options{}); err != nil {
			return fmt.Errorf("the backup itself: %w", err)
		}
		return restored(t, dir, done)
	}

	out := deed{name: "backup", args: []string{"backup", "--book", book, "--out", "stick/c.zip", "--plain"}}
	out.law = absentOr("stick/c.zip", func(path string) error {
		_, err := backup.Rehearse(context.Background(), path, filepath.Join(filepath.Dir(path), "rehearsed.book"), backup.Options{})
		return err
	})
	sameFile := func(want []byte) func(string) error {
		return func(path string) error {
			if got, err := os.ReadFile(path); err != nil || !bytes.Equal(got, want) {
				return fmt.Errorf("%d bytes of %d, %v", len(got), len(want), err)
			}
			return nil
		}
	}
	export := deed{name: "export", args: []string{"export", "--book", book, "--out", "out.csv"}}
	export.law = absentOr("out.csv", sameFile([]byte(had)))

	page := deed{name: "page", args: []string{"page", "--table", "first.csv", "--person", "Rosa", "--lang", "en", "--out", "page.pdf"}}
	page.law = absentOr("page.pdf", func(path string) error {
		b, err := os.ReadFile(path)
		if err != nil || !bytes.HasPrefix(b, []byte("%PDF")) || !bytes.HasSuffix(bytes.TrimSpace(b), []byte("%%EOF")) {
			return fmt.Errorf("%d bytes, %v", len(b), err)
		}
		return nil
	})

	leave := deed{name: "move out", args: []string{"export", "--book", book, "--as", "folder", "--out", "out"}}
	want := listed(t, at(after(leave), "out"))
	leave.law = absentOr("out", func(path string) error {
		if got := listed(t, path); !slices.Equal(got, want) {
			return fmt.Errorf("%v of %v", got, want)
		}
		return sameFile([]byte(had))(filepath.Join(path, "table.csv"))
	})

	rescue := deed{name: "rescue", args: []string{"rescue", "--book", "sick/household.book", "--go-on"}}
	sick, err := os.ReadFile(at(house, "sick/household.book"))
	must(t, err)
	rescue.law = func(t *testing.T, dir string, done bool) error {
		kept, err := filepath.Glob(at(dir, "sick/household-damaged-*.book"))
		must(t, err)
		now, err := os.ReadFile(at(dir, "sick/household.book"))
		if !bytes.Equal(now, sick) && (err != nil || len(kept) == 0) {
			return fmt.Errorf("the damaged book is neither in its place nor under another name: %v", err)
		}
		for _, k := range kept {
			if err := sameFile(sick)(k); err != nil {
				return fmt.Errorf("the damaged book was changed: %w", err)
			}
		}
		if bytes.Equal(now, sick) {
			if done {
				return errors.New("it was acknowledged, and the damaged book is still in its place")
			}
			return nil
		}
		return oneOf("sick/household.book", had)(t, dir, true)
	}

	all := []deed{save, migrate, merge, restore, out, export, page, leave, rescue}
	for i := range all { // and none of them may touch the book it only reads
		law := all[i].law
		if i > 2 {
			all[i].law = func(t *testing.T, dir string, done bool) error {
				return errors.Join(law(t, dir, done), oneOf(book, had)(t, dir, true))
			}
		}
	}
	return all
}

// listed are the files below dir that are not empty.
func listed(t testing.TB, dir string) (out []string) {
	t.Helper()
	must(t, filepath.WalkDir(dir, func(path string, d os.DirEntry, err error) error {
		if err == nil && !d.IsDir() {
			if st, err := d.Info(); err == nil && st.Size() > 0 {
				rel, _ := filepath.Rel(dir, path)
				out = append(out, rel)
			}
		}
		return err
	}))
	return out
}

// calls are the groups of system calls by which a program changes a disk.
var calls = []string{"pwrite64", "write", "fsync,fdatasync", "ftruncate", "openat", "unlink,unlinkat", "rename,renameat,renameat2",
	"mkdir,mkdirat", "copy_file_range"}

// struck tells what came of a deed under a fault.
type struck struct {
	met  bool // the fault reached the program
	done bool // the program said that all went well
	said string
}

// strike lets the program do a deed in dir, and at the nth call of a group, of
// any of its threads, the fault: an error of the system, or "KILL".
func strike(t *testing.T, dir string, d deed, group, fault string, n int) struck {
	t.Helper()
	what := "error=" + fault
	if fault == "KILL" {
		what = "signal=SIGKILL"
	}
	trace := filepath.Join(dir, "trace")
	c := program(dir, d.args...)
	c.Args = append([]string{"strace", "-f", "-qq", "-o", trace, "-e", "trace=" + group, "-e", fmt.Sprintf("inject=%s:%s:when=%d", group, what, n), c.Path}, c.Args[1:]...)
	c.Path = tracer(t)
	said, err := c.CombinedOutput()
	if strings.Contains(string(said), "ptrace") {
		t.Skipf("tracing is not permitted here: %s", said)
	}
	log, _ := os.ReadFile(trace)
	must(t, os.Remove(trace))
	return struck{met: bytes.Contains(log, []byte("INJECTED")) || bytes.Contains(log, []byte("killed by SIGKILL")), done: err == nil, said: string(said)}
}

func tracer(t *testing.T) string {
	path, err := exec.LookPath("strace")
	if err != nil {
		t.Skip("strace is not installed")
	}
	return path
}

// TestStopped stops each deed at its system calls and fails them: in a soak at
// every one, else at a few by chance.
func TestStopped(t *testing.T) {
	tracer(t)
	house := aHouse(t)
	var met, done, killed, told atomic.Int64
	for _, d := range deeds(t, house) {
		try := func(t *testing.T, group, fault string, n int) bool {
			dir, err := os.MkdirTemp(filepath.Dir(house), "quietwater-struck-*")
			must(t, err)
			defer os.RemoveAll(dir)
			must(t, os.CopyFS(dir, os.DirFS(house)))
			got := strike(t, dir, d, group, fault, n)
			if !got.met {
				return false
			}
			met.Add(1)
			switch {
			case got.done:
				done.Add(1)
			case fault == "KILL":
				killed.Add(1)
			default:
				told.Add(1)
				// What cannot even be loaded is told by the system's loader, and Go's
				// own pipe, by which it wakes itself, is no file of anybody's.
				if got.said == "" && group != "write" || strings.Contains(got.said, "goroutine ") && !strings.Contains(got.said, "netpollBreak") {
					t.Errorf("%s of %s, call %d: no words, or too many: %s", fault, group, n, got.said)
				}
			}
			if err := d.law(t, dir, got.done); err != nil {
				t.Errorf("%s of %s, call %d: %v\nit said: %s", fault, group, n, err, got.said)
			}
			return true
		}
		t.Run(d.name, func(t *testing.T) {
			t.Parallel()
			if !soak() {
				r := rand.New(rand.NewPCG(uint64(time.Now().UnixNano()), 1))
				for range 8 {
					group, fault := calls[r.IntN(len(calls))], []string{"EIO", "ENOSPC", "EROFS", "KILL"}[r.IntN(4)]
					try(t, group, fault, 1+r.IntN(20))
				}
				return
			}
			for _, group := range calls {
				for _, fault := range []string{"KILL", "EIO", "ENOSPC", "EROFS"} {
					every := 1
					if fault == "ENOSPC" || fault == "EROFS" {
						every = 3
					}
					for n := 1; n <= 250 && try(t, group, fault, n); n += every {
					}
				}
			}
		})
	}
	t.Cleanup(func() {
		t.Logf("%d faults met: %d killed it, %d told, %d it coped with; 0 acknowledged lost, 0 halves", met.Load(), killed.Load(), told.Load(), done.Load())
		if soak() && met.Load() < 1000 {
			t.Errorf("only %d faults reached the program", met.Load())
		}
	})
}

// TestStoppedSeesALoss is the control: a program that acknowledges what it only
// half did must be found out by the same laws.
func TestStoppedSeesALoss(t *testing.T) {
	house := aHouse(t)
	for _, d := range deeds(t, house) {
		dir := fresh(t, house)
		// It says that all went well, and did nothing.
		if d.law(t, dir, true) == nil {
			t.Errorf("%s: acknowledged, not done, and nobody noticed", d.name)
		}
		dir = fresh(t, house)
		runVerb(t, dir, d.args...)
		if err := d.law(t, dir, true); err != nil {
			t.Errorf("%s: done, and refused: %v", d.name, err)
		}
		switch d.name { // and what is half done
		case "backup", "export", "page":
			name := d.args[slices.Index(d.args, "--out")+1]
			b, err := os.ReadFile(filepath.Join(dir, name))
			must(t, err)
			must(t, os.WriteFile(filepath.Join(dir, name), b[:len(b)/2], 0o600))
		case "move out":
			must(t, os.Remove(filepath.Join(dir, "out", "read-me.txt")))
		case "migrate":
			must(t, os.RemoveAll(filepath.Join(dir, "old", "backups")))
		default:
			continue
		}
		if d.law(t, dir, true) == nil {
			t.Errorf("%s: half done, and nobody noticed", d.name)
		}
	}
}

// TestAnotherAccount: another account of the computer cannot read the book, is
// told so, and changes nothing. The control is that account with a book of its
// own.
func TestAnotherAccount(t *testing.T) {
	if os.Getuid() != 0 {
		t.Skip("only root can be another account")
	}
	const nobody = 65534
	top, err := os.MkdirTemp("", "quietwater-accounts-*") // a folder that others may go through
	must(t, err)
	defer os.RemoveAll(top)
	must(t, os.Chmod(top, 0o755))
	self, err := os.Executable()
	must(t, err)
	theirs := filepath.Join(top, "program")
	b, err := os.ReadFile(self)
	must(t, err)
	must(t, os.WriteFile(theirs, b, 0o755))
	must(t, os.Chmod(theirs, 0o755))
	must(t, os.WriteFile(filepath.Join(top, "t.csv"), []byte("person,when,kind,what,value,unit,note\nRosa,2026-11-24,vital,weight,70,kg,\n"), 0o644))
	must(t, os.Mkdir(filepath.Join(top, "nobodys"), 0o700))
	must(t, os.Chown(filepath.Join(top, "nobodys"), nobody, nobody))
	runVerb(t, top, "import", "--table", "t.csv", "--book", "roots/household.book")
	before := listedAll(t, filepath.Join(top, "roots"))
	as := func(args ...string) (string, error) {
		c := program(top, args...)
		c.Path = theirs
		c.SysProcAttr = &syscall.SysProcAttr{Credential: &syscall.Credential{Uid: nobody, Gid: nobody}}
		out, err := c.CombinedOutput()
		return string(out), err
	}
	if out, err := as("import", "--table", "t.csv", "--book", "nobodys/household.book"); err != nil {
		t.Fatalf("the control: %v: %s", err, out)
	}
	for _, args := range [][]string{{"import", "--table", "t.csv"}, {"export"}, {"check"}, {"rescue"}, {"backup", "--plain", "--out", "nobodys/b.zip"}} {
		out, err := as(append(args, "--book", "roots/household.book")...)
		if err == nil || out == "" || strings.Contains(out, "goroutine") {
			t.Errorf("%q: %v: %s", args, err, out)
		}
	}
	if after := listedAll(t, filepath.Join(top, "roots")); after != before {
		t.Errorf("before\n%s\nafter\n%s", before, after)
	}
}

// listedAll is every file below dir with its rights and content.
func listedAll(t testing.TB, dir string) string {
	t.Helper()
	var out strings.Builder
	for _, name := range listed(t, dir) {
		st, err := os.Stat(filepath.Join(dir, name))
		must(t, err)
		b, err := os.ReadFile(filepath.Join(dir, name))
		must(t, err)
		fmt.Fprintf(&out, "%s %v %x\n", name, st.Mode(), sha256.Sum256(b))
	}
	return out.String()
}

// TestLittleMemory gives the program 256 MiB for a book of ten years and for a
// photograph of 12 million pixels: it works, or it refuses with words. With next to
// nothing it must fail, or the limit limits nothing.
func TestLittleMemory(t *testing.T) {
	limit, err := exec.LookPath("prlimit")
	if err != nil {
		t.Skip("prlimit is not installed")
	}
	days := 100
	if soak() {
		days = 3650
	}
	dir := t.TempDir()
	var table strings.Builder
	table.WriteString("person,when,kind,what,value,unit,note\n")
	for d := range days {
		day := time.Date(2026, 1, 1, 0, 0, 0, 0, time.UTC).AddDate(0, 0, -d).Format(time.DateOnly)
		for h := range 15 {
			fmt.Fprintf(&table, "Rosa,%s %02d:%02d,fluid,drink,%d,mL,\n", day, 6+h, d%60, 100+h)
		}
	}
	must(t, os.WriteFile(filepath.Join(dir, "t.csv"), []byte(table.String()), 0o600))
	runVerb(t, dir, "import", "--table", "t.csv", "--book", "household.book")
	m := image.NewYCbCr(image.Rect(0, 0, 4000, 3000), image.YCbCrSubsampleRatio420)
	for i := range m.Y {
		m.Y[i] = uint8(i * 7)
	}
	var photograph bytes.Buffer
	must(t, jpeg.Encode(&photograph, m, nil))
	must(t, os.WriteFile(filepath.Join(dir, "p.jpg"), photograph.Bytes(), 0o600))
	kind, err := strip.Generic()[0].Bytes()
	must(t, err)
	must(t, os.WriteFile(filepath.Join(dir, "k.json"), kind, 0o600))
	within := func(bytes int, args ...string) (string, error) {
		c := program(dir, args...)
		c.Args = append([]string{limit, fmt.Sprintf("--data=%d", bytes), c.Path}, c.Args[1:]...)
		c.Path = limit
		out, err := c.CombinedOutput()
		return string(out), err
	}
	for _, args := range [][]string{{"check", "--book", "household.book"}, {"export", "--book", "household.book", "--out", "out.csv"},
		{"backup", "--book", "household.book", "--plain", "--out", "b.zip"}, {"read", "--strip", "k.json", "p.jpg"}} {
		out, err := within(256<<20, args...)
		if err != nil && (out == "" || strings.Contains(out, "goroutine ")) {
			t.Errorf("%s: %v: %.300s", args[0], err, out)
		}
		t.Logf("%s in 256 MiB: %v", args[0], err)
	}
	if out, err := within(8<<20, "check", "--book", "household.book"); err == nil {
		t.Errorf("the control: 8 MiB were enough: %.100s", out)
	}
}
