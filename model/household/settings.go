package household

import (
	"encoding/json"
	"slices"
	"strconv"
	"strings"
	"time"

	"quietwater/model"
	"quietwater/model/strip"
)

// Keys of the settings a household keeps with its book.
const (
	SetLanguage  = "language"        // BCP 47
	SetSecond    = "second-language" // BCP 47, "" for none
	SetScale     = "text-size"       // percent: 100, 125, 150, 200
	SetInk       = "ink"             // light, dark, contrast
	SetMuted     = "muted"           // "yes" for no tones
	SetAuthor    = "author"          // who types at this computer
	SetEmergency = "number-emergency"
	SetClinic    = "number-clinic"
	SetUnit      = "number-dialysis-unit"
	SetMaternity = "number-maternity"
	SetOutHours  = "number-out-of-hours"
	SetDraft     = "draft"        // a strip test not yet finished
	SetSheets    = "draft-sheet"  // laboratory sheets begun and not yet kept
	SetCups      = "cups"         // what the household drinks from
	SetWeeks     = "weeks"        // whose week of blood pressure began when
	SetShopping  = "shopping"     // offers of strips that are compared
	SetRemind    = "remind"       // "yes" to be reminded on this computer
	SetPictures  = "pictures"     // a folder where pictures arrive, besides the usual ones
	SetSource    = "source"       // "no": no English beneath findings in a language nobody checked
	SetAloud     = "aloud"        // "yes" to have each page's main message read aloud
	SetCurtain   = "curtain"      // minutes without a touch until the window is covered, "" for never
	SetHidden    = "lanes-hidden" // lanes of the timeline that are not shown
	SetShown     = "shown"        // whose page was looked at last
	SetWelcomed  = "welcomed"
)

// OfComputer reports a setting that says how the household reads and hears at
// one computer, or who sits there: another copy of the book does not change it.
// All others belong to the household.
func OfComputer(key string) bool {
	switch key {
	case SetLanguage, SetSecond, SetScale, SetInk, SetMuted, SetAuthor, SetDraft, SetSheets, SetRemind, SetPictures, SetSource,
		SetAloud, SetCurtain, SetHidden, SetShown, SetWelcomed, SetBackup:
		return true
	}
	return false
}

// Drafts are the keys of what is begun and not kept, and of whose page is open: no
// step to undo, and never taken back with one.
func Drafts() []string { return []string{SetDraft, SetSheets, SetShown} }

// Shown is whose page was looked at last, "" for nobody's.
func (r Records) Shown() model.ID {
	var id model.ID
	if json.Unmarshal([]byte(r.Settings[SetShown]), &id) != nil {
		return ""
	}
	return id
}

// KeepShown is the change that remembers it. It is written so that forgetting
// the person finds it.
func KeepShown(id model.ID) Changes { return kept(SetShown, id) }

// Numbers are the telephone numbers a household keeps, in the order they are
// asked for. None is ever guessed.
func Numbers() []string { return []string{SetEmergency, SetClinic, SetOutHours, SetUnit, SetMaternity} }

// OwnNumber is the key of a person's own number of a sort, where it is not the
// household's.
func OwnNumber(sort string, p model.ID) string { return sort + "/" + string(p) }

// NumberSort tells of which of [Numbers] a key is, a person's own or the
// household's, and whose it is; "" for the household's.
func NumberSort(key string) (sort string, whose model.ID, ok bool) {
	sort, person, _ := strings.Cut(key, "/")
	return sort, model.ID(person), slices.Contains(Numbers(), sort)
}

// NumberFor is the number of a sort to ring for a person: their own, or else the
// household's; "" for none.
func (r Records) NumberFor(sort string, p model.ID) string {
	if own := r.Settings[OwnNumber(sort, p)]; own != "" {
		return own
	}
	return r.Settings[sort]
}

// Scales are the text sizes offered, in percent.
func Scales() []int { return []int{100, 125, 150, 200} }

// Inks are the looks offered.
func Inks() []string { return []string{"light", "dark", "contrast"} }

// CurtainMinutes are the times offered after which an untouched window is
// covered.
func CurtainMinutes() []int { return []int{1, 5, 15} }

// Curtain is after how long that happens, 0 for never.
func (r Records) Curtain() time.Duration {
	n, _ := strconv.Atoi(r.Settings[SetCurtain])
	if !slices.Contains(CurtainMinutes(), n) {
		return 0
	}
	return time.Duration(n) * time.Minute
}

// Scale reads the text size, 100 unless another one offered was set.
func (r Records) Scale() int {
	n, _ := strconv.Atoi(r.Settings[SetScale])
	for _, s := range Scales() {
		if s == n {
			return n
		}
	}
	return 100
}

// Draft reads the strip test that was left unfinished. A draft that cannot be
// read any more is none.
func (r Records) Draft() (strip.Draft, bool) {
	var d strip.Draft
	text := r.Settings[SetDraft]
	if text == "" || json.Unmarshal([]byte(text), &d) != nil {
		return strip.Draft{}, false
	}
	return d, true
}

// KeepDraft is the change that keeps a draft.
func KeepDraft(d strip.Draft) Changes {
	return kept(SetDraft, d)
}

// WatchPictures is the change that names the folder where pictures arrive, or
// with "" none.
func WatchPictures(folder string) Changes {
	return Changes{Settings: map[string]string{SetPictures: folder}}
}

// DropDraft is the change that forgets it.
func DropDraft() Changes { return Changes{Settings: map[string]string{SetDraft: ""}} }

// kept is the change that keeps plain values as a setting.
func kept(key string, v any) Changes {
	b, err := json.Marshal(v)
	if err != nil { // it holds only plain values: cannot happen
		panic(err)
	}
	return Changes{Settings: map[string]string{key: string(b)}}
}
