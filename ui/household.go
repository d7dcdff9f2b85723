// Package ui owns the window: the rail of pages and one file a screen. It
// draws a state and calls the verbs of Household.
//
// It refuses to know SQL, files and any clinical number, and keeps sizes,
// colours and the placing of two languages to ui/kit.
package ui

import (
	"image"
	"time"

	"quietwater/i18n"
	"quietwater/model"
	"quietwater/model/household"
	"quietwater/model/merge"
	"quietwater/model/photo"
	"quietwater/model/strip"
)

// Household is what a screen may do with the book. An error from it is a
// model.Told where it has words for the reader.
type Household interface {
	// State is the newest state; it is never changed once handed out.
	State() *household.State
	// Refresh derives the state anew because time has passed.
	Refresh() *household.State
	Now() time.Time
	Tick() strip.Tick
	NewID() model.ID
	// Save keeps all changes or none, and returns when they are safe.
	Save(household.Changes) error
	// Undo takes the newest save back; false when there is none.
	Undo() (bool, error)
	// Last tells what Undo would take back; false when there is nothing.
	Last() (household.Last, bool, error)
	// Compare tells what another copy of this book, a file or a backup with its
	// passphrase, would bring, and Merge takes it in as one save. Same are persons who were entered twice. Both are
	// called beside the window's own work.
	Compare(path, passphrase string) (merge.Coming, error)
	Merge(path string, same [][2]model.ID) (merge.Coming, error)
	// Choose makes one form of a record that stands in two the only one: a save.
	Choose(of merge.Twofold, form int64) error
	// Removed lists who was removed and can still be brought back; CopiesOf the
	// safe copies that hold one of them. Erase takes a person out of the book for
	// good, and with copies out of those too. The last two may take seconds and are
	// called beside the window's own work.
	Removed() []model.Person
	CopiesOf(model.ID) ([]SafeCopy, error)
	Erase(person model.ID, copies bool) error
	// Papers is the folder of what was written to be printed, "" where there is
	// none.
	Papers() string
	// Path is where the book lies, "" for the invented household.
	Path() string
	// Snapshot makes a safe copy beside the book and names it.
	Snapshot() (string, error)
	// CanBackUp reports a book on disk that can be backed up and restored.
	CanBackUp() bool
	// BackupPlaces lists the folders of sticks and drives that are there now,
	// Backups the files in them, and in the last place, that look like backups,
	// newest first. They and the next three are called beside the window's own
	// work, and may take up to minutes.
	BackupPlaces() []string
	Backups() []string
	// BackUp writes the book and all pictures into one new file in a folder, and
	// reads it back. Without a passphrase anybody can read the file.
	BackUp(folder, passphrase string) (household.Backup, error)
	// Rehearse takes a backup out of its file, checks and counts it, and removes
	// it again.
	Rehearse(file, passphrase string) (Rehearsed, error)
	// Restore goes on from a backup: after it the window is opened anew on its
	// book, and the book of now is kept under another name. With an error nothing
	// has changed.
	Restore(file, passphrase string) error
	// RecoverySheet makes a page that says how to open a backup, with a line to
	// write the passphrase on, names its file and opens it for printing.
	RecoverySheet(w *i18n.Pair, b household.Backup) (string, error)
	// ReadOnly is why nothing can be saved; zero when it can.
	ReadOnly() model.Msg
	// Pictures lists the newest pictures in the folders where a phone's arrive, and
	// in the household's own folder for them. It may be called beside the window's
	// own work, as IsFolder may.
	Pictures(most int) []PictureFile
	IsFolder(path string) bool
	// Picture opens one. It takes up to seconds and is called beside the window's
	// own work.
	Picture(path string) (Photograph, error)
	// KeepPicture keeps what a saved test was read from, set straight, and from
	// the named file, if any, the whole photograph. It and the next two are called
	// beside the window's own work.
	KeepPicture(e model.Entry, seen *image.NRGBA, whole string) error
	// TestPicture gives the first back, nil where there is none; WholePicture
	// names the file of the second, "" for none.
	TestPicture(model.Entry) (image.Image, error)
	WholePicture(model.Entry) string
	// Show opens a file in the program the system has for it.
	Show(path string)
	// WriteKind writes a strip kind to a file and names it; ReadKind reads one.
	WriteKind(strip.Kind) (string, error)
	ReadKind(path string) (strip.Kind, error)
	// SaveChart keeps a chart as a picture (PNG) and as a drawing (SVG), opens the
	// picture and names it.
	SaveChart(name string, picture, drawing []byte) (string, error)
	// Sheet makes a page to write a strip test on, in the first language, names its file
	// and opens it for printing.
	Sheet(w *i18n.Pair, k strip.Kind, name, pack string) (string, error)
	// DoctorPage makes the page for the doctor, names its file and opens it for
	// printing; left is how many lines found no room on its first side. It is called
	// beside the window's own work.
	DoctorPage(DoctorAsk) (path string, left int, err error)
	// TodoList makes a page of what is to be done, names its file and opens it
	// for printing.
	TodoList(w *i18n.Pair) (string, error)
	// Calendar writes the same as a calendar file and names it; with health it
	// says what is to be done.
	Calendar(w *i18n.Pair, health bool) (string, error)
	// TakeIn looks at a plain table or FHIR file and saves nothing; person is whose
	// a FHIR file's results are, "" as it says. It may take seconds and is called
	// beside the window's own work.
	TakeIn(path, person string) (Incoming, error)
	// WriteBook writes the whole book to a new file, as FormTable or FormFHIR, or to
	// a new folder that explains itself in the languages of w, as FormFolder, and
	// names it; path may be a folder, or empty for the one beside the book.
	WriteBook(w *i18n.Pair, form, path string) (string, error)
}

// The forms a book can be written in.
const (
	FormTable  = "table"
	FormFHIR   = "fhir"
	FormFolder = "folder"
)

// Incoming is what a file holds that may be taken in, and what may not.
type Incoming struct {
	Accepted int // values that Changes holds
	Changes  household.Changes
	Refused  []model.Refusal
	Numbered bool // refusals are of rows that somebody can count in the file
	Unknown  []UnknownCode
	Passed   []string // what else the file says
	Patients []string // whose a file's results are by its own words; "" for nobody's
}

// UnknownCode is a code the book has no place for, or one in a unit it cannot
// take.
type UnknownCode struct {
	Name, Code, Unit string
	Why              model.Msg
}

// Sound plays the tones of the guided test. None of it may block.
type Sound interface {
	Prepare()
	Ahead()
	Now()
	Done()
	SetMuted(bool)
	// Test plays them all and tells whether they could be played.
	Test() error
}

// Voice reads aloud. Neither may block.
type Voice interface {
	// Say speaks a text in a language; what was being said ends.
	Say(text, lang string)
	Stop()
}

// Photograph is a picture that was opened, upright and shrunk.
type Photograph struct {
	Picture *photo.Picture
	Taken   time.Time // by the camera's clock; zero when it does not say
	Written time.Time // the date of its file; zero when unknown
}

// PictureFile is a picture that lies in one of the folders where a phone's
// pictures arrive.
type PictureFile struct {
	Path    string
	Changed time.Time
}
