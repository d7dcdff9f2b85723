package backup

import (
	"errors"
	"os"
	"path/filepath"
	"strconv"
	"strings"
	"syscall"
	"testing"

	"quietwater/app/store"
)

// TestDiskFull backs up to, and restores on, drives that are too small by ever
// less: no half file, the step is named, and the book stays what it is.
func TestDiskFull(t *testing.T) {
	small := func(kB int64) string {
		dir := filepath.Join(t.TempDir(), "disk")
		check(t, os.Mkdir(dir, 0o700))
		if err := syscall.Mount("tmpfs", dir, "tmpfs", 0, "size="+strconv.FormatInt(kB, 10)+"k,mode=0700"); err != nil {
			t.Skipf("mounting a small file system is not permitted here (needs root): %v", err)
		}
		t.Cleanup(func() { syscall.Unmount(dir, syscall.MNT_DETACH) })
		return dir
	}
	b := demoBook(t, filepath.Join(t.TempDir(), "household.book"), 1)
	before := lying(t, filepath.Dir(b.Path())) + told(t, b.Path())
	good := filepath.Join(t.TempDir(), "b.zip.age")
	wrote, err := Write(ctx, b, good, fast(secret))
	check(t, err)
	kB := wrote.Size >> 10
	refused := 0
	for _, room := range []int64{16, kB / 4, kB / 2, kB - 8, kB * 3 / 2, kB * 2, kB * 4} {
		stick := small(room)
		to := filepath.Join(stick, "b.zip.age")
		_, err := Write(ctx, b, to, fast(secret))
		var step *StepError
		if err != nil {
			refused++
			if !errors.Is(err, store.ErrDiskFull) || !errors.As(err, &step) || step.Step != Writing || Tell(err).Key != "backup.why.no-space" {
				t.Errorf("%d kB: %v", room, err)
			}
			if left := lying(t, stick); left != "" {
				t.Errorf("%d kB: left\n%s", room, left)
			}
		}
		home := filepath.Join(small(room), "home")
		_, err = Restore(ctx, good, filepath.Join(home, "new.book"), fast(secret))
		switch {
		case err == nil && told(t, filepath.Join(home, "new.book")) != told(t, b.Path()):
			t.Errorf("%d kB: restored something else", room)
		case err != nil:
			refused++
			if !errors.Is(err, store.ErrDiskFull) {
				t.Errorf("%d kB: restoring: %v", room, err)
			}
			if left := lying(t, home); strings.Contains(left, "new.book") || strings.Contains(left, ".tmp") {
				t.Errorf("%d kB: left\n%s", room, left)
			}
		}
	}
	if refused < 8 || refused == 14 {
		t.Errorf("%d of 14 were refused", refused)
	}
	if lying(t, filepath.Dir(b.Path()))+told(t, b.Path()) != before {
		t.Error("the book changed")
	}
}
