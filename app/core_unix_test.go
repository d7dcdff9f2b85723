//go:build unix

package main

import (
	"fmt"
	"os"
	"os/exec"
	"strings"
	"syscall"
	"testing"
)

func init() { tellCore = coreLimit }

// coreLimit prints how large a file of this process's memory may become, before
// and after noCore.
func coreLimit() {
	for _, set := range []func() error{func() error { return nil }, noCore} {
		var l syscall.Rlimit
		err := set()
		err2 := syscall.Getrlimit(syscall.RLIMIT_CORE, &l)
		fmt.Println(l.Cur, l.Max, err, err2)
	}
}

// TestNoCore asks a process that may write one. That main calls it is looked at
// in a real window (walk-offline.sh).
func TestNoCore(t *testing.T) {
	self, err := os.Executable()
	if err != nil {
		t.Fatal(err)
	}
	cmd := exec.Command("sh", "-c", `ulimit -S -c "$(ulimit -H -c)"; exec "$0"`, self)
	cmd.Env = append(os.Environ(), "QUIETWATER_TELL_CORE=yes")
	out, err := cmd.CombinedOutput()
	said := strings.Split(strings.TrimSpace(string(out)), "\n")
	if err != nil || len(said) != 2 {
		t.Fatalf("%v: %q", err, out)
	}
	if said[1] != "0 0 <nil> <nil>" {
		t.Errorf("after: %s", said[1])
	}
	if strings.HasPrefix(said[0], "0 ") {
		t.Skip("no core file may be written here anyway")
	}
}
