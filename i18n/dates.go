package i18n

import (
	"fmt"
	"time"

	"quietwater/model"
)

// Date writes a date with its month as a word and, where w has one, the time
// of day it was recorded at: "6 August 2018, 08:05" (NHS service manual,
// dates). An undated w says so.
func (p *Pair) Date(w model.When) string { return p.first.date(w) }

// DateShort is Date with the month cut to its usual short form and no time.
func (p *Pair) DateShort(w model.When) string { return p.first.brief(w) }

// Weekday names the day of the week of t in its zone.
func (p *Pair) Weekday(t time.Time) string {
	return p.first.word(fmt.Sprintf("weekday.%d", int(t.Weekday())))
}

// Month names a month, as it stands in a date.
func (p *Pair) Month(m time.Month) string { return p.first.word(fmt.Sprintf("month.%d", int(m))) }

// MonthShort is the usual short form of a month.
func (p *Pair) MonthShort(m time.Month) string {
	return p.first.word(fmt.Sprintf("month.%d.short", int(m)))
}

// Clock writes the time of day of t in its zone, by 24 hours: "08:05".
func (p *Pair) Clock(t time.Time) string { return p.first.clock(t) }

// Duration writes a length of time in its two largest units: "2 hours",
// "1 minute and 30 seconds". The sign is left out.
func (p *Pair) Duration(d time.Duration) string { return p.first.duration(d) }

// Ahead says when, seen from now, something is due: "in 2 hours", "now".
func (p *Pair) Ahead(d time.Duration) string {
	if d < time.Second {
		return p.first.word("day.now")
	}
	return p.first.say(model.T("day.ahead", "time", p.first.duration(d)))
}

// RelDay says how the calendar day of day lies to that of today, each in its
// own zone: "today", "tomorrow", "in 3 days", "2 days ago"; further than two
// weeks away, its date.
func (p *Pair) RelDay(day, today time.Time) string {
	t := p.first
	n := model.DaysBetween(model.OnDay(today), model.OnDay(day), time.UTC)
	switch {
	case n == 0:
		return t.word("day.today")
	case n == 1:
		return t.word("day.tomorrow")
	case n == -1:
		return t.word("day.yesterday")
	case n > 0 && n <= 14:
		return t.say(model.T("day.in", "n", n))
	case n < 0 && n >= -14:
		return t.say(model.T("day.ago", "n", -n))
	}
	return t.day(day, "")
}

func (t *tongue) date(w model.When) string {
	if w.IsZero() {
		return t.word("date.unknown")
	}
	d := t.day(w.Time(), "")
	if w.DayOnly() {
		return d
	}
	return t.say(model.T("date.at", "date", d, "time", t.clock(w.Time())))
}

func (t *tongue) brief(w model.When) string {
	if w.IsZero() {
		return t.word("date.unknown")
	}
	return t.day(w.Time(), ".short")
}

func (t *tongue) day(at time.Time, form string) string {
	y, m, d := at.Date()
	var day any = d
	if d == 1 {
		day = t.word("date.first")
	}
	return t.say(model.T("date.day"+form, "day", day, "year", fmt.Sprintf("%04d", y),
		"month", t.word(fmt.Sprintf("month.%d%s", int(m), form))))
}

func (t *tongue) clock(at time.Time) string {
	return t.say(model.T("date.clock", "hour", fmt.Sprintf("%02d", at.Hour()), "minute", fmt.Sprintf("%02d", at.Minute())))
}

var spans = []struct {
	key  string
	long time.Duration
}{
	{"span.days", 24 * time.Hour}, {"span.hours", time.Hour}, {"span.minutes", time.Minute}, {"span.seconds", time.Second},
}

func (t *tongue) duration(d time.Duration) string {
	if d < 0 {
		d = -d
	}
	var parts []string
	for i, s := range spans {
		n := int(d / s.long)
		last := i == len(spans)-1
		if n == 0 && !(last && parts == nil) {
			if parts != nil {
				break // 2 days and 5 minutes are 2 days
			}
			continue
		}
		parts = append(parts, t.say(model.T(s.key, "n", n)))
		if d -= time.Duration(n) * s.long; len(parts) == 2 {
			break
		}
	}
	return list(t, parts, "list.last", func(s string) string { return s })
}
