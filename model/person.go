package model

import "time"

// Facts is what the profile rows say of a person at one time; the newest row
// of each wins, undated rows count as oldest.
type Facts struct {
	Birth       When
	Sex         string  // "male", "female", or "" when not given
	HeightCM    float64 // 0 when not given
	FluidLimit  float64 // mL a day, set by a doctor; 0 when none
	WeightLimit float64 // kg, set by a dialysis unit; 0 when none
	Region      string  // of the failure-risk constants, "" when not given
	LabMonths   float64 // between laboratory tests, set by a doctor; 0 when not
	Language    string  // BCP 47
	Second      string  // second language, BCP 47
}

// FactsAt reads the profile rows of one person among entries, in time order,
// leaving out what is dated after now.
func FactsAt(entries []Entry, person ID, now time.Time) Facts {
	var f Facts
	for _, e := range entries {
		if e.Kind != Profile || e.Person != person || e.When.After(now) {
			continue
		}
		for _, v := range e.Values {
			f.take(v)
		}
	}
	return f
}

func (f *Facts) take(v Value) {
	it, _ := Find(Profile, v.Code)
	switch v.Code {
	case "birth-date":
		f.Birth, _ = ParseDay(v.Word, false)
	case "sex":
		f.Sex = v.Word
	case "height":
		f.HeightCM, _ = it.In(v, "cm")
	case "fluid-limit":
		f.FluidLimit, _ = it.In(v, "mL/d")
	case "weight-limit":
		f.WeightLimit, _ = it.In(v, "kg")
	case "risk-region":
		f.Region = v.Word
	case "lab-interval":
		f.LabMonths, _ = it.In(v, "mo")
	case "language":
		f.Language = v.Word
	case "second-language":
		f.Second = v.Word
	}
}

// AgeYears is the age in completed years at the instant at; ok is false when
// the birth date is unknown or later.
func (f Facts) AgeYears(at time.Time) (years int, ok bool) {
	if f.Birth.IsZero() || f.Birth.After(at) {
		return 0, false
	}
	b := f.Birth.Time()
	years = at.Year() - b.Year()
	if at.Month() < b.Month() || at.Month() == b.Month() && at.Day() < b.Day() {
		years--
	}
	return years, true
}

// Switched reports whether a condition or medicine is on at the instant at:
// the newest of its start and end rows up to then is a start. since is when.
func Switched(entries []Entry, person ID, k Kind, c Code, at time.Time) (on bool, since When) {
	for _, e := range entries {
		if e.Kind != k || e.Person != person || e.When.After(at) {
			continue
		}
		if v, ok := e.Value(c); ok {
			on, since = v.Word == "start", e.When
		}
	}
	return on, since
}

// LongAgo is the day on which something stands that has been so for years, and
// nobody knows how many: the birth date, or where that is not known a day
// before anybody here was born.
func (f Facts) LongAgo(zone *time.Location) When {
	if !f.Birth.IsZero() {
		return f.Birth
	}
	return OnDay(time.Date(1900, time.January, 1, 12, 0, 0, 0, zone))
}

// ForYears reports that a condition or medicine that is on since a day was
// entered as so for years: it stands on LongAgo, with a note.
func (f Facts) ForYears(entries []Entry, k Kind, c Code, since When, zone *time.Location) bool {
	for _, e := range entries {
		if e.Kind != k || e.When.Compare(since) != 0 {
			continue
		}
		if v, ok := e.Value(c); ok && v.Note != "" && since.Compare(f.LongAgo(zone)) <= 0 {
			return true
		}
	}
	return false
}

// PregnancyDays is how long a pregnancy lasts from the first day of the last
// period, from which its weeks are counted, to the due date (ACOG Committee
// Opinion 700, Obstet Gynecol 2017;129:e150-e154).
const PregnancyDays = 280

// PregnantSince is the day the weeks of a pregnancy are counted from, by its due
// date.
func PregnantSince(due When, zone *time.Location) When {
	return OnDay(due.DayIn(zone).AddDate(0, 0, -PregnancyDays))
}
