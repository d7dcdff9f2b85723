package renal

import (
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
	Robust    float64 // median of the slopes between pairs (Theil 1950, Sen 1968)
	N         int
	Span      float64 // years from first to last
	// Driven reports that one result makes the trend: left out, the slope
	// changes by more than half and by more than 1 a year (our own choice). Then Robust is the number to look at. Of three results it is never
	// said: without one of them there is no trend to compare with.
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

// TrendOf is the trend of at least three results, above 0 and below 1000, that
// span at least a year; ps is in time order.
func TrendOf(ps []Point) (Trend, model.Msg) {
	if len(ps) < TrendResults {
		return Trend{}, refused("trend-few", "n", len(ps))
	}
	t := Trend{N: len(ps), Span: ps[len(ps)-1].Years - ps[0].Years}
	if !(t.Span >= aYear) {
		return Trend{}, refused("trend-short")
	}
	for _, p := range ps {
		if !(p.EGFR > 0 && p.EGFR < 1000) || !(math.Abs(p.Years) < 10000) {
			return Trend{}, refused("number")
		}
	}
	l := leastSquares(ps)
	half := t975(len(ps)-2) * math.Sqrt(l.rest/float64(len(ps)-2)/l.xx)
	t.PerYear, t.Low, t.High = l.slope, l.slope-half, l.slope+half
	t.Robust = theilSen(ps)
	t.Driven = l.driven(ps)
	t.Rapid = t.PerYear < RapidPerYear && t.High < 0
	return t, model.Msg{}
}

// line is a straight line through results: its slope at their mean, the sum of
// squares of their times, and of what the line leaves of them.
type line struct{ slope, mx, my, xx, rest float64 }

func leastSquares(ps []Point) (l line) {
	n := float64(len(ps))
	for _, p := range ps {
		l.mx, l.my = l.mx+p.Years/n, l.my+p.EGFR/n
	}
	var xy float64
	for _, p := range ps {
		l.xx += (p.Years - l.mx) * (p.Years - l.mx)
		xy += (p.Years - l.mx) * (p.EGFR - l.my)
	}
	l.slope = xy / l.xx
	for _, p := range ps {
		l.rest += l.off(p) * l.off(p)
	}
	return l
}

// off is how far a result lies above the line.
func (l line) off(p Point) float64 { return p.EGFR - l.my - l.slope*(p.Years-l.mx) }

// driven leaves out one result after the other and looks whether the slope
// holds. How far it moves follows from the result's leverage (Cook 1977, with
// the usual formula for deleting a row), so that no line is fitted again.
func (l line) driven(ps []Point) bool {
	if len(ps) <= TrendResults {
		return false
	}
	for _, p := range ps {
		dx := p.Years - l.mx
		stay := 1 - 1/float64(len(ps)) - dx*dx/l.xx
		if stay < tiny { // all others are of one time: without it there is no slope
			return true
		}
		if moved := math.Abs(dx * l.off(p) / (l.xx * stay)); moved > 1 && moved > math.Abs(l.slope)/2 {
			return true
		}
	}
	return false
}

// allPairs is the longest series of which all pairs are looked at: a result a
// month for thirty years.
const allPairs = 360

// theilSen is the median of the slopes between all pairs of different times. Of
// a longer series it takes the pairs half the series apart: Theil's incomplete
// method of 1950, which needs no memory for millions of pairs.
func theilSen(ps []Point) float64 {
	n := len(ps)
	if n > allPairs {
		slopes := make([]float64, 0, n/2)
		for i := range n / 2 {
			slopes = addSlope(slopes, ps[i], ps[i+(n+1)/2])
		}
		return middle(slopes)
	}
	slopes := make([]float64, 0, n*(n-1)/2)
	for i := range ps {
		for j := range i {
			slopes = addSlope(slopes, ps[j], ps[i])
		}
	}
	return middle(slopes)
}

func addSlope(slopes []float64, from, to Point) []float64 {
	if dx := to.Years - from.Years; dx > 0 {
		return append(slopes, (to.EGFR-from.EGFR)/dx)
	}
	return slopes
}

// middle is the median of xs, which it reorders; 0 of none.
func middle(xs []float64) float64 {
	if len(xs) == 0 {
		return 0
	}
	m := len(xs) / 2
	arrange(xs, m)
	if len(xs)%2 == 0 {
		return (slices.Max(xs[:m]) + xs[m]) / 2
	}
	return xs[m]
}

// arrange brings the k-th smallest of xs to its place, the smaller ones before
// it (Floyd and Rivest 1975): sorting 64,620 slopes takes twenty times as long.
func arrange(xs []float64, k int) {
	for left, right := 0, len(xs)-1; left < right; {
		if n := right - left + 1; n > 600 {
			// First among a sample around k, so that the pivot is close to it.
			z := math.Log(float64(n))
			s := 0.5 * math.Exp(2*z/3)
			spread := math.Copysign(0.5*math.Sqrt(z*s*(1-s/float64(n))), float64(2*(k-left)-n))
			share := float64(k-left) * s / float64(n)
			from := max(left, int(float64(k)-share+spread))
			to := min(right, int(float64(k)-share+s+spread))
			if from <= k && k <= to {
				arrange(xs[from:to+1], k-from)
			}
		}
		pivot, i, j := xs[k], left, right
		for i <= j {
			for xs[i] < pivot {
				i++
			}
			for xs[j] > pivot {
				j--
			}
			if i <= j {
				xs[i], xs[j] = xs[j], xs[i]
				i, j = i+1, j-1
			}
		}
		if j < k {
			left = i
		}
		if k < i {
			right = j
		}
	}
}

// t975 is the 97.5th hundredth of Student's t with df degrees of freedom: where
// the probability between −t and t reaches 95 of 100.
func t975(df int) float64 {
	if df < 1 {
		return math.NaN()
	}
	low, high := 0.0, math.Pi/2
	for range 55 { // halves the angle down to the last binary digit
		if mid := (low + high) / 2; between(mid, df) < 0.95 {
			low = mid
		} else {
			high = mid
		}
	}
	return math.Sqrt(float64(df)) * math.Tan(low)
}

// between is the probability that Student's t lies between plus and minus
// √df·tan θ: a finite sum for whole degrees of freedom (Abramowitz and Stegun,
// Handbook of mathematical functions, 26.7.3 and 26.7.4).
func between(theta float64, df int) float64 {
	sin, cos := math.Sincos(theta)
	sum, term, k := 0.0, 1.0, 2
	if df%2 == 1 {
		term, k = cos, 3
	}
	for ; k <= df; k += 2 {
		sum += term
		term *= cos * cos * float64(k-1) / float64(k)
	}
	if df%2 == 1 {
		return 2 / math.Pi * (theta + sin*sum)
	}
	return sin * sum
}
