package renal

import (
	"math"

	"quietwater/model"
)

// G is a GFR category (KDIGO 2012, table 5); 0 is not known.
type G int

// The categories from least to most loss.
const (
	G1 G = iota + 1
	G2
	G3a
	G3b
	G4
	G5
)

var gNames = [...]string{"", "G1", "G2", "G3a", "G3b", "G4", "G5"}

// String is the category's code, "" where not known.
func (g G) String() string { return word(gNames[:], int(g)) }

func word(words []string, i int) string {
	if i < 0 || i >= len(words) {
		return ""
	}
	return words[i]
}

// gFrom is the least eGFR of each category but the last.
var gFrom = [...]float64{G1: 90, G2: 60, G3a: 45, G3b: 30, G4: 15}

// GOf is the category of an unrounded eGFR (clinical decision 2); 0 for what is
// no number above zero.
func GOf(egfr float64) G {
	if !positive(egfr) {
		return 0
	}
	for g := G1; g < G5; g++ {
		if egfr >= gFrom[g] {
			return g
		}
	}
	return G5
}

// From is the least eGFR of the category, To where the next better one begins
// (infinite for G1).
func (g G) From() float64 {
	if g < G1 || g >= G5 {
		return 0
	}
	return gFrom[g]
}

// To is where the next better category begins.
func (g G) To() float64 {
	if g <= G1 {
		return math.Inf(1)
	}
	return gFrom[g-1]
}

// ShownEGFR is an eGFR as it is shown: a whole number, or with one decimal
// where the whole number would belong to another category (59.6 is G3a); "" for
// what is no number above zero.
func ShownEGFR(x float64) string {
	if !positive(x) {
		return ""
	}
	if r := math.Round(x); GOf(r) == GOf(x) {
		return model.FormatNumber(r)
	}
	return model.FormatNumber(math.Floor(x*10) / 10)
}

// A is an albuminuria category (KDIGO 2012, table 5); 0 is not known.
type A int

// The categories from least to most albumin.
const (
	A1 A = iota + 1
	A2
	A3
)

var aNames = [...]string{"", "A1", "A2", "A3"}

// String is the category's code, "" where not known.
func (a A) String() string { return word(aNames[:], int(a)) }

// AOf is the category of an albumin-to-creatinine ratio in the unit it was
// reported in, mg/g or mg/mmol, never after conversion (clinical decision 1). A
// value that is only a limit counts where all it leaves open is one category.
func AOf(acr model.Value) (A, bool) { return albuminuria(acr, 30, 300) }

// AOfPCR is the category that a protein-to-creatinine ratio stands for (KDIGO
// 2012, table 7; clinical decision 11).
func AOfPCR(pcr model.Value) (A, bool) { return albuminuria(pcr, 150, 500) }

// albuminuria takes the limits in mg/g; those in mg/mmol are a tenth of them.
func albuminuria(v model.Value, a2, a3 float64) (A, bool) {
	switch v.Unit {
	case "mg/mmol":
		a2, a3 = a2/10, a3/10
	case "mg/g":
	default:
		return 0, false
	}
	if !v.IsNumber() || !(v.Number >= 0) || math.IsInf(v.Number, 0) {
		return 0, false
	}
	bound := v.Bound()
	switch {
	case bound == '<' && v.Number <= a2:
		return A1, true
	case bound == '>' && v.Number >= a3:
		return A3, true
	case bound != 0:
		return 0, false
	case v.Number >= a3:
		return A3, true
	case v.Number >= a2:
		return A2, true
	}
	return A1, true
}

// Risk is a colour of the grid, in words (KDIGO 2012, figure 9); 0 is not
// known.
type Risk int

// The four risks of the grid.
const (
	Low Risk = iota + 1
	Moderate
	High
	VeryHigh
)

var riskNames = [...]string{"", "low", "moderate", "high", "very high"}

// String is the risk as KDIGO words it, "" where not known.
func (r Risk) String() string { return word(riskNames[:], int(r)) }

// RiskOf is the risk of a cell, 0 where a category is not known. Low is no
// kidney disease by itself: that takes another sign of damage.
func RiskOf(g G, a A) Risk {
	if g.String() == "" || a.String() == "" {
		return 0
	}
	return min(Low+Risk(a-A1)+Risk(max(g, G2)-G2), VeryHigh)
}

// checks is how often a year each cell should be looked at (ADA Standards of
// Care 2024, section 11, figure, after KDIGO; clinical decision 4).
var checks = [...][3]int{G1: {1, 1, 3}, G2: {1, 1, 3}, G3a: {1, 2, 3}, G3b: {2, 3, 3}, G4: {3, 3, 4}, G5: {4, 4, 4}}

// ChecksPerYear is how often a year eGFR and ACR should be tested, 0 where a
// category is not known. G1 and G2 with A1: only where kidney disease is known.
// Of G4 A3 and G5 it is the least.
func ChecksPerYear(g G, a A) int {
	if g.String() == "" || a.String() == "" {
		return 0
	}
	return checks[g][a-A1]
}
