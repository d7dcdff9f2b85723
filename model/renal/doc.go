// Package renal owns the numbers kidneys are judged by: the equations of
// filtering, stages, change, trend, injury and risk, each with its unit, its
// range and its publication.
//
// It refuses to know people, books and what calls for a doctor. Outside its
// range an equation gives no number but the reason, as a sentence.
package renal

import (
	"math"

	"quietwater/model"
)

// Sex is the one the equations use, as in the profile.
type Sex string

// The equations know two.
const (
	Male   Sex = "male"
	Female Sex = "female"
)

func (s Sex) known() bool { return s == Male || s == Female }

func (s Sex) pick(female, male float64) float64 {
	if s == Female {
		return female
	}
	return male
}

// refused is a reason why there is no number.
func refused(why string, args ...any) model.Msg { return model.T("renal.refused."+why, args...) }

// positive reports a finite number above zero.
func positive(xs ...float64) bool {
	for _, x := range xs {
		if !(x > 0) || math.IsInf(x, 0) {
			return false
		}
	}
	return true
}

// whole returns x unless the arithmetic left the numbers a body can have: what
// is too small or too great for them came of input no body has.
func whole(x float64) (float64, model.Msg) {
	if !positive(x) {
		return 0, refused("number")
	}
	return x, model.Msg{}
}

// tiny is by what a limit may be missed, so that binary fractions and units do
// not decide: 1.8 over 1.2 is 1.5.
const tiny = 1e-9
