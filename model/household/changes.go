package household

import (
	"maps"
	"slices"
	"time"

	"quietwater/model"
	"quietwater/model/strip"
)

// Changes is everything one save does; it is saved whole or not at all, and
// undone whole.
type Changes struct {
	Persons  []model.Person
	Entries  []model.Entry
	Packs    []model.Pack
	Kinds    []strip.Kind
	Settings map[string]string // an empty value removes the setting

	RemoveEntries []model.ID
	RemovePacks   []model.ID
	RemoveKinds   []string   // of the household's own
	RemovePersons []model.ID // with all their entries and their own packs
}

// Validate says what is wrong with the changes at the time now; nil when they
// may be saved.
func (c Changes) Validate(now time.Time) []model.Problem {
	var out []model.Problem
	for _, e := range c.Entries {
		out = append(out, e.Validate(now)...)
	}
	for _, p := range c.Persons {
		if p.Name == "" || len(p.Name) > model.MaxLabel {
			out = append(out, model.Problem{Field: "person", Why: model.T("problem.person-missing")})
		}
	}
	for _, p := range c.Packs {
		if p.Label == "" || len(p.Label) > model.MaxLabel {
			out = append(out, model.Problem{Field: "note", Why: model.T("problem.pack-label-missing")})
		}
	}
	for _, k := range c.Kinds {
		if k.Check() != nil {
			out = append(out, model.Problem{Field: "kind-of-strip", Why: model.T("problem.strip-kind")})
		}
	}
	return out
}

// Apply returns the records after the changes; r itself stays as it was.
func (r Records) Apply(c Changes) Records {
	r.Book.Persons = upsert(r.Book.Persons, c.Persons, func(p model.Person) model.ID { return p.ID })
	r.Book.Entries = entriesAfter(r.Book.Entries, c)
	r.Book.Packs = upsert(r.Book.Packs, c.Packs, func(p model.Pack) model.ID { return p.ID })
	r.OwnKinds = upsert(r.OwnKinds, c.Kinds, func(k strip.Kind) string { return k.ID })
	if len(c.RemoveKinds) > 0 {
		r.OwnKinds = slices.DeleteFunc(slices.Clone(r.OwnKinds), func(k strip.Kind) bool { return slices.Contains(c.RemoveKinds, k.ID) })
	}
	r.Settings = maps.Clone(r.Settings)
	if r.Settings == nil {
		r.Settings = map[string]string{}
	}
	for k, v := range c.Settings {
		if r.Settings[k] = v; v == "" {
			delete(r.Settings, k)
		}
	}
	r.Book.Packs = slices.DeleteFunc(r.Book.Packs, func(p model.Pack) bool {
		return slices.Contains(c.RemovePacks, p.ID) || p.Person != "" && slices.Contains(c.RemovePersons, p.Person)
	})
	r.Book.Persons = slices.DeleteFunc(r.Book.Persons, func(p model.Person) bool { return slices.Contains(c.RemovePersons, p.ID) })
	return r
}

// entriesAfter returns the entries after the changes, in time order: whoever
// derives from them need not sort the entries of many years again.
func entriesAfter(old []model.Entry, c Changes) []model.Entry {
	if len(c.Entries)+len(c.RemoveEntries)+len(c.RemovePersons) == 0 {
		return old
	}
	last := map[model.ID]int{} // of an entry named twice the later one holds
	for i, e := range c.Entries {
		last[e.ID] = i
	}
	replaced := slices.Clone(c.RemoveEntries)
	for id := range last {
		replaced = append(replaced, id)
	}
	gone, removed, left := among(replaced), among(c.RemoveEntries), among(c.RemovePersons)
	out := make([]model.Entry, 0, len(old)+len(c.Entries))
	for i := range old {
		if e := &old[i]; !gone(e.ID) && !left(e.Person) {
			out = append(out, *e)
		}
	}
	for i, e := range c.Entries {
		if last[e.ID] == i && !removed(e.ID) && !left(e.Person) {
			out = append(out, e)
		}
	}
	model.SortEntries(out)
	return out
}

// among tells whether an identity is one of ids: by looking through the one or
// two of nearly every save, which is quickest, or through a set of many.
func among(ids []model.ID) func(model.ID) bool {
	if len(ids) <= 8 {
		return func(id model.ID) bool { return slices.Contains(ids, id) }
	}
	set := make(map[model.ID]bool, len(ids))
	for _, id := range ids {
		set[id] = true
	}
	return func(id model.ID) bool { return set[id] }
}

// upsert returns a new slice with changed items replaced in place and new ones
// added at the end.
func upsert[T any, K comparable](old, changed []T, key func(T) K) []T {
	out := slices.Clone(old)
	at := make(map[K]int, len(old))
	for i, o := range old {
		at[key(o)] = i
	}
	for _, c := range changed {
		if i, known := at[key(c)]; known {
			out[i] = c
			continue
		}
		at[key(c)] = len(out)
		out = append(out, c)
	}
	return out
}
