// Package calendar owns the calendar file: what is to be done as events that
// any calendar program can take in (RFC 5545).
//
// It refuses to know what is to be done (todo does), and tells nothing about
// anybody's health unless it is asked to.
package calendar

import (
	"crypto/sha256"
	"encoding/hex"
	"fmt"
	"io"
	"strings"
	"time"

	ics "github.com/arran4/golang-ical"

	"quietwater/model"
	"quietwater/model/todo"
)

// Words turns messages into the language of the file.
type Words interface{ T(model.Msg) string }

// Write writes items as a calendar, made at the time now. health puts what is
// to be done into the titles; without it they only name the person.
//
// Times are written as instants in UTC: a span of hours after a test means
// those hours, wherever the calendar is opened and whatever its clocks do that
// night. Whole days are dates, which lie on the same day everywhere.
func Write(w io.Writer, words Words, items []todo.Item, health bool, now time.Time) error {
	cal := ics.NewCalendar()
	cal.SetProductId("-//Quietwater//Household book//EN")
	for _, it := range items {
		add(cal, words, it, health, now)
	}
	if err := cal.SerializeTo(w, ics.WithNewLineWindows); err != nil {
		return fmt.Errorf("writing the calendar: %w", err)
	}
	return nil
}

func add(cal *ics.Calendar, words Words, it todo.Item, health bool, now time.Time) {
	e := cal.AddEvent(uid(it.ID))
	e.SetDtStampTime(now)
	say := it.Plain
	if health {
		say = it.What
		if it.Person != "" {
			say = model.T("todo.of", "name", it.Name, "what", it.What)
		}
	}
	e.SetSummary(oneLine(words.T(say)))
	alarm := e.AddAlarm()
	alarm.SetAction(ics.ActionDisplay)
	alarm.SetProperty(ics.ComponentPropertyDescription, oneLine(words.T(say)))
	if it.Days {
		e.SetAllDayStartAt(it.From)
		e.SetAllDayEndAt(it.To.AddDate(0, 0, 1)) // the first day after it (RFC 5545, 3.6.1)
		alarm.SetTrigger(fmt.Sprintf("PT%dH", todo.DayHour))
		return
	}
	e.SetStartAt(it.From)
	e.SetEndAt(it.To)
	alarm.SetTrigger(fmt.Sprintf("PT%dM", it.RemindAt(now.Location()).Sub(it.From)/time.Minute))
}

// uid names an event without telling the rule it comes from.
func uid(id string) string {
	sum := sha256.Sum256([]byte(id))
	return hex.EncodeToString(sum[:16]) + "@quietwater"
}

// oneLine leaves out what would be a line of its own: control characters may
// not stand in a calendar.
func oneLine(s string) string {
	return strings.Map(func(r rune) rune {
		if r < ' ' || r == 0x7f {
			return ' '
		}
		return r
	}, s)
}
