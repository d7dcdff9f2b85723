package backup

import (
	"io"
	"os"
	"path/filepath"
	"testing"

	"quietwater/model/household"
)

// benchEntries is ten years of 30 entries a day.
const benchEntries = 110_000

// BenchmarkBackup writes, reads back and names the backup of ten years. Beside
// it stand a plain copy of the same file, and what a passphrase costs alone is
// the difference to the plain backup.
func BenchmarkBackup(b *testing.B) {
	dir := b.TempDir()
	book := demoBook(b, filepath.Join(dir, "household.book"), benchEntries/len(household.Demo(now).Book.Entries)+1)
	size := func(path string) float64 {
		st, err := os.Stat(path)
		check(b, err)
		return float64(st.Size()) / 1e6
	}
	usual := fast(secret)
	usual.Work = 0
	for _, c := range []struct {
		name string
		o    Options
	}{{"plain", fast("")}, {"passphrase", usual}} {
		to := filepath.Join(dir, "b-"+c.name)
		b.Run(c.name, func(b *testing.B) {
			for b.Loop() {
				os.Remove(to)
				found, err := Write(ctx, book, to, c.o)
				check(b, err)
				b.ReportMetric(float64(found.Counts.AllEntries()), "entries")
				b.ReportMetric(size(to), "MB")
			}
		})
		b.Run("restore-"+c.name, func(b *testing.B) {
			for b.Loop() {
				_, err := Rehearse(ctx, to, filepath.Join(dir, "new.book"), c.o)
				check(b, err)
			}
		})
	}
	b.Run("floor-copy", func(b *testing.B) {
		for b.Loop() {
			in, err := os.Open(book.Path())
			check(b, err)
			out, err := os.Create(filepath.Join(dir, "copy"))
			check(b, err)
			_, err = io.Copy(out, in)
			check(b, err)
			check(b, out.Sync())
			check(b, out.Close())
			check(b, in.Close())
			b.ReportMetric(size(book.Path()), "MB")
		}
	})
}
