// Package pressure owns what blood-pressure readings taken at home say
// together: the week of pairs and the mean.
//
// It refuses to know what is high or low (finding does) and how a reading is
// asked for.
package pressure

import (
	"sort"
	"time"

	"quietwater/model"
)

// Reading is one reading of the cuff, in mm[Hg], the pulse per minute. What was
// not written down is 0.
type Reading struct {
	Entry                      model.ID
	When                       model.When
	Systolic, Diastolic, Pulse float64
}

// Either reports that one of the two numbers is at or over its limit.
func (r Reading) Either(systolic, diastolic float64) bool {
	return r.Systolic >= systolic || r.Diastolic >= diastolic
}

// Readings lists the readings from from on. entries come in time order.
func Readings(entries []model.Entry, from time.Time) []Reading {
	i := sort.Search(len(entries), func(i int) bool { return !entries[i].When.Time().Before(from) })
	var out []Reading
	for _, e := range entries[i:] {
		if e.Kind != model.Vital {
			continue
		}
		sys, ok1 := e.Value("systolic")
		dia, ok2 := e.Value("diastolic")
		if !ok1 && !ok2 {
			continue
		}
		pulse, _ := e.Value("pulse")
		out = append(out, Reading{e.ID, e.When, sys.Number, dia.Number, pulse.Number})
	}
	return out
}

// The home mean (clinical decisions; facts F; ESH 2021, 10.1097/HJH.0000000000002922).
const (
	MeanSpan  = 8  // calendar days it is taken from
	MeanDays  = 3  // on which there must be readings, the dropped one with them
	MeanLeast = 6  // readings after the first day is dropped
	MeanBest  = 12 // from which it is good
)

// Mean is the mean of home readings, the first day of them dropped.
type Mean struct {
	Systolic, Diastolic float64 // mm[Hg], unrounded
	Of                  []Reading
	Days                int        // with readings, without the dropped one
	From, To            model.When // the first and the last of Of
}

// Good reports that there are as many readings as are best.
func (m Mean) Good() bool { return len(m.Of) >= MeanBest }

// MeanOf takes the mean of the newest readings, in zone's days. ok is false
// where there are too few, or on too few days. Readings with only one of the
// two numbers are left out; a reading of which only the day is known counts.
func MeanOf(rs []Reading, zone *time.Location) (m Mean, ok bool) {
	var both []Reading
	for _, r := range rs {
		if r.Systolic > 0 && r.Diastolic > 0 {
			both = append(both, r)
		}
	}
	if len(both) == 0 {
		return Mean{}, false
	}
	last := both[len(both)-1].When
	for len(both) > 0 && model.DaysBetween(both[0].When, last, zone) >= MeanSpan {
		both = both[1:]
	}
	first := both[0].When
	days := map[int]bool{}
	for _, r := range both {
		n := model.DaysBetween(first, r.When, zone)
		if days[n] = true; n == 0 {
			continue
		}
		m.Of = append(m.Of, r)
		m.Systolic += r.Systolic
		m.Diastolic += r.Diastolic
	}
	if len(days) < MeanDays || len(m.Of) < MeanLeast {
		return Mean{}, false
	}
	n := float64(len(m.Of))
	m.Systolic, m.Diastolic, m.Days = m.Systolic/n, m.Diastolic/n, len(days)-1
	m.From, m.To = m.Of[0].When, m.Of[len(m.Of)-1].When
	return m, true
}
