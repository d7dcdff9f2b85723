// Package backup owns the one file that holds a whole household: the book, all
// kept pictures and a list of what must be in it, in a zip archive that age
// encrypts, so that it opens without this program too. It writes that file,
// reads it back before it may be called a backup, and restores from it.
//
// It refuses to know SQL, which app/store does, and screens.
package backup

import (
	"errors"
	"fmt"
	"io/fs"
	"maps"
	"time"

	"quietwater/app/store"
	"quietwater/model"
)

// What can go wrong besides the errors of the store (ErrDiskFull, ErrExists,
// ErrNewer, ErrReadOnlyFolder …), for errors.Is.
var (
	// ErrPassphrase: the passphrase does not open the file.
	ErrPassphrase = errors.New("the passphrase does not open the file")
	// ErrNeedsPassphrase: the file is encrypted and no passphrase was given.
	ErrNeedsPassphrase = errors.New("the file needs a passphrase")
	// ErrDamaged: it is a backup, and not as it was written.
	ErrDamaged = errors.New("the backup is damaged")
	// ErrForeign: the file is no backup of a household.
	ErrForeign = errors.New("the file is not one of our backups")
	// ErrTooMuch: opening it would take more time, memory or room than any
	// backup of ours does.
	ErrTooMuch = errors.New("the file asks for more than any backup of ours")
	// ErrShort: the passphrase is too short to keep anybody out.
	ErrShort = errors.New("the passphrase is too short")
	// ErrChanged: the book is not what was copied. Backing up again mends it.
	ErrChanged = errors.New("something changed meanwhile")
)

// Step of the work during which an error came up.
type Step string

// The steps of writing and of restoring.
const (
	Copying  Step = "copy"      // the book, beside itself
	Writing  Step = "write"     // the file, under a name that is not yet its own
	Checking Step = "read-back" // what was written, by restoring from it
	Naming   Step = "name"      // giving what is whole its name
	Opening  Step = "open"      // the backup; also, before writing, what it is locked with
	Taking   Step = "unpack"    // out of it what it holds
)

// StepError is an error with the step that failed. Nothing carries a final
// name because of it.
type StepError struct {
	Step Step
	Err  error
}

func (e *StepError) Error() string { return fmt.Sprintf("%s: %v", e.Step, e.Err) }

// Unwrap lets errors.Is see what happened.
func (e *StepError) Unwrap() error { return e.Err }

// failed names the step of an error; an error that has one keeps it.
func failed(s Step, err error) error {
	if err == nil {
		return nil
	}
	if told := (*StepError)(nil); errors.As(err, &told) {
		return err
	}
	return &StepError{s, store.Classify(err)}
}

// Counts are what a book and its pictures hold. Of records only the live ones
// count, besides Deleted.
type Counts struct {
	Book     model.ID           `json:"book"` // its own identity
	Schema   int                `json:"schema-version"`
	Writes   int64              `json:"writes"` // transactions since it was made
	Persons  int                `json:"persons"`
	Packs    int                `json:"packs"`
	Kinds    int                `json:"strip-kinds"`
	Settings int                `json:"settings"`
	Deleted  int                `json:"deleted"`
	Changes  int                `json:"changes"`
	Entries  map[model.Kind]int `json:"entries"`
	Pictures int                `json:"pictures"`
	// DamagedPictures are those of Pictures whose bytes are no longer what they
	// were when they were kept. They are backed up as they are.
	DamagedPictures int `json:"damaged-pictures"`
}

// AllEntries is the number of entries of every kind.
func (c Counts) AllEntries() (n int) {
	for _, k := range c.Entries {
		n += k
	}
	return n
}

// same reports equal counts. The version of the schema may be another: a
// restored book is brought to the one of this program.
func (c Counts) same(d Counts) bool {
	return c.Book == d.Book && c.Writes == d.Writes && c.Persons == d.Persons && c.Packs == d.Packs && c.Kinds == d.Kinds &&
		c.Settings == d.Settings && c.Deleted == d.Deleted && c.Changes == d.Changes && maps.Equal(c.Entries, d.Entries) &&
		c.Pictures == d.Pictures && c.DamagedPictures == d.DamagedPictures
}

// Row sets one number of a backup beside that of a book. What is "persons",
// "packs", "strip-kinds", "pictures", or "entries." and a kind.
type Row struct {
	What   string `json:"what"`
	Backup int    `json:"backup"`
	Book   int    `json:"book"`
}

// Entries begins the What of a row that counts entries of a kind.
const Entries = "entries."

// Beside sets the numbers of a backup beside those of a book.
func Beside(backup, book Counts) []Row {
	out := []Row{{"persons", backup.Persons, book.Persons}}
	for _, k := range model.Kinds() {
		if a, b := backup.Entries[k], book.Entries[k]; a+b > 0 {
			out = append(out, Row{Entries + string(k), a, b})
		}
	}
	return append(out, Row{"packs", backup.Packs, book.Packs}, Row{"strip-kinds", backup.Kinds, book.Kinds}, Row{"pictures", backup.Pictures, book.Pictures})
}

func countsOf(r store.Report) Counts {
	return Counts{Book: r.Book, Schema: r.Version, Writes: r.Writes, Persons: r.Persons, Packs: r.Packs, Kinds: r.StripKinds,
		Settings: r.Settings, Deleted: r.Deleted, Changes: r.Changes, Entries: r.Entries}
}

// Found is what a backup holds.
type Found struct {
	Path      string
	Made      time.Time
	Program   string // version of the program that made it
	Encrypted bool
	Size      int64 // of the file
	Counts    Counts
}

// Options say how to write or to open a backup.
type Options struct {
	// Passphrase opens the file; "" means that it is not encrypted.
	Passphrase string
	// Now and Version stand in what is written.
	Now     time.Time
	Version string
	// Work is the scrypt work factor, 0 the usual one. Only tests ask for less.
	Work int
}

// Told says what an error means to a person: what happened, what is safe, what
// to do, and at which step unless that is where everything begins. It is zero
// for what it has no words of its own for.
func Told(err error) model.Msg {
	why := Tell(err)
	if step := (*StepError)(nil); !why.IsZero() && errors.As(err, &step) && step.Step != Opening {
		return model.T("backup.failed", "why", why, "step", model.T("backup.step."+string(step.Step)))
	}
	return why
}

// Tell is Told without the step.
func Tell(err error) model.Msg {
	switch {
	case err == nil:
		return model.Msg{}
	case errors.Is(err, ErrPassphrase):
		return model.T("backup.why.passphrase")
	case errors.Is(err, ErrNeedsPassphrase):
		return model.T("backup.why.needs-passphrase")
	case errors.Is(err, ErrShort):
		return model.T("backup.why.short", "n", model.LeastPassphrase)
	case errors.Is(err, store.ErrDiskFull):
		return model.T("backup.why.no-space")
	case errors.Is(err, store.ErrExists):
		return model.T("backup.why.exists")
	case errors.Is(err, store.ErrNewer):
		return model.T("backup.why.newer")
	case errors.Is(err, ErrTooMuch):
		return model.T("backup.why.too-much")
	case errors.Is(err, ErrForeign):
		return model.T("backup.why.foreign")
	case errors.Is(err, ErrDamaged):
		return model.T("backup.why.damaged")
	case errors.Is(err, ErrChanged):
		return model.T("backup.why.changed")
	case errors.Is(err, store.ErrReadOnlyFolder):
		return model.T("backup.why.read-only")
	case errors.Is(err, fs.ErrNotExist):
		return model.T("backup.why.missing")
	}
	return model.Msg{}
}
