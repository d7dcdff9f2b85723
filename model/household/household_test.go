package household

import (
	"fmt"
	"maps"
	"math/rand/v2"
	"reflect"
	"slices"
	"strings"
	"testing"
	"time"
	_ "time/tzdata" // the tests must not depend on the machine's zones

	"quietwater/model"
	"quietwater/model/finding"
	"quietwater/model/merge"
	"quietwater/model/strip"
)

// told is all that a screen could show of a state but the records themselves.
func told(s State) string {
	var b strings.Builder
	for _, m := range s.Members {
		fmt.Fprintf(&b, "%s %+v quiet=%v\n", m.Person.Name, m.Facts, m.Quiet)
		for _, f := range slices.Concat(m.Result.Open, m.Result.Answered) {
			fmt.Fprintf(&b, " %s/%s %v %v due=%v since=%v old=%v answer=%v %v\n", f.Rule, f.Variant, f.Urgency, f.Days, f.Due, f.Since, f.Old, f.Answer, f.Evidence)
		}
		for _, t := range m.Result.History.Tests {
			fmt.Fprintf(&b, " test %v %+v\n", t.When(), t.Verdict)
		}
	}
	for _, p := range s.Packs {
		fmt.Fprintf(&b, "%s %v %v left=%v %v days=%v ending=%v empty=%v\n", p.Pack.Label, p.Shelf, p.Freshness, p.Left, p.LeftKnown, p.DaysLeft, p.EndingSoon, p.Empty)
	}
	for _, f := range s.Todos() {
		fmt.Fprintf(&b, "todo %s %s %v\n", f.Person, f.Rule, f.Due)
	}
	return b.String()
}

// storyNow is when the laws look at the invented household; they also look at
// earlier days of its story.
var storyNow = time.Date(2026, 9, 17, 9, 0, 0, 0, time.FixedZone("", 2*3600))

func storyDays() []time.Time {
	var out []time.Time
	for _, back := range []int{0, 1, 74, 121, 153, 200, 262, 301, 311, 341, 431, 470, 521, 544, 600} {
		out = append(out, storyNow.AddDate(0, 0, -back))
	}
	return out
}

func TestDeriveTwiceIsTheSame(t *testing.T) {
	r := Demo(storyNow)
	before := Records{
		Book:     model.Book{Persons: slices.Clone(r.Book.Persons), Entries: slices.Clone(r.Book.Entries), Packs: slices.Clone(r.Book.Packs)},
		Settings: maps.Clone(r.Settings),
	}
	for _, now := range storyDays() {
		if a, b := Derive(r, now), Derive(r, now); !reflect.DeepEqual(a, b) {
			t.Errorf("at %v two states differ", now)
		}
	}
	if !reflect.DeepEqual(r, before) {
		t.Error("deriving changed the records")
	}
}

func TestOrderOfRecordsHasNoEffect(t *testing.T) {
	rnd := rand.New(rand.NewPCG(1, 2))
	r := Demo(storyNow)
	for _, now := range storyDays() {
		want := told(Derive(r, now))
		for range 3 {
			mixed := Records{Book: model.Book{Persons: slices.Clone(r.Book.Persons), Entries: slices.Clone(r.Book.Entries), Packs: slices.Clone(r.Book.Packs)}}
			rnd.Shuffle(len(mixed.Book.Persons), reflect.Swapper(mixed.Book.Persons))
			rnd.Shuffle(len(mixed.Book.Entries), reflect.Swapper(mixed.Book.Entries))
			rnd.Shuffle(len(mixed.Book.Packs), reflect.Swapper(mixed.Book.Packs))
			if got := told(Derive(mixed, now)); got != want {
				t.Fatalf("at %v the order of records matters: %s", now, difference(got, want))
			}
		}
	}
}

// TestRecordsAfterNowHaveNoEffect: a clock set back shows what was known then.
// Only strips stay used: they are gone from the pack whatever the clock says.
func TestRecordsAfterNowHaveNoEffect(t *testing.T) {
	r := Demo(storyNow)
	for _, now := range storyDays() {
		past := r
		past.Book.Entries = slices.DeleteFunc(slices.Clone(r.Book.Entries), func(e model.Entry) bool { return e.When.After(now) })
		a, b := Derive(r, now), Derive(past, now)
		a.Packs, b.Packs = nil, nil
		if got, want := told(a), told(b); got != want {
			t.Errorf("at %v what lies ahead matters: %s", now, difference(got, want))
		}
	}
}

func TestOnePersonsRecordsAreNotAnothers(t *testing.T) {
	r := Demo(storyNow)
	whole := Derive(r, storyNow)
	for _, p := range r.Book.Persons {
		alone := r
		alone.Book.Entries = slices.DeleteFunc(slices.Clone(r.Book.Entries), func(e model.Entry) bool { return e.Person != p.ID })
		got, _ := Derive(alone, storyNow).Member(p.ID)
		want, _ := whole.Member(p.ID)
		if !reflect.DeepEqual(got, want) {
			t.Errorf("%s is judged by the records of others", p.Name)
		}
	}
}

func difference(got, want string) string {
	a, b := strings.Split(got, "\n"), strings.Split(want, "\n")
	for i := range min(len(a), len(b)) {
		if a[i] != b[i] {
			return fmt.Sprintf("line %d is\n%s\nwant\n%s", i, a[i], b[i])
		}
	}
	return fmt.Sprintf("%d lines, want %d", len(a), len(b))
}

func TestMembersStandByName(t *testing.T) {
	s := Derive(Records{Book: model.Book{Persons: []model.Person{{ID: "3", Name: "Rosa"}, {ID: "2", Name: "Emil"}, {ID: "1", Name: "Rosa"}}}}, storyNow)
	var got []model.ID
	for _, m := range s.Members {
		got = append(got, m.Person.ID)
		if m.Quiet != finding.NothingYet {
			t.Errorf("%s: quiet state %v of somebody without records", m.Person.ID, m.Quiet)
		}
	}
	if want := []model.ID{"2", "1", "3"}; !slices.Equal(got, want) {
		t.Errorf("members %v, want %v", got, want)
	}
	if m, ok := s.Member("2"); !ok || m.Person.Name != "Emil" {
		t.Errorf("member 2 is %v %v", m.Person, ok)
	}
	if _, ok := s.Member("9"); ok {
		t.Error("found a member who is not there")
	}
}

func TestTodosSoonestFirst(t *testing.T) {
	for _, now := range storyDays() {
		s := Derive(Demo(storyNow), now)
		todos := s.Todos()
		if !slices.IsSortedFunc(todos, func(a, b finding.Finding) int { return a.Due.From.Compare(b.Due.From) }) {
			t.Errorf("at %v to-dos are out of order", now)
		}
		due := 0
		for _, m := range s.Members {
			for _, f := range m.Result.Open {
				if f.Due != nil {
					due++
				}
			}
		}
		if due != len(todos) {
			t.Errorf("at %v %d to-dos of %d", now, len(todos), due)
		}
	}
	if n := len(Derive(Demo(storyNow), storyNow).Todos()); n != 2 {
		t.Errorf("%d to-dos today, want Rosa's and Emil's", n)
	}
}

// day is a day counted from storyNow.
func storyDay(n int) model.When { return model.OnDay(storyNow.AddDate(0, 0, n)) }

func TestPackStates(t *testing.T) {
	used := func(n int) []model.Entry {
		var out []model.Entry
		for i := range n {
			out = append(out, model.Entry{ID: model.ID(fmt.Sprint(i)), Person: "p", Kind: model.Strip, When: storyDay(-1), Pack: "k"})
		}
		return append(out, model.Entry{ID: "other", Person: "p", Kind: model.Strip, When: storyDay(-1), Pack: "another"})
	}
	for name, c := range map[string]struct {
		pack    model.Pack
		used    int
		fresh   strip.Freshness
		days    int
		left    int
		ending  bool
		empty   bool
		unknown bool // the kind of strip
	}{
		"nothing known":          {pack: model.Pack{}, unknown: true},
		"good for long":          {pack: model.Pack{StripKind: "ten-pads", UseBy: storyDay(100), Strips: 50}, used: 3, fresh: strip.Fresh, days: 100, left: 47},
		"a week left":            {pack: model.Pack{UseBy: storyDay(strip.WarnDays)}, fresh: strip.Fresh, days: 7, ending: true, unknown: true},
		"more than a week left":  {pack: model.Pack{UseBy: storyDay(strip.WarnDays + 1)}, fresh: strip.Fresh, days: 8, unknown: true},
		"its last day":           {pack: model.Pack{UseBy: storyDay(0)}, fresh: strip.Fresh, days: 0, ending: true, unknown: true},
		"over since yesterday":   {pack: model.Pack{UseBy: storyDay(-1)}, fresh: strip.Stale, days: -1, unknown: true},
		"opened, days assumed":   {pack: model.Pack{OpenedOn: storyDay(-31), UseBy: storyDay(9)}, fresh: strip.Questionable, days: -1, unknown: true},
		"few left":               {pack: model.Pack{UseBy: storyDay(100), Strips: FewStrips + 2}, used: 2, fresh: strip.Fresh, days: 100, left: FewStrips, ending: true, unknown: true},
		"one more than few left": {pack: model.Pack{UseBy: storyDay(100), Strips: FewStrips + 2}, used: 1, fresh: strip.Fresh, days: 100, left: FewStrips + 1, unknown: true},
		"used up":                {pack: model.Pack{UseBy: storyDay(100), Strips: 2}, used: 2, fresh: strip.Fresh, days: 100, empty: true, unknown: true},
		"more used than held":    {pack: model.Pack{UseBy: storyDay(100), Strips: 2}, used: 4, fresh: strip.Fresh, days: 100, empty: true, unknown: true},
	} {
		c.pack.ID = "k"
		s := Derive(Records{Book: model.Book{Packs: []model.Pack{c.pack}, Entries: used(c.used)}}, storyNow)
		p, ok := s.Pack("k")
		if !ok {
			t.Fatalf("%s: no pack", name)
		}
		if p.Freshness != c.fresh || p.DaysLeft != c.days || p.Left != c.left || p.EndingSoon != c.ending || p.Empty != c.empty || p.KindKnown == c.unknown {
			t.Errorf("%s: freshness %v, days %d, left %d, ending %v, empty %v, kind %v", name, p.Freshness, p.DaysLeft, p.Left, p.EndingSoon, p.Empty, p.KindKnown)
		}
	}
	if _, ok := Derive(Records{}, storyNow).Pack("k"); ok {
		t.Error("found a pack that is not there")
	}
}

// TestHouseholdsOwnKindGoesFirst: a household that corrects a generic kind by
// its own leaflet is judged by that.
func TestHouseholdsOwnKindGoesFirst(t *testing.T) {
	own, _ := strip.FindKind(strip.Generic(), "ten-pads")
	own.Name = "ours"
	r := Records{OwnKinds: []strip.Kind{own}, Book: model.Book{Packs: []model.Pack{{ID: "k", StripKind: "ten-pads"}}}}
	if p, _ := Derive(r, storyNow).Pack("k"); p.Kind.Name != "ours" {
		t.Errorf("the pack is of kind %q", p.Kind.Name)
	}
}

func TestPacksInTheOrderOfUse(t *testing.T) {
	packs := []model.Pack{ // in the order wanted
		{ID: "opened, ends first", OpenedOn: storyDay(-80), DaysOpen: 90},
		{ID: "opened, ends later", OpenedOn: storyDay(-10), DaysOpen: 90},
		{ID: "sealed, ends first", UseBy: storyDay(20)},
		{ID: "sealed, ends later", UseBy: storyDay(300), Label: "a"},
		{ID: "sealed, the same by name", UseBy: storyDay(300), Label: "b"},
		{ID: "past the assumed days", OpenedOn: storyDay(-40)},
		{ID: "stale", UseBy: storyDay(-3)},
		{ID: "empty", UseBy: storyDay(200), Strips: 1},
	}
	entries := []model.Entry{{ID: "e", Person: "p", Kind: model.Strip, When: storyDay(-1), Pack: "empty"}}
	want := ids(packs)
	rnd := rand.New(rand.NewPCG(3, 4))
	for range 50 {
		rnd.Shuffle(len(packs), reflect.Swapper(packs))
		s := Derive(Records{Book: model.Book{Packs: packs, Entries: entries}}, storyNow)
		if got := stateIDs(s.PacksFor("p")); !slices.Equal(got, want) {
			t.Fatalf("packs stand\n%q, want\n%q", got, want)
		}
	}
}

func TestPacksForOnePerson(t *testing.T) {
	r := Records{Book: model.Book{Packs: []model.Pack{
		{ID: "theirs", Person: "p", UseBy: storyDay(50)}, {ID: "another's", Person: "q", UseBy: storyDay(1)}, {ID: "the house's", UseBy: storyDay(60)},
	}}}
	s := Derive(r, storyNow)
	for person, want := range map[model.ID][]model.ID{
		"p": {"theirs", "the house's"}, "q": {"another's", "the house's"}, "nobody": {"the house's"},
	} {
		if got := stateIDs(s.PacksFor(person)); !slices.Equal(got, want) {
			t.Errorf("%s may use %q, want %q", person, got, want)
		}
	}
}

func ids(ps []model.Pack) []model.ID {
	var out []model.ID
	for _, p := range ps {
		out = append(out, p.ID)
	}
	return out
}

func stateIDs(ps []PackState) []model.ID {
	var out []model.ID
	for _, p := range ps {
		out = append(out, p.Pack.ID)
	}
	return out
}

// drawPack draws a pack of any age.
func drawPack(rnd *rand.Rand, i int) model.Pack {
	p := model.Pack{ID: model.ID(fmt.Sprint(i)), Label: fmt.Sprint("pack ", i), Sealed: model.Tub}
	if rnd.IntN(3) == 0 {
		p.Sealed = model.Single
	}
	if rnd.IntN(3) > 0 {
		p.UseBy = storyDay(rnd.IntN(80) - 30)
	}
	if rnd.IntN(3) > 0 {
		p.OpenedOn = storyDay(-rnd.IntN(60))
	}
	if rnd.IntN(2) == 0 {
		p.DaysOpen = 1 + rnd.IntN(80)
	}
	if rnd.IntN(3) == 0 {
		p.Strips = 1 + rnd.IntN(3)
	}
	return p
}

// shorten makes a pack end sooner in one way.
func shorten(rnd *rand.Rand, p model.Pack) model.Pack {
	earlier := func(w model.When) model.When {
		return model.OnDay(w.Time().AddDate(0, 0, -1-rnd.IntN(40)))
	}
	switch rnd.IntN(4) {
	case 0:
		if p.UseBy.IsZero() {
			p.UseBy = storyDay(rnd.IntN(80) - 30)
		} else {
			p.UseBy = earlier(p.UseBy)
		}
	case 1:
		if !p.OpenedOn.IsZero() {
			p.OpenedOn = earlier(p.OpenedOn)
		}
	case 2:
		if p.DaysOpen == 0 {
			p.DaysOpen = 1 + rnd.IntN(strip.PresetDaysOpen)
		} else if p.DaysOpen > 1 {
			p.DaysOpen = 1 + rnd.IntN(p.DaysOpen-1)
		}
	case 3:
		if p.Strips > 0 {
			p.Strips = max(1, p.Strips-1)
		}
	}
	return p
}

// TestShorterShelfLifeNeverGivesMorePacks, and a pack is never ahead of one
// that is fitter for use.
func TestShorterShelfLifeNeverGivesMorePacks(t *testing.T) {
	rnd := rand.New(rand.NewPCG(5, 6))
	for round := range 2000 {
		var book model.Book
		for i := range 1 + rnd.IntN(6) {
			book.Packs = append(book.Packs, drawPack(rnd, i))
			for n := range rnd.IntN(3) {
				book.Entries = append(book.Entries, model.Entry{ID: model.ID(fmt.Sprint(i, n)), Person: "p", Kind: model.Strip, When: storyDay(-1), Pack: book.Packs[i].ID})
			}
		}
		before := Derive(Records{Book: book}, storyNow).PacksFor("p")
		if !slices.IsSortedFunc(before, func(a, b PackState) int { return a.wait() - b.wait() }) {
			t.Fatalf("round %d: a pack stands ahead of one fitter for use: %+v", round, before)
		}
		i := rnd.IntN(len(book.Packs))
		long := book.Packs[i]
		book.Packs[i] = shorten(rnd, long)
		after := Derive(Records{Book: book}, storyNow).PacksFor("p")
		if a, b := usable(after), usable(before); a > b {
			t.Fatalf("round %d: %+v ends sooner than %+v, and %d packs are usable where %d were", round, book.Packs[i], long, a, b)
		}
	}
}

func usable(ps []PackState) int {
	n := 0
	for _, p := range ps {
		if p.wait() == 0 {
			n++
		}
	}
	return n
}

// TestTheOtherFormHidesNothing: while a result stands in two forms, what either
// calls for stays on the page, whichever of them is the newer; what only the
// other one calls for says so.
func TestTheOtherFormHidesNothing(t *testing.T) {
	potassium := func(typed string) model.Entry {
		x, _ := model.ParseNumber(typed)
		return model.Entry{ID: "k", Person: "ana", Kind: model.Lab, When: model.At(storyNow.Add(-time.Hour)),
			Values: []model.Value{{Code: "potassium", Number: x, Typed: typed, Unit: "mmol/L"}}}
	}
	high, plain := potassium("6.9"), potassium("4.9")
	for _, c := range []struct {
		stands, other model.Entry
		fromOther     bool
	}{{high, plain, false}, {plain, high, true}} {
		r := Records{Book: model.Book{Persons: []model.Person{{ID: "ana", Name: "Ana"}}, Entries: []model.Entry{c.stands}},
			Twofold: []merge.Twofold{{What: merge.Entry, Key: "k", Forms: []merge.Form{{Entry: &c.stands}, {Entry: &c.other}}}}}
		s := Derive(r, storyNow)
		open := s.Members[0].Result.Open
		if len(open) == 0 || open[0].Rule != "potassium" || open[0].Urgency != finding.Emergency || open[0].Other != c.fromOther {
			t.Errorf("with %s standing: %+v", c.stands.Values[0].Typed, open)
		}
		if !reflect.DeepEqual(r.Book.Entries, []model.Entry{c.stands}) {
			t.Error("the records were changed")
		}
		r.Twofold = nil
		if open := Derive(r, storyNow).Members[0].Result.Open; len(open) > 0 && (open[0].Other || c.fromOther) {
			t.Errorf("once it was chosen: %+v", open)
		}
	}
}

func TestTouched(t *testing.T) {
	e := func(id, word string) model.Entry {
		return model.Entry{ID: model.ID(id), Kind: model.Note, Values: []model.Value{{Code: "text", Word: word}}}
	}
	before := []model.Entry{e("same", "x"), e("changed", "x"), e("gone", "x")}
	after := []model.Entry{e("same", "x"), e("changed", "y"), e("new", "x")}
	if got := Touched(before, after); !slices.Equal(got, []model.ID{"changed", "new", "gone"}) {
		t.Error(got)
	}
}
