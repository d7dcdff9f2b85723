package store

import (
	"fmt"
	"reflect"
	"strings"
	"testing"
	"time"

	"quietwater/model"
)

// bothWays reads the rows of a book the quick way, nil where anything is odd,
// and the plain way.
func bothWays(t *testing.T, b *Book) (quick *wholeEntries, rep Report, plain *records) {
	t.Helper()
	c, err := b.db.Conn(ctx)
	check(t, err)
	defer c.Close()
	rep, plain, err = rowsIn(onConn{c}, nil)
	check(t, err)
	return readQuickly(c), rep, plain
}

// Law: where nothing is odd, the quick way reads what the plain way reads.
func TestQuickIsAsPlain(t *testing.T) {
	for i := range 20 {
		b := openNew(t)
		book := someBook(seeded(uint64(300+i)), 20*i)
		for j, odd := range []string{"", " ", "\x1f", "\n", "''", "NULL", "\u202e", "𝛌", strings.Repeat("long ", 3000)} {
			at := func(n int) *model.Entry { return &book.Entries[(j+n)%len(book.Entries)] }
			if len(book.Entries) > 0 {
				at(0).Author, at(1).Values = odd, []model.Value{{Code: "note", Word: "x", Note: odd}, {Code: "ph", Number: 6.1 + 0.2, Typed: odd}}
			}
		}
		book.Entries = append(book.Entries, model.Entry{ID: "bare", Person: book.Persons[0].ID, Kind: model.Note})
		mustPut(t, b, changesOf(book)...)
		mustPut(t, b, DeleteEntry(book.Entries[0].ID))
		quick, rep, plain := bothWays(t, b)
		if quick == nil || !rep.OK() || len(quick.rows) != len(plain.entries) {
			t.Fatalf("book %d: %v, flaws %v", i, quick, rep.Flaws)
		}
		var total int64
		for j := range quick.rows {
			if !reflect.DeepEqual(&quick.rows[j], plain.entries[j]) {
				t.Errorf("quick %+v, plain %+v", quick.rows[j], *plain.entries[j])
			}
			total += sumOf(plain.entries[j])
		}
		if quick.total != total {
			t.Errorf("book %d: total %d, want %d", i, quick.total, total)
		}
		check(t, b.release())
	}
}

// TestOddGoesThePlainWay: the report on a book with something odd in it is that
// of the plain way, and names it.
func TestOddGoesThePlainWay(t *testing.T) {
	for sql, flaw := range map[string]string{
		`UPDATE entry SET author = 'Eve' WHERE n = 7`:                                                   "row: entry",
		`UPDATE entry SET sum = sum + 1 WHERE n = 7`:                                                    "row: entry",
		`UPDATE entry SET author = author || char(0) WHERE n = 7`:                                       "row: entry",
		`UPDATE entry SET author = 'a' || char(0) || 'b' WHERE n = 7`:                                   "row: entry",
		`UPDATE entry SET n = 1000 WHERE n = 7`:                                                         "row: entry",
		`UPDATE value SET entry = 7, pos = 99 WHERE entry = 8 AND pos = 0`:                              "row: entry",
		`UPDATE value SET note = note || char(0) WHERE entry = 9`:                                       "row: entry",
		`UPDATE value SET num = num + 1, confidence = confidence + 1 WHERE entry = 9`:                   "row: entry",
		`UPDATE value SET pos = pos + 50 WHERE entry = 9 AND pos = 0`:                                   "row: entry",
		`DELETE FROM value WHERE entry = 9`:                                                             "row: entry",
		`DELETE FROM entry WHERE n = 9`:                                                                 "total: ",
		`PRAGMA ignore_check_constraints = 1; UPDATE value SET grade = word, word = '' WHERE entry = 9`: "row: entry",
	} {
		path, _ := closedBook(t)
		b := openAt(t, path)
		_, err := b.db.Exec(`PRAGMA foreign_keys = 0; ` + sql)
		check(t, err)
		quick, plain, _ := bothWays(t, b)
		if quick != nil != strings.HasPrefix(flaw, "total") {
			t.Errorf("%s: the quick way took it", sql)
		}
		rep, _, err := examineRows(b.db)
		check(t, err)
		if !reflect.DeepEqual(rep, plain) || len(rep.Flaws) == 0 || !strings.HasPrefix(rep.Flaws[0].String(), flaw) {
			t.Errorf("%s: flaws %v, the plain way's %v", sql, rep.Flaws, plain.Flaws)
		}
		check(t, b.release())
	}
}

// TestEqualValuesAreShared: the room that a long book takes is for what is new
// in it.
func TestEqualValuesAreShared(t *testing.T) {
	b := openNew(t)
	kathmandu := time.FixedZone("", 5*3600+45*60)
	var changes []Change
	for i := range 10 {
		changes = append(changes, SaveEntry(model.Entry{ID: model.ID(fmt.Sprint(i)), Person: "p", Kind: model.Fluid, When: model.At(noon.In(kathmandu).Add(time.Duration(i) * time.Hour)),
			Values: []model.Value{{Code: "drink", Number: float64(100 * (i % 2)), Typed: "100", Unit: "mL"}}}))
	}
	mustPut(t, b, append(changes, SavePerson(model.Person{ID: "p"}))...)
	book, _, err := b.Load(ctx)
	check(t, err)
	for i := 2; i < len(book.Entries); i++ {
		was, is := book.Entries[i-2], book.Entries[i]
		if &was.Values[0] != &is.Values[0] || was.When.Time().Location() != is.When.Time().Location() {
			t.Errorf("%+v and %+v have rooms of their own", was, is)
		}
		if was.Values[0] == book.Entries[i-1].Values[0] {
			t.Errorf("%+v is no other than %+v", book.Entries[i-1], was)
		}
	}
}
