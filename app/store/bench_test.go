package store

import (
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"sync"
	"testing"

	"quietwater/model"
)

// benchBook is written once a run; each benchmark works on a copy.
var benchBook = func() func(b *testing.B, years int) string {
	var mu sync.Mutex
	made := map[int]string{}
	return func(b *testing.B, years int) string {
		mu.Lock()
		defer mu.Unlock()
		if made[years] == "" {
			dir, err := os.MkdirTemp("", "quietwater-bench-*")
			check(b, err)
			book := openAt(b, filepath.Join(dir, "book.db"))
			mustPut(b, book, changesOf(yearsBook(years))...)
			check(b, book.release())
			made[years] = book.Path()
		}
		to := filepath.Join(b.TempDir(), "book.db")
		check(b, copyFile(made[years], to))
		return to
	}
}()

var benchYears = []int{1, 10}

func BenchmarkPut(b *testing.B) {
	for _, years := range benchYears {
		b.Run(fmt.Sprintf("years=%d", years), func(b *testing.B) {
			book := openAt(b, benchBook(b, years))
			all, _, err := book.Load(ctx)
			check(b, err)
			r := seeded(1)
			for b.Loop() {
				e := all.Entries[0]
				e.ID = someID(r)
				mustPut(b, book, SaveEntry(e))
			}
			check(b, book.release())
		})
	}
}

// BenchmarkFloorOfPut is a bare commit with the same durability.
func BenchmarkFloorOfPut(b *testing.B) {
	book := openNew(b)
	_, err := book.db.Exec(`CREATE TABLE bare(x TEXT) STRICT`)
	check(b, err)
	for b.Loop() {
		_, err := book.db.Exec(`INSERT INTO bare VALUES('x')`)
		check(b, err)
	}
}

func BenchmarkImport100000(b *testing.B) {
	changes := changesOf(yearsBook(10))[:100000]
	people := yearsBook(10)
	for b.Loop() {
		book := openNew(b)
		mustPut(b, book, append(changes, changesOf(model.Book{Persons: people.Persons, Packs: people.Packs})...)...)
		check(b, book.release())
	}
}

func BenchmarkSnapshot(b *testing.B) {
	for _, years := range benchYears {
		b.Run(fmt.Sprintf("years=%d", years), func(b *testing.B) {
			book := openAt(b, benchBook(b, years))
			for b.Loop() {
				_, err := book.Snapshot(ctx)
				check(b, err)
			}
			check(b, book.release())
		})
	}
}

// BenchmarkFloorOfSnapshot copies the file and waits for the disk.
func BenchmarkFloorOfSnapshot(b *testing.B) {
	for _, years := range benchYears {
		b.Run(fmt.Sprintf("years=%d", years), func(b *testing.B) {
			path := benchBook(b, years)
			for b.Loop() {
				check(b, errors.Join(copyFile(path, path+".copy"), syncFolder(filepath.Dir(path))))
			}
		})
	}
}

// BenchmarkMerge takes a book into an empty one.
func BenchmarkMerge(b *testing.B) {
	for _, years := range benchYears {
		b.Run(fmt.Sprintf("years=%d", years), func(b *testing.B) {
			other := benchBook(b, years)
			for b.Loop() {
				book := openAt(b, filepath.Join(b.TempDir(), "book.db"))
				if _, c, err := book.Merge(ctx, "Ada", Another{Path: other}); err != nil || c.Added == 0 {
					b.Fatal(c.Added, err)
				}
				check(b, book.release())
			}
		})
	}
}

// BenchmarkCompare holds a book against an equal copy.
func BenchmarkCompare(b *testing.B) {
	for _, years := range benchYears {
		b.Run(fmt.Sprintf("years=%d", years), func(b *testing.B) {
			book, other := openAt(b, benchBook(b, years)), benchBook(b, years)
			for b.Loop() {
				if c, err := book.Compare(ctx, Another{Path: other}); err != nil || !c.Nothing() {
					b.Fatal(c, err)
				}
			}
		})
	}
}
