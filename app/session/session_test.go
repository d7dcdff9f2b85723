package session

import (
	"context"
	"errors"
	"fmt"
	"go/ast"
	"go/parser"
	"go/token"
	"maps"
	"math/rand/v2"
	"os"
	"path/filepath"
	"reflect"
	"slices"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/BurntSushi/toml"

	"quietwater/app/store"
	"quietwater/model"
	"quietwater/model/household"
	"quietwater/model/strip"
)

var (
	ctx = context.Background()
	now = time.Date(2026, 11, 25, 10, 0, 0, 0, time.FixedZone("", 3600))
)

// still is a clock that stands until it is set.
type still struct{ at time.Time }

func (s *still) Now() time.Time      { return s.at }
func (s *still) Mono() time.Duration { return s.at.Sub(now) }

// keeper is a Memory that fails when told to, and can be made to wait.
type keeper struct {
	*Memory
	fail, failLoad error
	saved          []string // authors
	saving         func()
}

func (k *keeper) Save(c context.Context, author string, ch household.Changes) error {
	if k.saving != nil {
		k.saving()
	}
	if k.fail != nil {
		return k.fail
	}
	k.saved = append(k.saved, author)
	return k.Memory.Save(c, author, ch)
}

func (k *keeper) Load(c context.Context) (household.Records, error) {
	if k.failLoad != nil {
		return household.Records{}, k.failLoad
	}
	return k.Memory.Load(c)
}

func open(t testing.TB, k Keeper) *Session {
	t.Helper()
	s, err := Open(ctx, k, &still{now}, rand.NewChaCha8([32]byte{1}))
	if err != nil {
		t.Fatal(err)
	}
	return s
}

func onDisk(t testing.TB, path string) *Session {
	t.Helper()
	b, err := store.Open(ctx, store.Options{Path: path, Now: func() time.Time { return now }, Zone: now.Location()})
	if err != nil {
		t.Fatal(err)
	}
	s := open(t, NewKept(b))
	t.Cleanup(func() { s.Close(ctx) })
	return s
}

func rosa(id model.ID) model.Person { return model.Person{ID: id, Name: "Rosa"} }

func weight(id, who model.ID, kg string) model.Entry {
	n, _ := model.ParseNumber(kg)
	return model.Entry{ID: id, Person: who, Kind: model.Vital, When: model.At(now.Add(-time.Hour)),
		Values: []model.Value{{Code: "weight", Number: n, Typed: kg, Unit: "kg"}}}
}

func TestNothingIsAcknowledgedBeforeItIsKept(t *testing.T) {
	k := &keeper{Memory: NewMemory(household.Records{})}
	s := open(t, k)
	before := s.State()
	told := 0
	s.Watch(func(*household.State) { told++ })
	k.saving = func() {
		if s.state != before || told > 0 { // mu is held by Save itself
			t.Error("the state was published before it was kept")
		}
	}
	who := s.NewID()
	if err := s.Save(ctx, household.Changes{Persons: []model.Person{rosa(who)}, Settings: map[string]string{household.SetAuthor: "Ana"}}); err != nil {
		t.Fatal(err)
	}
	k.saving = nil
	if told != 1 || len(s.State().Members) != 1 || s.State().Version <= before.Version {
		t.Errorf("told %d times, %d members", told, len(s.State().Members))
	}
	if len(before.Members) != 0 {
		t.Error("a state that was handed out has changed")
	}
	if err := s.Save(ctx, household.Changes{Entries: []model.Entry{weight(s.NewID(), who, "61.5")}}); err != nil {
		t.Fatal(err)
	}
	if want := []string{"", "Ana"}; !slices.Equal(k.saved, want) {
		t.Errorf("authors %q, want %q", k.saved, want)
	}
}

func TestAFailingKeeperChangesNothing(t *testing.T) {
	k := &keeper{Memory: NewMemory(household.Records{})}
	s := open(t, k)
	s.Watch(func(*household.State) { t.Error("something was published") })
	before := s.State()
	k.fail = told(fmt.Errorf("%w: %w", store.ErrNotSaved, store.ErrDiskFull))
	err := s.Save(ctx, household.Changes{Persons: []model.Person{rosa(s.NewID())}})
	speaks := model.Told(nil)
	if !errors.As(err, &speaks) || speaks.Tell().Key != "trouble.disk-full" || !errors.Is(err, store.ErrDiskFull) {
		t.Errorf("the error says %v", err)
	}
	if s.State() != before {
		t.Error("the state changed though nothing was kept")
	}
	if done, err := s.Undo(ctx); done || err != nil {
		t.Errorf("a save that failed can be undone: %v, %v", done, err)
	}
}

func TestInvalidIsRefusedBeforeTheKeeper(t *testing.T) {
	k := &keeper{Memory: NewMemory(household.Records{})}
	k.saving = func() { t.Error("the keeper was asked") }
	s := open(t, k)
	before := s.State()
	late := weight("e", "p", "61.5")
	late.When = model.At(now.Add(48 * time.Hour))
	for name, c := range map[string]household.Changes{
		"no name":      {Persons: []model.Person{{ID: "p"}}},
		"in two days":  {Entries: []model.Entry{late}},
		"no label":     {Packs: []model.Pack{{ID: "k"}}},
		"no such kind": {Kinds: []strip.Kind{{}}},
		"two things":   {Persons: []model.Person{{ID: "p"}}, Entries: []model.Entry{late}},
	} {
		err := s.Save(ctx, c)
		bad, speaks := (*Invalid)(nil), model.Told(nil)
		if !errors.As(err, &bad) || len(bad.Problems) == 0 || !errors.As(err, &speaks) || speaks.Tell().IsZero() || bad.Error() == "" {
			t.Errorf("%s: %v", name, err)
		}
		if name == "two things" && len(bad.Problems) < 2 {
			t.Errorf("%s: only %v", name, bad.Problems)
		}
	}
	if s.State() != before {
		t.Error("the state changed")
	}
}

func TestUndoAfterRestart(t *testing.T) {
	path := filepath.Join(t.TempDir(), "a.book")
	s := onDisk(t, path)
	who, e := s.NewID(), s.NewID()
	for _, c := range []household.Changes{
		{Persons: []model.Person{rosa(who)}},
		{Entries: []model.Entry{weight(e, who, "61.5")}},
		{Entries: []model.Entry{weight(e, who, "65.1")}},
		{Settings: map[string]string{household.SetScale: "200"}}, // no step to undo
		{RemoveEntries: []model.ID{e}},
	} {
		if err := s.Save(ctx, c); err != nil {
			t.Fatal(err)
		}
	}
	for i, want := range []string{"65.1", "61.5", "", "nobody"} {
		if err := s.Close(ctx); err != nil {
			t.Fatal(err)
		}
		s = onDisk(t, path)
		told := 0
		s.Watch(func(*household.State) { told++ })
		done, err := s.Undo(ctx)
		if err != nil || !done || told != 1 {
			t.Fatalf("undo %d: %v, %v, told %d times", i, done, err, told)
		}
		if got := weighs(s.State()); got != want {
			t.Errorf("undo %d: weighs %q, want %q", i, got, want)
		}
		if s.State().Records.Scale() != 200 {
			t.Errorf("undo %d took a setting back", i)
		}
	}
	if done, err := s.Undo(ctx); done || err != nil {
		t.Errorf("undo of nothing: %v, %v", done, err)
	}
}

func weighs(st *household.State) string {
	if len(st.Members) == 0 {
		return "nobody"
	}
	var out []string
	for _, e := range st.Records.Book.Entries {
		for _, v := range e.Values {
			out = append(out, v.Text())
		}
	}
	return strings.Join(out, " ")
}

// TestMemoryUndoesLikeABook plays the same saves to both keepers.
func TestMemoryUndoesLikeABook(t *testing.T) {
	mem, disk := open(t, NewMemory(household.Records{})), onDisk(t, filepath.Join(t.TempDir(), "a.book"))
	id := func(n int) model.ID { return model.ID(fmt.Sprintf("%032x", n)) }
	r := rand.New(rand.NewPCG(7, 7))
	both := func(c household.Changes) {
		t.Helper()
		if a, b := mem.Save(ctx, c), disk.Save(ctx, c); a != nil || b != nil {
			t.Fatalf("memory: %v; disk: %v", a, b)
		}
	}
	both(household.Changes{Persons: []model.Person{rosa(id(1))}})
	live := map[int]bool{}
	for step := range 200 {
		switch n := 2 + r.IntN(20); r.IntN(7) {
		case 0, 1:
			live[n] = true
			both(household.Changes{Entries: []model.Entry{weight(id(n), id(1), fmt.Sprint(50+r.IntN(40)))}})
		case 2:
			if live[n] {
				delete(live, n)
				both(household.Changes{RemoveEntries: []model.ID{id(n)}})
			}
		case 3:
			both(household.Changes{Settings: map[string]string{household.SetClinic: []string{"", "123", "456"}[r.IntN(3)]}})
		case 5:
			both(household.KeepDraft(strip.Draft{Pack: id(n)}))
			both(household.Changes{Settings: map[string]string{household.SetSheets: []string{"", "[1]", "[2]"}[r.IntN(3)]}})
		case 6:
			c := household.DropDraft()
			c.Entries = []model.Entry{weight(id(n), id(1), fmt.Sprint(50+r.IntN(40)))}
			live[n] = true
			both(c)
		case 4:
			if len(mem.keeper.(*Memory).past) < 3 {
				continue // the person stays
			}
			a, errA := mem.Undo(ctx)
			b, errB := disk.Undo(ctx)
			if a != b || errA != nil || errB != nil {
				t.Fatalf("step %d: memory %v, %v; disk %v, %v", step, a, errA, b, errB)
			}
			clear(live)
			for _, e := range mem.State().Records.Book.Entries {
				var n int
				fmt.Sscanf(string(e.ID), "%x", &n)
				live[n] = true
			}
		}
		if a, b := content(mem), content(disk); a != b {
			t.Fatalf("step %d\nmemory:\n%s\ndisk:\n%s", step, a, b)
		}
	}
}

func content(s *Session) string {
	r := s.State().Records
	return fmt.Sprint(r.Book.Rows(), slices.Sorted(maps.Keys(r.Settings)), slices.Sorted(maps.Values(r.Settings)))
}

// TestWhatIsShownIsWhatIsKept: the state after a save is the one a restart
// would show.
func TestWhatIsShownIsWhatIsKept(t *testing.T) {
	path := filepath.Join(t.TempDir(), "a.book")
	s := onDisk(t, path)
	d := household.Demo(now)
	all := household.Changes{Persons: d.Book.Persons, Entries: d.Book.Entries, Packs: d.Book.Packs, Kinds: d.OwnKinds, Settings: d.Settings}
	if err := s.Save(ctx, all); err != nil {
		t.Fatal(err)
	}
	own := strip.Generic()[0]
	own.ID = "our-own"
	pack := d.Book.Packs[0].ID
	last := d.Book.Persons[len(d.Book.Persons)-1].ID
	for _, c := range []household.Changes{
		{Kinds: []strip.Kind{own}, Settings: map[string]string{household.SetClinic: "555", household.SetInk: "dark"}},
		{Settings: map[string]string{household.SetInk: ""}},
		{RemoveEntries: []model.ID{d.Book.Entries[0].ID, d.Book.Entries[1].ID}},
		{RemovePacks: []model.ID{pack}},
		{RemovePersons: []model.ID{last}},
		{RemoveKinds: []string{own.ID}},
	} {
		if err := s.Save(ctx, c); err != nil {
			t.Fatal(err)
		}
		shown := s.State().Records
		kept, err := s.keeper.Load(ctx)
		if err != nil {
			t.Fatal(err)
		}
		if !reflect.DeepEqual(shown.Book.Rows(), kept.Book.Rows()) {
			t.Errorf("after %+v shown and kept differ:\n%v\n%v", c, shown.Book.Rows(), kept.Book.Rows())
		}
		if !maps.Equal(shown.Settings, kept.Settings) {
			t.Errorf("settings shown %v, kept %v", shown.Settings, kept.Settings)
		}
		if len(shown.Kinds()) != len(kept.Kinds()) {
			t.Errorf("%d kinds shown, %d kept", len(shown.Kinds()), len(kept.Kinds()))
		}
	}
	shown := s.State().Records
	if err := s.Close(ctx); err != nil {
		t.Fatal(err)
	}
	again := onDisk(t, path).State().Records
	if !reflect.DeepEqual(shown.Book.Rows(), again.Book.Rows()) || !maps.Equal(shown.Settings, again.Settings) {
		t.Error("a restart shows something else")
	}
}

// TestUndoOfATestWhileAnotherIsBegun: a draft must not stand in the way.
func TestUndoOfATestWhileAnotherIsBegun(t *testing.T) {
	for name, s := range map[string]*Session{"memory": open(t, NewMemory(household.Records{})), "disk": onDisk(t, filepath.Join(t.TempDir(), "a.book"))} {
		who := s.NewID()
		draft := strip.Draft{}
		saved := household.DropDraft()
		saved.Entries = []model.Entry{weight(s.NewID(), who, "61.5")}
		sheets := household.Changes{Settings: map[string]string{household.SetSheets: "[]"}}
		for _, c := range []household.Changes{{Persons: []model.Person{rosa(who)}}, household.KeepDraft(draft), saved, household.KeepDraft(draft), sheets, household.KeepShown(who)} {
			if err := s.Save(ctx, c); err != nil {
				t.Fatal(err)
			}
		}
		if done, err := s.Undo(ctx); !done || err != nil {
			t.Errorf("%s: %v, %v", name, done, err)
		}
		if got := weighs(s.State()); got != "" {
			t.Errorf("%s: after undo there is %q", name, got)
		}
		if got := s.State().Records.Settings[household.SetSheets]; got != "[]" {
			t.Errorf("%s: undo took the sheet that is being copied: %q", name, got)
		}
		if got := s.State().Records.Shown(); got != who {
			t.Errorf("%s: undo changed whose page is shown, to %q", name, got)
		}
	}
}

// TestLastNames: what the last change touched has its name, also where it deleted
// it, in a book as in memory.
func TestLastNames(t *testing.T) {
	for name, s := range map[string]*Session{"memory": open(t, NewMemory(household.Records{})), "disk": onDisk(t, filepath.Join(t.TempDir(), "a.book"))} {
		who, tub := s.NewID(), model.Pack{ID: s.NewID(), Label: "Blue tub", StripKind: "ten-pads", Sealed: model.Tub}
		own := strip.Generic()[0]
		own.ID, own.Name = "own-1", "Ours"
		for _, c := range []struct {
			do   household.Changes
			want []household.Named
		}{
			{household.Changes{Persons: []model.Person{rosa(who)}, Packs: []model.Pack{tub}, Kinds: []strip.Kind{own}, Entries: []model.Entry{weight(s.NewID(), who, "60")}},
				[]household.Named{{What: household.NamedKind, Name: "Ours"}, {What: household.NamedPack, Name: "Blue tub"}, {What: household.NamedPerson, Name: rosa(who).Name}}},
			{household.Changes{RemovePacks: []model.ID{tub.ID}}, []household.Named{{What: household.NamedPack, Name: "Blue tub", Gone: true}}},
			{household.Changes{Entries: []model.Entry{weight(s.NewID(), who, "61")}}, nil},
		} {
			if err := s.Save(ctx, c.do); err != nil {
				t.Fatal(err)
			}
			last, _, err := s.Last(ctx)
			slices.SortFunc(last.Named, func(a, b household.Named) int { return strings.Compare(a.What, b.What) })
			if err != nil || !slices.Equal(last.Named, c.want) || last.Records != len(last.Entries)+len(c.want) {
				t.Errorf("%s: %+v, %v; want %+v", name, last, err, c.want)
			}
		}
	}
}

func TestManyHandsAtOnce(t *testing.T) {
	s := onDisk(t, filepath.Join(t.TempDir(), "a.book"))
	who := s.NewID()
	if err := s.Save(ctx, household.Changes{Persons: []model.Person{rosa(who)}}); err != nil {
		t.Fatal(err)
	}
	var told []int // one call at a time: no lock of its own
	s.Watch(func(st *household.State) {
		told = append(told, st.Version)
		if len(told) == 3 { // a watcher may save
			if err := s.Save(ctx, household.Changes{Settings: map[string]string{"seen": "yes"}}); err != nil {
				t.Error(err)
			}
		}
	})
	const hands, each = 8, 5
	var wg sync.WaitGroup
	for h := range hands {
		wg.Go(func() {
			for i := range each {
				id := model.ID(fmt.Sprintf("%030x%02x", h+1, i))
				if err := s.Save(ctx, household.Changes{Entries: []model.Entry{weight(id, who, "61.5")}}); err != nil {
					t.Error(err)
				}
				s.State().Member(who)
				s.Refresh()
			}
		})
	}
	wg.Wait()
	if n := len(s.State().Records.Book.Entries); n != hands*each {
		t.Errorf("%d entries of %d", n, hands*each)
	}
	s.mu.Lock()
	defer s.mu.Unlock()
	if len(told) != hands*each+1 || !slices.IsSorted(told) {
		t.Errorf("told %d times, of versions %v", len(told), told)
	}
}

// TestALaterStateWaitsForTheEarlier: whoever saves while a state is being told
// does not tell its own over it, and is not held up.
func TestALaterStateWaitsForTheEarlier(t *testing.T) {
	s := open(t, NewMemory(household.Records{}))
	begun, goOn, told := make(chan bool), make(chan bool), []int{}
	s.Watch(func(st *household.State) {
		if len(told) == 0 {
			close(begun)
			<-goOn
		}
		told = append(told, st.Version)
	})
	save := func(id model.ID) {
		if err := s.Save(ctx, household.Changes{Persons: []model.Person{rosa(id)}}); err != nil {
			t.Error(err)
		}
	}
	var first sync.WaitGroup
	first.Go(func() { save("a") })
	<-begun
	var second sync.WaitGroup
	second.Go(func() { save("b") })
	second.Wait()
	close(goOn)
	first.Wait()
	if len(s.State().Members) != 2 || len(told) != 2 || told[0] >= told[1] {
		t.Errorf("%d members, told %v", len(s.State().Members), told)
	}
}

func TestRefreshLetsTimePass(t *testing.T) {
	c := &still{now}
	s, err := Open(ctx, NewMemory(household.Demo(now)), c, rand.NewChaCha8([32]byte{}))
	if err != nil {
		t.Fatal(err)
	}
	before := s.State()
	c.at = now.AddDate(2, 0, 0)
	after := s.Refresh()
	if !after.Now.Equal(c.at) || after.Version <= before.Version || s.State() != after || !before.Now.Equal(now) {
		t.Errorf("%v, version %d after %d", after.Now, after.Version, before.Version)
	}
	if tick := s.Tick(); tick.Mono != c.Mono() || !tick.Wall.Equal(c.at) {
		t.Errorf("tick %v", tick)
	}
}

func TestABookThatCannotBeRead(t *testing.T) {
	k := &keeper{Memory: NewMemory(household.Records{}), failLoad: told(store.ErrDamaged)}
	if _, err := Open(ctx, k, &still{now}, nil); !errors.Is(err, store.ErrDamaged) {
		t.Errorf("%v", err)
	}
	k.failLoad = nil
	s := open(t, k)
	if err := s.Save(ctx, household.Changes{Persons: []model.Person{rosa("p")}}); err != nil {
		t.Fatal(err)
	}
	before := s.State()
	k.failLoad = told(store.ErrDamaged)
	if done, err := s.Undo(ctx); done || !errors.Is(err, store.ErrDamaged) || s.State() != before {
		t.Errorf("undo without a way to read: %v, %v", done, err)
	}
}

// storeErrors is every error the store can answer with.
var storeErrors = map[string]error{
	"ErrInUse": store.ErrInUse, "ErrNotABook": store.ErrNotABook, "ErrNewer": store.ErrNewer, "ErrDamaged": store.ErrDamaged,
	"ErrMissing": store.ErrMissing, "ErrReadOnly": store.ErrReadOnly, "ErrReadOnlyFolder": store.ErrReadOnlyFolder,
	"ErrDiskFull": store.ErrDiskFull, "ErrNotSaved": store.ErrNotSaved, "ErrNoSnapshot": store.ErrNoSnapshot,
	"ErrInvalid": store.ErrInvalid, "ErrNotFound": store.ErrNotFound, "ErrOverwritten": store.ErrOverwritten, "ErrExists": store.ErrExists,
}

func TestEveryStoreErrorSpeaks(t *testing.T) {
	f, err := parser.ParseFile(token.NewFileSet(), "../store/errors.go", nil, 0)
	if err != nil {
		t.Fatal(err)
	}
	ast.Inspect(f, func(n ast.Node) bool {
		if v, ok := n.(*ast.ValueSpec); ok && strings.HasPrefix(v.Names[0].Name, "Err") && storeErrors[v.Names[0].Name] == nil {
			t.Errorf("store.%s is not looked at here", v.Names[0].Name)
		}
		return true
	})
	texts := textsOfEveryLanguage(t)
	for name, err := range storeErrors {
		for _, e := range []error{err, fmt.Errorf("saving: %w", err), told(err), told(told(err)), &store.Trouble{Path: "a.book", Err: err}} {
			say := Tell(e)
			if say.Key == "trouble.other" {
				t.Errorf("%s has no words of its own", name)
			}
			for lang, keys := range texts {
				if !keys[say.Key] {
					t.Errorf("%s: %s is not in %s", name, say.Key, lang)
				}
			}
		}
	}
	full := fmt.Errorf("%w: %w", store.ErrNotSaved, store.ErrDiskFull)
	if k := Tell(full).Key; k != "trouble.disk-full" {
		t.Errorf("a full disk while saving is told as %s", k)
	}
	for lang, keys := range texts {
		if !keys["trouble.other"] {
			t.Errorf("%s has no trouble.other", lang)
		}
	}
	if told(nil) != nil {
		t.Error("no error became one")
	}
}

func textsOfEveryLanguage(t *testing.T) map[string]map[string]bool {
	t.Helper()
	out := map[string]map[string]bool{}
	files, err := filepath.Glob("../../i18n/text/*/*.toml")
	if err != nil || len(files) < 2 {
		t.Fatalf("texts: %d files, %v", len(files), err)
	}
	for _, path := range files {
		b, err := os.ReadFile(path)
		if err != nil {
			t.Fatal(err)
		}
		var texts map[string]any
		if err := toml.Unmarshal(b, &texts); err != nil {
			t.Fatalf("%s: %v", path, err)
		}
		lang := filepath.Base(filepath.Dir(path))
		if out[lang] == nil {
			out[lang] = map[string]bool{}
		}
		for k := range texts {
			out[lang][k] = true
		}
	}
	return out
}

// TestMergeAndChoose goes the whole way between two books on disk: what comes,
// one save, one undo, and a choice that holds; a save in between keeps what is
// to be chosen true.
func TestMergeAndChoose(t *testing.T) {
	here := onDisk(t, filepath.Join(t.TempDir(), "here.book"))
	who, e := here.NewID(), model.ID("e")
	save := func(s *Session, c household.Changes) {
		t.Helper()
		if err := s.Save(ctx, c); err != nil {
			t.Fatal(err)
		}
	}
	save(here, household.Changes{Persons: []model.Person{rosa(who)}, Entries: []model.Entry{weight(e, who, "61.5")},
		Settings: map[string]string{household.SetScale: "200", household.SetClinic: "0555 0100", household.SetCups: "here"}})
	other := filepath.Join(t.TempDir(), "there.book")
	b, err := os.ReadFile(here.Path())
	if err != nil {
		t.Fatal(err)
	}
	if err := os.WriteFile(other, b, 0o600); err != nil {
		t.Fatal(err)
	}
	there := onDisk(t, other)
	save(there, household.Changes{Entries: []model.Entry{weight(e, who, "65.1"), weight("f", who, "60")},
		Settings: map[string]string{household.SetScale: "125", household.SetClinic: "0555 0199", household.SetCups: "there"}})
	save(here, household.Changes{Entries: []model.Entry{weight(e, who, "66.6")},
		Settings: map[string]string{household.SetClinic: "0555 0111", household.SetCups: "changed"}})
	before := here.State()
	would, err := here.Compare(ctx, other)
	if err != nil || would.Added != 1 || would.Conflicts() != 2 || here.State() != before {
		t.Fatalf("%+v, %v", would, err)
	}
	told := 0
	here.Watch(func(*household.State) { told++ })
	if _, err := here.Merge(ctx, other, nil); err != nil {
		t.Fatal(err)
	}
	r := here.State().Records
	if told != 1 || len(r.Book.Entries) != 2 || len(r.Twofold) != 2 || r.Scale() != 200 {
		t.Fatalf("told %d times, %d entries, %+v", told, len(r.Book.Entries), r.Twofold)
	}
	if done, err := here.Undo(ctx); err != nil || !done || len(here.State().Records.Twofold) != 0 || len(here.State().Records.Book.Entries) != 1 {
		t.Fatalf("one undo does not take it back: %v", err)
	}
	if _, err := here.Merge(ctx, other, nil); err != nil {
		t.Fatal(err)
	}
	save(here, household.Changes{Entries: []model.Entry{weight(e, who, "62")}}) // while it is open
	two := here.State().Records.Twofold
	if len(two) != 2 || two[0].Forms[0].Entry.Values[0].Typed != "62" {
		t.Fatalf("after a save: %+v", two)
	}
	if err := here.Choose(ctx, two[0], two[0].Forms[0].Sum); err != nil {
		t.Fatal(err)
	}
	if len(here.State().Records.Twofold) != 1 {
		t.Errorf("chosen, and still open: %+v", here.State().Records.Twofold)
	}
	for path, key := range map[string]string{here.Path(): "merge.itself", filepath.Join(t.TempDir(), "none"): "merge.no-file", "session.go": "merge.not-a-book"} {
		_, err := here.Merge(ctx, path, nil)
		if speaks := model.Told(nil); !errors.As(err, &speaks) || speaks.Tell().Key != key {
			t.Errorf("%s: %v", path, err)
		}
	}
	if err := here.Choose(ctx, two[0], 1); !errors.Is(err, store.ErrNotFound) {
		t.Errorf("chosen twice: %v", err)
	}
}

// TestTheInventedHouseholdTakesNothingIn: it is never written.
func TestTheInventedHouseholdTakesNothingIn(t *testing.T) {
	s := open(t, NewMemory(household.Records{}))
	if _, err := s.Compare(ctx, "x"); !errors.Is(err, store.ErrReadOnly) {
		t.Errorf("%v", err)
	}
	if _, err := s.Merge(ctx, "x", nil); !errors.Is(err, store.ErrReadOnly) {
		t.Errorf("%v", err)
	}
}

// TestForget: in memory and on disk somebody is removed, brought back, removed,
// and then forgotten for good with the safe copies.
func TestForget(t *testing.T) {
	for name, s := range map[string]*Session{"memory": open(t, NewMemory(household.Records{})), "disk": onDisk(t, filepath.Join(t.TempDir(), "a.book"))} {
		who, other := s.NewID(), s.NewID()
		emil := model.Person{ID: other, Name: "Emil"}
		removed := household.Changes{RemovePersons: []model.ID{who}}
		for _, c := range []household.Changes{{Persons: []model.Person{rosa(who), emil}}, {Entries: []model.Entry{weight(s.NewID(), who, "61.5"), weight(s.NewID(), other, "81")}}, removed} {
			if err := s.Save(ctx, c); err != nil {
				t.Fatal(err)
			}
		}
		if _, err := s.Snapshot(ctx); err != nil {
			t.Fatal(err)
		}
		if done, err := s.Undo(ctx); !done || err != nil {
			t.Errorf("%s: %v, %v", name, done, err)
		}
		if gone, err := s.Removed(ctx); err != nil || len(gone) != 0 {
			t.Errorf("%s: brought back, and still removed: %v, %v", name, gone, err)
		}
		if err := s.Save(ctx, removed); err != nil {
			t.Fatal(err)
		}
		if gone, err := s.Removed(ctx); err != nil || len(gone) != 1 || gone[0].ID != who {
			t.Errorf("%s: removed %v, %v", name, gone, err)
		}
		if copies, err := s.Knowing(ctx, who); err != nil || (name == "disk") != (len(copies) == 1) {
			t.Errorf("%s: copies %v, %v", name, copies, err)
		}
		if err := s.Forget(ctx, who, true); err != nil {
			t.Errorf("%s: %v", name, err)
		}
		if gone, err := s.Removed(ctx); err != nil || len(gone) != 0 {
			t.Errorf("%s: still there: %v, %v", name, gone, err)
		}
		if copies, err := s.Knowing(ctx, who); err != nil || len(copies) != 0 {
			t.Errorf("%s: copies still there: %v, %v", name, copies, err)
		}
		for range 3 { // what is left to undo brings nobody back
			_, _ = s.Undo(ctx)
			if _, back := s.State().Member(who); back {
				t.Errorf("%s: undo brought somebody back", name)
			}
		}
	}
}
