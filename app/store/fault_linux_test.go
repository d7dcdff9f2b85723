package store

import (
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"strconv"
	"strings"
	"testing"
)

// TestDiskFullAtAnyCall lets one system call of a writer fail, each in turn,
// as a full or dying disk does: what was acknowledged before must be there,
// the failed save must not be acknowledged, and the book must open.
func TestDiskFullAtAnyCall(t *testing.T) {
	strace, err := exec.LookPath("strace")
	if err != nil {
		t.Skip("strace is not installed")
	}
	upTo, every := 30, 10
	if soak() {
		upTo, every = 250, 2
	}
	reported, silent := 0, 0
	for _, call := range []string{"pwrite64", "fsync,fdatasync", "ftruncate", "openat", "unlink,unlinkat", "rename,renameat,renameat2"} {
		for _, fault := range []string{"EIO", "ENOSPC"} {
			for n := 1; n <= upTo; n += every {
				dir, err := os.MkdirTemp(memory(), "quietwater-fault-*") // what counts is what it asks of the disk
				check(t, err)
				path := filepath.Join(dir, "book.db")
				b := openAt(t, path) // there before the disk fails
				check(t, b.release())
				c := childCommand("write", path, "GOMAXPROCS=1", "QW_STORE_MOST=30")
				c.Args = append([]string{strace, "-f", "-o", os.DevNull, "-P", path, "-P", path + "-journal", "-P", dir, "-P", BackupsDir(path),
					"-e", "trace=" + call, "-e", fmt.Sprintf("inject=%s:error=%s:when=%d", call, fault, n)}, c.Args...)
				c.Path = strace
				out, err := c.CombinedOutput()
				if strings.Contains(string(out), "ptrace") {
					t.Skipf("tracing is not permitted here: %s", out)
				}
				if strings.Contains(string(out), "panic") {
					t.Fatalf("%s %s at call %d:\n%s", call, fault, n, out)
				}
				if err != nil {
					reported++
				} else {
					silent++
				}
				acked := 0
				for _, l := range strings.Split(string(out), "\n") {
					if k, err := strconv.Atoi(strings.TrimPrefix(l, "A ")); err == nil {
						acked = k
					}
				}
				b = openAt(t, path)
				if k := writesOf(t, b); k < acked || k > acked+1 {
					t.Fatalf("%s %s at call %d: %d saves acknowledged, %d in the book", call, fault, n, acked, k)
				} else {
					sameText(t, "after a fault", contentOf(t, b), describe(again(k).book()))
				}
				check(t, b.release())
				allSnapshotsGood(t, path)
				check(t, os.RemoveAll(dir))
			}
		}
	}
	if reported == 0 {
		t.Error("no fault ever reached the writer")
	}
	t.Logf("%d faults told to the writer, %d it never met or coped with; 0 acknowledged saves lost", reported, silent)
}
