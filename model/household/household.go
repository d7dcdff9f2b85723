// Package household owns the one read model of a book: from all records and
// the time it derives what every screen shows. It keeps nothing between calls,
// so nothing can go stale.
//
// It refuses to know where records are kept and how a state is drawn.
package household

import (
	"cmp"
	"slices"
	"time"

	"quietwater/model"
	"quietwater/model/finding"
	"quietwater/model/merge"
	"quietwater/model/strip"
)

// Records is everything a book holds.
type Records struct {
	Book     model.Book
	OwnKinds []strip.Kind // the household's own strip kinds, besides the generic ones
	Settings map[string]string
	// Twofold are the records that two copies of the book changed differently,
	// until somebody chooses.
	Twofold []merge.Twofold
}

// Kinds are the strip kinds a pack may be of: the household's own first.
func (r Records) Kinds() []strip.Kind { return slices.Concat(r.OwnKinds, strip.Generic()) }

// Member is one person as of now.
type Member struct {
	Person model.Person
	Facts  model.Facts
	Result finding.Result
	Quiet  finding.Quiet
}

// PackState is one pack as of now.
type PackState struct {
	Pack       model.Pack
	Kind       strip.Kind
	KindKnown  bool
	Shelf      strip.Shelf
	Freshness  strip.Freshness
	Left       int
	LeftKnown  bool
	DaysLeft   int  // until the last good day; only with a known shelf
	EndingSoon bool // within strip.WarnDays, or only a few strips left
	Empty      bool
}

// FewStrips is how many strips left count as running out (common practice).
const FewStrips = 5

// State is what all screens draw. It is never changed once made.
type State struct {
	Version int
	Now     time.Time
	Records Records
	Members []Member    // by name
	Packs   []PackState // first to be used first
}

// Derive computes the state of a book at the time now, whose location is the
// household's zone.
func Derive(r Records, now time.Time) State {
	s := State{Now: now, Records: r}
	in := finding.Input{Book: r.Book, Kinds: r.Kinds(), Now: now}
	others := r.others()
	for _, p := range r.Book.Persons {
		res := finding.Run(in, p)
		for _, other := range others {
			res = res.Besides(finding.Run(finding.Input{Book: other, Kinds: in.Kinds, Now: now}, p))
		}
		s.Members = append(s.Members, Member{p, res.History.Facts, res, res.QuietState()})
	}
	slices.SortFunc(s.Members, func(a, b Member) int {
		return cmp.Or(cmp.Compare(a.Person.Name, b.Person.Name), cmp.Compare(a.Person.ID, b.Person.ID))
	})
	used := map[model.ID][]model.Entry{}
	for _, e := range r.Book.Entries {
		if e.Kind == model.Strip && e.Pack != "" {
			used[e.Pack] = append(used[e.Pack], e)
		}
	}
	for _, p := range r.Book.Packs {
		s.Packs = append(s.Packs, packState(p, in.Kinds, used[p.ID], now))
	}
	slices.SortFunc(s.Packs, comparePacks)
	return s
}

// others are the books as they would be if the second form of all that stands
// in several stood, the third, and so on; none where nothing does.
func (r Records) others() (out []model.Book) {
	for n := 1; ; n++ {
		b, differs := r.Book, false
		for _, t := range r.Twofold {
			if n >= len(t.Forms) {
				continue
			}
			if e := t.Forms[n].Entry; e != nil {
				b.Entries, differs = replaced(b.Entries, *e, func(o model.Entry) bool { return o.ID == e.ID }), true
				model.SortEntries(b.Entries)
			}
			if p := t.Forms[n].Pack; p != nil {
				b.Packs, differs = replaced(b.Packs, *p, func(o model.Pack) bool { return o.ID == p.ID }), true
			}
		}
		if !differs {
			return out
		}
		out = append(out, b)
	}
}

// replaced is a copy of list with x for the one that is it.
func replaced[T any](list []T, x T, is func(T) bool) []T {
	list = slices.Clone(list)
	if i := slices.IndexFunc(list, is); i >= 0 {
		list[i] = x
	}
	return list
}

// packState is a pack as of now, with the tests made from it.
func packState(p model.Pack, kinds []strip.Kind, used []model.Entry, now time.Time) PackState {
	s := PackState{Pack: p, Shelf: strip.ShelfOf(p)}
	s.Kind, s.KindKnown = strip.FindKind(kinds, p.StripKind)
	s.Freshness = s.Shelf.On(model.At(now), now.Location())
	s.Left, s.LeftKnown = strip.Stock(p, used)
	if !s.Shelf.Until.IsZero() {
		s.DaysLeft = s.Shelf.DaysLeft(now)
		s.EndingSoon = s.DaysLeft >= 0 && s.DaysLeft <= strip.WarnDays
	}
	s.Empty = s.LeftKnown && s.Left == 0
	s.EndingSoon = s.EndingSoon || s.LeftKnown && s.Left <= FewStrips && !s.Empty
	return s
}

// comparePacks puts first what should be used first: usable before stale or
// empty, opened before sealed, then the one that ends first.
func comparePacks(a, b PackState) int {
	return cmp.Or(
		cmp.Compare(a.wait(), b.wait()),
		boolFirst(!a.Pack.OpenedOn.IsZero(), !b.Pack.OpenedOn.IsZero()),
		a.Shelf.Until.Compare(b.Shelf.Until),
		cmp.Compare(a.Pack.Label, b.Pack.Label), cmp.Compare(a.Pack.ID, b.Pack.ID))
}

// wait ranks how little a pack is fit for use.
func (s PackState) wait() int {
	switch {
	case s.Empty:
		return 3
	case s.Freshness == strip.Stale:
		return 2
	case s.Freshness == strip.Questionable:
		return 1
	}
	return 0
}

func boolFirst(a, b bool) int {
	switch {
	case a == b:
		return 0
	case a:
		return -1
	}
	return 1
}

// Member finds a person's state.
func (s State) Member(id model.ID) (Member, bool) {
	i := slices.IndexFunc(s.Members, func(m Member) bool { return m.Person.ID == id })
	if i < 0 {
		return Member{}, false
	}
	return s.Members[i], true
}

// Pack finds a pack's state.
func (s State) Pack(id model.ID) (PackState, bool) {
	i := slices.IndexFunc(s.Packs, func(p PackState) bool { return p.Pack.ID == id })
	if i < 0 {
		return PackState{}, false
	}
	return s.Packs[i], true
}

// PacksFor are the packs a person may use: their own and the household's, in
// the order they should be used.
func (s State) PacksFor(id model.ID) []PackState {
	var out []PackState
	for _, p := range s.Packs {
		if p.Pack.Person == "" || p.Pack.Person == id {
			out = append(out, p)
		}
	}
	return out
}

// Todos are the open findings that carry a due time, soonest first.
func (s State) Todos() []finding.Finding {
	var out []finding.Finding
	for _, m := range s.Members {
		for _, f := range m.Result.Open {
			if f.Due != nil {
				out = append(out, f)
			}
		}
	}
	slices.SortStableFunc(out, func(a, b finding.Finding) int { return a.Due.From.Compare(b.Due.From) })
	return out
}
