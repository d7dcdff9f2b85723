// Package session owns the running book: it takes a save from a screen, has it
// kept, derives the new state and publishes it. Nothing is acknowledged before
// it is kept.
//
// It refuses to know how records are stored (a Keeper does) and how a state is
// drawn.
package session

import (
	"context"
	"errors"
	"fmt"
	"io"
	"sync"
	"time"

	"quietwater/app/store"
	"quietwater/model"
	"quietwater/model/household"
	"quietwater/model/merge"
	"quietwater/model/strip"
)

// Keeper keeps records for good. Save returns only after they are safe.
type Keeper interface {
	Load(context.Context) (household.Records, error)
	Save(context.Context, string, household.Changes) error
	// Undo takes the newest save back; false when there is none.
	Undo(context.Context) (bool, error)
	// Last tells what Undo would take back; false when there is nothing.
	Last(context.Context) (household.Last, bool, error)
	// Compare tells what another copy of the book, a file, would bring; Merge
	// takes it in as one save. Same are persons who were entered twice.
	Compare(ctx context.Context, path string) (merge.Coming, error)
	Merge(ctx context.Context, author, path string, same [][2]model.ID) (merge.Coming, error)
	// Choose makes one form of a record the only one.
	Choose(ctx context.Context, author string, of merge.Twofold, form int64) error
	// Removed lists who was removed and not yet forgotten; Knowing the safe copies
	// that hold one of them; Forget forgets them for good, and in those copies too
	// if it is told to.
	Removed(context.Context) ([]model.Person, error)
	Knowing(context.Context, model.ID) ([]Copy, error)
	Forget(ctx context.Context, person model.ID, copies bool) error
	Path() string // where the book lies, "" for one that is not kept
	// Snapshot makes a safe copy beside the book and names it.
	Snapshot(context.Context) (string, error)
	// KeepPicture keeps a picture with an entry that was saved; Picture gives it
	// back with the file it lies in, "" for none.
	KeepPicture(PictureOf, []byte) error
	Picture(PictureOf) (content []byte, path string, err error)
	Close(context.Context) error
}

// PictureOf says which picture of an entry.
type PictureOf = store.PictureKey

// Copy is a safe copy of the book; Err tells that it cannot be read.
type Copy = store.Snapshot

// Clock tells the time. Mono counts from anywhere and never jumps.
type Clock interface {
	Now() time.Time
	Mono() time.Duration
}

// Session is one open book. Its methods may be called from any goroutine.
type Session struct {
	keeper Keeper
	clock  Clock
	rand   io.Reader

	mu      sync.Mutex
	records household.Records
	state   *household.State
	version int
	watch   func(*household.State)
	due     []*household.State // kept, but not yet told
	telling bool
}

// Open loads the book.
func Open(ctx context.Context, k Keeper, c Clock, rand io.Reader) (*Session, error) {
	s := &Session{keeper: k, clock: c, rand: rand}
	r, err := k.Load(ctx)
	if err != nil {
		return nil, err
	}
	s.take(r)
	return s, nil
}

// take derives and publishes. The caller holds mu, or is alone.
func (s *Session) take(r household.Records) {
	s.records = r
	st := household.Derive(r, s.clock.Now())
	s.version++
	st.Version = s.version
	s.state = &st
}

// Watch has fn called with the state after every save and undo: one call at a
// time, in the order they were kept, on a goroutine that saves. fn may save.
func (s *Session) Watch(fn func(*household.State)) {
	s.mu.Lock()
	defer s.mu.Unlock()
	s.watch = fn
}

// State is the newest state; it is never changed once handed out.
func (s *Session) State() *household.State {
	s.mu.Lock()
	defer s.mu.Unlock()
	return s.state
}

// Refresh derives the state anew because time has passed. Deriving ten years
// takes a while and is done without the lock: a save that comes meanwhile wins.
func (s *Session) Refresh() *household.State {
	s.mu.Lock()
	r, version := s.records, s.version
	s.mu.Unlock()
	st := household.Derive(r, s.clock.Now())
	s.mu.Lock()
	defer s.mu.Unlock()
	if s.version == version {
		s.version++
		st.Version = s.version
		s.state = &st
	}
	return s.state
}

// Now is the time of the household.
func (s *Session) Now() time.Time { return s.clock.Now() }

// Tick looks at both clocks, for the guided test.
func (s *Session) Tick() strip.Tick { return strip.Tick{Mono: s.clock.Mono(), Wall: s.clock.Now()} }

// NewID draws an identity.
func (s *Session) NewID() model.ID {
	id, err := model.NewID(s.rand)
	if err != nil {
		panic(err) // the system's randomness is gone: nothing can be saved safely
	}
	return id
}

// Path is where the book lies, "" for one that is not kept.
func (s *Session) Path() string { return s.keeper.Path() }

// Invalid is a save that was refused before anything was touched.
type Invalid struct{ Problems []model.Problem }

func (e *Invalid) Error() string { return fmt.Sprintf("not saved: %s", e.Problems[0].Why.Key) }

// Tell gives the first problem.
func (e *Invalid) Tell() model.Msg { return e.Problems[0].Why }

// Save checks, keeps and publishes. When it returns an error nothing was
// saved, and what was typed is still the caller's.
func (s *Session) Save(ctx context.Context, c household.Changes) error {
	s.mu.Lock()
	if ps := c.Validate(s.clock.Now()); len(ps) > 0 {
		s.mu.Unlock()
		return &Invalid{ps}
	}
	if err := s.keeper.Save(ctx, s.records.Settings[household.SetAuthor], c); err != nil {
		s.mu.Unlock()
		return err
	}
	after := s.records.Apply(c)
	if len(after.Twofold) > 0 { // what was just saved may stand in two forms
		r, err := s.keeper.Load(ctx)
		if err != nil {
			s.mu.Unlock()
			return err
		}
		after = r
	}
	s.take(after)
	s.publish()
	return nil
}

// Compare tells what another copy of the book would bring.
func (s *Session) Compare(ctx context.Context, path string) (merge.Coming, error) {
	return s.keeper.Compare(ctx, path)
}

// Merge takes another copy of the book in: a save like any other, which Undo
// takes back.
func (s *Session) Merge(ctx context.Context, path string, same [][2]model.ID) (merge.Coming, error) {
	var brought merge.Coming
	err := s.anew(ctx, func(author string) (err error) {
		brought, err = s.keeper.Merge(ctx, author, path, same)
		return err
	})
	return brought, err
}

// Choose makes one form of a record that stands in two the only one.
func (s *Session) Choose(ctx context.Context, of merge.Twofold, form int64) error {
	return s.anew(ctx, func(author string) error { return s.keeper.Choose(ctx, author, of, form) })
}

// Removed lists who was removed and not yet forgotten.
func (s *Session) Removed(ctx context.Context) ([]model.Person, error) { return s.keeper.Removed(ctx) }

// Knowing lists the safe copies that hold a person.
func (s *Session) Knowing(ctx context.Context, person model.ID) ([]Copy, error) {
	return s.keeper.Knowing(ctx, person)
}

// Forget forgets a person for good, and in the safe copies too if it is told to:
// nothing takes it back. The state is new even after an error, which may tell of
// a trace that is left.
func (s *Session) Forget(ctx context.Context, person model.ID, copies bool) error {
	var failed error
	err := s.anew(ctx, func(string) error {
		failed = s.keeper.Forget(ctx, person, copies)
		return nil
	})
	return errors.Join(failed, err)
}

// anew has something kept that only the keeper knows, reads the book again and
// publishes it. What takes seconds holds nobody up: a save that comes meanwhile
// is in the book that is read.
func (s *Session) anew(ctx context.Context, do func(author string) error) error {
	s.mu.Lock()
	author := s.records.Settings[household.SetAuthor]
	s.mu.Unlock()
	if err := do(author); err != nil {
		return err
	}
	s.mu.Lock()
	r, err := s.keeper.Load(ctx)
	if err != nil {
		s.mu.Unlock()
		return err
	}
	s.take(r)
	s.publish()
	return nil
}

// Last tells what Undo would take back; false when there is nothing.
func (s *Session) Last(ctx context.Context) (household.Last, bool, error) { return s.keeper.Last(ctx) }

// Undo takes the newest save back; false when there is none.
func (s *Session) Undo(ctx context.Context) (bool, error) {
	s.mu.Lock()
	done, err := s.keeper.Undo(ctx)
	if err != nil || !done {
		s.mu.Unlock()
		return false, err
	}
	r, err := s.keeper.Load(ctx)
	if err != nil {
		s.mu.Unlock()
		return false, err
	}
	s.take(r)
	s.publish()
	return true, nil
}

// publish lets go of mu and tells the watcher. Whoever is telling already tells
// this state too, so that a screen never goes back to an older one.
func (s *Session) publish() {
	s.due = append(s.due, s.state)
	if s.telling {
		s.mu.Unlock()
		return
	}
	s.telling = true
	for len(s.due) > 0 {
		fn, st := s.watch, s.due[0]
		s.due = s.due[1:]
		s.mu.Unlock()
		if fn != nil {
			fn(st)
		}
		s.mu.Lock()
	}
	s.telling = false
	s.mu.Unlock()
}

// Snapshot makes a safe copy beside the book and names it.
func (s *Session) Snapshot(ctx context.Context) (string, error) { return s.keeper.Snapshot(ctx) }

// KeepPicture keeps a picture with an entry that was saved.
func (s *Session) KeepPicture(of PictureOf, content []byte) error {
	return s.keeper.KeepPicture(of, content)
}

// Picture gives it back, with the file it lies in, "" for none.
func (s *Session) Picture(of PictureOf) ([]byte, string, error) { return s.keeper.Picture(of) }

// Close keeps a snapshot and lets the book go, after a save that is under way.
func (s *Session) Close(ctx context.Context) error {
	s.mu.Lock()
	defer s.mu.Unlock()
	return s.keeper.Close(ctx)
}
