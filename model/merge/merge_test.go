package merge

import (
	"fmt"
	"math/rand/v2"
	"reflect"
	"slices"
	"testing"
)

// world is some copies of one record, each changed by somebody who knows only
// that copy, and merged now and then.
type world struct {
	*rand.Rand
	copies []Record
	made   []Version
	clock  int
}

func newWorld(seed uint64, copies int) *world {
	w := &world{Rand: rand.New(rand.NewPCG(seed, 5)), copies: make([]Record, copies)}
	first := w.version(false)
	for i := range w.copies {
		if w.IntN(3) > 0 {
			w.copies[i] = New([]Version{first}, nil)
		}
	}
	for range w.IntN(14) {
		w.step()
	}
	return w
}

// version is written now; clocks of two computers may show the same.
func (w *world) version(deleted bool) Version {
	w.clock += w.IntN(2)
	v := Version{Sum: int64(len(w.made)*7919%1009 + 1), Changed: fmt.Sprintf("2027-03-01T12:00:%02d.000Z", w.clock), Deleted: deleted}
	w.made = append(w.made, v)
	return v
}

func (w *world) step() {
	i := w.IntN(len(w.copies))
	r := w.copies[i]
	if w.IntN(3) == 0 {
		w.copies[i] = Join(r, w.copies[w.IntN(len(w.copies))])
		return
	}
	past := map[int64]bool{}
	for s := range r.Past {
		past[s] = true
	}
	heads := []Version{w.version(w.IntN(4) == 0)}
	for n, h := range r.Heads {
		if n == 0 || w.IntN(2) == 0 { // an edit replaces what stands; a choice all of them
			past[h.Sum] = true
			continue
		}
		heads = append(heads, h)
	}
	w.copies[i] = New(heads, past)
}

func same(a, b Record) bool {
	return slices.Equal(a.Heads, b.Heads) && (len(a.Past) == 0 && len(b.Past) == 0 || reflect.DeepEqual(a.Past, b.Past))
}

func TestLaws(t *testing.T) {
	conflicts := 0
	for seed := range uint64(20000) {
		w := newWorld(seed, 3)
		a, b, c := w.copies[0], w.copies[1], w.copies[2]
		ab := Join(a, b)
		if !same(ab, Join(b, a)) {
			t.Fatalf("seed %d: A and B are not B and A: %v, %v", seed, ab, Join(b, a))
		}
		if !same(ab, Join(ab, b)) || !same(ab, Join(ab, a)) || !same(a, Join(a, a)) {
			t.Fatalf("seed %d: merging twice is not merging once: %v", seed, ab)
		}
		left, right := Join(ab, c), Join(a, Join(b, c))
		if !same(left, right) || !same(left, Join(Join(c, a), b)) {
			t.Fatalf("seed %d: the order matters: %v, %v", seed, left, right)
		}
		if len(left.Open()) > 0 {
			conflicts++
		}
		w.holds(t, seed, left)
	}
	if conflicts < 1000 {
		t.Errorf("only %d worlds had a conflict: the laws were hardly tried", conflicts)
	}
}

// holds fails when a version is gone though nobody who knew it wrote another
// in its place.
func (w *world) holds(t *testing.T, seed uint64, all Record) {
	t.Helper()
	for _, c := range w.copies {
		for _, h := range c.Heads {
			if !slices.Contains(all.Heads, h) && !all.Past[h.Sum] {
				t.Fatalf("seed %d: version %v is lost in %v", seed, h, all)
			}
		}
	}
}

func at(n int, deleted bool) Version {
	return Version{Sum: int64(n), Changed: fmt.Sprintf("2027-03-01T12:00:%02d.000Z", n), Deleted: deleted}
}

func past(sums ...int64) map[int64]bool {
	out := map[int64]bool{}
	for _, s := range sums {
		out[s] = true
	}
	return out
}

func TestDecisions(t *testing.T) {
	for name, c := range map[string]struct {
		a, b     Record
		stands   int64
		open     []int64
		outlived bool
	}{
		"only here":                    {New([]Version{at(1, false)}, nil), Record{}, 1, nil, false},
		"edited there alone":           {New([]Version{at(1, false)}, nil), New([]Version{at(2, false)}, past(1)), 2, nil, false},
		"edited twice there":           {New([]Version{at(1, false)}, nil), New([]Version{at(3, false)}, past(1, 2)), 3, nil, false},
		"edited in both":               {New([]Version{at(2, false)}, past(1)), New([]Version{at(3, false)}, past(1)), 3, []int64{2}, false},
		"deleted there alone":          {New([]Version{at(1, false)}, nil), New([]Version{at(2, true)}, past(1)), 2, nil, false},
		"changed after it was deleted": {New([]Version{at(3, false)}, past(1)), New([]Version{at(2, true)}, past(1)), 3, nil, true},
		"deleted after it was changed": {New([]Version{at(2, false)}, past(1)), New([]Version{at(3, true)}, past(1)), 3, nil, false},
		"chosen there":                 {New([]Version{at(3, false), at(2, false)}, past(1)), New([]Version{at(4, false)}, past(1, 2, 3)), 4, nil, false},
		"edited there, still open":     {New([]Version{at(3, false), at(2, false)}, past(1)), New([]Version{at(4, false), at(2, false)}, past(1, 3)), 4, []int64{2}, false},
		"each past for the other":      {New([]Version{at(1, false)}, past(2)), New([]Version{at(2, false)}, past(1)), 2, nil, false},
	} {
		got := Join(c.a, c.b)
		v, ok := got.Stands()
		var open []int64
		for _, o := range got.Open() {
			open = append(open, o.Sum)
		}
		if !ok || v.Sum != c.stands || !slices.Equal(open, c.open) || got.Outlived() != c.outlived {
			t.Errorf("%s: %d stands, %v open, outlived %v", name, v.Sum, open, got.Outlived())
		}
	}
	if _, ok := Join(Record{}, Record{}).Stands(); ok {
		t.Error("nothing stands")
	}
}
