package finding

import (
	"time"

	"quietwater/model"
	"quietwater/model/pressure"
)

// PressureDays is how far back readings of the cuff are looked at.
const PressureDays = 14

// pressures lists the readings of the last PressureDays.
func (h *History) pressures() []pressure.Reading {
	var out []pressure.Reading
	for _, r := range pressure.Readings(h.Entries, h.Now.Add(-(PressureDays+3)*day)) {
		if h.Recent(r.When, PressureDays*day) {
			out = append(out, r)
		}
	}
	return out
}

// pressureEvidence is both numbers of a reading.
func (h *History) pressureEvidence(rs ...pressure.Reading) []Evidence {
	var out []Evidence
	for _, r := range rs {
		for _, c := range []model.Code{"systolic", "diastolic"} {
			for _, e := range h.about(model.Vital, c, r.When, 0) {
				if e.Entry == r.Entry {
					out = append(out, e)
				}
			}
		}
	}
	return out
}

// restBetween is how long to rest before a very high pressure is measured again.
const restBetween = 5 * time.Minute

// rested reports that b was taken after a rest, within a day of a. Of days
// alone only another day counts.
func (h *History) rested(a, b pressure.Reading) bool {
	if a.When.DayOnly() || b.When.DayOnly() {
		n := model.DaysBetween(a.When, b.When, h.Zone)
		return n == 1
	}
	d := b.When.Time().Sub(a.When.Time())
	return d >= restBetween && d <= day
}

// tooSoon reports that b was taken after a, without a rest between.
func tooSoon(a, b pressure.Reading) bool {
	return !a.When.DayOnly() && !b.When.DayOnly() && b.When.Time().Sub(a.When.Time()) < restBetween
}

// underAge reports a person known to be under 18: the limits are adults'.
func (h *History) underAge() bool {
	a, known := h.Facts.AgeYears(h.Now)
	return known && a < 18
}

// readPressure is a reading as it is spoken: 142/88. A number that was not
// written down is a dash.
func readPressure(systolic, diastolic float64) string {
	one := func(x float64) string {
		if x == 0 {
			return "–"
		}
		return model.FormatNumber(round(x, 1))
	}
	return one(systolic) + "/" + one(diastolic)
}
