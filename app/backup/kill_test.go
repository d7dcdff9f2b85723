package backup

import (
	"bufio"
	"cmp"
	"errors"
	"fmt"
	"io"
	"math/rand/v2"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"quietwater/app/store"
	"quietwater/app/whole"
)

// child is a program of its own that backs a book up, or restores one, again
// and again until it is killed. It prints "A name" when a file is whole.
func child(job string) {
	book, dir := os.Getenv("QW_BACKUP_BOOK"), os.Getenv("QW_BACKUP_DIR")
	fail := func(err error) {
		fmt.Println("E", err)
		os.Exit(1)
	}
	fmt.Println("A")
	for n := 0; ; n++ {
		switch job {
		case "write":
			b, err := store.Open(ctx, store.Options{Path: book, ReadOnly: true})
			if err != nil {
				fail(err)
			}
			to := filepath.Join(dir, fmt.Sprintf("%d-%d.zip.age", os.Getpid(), n))
			if _, err := Write(ctx, b, to, fast(secret)); err != nil {
				fail(err)
			}
			b.Close(ctx)
			fmt.Println("A", to)
		case "restore":
			r, err := Prepare(ctx, filepath.Join(dir, "b.zip.age"), book, fast(secret))
			if err != nil {
				fail(err)
			}
			if _, err := r.Take(true); err != nil {
				fail(err)
			}
			fmt.Println("A", book)
		}
	}
}

// whenWhole kills a child as soon as it said that one file is whole.
const whenWhole = time.Duration(-1)

// killed runs a child for a while and gives what it says is whole, and how long
// the first took.
func killed(t *testing.T, job, book, dir string, after time.Duration) (whole []string, first time.Duration) {
	t.Helper()
	self, err := os.Executable()
	check(t, err)
	c := exec.Command(self)
	c.Env = append(os.Environ(), "QW_BACKUP_CHILD="+job, "QW_BACKUP_BOOK="+book, "QW_BACKUP_DIR="+dir)
	out, err := c.StdoutPipe()
	check(t, err)
	check(t, c.Start())
	lines := bufio.NewScanner(out)
	var began time.Time
	for n := 0; lines.Scan(); n++ {
		if n == 0 {
			began = time.Now()
			if after != whenWhole {
				time.AfterFunc(after, func() { c.Process.Kill() })
			}
		}
		what, name, _ := strings.Cut(lines.Text(), " ")
		if what != "A" {
			t.Fatalf("the child ended by itself: %s", lines.Text())
		}
		if name != "" {
			if first == 0 {
				first = time.Since(began)
			}
			if whole = append(whole, name); after == whenWhole {
				c.Process.Kill()
			}
		}
	}
	c.Wait()
	return whole, first
}

func kills() int {
	if os.Getenv("QW_SOAK") != "" {
		return 300
	}
	return 40
}

// TestKillWhileBackingUp: every file under a final name is whole, whoever died.
func TestKillWhileBackingUp(t *testing.T) {
	b := demoBook(t, filepath.Join(t.TempDir(), "household.book"), 1)
	want := told(t, b.Path())
	check(t, b.Close(ctx))
	stick := t.TempDir()
	r := rand.New(rand.NewPCG(21, 1))
	one, long := killed(t, "write", b.Path(), stick, whenWhole)
	said, half := len(one), 0
	for range kills() {
		files, took := killed(t, "write", b.Path(), stick, time.Duration(r.Int64N(int64(long*3/2))))
		said += len(files)
		long = cmp.Or(took, long)
	}
	files, err := os.ReadDir(stick)
	check(t, err)
	good := 0
	for _, f := range files {
		if strings.HasSuffix(f.Name(), ".tmp") {
			half++
			continue
		}
		good++
		if _, err := Rehearse(ctx, filepath.Join(stick, f.Name()), filepath.Join(t.TempDir(), "x"), fast(secret)); err != nil {
			t.Errorf("%s: %v", f.Name(), err)
		}
	}
	if good < said || half == 0 {
		t.Errorf("%d whole, %d said to be, %d half", good, said, half)
	}
	check(t, openBook(t, b.Path()).Close(ctx)) // a start sweeps what lies beside the book
	if told(t, b.Path()) != want || strings.Contains(lying(t, filepath.Dir(b.Path())), ".tmp") {
		t.Errorf("the book changed, or something lies about:\n%s", lying(t, filepath.Dir(b.Path())))
	}
	yesterday := time.Now().Add(-25 * time.Hour)
	for _, f := range files {
		check(t, os.Chtimes(filepath.Join(stick, f.Name()), yesterday, yesterday))
	}
	next, err := whole.Temp(stick, func(io.Writer) error { return nil }) // the next one sweeps
	check(t, errors.Join(err, os.Remove(next)))
	if n := strings.Count(lying(t, stick), "\n"); n != good {
		t.Errorf("%d files after sweeping instead of %d", n, good)
	}
	t.Logf("%d kills: %d files whole under their name (%d acknowledged), %d half ones under none", kills(), good, said, half)
}

// TestKillWhileRestoring: at every moment there is the old book or the restored
// one, with all its pictures, and every book that stepped aside is whole.
func TestKillWhileRestoring(t *testing.T) {
	b := demoBook(t, filepath.Join(t.TempDir(), "household.book"), 1)
	dir := t.TempDir()
	_, err := Write(ctx, b, filepath.Join(dir, "b.zip.age"), fast(secret))
	check(t, err)
	want := told(t, b.Path())
	check(t, b.Close(ctx))
	r := rand.New(rand.NewPCG(22, 1))
	one, long := killed(t, "restore", b.Path(), dir, whenWhole)
	restored := len(one)
	for k := range kills() {
		done, took := killed(t, "restore", b.Path(), dir, time.Duration(r.Int64N(int64(long*3/2))))
		restored += len(done)
		long = cmp.Or(took, long)
		if told(t, b.Path()) != want {
			t.Fatalf("kill %d: the book is not what it was", k)
		}
	}
	check(t, openBook(t, b.Path()).Close(ctx))
	aside, err := filepath.Glob(filepath.Join(filepath.Dir(b.Path()), "household-replaced-*"))
	check(t, err)
	for _, f := range aside {
		if told(t, f) != want {
			t.Errorf("%s is not whole", f)
		}
	}
	if len(aside) < restored || restored == 0 || strings.Contains(lying(t, filepath.Dir(b.Path())), ".tmp") {
		t.Errorf("%d aside, %d restored:\n%s", len(aside), restored, lying(t, filepath.Dir(b.Path())))
	}
	t.Logf("%d kills, %d times restored, %d books aside, all whole", kills(), restored, len(aside))
}
