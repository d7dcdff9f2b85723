package store

import (
	"cmp"
	"database/sql"
	"encoding/json"
	"fmt"
	"slices"
	"strings"

	"quietwater/model/merge"
)

// ref is which record.
type ref struct {
	table *table
	key   string
}

func (r ref) String() string { return r.table.name + "/" + r.key }

func parseRef(s string) (ref, bool) {
	name, key, _ := strings.Cut(s, "/")
	t, ok := tableNamed(name)
	return ref{t, key}, ok
}

// pastRows is how the history names what was learned from another copy: the
// checksum of a version that something took the place of.
const pastRows = "past"

// holding is what one copy of the book knows of one record.
type holding struct {
	row      row           // as it lies in the file; nil when there is none
	heads    []row         // what nothing took the place of, that row first
	versions map[int64]row // of those, what lies in the table of versions, by its sum
	past     map[int64]bool
}

// standing is the sum of what stands in the file.
func (h *holding) standing() int64 { return sumOf(h.heads[0]) }

func (h *holding) record() merge.Record {
	var heads []merge.Version
	for _, r := range h.heads {
		heads = append(heads, merge.Version{Sum: sumOf(r), Changed: r.stamps().Changed, Deleted: r.stamps().Deleted != ""})
	}
	return merge.New(heads, h.past)
}

// side is one copy of the book as a merge sees it.
type side struct {
	recs *records
	held map[ref]*holding
}

var nothingHeld = &holding{}

func (s *side) at(r ref) *holding {
	if h := s.held[r]; h != nil {
		return h
	}
	return nothingHeld
}

func (s *side) take(r ref) *holding {
	h := s.held[r]
	if h == nil {
		h = &holding{past: map[int64]bool{}, versions: map[int64]row{}}
		s.held[r] = h
	}
	return h
}

// refs are all records that have something to be merged, in one order.
func (s *side) refs() []ref {
	var out []ref
	for r, h := range s.held {
		if len(h.heads) > 0 {
			out = append(out, r)
		}
	}
	slices.SortFunc(out, func(a, b ref) int { return cmp.Or(cmp.Compare(a.table.name, b.table.name), cmp.Compare(a.key, b.key)) })
	return out
}

// travels reports a record that a merge brings along: not a draft, and no
// setting of the computer's own.
func travels(of *table, key string, own func(string) bool) bool {
	return of != settings || !strings.HasPrefix(key, DraftPrefix) && (own == nil || !own(key))
}

// readSide finds out what a copy of the book knows: its rows, the versions of
// them that are still to be chosen, and from its history what those took the
// place of.
func readSide(q querier, recs *records, own func(string) bool) (*side, error) {
	s := &side{recs: recs, held: map[ref]*holding{}}
	recs.each(func(r row) {
		if r.table() != versions && travels(r.table(), r.key(), own) {
			s.take(ref{r.table(), r.key()}).row = r
		}
	})
	last, err := s.readHistory(q, own)
	if err != nil {
		return nil, classify(err)
	}
	for at, h := range s.held {
		if r := last[at].now(h.row); r != nil {
			h.heads = append(h.heads, r)
		}
	}
	for _, v := range recs.versions {
		r, err := v.decode()
		if err != nil {
			return nil, err
		}
		h := s.take(ref{r.table(), r.key()})
		h.heads, h.versions[sumOf(r)] = append(h.heads, r), v
	}
	s.dropStrays()
	return s, nil
}

// dropStrays leaves out what was taken away and belongs to a person or pack
// that is unknown here, because the merge that brought those was taken back.
func (s *side) dropStrays() {
	for _, of := range []*table{sames, packs, entries} { // packs before the entries that name them
		for at, h := range s.held {
			if at.table != of || h.row != nil {
				continue
			}
			if slices.ContainsFunc(h.heads, s.stray) || len(h.heads) == 0 {
				delete(s.held, at)
			}
		}
	}
}

func (s *side) stray(r row) bool {
	unknown := func(of *table, key string) bool { return key != "" && len(s.at(ref{of, key}).heads) == 0 }
	switch r := r.(type) {
	case *sameRow:
		return unknown(persons, r.ID) || unknown(persons, r.Person)
	case *packRow:
		return unknown(persons, string(r.Person))
	case *entryRow:
		return unknown(persons, r.Person) || unknown(packs, string(r.Pack))
	}
	return false
}

// each calls f with every row.
func (r *records) each(f func(row)) {
	for _, x := range r.persons {
		f(x)
	}
	for _, x := range r.sames {
		f(x)
	}
	for _, x := range r.kinds {
		f(x)
	}
	for _, x := range r.packs {
		f(x)
	}
	for _, x := range r.entries {
		f(x)
	}
	for _, x := range r.settings {
		f(x)
	}
	for _, x := range r.versions {
		f(x)
	}
}

// event is what the history says of how a row came to be as it is. Undo puts
// a row back with the times it had; to another copy of the book it is a change
// of the moment it was undone, and a row that was taken away is a deletion.
type event struct {
	at      string
	undone  bool
	removed row // what was taken away
}

// now is a row as a merge sees it.
func (e event) now(r row) row {
	switch {
	case r == nil && e.removed == nil:
		return nil
	case r == nil:
		r = copyOf(e.removed)
		r.stamps().Changed, r.stamps().Deleted = e.at, nullable(e.at)
	case e.undone && r.stamps().Changed < e.at:
		r = copyOf(r)
		r.stamps().Changed = e.at
	}
	return r
}

// readHistory gathers what was replaced, and gives for each row that needs it
// its last event. A merge that was taken back, and the taking back, are passed
// over: it is as though they had never been.
func (s *side) readHistory(q querier, own func(string) bool) (map[ref]event, error) {
	last := map[ref]event{}
	return last, each(q, `SELECT r.what, r.key, r.old, r.old_sum, r.new_sum, c.at, c.undoes IS NOT NULL, c.state
		FROM change_row r JOIN change c ON c.id = r.change
		WHERE c.merged = 0 OR c.state <> 1 AND c.undoes IS NULL ORDER BY r.change, r.pos`, func(scan scanner) error {
		var what, key, at string
		var old sql.NullString
		var oldSum, newSum sql.NullInt64
		var undoes bool
		var state int
		if err := scan(&what, &key, &old, &oldSum, &newSum, &at, &undoes, &state); err != nil {
			return err
		}
		if what == pastRows {
			if r, ok := parseRef(key); ok && state != undone && travels(r.table, r.key, own) {
				s.take(r).past[newSum.Int64] = true
			}
			return nil
		}
		of, ok := tableNamed(what)
		if !ok || of == versions || !travels(of, key, own) {
			return nil
		}
		r := ref{of, key}
		before, had := last[r]
		h := s.take(r)
		var was row
		if oldSum.Valid {
			h.past[oldSum.Int64] = true
			if had && before.undone || !newSum.Valid {
				_, was, _ = fromHistory(what, old, oldSum) // what cannot be read any more is not missed
			}
		}
		if seen := before.now(was); had && seen != nil {
			h.past[sumOf(seen)] = true
		}
		switch {
		case !newSum.Valid:
			last[r] = event{at: at, removed: was}
		case undoes:
			last[r] = event{at: at, undone: true}
		default:
			delete(last, r)
		}
		return nil
	})
}

// newVersion keeps a row until somebody chooses.
func newVersion(r row) row {
	text, err := toJSON(r)
	if err != nil { // only plain values, which fits has seen: cannot happen
		panic(err)
	}
	at := r.stamps().Changed
	return &versionRow{ID: fmt.Sprintf("%s/%s/%016x", r.table().name, r.key(), uint64(sumOf(r))), What: r.table().name, Key: r.key(),
		Owner: r.owner(), JSON: text, stamp: stamp{Created: at, Changed: at}}
}

// decode gives the row back.
func (v *versionRow) decode() (row, error) {
	of, ok := tableNamed(v.What)
	if !ok || of == versions {
		return nil, fmt.Errorf("%w: a version of %q", ErrDamaged, v.What)
	}
	r := of.blank()
	if err := json.Unmarshal([]byte(v.JSON), r); err != nil || r.key() != v.Key {
		return nil, fmt.Errorf("%w: the version %q", ErrDamaged, v.ID)
	}
	return r, nil
}

func byKey(a, b row) int { return cmp.Compare(a.key(), b.key()) }
