package store

import (
	"context"
	"errors"
	"fmt"
	"os"
	"time"

	"quietwater/model"
)

// errNotYet: what lies there must be opened with all checks before anybody looks.
var errNotYet = errors.New("the book is not as a start expects it")

// Newest reads what was recorded since a day, and the conditions, medicines and
// facts of all days, of a book that nobody has examined yet: to show somebody
// whose book takes a while to be examined the last days of it. Each row holds
// against its checksum or is left out; of the book as a whole nothing is known,
// and nothing may be said of what the rows call for. The file is not changed. It
// must not be open in this program, since closing it drops all locks on it. A book
// of another version, or one that a crash interrupted, gives an error.
func Newest(ctx context.Context, opts Options, since time.Time) (model.Book, Extras, error) {
	o, err := opts.whole()
	if err != nil {
		return model.Book{}, Extras{}, err
	}
	if interrupted(o.Path) {
		return model.Book{}, Extras{}, errNotYet
	}
	if version, err := readHeader(o.Path); err != nil || version != len(o.steps) {
		return model.Book{}, Extras{}, errors.Join(errNotYet, err)
	}
	db := openDB(o.Path, true, o.durability)
	defer db.Close()
	tx, err := db.BeginTx(ctx, nil)
	if err != nil {
		return model.Book{}, Extras{}, err
	}
	defer tx.Rollback()
	recs, err := newestIn(tx, since)
	if err != nil {
		return model.Book{}, Extras{}, err
	}
	return recs.live(o)
}

// newestIn reads the rows whose checksums hold. Times are compared as the text
// they lie in the file as: near midnight that takes a day more or less.
func newestIn(q querier, since time.Time) (*records, error) {
	which := fmt.Sprintf(` WHERE at >= '%s' OR kind IN ('%s', '%s', '%s')`, since.Format(time.DateOnly), model.Profile, model.Condition, model.Medicine)
	recs := &records{}
	for _, t := range tables() {
		if t == versions { // of the forms that stand twice only the one that counts
			continue
		}
		some := ""
		if t == entries {
			some = which
		}
		if err := eachRow(q, t, some, func(r row, sum int64) {
			if sumOf(r) == sum {
				recs.add(r)
			}
		}); err != nil {
			return nil, err
		}
	}
	return recs, nil
}

// Long reports a book so large that examining it takes a moment.
func Long(path string) bool {
	st, err := os.Stat(path)
	return err == nil && st.Size() >= longBook
}

// longBook is some three busy years.
const longBook = 12 << 20
