// Package merge decides what stands when two copies of a household book are
// brought together, record by record, and names what such a merge brings.
// What it decides depends on neither order nor repetition.
//
// It refuses to know how a record is stored: a version is a checksum, a time
// and whether it deletes.
package merge

import (
	"cmp"
	"maps"
	"slices"
)

// Version is one state a record was ever in. Equal versions have equal sums.
type Version struct {
	Sum     int64  // of the content and the times
	Changed string // when it was written: RFC 3339 in UTC, milliseconds always
	Deleted bool   // it is a deletion mark
}

// Compare puts the later version first; of two of one instant, the one with
// the greater sum.
func Compare(a, b Version) int {
	return cmp.Or(cmp.Compare(b.Changed, a.Changed), cmp.Compare(b.Sum, a.Sum))
}

// Record is what one copy of a book knows of one record: the versions that
// nothing took the place of, and the sums of those that something did. One
// head is the rule; two mean that it was changed in two places by people who
// did not know of each other.
type Record struct {
	Heads []Version // the one that stands first
	Past  map[int64]bool
}

// New makes a record of its parts. A version that stands is not past.
func New(heads []Version, past map[int64]bool) Record {
	r := Record{Heads: slices.Clone(heads), Past: maps.Clone(past)}
	if r.Past == nil {
		r.Past = map[int64]bool{}
	}
	slices.SortFunc(r.Heads, Compare)
	r.Heads = slices.Compact(r.Heads)
	for _, h := range r.Heads {
		delete(r.Past, h.Sum)
	}
	return r
}

// Join is what both copies know together. It is commutative, associative and
// idempotent: a version stands unless one of the two knows something that was
// written in its place. So an edit made on one side alone is taken without a
// question; one made on both leaves two heads, of which the later stands.
func Join(a, b Record) Record {
	past := maps.Clone(a.Past)
	if past == nil {
		past = map[int64]bool{}
	}
	maps.Copy(past, b.Past)
	all := slices.Concat(a.Heads, b.Heads)
	slices.SortFunc(all, Compare)
	all = slices.Compact(all)
	heads := slices.DeleteFunc(slices.Clone(all), func(v Version) bool { return past[v.Sum] })
	if len(heads) == 0 && len(all) > 0 {
		// Each says that the other's is past: a copy was put back from an older
		// one. Nothing is lost for that.
		heads = all[:1]
	}
	return New(heads, past)
}

// Stands is the version that stands; ok is false for a record nobody has.
func (r Record) Stands() (v Version, ok bool) {
	if len(r.Heads) == 0 {
		return Version{}, false
	}
	return r.Heads[0], true
}

// Open are the other versions somebody has to choose between, later first: none
// where the latest is a deletion, and a deletion is none.
func (r Record) Open() []Version {
	if v, ok := r.Stands(); !ok || v.Deleted {
		return nil
	}
	return slices.DeleteFunc(slices.Clone(r.Heads[1:]), func(v Version) bool { return v.Deleted })
}

// Outlived reports that what stands was changed after somebody else, who did
// not know of that change, had deleted the record.
func (r Record) Outlived() bool {
	v, ok := r.Stands()
	return ok && !v.Deleted && slices.ContainsFunc(r.Heads, func(v Version) bool { return v.Deleted })
}
