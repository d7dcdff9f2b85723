package renal

import (
	"fmt"
	"math"
	"math/rand/v2"
	"slices"
	"strings"
	"testing"
	"time"

	"quietwater/model"
)

func finite(x float64) bool { return !math.IsNaN(x) && !math.IsInf(x, 0) }

// odd are numbers no equation may turn into nonsense.
var odd = []float64{math.NaN(), math.Inf(1), math.Inf(-1), -1, 0, 5e-324, 1e-300, 1e-9, 0.5, 1, 17.999, 18, 25, 60, 125, 126, 1e9, 1e300, math.MaxFloat64}

// FuzzNeverNonsense: every function of numbers gives a finite number that is
// not negative, or a reason.
func FuzzNeverNonsense(f *testing.F) {
	for _, x := range odd {
		f.Add(x, 1.0, 70.0, 1.6)
		f.Add(1.0, x, 70.0, 1.6)
		f.Add(1.0, 1.0, x, 1.6)
		f.Add(1.0, 1.0, 70.0, x)
	}
	f.Fuzz(func(t *testing.T, a, b, c, d float64) {
		years := int(max(-1, min(c, 1000)))
		for _, s := range []Sex{Male, Female, "", "other"} {
			answers := []func() (float64, model.Msg){
				func() (float64, model.Msg) { return CreatinineEGFR(a, years, s) },
				func() (float64, model.Msg) { return CreatinineCystatinEGFR(a, b, years, s) },
				func() (float64, model.Msg) { return CystatinEGFR(b, years, s) },
				func() (float64, model.Msg) { return BedsideChildEGFR(a, b, c) },
				func() (float64, model.Msg) { return U25Creatinine(a, b, c, s) },
				func() (float64, model.Msg) { return U25Cystatin(b, c, s) },
				func() (float64, model.Msg) { return CockcroftGault(a, b, years, s) },
				func() (float64, model.Msg) { return MeasuredClearance(a, b, c, d) },
				func() (float64, model.Msg) { return DuBois(a, b) },
				func() (float64, model.Msg) { return Mosteller(a, b) },
				func() (float64, model.Msg) { return DeIndexed(a, b) },
				func() (float64, model.Msg) { return ACRFromPCR(a, s, true, false) },
				func() (float64, model.Msg) {
					return ACRFromStrip(model.Grade(int8(max(-1, min(a, 20)))), s, true, false)
				},
				func() (float64, model.Msg) {
					r, why := FailureRisk4(c, s, a, b, Elsewhere)
					return r.Two + r.Five, why
				},
				func() (float64, model.Msg) {
					r, why := FailureRisk8(c, s, a, b, d, b, c, a, NorthAmerica)
					return r.Two + r.Five, why
				},
			}
			for i, answer := range answers {
				x, why := answer()
				if why.IsZero() && (!finite(x) || x < 0) || !why.IsZero() && x != 0 {
					t.Errorf("%d of %v %v %v %v %q: %v %v", i, a, b, c, d, s, x, why)
				}
			}
			CollectionDoubt(a, b, c, d, s)
		}
		_ = GOf(a).String()
		ShownEGFR(a)
		Fell(a, b)
		InjuryByUrine(a, b, c)
		for _, unit := range []string{"mg/g", "mg/mmol", "", "kg"} {
			for _, typed := range []string{"", "<1", ">1"} {
				v := model.Value{Code: "acr", Number: a, Typed: typed, Unit: unit}
				if x, ok := AOf(v); ok != (x != 0) {
					t.Errorf("%v: %v %v", v, x, ok)
				}
				Doubled(v, model.Value{Code: "acr", Number: b, Unit: "mg/g"})
			}
		}
		trend, why := TrendOf([]Point{{a, b}, {c, d}, {b, a}, {d, c}})
		if why.IsZero() && !(finite(trend.PerYear) && finite(trend.Low) && finite(trend.High)) {
			t.Errorf("%+v", trend)
		}
	})
}

// TestMonotone: more creatinine or cystatin C, or more years, never gives more
// filtering; more albumin or less filtering never a better cell or less risk.
func TestMonotone(t *testing.T) {
	rng := rand.New(rand.NewPCG(1, 2))
	for range 4000 {
		s := []Sex{Male, Female}[rng.IntN(2)]
		years := 18 + rng.IntN(80)
		cr, cys := 0.2+rng.Float64()*10, 0.3+rng.Float64()*5
		more, later := 1+rng.Float64(), 1+rng.IntN(5)
		less := func(what string, a, b float64, w1, w2 model.Msg) {
			t.Helper()
			if !w1.IsZero() || !w2.IsZero() || !(b < a) {
				t.Fatalf("%s: %v then %v (%v %v)", what, a, b, w1, w2)
			}
		}
		a, w1 := CreatinineEGFR(cr, years, s)
		b, w2 := CreatinineEGFR(cr*more, years, s)
		less("creatinine", a, b, w1, w2)
		b, w2 = CreatinineEGFR(cr, years+later, s)
		less("years", a, b, w1, w2)
		a, w1 = CreatinineCystatinEGFR(cr, cys, years, s)
		b, w2 = CreatinineCystatinEGFR(cr, cys*more, years, s)
		less("cystatin beside creatinine", a, b, w1, w2)
		a, w1 = CystatinEGFR(cys, years, s)
		b, w2 = CystatinEGFR(cys*more, years, s)
		less("cystatin", a, b, w1, w2)
		age := 1 + rng.Float64()*23
		a, w1 = U25Creatinine(cr, 150, age, s)
		b, w2 = U25Creatinine(cr*more, 150, age, s)
		less("creatinine of the young", a, b, w1, w2)

		egfr, acr := 5+rng.Float64()*50, 1+rng.Float64()*3000
		low, w1 := FailureRisk4(float64(years), s, egfr, acr, Elsewhere)
		high, w2 := FailureRisk4(float64(years), s, egfr-4, acr*more, Elsewhere)
		less("risk", high.Five, low.Five, w1, w2)
		if low.Two > low.Five {
			t.Fatalf("more fail in two years than in five: %+v", low)
		}
		of := func(x float64) A {
			c, _ := AOf(model.Value{Code: "acr", Number: x, Unit: "mg/g"})
			return c
		}
		if of(acr*more) < of(acr) || RiskOf(GOf(egfr), of(acr*more)) < RiskOf(GOf(egfr), of(acr)) || RiskOf(GOf(egfr-4), of(acr)) < RiskOf(GOf(egfr), of(acr)) {
			t.Fatalf("a cell gets better: %v %v %v", egfr, acr, more)
		}
	}
}

func TestGridIsWhole(t *testing.T) {
	for g := G1; g <= G5; g++ {
		for a := A1; a <= A3; a++ {
			if a < A3 && (RiskOf(g, a+1) < RiskOf(g, a) || ChecksPerYear(g, a+1) < ChecksPerYear(g, a)) {
				t.Errorf("%s: %s is worse than %s", g, a, a+1)
			}
			if g < G5 && (RiskOf(g+1, a) < RiskOf(g, a) || ChecksPerYear(g+1, a) < ChecksPerYear(g, a)) {
				t.Errorf("%s: %s is worse than %s", a, g, g+1)
			}
		}
		if g == G5 && g.From() != 0 || GOf(g.From()) != g && g != G5 || g != G1 && GOf(g.To()) != g-1 || GOf(math.Nextafter(g.To(), 0)) != g {
			t.Errorf("%s: %v to %v", g, g.From(), g.To())
		}
	}
}

// TestGridCellByCell: KDIGO 2012, figure 9 (risk), and ADA Standards of Care
// 2024, section 11, figure (checks a year), read row by row (facts B2, decision
// 4).
func TestGridCellByCell(t *testing.T) {
	for g, want := range map[G]string{
		G1: "low 1, moderate 1, high 3", G2: "low 1, moderate 1, high 3", G3a: "moderate 1, high 2, very high 3",
		G3b: "high 2, very high 3, very high 3", G4: "very high 3, very high 3, very high 4", G5: "very high 4, very high 4, very high 4",
	} {
		var got []string
		for a := A1; a <= A3; a++ {
			got = append(got, fmt.Sprint(RiskOf(g, a), " ", ChecksPerYear(g, a)))
		}
		if s := strings.Join(got, ", "); s != want {
			t.Errorf("%s: %s, want %s", g, s, want)
		}
	}
}

func TestShownEGFR(t *testing.T) {
	for x, want := range map[float64]string{59.6: "59.6", 59.97: "59.9", 59.4: "59", 60: "60", 60.4: "60", 89.99: "89.9", 14.5: "14.5", 14.49: "14", 15.2: "15", 0.3: "0.3", 0: "", -5: "", 118.5: "119"} {
		if got := ShownEGFR(x); got != want {
			t.Errorf("%v is shown as %s, want %s", x, got, want)
		}
	}
}

// TestAlbuminuriaAtItsLimits judges in the unit reported (clinical decision 1):
// 3 mg/mmol is A2 although it converts to 26.5 mg/g.
func TestAlbuminuriaAtItsLimits(t *testing.T) {
	for _, c := range []struct {
		typed, unit string
		want        A
	}{
		{"29.9", "mg/g", A1}, {"30", "mg/g", A2}, {"299.9", "mg/g", A2}, {"300", "mg/g", A3},
		{"2.9", "mg/mmol", A1}, {"3", "mg/mmol", A2}, {"3.0", "mg/mmol", A2}, {"29.9", "mg/mmol", A2}, {"30", "mg/mmol", A3},
		{"<3", "mg/mmol", A1}, {"<0.7", "mg/mmol", A1}, {"<30", "mg/g", A1}, {"<31", "mg/g", 0}, {"<300", "mg/g", 0},
		{">300", "mg/g", A3}, {">30", "mg/mmol", A3}, {">299", "mg/g", 0}, {">3", "mg/mmol", 0}, {"0", "mg/g", A1},
		{"30", "", 0}, {"30", "mg/dL", 0},
	} {
		n := c.typed
		if n[0] == '<' || n[0] == '>' {
			n = n[1:]
		}
		x, _ := model.ParseNumber(n)
		if got, ok := AOf(model.Value{Code: "acr", Number: x, Typed: c.typed, Unit: c.unit}); got != c.want || ok != (c.want != 0) {
			t.Errorf("%s %s: %v %v, want %v", c.typed, c.unit, got, ok, c.want)
		}
	}
}

func TestAlbuminuriaOfNoNumber(t *testing.T) {
	for _, v := range []model.Value{{Grade: model.Plus2}, {Word: "yes", Number: 40}, {Number: -1}, {Number: math.NaN()}, {Number: math.Inf(1)}} {
		v.Code, v.Unit = "acr", "mg/g"
		if a, ok := AOf(v); ok {
			t.Errorf("%+v is %s", v, a)
		}
	}
}

var start = time.Date(2026, 3, 1, 8, 0, 0, 0, time.UTC)

func crea(umol float64, after time.Duration) Creatinine {
	return Creatinine{model.At(start.Add(after)), umol / 88.4}
}

// TestInjury walks along every limit of the definition (KDIGO 2012, acute
// kidney injury; clinical decisions, "AKI by creatinine").
func TestInjury(t *testing.T) {
	const h, d = time.Hour, 24 * time.Hour
	child := 10.0
	for _, c := range []struct {
		name    string
		now     Creatinine
		earlier []Creatinine
		age     float64
		egfr    float64
		stage   int
		against string
	}{
		{"nothing before", crea(400, 0), nil, -1, 0, 0, ""},
		{"+26.5 in 48 h", crea(106.5, 48*h), []Creatinine{crea(80, 0)}, -1, 0, 1, AgainstTwoDays},
		{"+26.4 in 48 h", crea(106.4, 48*h), []Creatinine{crea(80, 0)}, -1, 0, 0, ""},
		{"+26.5 in 49 h", crea(106.5, 49*h), []Creatinine{crea(80, 0)}, -1, 0, 0, ""},
		{"1.5 times in 7 days", crea(120, 7*d), []Creatinine{crea(80, 0)}, -1, 0, 1, AgainstWeek},
		{"1.49 times", crea(119.2, 7*d), []Creatinine{crea(80, 0)}, -1, 0, 0, ""},
		{"1.5 times after 7 days and an hour", crea(120, 7*d+h), []Creatinine{crea(80, 0)}, -1, 0, 1, AgainstUsual},
		{"1.49 times after 7 days and an hour", crea(119.2, 7*d+h), []Creatinine{crea(80, 0)}, -1, 0, 0, ""},
		{"of 365 days and an hour before", crea(120, 365*d+h), []Creatinine{crea(80, 0)}, -1, 0, 0, ""},
		{"1.5 times the usual of 8 days before", crea(120, 8*d), []Creatinine{crea(80, 0)}, -1, 0, 1, AgainstUsual},
		{"of 365 days before", crea(120, 365*d), []Creatinine{crea(80, 0)}, -1, 0, 1, AgainstUsual},
		{"of 366 days before", crea(120, 366*d), []Creatinine{crea(80, 0)}, -1, 0, 0, ""},
		{"twice", crea(160, d), []Creatinine{crea(80, 0)}, -1, 0, 2, AgainstWeek},
		{"1.99 times", crea(159, d), []Creatinine{crea(80, 0)}, -1, 0, 1, AgainstWeek},
		{"three times", crea(240, d), []Creatinine{crea(80, 0)}, -1, 0, 3, AgainstWeek},
		{"the lowest of the week", crea(160, 6*d), []Creatinine{crea(100, 0), crea(80, d), crea(150, 5*d)}, -1, 0, 2, AgainstWeek},
		{"the higher of two ratios", crea(160, 100*d), []Creatinine{crea(70, 0), crea(110, 99*d)}, -1, 0, 2, AgainstUsual},
		{"the middle of three", crea(150, 100*d), []Creatinine{crea(40, 0), crea(100, d), crea(300, 2*d)}, -1, 0, 1, AgainstUsual},
		{"the mean of the middle two", crea(150, 100*d), []Creatinine{crea(40, 0), crea(90, d), crea(110, 2*d), crea(300, 3*d)}, -1, 0, 1, AgainstUsual},
		{"353.6 with the definition met", crea(353.6, d), []Creatinine{crea(327, 0)}, -1, 0, 3, AgainstTwoDays},
		{"353.6 by itself", crea(353.6, 30*d), []Creatinine{crea(340, 0)}, -1, 0, 0, ""},
		{"353.5 with the definition met", crea(353.5, d), []Creatinine{crea(327, 0)}, -1, 0, 1, AgainstTwoDays},
		{"a child below 35", crea(120, d), []Creatinine{crea(80, 0)}, child, 34.9, 3, AgainstWeek},
		{"a newborn below 35", crea(120, d), []Creatinine{crea(80, 0)}, 0, 20, 3, AgainstWeek},
		{"a child of unknown eGFR", crea(120, d), []Creatinine{crea(80, 0)}, child, 0, 1, AgainstWeek},
		{"of unknown age", crea(120, d), []Creatinine{crea(80, 0)}, -1, 20, 1, AgainstWeek},
		{"a child at 35", crea(120, d), []Creatinine{crea(80, 0)}, child, 35, 1, AgainstWeek},
		{"an adult below 35", crea(120, d), []Creatinine{crea(80, 0)}, 18, 30, 1, AgainstWeek},
		{"a fall", crea(80, d), []Creatinine{crea(240, 0)}, -1, 0, 0, ""},
	} {
		got, ok := InjuryOf(c.now, c.earlier, c.age, c.egfr, time.UTC)
		if got.Stage != c.stage || got.Against != c.against || ok != (c.stage > 0) {
			t.Errorf("%s: %+v", c.name, got)
		}
	}
}

// TestUsualIsDated: the middle result stands with its own time, two of them with
// the later's, so that it can be shown.
func TestUsualIsDated(t *testing.T) {
	const d = 24 * time.Hour
	for _, c := range []struct {
		earlier []Creatinine
		want    Creatinine
	}{
		{[]Creatinine{crea(80, 0), crea(90, d), crea(70, 2*d)}, crea(80, 0)},
		{[]Creatinine{crea(80, 0), crea(90, d)}, crea(85, d)},
		{[]Creatinine{crea(90, 0), crea(80, d)}, crea(85, d)},
	} {
		got, ok := InjuryOf(crea(200, 30*d), c.earlier, -1, 0, time.UTC)
		if !ok || got.Baseline.When != c.want.When || math.Abs(got.Baseline.MgDL-c.want.MgDL) > 1e-12 {
			t.Errorf("%v: %+v, want %+v", c.earlier, got, c.want)
		}
	}
}

// TestInjuryByDaysAlone counts calendar days where no time is known (clinical
// decision 12).
func TestInjuryByDaysAlone(t *testing.T) {
	on := func(day int, umol float64) Creatinine {
		return Creatinine{model.OnDay(time.Date(2026, 3, day, 0, 0, 0, 0, time.UTC)), umol / 88.4}
	}
	for _, c := range []struct {
		now   Creatinine
		base  Creatinine
		stage int
	}{{on(3, 106.5), on(1, 80), 1}, {on(4, 106.5), on(1, 80), 0}, {on(8, 120), on(1, 80), 1}} {
		if got, _ := InjuryOf(c.now, []Creatinine{c.base}, -1, 0, time.UTC); got.Stage != c.stage {
			t.Errorf("%v after %v: %+v", c.now, c.base, got)
		}
	}
}

func TestInjuryByUrine(t *testing.T) {
	for _, c := range []struct {
		mL, kg, hours float64
		stage         int
		fine          bool
	}{
		// Next to none: below 100 mL a day.
		{49, 70, 12, 3, true}, {50, 70, 12, 2, true}, {40, 70, 11.9, 1, true}, {math.Inf(1), 70, 12, 0, false},
		{209, 70, 6, 1, true}, {210, 70, 6, 0, true}, {419, 70, 12, 2, true}, {420, 70, 12, 0, true}, {503, 70, 24, 3, true},
		{504, 70, 24, 2, true}, {0, 70, 12, 3, true}, {0, 70, 11.9, 1, true}, {100, 70, 5.9, 0, false}, {100, 0, 12, 0, false}, {-1, 70, 12, 0, false},
	} {
		if stage, why := InjuryByUrine(c.mL, c.kg, c.hours); stage != c.stage || why.IsZero() != c.fine {
			t.Errorf("%+v: %d %v", c, stage, why)
		}
	}
}

// TestTrendInterval: a worked regression. x 0 1 2 3, y 10 8 7 3 has slope −2.2,
// residuals −0.3 −0.1 1.1 −0.7, so variance 0.9 over 2 degrees, standard error
// √(0.9/5) = 0.4243: −2.2 ± 4.303 × 0.4243 = 1.826.
func TestTrendInterval(t *testing.T) {
	got, why := TrendOf([]Point{{0, 10}, {1, 8}, {2, 7}, {3, 3}})
	if !why.IsZero() || math.Abs(got.PerYear+2.2) > 1e-9 || math.Abs(got.High-got.PerYear-1.826) > 0.001 || math.Abs(got.PerYear-got.Low-1.826) > 0.001 {
		t.Errorf("%+v %v", got, why)
	}
	// Pairs: −2 −1.5 −7/3 −1 −2.5 −4; the middle is −2.1667.
	if math.Abs(got.Robust+(2+7.0/3)/2) > 1e-9 {
		t.Errorf("robust %v", got.Robust)
	}
}

func TestTrendLimits(t *testing.T) {
	line := func(n int, span, slope float64) (ps []Point) {
		for i := range n {
			x := span * float64(i) / float64(n-1)
			ps = append(ps, Point{x, 80 + slope*x})
		}
		return ps
	}
	for _, c := range []struct {
		name  string
		ps    []Point
		why   string
		rapid bool
	}{
		{"two", line(2, 3, -9), "renal.refused.trend-few", false},
		{"eleven months", line(5, 0.92, -9), "renal.refused.trend-short", false},
		{"a year of 365 days", line(3, 365/365.25, -9), "", true},
		{"exactly -5", line(5, 2, -5), "", false},
		{"-5.01", line(5, 2, -5.01), "", true},
		{"steep and uncertain", []Point{{0, 80}, {0.6, 40}, {1.2, 70}}, "", false},
		{"one day", []Point{{0, 80}, {0, 70}, {0, 60}}, "renal.refused.trend-short", false},
		{"none", nil, "renal.refused.trend-few", false},
	} {
		got, why := TrendOf(c.ps)
		if why.Key != c.why || got.Rapid != c.rapid {
			t.Errorf("%s: %+v %v", c.name, got, why)
		}
	}
}

// TestOneResultDrives: the slope of pairs stays where it was while one result
// pulls the least squares away, and the trend says so.
func TestOneResultDrives(t *testing.T) {
	var ps []Point
	for i := range 9 {
		ps = append(ps, Point{float64(i) / 2, 60 - float64(i)/2})
	}
	calm, _ := TrendOf(ps)
	ps[8].EGFR = 20
	pulled, _ := TrendOf(ps)
	if calm.Driven || math.Abs(calm.PerYear+1) > 1e-9 || math.Abs(calm.Robust+1) > 1e-9 {
		t.Errorf("a straight line: %+v", calm)
	}
	if !pulled.Driven || math.Abs(pulled.Robust+1) > 0.5 || pulled.PerYear > -3 {
		t.Errorf("one result far off: %+v", pulled)
	}
}

func TestDoubled(t *testing.T) {
	v := func(typed, unit string) model.Value {
		n := typed
		if n[0] == '<' || n[0] == '>' {
			n = n[1:]
		}
		x, _ := model.ParseNumber(n)
		return model.Value{Code: "acr", Number: x, Typed: typed, Unit: unit}
	}
	for _, c := range []struct {
		before, now model.Value
		want, fine  bool
	}{
		{v("10", "mg/mmol"), v("20", "mg/mmol"), true, true}, {v("10", "mg/mmol"), v("19.9", "mg/mmol"), false, true}, {v("0.5", "mg/mmol"), v("1", "mg/mmol"), true, true},
		{v("10", "mg/mmol"), v("176.8", "mg/g"), true, true}, {v("1.1", "mg/mmol"), v("19.448", "mg/g"), true, true}, {v("10", "mg/mmol"), v("170", "mg/g"), false, true},
		{v("<3", "mg/mmol"), v("6", "mg/mmol"), true, true}, {v("<3", "mg/mmol"), v("5", "mg/mmol"), false, true},
		{v(">300", "mg/g"), v("700", "mg/g"), false, true}, {v("100", "mg/g"), v(">300", "mg/g"), true, true},
		{v("100", "mg/g"), v("<300", "mg/g"), false, true}, {v("0", "mg/g"), v("40", "mg/g"), false, true},
		{v("10", "mg/dL"), v("20", "mg/g"), false, false},
	} {
		if got, why := Doubled(c.before, c.now); got != c.want || why.IsZero() != c.fine {
			t.Errorf("%v then %v: %v %v", c.before.Text(), c.now.Text(), got, why)
		}
	}
}

// TestConfirmed needs every result since to be abnormal.
func TestConfirmed(t *testing.T) {
	at := func(day int, is bool) Abnormal { return Abnormal{model.OnDay(start.AddDate(0, 0, day)), is} }
	for _, c := range []struct {
		rs   []Abnormal
		yes  bool
		days int
	}{
		{nil, false, 0}, {[]Abnormal{at(0, true)}, false, 0}, {[]Abnormal{at(0, true), at(89, true)}, false, 89}, {[]Abnormal{at(0, true), at(90, true)}, true, 90},
		{[]Abnormal{at(0, true), at(50, false), at(100, true)}, false, 0}, {[]Abnormal{at(0, true), at(100, false)}, false, 0},
		{[]Abnormal{at(0, false), at(10, true), at(60, true), at(101, true)}, true, 91},
	} {
		if yes, days := Confirmed(c.rs, time.UTC); yes != c.yes || days != c.days {
			t.Errorf("%v: %v %d", c.rs, yes, days)
		}
	}
}

// TestCollectionDoubt asks only outside our wide limits (clinical decision 8a).
func TestCollectionDoubt(t *testing.T) {
	for _, c := range []struct {
		mgdL, mL, hours, kg float64
		sex                 Sex
		want                string
	}{
		{56, 1000, 24, 70, Female, ""}, {55.9, 1000, 24, 70, Female, "renal.collection.little"}, {69.9, 1000, 24, 70, Male, "renal.collection.little"},
		{70, 1000, 24, 70, Male, ""}, {175, 1000, 24, 70, Female, ""}, {176, 1000, 24, 70, Female, "renal.collection.much"}, {211, 1000, 24, 70, Male, "renal.collection.much"},
		{10, 1000, 19.9, 70, Male, ""}, {10, 1000, 20, 70, Male, "renal.collection.little"}, {10, 1000, 28, 70, Male, "renal.collection.little"}, {10, 1000, 28.1, 70, Male, ""},
		{65, 1000, 28, 70, Female, "renal.collection.little"}, {66, 1000, 28, 70, Female, ""}, // 56 in 24 h
		{10, 1000, 12, 70, Male, ""}, {10, 1000, 24, 70, "", ""}, {10, 1000, 24, 0, Male, ""},
	} {
		if got := CollectionDoubt(c.mgdL, c.mL, c.hours, c.kg, c.sex); got.Key != c.want {
			t.Errorf("%+v: %s", c, got.Key)
		}
	}
}

// TestFellIsClean: exactly 20 % is not more than 20 %, whatever the last binary
// digit of the quotient (clinical decision 12).
func TestFellIsClean(t *testing.T) {
	for tenths := 50; tenths <= 1500; tenths += 5 {
		previous, current := float64(tenths)/10, float64(tenths*8)/100
		if got := Fell(previous, current); got != 0.2 {
			t.Errorf("%v to %v: %v", previous, current, got)
		}
		if got := Fell(current, previous); got != -0.25 {
			t.Errorf("%v to %v: %v", current, previous, got)
		}
	}
	if Fell(0, 50) != 0 || Fell(50, 0) != 0 || Fell(math.NaN(), 50) != 0 {
		t.Error("a fall from nothing, or to it")
	}
}

// TestNotKnown: categories nobody knows have no word, no risk and no checks,
// and nothing breaks on them.
func TestNotKnown(t *testing.T) {
	for _, g := range []G{-1, 0, 7, 99} {
		for _, a := range []A{-1, 0, 4, 99} {
			if g.String()+a.String()+Risk(g).String() != "" || RiskOf(g, a)+RiskOf(G3a, a)+RiskOf(g, A2) != 0 || ChecksPerYear(g, a)+ChecksPerYear(G5, a)+ChecksPerYear(g, A1) != 0 {
				t.Errorf("%d %d", g, a)
			}
		}
	}
	for _, x := range []float64{0, -1, math.NaN(), math.Inf(1), math.Inf(-1)} {
		if GOf(x) != 0 || ShownEGFR(x) != "" {
			t.Errorf("%v is %s, shown %q", x, GOf(x), ShownEGFR(x))
		}
	}
	if got := Exact(model.When{}, model.OnDay(start)); got >= 0 {
		t.Errorf("age without a birth: %v", got)
	}
	if got := Exact(model.OnDay(start), model.When{}); got >= 0 {
		t.Errorf("age at no time: %v", got)
	}
	if got := Exact(model.OnDay(start), model.OnDay(start.AddDate(0, 0, -1))); got >= 0 {
		t.Errorf("age before birth: %v", got)
	}
}

// TestInjuryAgainstThePlainReading compares with the definition written out
// plainly, over whole histories and every kind of time.
func TestInjuryAgainstThePlainReading(t *testing.T) {
	rng := rand.New(rand.NewPCG(13, 14))
	found := map[string]int{}
	for range 20000 {
		var all []Creatinine
		at := start
		for range 2 + rng.IntN(14) {
			at = at.Add(time.Duration(rng.ExpFloat64()*math.Pow(10, float64(rng.IntN(4)))) * time.Hour)
			w := model.At(at)
			if rng.IntN(4) == 0 {
				w = model.OnDay(at)
			}
			all = append(all, Creatinine{w, (60 + 30*float64(rng.IntN(12))) / 88.4})
		}
		slices.SortFunc(all, func(a, b Creatinine) int { return a.When.Compare(b.When) })
		now, earlier := all[len(all)-1], all[:len(all)-1]

		var week, two, usual []float64
		for _, c := range earlier {
			if model.Within(c.When, now.When, 7*24*time.Hour, time.UTC) {
				week = append(week, c.MgDL)
			}
			if model.Within(c.When, now.When, 48*time.Hour, time.UTC) {
				two = append(two, c.MgDL)
			}
			if !model.Within(c.When, now.When, 7*24*time.Hour, time.UTC) && model.Within(c.When, now.When, 365*24*time.Hour, time.UTC) {
				usual = append(usual, c.MgDL)
			}
		}
		ratio, met := 0.0, false
		if len(week) > 0 {
			ratio = now.MgDL / slices.Min(week)
		}
		if n := len(usual); n > 0 {
			slices.Sort(usual)
			ratio = max(ratio, now.MgDL/((usual[(n-1)/2]+usual[n/2])/2))
		}
		if met = ratio > 1.4999999; !met && len(two) > 0 && (now.MgDL-slices.Min(two))*88.4 > 26.4999999 {
			met, ratio = true, now.MgDL/slices.Min(two)
		}
		stage := 0
		switch {
		case met && (ratio > 2.9999999 || now.MgDL*88.4 > 353.5999999):
			stage = 3
		case met && ratio > 1.9999999:
			stage = 2
		case met:
			stage = 1
		}
		got, ok := InjuryOf(now, earlier, -1, 0, time.UTC)
		if ok != met || got.Stage != stage || ok && (math.Abs(got.Ratio-ratio) > 1e-9 || math.Abs(got.Baseline.MgDL+got.Rise-now.MgDL) > 1e-9) {
			t.Fatalf("%v among %v: %+v, want stage %d at %v", now, earlier, got, stage, ratio)
		}
		found[got.Against+fmt.Sprint(stage)]++
	}
	for _, k := range []string{"0", "week1", "week2", "week3", "usual1", "usual2", "usual3", "two-days1", "two-days3"} {
		if found[k] < 20 {
			t.Errorf("the histories hardly try %s: %v", k, found)
		}
	}
}

// BenchmarkInjury judges the newest of ten years of weekly results.
func BenchmarkInjury(b *testing.B) {
	var all []Creatinine
	for i := range 520 {
		all = append(all, crea(80+float64(i*7%13), time.Duration(i)*7*24*time.Hour))
	}
	now := crea(95, 520*7*24*time.Hour)
	for b.Loop() {
		InjuryOf(now, all, 70, 40, time.UTC)
	}
}

func TestExactAge(t *testing.T) {
	on := func(y, m, d int) model.When { return model.OnDay(time.Date(y, time.Month(m), d, 0, 0, 0, 0, time.UTC)) }
	for _, c := range []struct {
		birth, at model.When
		want      float64
	}{
		{on(2000, 3, 1), on(2018, 2, 28), 18 - 1.0/365}, {on(2000, 3, 1), on(2018, 3, 1), 18}, {on(2000, 2, 29), on(2018, 2, 28), 18 - 1.0/365},
		{on(2000, 2, 29), on(2018, 3, 1), 18}, {on(2008, 1, 1), on(2008, 7, 1), 182.0 / 366}, {on(2008, 1, 1), on(2008, 1, 1), 0},
	} {
		if got := Exact(c.birth, c.at); math.Abs(got-c.want) > 1e-9 {
			t.Errorf("%v at %v: %v, want %v", c.birth, c.at, got, c.want)
		}
	}
}

// TestRefusals: outside its range every equation says which thing is wrong.
func TestRefusals(t *testing.T) {
	for want, why := range map[string]func() model.Msg{
		"adult-only creatinine": func() model.Msg { _, w := CreatinineEGFR(1, 17, Male); return w },
		"sex creatinine":        func() model.Msg { _, w := CreatinineEGFR(1, 40, ""); return w },
		"age creatinine":        func() model.Msg { _, w := CreatinineEGFR(1, -1, Male); return w },
		"creatinine zero":       func() model.Msg { _, w := CreatinineEGFR(0, 40, Male); return w },
		"child-only old":        func() model.Msg { _, w := BedsideChildEGFR(1, 170, 18); return w },
		"child-only baby":       func() model.Msg { _, w := BedsideChildEGFR(1, 60, 0.9); return w },
		"young-only old":        func() model.Msg { _, w := U25Creatinine(1, 170, 25.1, Male); return w },
		"young-only baby":       func() model.Msg { _, w := U25Cystatin(1, 0.99, Male); return w },
		"height none":           func() model.Msg { _, w := U25Creatinine(1, 0, 10, Male); return w },
		"weight none":           func() model.Msg { _, w := CockcroftGault(1, 0, 40, Male); return w },
		"risk-egfr 60":          func() model.Msg { _, w := FailureRisk4(70, Male, 60, 30, Elsewhere); return w },
		"risk-acr 0":            func() model.Msg { _, w := FailureRisk4(70, Male, 50, 0, Elsewhere); return w },
		"region none":           func() model.Msg { _, w := FailureRisk4(70, Male, 50, 30, ""); return w },
		"region odd":            func() model.Msg { _, w := FailureRisk4(70, Male, 50, 30, "mars"); return w },
		"adult-only risk":       func() model.Msg { _, w := FailureRisk4(17.9, Male, 50, 30, Elsewhere); return w },
		"risk-eight none":       func() model.Msg { _, w := FailureRisk8(70, Male, 50, 30, 0, 1, 1, 1, Elsewhere); return w },
		"pcr 49":                func() model.Msg { _, w := ACRFromPCR(49.9, Male, false, false); return w },
		"strip unclear":         func() model.Msg { _, w := ACRFromStrip(model.Unclear, Male, false, false); return w },
	} {
		var key string
		fmt.Sscan(want, &key)
		if got := why(); got.Key != "renal.refused."+key {
			t.Errorf("%s: %v", want, got)
		}
	}
}

// TestEstimateNamesAll: every name is either worked out or refused, in order,
// whatever is known.
func TestEstimateNamesAll(t *testing.T) {
	rng := rand.New(rand.NewPCG(5, 6))
	v := func(c model.Code, unit string, lo, hi float64) model.Value {
		if rng.IntN(3) == 0 {
			return model.Value{}
		}
		x := math.Round((lo+rng.Float64()*(hi-lo))*100) / 100
		return model.Value{Code: c, Number: x, Typed: model.FormatNumber(x), Unit: unit}
	}
	for range 3000 {
		yes := rng.IntN(2) == 0
		c := Case{Age: -5 + rng.Float64()*140, Sex: []Sex{Male, Female, ""}[rng.IntN(3)], Height: v("height", "cm", 20, 260), Weight: v("weight", "kg", 0, 400),
			Creatinine: v("creatinine", []string{"umol/L", "mg/dL", "x"}[rng.IntN(3)], 0, 400), CystatinC: v("cystatin-c", "mg/L", 0, 13),
			ACR: v("acr", "mg/mmol", 0, 4000), PCR: v("pcr", "mg/g", 0, 4000), Albumin: v("albumin", "g/L", 0, 80), Phosphate: v("phosphate", "mmol/L", 0, 7),
			Bicarbonate: v("bicarbonate", "mmol/L", 0, 70), Calcium: v("calcium", "mmol/L", 0, 6), UrineCreatinine: v("urine-creatinine", "mg/dL", 0, 800),
			UrineVolume: v("urine-volume", "mL", 0, 3000), UrineHours: v("urine-hours", "h", 0, 50), EGFR: v("egfr", perSurface, 0, 210),
			StripProtein: model.Grade(rng.IntN(9)), Diabetes: []*bool{nil, &yes}[rng.IntN(2)], HighPressure: &yes, Region: []string{"", NorthAmerica, Elsewhere}[rng.IntN(3)],
			Dialysis: rng.IntN(5) == 0, Transplant: rng.IntN(5) == 0, Pregnant: rng.IntN(5) == 0, Amputation: rng.IntN(5) == 0}
		results, refused := Estimate(c)
		var got []Name
		for _, r := range results {
			got = append(got, r.Name)
			if !finite(r.Value) || r.Value < 0 || r.Cite.Source == "" {
				t.Fatalf("%+v of %+v", r, c)
			}
		}
		for _, r := range refused {
			got = append(got, r.Name)
			if r.Why.IsZero() {
				t.Fatalf("%s without a reason", r.Name)
			}
		}
		slices.Sort(got)
		want := Names()
		slices.Sort(want)
		if !slices.Equal(got, want) {
			t.Fatalf("%v", got)
		}
		if c.Dialysis && slices.ContainsFunc(results, func(r Result) bool { return r.Name == NameG || r.Name == NameFailure4Five }) {
			t.Fatalf("a stage or a risk on dialysis: %v", results)
		}
	}
}

// BenchmarkTrend is the trend of thirty years of monthly sheets, the longest whose pairs are all looked at.
func BenchmarkTrend(b *testing.B) {
	var ps []Point
	for i := range allPairs {
		ps = append(ps, Point{float64(i) / 12, 60 - float64(i)/10 + float64(i%7)})
	}
	for b.Loop() {
		TrendOf(ps)
	}
}
