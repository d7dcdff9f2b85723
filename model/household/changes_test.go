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

	"quietwater/model"
	"quietwater/model/strip"
)

func note(id, person, text string) model.Entry {
	return model.Entry{ID: model.ID(id), Person: model.ID(person), Kind: model.Note, When: storyDay(-1), Values: []model.Value{{Code: "text", Word: text}}}
}

func TestApply(t *testing.T) {
	before := Records{
		Book: model.Book{
			Persons: []model.Person{{ID: "p", Name: "Rosa"}, {ID: "q", Name: "Emil"}},
			Entries: []model.Entry{note("1", "p", "a"), note("2", "q", "b"), note("3", "p", "c")},
			Packs:   []model.Pack{{ID: "k", Label: "tub"}, {ID: "l", Label: "box"}},
		},
		OwnKinds: []strip.Kind{{ID: "ours", Name: "old"}},
		Settings: map[string]string{SetLanguage: "en", SetMuted: "yes"},
	}
	entries := func(es ...model.Entry) func(*Records) { return func(r *Records) { r.Book.Entries = es } }
	for name, c := range map[string]struct {
		change Changes
		want   func(*Records)
	}{
		"nothing":              {Changes{}, func(*Records) {}},
		"a new entry":          {Changes{Entries: []model.Entry{note("4", "q", "d")}}, entries(note("1", "p", "a"), note("2", "q", "b"), note("3", "p", "c"), note("4", "q", "d"))},
		"a changed entry":      {Changes{Entries: []model.Entry{note("2", "q", "better")}}, entries(note("1", "p", "a"), note("2", "q", "better"), note("3", "p", "c"))},
		"twice the same":       {Changes{Entries: []model.Entry{note("4", "q", "d"), note("4", "q", "e")}}, entries(note("1", "p", "a"), note("2", "q", "b"), note("3", "p", "c"), note("4", "q", "e"))},
		"an entry away":        {Changes{RemoveEntries: []model.ID{"1", "none"}}, entries(note("2", "q", "b"), note("3", "p", "c"))},
		"put and taken":        {Changes{Entries: []model.Entry{note("4", "q", "d")}, RemoveEntries: []model.ID{"4"}}, func(*Records) {}},
		"a pack renamed":       {Changes{Packs: []model.Pack{{ID: "l", Label: "tin"}}}, func(r *Records) { r.Book.Packs = []model.Pack{{ID: "k", Label: "tub"}, {ID: "l", Label: "tin"}} }},
		"a pack away":          {Changes{RemovePacks: []model.ID{"k"}}, func(r *Records) { r.Book.Packs = []model.Pack{{ID: "l", Label: "box"}} }},
		"a person renamed":     {Changes{Persons: []model.Person{{ID: "q", Name: "Otto"}}}, func(r *Records) { r.Book.Persons = []model.Person{{ID: "p", Name: "Rosa"}, {ID: "q", Name: "Otto"}} }},
		"a person, and theirs": {Changes{RemovePersons: []model.ID{"p"}}, func(r *Records) { r.Book.Persons, r.Book.Entries = r.Book.Persons[1:], r.Book.Entries[1:2] }},
		"a kind":               {Changes{Kinds: []strip.Kind{{ID: "ours", Name: "new"}, {ID: "more"}}}, func(r *Records) { r.OwnKinds = []strip.Kind{{ID: "ours", Name: "new"}, {ID: "more"}} }},
		"a kind away":          {Changes{RemoveKinds: []string{"ours", "none"}}, func(r *Records) { r.OwnKinds = nil }},
		"settings":             {Changes{Settings: map[string]string{SetLanguage: "es", SetMuted: "", SetInk: "dark", SetAuthor: ""}}, func(r *Records) { r.Settings = map[string]string{SetLanguage: "es", SetInk: "dark"} }},
	} {
		want := deep(before)
		c.want(&want)
		kept := deep(before)
		got := before.Apply(c.change)
		if !same(got, want) {
			t.Errorf("%s: records are\n%+v, want\n%+v", name, got, want)
		}
		if !same(before, kept) {
			t.Fatalf("%s: the records before were changed", name)
		}
		if again := got.Apply(c.change); !same(again, got) {
			t.Errorf("%s: applied twice gives\n%+v", name, again)
		}
	}
	if r := (Records{}).Apply(Changes{Settings: map[string]string{SetScale: "150"}}); r.Scale() != 150 {
		t.Error("a book without settings takes none")
	}
}

func deep(r Records) Records {
	return Records{
		Book:     model.Book{Persons: slices.Clone(r.Book.Persons), Entries: slices.Clone(r.Book.Entries), Packs: slices.Clone(r.Book.Packs)},
		OwnKinds: slices.Clone(r.OwnKinds), Settings: maps.Clone(r.Settings),
	}
}

// same takes an empty slice for none.
func same(a, b Records) bool {
	return slices.Equal(a.Book.Persons, b.Book.Persons) && slices.Equal(a.Book.Packs, b.Book.Packs) && maps.Equal(a.Settings, b.Settings) &&
		slices.EqualFunc(a.Book.Entries, b.Book.Entries, func(x, y model.Entry) bool { return reflect.DeepEqual(x, y) }) &&
		slices.EqualFunc(a.OwnKinds, b.OwnKinds, func(x, y strip.Kind) bool { return reflect.DeepEqual(x, y) })
}

// TestApplyKeepsEverythingElse holds random changes against a plain map.
func TestApplyKeepsEverythingElse(t *testing.T) {
	rnd := rand.New(rand.NewPCG(7, 8))
	r, want := Records{}, map[model.ID]string{}
	for round := range 3000 {
		var c Changes
		for range rnd.IntN(4) {
			id := model.ID(fmt.Sprint(rnd.IntN(40)))
			if rnd.IntN(3) == 0 {
				c.RemoveEntries = append(c.RemoveEntries, id)
				continue
			}
			text := fmt.Sprint("text ", round)
			c.Entries = append(c.Entries, note(string(id), "p", text))
			want[id] = text
		}
		for _, id := range c.RemoveEntries {
			delete(want, id)
		}
		r = r.Apply(c)
		got := map[model.ID]string{}
		for _, e := range r.Book.Entries {
			got[e.ID] = e.Values[0].Word
		}
		if !maps.Equal(got, want) || len(got) != len(r.Book.Entries) {
			t.Fatalf("round %d: entries %v, want %v", round, got, want)
		}
	}
}

func TestValidate(t *testing.T) {
	good, _ := strip.FindKind(strip.Generic(), "ten-pads")
	long := strings.Repeat("x", model.MaxLabel+1)
	ahead := note("1", "p", "a")
	ahead.When = model.At(storyNow.Add(time.Hour))
	empty := note("1", "p", "a")
	empty.Values = nil
	for name, c := range map[string]struct {
		change Changes
		want   []string
	}{
		"nothing":          {Changes{}, nil},
		"all is well":      {Changes{Persons: []model.Person{{ID: "p", Name: "Rosa"}}, Entries: []model.Entry{note("1", "p", "a")}, Packs: []model.Pack{{ID: "k", Label: "tub"}}, Kinds: []strip.Kind{good}}, nil},
		"ahead":            {Changes{Entries: []model.Entry{ahead}}, []string{"problem.in-the-future"}},
		"nothing entered":  {Changes{Entries: []model.Entry{empty}}, []string{"problem.nothing-entered"}},
		"no name":          {Changes{Persons: []model.Person{{ID: "p"}}}, []string{"problem.person-missing"}},
		"too long a name":  {Changes{Persons: []model.Person{{ID: "p", Name: long}}}, []string{"problem.person-missing"}},
		"no label":         {Changes{Packs: []model.Pack{{ID: "k"}}}, []string{"problem.pack-label-missing"}},
		"too long a label": {Changes{Packs: []model.Pack{{ID: "k", Label: long}}}, []string{"problem.pack-label-missing"}},
		"an unusable kind": {Changes{Kinds: []strip.Kind{{ID: "ours"}}}, []string{"problem.strip-kind"}},
		"each is named":    {Changes{Entries: []model.Entry{ahead, empty}, Packs: []model.Pack{{ID: "k"}}}, []string{"problem.in-the-future", "problem.nothing-entered", "problem.pack-label-missing"}},
	} {
		var got []string
		for _, p := range c.change.Validate(storyNow) {
			got = append(got, p.Why.Key)
		}
		if !slices.Equal(got, c.want) {
			t.Errorf("%s: problems %v, want %v", name, got, c.want)
		}
	}
}

func TestDraftComesBack(t *testing.T) {
	d := strip.Draft{
		Person: "p", Pack: "k", StripKind: "ten-pads", Insisted: true,
		Answers: map[model.Code]string{"feverish": "no", "menstruating": "unsure"},
		Dipped:  time.Date(2026, 9, 17, 7, 40, 3, 120, time.FixedZone("", 2*3600)),
		How:     model.ReadLater, Seconds: 75,
		Values: map[model.Code]model.Value{
			model.Protein:         {Code: model.Protein, Grade: model.Plus1},
			model.SpecificGravity: {Code: model.SpecificGravity, Number: 1.015, Typed: "1.015", Unit: "{SG}", Confidence: 0.8, Note: "¿más claro?"},
			model.Glucose:         {Code: model.Glucose, Grade: model.Unclear},
		},
		Blocks: map[model.Code]int{model.Protein: 2, model.SpecificGravity: 3}, Step: 4,
	}
	for name, d := range map[string]strip.Draft{"full": d, "new": {}, "before the dip": {Person: "p", Pack: "k"}} {
		r := Demo(storyNow).Apply(KeepDraft(d))
		got, ok := r.Draft()
		if !ok {
			t.Fatalf("%s: no draft came back", name)
		}
		if !got.Dipped.Equal(d.Dipped) {
			t.Errorf("%s: dipped at %v, want %v", name, got.Dipped, d.Dipped)
		}
		if a, b := got.Entry("e", "Emil"), d.Entry("e", "Emil"); !d.Dipped.IsZero() && !reflect.DeepEqual(a, b) {
			t.Errorf("%s: the entry becomes\n%+v, want\n%+v", name, a, b)
		}
		got.Dipped = d.Dipped // equal, of another zone pointer
		if !reflect.DeepEqual(got, d) {
			t.Errorf("%s: came back as\n%+v, want\n%+v", name, got, d)
		}
		if _, still := r.Apply(DropDraft()).Draft(); still {
			t.Errorf("%s: a dropped draft is still there", name)
		}
	}
}

func TestUnreadableDraftIsNone(t *testing.T) {
	for _, text := range []string{"", "{", "[]", "null, null", `{"Person":7}`, `{"Dipped":"yesterday"}`} {
		r := Records{Settings: map[string]string{SetDraft: text}}
		if d, ok := r.Draft(); ok || !reflect.DeepEqual(d, strip.Draft{}) {
			t.Errorf("%q is read as %+v", text, d)
		}
	}
	if _, ok := (Records{}).Draft(); ok {
		t.Error("a book without settings has a draft")
	}
}

func TestScale(t *testing.T) {
	for text, want := range map[string]int{"": 100, "100": 100, "125": 125, "200": 200, "110": 100, "-1": 100, "big": 100, "99999999999999999999": 100} {
		if got := (Records{Settings: map[string]string{SetScale: text}}).Scale(); got != want {
			t.Errorf("%q gives %d percent, want %d", text, got, want)
		}
	}
	for _, n := range Scales() {
		if got := (Records{Settings: map[string]string{SetScale: fmt.Sprint(n)}}).Scale(); got != n {
			t.Errorf("%d percent is offered and read as %d", n, got)
		}
	}
}
