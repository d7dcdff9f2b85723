package backup

import (
	"archive/zip"
	"bytes"
	"context"
	"errors"
	"io"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"

	"quietwater/app/store"
	"quietwater/model"
)

func TestThereAndBack(t *testing.T) {
	for _, pass := range []string{"", secret} {
		b := demoBook(t, filepath.Join(t.TempDir(), "home", "household.book"), 1)
		want, before := told(t, b.Path()), lying(t, filepath.Dir(b.Path()))
		stick := t.TempDir()
		to := FreeName(stick, fast(pass))
		wrote, err := Write(ctx, b, to, fast(pass))
		check(t, err)
		if after := lying(t, filepath.Dir(b.Path())); after != before {
			t.Errorf("beside the book\n%s\nbefore\n%s", after, before)
		}
		st, err := os.Stat(to)
		check(t, err)
		if st.Mode().Perm() != 0o600 || wrote.Size != st.Size() || wrote.Encrypted != (pass != "") || wrote.Counts.Pictures != 7 ||
			wrote.Counts.AllEntries() < 100 || wrote.Counts.Persons < 2 || strings.Count(lying(t, stick), "\n") != 1 {
			t.Errorf("%+v %v\n%s", wrote, st.Mode(), lying(t, stick))
		}
		if next := FreeName(stick, fast(pass)); next == to {
			t.Error("the name is taken")
		}
		if data, _ := os.ReadFile(to); pass != "" && bytes.Contains(data, []byte("SQLite")) {
			t.Error("it is not encrypted")
		}

		found, err := Rehearse(ctx, to, b.Path(), fast(pass))
		check(t, err)
		if now, err := Count(ctx, b.Path()); err != nil || !now.same(found.Counts) || now.Schema != found.Counts.Schema {
			t.Errorf("the book holds %+v, the backup %+v: %v", now, found.Counts, err)
		}
		if after := lying(t, filepath.Dir(b.Path())); after != before {
			t.Errorf("after a rehearsal\n%s\nbefore\n%s", after, before)
		}

		path := filepath.Join(t.TempDir(), "new", "other.book")
		got, err := Restore(ctx, to, path, fast(pass))
		check(t, err)
		if told(t, path) != want || !got.Counts.same(wrote.Counts) || !got.Made.Equal(now) || got.Program != "test" {
			t.Errorf("restored it differs: %+v", got)
		}
		for line := range strings.Lines(lying(t, filepath.Dir(path))) {
			if strings.Contains(line, "tmp") || !strings.Contains(line, "-rw------- ") && !strings.Contains(line, "drwx------ ") {
				t.Errorf("lies about: %s", line)
			}
		}
		check(t, openBook(t, path).Close(ctx)) // it opens for writing as well
	}
}

// A book that is open elsewhere, or may only be read, is backed up all the same.
func TestReadOnlyBook(t *testing.T) {
	b := demoBook(t, filepath.Join(t.TempDir(), "household.book"), 1)
	r, err := store.Open(ctx, store.Options{Path: b.Path(), ReadOnly: true})
	check(t, err)
	defer r.Close(ctx)
	if _, err := Write(ctx, r, filepath.Join(t.TempDir(), "b.zip"), fast("")); err != nil {
		t.Error(err)
	}
}

// The restored book goes beside the old one, which keeps all it holds.
func TestTakeAside(t *testing.T) {
	b := demoBook(t, filepath.Join(t.TempDir(), "household.book"), 1)
	then := told(t, b.Path())
	to := filepath.Join(t.TempDir(), "b.zip.age")
	_, err := Write(ctx, b, to, fast(secret))
	check(t, err)
	_, err = b.Put(ctx, "Ada", []store.Change{store.SavePerson(model.Person{ID: "late", Name: "Late"})})
	check(t, err)
	later := told(t, b.Path())
	if _, err := Restore(ctx, to, b.Path(), fast(secret)); !errors.Is(err, store.ErrExists) {
		t.Errorf("over a book: %v", err)
	}
	r, err := Prepare(ctx, to, b.Path(), fast(secret))
	check(t, err)
	if _, err := r.Take(true); !errors.Is(err, store.ErrInUse) || told(t, b.Path()) != later {
		t.Errorf("over an open book: %v", err)
	}
	check(t, b.Close(ctx))
	r, err = Prepare(ctx, to, b.Path(), fast(secret))
	check(t, err)
	was, err := r.Take(true)
	check(t, err)
	if told(t, b.Path()) != then || told(t, was) != later {
		t.Error("old or new is not what it was")
	}
	if n := strings.Count(lying(t, filepath.Dir(was)), ".tmp"); n > 0 {
		t.Errorf("%d things lie about", n)
	}
}

// A picture that was damaged before is backed up as it is, counted, and does
// not stand in the way.
func TestDamagedPicture(t *testing.T) {
	b := demoBook(t, filepath.Join(t.TempDir(), "household.book"), 1)
	files, err := store.PictureFiles(b.Path())
	check(t, err)
	check(t, os.WriteFile(files[0].Path, []byte("flipped"), 0o600))
	check(t, os.WriteFile(filepath.Join(store.PicturesDir(b.Path()), "holiday.jpg"), []byte("not ours"), 0o600))
	to := filepath.Join(t.TempDir(), "b.zip")
	wrote, err := Write(ctx, b, to, fast(""))
	check(t, err)
	if wrote.Counts.Pictures != 7 || wrote.Counts.DamagedPictures != 1 {
		t.Errorf("%+v", wrote.Counts)
	}
	path := filepath.Join(t.TempDir(), "household.book")
	if got, err := Restore(ctx, to, path, fast("")); err != nil || got.Counts.DamagedPictures != 1 || told(t, path) != told(t, b.Path()) {
		t.Errorf("%+v %v", got.Counts, err)
	}
}

// TestNothingUnderTheName lets writing fail at every step.
func TestNothingUnderTheName(t *testing.T) {
	b := demoBook(t, filepath.Join(t.TempDir(), "household.book"), 1)
	before := lying(t, filepath.Dir(b.Path()))
	gone, stop := context.WithCancel(ctx)
	stop()
	taken := filepath.Join(t.TempDir(), "taken")
	check(t, os.WriteFile(taken, []byte("letter"), 0o600))
	file := filepath.Join(taken, "below", "b.zip")
	for _, c := range []struct {
		name string
		ctx  context.Context
		to   string
		o    Options
		step Step
		want error
	}{
		{"given up", gone, filepath.Join(t.TempDir(), "b.zip"), fast(""), Copying, context.Canceled},
		{"no folder", ctx, filepath.Join(t.TempDir(), "nowhere", "b.zip"), fast(""), Writing, os.ErrNotExist},
		{"a file for a folder", ctx, file, fast(""), Naming, store.ErrExists},
		{"taken", ctx, taken, fast(""), Naming, store.ErrExists},
		{"short", ctx, filepath.Join(t.TempDir(), "b.zip"), fast("too short"), Opening, ErrShort},
	} {
		_, err := Write(c.ctx, b, c.to, c.o)
		var step *StepError
		if !errors.As(err, &step) || c.name != "a file for a folder" && (step.Step != c.step || !errors.Is(err, c.want)) {
			t.Errorf("%s: %v", c.name, err)
		}
		if c.to == taken {
			if data, _ := os.ReadFile(taken); string(data) != "letter" {
				t.Error("overwritten")
			}
		} else if _, err := os.Lstat(c.to); err == nil {
			t.Errorf("%s: there is a file", c.name)
		}
		if after := lying(t, filepath.Dir(b.Path())); after != before {
			t.Errorf("%s: beside the book\n%s", c.name, after)
		}
	}
}

// What reads back otherwise than it was meant never gets a name.
func TestReadingBackCompares(t *testing.T) {
	b := demoBook(t, filepath.Join(t.TempDir(), "household.book"), 1)
	dir := t.TempDir()
	m, parts, err := gather(ctx, b, dir, fast(""))
	check(t, err)
	temp, err := writeTemp(ctx, filepath.Join(dir, "b.zip"), m, parts, fast(""))
	check(t, err)
	if _, err := readBack(ctx, temp, filepath.Join(dir, "1"), m, fast("")); err != nil {
		t.Fatal(err)
	}
	for i, change := range []func(*manifest){
		func(m *manifest) { m.Counts.Persons++ },
		func(m *manifest) { m.Counts.Entries["vital"]-- },
		func(m *manifest) { m.Files = m.Files[1:] },
		func(m *manifest) { m.Files[2].SHA256 = m.Files[1].SHA256 },
	} {
		meant, _, err := gather(ctx, b, t.TempDir(), fast(""))
		check(t, err)
		change(&meant)
		if _, err := readBack(ctx, temp, filepath.Join(dir, string(rune('a'+i))), meant, fast("")); !errors.Is(err, ErrDamaged) {
			t.Errorf("change %d: %v", i, err)
		}
	}
}

func TestPassphrase(t *testing.T) {
	for p, ok := range map[string]bool{"": false, "short": false, "  spaces  ": false, "ten chars!": true, "ничегосебе": true, "ничегосеб": false,
		"four words are fine": true} {
		if got := CheckPassphrase(p); (got == nil) != ok {
			t.Errorf("%q: %v", p, got)
		}
	}
	// the accent as a character of its own, as some keyboards send it
	b := demoBook(t, filepath.Join(t.TempDir(), "household.book"), 1)
	to := filepath.Join(t.TempDir(), "b.zip.age")
	_, err := Write(ctx, b, to, fast("de\u0301cembre passe"))
	check(t, err)
	if _, err := Rehearse(ctx, to, b.Path(), fast("d\u00e9cembre passe")); err != nil {
		t.Error(err)
	}
}

func TestTell(t *testing.T) {
	seen := map[string]bool{}
	for _, err := range []error{ErrPassphrase, ErrNeedsPassphrase, ErrShort, store.ErrDiskFull, store.ErrExists, store.ErrNewer, ErrTooMuch,
		ErrForeign, ErrDamaged, ErrChanged, store.ErrReadOnlyFolder, os.ErrNotExist} {
		key := Tell(failed(Writing, err)).Key
		if key == "" || seen[key] {
			t.Errorf("%v says %q", err, key)
		}
		seen[key] = true
	}
	if !Tell(nil).IsZero() || !Tell(errors.New("odd")).IsZero() {
		t.Error("words for nothing")
	}
}

// ageTool builds the reference tool and its helper for passphrases that are not
// typed, from the module's own source.
func ageTool(t *testing.T) string {
	t.Helper()
	source, err := exec.Command("go", "list", "-m", "-f", "{{.Dir}}", "filippo.io/age").Output()
	if err != nil {
		t.Skipf("the age tool's source is not there: %v", err)
	}
	bin := t.TempDir()
	c := exec.Command("go", "build", "-C", strings.TrimSpace(string(source)), "-o", bin+string(filepath.Separator), "./cmd/age", "./cmd/age-plugin-batchpass")
	c.Env = append(os.Environ(), "GOFLAGS=-mod=readonly", "GOTOOLCHAIN=local", "GOWORK=off")
	if out, err := c.CombinedOutput(); err != nil {
		t.Skipf("the age tool cannot be built here (its own modules may be missing): %v\n%s", err, out)
	}
	t.Setenv("PATH", bin+string(os.PathListSeparator)+os.Getenv("PATH"))
	t.Setenv("AGE_PASSPHRASE", secret)
	t.Setenv("AGE_PASSPHRASE_WORK_FACTOR", "3")
	return filepath.Join(bin, "age")
}

// TestOpensWithAge opens a backup with the reference tool and a plain zip
// reader, as an heir would, and takes one back that the tool encrypted.
func TestOpensWithAge(t *testing.T) {
	age := ageTool(t)
	b := demoBook(t, filepath.Join(t.TempDir(), "household.book"), 1)
	dir := t.TempDir()
	sealed, plain := filepath.Join(dir, "b.zip.age"), filepath.Join(dir, "b.zip")
	o := fast(secret)
	o.Work = 0 // as it is written at home
	wrote, err := Write(ctx, b, sealed, o)
	check(t, err)
	run := func(args ...string) {
		t.Helper()
		if out, err := exec.Command(age, args...).CombinedOutput(); err != nil {
			t.Fatalf("age %q: %v\n%s", args, err, out)
		}
	}
	run("-d", "-j", "batchpass", "-o", plain, sealed)
	z, err := zip.OpenReader(plain)
	check(t, err)
	defer z.Close()
	if z.File[0].Name != readmeName || len(z.File) != wrote.Counts.Pictures+3 {
		t.Errorf("%d files, the first is %s", len(z.File), z.File[0].Name)
	}
	for _, f := range z.File {
		r, err := f.Open()
		check(t, err)
		content, err := io.ReadAll(r)
		check(t, err)
		if f.Name == bookName {
			path := filepath.Join(dir, bookName)
			check(t, os.WriteFile(path, content, 0o600))
			if rep, err := store.CheckFile(ctx, path); err != nil || !rep.OK() || rep.Persons != wrote.Counts.Persons {
				t.Errorf("%+v %v", rep, err)
			}
		}
	}
	if out, err := exec.Command("unzip", "-t", plain).CombinedOutput(); err != nil && !errors.Is(err, exec.ErrNotFound) {
		t.Errorf("unzip: %v\n%s", err, out)
	}
	again := filepath.Join(dir, "again.age")
	run("-e", "-j", "batchpass", "-o", again, plain)
	if got, err := Rehearse(ctx, again, b.Path(), fast(secret)); err != nil || !got.Counts.same(wrote.Counts) {
		t.Errorf("%+v %v", got.Counts, err)
	}
}
