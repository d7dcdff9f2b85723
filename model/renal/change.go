package renal

import (
	"math"
	"time"

	"quietwater/model"
)

// Fell is by what part of the previous eGFR the current one is lower; negative
// where it rose, 0 where there is nothing to compare. It is clean of binary
// fractions: from 34 to 27.2 it is 0.2, not a little more.
func Fell(previous, current float64) float64 {
	if !positive(previous) || !positive(current) {
		return 0
	}
	return math.Round((previous-current)/previous*1e9) / 1e9
}

// Doubled reports that a ratio of albumin to creatinine is at least twice the
// one before. Values in two units are compared at 8.84 mg/g for 1 mg/mmol.
// Where one is only a limit it answers yes only if that is sure.
func Doubled(previous, current model.Value) (bool, model.Msg) {
	it, _ := model.Find(model.Lab, "acr")
	before, ok1 := it.In(previous, "mg/g")
	now, ok2 := it.In(current, "mg/g")
	if previous.Unit == current.Unit { // no rounding by a factor that is not needed
		before, now = previous.Number, current.Number
	}
	if !ok1 || !ok2 || !(before >= 0) || !(now >= 0) {
		return false, refused("ratio")
	}
	if previous.Bound() == '>' || current.Bound() == '<' || before == 0 {
		return false, model.Msg{}
	}
	return now >= 2*before*(1-tiny), model.Msg{}
}

// Abnormal is one result of one marker, and whether it was abnormal.
type Abnormal struct {
	When model.When
	Is   bool
}

// Chronic is how many days an abnormal result must have stood (NICE NG203: two
// at least 90 days apart; KDIGO: more than three months).
const Chronic = 90

// Confirmed reports that the newest result is abnormal and so were all back to
// one at least 90 days before it. days is how long it has been so. rs is in
// time order.
func Confirmed(rs []Abnormal, zone *time.Location) (yes bool, days int) {
	last := len(rs) - 1
	for i := last; i >= 0 && rs[i].Is; i-- {
		days = model.DaysBetween(rs[i].When, rs[last].When, zone)
	}
	return days >= Chronic, days
}

// Exact is the age in years at w with its fraction: whole years since birth and
// the part of the running one, so that a birthday is a whole number. It is
// negative where either is not known or the birth is later.
func Exact(birth, w model.When) float64 {
	if birth.IsZero() || w.IsZero() {
		return -1
	}
	b, t := birth.Time(), w.Time()
	t = time.Date(t.Year(), t.Month(), t.Day(), 0, 0, 0, 0, time.UTC)
	b = time.Date(b.Year(), b.Month(), b.Day(), 0, 0, 0, 0, time.UTC)
	years := t.Year() - b.Year()
	last := birthday(b, years)
	if last.After(t) {
		years--
		last = birthday(b, years)
	}
	next := birthday(b, years+1)
	return float64(years) + t.Sub(last).Hours()/next.Sub(last).Hours()
}

// birthday is the day somebody turns so many years; of 29 February the 1 March
// where there is none.
func birthday(b time.Time, years int) time.Time {
	return time.Date(b.Year()+years, b.Month(), b.Day(), 0, 0, 0, 0, time.UTC)
}
