package merge

import (
	"time"

	"quietwater/model"
)

// What says which sort of record something is.
type What string

// The sorts of records, as the book calls them.
const (
	Entry   What = "entry"
	Pack    What = "pack"
	Person  What = "person"
	Kind    What = "strip_kind"
	Setting What = "setting"
)

// Form is one version of a record that stands in two. One of Entry, Pack,
// Person and Text speaks: Text is the name of a strip kind's text, or what a
// setting says.
type Form struct {
	Sum     int64
	Changed time.Time
	Entry   *model.Entry
	Pack    *model.Pack
	Person  *model.Person
	Text    string
}

// Twofold is a record that was changed in two places by people who did not
// know of each other's change. The first form stands until somebody chooses.
type Twofold struct {
	What  What
	Key   string
	Forms []Form // two at least
	New   bool   // this merge found it
}

// Alike are two persons of a book who may be one: the name is the same, and no
// birth date speaks against it. First was entered first.
type Alike struct {
	First, Second           model.Person
	FirstBirth, SecondBirth model.When // zero where it was not given
}

// Brought is what a merge changes in one person's records.
type Brought struct {
	Person  model.Person
	New     bool // the person was not in this book
	Added   int
	Changed int
	Deleted int
}

// Coming is what another copy of the book brings, or has brought.
type Coming struct {
	Added   int // entries, persons, packs and strip kinds
	Changed int
	Deleted int
	// Kept counts what was deleted in one copy and changed later in the other:
	// it stays.
	Kept     int
	Settings int // of the household; those of a computer stay its own
	Pictures int
	Unsound  int // pictures that are not what they were, and stay where they are
	Learned  int // what is only known now to be older than something here
	People   []Brought
	Entries  []model.Entry // that are new here, newest first
	Going    []model.Entry // that were deleted there, newest first
	Twofold  []Twofold     // all that are open afterwards
	Alike    []Alike
}

// Nothing reports that the other copy holds nothing that is not here.
func (c Coming) Nothing() bool {
	return c.Added+c.Changed+c.Deleted+c.Kept+c.Settings+c.Pictures+c.Conflicts() == 0
}

// Conflicts counts the records that were not known to stand in two forms.
func (c Coming) Conflicts() (n int) {
	for _, t := range c.Twofold {
		if t.New {
			n++
		}
	}
	return n
}
