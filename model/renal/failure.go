package renal

import (
	"math"

	"quietwater/model"
)

// Risks is the risk that kidneys fail within two and five years, from 0 to 1.
type Risks struct{ Two, Five float64 }

// The regions of the failure-risk constants, as in the profile.
const (
	NorthAmerica = "north-america"
	Elsewhere    = "other"
)

// survival is the part of people without failure at two and five years of whom
// the mean is made (Tangri 2011; Tangri 2016, eAppendix).
type survival struct{ two, five float64 }

func (s survival) of(linear float64) (Risks, model.Msg) {
	h := math.Exp(linear)
	r := Risks{1 - math.Pow(s.two, h), 1 - math.Pow(s.five, h)}
	if _, why := whole(r.Two + r.Five); !why.IsZero() {
		return Risks{}, why
	}
	return r, model.Msg{}
}

// FailureRisk4 is the risk of kidney failure by age (exact years, from 18), sex,
// eGFR (mL/min/1.73 m², below 60) and ACR (mg/g, above 0), for a region that
// must be chosen (Tangri 2016). It does not hold on dialysis or after a
// transplant, which the caller knows. It was made with the 2009 equation: with
// that of 2021 it reads a bit lower (Fu 2022); it leaves out death by other
// causes and overestimates in frail old people (Ramspek 2021).
func FailureRisk4(age float64, s Sex, egfr, acrMgG float64, region string) (Risks, model.Msg) {
	if why := riskRange(age, s, egfr, acrMgG, region); !why.IsZero() {
		return Risks{}, why
	}
	l := -0.2201*(age/10-7.036) + 0.2467*(s.pick(0, 1)-0.5642) - 0.5567*(egfr/5-7.222) + 0.4510*(math.Log(acrMgG)-5.137)
	if region == NorthAmerica {
		return survival{0.9750, 0.9240}.of(l)
	}
	return survival{0.9832, 0.9365}.of(l)
}

// FailureRisk8 is FailureRisk4 with albumin (g/dL), phosphate (mg/dL),
// bicarbonate (mmol/L) and calcium (mg/dL) in blood.
func FailureRisk8(age float64, s Sex, egfr, acrMgG, albuminGdL, phosphateMgdL, bicarbonate, calciumMgdL float64, region string) (Risks, model.Msg) {
	if why := riskRange(age, s, egfr, acrMgG, region); !why.IsZero() {
		return Risks{}, why
	}
	if !positive(albuminGdL, phosphateMgdL, bicarbonate, calciumMgdL) {
		return Risks{}, refused("risk-eight")
	}
	l := -0.1992*(age/10-7.036) + 0.1602*(s.pick(0, 1)-0.5642) - 0.4919*(egfr/5-7.222) + 0.3364*(math.Log(acrMgG)-5.137) -
		0.3441*(albuminGdL-3.997) + 0.2604*(phosphateMgdL-3.916) - 0.07354*(bicarbonate-25.57) - 0.2228*(calciumMgdL-9.355)
	if region == NorthAmerica {
		return survival{0.9780, 0.9301}.of(l)
	}
	return survival{0.9827, 0.9245}.of(l)
}

func riskRange(age float64, s Sex, egfr, acrMgG float64, region string) model.Msg {
	switch {
	case !(age >= 0 && age <= oldest):
		return refused("age")
	case age < 18:
		return refused("adult-only")
	case !s.known():
		return refused("sex")
	case !positive(egfr):
		return refused("egfr")
	case egfr >= 60:
		return refused("risk-egfr")
	case !positive(acrMgG):
		return refused("risk-acr")
	case region != NorthAmerica && region != Elsewhere:
		return refused("region")
	}
	return model.Msg{}
}

// ACRFromPCR estimates ACR (mg/g) from PCR (mg/g, from 50: below, the paper
// finds them inconsistent), sex, diabetes and high blood pressure (Sumida 2020,
// adjusted equation). Rough; never to be judged as an ACR.
func ACRFromPCR(pcrMgG float64, s Sex, diabetes, pressure bool) (float64, model.Msg) {
	switch {
	case !s.known():
		return 0, refused("sex")
	case !(pcrMgG >= 50) || math.IsInf(pcrMgG, 0):
		return 0, refused("pcr")
	}
	return whole(math.Exp(5.2659 + 0.2934*math.Log(min(pcrMgG/50, 1)) + 1.5643*math.Log(max(min(pcrMgG/500, 1), 0.1)) +
		1.1109*math.Log(max(pcrMgG/500, 1)) - 0.0773*s.pick(1, 0) + 0.0797*one(diabetes) + 0.1265*one(pressure)))
}

// ACRFromStrip estimates ACR (mg/g) from the protein grade of a strip, sex,
// diabetes and high blood pressure (Sumida 2020, adjusted equation). Rough;
// never to be judged as an ACR.
func ACRFromStrip(protein model.Grade, s Sex, diabetes, pressure bool) (float64, model.Msg) {
	if !s.known() {
		return 0, refused("sex")
	}
	if !protein.Judged() {
		return 0, refused("strip")
	}
	steps := [...]float64{0, 0.7270, 1.6775, 3.2622, 4.5435}
	return whole(math.Exp(2.0373 + steps[min(protein.Rank(), len(steps)-1)] +
		0.0822*s.pick(1, 0) + 0.27249*one(diabetes) + 0.33627*one(pressure)))
}

func one(yes bool) float64 {
	if yes {
		return 1
	}
	return 0
}
