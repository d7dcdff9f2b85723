package renal

import (
	"math"
	"math/rand/v2"
	"slices"
	"testing"
)

// nist is the printed column 0.975 for 1 to 30 degrees of freedom (NIST/SEMATECH
// handbook of statistical methods, 1.3.6.7.2).
var nist = [...]float64{1: 12.706, 4.303, 3.182, 2.776, 2.571, 2.447, 2.365, 2.306, 2.262, 2.228, 2.201, 2.179, 2.160, 2.145, 2.131,
	2.120, 2.110, 2.101, 2.093, 2.086, 2.080, 2.074, 2.069, 2.064, 2.060, 2.056, 2.052, 2.048, 2.045, 2.042}

// TestStudentsT holds the computed quantile against the printed table and
// against the two forms that are exact: one and two degrees of freedom.
func TestStudentsT(t *testing.T) {
	printed := map[int]float64{31: 2.040, 40: 2.021, 60: 2.000, 80: 1.990, 100: 1.984}
	for df, x := range nist[1:] {
		printed[df+1] = x
	}
	for df, want := range printed {
		if got := t975(df); math.Abs(got-want) > 0.0005 {
			t.Errorf("%d: %.5f, want %.3f", df, got, want)
		}
	}
	if got, want := t975(1), math.Tan(0.475*math.Pi); math.Abs(got-want) > 1e-9 {
		t.Errorf("1: %v, want %v", got, want)
	}
	if got, want := t975(2), 0.95*math.Sqrt(2/(1-0.95*0.95)); math.Abs(got-want) > 1e-9 {
		t.Errorf("2: %v, want %v", got, want)
	}
	for df := 1; df < 3000; df++ {
		if now, next := t975(df), t975(df+1); !(next < now && next > 1.959963) {
			t.Fatalf("%d: %v then %v", df, now, next)
		}
	}
}

// TestLeavingOneOut: what leverage says of a result left out is what fitting
// the others gives.
func TestLeavingOneOut(t *testing.T) {
	rng := rand.New(rand.NewPCG(3, 4))
	seen := map[bool]int{}
	for range 3000 {
		var ps []Point
		for i := range 4 + rng.IntN(8) {
			ps = append(ps, Point{float64(i)/2 + rng.Float64()/4, 50 + 10*rng.NormFloat64()})
		}
		l := leastSquares(ps)
		want := false
		for i := range ps {
			without := leastSquares(slices.Delete(slices.Clone(ps), i, i+1)).slope
			d := math.Abs(without - l.slope)
			want = want || d > 1 && d > math.Abs(l.slope)/2
		}
		if got := l.driven(ps); got != want {
			t.Fatalf("%v: %v, want %v", ps, got, want)
		}
		seen[want]++
	}
	if seen[true] < 100 || seen[false] < 100 {
		t.Errorf("the series do not try both answers: %v", seen)
	}
	alone, _ := TrendOf([]Point{{0, 50}, {0, 52}, {0, 51}, {1, 40}})
	if !alone.Driven {
		t.Error("one result a year after all others does not drive the trend")
	}
}

// TestMiddle holds the selected median against the sorted one.
func TestMiddle(t *testing.T) {
	rng := rand.New(rand.NewPCG(7, 8))
	for _, n := range []int{0, 1, 2, 3, 4, 7, 50, 599, 601, 602, 5000, 64620, 64621} {
		for _, kinds := range []int{1, 3, 1 << 30} { // all equal, many equal, none
			xs := make([]float64, n)
			for i := range xs {
				xs[i] = float64(rng.IntN(kinds))
			}
			sorted := slices.Sorted(slices.Values(xs))
			want := 0.0
			if n > 0 {
				want = (sorted[(n-1)/2] + sorted[n/2]) / 2
			}
			if got := middle(slices.Clone(xs)); got != want {
				t.Errorf("%d of %d kinds: %v, want %v", n, kinds, got, want)
			}
			if got := middle(sorted); got != want {
				t.Errorf("%d sorted: %v, want %v", n, got, want)
			}
			slices.Reverse(sorted)
			if got := middle(sorted); got != want {
				t.Errorf("%d reversed: %v, want %v", n, got, want)
			}
		}
	}
}

// TestRobust: of series short and long, up to three results in ten far off
// leave the slope of pairs near the true one.
func TestRobust(t *testing.T) {
	rng := rand.New(rand.NewPCG(9, 10))
	for _, n := range []int{10, 40, allPairs, allPairs + 1, 2000} {
		var ps []Point
		for i := range n {
			x := 10 * float64(i) / float64(n-1)
			p := Point{x, 80 - 2*x + rng.NormFloat64()/10}
			if rng.IntN(10) < 2 {
				p.EGFR = 5 + 10*rng.Float64()
			}
			ps = append(ps, p)
		}
		got, why := TrendOf(ps)
		if !why.IsZero() || math.Abs(got.Robust+2) > 0.4 {
			t.Errorf("%d: %+v %v", n, got, why)
		}
	}
}

// TestTrendFollows: a trend turned upside down, stretched or moved does as its
// results did.
func TestTrendFollows(t *testing.T) {
	rng := rand.New(rand.NewPCG(11, 12))
	for range 500 {
		var ps, moved, stretched []Point
		for i := range 3 + rng.IntN(20) {
			p := Point{float64(i)/2 + rng.Float64()/4 + 1, 40 + 10*rng.Float64()}
			ps = append(ps, p)
			moved = append(moved, Point{p.Years + 7, p.EGFR + 20})
			stretched = append(stretched, Point{p.Years * 2, p.EGFR})
		}
		a, _ := TrendOf(ps)
		if a.Span < aYear {
			continue
		}
		b, _ := TrendOf(moved)
		c, _ := TrendOf(stretched)
		for _, d := range []float64{b.PerYear - a.PerYear, b.Low - a.Low, b.High - a.High, b.Robust - a.Robust, 2*c.PerYear - a.PerYear, 2*c.Low - a.Low, 2*c.High - a.High, 2*c.Robust - a.Robust} {
			if math.Abs(d) > 1e-8 {
				t.Fatalf("%v: %+v %+v %+v", ps, a, b, c)
			}
		}
		if a.Low > a.PerYear || a.High < a.PerYear || a.Rapid && (a.High >= 0 || a.PerYear >= -5) {
			t.Fatalf("%+v", a)
		}
	}
}

// TestTrendRefusesNonsense: what is no result of a body makes no trend.
func TestTrendRefusesNonsense(t *testing.T) {
	for _, x := range []float64{math.NaN(), math.Inf(1), 0, -1, 1000, 1e300} {
		if _, why := TrendOf([]Point{{0, 50}, {1, x}, {2, 40}}); why.Key != "renal.refused.number" {
			t.Errorf("%v: %v", x, why)
		}
		if got, why := TrendOf([]Point{{0, 50}, {x, 45}, {2, 40}}); why.IsZero() && !finite(got.PerYear+got.Low+got.High+got.Robust) {
			t.Errorf("at %v: %+v", x, got)
		}
	}
}
