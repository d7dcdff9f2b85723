package voice

import (
	"errors"
	"os"
	"path/filepath"
	"runtime"
	"strings"
	"testing"
	"time"
)

// fake is a program that writes what it was called with and what it is to say.
func fake(t *testing.T, name, then string) (dir string) {
	t.Helper()
	if runtime.GOOS == "windows" {
		t.Skip("needs a shell")
	}
	dir = t.TempDir()
	script := "#!/bin/sh\necho \"$@\" > " + dir + "/args\ncat > " + dir + "/said.part\nmv " + dir + "/said.part " + dir + "/said\n" + then + "\n"
	if err := os.WriteFile(filepath.Join(dir, name), []byte(script), 0o700); err != nil {
		t.Fatal(err)
	}
	return dir
}

func lookIn(dir string) func(string) (string, error) {
	return func(name string) (string, error) {
		path := filepath.Join(dir, name)
		_, err := os.Stat(path)
		return path, err
	}
}

func until(t *testing.T, path string) string {
	t.Helper()
	for range 500 {
		if b, err := os.ReadFile(path); err == nil {
			return string(b)
		}
		time.Sleep(10 * time.Millisecond)
	}
	t.Fatalf("%s did not come", path)
	return ""
}

func TestSay(t *testing.T) {
	dir := fake(t, "espeak-ng", "")
	v := find("linux", lookIn(dir))
	v.Say("Llame hoy; -x \"$HOME\"", "es")
	if said := until(t, filepath.Join(dir, "said")); said != "Llame hoy; -x \"$HOME\"" {
		t.Errorf("it said %q", said)
	}
	if args := until(t, filepath.Join(dir, "args")); strings.Contains(args, "Llame") || !strings.Contains(args, "-v es") {
		t.Errorf("it was called with %q", args)
	}
}

// A new text ends the last one; stopping when nothing is said does nothing.
func TestStop(t *testing.T) {
	dir := fake(t, "espeak-ng", "exec sleep 600")
	v := find("linux", lookIn(dir))
	v.Stop()
	v.Say("one", "en")
	until(t, filepath.Join(dir, "said"))
	os.Remove(filepath.Join(dir, "said"))
	v.Say("two", "en")
	if said := until(t, filepath.Join(dir, "said")); said != "two" {
		t.Errorf("it said %q", said)
	}
	v.Stop()
	if v.stop != nil {
		t.Error("it still speaks")
	}
}

func TestNothingToSay(t *testing.T) {
	dir := fake(t, "espeak-ng", "")
	v := find("linux", lookIn(dir))
	for _, lang := range []string{"", "-v", "es; rm", strings.Repeat("x", 40)} {
		if v.Say("word", lang); v.stop != nil {
			t.Errorf("%q is taken for a language", lang)
		}
	}
	if v.Say(" \n", "en"); v.stop != nil {
		t.Error("nothing is said")
	}
}

func TestFind(t *testing.T) {
	none := func(string) (string, error) { return "", errors.New("not there") }
	for _, system := range []string{"linux", "darwin", "windows", "plan9"} {
		if find(system, none) != nil {
			t.Errorf("%s has a voice that is not there", system)
		}
		for _, p := range programs[system] {
			v := find(system, func(name string) (string, error) {
				if name == p.name {
					return "/bin/" + name, nil
				}
				return none(name)
			})
			if v == nil || v.name != p.name || len(v.args("es")) == 0 {
				t.Errorf("%s: %s is not found", system, p.name)
			}
		}
	}
}
