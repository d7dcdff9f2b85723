package renal

import (
	"fmt"
	"math"
	"testing"

	"quietwater/model"
)

// The equations a second time, typed apart from the package, each in another
// shape than there: split into the lines the papers print for each sex and
// level, in the other unit, or as logarithms. Where the shapes agree over a
// grid, a slip of the pen in one would have to be made twice.

// ckdEpi2021 is the table of eight lines of Inker 2021, supplement: one for
// each sex and side of the knots.
func ckdEpi2021(mgdL, age float64, female bool) float64 {
	switch {
	case female && mgdL <= 0.7:
		return 143.704 * math.Exp(-0.241*math.Log(mgdL/0.7)) * math.Exp(age*math.Log(0.9938))
	case female:
		return 143.704 * math.Exp(-1.2*math.Log(mgdL/0.7)) * math.Exp(age*math.Log(0.9938))
	case mgdL <= 0.9:
		return 142 * math.Exp(-0.302*math.Log(mgdL/0.9)) * math.Exp(age*math.Log(0.9938))
	}
	return 142 * math.Exp(-1.2*math.Log(mgdL/0.9)) * math.Exp(age*math.Log(0.9938))
}

// ckdEpiBoth2021 adds logarithms.
func ckdEpiBoth2021(mgdL, cys, age float64, female bool) float64 {
	l := math.Log(135) + age*math.Log(0.9961)
	knot, below := 0.9, -0.144
	if female {
		l += math.Log(0.963)
		knot, below = 0.7, -0.219
	}
	if s := math.Log(mgdL / knot); s < 0 {
		l += below * s
	} else {
		l -= 0.544 * s
	}
	if s := math.Log(cys / 0.8); s < 0 {
		l -= 0.323 * s
	} else {
		l -= 0.778 * s
	}
	return math.Exp(l)
}

// ckdEpiCystatin2012 is the two lines of Inker 2012, table 2, with age as a
// power of ten.
func ckdEpiCystatin2012(cys, age float64, female bool) float64 {
	power := -0.499
	if cys > 0.8 {
		power = -1.328
	}
	x := 133 * math.Pow(cys/0.8, power) * math.Pow(10, age*math.Log10(0.996))
	if female {
		return x * 0.932
	}
	return x
}

func TestAdultEquationsTwice(t *testing.T) {
	for _, sex := range []Sex{Male, Female} {
		for years := 18; years <= 100; years += 7 {
			for mgdL := 0.2; mgdL < 15; mgdL *= 1.13 {
				got, why := CreatinineEGFR(mgdL, years, sex)
				same(t, fmt.Sprint(sex, years, mgdL), got, why, ckdEpi2021(mgdL, float64(years), sex == Female), 1e-12)
				for cys := 0.3; cys < 8; cys *= 1.4 {
					both, why := CreatinineCystatinEGFR(mgdL, cys, years, sex)
					same(t, fmt.Sprint(sex, years, mgdL, cys), both, why, ckdEpiBoth2021(mgdL, cys, float64(years), sex == Female), 1e-12)
					only, why := CystatinEGFR(cys, years, sex)
					same(t, fmt.Sprint(sex, years, cys), only, why, ckdEpiCystatin2012(cys, float64(years), sex == Female), 1e-12)
				}
			}
		}
	}
}

func same(t *testing.T, what string, got float64, why model.Msg, want, part float64) {
	t.Helper()
	if !why.IsZero() || math.Abs(got-want) > part*math.Abs(want) {
		t.Fatalf("%s: %v %v, want %v", what, got, why, want)
	}
}

// TestCockcroftInTheOtherUnit: in µmol/L handbooks print the factors 1.23 for
// men and 1.04 for women, rounded, so half of one in a hundred is allowed.
func TestCockcroftInTheOtherUnit(t *testing.T) {
	for years := 18; years <= 100; years += 3 {
		for kg := 35.0; kg < 150; kg += 9 {
			for umol := 40.0; umol < 900; umol *= 1.3 {
				man, why := CockcroftGault(umol/88.4, kg, years, Male)
				same(t, "man", man, why, 1.23*float64(140-years)*kg/umol, 0.005)
				woman, why := CockcroftGault(umol/88.4, kg, years, Female)
				same(t, "woman", woman, why, 1.04*float64(140-years)*kg/umol, 0.006)
			}
		}
	}
}

// TestBedsideInTheOtherUnit: 36.5 × cm over µmol/L (facts A4; Schwartz 2009 in
// SI units), rounded from 36.51.
func TestBedsideInTheOtherUnit(t *testing.T) {
	for cm := 60.0; cm < 190; cm += 7 {
		for umol := 15.0; umol < 600; umol *= 1.3 {
			got, why := BedsideChildEGFR(umol/88.4, cm, 9)
			same(t, "child", got, why, 36.5*cm/umol, 0.001)
		}
	}
}

// TestYoungConstants: the abstract of Pierce 2021 gives the range of K from age
// 1 to 25: 35.7 to 50.8 in boys and men, 33.1 to 41.4 in girls and women; K is
// eGFR at 1 m and 1 mg/dL. It grows without a gap where its lines meet.
func TestYoungConstants(t *testing.T) {
	k := func(age float64, s Sex) float64 {
		v, why := U25Creatinine(1, 100, age, s)
		if !why.IsZero() {
			t.Fatal(why)
		}
		return v
	}
	for s, r := range map[Sex][2]float64{Male: {35.7, 50.8}, Female: {33.1, 41.4}} {
		if a, b := k(1, s), k(25, s); math.Abs(a-r[0]) > 0.05 || math.Abs(b-r[1]) > 0.05 {
			t.Errorf("%s: %.2f to %.2f, want %v", s, a, b, r)
		}
		last := k(1, s)
		for age := 1.0; age <= 25; age += 0.01 {
			now := k(age, s)
			// At 18 the paper's rounded constants leave a step of 0.3 in a hundred.
			if now < last-1e-9 || now > last*1.005 {
				t.Fatalf("%s at %.2f: K goes from %.3f to %.3f", s, age, last, now)
			}
			last = now
		}
		for _, age := range []float64{12, 15, 18} {
			a, _ := U25Cystatin(1, age-1e-9, s)
			b, _ := U25Cystatin(1, age, s)
			if math.Abs(a-b) > 0.01*b {
				t.Errorf("%s at %v: cystatin's K jumps from %.2f to %.2f", s, age, a, b)
			}
		}
	}
}

// young is K of Pierce 2021 in the four stretches of age of the equation
// authors' own statements for their readers, as logarithms.
func young(age float64, female bool) (creatinine, cystatin float64) {
	grow := func(k, a, from float64) float64 { return math.Exp(math.Log(k) + (age-from)*math.Log(a)) }
	switch {
	case age >= 18 && female:
		return 41.4, 68.3
	case age >= 18:
		return 50.8, 77.1
	case age >= 12 && female:
		return grow(36.1, 1.023, 12), grow(79.9, 0.974, 12)
	case age >= 15:
		return grow(39.0, 1.045, 12), grow(87.2, 0.960, 15)
	case age >= 12:
		return grow(39.0, 1.045, 12), grow(87.2, 1.011, 15)
	case female:
		return grow(36.1, 1.008, 12), grow(79.9, 1.004, 12)
	}
	return grow(39.0, 1.008, 12), grow(87.2, 1.011, 15)
}

func TestYoungTwice(t *testing.T) {
	for _, s := range []Sex{Male, Female} {
		for age := 1.0; age <= 25; age += 0.25 {
			kCr, kCys := young(age, s == Female)
			cr, why := U25Creatinine(0.8, 133, age, s)
			same(t, fmt.Sprint(s, age), cr, why, kCr*1.33/0.8, 1e-12)
			cys, why := U25Cystatin(1.3, age, s)
			same(t, fmt.Sprint(s, age), cys, why, kCys/1.3, 1e-12)
		}
	}
}

// TestYoungElsewhere: numbers printed by a public fork of the R package nephro
// for a boy of 9.5 years, 132 cm, 0.8 mg/dL and 1.2 mg/L (its page gives the sex
// as 0, "female", but prints what the equations give for a boy).
func TestYoungElsewhere(t *testing.T) {
	cr, _ := U25Creatinine(0.8, 132, 9.5, Male)
	cys, _ := U25Cystatin(1.2, 9.5, Male)
	for _, c := range [][2]float64{{cr, 63.1}, {cys, 68.4}, {(cr + cys) / 2, 65.8}} {
		if math.Abs(c[0]-c[1]) > 0.05 {
			t.Errorf("%.3f, want %.1f", c[0], c[1])
		}
	}
}

// failure is the equation of Tangri 2016 the way a regression is printed: the
// mean's survival to the power of the ratio of hazards, each factor on its own.
func failure(age, egfr, acr float64, male bool, base float64, more ...float64) float64 {
	h := 1.0
	factor := func(beta, x, mean float64) { h *= math.Exp(beta * (x - mean)) }
	sex := 0.0
	if male {
		sex = 1
	}
	if len(more) == 0 {
		factor(-0.2201, age/10, 7.036)
		factor(0.2467, sex, 0.5642)
		factor(-0.5567, egfr/5, 7.222)
		factor(0.4510, math.Log(acr), 5.137)
	} else {
		factor(-0.1992, age/10, 7.036)
		factor(0.1602, sex, 0.5642)
		factor(-0.4919, egfr/5, 7.222)
		factor(0.3364, math.Log(acr), 5.137)
		factor(-0.3441, more[0], 3.997)
		factor(0.2604, more[1], 3.916)
		factor(-0.07354, more[2], 25.57)
		factor(-0.2228, more[3], 9.355)
	}
	return 1 - math.Exp(h*math.Log(base))
}

func TestFailureTwice(t *testing.T) {
	bases := map[string][4]float64{NorthAmerica: {0.9750, 0.9240, 0.9780, 0.9301}, Elsewhere: {0.9832, 0.9365, 0.9827, 0.9245}}
	for region, b := range bases {
		for _, s := range []Sex{Male, Female} {
			for age := 18.0; age <= 95; age += 11 {
				for egfr := 5.0; egfr < 60; egfr += 6 {
					for acr := 1.0; acr < 9000; acr *= 5 {
						four, why := FailureRisk4(age, s, egfr, acr, region)
						same(t, "two years", four.Two, why, failure(age, egfr, acr, s == Male, b[0]), 1e-9)
						same(t, "five years", four.Five, why, failure(age, egfr, acr, s == Male, b[1]), 1e-9)
						eight, why := FailureRisk8(age, s, egfr, acr, 3.6, 4.4, 21, 8.9, region)
						same(t, "two years", eight.Two, why, failure(age, egfr, acr, s == Male, b[2], 3.6, 4.4, 21, 8.9), 1e-9)
						same(t, "five years", eight.Five, why, failure(age, egfr, acr, s == Male, b[3], 3.6, 4.4, 21, 8.9), 1e-9)
					}
				}
			}
		}
	}
}

// TestRatiosTwice: the lines of Sumida 2020 for the three stretches of PCR, and
// its steps for the strip as factors.
func TestRatiosTwice(t *testing.T) {
	for pcr := 50.0; pcr < 20000; pcr *= 1.17 {
		l := 5.2659
		if pcr < 500 {
			l += 1.5643 * (math.Log(pcr) - math.Log(500))
		} else {
			l += 1.1109 * (math.Log(pcr) - math.Log(500))
		}
		got, why := ACRFromPCR(pcr, Female, true, false)
		same(t, "PCR", got, why, math.Exp(l)*math.Exp(-0.0773)*math.Exp(0.0797), 1e-12)
	}
	for g, step := range map[model.Grade]float64{model.Neg: 2.0373, model.Trace: 2.7643, model.Plus1: 3.7148, model.Plus2: 5.2995, model.Plus3: 6.5808, model.Plus4: 6.5808, model.Pos: 3.7148} {
		man, why := ACRFromStrip(g, Male, false, true)
		same(t, g.String(), man, why, math.Exp(step)*math.Exp(0.33627), 1e-12)
		woman, why := ACRFromStrip(g, Female, true, false)
		same(t, g.String(), woman, why, math.Exp(step)*math.Exp(0.0822)*math.Exp(0.27249), 1e-12)
	}
}

// TestSurfaceTwice: Du Bois as logarithms; Mosteller for the body of 1.73 m²
// that all indexing refers to.
func TestSurfaceTwice(t *testing.T) {
	for cm := 50.0; cm < 210; cm += 13 {
		for kg := 4.0; kg < 190; kg += 11 {
			got, why := DuBois(cm, kg)
			same(t, "Du Bois", got, why, math.Pow(10, math.Log10(71.84)+0.725*math.Log10(cm)+0.425*math.Log10(kg))/10000, 1e-12)
			got, why = Mosteller(cm, kg)
			same(t, "Mosteller", got, why, math.Pow(cm*kg, 0.5)/60, 1e-12)
		}
	}
	if v, _ := DeIndexed(50, 1.73); math.Abs(v-50) > 1e-12 {
		t.Errorf("a body of 1.73 m² changes 50 to %v", v)
	}
}
