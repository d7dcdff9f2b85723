package renal

import (
	"math"
	"slices"
	"sort"
	"time"

	"quietwater/model"
)

// Creatinine is one result of it in blood.
type Creatinine struct {
	When model.When
	MgDL float64
}

// Injury is a rise of creatinine that meets the definition of acute kidney
// injury (KDIGO 2012, acute kidney injury, tables 1 and 2).
type Injury struct {
	Stage    int     // 1, 2 or 3
	Ratio    float64 // to Baseline
	Rise     float64 // mg/dL above Baseline
	Against  string  // "week", "usual" or "two-days"
	Baseline Creatinine
}

// What the definition compares with.
const (
	AgainstWeek    = "week"     // the lowest of the seven days before
	AgainstUsual   = "usual"    // the median of the rest of the 365 days before
	AgainstTwoDays = "two-days" // the lowest of the 48 hours before, by +0.3 mg/dL
)

const (
	riseMgDL   = 26.5 / 88.4  // µmol/L in mg/dL; within 48 hours
	stage3MgDL = 353.6 / 88.4 // 4.0 mg/dL
	dayLong    = 24 * time.Hour
)

// InjuryOf judges one creatinine against those before it: by the higher of two
// ratios, to the lowest of the seven days before and to the median of the rest
// of the 365 days before (its eighth day begins where the seventh ends, so that
// no result falls between the two); and by a rise of 26.5 µmol/L (0.3 mg/dL)
// within 48 hours. From
// 353.6 µmol/L, or in those under 18 below an eGFR of 35, it is stage 3 where
// the definition is met. age is in exact years, negative where not known; egfr
// is 0 where not known. earlier is in time order and may hold years.
func InjuryOf(now Creatinine, earlier []Creatinine, age, egfr float64, zone *time.Location) (Injury, bool) {
	if !positive(now.MgDL) {
		return Injury{}, false
	}
	var best Injury
	take := func(base Creatinine, against string) {
		if ratio := now.MgDL / base.MgDL; ratio > best.Ratio {
			best = Injury{Ratio: ratio, Rise: now.MgDL - base.MgDL, Against: against, Baseline: base}
		}
	}
	near := since(earlier, now.When, 366*dayLong)
	if low, ok := lowest(near, now, 7*dayLong, zone); ok {
		take(low, AgainstWeek)
	}
	if usual, ok := median(near, now, zone); ok {
		take(usual, AgainstUsual)
	}
	met := best.Ratio >= 1.5-tiny
	if low, ok := lowest(near, now, 2*dayLong, zone); ok && now.MgDL-low.MgDL >= riseMgDL-tiny && !met {
		best = Injury{Ratio: now.MgDL / low.MgDL, Rise: now.MgDL - low.MgDL, Against: AgainstTwoDays, Baseline: low}
		met = true
	}
	if !met {
		return Injury{}, false
	}
	best.Stage = 1
	switch child := age >= 0 && age < 18 && egfr > 0 && egfr < 35; {
	case best.Ratio >= 3-tiny, now.MgDL >= stage3MgDL-tiny, child:
		best.Stage = 3
	case best.Ratio >= 2-tiny:
		best.Stage = 2
	}
	return best, true
}

// since is the end of cs that may lie within d before w; days alone may lie two
// from where a zone has them.
func since(cs []Creatinine, w model.When, d time.Duration) []Creatinine {
	from := w.Time().Add(-d - 2*dayLong)
	return cs[sort.Search(len(cs), func(i int) bool { return !cs[i].When.Time().Before(from) }):]
}

func lowest(cs []Creatinine, now Creatinine, d time.Duration, zone *time.Location) (low Creatinine, ok bool) {
	for _, c := range slices.Backward(cs) {
		before := c.When.Compare(now.When) <= 0
		if before && positive(c.MgDL) && model.Within(c.When, now.When, d, zone) && (!ok || c.MgDL < low.MgDL) {
			low, ok = c, true
		}
	}
	return low, ok
}

// median is the middle result of the 365 days but the last seven; of two in the
// middle their mean, dated by the later.
func median(cs []Creatinine, now Creatinine, zone *time.Location) (Creatinine, bool) {
	var in []Creatinine
	for _, c := range cs {
		before := c.When.Compare(now.When) <= 0
		if before && positive(c.MgDL) && model.Within(c.When, now.When, 365*dayLong, zone) && !model.Within(c.When, now.When, 7*dayLong, zone) {
			in = append(in, c)
		}
	}
	if len(in) == 0 {
		return Creatinine{}, false
	}
	slices.SortStableFunc(in, func(a, b Creatinine) int {
		switch {
		case a.MgDL < b.MgDL:
			return -1
		case a.MgDL > b.MgDL:
			return 1
		}
		return a.When.Compare(b.When)
	})
	m := in[len(in)/2]
	if len(in)%2 == 0 {
		o := in[len(in)/2-1]
		if o.When.Compare(m.When) > 0 {
			m.When = o.When
		}
		m.MgDL = (m.MgDL + o.MgDL) / 2
	}
	return m, true
}

// anuria is how much urine (mL in 24 hours) still counts as none. KDIGO gives
// no number; of those in use, 50 and 100, the higher is the more careful.
const anuria = 100

// InjuryByUrine is the stage by urine passed (mL) in hours by a weight (kg):
// below 0.5 mL/kg/h for 6 hours 1, for 12 hours 2; below 0.3 for 24 hours, or
// next to none for 12, 3; 0 where the definition is not met (KDIGO 2012, acute
// kidney injury, table 2).
func InjuryByUrine(mL, weightKG, hours float64) (stage int, why model.Msg) {
	switch {
	case !positive(weightKG):
		return 0, refused("weight")
	case !positive(hours) || !(mL >= 0) || math.IsInf(mL, 0):
		return 0, refused("collection")
	case hours < 6:
		return 0, refused("six-hours")
	}
	rate := mL / weightKG / hours
	switch {
	case rate < 0.3-tiny && hours >= 24, mL < anuria*hours/24-tiny && hours >= 12:
		return 3, model.Msg{}
	case rate < 0.5-tiny && hours >= 12:
		return 2, model.Msg{}
	case rate < 0.5-tiny:
		return 1, model.Msg{}
	}
	return 0, model.Msg{}
}
