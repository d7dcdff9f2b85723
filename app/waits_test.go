package main

import (
	"bytes"
	"context"
	"crypto/rand"
	"database/sql"
	"io"
	"os"
	"path/filepath"
	"testing"
	"time"

	_ "github.com/mattn/go-sqlite3"

	"quietwater/app/backup"
	"quietwater/app/fhir"
	"quietwater/app/print"
	"quietwater/app/session"
	"quietwater/app/store"
	"quietwater/i18n"
	"quietwater/model"
	"quietwater/model/household"
	"quietwater/model/page"
)

// BenchmarkWait is what somebody waits for who has kept a book for so many busy
// years, and beside each wait its floor: the least anybody could do about it.
// make bench makes the books (QW_BOOKS, one "N.book" for N years) and puts the
// waits of the window beside these.
func BenchmarkWait(b *testing.B) {
	books, _ := filepath.Glob(filepath.Join(os.Getenv("QW_BOOKS"), "*.book"))
	if os.Getenv("QW_BOOKS") == "" || len(books) == 0 {
		b.Skip("QW_BOOKS names no folder with books")
	}
	for _, from := range books {
		dir := b.TempDir()
		path := filepath.Join(dir, "household.book")
		copyAll(b, from, path)
		name := filepath.Base(from[:len(from)-len(".book")])
		wait := func(what string, do, floor func(b *testing.B)) {
			run := func(name string, do func(b *testing.B)) {
				b.Run(name, func(b *testing.B) {
					for b.Loop() {
						do(b)
					}
				})
			}
			run(what+"/"+name+"-years", do)
			run(what+"/"+name+"-years-floor", floor)
		}
		ctx, now := context.Background(), newClock(time.Date(2026, 1, 1, 9, 0, 0, 0, time.UTC), 1)
		options := store.Options{Path: path, Now: now.Now, Rand: rand.Reader, Version: Version}
		open := func(b *testing.B) (*store.Book, *session.Session) {
			book, err := store.Open(ctx, options)
			must(b, err)
			s, err := session.Open(ctx, session.NewKept(book), now, rand.Reader)
			must(b, err)
			return book, s
		}
		wait("open", func(b *testing.B) {
			_, s := open(b)
			must(b, s.Close(ctx))
		}, func(b *testing.B) {
			_, err := os.ReadFile(path)
			must(b, err)
		})

		// The picture itself is BenchmarkTimelinePage/month/picture, in ui.
		wait("glimpse", func(b *testing.B) {
			newest, extras, err := store.Newest(ctx, options, now.Now().AddDate(0, 0, -glimpseDays))
			must(b, err)
			if st := household.Derive(session.RecordsOf(newest, extras), now.Now()); len(newest.Entries) == 0 || len(st.Members) == 0 {
				b.Fatal("nothing was seen")
			}
		}, func(b *testing.B) {
			_, err := os.ReadFile(path)
			must(b, err)
		})

		book, s := open(b)
		rosa := s.State().Members[0]
		bare := bareBook(b, dir)
		wait("save", func(b *testing.B) {
			must(b, s.Save(ctx, household.Changes{Entries: []model.Entry{{ID: s.NewID(), Person: rosa.Person.ID, Kind: model.Fluid, When: model.At(now.Now()),
				Values: []model.Value{{Code: "drink", Number: 200, Typed: "200", Unit: "mL"}}}}}))
		}, func(b *testing.B) {
			_, err := bare.Exec(`INSERT INTO bare VALUES('x')`)
			must(b, err)
		})

		words, err := i18n.New("en", "")
		must(b, err)
		empty := household.Derive(household.Records{Book: model.Book{Persons: []model.Person{rosa.Person}}}, now.Now()).Members[0]
		side := func(m household.Member) func(b *testing.B) {
			return func(b *testing.B) {
				since := now.Now().AddDate(-100, 0, 0)
				_, _, err := print.DoctorPage(print.Doctor{Result: m.Result, Words: []print.ChartWords{words}, Paper: print.A4, Asked: page.Asked{Since: since}, More: true})
				must(b, err)
			}
		}
		wait("page", side(rosa), side(empty))

		all := s.State().Records.Book
		var out bytes.Buffer
		must(b, fhir.Write(&out, all, now.Now()))
		export := filepath.Join(dir, "export.json")
		wait("export", func(b *testing.B) {
			out.Reset()
			must(b, fhir.Write(&out, all, now.Now()))
			write(b, export, &out)
		}, func(b *testing.B) { copyAll(b, export, export+"-copy") })

		to := filepath.Join(dir, "backup.zip")
		wait("backup", func(b *testing.B) {
			os.Remove(to)
			_, err := backup.Write(ctx, book, to, backup.Options{Now: now.Now(), Version: Version})
			must(b, err)
		}, func(b *testing.B) { copyAll(b, path, to+"-copy") })
		must(b, s.Close(ctx))
	}
}

// bareBook is a table of one column, as safe as the book.
func bareBook(b *testing.B, dir string) *sql.DB {
	b.Helper()
	db, err := sql.Open("sqlite3", "file:"+filepath.Join(dir, "bare.db")+"?_journal_mode=TRUNCATE&_synchronous=FULL")
	must(b, err)
	db.SetMaxOpenConns(1)
	b.Cleanup(func() { db.Close() })
	_, err = db.Exec(`CREATE TABLE bare(x TEXT) STRICT`)
	must(b, err)
	return db
}

// copyAll copies a file and waits until it is on the disk.
func copyAll(b *testing.B, from, to string) {
	b.Helper()
	in, err := os.Open(from)
	must(b, err)
	defer in.Close()
	write(b, to, in)
}

func write(b *testing.B, to string, content io.Reader) {
	b.Helper()
	f, err := os.Create(to)
	must(b, err)
	_, err = io.Copy(f, content)
	must(b, err)
	must(b, f.Sync())
	must(b, f.Close())
}
