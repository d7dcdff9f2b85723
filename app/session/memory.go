package session

import (
	"context"
	"maps"
	"slices"
	"sync"

	"quietwater/app/store"
	"quietwater/model"
	"quietwater/model/household"
	"quietwater/model/merge"
)

// Memory is a book that is never written: the demo household.
type Memory struct {
	past []household.Records

	mu       sync.Mutex
	pictures map[PictureOf][]byte
}

// NewMemory starts from the given records.
func NewMemory(r household.Records) *Memory {
	return &Memory{past: []household.Records{r}, pictures: map[PictureOf][]byte{}}
}

// Load gives the newest records.
func (m *Memory) Load(context.Context) (household.Records, error) { return m.past[len(m.past)-1], nil }

// Save keeps the changes until the program ends. As in a book on disk,
// settings alone are no step to undo, and a draft is never taken back.
func (m *Memory) Save(_ context.Context, _ string, c household.Changes) error {
	if settingsOnly(c) {
		m.inAll(c)
		return nil
	}
	for _, key := range household.Drafts() {
		if d, has := c.Settings[key]; has {
			m.inAll(household.Changes{Settings: map[string]string{key: d}})
		}
	}
	m.past = append(m.past, m.past[len(m.past)-1].Apply(c))
	return nil
}

// inAll makes a change that no undo takes back.
func (m *Memory) inAll(c household.Changes) {
	for i := range m.past {
		m.past[i] = m.past[i].Apply(c)
	}
}

func settingsOnly(c household.Changes) bool {
	return len(c.Persons)+len(c.Entries)+len(c.Packs)+len(c.Kinds)+
		len(c.RemoveEntries)+len(c.RemovePacks)+len(c.RemoveKinds)+len(c.RemovePersons) == 0
}

// Undo forgets the newest save.
func (m *Memory) Undo(context.Context) (bool, error) {
	if len(m.past) == 1 {
		return false, nil
	}
	m.past = m.past[:len(m.past)-1]
	return true, nil
}

// Last compares the two newest states.
func (m *Memory) Last(context.Context) (household.Last, bool, error) {
	if len(m.past) == 1 {
		return household.Last{}, false, nil
	}
	before, after := m.past[len(m.past)-2], m.past[len(m.past)-1]
	touched, named := household.Touched(before.Book.Entries, after.Book.Entries), household.NamedTouched(before, after)
	return household.Last{Records: len(touched) + len(named), Entries: touched, Named: named}, true, nil
}

// Compare, Merge and Choose have nothing to work on: the invented household is
// never written.
func (m *Memory) Compare(context.Context, string) (merge.Coming, error) {
	return merge.Coming{}, told(store.ErrReadOnly)
}

// Merge takes nothing in.
func (m *Memory) Merge(context.Context, string, string, [][2]model.ID) (merge.Coming, error) {
	return merge.Coming{}, told(store.ErrReadOnly)
}

// Choose finds nothing to choose from.
func (m *Memory) Choose(context.Context, string, merge.Twofold, int64) error {
	return told(store.ErrNotFound)
}

// Removed lists who was there before and is not any more.
func (m *Memory) Removed(context.Context) (out []model.Person, err error) {
	now := m.past[len(m.past)-1].Book.Persons
	for _, r := range slices.Backward(m.past) {
		for _, p := range r.Book.Persons {
			same := func(o model.Person) bool { return o.ID == p.ID }
			if !slices.ContainsFunc(now, same) && !slices.ContainsFunc(out, same) {
				out = append(out, p)
			}
		}
	}
	return out, nil
}

// Knowing finds nothing: there are no copies.
func (m *Memory) Knowing(context.Context, model.ID) ([]Copy, error) { return nil, nil }

// Forget removes a person from all there ever was.
func (m *Memory) Forget(_ context.Context, person model.ID, _ bool) error {
	m.inAll(household.Changes{RemovePersons: []model.ID{person}})
	m.mu.Lock()
	defer m.mu.Unlock()
	maps.DeleteFunc(m.pictures, func(of PictureOf, _ []byte) bool { return of.Person == person })
	return nil
}

// Path is "": the book lies nowhere.
func (m *Memory) Path() string { return "" }

// Snapshot has nothing to copy.
func (m *Memory) Snapshot(context.Context) (string, error) { return "", nil }

// KeepPicture keeps a picture until the program ends.
func (m *Memory) KeepPicture(of PictureOf, content []byte) error {
	m.mu.Lock()
	defer m.mu.Unlock()
	m.pictures[of] = content
	return nil
}

// Picture gives it back; it lies in no file.
func (m *Memory) Picture(of PictureOf) ([]byte, string, error) {
	m.mu.Lock()
	defer m.mu.Unlock()
	if content, ok := m.pictures[of]; ok {
		return content, "", nil
	}
	return nil, "", told(store.ErrNotFound)
}

// Close has nothing to let go.
func (m *Memory) Close(context.Context) error { return nil }
