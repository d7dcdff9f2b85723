package renal

import (
	"math"

	"quietwater/model"
)

// BedsideChildEGFR is filtering by creatinine (mg/dL) and height (cm), for the
// exact ages from 1 to below 18, in mL/min/1.73 m² (Schwartz 2009, k = 0.413).
func BedsideChildEGFR(mgdL, heightCM, age float64) (float64, model.Msg) {
	switch {
	case !childAge(age):
		return 0, refused("child-only")
	case !positive(mgdL):
		return 0, refused("creatinine")
	case !positive(heightCM):
		return 0, refused("height")
	}
	return whole(0.413 * heightCM / mgdL)
}

// U25Creatinine is filtering by creatinine (mg/dL), height (cm), sex and exact
// age from 1 to 25, in mL/min/1.73 m² (Pierce 2021, table 3).
func U25Creatinine(mgdL, heightCM, age float64, s Sex) (float64, model.Msg) {
	if why := u25(age, s); !why.IsZero() {
		return 0, why
	}
	switch {
	case !positive(mgdL):
		return 0, refused("creatinine")
	case !positive(heightCM):
		return 0, refused("height")
	}
	var k float64
	switch {
	case age < 12:
		k = s.pick(36.1, 39.0) * math.Pow(1.008, age-12)
	case age < 18:
		k = s.pick(36.1, 39.0) * math.Pow(s.pick(1.023, 1.045), age-12)
	default:
		k = s.pick(41.4, 50.8)
	}
	return whole(k * heightCM / 100 / mgdL)
}

// U25Cystatin is filtering by cystatin C (mg/L), sex and exact age from 1 to
// 25, in mL/min/1.73 m² (Pierce 2021, table 3). The mean of both is used where
// both are known.
func U25Cystatin(cystatin, age float64, s Sex) (float64, model.Msg) {
	if why := u25(age, s); !why.IsZero() {
		return 0, why
	}
	if !positive(cystatin) {
		return 0, refused("cystatin")
	}
	var k float64
	switch {
	case s == Male && age < 15:
		k = 87.2 * math.Pow(1.011, age-15)
	case s == Male && age < 18:
		k = 87.2 * math.Pow(0.960, age-15)
	case s == Male:
		k = 77.1
	case age < 12:
		k = 79.9 * math.Pow(1.004, age-12)
	case age < 18:
		k = 79.9 * math.Pow(0.974, age-12)
	default:
		k = 68.3
	}
	return whole(k / cystatin)
}

func childAge(age float64) bool { return age >= 1 && age < 18 }
func u25Age(age float64) bool   { return age >= 1 && age <= 25 }

func u25(age float64, s Sex) model.Msg {
	switch {
	case !u25Age(age):
		return refused("young-only")
	case !s.known():
		return refused("sex")
	}
	return model.Msg{}
}
