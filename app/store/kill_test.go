package store

import (
	"bufio"
	"errors"
	"fmt"
	"math/rand/v2"
	"os"
	"os/exec"
	"path/filepath"
	"strconv"
	"strings"
	"sync/atomic"
	"testing"
	"time"
)

// child is a program of its own that works on a book until it is killed. It
// prints "A n" when save n is acknowledged.
func child(job string) {
	o := optionsFor(os.Getenv("QW_STORE_BOOK"))
	if journal, synchronous, ok := strings.Cut(os.Getenv("QW_STORE_DURABILITY"), "/"); ok {
		o.durability = durability{journal, synchronous}
	}
	most, _ := strconv.Atoi(os.Getenv("QW_STORE_MOST"))
	fail := func(err error) {
		fmt.Println("E", err)
		os.Exit(1)
	}
	if job == "migrate" {
		o.steps = stepsWithMigration()
	}
	b, err := Open(ctx, o)
	if err != nil {
		fail(err)
	}
	if o.journal == "WAL" { // the tables are safe; the saves are what is tried
		if _, err := b.db.Exec(`PRAGMA wal_checkpoint(TRUNCATE)`); err != nil {
			fail(err)
		}
	}
	fmt.Println("A", "opened")
	switch job {
	case "hold", "migrate":
		time.Sleep(time.Minute)
	case "merge":
		fmt.Println("A merging")
		if _, _, err := b.Merge(ctx, "Ada", Another{Path: os.Getenv("QW_STORE_OTHER")}); err != nil {
			fail(err)
		}
		fmt.Println("A merged")
		time.Sleep(time.Minute)
	case "snapshots":
		for {
			if _, err := b.Snapshot(ctx); err != nil {
				fail(err)
			}
			fmt.Println("A snapshot")
		}
	}
	var n int
	if err := b.db.QueryRow(`SELECT writes FROM meta`).Scan(&n); err != nil {
		fail(err)
	}
	w := newTruth()
	for w.advance(n); most == 0 || w.step < most; {
		if job == "lie" {
			os.Stdout.WriteString(fmt.Sprintf("A %d\n", w.step+1))
		}
		if err := w.do(b); err != nil {
			fail(err)
		}
		os.Stdout.WriteString(fmt.Sprintf("A %d\n", w.step))
		if w.step%23 == 0 {
			if _, err := b.Snapshot(ctx); err != nil {
				fail(err)
			}
		}
	}
}

func childCommand(job, path string, env ...string) *exec.Cmd {
	self, err := os.Executable()
	if err != nil {
		panic(err)
	}
	c := exec.Command(self)
	c.Env = append(os.Environ(), append(env, "QW_STORE_CHILD="+job, "QW_STORE_BOOK="+path)...)
	return c
}

// acks collects what a child says until it ends.
type acks struct {
	last  int // save
	count int
	lines int
	err   string
}

// runKilled runs a child and kills it after a while: since its start when
// fromStart, else since it opened the book.
func runKilled(t *testing.T, job, path string, after time.Duration, fromStart bool) (a acks) {
	t.Helper()
	c := childCommand(job, path)
	out, err := c.StdoutPipe()
	check(t, err)
	check(t, c.Start())
	var killed atomic.Bool
	kill := func() { killed.Store(true); c.Process.Kill() }
	if fromStart {
		time.AfterFunc(after, kill)
	}
	lines := bufio.NewScanner(out)
	for lines.Scan() {
		a.lines++
		if a.lines == 1 && !fromStart {
			time.AfterFunc(after, kill)
		}
		what, rest, _ := strings.Cut(lines.Text(), " ")
		if what != "A" {
			a.err += lines.Text()
		}
		if n, err := strconv.Atoi(rest); err == nil {
			a.last = n
			a.count++
		}
	}
	c.Wait()
	if !killed.Load() {
		t.Fatalf("the child ended by itself: %s", a.err)
	}
	return a
}

// TestKillWhileSaving kills a writer at random moments, from its very start
// on, and holds the book to every save that was acknowledged.
func TestKillWhileSaving(t *testing.T) {
	kills := 100
	if soak() {
		kills = 1000
	}
	r := rand.New(rand.NewPCG(uint64(time.Now().UnixNano()), 1))
	path := filepath.Join(t.TempDir(), "book.db")
	acked, unsaid, journals, known := 0, 0, 0, 0
	for k := range kills {
		if k%50 == 49 { // a young book again
			path = filepath.Join(t.TempDir(), "book.db")
			known = 0
		}
		a := runKilled(t, "write", path, time.Duration(r.IntN(60000))*time.Microsecond, k%3 == 0)
		if a.err != "" {
			t.Fatalf("kill %d: %s", k, a.err)
		}
		known = max(known, a.last)
		acked += a.count
		if sizeOf(path+"-journal") > 0 {
			journals++
		}
		b, err := Open(ctx, optionsFor(path))
		if err != nil {
			t.Fatalf("kill %d: %v", k, err)
		}
		n := writesOf(t, b)
		if n < known || n > known+1 {
			t.Fatalf("kill %d: %d saves acknowledged, %d in the book", k, known, n)
		}
		unsaid += n - known
		known = n
		sameText(t, fmt.Sprintf("kill %d", k), contentOf(t, b), describe(again(n).book()))
		allSnapshotsGood(t, path)
		check(t, b.release())
	}
	t.Logf("%d kills, %d saves acknowledged, 0 lost; %d saved but not yet acknowledged, %d half-written journals taken back", kills, acked, unsaid, journals)
}

// TestKillSeesALoss is the control: a writer that acknowledges a save before it is
// made must be found out by a kill.
func TestKillSeesALoss(t *testing.T) {
	r := seeded(13)
	for k := 1; k <= 200; k++ {
		path := filepath.Join(t.TempDir(), "book.db")
		a := runKilled(t, "lie", path, time.Duration(r.IntN(20000))*time.Microsecond, false)
		b := openAt(t, path)
		n := writesOf(t, b)
		check(t, b.release())
		if n < a.last {
			t.Logf("found out at kill %d: %d saves acknowledged, %d in the book", k, a.last, n)
			return
		}
	}
	t.Error("200 kills, and nobody noticed that saves are acknowledged too early")
}

func allSnapshotsGood(t *testing.T, path string) {
	t.Helper()
	snaps, err := snapshotNames(path)
	check(t, err)
	for _, s := range snaps {
		if rep, err := CheckFile(ctx, s.Path); err != nil || !rep.OK() {
			t.Fatalf("snapshot %s: %v %v", s.Path, rep.Flaws, err)
		}
	}
}

func TestKillWhileCopying(t *testing.T) {
	kills, days := 20, 60
	if soak() {
		kills, days = 150, 365
	}
	b := openNew(t)
	book := daysBook(days)
	mustPut(t, b, changesOf(book)...)
	want := contentOf(t, b)
	check(t, b.release())
	r := seeded(11)
	for range kills {
		if a := runKilled(t, "snapshots", b.Path(), time.Duration(r.IntN(100000))*time.Microsecond, false); a.err != "" {
			t.Fatal(a.err)
		}
		allSnapshotsGood(t, b.Path())
	}
	again := openAt(t, b.Path())
	sameText(t, "after all", contentOf(t, again), want)
	left, _ := filepath.Glob(filepath.Join(BackupsDir(b.Path()), ".*"))
	if len(left) > 0 {
		t.Errorf("not swept: %q", left)
	}
}

// stepsWithMigration is a next version that rewrites every value.
func stepsWithMigration() []string {
	return append(append([]string{}, steps...), `
		ALTER TABLE value RENAME TO old_value;
		CREATE TABLE value(
			entry INTEGER NOT NULL REFERENCES entry(n) ON DELETE CASCADE DEFERRABLE INITIALLY DEFERRED,
			pos INTEGER NOT NULL, code TEXT NOT NULL CHECK(code <> ''), num REAL, grade TEXT, word TEXT,
			typed TEXT NOT NULL, unit TEXT NOT NULL, confidence REAL NOT NULL, note TEXT NOT NULL,
			colour TEXT, PRIMARY KEY(entry, pos)) STRICT, WITHOUT ROWID;
		INSERT INTO value SELECT *, NULL FROM old_value;
		DROP TABLE old_value;
		CREATE INDEX value_code ON value(code);`)
}

func TestKillWhileMigrating(t *testing.T) {
	kills, days := 20, 60
	if soak() {
		kills, days = 150, 365
	}
	b := openNew(t)
	book := daysBook(days)
	mustPut(t, b, changesOf(book)...)
	want := contentOf(t, b)
	check(t, b.release())
	r := seeded(12)
	before, after, half := 0, 0, 0
	whole := time.Duration(0) // how long a migration takes when nobody kills it
	for k := range kills {
		path := filepath.Join(t.TempDir(), "book.db")
		check(t, copyFile(b.Path(), path))
		c := childCommand("migrate", path)
		out, err := c.StdoutPipe()
		check(t, err)
		from := time.Now()
		check(t, c.Start())
		if k == 0 {
			bufio.NewScanner(out).Scan()
			whole = time.Since(from)
		} else {
			time.Sleep(time.Duration(r.Int64N(int64(whole))))
		}
		c.Process.Kill()
		c.Wait()
		if sizeOf(path+"-journal") > 0 {
			half++
		}
		now, err := Open(ctx, optionsFor(path))
		check(t, err)
		switch {
		case now.ReadOnlyReason == nil:
			before++
		case errors.Is(now.ReadOnlyReason, ErrNewer):
			after++
			if snaps, _ := Snapshots(path); len(snaps) != 1 || snaps[0].Entries != len(book.Entries) {
				t.Fatalf("snapshots before the migration: %+v", snaps)
			}
		}
		sameText(t, "after a migration", contentOf(t, now), want)
		check(t, now.release())
		allSnapshotsGood(t, path)
		o := optionsFor(path) // and the next start finishes it
		o.steps = stepsWithMigration()
		if k%5 == 0 {
			done, err := Open(ctx, o)
			check(t, err)
			sameText(t, "migrated", contentOf(t, done), want)
			check(t, done.release())
		}
		check(t, os.RemoveAll(filepath.Dir(path))) // room, where the test disk is small
	}
	if before == 0 || after == 0 {
		t.Errorf("%d books before the migration, %d after: the kills missed it", before, after)
	}
	t.Logf("%d kills: %d whole at the old version, %d at the new, 0 mixed; %d killed in the middle of it", kills, before, after, half)
}

// TestKillReleasesLock: whoever dies does not lock the household out.
func TestKillReleasesLock(t *testing.T) {
	path := filepath.Join(t.TempDir(), "book.db")
	c := childCommand("hold", path)
	out, err := c.StdoutPipe()
	check(t, err)
	check(t, c.Start())
	defer c.Process.Kill()
	if !bufio.NewScanner(out).Scan() {
		t.Fatal("the child said nothing")
	}
	if _, err := Open(ctx, optionsFor(path)); !errors.Is(err, ErrInUse) {
		t.Errorf("while held: %v", err)
	}
	c.Process.Kill()
	c.Wait()
	mustClose(t, openAt(t, path))
}

// TestKilledBookCanBeChecked looks at a half-finished save without touching it.
func TestKilledBookCanBeChecked(t *testing.T) {
	path := filepath.Join(t.TempDir(), "book.db")
	w := newTruth()
	b := openAt(t, path)
	for range 30 {
		check(t, w.do(b))
	}
	check(t, b.release())
	// The journal a crash would leave: taken while a save was under way.
	b = openAt(t, path)
	_, err := b.db.Exec(`PRAGMA cache_size = 1`)
	check(t, err)
	tx, err := b.db.Begin()
	check(t, err)
	_, err = tx.Exec(`UPDATE value SET note = 'half done' || hex(randomblob(3000))`)
	check(t, err)
	dir := t.TempDir()
	crashed := filepath.Join(dir, "crashed.db")
	for _, s := range []string{"", "-journal"} {
		check(t, copyFile(path+s, crashed+s))
	}
	check(t, tx.Rollback())
	if sizeOf(crashed+"-journal") == 0 || string(fileBytes(crashed)) == string(fileBytes(path)) {
		t.Fatal("nothing is half done")
	}
	before := string(fileBytes(crashed)) + string(fileBytes(crashed+"-journal"))
	rep, err := CheckFile(ctx, crashed)
	check(t, err)
	if !rep.OK() || rep.Writes != 30 {
		t.Errorf("%+v", rep)
	}
	if string(fileBytes(crashed))+string(fileBytes(crashed+"-journal")) != before {
		t.Error("looking changed the file")
	}
	again := openAt(t, crashed)
	sameText(t, "taken back", contentOf(t, again), describe(w.book()))
}
