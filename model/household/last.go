package household

import (
	"reflect"
	"time"

	"quietwater/model"
)

// Last is the change that Undo would take back.
type Last struct {
	At      time.Time // zero where nobody wrote it down
	Author  string
	Records int // how many it touched: entries, packs, persons, strip kinds
	// Entries are those among them. What is in the book was written or changed;
	// what is not was deleted, and comes back.
	Entries []model.ID
}

// Touched compares two states of a book's entries: what one has and the other
// has not, or has otherwise.
func Touched(before, after []model.Entry) (ids []model.ID) {
	was := map[model.ID]model.Entry{}
	for _, e := range before {
		was[e.ID] = e
	}
	for _, e := range after {
		if o, had := was[e.ID]; !had || !reflect.DeepEqual(o, e) {
			ids = append(ids, e.ID)
		}
		delete(was, e.ID)
	}
	for _, e := range before {
		if _, gone := was[e.ID]; gone {
			ids = append(ids, e.ID)
		}
	}
	return ids
}
