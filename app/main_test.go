package main

import (
	"errors"
	"flag"
	"os"
	"os/exec"
	"path/filepath"
	"runtime"
	"strings"
	"testing"
	"time"

	"quietwater/i18n"
)

// tellCore is nil where there is no such thing.
var tellCore func()

// TestMain lets the tests start this binary as the program itself.
func TestMain(m *testing.M) {
	if os.Getenv("QUIETWATER_AS_PROGRAM") != "" {
		main()
		return
	}
	if os.Getenv("QUIETWATER_TELL_CORE") != "" && tellCore != nil {
		tellCore()
		return
	}
	os.Exit(m.Run())
}

// TestWithoutAWindow starts the program in all the ways that open none.
func TestWithoutAWindow(t *testing.T) {
	self, err := os.Executable()
	if err != nil {
		t.Fatal(err)
	}
	dir := t.TempDir()
	table := filepath.Join(dir, "t.csv")
	if err := os.WriteFile(table, []byte("person,when,kind,what,value,unit,note\nRosa,2026-11-24,symptom,chest-pain,3,,\n"), 0o600); err != nil {
		t.Fatal(err)
	}
	for _, c := range []struct {
		args     string
		exit     int
		out, err string // what must stand in them; "" means nothing at all
	}{
		{"help", 0, "quietwater import", ""},
		{"--help", 0, "quietwater import", ""},
		{"version", 0, "quietwater " + Version, ""},
		{"--version", 0, "quietwater " + Version, ""},
		{"version --licences", 0, "==== golang.org/x/text v", ""},
		{"findings --help", 0, "--person NAME", ""},
		{"findings --table " + table + " --at 2026-11-25 --lang es", 0, `"urgency": "emergency"`, ""},
		{"import --table " + table, 0, `"accepted": 1`, ""},
		{"export", 0, "Rosa,2026-11-24,symptom,chest-pain,3,,", ""},
		{"check", 0, `"ok": true`, ""},
		{"check --book " + table, 1, `"ok": false`, "not a household book"},
		{"findings", 2, "", "--table is missing"},
		{"tea", 2, "", `no verb "tea"`},
		{"--tea", 2, "", "--tea"},
		{"--size 1x1", 2, "", "--size"},
	} {
		cmd := exec.Command(self, strings.Fields(c.args)...)
		cmd.Env = append(os.Environ(), "QUIETWATER_AS_PROGRAM=yes", "XDG_DATA_HOME="+filepath.Join(dir, "data"), "LC_ALL=C", "DISPLAY=", "WAYLAND_DISPLAY=")
		var out, errs strings.Builder
		cmd.Stdout, cmd.Stderr = &out, &errs
		err := cmd.Run()
		if exit := (*exec.ExitError)(nil); err != nil && !errors.As(err, &exit) || cmd.ProcessState.ExitCode() != c.exit {
			t.Errorf("%q: %v, want exit %d: %s", c.args, err, c.exit, errs.String())
		}
		for _, s := range [][2]string{{out.String(), c.out}, {errs.String(), c.err}} {
			if s[1] == "" && s[0] != "" || !strings.Contains(s[0], s[1]) {
				t.Errorf("%q says %q, want %q", c.args, s[0], s[1])
			}
		}
	}
}

func TestParse(t *testing.T) {
	t.Setenv("XDG_DATA_HOME", "/data")
	usual := options{book: defaultBook(), clockSpeed: 1, width: 1280, height: 800}
	with := func(change func(*options)) options { o := usual; change(&o); return o }
	for _, c := range []struct {
		args string
		want options
	}{
		{"", usual},
		{"--book my.book", with(func(o *options) { o.book = "my.book" })},
		{"--demo --lang es --large", with(func(o *options) { o.demo, o.language, o.large = true, "es", true })},
		{"-demo", with(func(o *options) { o.demo = true })},
		{"--size 1024x768", with(func(o *options) { o.width, o.height = 1024, 768 })},
		{"--clock-speed 60", with(func(o *options) { o.clockSpeed = 60 })},
		{"--clock-speed 0.5", with(func(o *options) { o.clockSpeed = 0.5 })},
		{"--now 2026-11-25T10:00:00Z", with(func(o *options) { o.now = time.Date(2026, 11, 25, 10, 0, 0, 0, time.UTC) })},
		{"--now 2026-11-25", with(func(o *options) { o.now = time.Date(2026, 11, 25, 0, 0, 0, 0, time.Local) })},
	} {
		got, err := parse(strings.Fields(c.args))
		if !got.now.Equal(c.want.now) {
			t.Errorf("%q: now %v, want %v", c.args, got.now, c.want.now)
		}
		if c.want.now = got.now; err != nil || got != c.want {
			t.Errorf("%q: %+v, %v; want %+v", c.args, got, err, c.want)
		}
		if !got.now.IsZero() && got.now.Location() != time.Local {
			t.Errorf("%q: now is told in %v, not in the household's zone", c.args, got.now.Location())
		}
	}
	for _, bad := range []string{"--tea", "--book", "tea", "--demo tea", "--now 25/11/2026", "--now tomorrow", "--size 1280", "--size axb",
		"--size 100x100", "--size 1280x800x3", "--clock-speed 0", "--clock-speed -1", "--clock-speed NaN", "--clock-speed Inf", "--clock-speed 1e9"} {
		if _, err := parse(strings.Fields(bad)); err == nil || errors.Is(err, flag.ErrHelp) {
			t.Errorf("%q was taken: %v", bad, err)
		}
	}
	for _, help := range []string{"--help", "-h", "--demo --help"} {
		if _, err := parse(strings.Fields(help)); !errors.Is(err, flag.ErrHelp) {
			t.Errorf("%q: %v", help, err)
		}
	}
}

func TestDefaultBook(t *testing.T) {
	data := t.TempDir()
	t.Setenv("XDG_DATA_HOME", data)
	if got, want := defaultBook(), filepath.Join(data, "quietwater", "household.book"); got != want {
		t.Errorf("%s, want %s", got, want)
	}
	// A relative path is to be ignored (XDG Base Directory Specification 0.8).
	for _, ignored := range []string{"", "here", "./here"} {
		t.Setenv("XDG_DATA_HOME", ignored)
		home := t.TempDir()
		t.Setenv("HOME", home)
		t.Setenv("USERPROFILE", home)
		t.Setenv("LOCALAPPDATA", filepath.Join(home, "local"))
		got := defaultBook()
		if !strings.HasPrefix(got, home) || filepath.Base(got) != "household.book" {
			t.Errorf("XDG_DATA_HOME=%q: %s is not under %s", ignored, got, home)
		}
		if want := filepath.Join(home, ".local", "share", "quietwater", "household.book"); runtime.GOOS == "linux" && got != want {
			t.Errorf("%s, want %s", got, want)
		}
	}
}

func TestMachineLanguage(t *testing.T) {
	for _, c := range []struct{ all, messages, lang, want, speaks string }{
		{"", "", "", "en", "en"},
		{"", "", "es_MX.UTF-8", "es-MX", "es"},
		{"", "", "es", "es", "es"},
		{"", "es_ES", "en_GB.UTF-8", "es-ES", "es"},
		{"es_ES.UTF-8", "en_GB", "en_GB", "es-ES", "es"},
		{"C.UTF-8", "", "es_ES.UTF-8", "en", "en"},
		{"", "POSIX", "es_ES.UTF-8", "en", "en"},
		{"", "", "ca_ES@valencia", "ca-ES", ""},
		{"", "", "sr_RS.UTF-8@latin", "sr-RS", ""},
		{"", "", "klingon", "klingon", "en"},
		{"", "", "_", "-", "en"},
	} {
		t.Setenv("LC_ALL", c.all)
		t.Setenv("LC_MESSAGES", c.messages)
		t.Setenv("LANG", c.lang)
		got := machineLanguage()
		if got != c.want {
			t.Errorf("%+v: %q", c, got)
		}
		near := i18n.Nearest(got)
		if _, err := i18n.New(near, ""); err != nil || c.speaks != "" && near != c.speaks {
			t.Errorf("%+v speaks %q: %v", c, near, err)
		}
	}
}

// TestClock lets no time pass on purpose: each reading must lie between two
// others, however slow the machine.
func TestClock(t *testing.T) {
	day := time.Date(2024, 2, 29, 23, 59, 0, 0, time.UTC)
	for _, c := range []struct {
		name  string
		from  time.Time
		speed float64
	}{
		{"real", time.Time{}, 1},
		{"another day", day, 1},
		{"fast", time.Time{}, 600},
		{"slow, another day", day, 0.25},
		{"as fast as it goes", day, maxSpeed},
	} {
		before := time.Now()
		k := newClock(c.from, c.speed)
		from := c.from
		if from.IsZero() {
			from = k.from
			if from.Before(before) || from.After(time.Now()) {
				t.Errorf("%s begins at %v", c.name, from)
			}
		}
		var last time.Time
		for range 1000 {
			realBefore := time.Since(k.begun)
			m1 := k.Mono()
			wall := k.Now()
			m2 := k.Mono()
			realAfter := time.Since(k.begun)
			scaled := func(d time.Duration) time.Duration { return time.Duration(float64(d) * c.speed) }
			if m1 < scaled(realBefore) || m2 > scaled(realAfter) || m2 < m1 {
				t.Fatalf("%s: counts %v to %v while %v to %v passed", c.name, m1, m2, realBefore, realAfter)
			}
			if c.name == "real" {
				continue // the machine's clock may be set while we look
			}
			if wall.Before(last) {
				t.Fatalf("%s: went back from %v to %v", c.name, last, wall)
			}
			last = wall
			if passed := wall.Sub(from); passed < m1 || passed > m2 {
				t.Fatalf("%s: the wall has moved by %v, the count by %v to %v", c.name, passed, m1, m2)
			}
		}
		if got := k.Now(); got != got.Round(0) {
			t.Errorf("%s: the wall's time carries a count of its own", c.name)
		}
	}
}
