package renal

import (
	"math"

	"quietwater/model"
)

// DuBois is the body surface in m² from height (cm) and weight (kg) (Du Bois
// and Du Bois 1916).
func DuBois(heightCM, weightKG float64) (float64, model.Msg) {
	if why := body(heightCM, weightKG); !why.IsZero() {
		return 0, why
	}
	return whole(0.007184 * math.Pow(heightCM, 0.725) * math.Pow(weightKG, 0.425))
}

// Mosteller is the body surface in m² from height (cm) and weight (kg)
// (Mosteller 1987).
func Mosteller(heightCM, weightKG float64) (float64, model.Msg) {
	if why := body(heightCM, weightKG); !why.IsZero() {
		return 0, why
	}
	return whole(math.Sqrt(heightCM * weightKG / 3600))
}

func body(heightCM, weightKG float64) model.Msg {
	switch {
	case !positive(heightCM):
		return refused("height")
	case !positive(weightKG):
		return refused("weight")
	}
	return model.Msg{}
}

// DeIndexed turns eGFR by 1.73 m² into that of a body surface (m²), in mL/min;
// it serves doses of medicines only.
func DeIndexed(egfr, bsa float64) (float64, model.Msg) {
	if !positive(egfr, bsa) {
		return 0, refused("surface")
	}
	return whole(egfr * bsa / 1.73)
}

// MeasuredClearance is creatinine clearance in mL/min of a timed collection:
// urine creatinine (mg/dL) × volume (mL) over blood creatinine (mg/dL) × time
// (hours). It is the definition of clearance; KDOQI finds it no better than an
// equation but for unusual diet or muscle. Above 300 mL/min, which no kidneys
// manage, it is refused: a number or a unit is wrong (our own choice).
func MeasuredClearance(urineMgdL, volumeML, hours, serumMgdL float64) (float64, model.Msg) {
	if !positive(urineMgdL, volumeML, hours) {
		return 0, refused("collection")
	}
	if !positive(serumMgdL) {
		return 0, refused("creatinine")
	}
	x := urineMgdL * volumeML / (serumMgdL * hours * 60)
	if x > 300 {
		return 0, refused("clearance")
	}
	return whole(x)
}

// CollectionDoubt asks whether urine was missed, where creatinine passed in a
// day lies below 8 (women) or 10 (men) or above 25 or 30 mg per kg: wide limits
// of our own, since narrow ones would doubt half of all good collections (BMC
// Med 2015;13:40; clinical decision 8a). It is zero where there is no reason to
// ask, or too little is known. A collection of another length than 20 to 28
// hours is not judged.
func CollectionDoubt(urineMgdL, volumeML, hours, weightKG float64, s Sex) model.Msg {
	if !positive(urineMgdL, volumeML, weightKG) || !(hours >= 20 && hours <= 28) || !s.known() {
		return model.Msg{}
	}
	perKG := urineMgdL * volumeML / 100 / weightKG * 24 / hours
	switch {
	case perKG < s.pick(8, 10):
		return model.T("renal.collection.little")
	case perKG > s.pick(25, 30):
		return model.T("renal.collection.much")
	}
	return model.Msg{}
}
