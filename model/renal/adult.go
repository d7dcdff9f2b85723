package renal

import (
	"math"

	"quietwater/model"
)

// CreatinineEGFR is filtering by creatinine (mg/dL) for adults from 18 in
// completed years, in mL/min/1.73 m² (CKD-EPI 2021: Inker 2021, table 2).
func CreatinineEGFR(mgdL float64, years int, s Sex) (float64, model.Msg) {
	if why := adult(years, s); !why.IsZero() {
		return 0, why
	}
	if !positive(mgdL) {
		return 0, refused("creatinine")
	}
	x := mgdL / s.pick(0.7, 0.9)
	return whole(142 * math.Pow(min(x, 1), s.pick(-0.241, -0.302)) * math.Pow(max(x, 1), -1.200) *
		math.Pow(0.9938, float64(years)) * s.pick(1.012, 1))
}

// CreatinineCystatinEGFR is filtering by creatinine (mg/dL) and cystatin C
// (mg/L) together, for adults from 18, in mL/min/1.73 m² (Inker 2021, table 2).
func CreatinineCystatinEGFR(mgdL, cystatin float64, years int, s Sex) (float64, model.Msg) {
	if why := adult(years, s); !why.IsZero() {
		return 0, why
	}
	if !positive(mgdL) {
		return 0, refused("creatinine")
	}
	if !positive(cystatin) {
		return 0, refused("cystatin")
	}
	x, c := mgdL/s.pick(0.7, 0.9), cystatin/0.8
	return whole(135 * math.Pow(min(x, 1), s.pick(-0.219, -0.144)) * math.Pow(max(x, 1), -0.544) *
		math.Pow(min(c, 1), -0.323) * math.Pow(max(c, 1), -0.778) *
		math.Pow(0.9961, float64(years)) * s.pick(0.963, 1))
}

// CystatinEGFR is filtering by cystatin C (mg/L) alone, for adults from 18, in
// mL/min/1.73 m². The factor of age is 0.996, as the paper prints it (Inker
// 2012, table 2; clinical decision 3).
func CystatinEGFR(cystatin float64, years int, s Sex) (float64, model.Msg) {
	if why := adult(years, s); !why.IsZero() {
		return 0, why
	}
	if !positive(cystatin) {
		return 0, refused("cystatin")
	}
	c := cystatin / 0.8
	return whole(133 * math.Pow(min(c, 1), -0.499) * math.Pow(max(c, 1), -1.328) *
		math.Pow(0.996, float64(years)) * s.pick(0.932, 1))
}

// oldest is the greatest age an equation is asked for; nobody has been older.
const oldest = 125

func adult(years int, s Sex) model.Msg {
	switch {
	case years < 0 || years > oldest:
		return refused("age")
	case years < 18:
		return refused("adult-only")
	case !s.known():
		return refused("sex")
	}
	return model.Msg{}
}

// CockcroftGault is creatinine clearance in mL/min, not by body surface, from
// creatinine (mg/dL), weight (kg) and completed years from 18 to 125; it serves
// doses of medicines only (Cockcroft and Gault 1976).
func CockcroftGault(mgdL, weightKG float64, years int, s Sex) (float64, model.Msg) {
	if why := adult(years, s); !why.IsZero() {
		return 0, why
	}
	switch {
	case !positive(mgdL):
		return 0, refused("creatinine")
	case !positive(weightKG):
		return 0, refused("weight")
	}
	return whole(float64(140-years) * weightKG / (72 * mgdL) * s.pick(0.85, 1))
}
