package renal

import (
	"cmp"
	"math"
	"slices"

	"quietwater/model"
)

// Point is an eGFR at a time in years from any start.
type Point struct{ Years, EGFR float64 }

// Trend is how eGFR moves, in mL/min/1.73 m² a year; down is negative.
type Trend struct {
	PerYear   float64 // least squares
	Low, High float64 // its 95 % interval, by Student's t
	Robust    float64 // median of the slopes of all pairs (Theil 1950, Sen 1968)
	N         int
	Span      float64 // years from first to last
	// Driven reports that one result makes the trend: left out, the slope
	// changes its sign or by more than half and more than 1 a year (our own
	// choice). Then Robust is the number to look at.
	Driven bool
	// Rapid: below −5 a year, and the whole interval below 0 (KDIGO 2012, 2.1.3;
	// clinical decision 8).
	Rapid bool
}

// What a trend needs and what makes it rapid.
const (
	TrendResults = 3
	TrendSpan    = 1.0
	RapidPerYear = -5.0
)

// aYear is a calendar year of 365 days in years of 365.25.
const aYear = TrendSpan - 0.001

// TrendOf is the trend of at least three results that span at least a year; ps
// is in time order.
func TrendOf(ps []Point) (Trend, model.Msg) {
	if len(ps) < TrendResults {
		return Trend{}, refused("trend-few", "n", len(ps))
	}
	t := Trend{N: len(ps), Span: ps[len(ps)-1].Years - ps[0].Years}
	if !(t.Span >= aYear) {
		return Trend{}, refused("trend-short")
	}
	slope, se := leastSquares(ps)
	half := se * t975(len(ps)-2)
	t.PerYear, t.Low, t.High = slope, slope-half, slope+half
	if _, why := whole(t.PerYear + t.Low + t.High); !why.IsZero() {
		return Trend{}, why
	}
	t.Robust = theilSen(ps)
	t.Driven = driven(ps, slope)
	t.Rapid = t.PerYear < RapidPerYear && t.High < 0
	return t, model.Msg{}
}

// leastSquares is the slope and its standard error.
func leastSquares(ps []Point) (slope, se float64) {
	n := float64(len(ps))
	var mx, my float64
	for _, p := range ps {
		mx, my = mx+p.Years/n, my+p.EGFR/n
	}
	var xx, xy, rest float64
	for _, p := range ps {
		xx += (p.Years - mx) * (p.Years - mx)
		xy += (p.Years - mx) * (p.EGFR - my)
	}
	slope = xy / xx
	for _, p := range ps {
		r := p.EGFR - my - slope*(p.Years-mx)
		rest += r * r
	}
	if len(ps) < 3 {
		return slope, 0
	}
	return slope, math.Sqrt(rest / (n - 2) / xx)
}

// driven leaves out one result after the other and looks whether the slope
// holds.
func driven(ps []Point, slope float64) bool {
	if len(ps) <= TrendResults {
		return false // without one of three there is no trend to compare with
	}
	less := make([]Point, 0, len(ps))
	for i := range ps {
		less = append(append(less[:0], ps[:i]...), ps[i+1:]...)
		s, _ := leastSquares(less)
		d := math.Abs(s - slope)
		if s*slope < 0 && d > 1 || d > 1 && d > math.Abs(slope)/2 {
			return true
		}
	}
	return false
}

// theilSen is the median of the slopes between all pairs of different times.
func theilSen(ps []Point) float64 {
	slopes := make([]float64, 0, len(ps)*(len(ps)-1)/2)
	for i := range ps {
		for j := range i {
			if dx := ps[i].Years - ps[j].Years; dx > 0 {
				slopes = append(slopes, (ps[i].EGFR-ps[j].EGFR)/dx)
			}
		}
	}
	if len(slopes) == 0 {
		return 0
	}
	slices.SortFunc(slopes, func(a, b float64) int { return cmp.Compare(a, b) })
	m := len(slopes) / 2
	if len(slopes)%2 == 0 {
		return (slopes[m-1] + slopes[m]) / 2
	}
	return slopes[m]
}

// t975 is the 97.5th hundredth of Student's t, from the printed table up to 30
// degrees of freedom (NIST/SEMATECH handbook of statistical methods, 1.3.6.7.2),
// beyond by the first terms of its expansion about the normal distribution.
func t975(df int) float64 {
	if df < 1 {
		return math.NaN()
	}
	if df < len(tTable) {
		return tTable[df]
	}
	const z = 1.959964
	n := float64(df)
	return z + (z*z*z+z)/(4*n) + (5*math.Pow(z, 5)+16*z*z*z+3*z)/(96*n*n)
}

var tTable = [...]float64{1: 12.706, 4.303, 3.182, 2.776, 2.571, 2.447, 2.365, 2.306, 2.262, 2.228, 2.201, 2.179, 2.160,
	2.145, 2.131, 2.120, 2.110, 2.101, 2.093, 2.086, 2.080, 2.074, 2.069, 2.064, 2.060, 2.056, 2.052, 2.048, 2.045, 2.042}
