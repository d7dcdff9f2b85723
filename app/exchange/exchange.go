// Package exchange carries a household book out into open formats and in from
// files other people made: the plain table (CSV) first of all.
//
// It owns the dialects (quoting, encodings, limits) and refuses to know what
// the rows mean: that is package model's, and saving them is the caller's.
package exchange

import (
	"cmp"
	"io"
	"slices"
	"time"

	"quietwater/model"
)

// Result is what a table holds and what is wrong with it. Nothing is saved.
type Result struct {
	Rows     int             // data rows in the file, good and refused
	Accepted int             // Rows less those refused
	Refused  []model.Refusal // by row
	Ignored  []string        // names of columns that are not ours
	Names    []string        // whose records the file says they are, in its order
	Book     model.Book      // new persons, entries and packs of the accepted rows
	// FileRefused is set when the file as a whole cannot be trusted; then
	// nothing else is.
	FileRefused *model.Msg
}

// Import reads a plain table against the book it is meant for. Times without
// an offset are of zone; rows after now are refused unless now is zero;
// knownAnswer tells a finding's id and may be nil to accept any.
func Import(r io.Reader, existing model.Book, zone *time.Location, now time.Time,
	newID func() model.ID, knownAnswer func(id string) bool) Result {
	return ImportAs("", r, existing, zone, now, newID, knownAnswer)
}

// ImportAs is Import with the records of a table that names one person read
// as whose: a household and a laboratory may write one name in two ways.
// Where the table names several, or whose is "", it is Import.
func ImportAs(whose string, r io.Reader, existing model.Book, zone *time.Location, now time.Time,
	newID func() model.ID, knownAnswer func(id string) bool) Result {
	t, err := readTable(r)
	if err != nil {
		why := refusalOf(err)
		return Result{FileRefused: &why}
	}
	reader := model.Reader{Existing: existing, Zone: zone, Now: now, NewID: newID, KnownAnswer: knownAnswer}
	names := namesIn(t.rows)
	if whose != "" && len(names) == 1 {
		for i := range t.rows {
			if t.rows[i].Person != "" {
				t.rows[i].Person = whose
			}
		}
	}
	book, refused := reader.Read(t.rows)
	refused = slices.Concat(t.refused, refused)
	slices.SortStableFunc(refused, func(a, b model.Refusal) int { return cmp.Compare(a.Row, b.Row) })
	total := len(t.rows) + len(t.refused)
	return Result{Rows: total, Accepted: total - len(refused), Refused: refused, Ignored: t.ignored, Names: names, Book: book}
}

func namesIn(rows []model.Row) (names []string) {
	for _, r := range rows {
		if r.Person != "" && !slices.Contains(names, r.Person) {
			names = append(names, r.Person)
		}
	}
	return names
}
