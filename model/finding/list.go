package finding

import "slices"

// Rules lists every rule in the order findings of one urgency are shown.
func Rules() []*Rule { return rules }

var rules = []*Rule{
	redFlagSymptom,
	fastBreathing,
	ketones,
	bloodKetones,
	potassium,
	kidneyInjury,
	calcium,
	infectionSigns,
	pressureCrisis,
	pregnancyPressure,
	visibleBlood,
	proteinAndBlood,
	proteinHigh,
	pregnancyWarning,
	transplantWarning,
	dialysisWarning,
	weightGain,
	passingNone,
	urineLittle,
	sickDay,
	pressureLow,
	weightLoss,
	yellowEyes,
	bilirubin,
	severeSymptom,
	glucose,
	egfrLow,
	egfrChange,
	pressureHomeMean,
	rapidDecline,
	acrHigh,
	acrDoubled,
	proteinAgain,
	proteinKnown,
	bloodAgain,
	haemoglobin,
	bicarbonate,
	failureRisk,
	stripsOnly,
	labDue,
	proteinOnce,
	proteinTrace,
	bloodOnce,
	diluteSample,
	staleStrip,
	lateReading,
	padMissing,
	packAgeAssumed,
	proteinCleared,
	infectionStripOnly,
	fluidLimit,
	vitaminC,
	capLeftOff,
}

// FindRule looks a rule up by id.
func FindRule(id string) (*Rule, bool) {
	i := slices.IndexFunc(rules, func(r *Rule) bool { return r.ID == id })
	if i < 0 {
		return nil, false
	}
	return rules[i], true
}
