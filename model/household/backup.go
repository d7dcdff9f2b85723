package household

import (
	"encoding/json"
	"time"

	"quietwater/model"
)

// SetBackup is the setting that says when the book was backed up last, and
// where. It is kept after the backup, which does not know of itself.
const SetBackup = "backup"

// Backup is one that was made and found whole.
type Backup struct {
	At        time.Time `json:"at"`
	Path      string    `json:"path"`
	Encrypted bool      `json:"encrypted"`
	Persons   int       `json:"persons"`
	Entries   int       `json:"entries"`
	Pictures  int       `json:"pictures"`
	Damaged   int       `json:"damaged"` // of the pictures, before
}

// LastBackup reads the newest one; one that cannot be read is none.
func (r Records) LastBackup() (Backup, bool) {
	var b Backup
	text := r.Settings[SetBackup]
	if text == "" || json.Unmarshal([]byte(text), &b) != nil || b.At.IsZero() {
		return Backup{}, false
	}
	return b, true
}

// KeepBackup is the change that remembers a backup.
func KeepBackup(b Backup) Changes {
	text, err := json.Marshal(b)
	if err != nil { // it holds only plain values: cannot happen
		panic(err)
	}
	return Changes{Settings: map[string]string{SetBackup: string(text)}}
}

// BackupDays is how long a backup is new enough: a month, as is common
// practice.
const BackupDays = 30

// BackupDue is the day on which the next backup should be made, and false for a
// book in which there is nothing yet that was written down from day to day. A
// new book has as long as a backup lasts.
func (s State) BackupDue() (day time.Time, ok bool) {
	from := time.Time{}
	if b, made := s.Records.LastBackup(); made {
		from = b.At
	} else {
		for _, e := range s.Records.Book.Entries {
			switch e.Kind {
			case model.Strip, model.Vital, model.Symptom, model.Fluid, model.Answer: // what is older may have been copied from papers
				if at := e.When.Time(); !at.IsZero() && (from.IsZero() || at.Before(from)) {
					from = at
				}
			}
		}
	}
	if from.IsZero() {
		return time.Time{}, false
	}
	y, m, d := from.In(s.Now.Location()).Date()
	return time.Date(y, m, d+BackupDays, 12, 0, 0, 0, s.Now.Location()), true
}

// BackupLate reports that the day has come.
func (s State) BackupLate() bool {
	day, ok := s.BackupDue()
	return ok && model.DaysBetween(model.OnDay(day), model.OnDay(s.Now), s.Now.Location()) >= 0
}
