package model

import (
	"fmt"
	"regexp"
	"time"
)

// When says when something happened as exactly as the person knew it: an
// instant with the offset it was written in, or only a day. The zero When
// means undated, which only profiles and packs may be.
type When struct {
	t   time.Time
	day bool
}

const (
	dayLayout    = "2006-01-02"
	minuteLayout = "2006-01-02 15:04"
)

// Both are stricter than time.Parse, which also takes hours of one digit,
// doubled spaces, a decimal comma, and offsets of a day and more.
var (
	twoDigits = regexp.MustCompile(`^\S{10} \d\d:\d\d$`)
	rfc3339   = regexp.MustCompile(`^\S{10}T\d\d:\d\d:\d\d(\.\d+)?(Z|[+-]([01]\d|2[0-3]):[0-5]\d)$`)
)

// At is the instant t, kept with its offset. RFC 3339 writes offsets in whole
// minutes, so the odd seconds of a local mean time are left out of it.
func At(t time.Time) When {
	if t.IsZero() {
		return When{}
	}
	name, offset := t.Zone()
	if name != "" || offset == 0 || offset%60 != 0 { // else its location is one of that offset alone, which many times may share
		t = t.In(fixedZone(offset - offset%60))
	}
	return When{t: t.Round(0)}
}

// OnDay is the calendar day that t falls on in its own zone.
func OnDay(t time.Time) When {
	y, m, d := t.Date()
	return When{t: startOfDay(y, m, d, t.Location()), day: true}
}

// startOfDay is the first instant of a day: midnight, or where the clocks are
// put forward at midnight (Cairo, Beirut, Santiago) the hour after it, which
// time.Date may give as an hour of the day before.
func startOfDay(y int, m time.Month, d int, zone *time.Location) time.Time {
	t := time.Date(y, m, d, 0, 0, 0, 0, zone)
	if t.Day() == d {
		return t
	}
	if _, next := t.ZoneBounds(); !next.IsZero() && next.Day() == d {
		return next
	}
	// A day the zone skipped altogether is kept as it was written.
	return time.Date(y, m, d, 0, 0, 0, 0, time.UTC)
}

func fixedZone(offset int) *time.Location {
	if offset == 0 {
		return time.UTC
	}
	return time.FixedZone("", offset)
}

// ParseWhen reads RFC 3339 with an offset, "YYYY-MM-DD", or
// "YYYY-MM-DD HH:MM" in zone. Anything else, above all a date with slashes,
// is an error: the order of day and month is never guessed. A local time that
// the clocks skip or repeat is taken at one of its two offsets, which String
// then shows.
func ParseWhen(s string, zone *time.Location) (When, error) {
	if zone == nil {
		zone = time.UTC
	}
	if t, err := time.Parse(dayLayout, s); err == nil {
		y, m, d := t.Date()
		return plausible(When{t: startOfDay(y, m, d, zone), day: true}, s)
	}
	if t, err := time.ParseInLocation(minuteLayout, s, zone); err == nil && twoDigits.MatchString(s) {
		return plausible(At(t), s)
	}
	if t, err := time.Parse(time.RFC3339Nano, s); err == nil && rfc3339.MatchString(s) {
		return plausible(At(t), s)
	}
	return When{}, fmt.Errorf("date %q is not of the form YYYY-MM-DD, YYYY-MM-DD HH:MM or RFC 3339", s)
}

// plausible keeps to years that RFC 3339 can write and people live in.
func plausible(w When, s string) (When, error) {
	if y := w.t.Year(); y < 1800 || y > 9000 {
		return When{}, fmt.Errorf("year of %q is out of range", s)
	}
	return w, nil
}

// IsZero reports an undated When.
func (w When) IsZero() bool { return w.t.IsZero() }

// DayOnly reports that no time of day is known.
func (w When) DayOnly() bool { return w.day }

// Time gives the instant, or midnight at the start of the day.
func (w When) Time() time.Time { return w.t }

// String writes the form that [ParseWhen] reads back: RFC 3339 with offset, a
// plain day, or "" when undated.
func (w When) String() string {
	switch {
	case w.IsZero():
		return ""
	case w.day:
		return w.t.Format(dayLayout)
	}
	return w.t.Format(time.RFC3339Nano)
}

// DayIn gives the calendar day in zone, as its first instant there (midnight
// nearly everywhere). A day-only When keeps its day whatever the zone.
func (w When) DayIn(zone *time.Location) time.Time {
	t := w.t
	if !w.day {
		t = t.In(zone)
	}
	y, m, d := t.Date()
	return startOfDay(y, m, d, zone)
}

// After reports whether w lies after the instant now: by the clock when w has
// a time, by the calendar day of now's zone otherwise.
func (w When) After(now time.Time) bool {
	if w.day {
		return w.DayIn(now.Location()).After(OnDay(now).t)
	}
	return w.t.After(now)
}

// Before orders two Whens by instant, a day-only When counting as the start of
// its day in the zone it was read in and coming first; so the order is total.
func (w When) Before(v When) bool { return w.Compare(v) < 0 }

// Compare is the order of Before as -1, 0 or +1.
func (w When) Compare(v When) int {
	if c := w.t.Compare(v.t); c != 0 {
		return c
	}
	switch {
	case w.day == v.day:
		return 0
	case w.day:
		return -1
	}
	return 1
}

// DaysBetween counts calendar days from w to v in zone, negative when v is
// earlier. Daylight saving does not disturb it.
func DaysBetween(w, v When, zone *time.Location) int {
	return dayNumber(v.DayIn(zone)) - dayNumber(w.DayIn(zone))
}

// dayNumber counts days since 1970; a time.Duration would end after 292 years.
func dayNumber(t time.Time) int {
	y, m, d := t.Date()
	return int(time.Date(y, m, d, 0, 0, 0, 0, time.UTC).Unix() / (24 * 60 * 60))
}

// Within reports whether w and v are at most d apart. Hours count where both
// have times, calendar days otherwise (clinical decision 12).
func Within(w, v When, d time.Duration, zone *time.Location) bool {
	if w.day || v.day {
		n := DaysBetween(w, v, zone)
		return max(n, -n) <= int(d/(24*time.Hour)) && d >= 0
	}
	return v.t.Sub(w.t).Abs() <= d
}
