package strip

import (
	"time"

	"quietwater/model"
)

// PresetDaysOpen is assumed for a tub whose leaflet was not entered. It is our
// own conservative choice: an article says "often around 90 days", and only
// air-exposed nitrite pads are measured (Gallagher 1990).
const PresetDaysOpen = 30

// Shelf is how long a pack may be used.
type Shelf struct {
	Until   model.When // last good day; zero when nothing is known
	Opening bool       // the opening, not the printed date, decides
	Assumed bool       // rests on PresetDaysOpen
	Printed model.When // the use-by date, which no assumption softens
}

// ShelfOf is the earlier of the printed use-by and opened-on plus the days the
// leaflet allows. Singly sealed strips age only by their date.
func ShelfOf(p model.Pack) Shelf {
	s := Shelf{Until: p.UseBy, Printed: p.UseBy}
	if p.Sealed == model.Single || p.OpenedOn.IsZero() {
		return s
	}
	days, assumed := p.DaysOpen, false
	if days == 0 {
		days, assumed = PresetDaysOpen, true
	}
	opened := model.OnDay(p.OpenedOn.Time().AddDate(0, 0, days))
	if s.Until.IsZero() || opened.Before(s.Until) {
		s.Until, s.Opening, s.Assumed = opened, true, assumed
	}
	return s
}

// Freshness is what a pack's age means for a test.
type Freshness int

// Questionable: past the assumed days only. UnknownAge: no date was entered.
const (
	UnknownAge Freshness = iota
	Fresh
	Questionable
	Stale
)

// On tells how good the pack is on the day of w.
func (s Shelf) On(w model.When, zone *time.Location) Freshness {
	switch {
	case s.Until.IsZero():
		return UnknownAge
	case model.DaysBetween(s.Until, w, zone) <= 0:
		return Fresh
	case s.Assumed && (s.Printed.IsZero() || model.DaysBetween(s.Printed, w, zone) <= 0):
		return Questionable
	}
	return Stale
}

// DaysLeft counts whole days until the last good day, negative when past.
func (s Shelf) DaysLeft(now time.Time) int {
	return model.DaysBetween(model.At(now), s.Until, now.Location())
}

// WarnDays is how long ahead a pack's end is announced (common practice).
const WarnDays = 7

// Stock counts the strips left: those in the full box less the tests made with
// it. ok is false when the box's count was not entered.
func Stock(p model.Pack, entries []model.Entry) (left int, ok bool) {
	if p.Strips == 0 {
		return 0, false
	}
	left = p.Strips
	for _, e := range entries {
		if e.Kind == model.Strip && e.Pack == p.ID {
			left--
		}
	}
	return max(0, left), true
}
