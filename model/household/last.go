package household

import (
	"fmt"
	"maps"
	"reflect"
	"slices"
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
	Named   []Named // persons, packs and strip kinds among them
}

// The records that have a name.
const (
	NamedPerson = "person"
	NamedPack   = "pack"
	NamedKind   = "kind"
)

// Named is a record told by its name.
type Named struct {
	What string // one of the three
	Name string
	Gone bool // it was deleted, and comes back
}

// NamedTouched compares two states as [Touched] does.
func NamedTouched(before, after Records) (out []Named) {
	was, is := before.named(), after.named()
	for _, key := range slices.Sorted(maps.Keys(is)) {
		if had, there := was[key]; !there || had != is[key] {
			out = append(out, is[key].Named)
		}
	}
	for _, key := range slices.Sorted(maps.Keys(was)) {
		if _, there := is[key]; !there {
			gone := was[key].Named
			gone.Gone = true
			out = append(out, gone)
		}
	}
	return out
}

type namedRecord struct {
	Named
	whole string // all it says, to be compared
}

// named are the records that have a name, by what they are and their identity.
func (r Records) named() map[string]namedRecord {
	out := map[string]namedRecord{}
	add := func(what, id, name string, whole any) {
		out[what+"/"+id] = namedRecord{Named{What: what, Name: name}, fmt.Sprintf("%+v", whole)}
	}
	for _, p := range r.Book.Persons {
		add(NamedPerson, string(p.ID), p.Name, p)
	}
	for _, p := range r.Book.Packs {
		add(NamedPack, string(p.ID), p.Label, p)
	}
	for _, k := range r.OwnKinds {
		add(NamedKind, k.ID, k.Name, k)
	}
	return out
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
