package pressure

import (
	"time"

	"quietwater/model"
)

// The guided week: two readings in the morning and two in the evening on seven
// days (facts F). The hours are our own choice.
const (
	WeekDays    = 7
	Pair        = 2
	MorningFrom = 6
	MorningTo   = 10
	EveningFrom = 18
	EveningTo   = 22
)

// Day is one day of the week with the readings it has.
type Day struct {
	Date             time.Time
	Morning, Evening int // readings before noon, and from noon on
}

// Week is how far the guided week has come.
type Week struct {
	Days [WeekDays]Day
	Day  int  // of today, from 1; more than WeekDays after the end
	Over bool // nothing more is due
	// From and To are when the next pair is due; zero when Over.
	From, To time.Time
}

// WeekOf counts the readings of the week that began on the day start. A reading
// of which only the day is known counts for no half of a day.
func WeekOf(rs []Reading, start model.When, now time.Time) Week {
	zone := now.Location()
	var w Week
	y, m, d := start.DayIn(zone).Date()
	for i := range w.Days { // by noon, which no change of clocks takes away
		w.Days[i].Date = model.OnDay(time.Date(y, m, d+i, 12, 0, 0, 0, zone)).Time()
	}
	w.Day = model.DaysBetween(start, model.OnDay(now), zone) + 1
	for _, r := range rs {
		n := model.DaysBetween(start, r.When, zone)
		switch {
		case n < 0 || n >= WeekDays || r.When.DayOnly():
		case r.When.Time().In(zone).Hour() < 12:
			w.Days[n].Morning++
		default:
			w.Days[n].Evening++
		}
	}
	w.From, w.To, w.Over = w.next(now)
	return w
}

// next finds the first pair that can still be taken: a half of a day that has
// gone by is not made up for.
func (w Week) next(now time.Time) (from, to time.Time, over bool) {
	at := func(d Day, hour int) time.Time {
		y, m, day := d.Date.Date()
		return time.Date(y, m, day, hour, 0, 0, 0, now.Location())
	}
	for _, d := range w.Days {
		if d.Morning < Pair && now.Before(at(d, 12)) {
			return at(d, MorningFrom), at(d, MorningTo), false
		}
		if d.Evening < Pair && now.Before(at(d, 24)) {
			return at(d, EveningFrom), at(d, EveningTo), false
		}
	}
	return time.Time{}, time.Time{}, true
}
