package fhir

import (
	"slices"
	"strings"

	"quietwater/model"
)

// code says that a word of the plain table, in one of some units, is a
// published code. It is the only table of them: an item of the catalogue that
// has no line here and is not in [unpublished] is named by a test.
//
// Names are LOINC's, those of eGFR shortened. Sources of each line: testdata/codes.csv, which says where
// a code was seen; those marked below were seen elsewhere.
type code struct {
	kind  model.Kind
	what  model.Code
	loinc string
	name  string
	units []string // UCUM; none where the value is a grade
	// readOnly is a code that others write and we understand, but would not
	// choose; named keeps what it is called as a note, because our word says
	// less.
	readOnly, named bool
}

var codes = []code{
	{model.Strip, model.Leukocytes, "5799-2", "Leukocyte esterase [Presence] in Urine by Test strip", nil, false, false},
	{model.Strip, model.Nitrite, "5802-4", "Nitrite [Presence] in Urine by Test strip", nil, false, false},
	{model.Strip, model.Urobilinogen, "5818-0", "Urobilinogen [Presence] in Urine by Test strip", nil, false, false},
	{model.Strip, model.Urobilinogen, "20405-7", "Urobilinogen [Mass/volume] in Urine by Test strip", []string{"mg/dL"}, false, false},
	{model.Strip, model.Protein, "20454-5", "Protein [Presence] in Urine by Test strip", nil, false, false},
	{model.Strip, model.Protein, "5804-0", "Protein [Mass/volume] in Urine by Test strip", []string{"mg/dL", "g/L", "mg/L"}, false, false},
	{model.Strip, model.PH, "5803-2", "pH of Urine by Test strip", []string{"[pH]"}, false, false},
	{model.Strip, model.Blood, "5794-3", "Hemoglobin [Presence] in Urine by Test strip", nil, false, false},
	{model.Strip, model.Blood, "20409-9", "Erythrocytes [#/volume] in Urine by Test strip", []string{"/uL"}, false, false},
	{model.Strip, model.SpecificGravity, "5811-5", "Specific gravity of Urine by Test strip", []string{"{SG}"}, false, false},
	{model.Strip, model.Ketones, "2514-8", "Ketones [Presence] in Urine by Test strip", nil, false, false},
	{model.Strip, model.Ketones, "5797-6", "Ketones [Mass/volume] in Urine by Test strip", []string{"mg/dL"}, false, false},
	{model.Strip, model.Bilirubin, "5770-3", "Bilirubin.total [Presence] in Urine by Test strip", nil, false, false},
	{model.Strip, model.Glucose, "25428-4", "Glucose [Presence] in Urine by Test strip", nil, false, false},
	{model.Strip, model.Glucose, "5792-7", "Glucose [Mass/volume] in Urine by Test strip", []string{"mg/dL"}, false, false},
	{model.Strip, model.Creatinine, "30004-6", "Creatinine [Mass/volume] in Urine by Test strip", []string{"mg/dL", "g/L"}, false, false},
	{model.Strip, model.Albumin, "11218-5", "Microalbumin [Mass/volume] in Urine by Test strip", []string{"mg/L", "mg/dL"}, false, false},

	{model.Lab, "creatinine", "14682-9", "Creatinine [Moles/volume] in Serum or Plasma", []string{"umol/L"}, false, false},
	{model.Lab, "creatinine", "2160-0", "Creatinine [Mass/volume] in Serum or Plasma", []string{"mg/dL"}, false, false},
	// Confirmed: several public code lists name it so.
	{model.Lab, "cystatin-c", "33863-2", "Cystatin C [Mass/volume] in Serum or Plasma", []string{"mg/L"}, false, false},
	{model.Lab, "egfr", "69405-9", "Glomerular filtration rate/1.73 sq M.predicted [Volume Rate/Area] in Serum, Plasma or Blood", gfr, false, false},
	{model.Lab, "egfr", "98979-8", "eGFR by Creatinine-based formula (CKD-EPI 2021)", gfr, true, true},
	{model.Lab, "egfr", "98980-6", "eGFR by Creatinine and Cystatin C-based formula (CKD-EPI 2021)", gfr, true, true},
	{model.Lab, "egfr", "50210-4", "eGFR by Cystatin C-based formula", gfr, true, true},
	{model.Lab, "egfr", "50384-7", "eGFR by Creatinine-based formula (Schwartz)", gfr, true, true},
	{model.Lab, "egfr", "62238-1", "eGFR by Creatinine-based formula (CKD-EPI)", gfr, true, true},
	{model.Lab, "egfr", "77147-7", "eGFR by Creatinine-based formula (MDRD)", gfr, true, true},
	{model.Lab, "egfr", "33914-3", "eGFR by Creatinine-based formula (MDRD)", gfr, true, true},
	{model.Lab, "acr", "9318-7", "Albumin/Creatinine [Mass Ratio] in Urine", []string{"mg/g"}, false, false},
	{model.Lab, "acr", "32294-1", "Albumin/Creatinine [Ratio] in Urine", []string{"mg/mmol", "mg/g"}, false, false},
	{model.Lab, "acr", "13705-9", "Albumin/Creatinine [Mass Ratio] in 24 hour Urine", []string{"mg/g"}, true, true},
	{model.Lab, "pcr", "2890-2", "Protein/Creatinine [Mass Ratio] in Urine", []string{"mg/g"}, false, false},
	// Name confirmed by public value sets of urine protein.
	{model.Lab, "pcr", "34366-5", "Protein/Creatinine [Ratio] in Urine", []string{"mg/mmol", "mg/g"}, false, false},
	// Confirmed: a national profile of R4 binds it to mmol/L.
	{model.Lab, "urea", "22664-7", "Urea [Moles/volume] in Serum or Plasma", []string{"mmol/L"}, false, false},
	// Our mg/dL may be urea or urea nitrogen, 2.14 times apart: nothing is
	// written for it, and what is read keeps its name.
	{model.Lab, "urea", "3094-0", "Urea nitrogen [Mass/volume] in Serum or Plasma (BUN)", []string{"mg/dL"}, true, true},
	{model.Lab, "potassium", "2823-3", "Potassium [Moles/volume] in Serum or Plasma", molar, false, false},
	{model.Lab, "sodium", "2951-2", "Sodium [Moles/volume] in Serum or Plasma", molar, false, false},
	{model.Lab, "bicarbonate", "1963-8", "Bicarbonate [Moles/volume] in Serum or Plasma", molar, false, false},
	{model.Lab, "bicarbonate", "2028-9", "Carbon dioxide, total [Moles/volume] in Serum or Plasma", molar, true, true},
	{model.Lab, "calcium", "2000-8", "Calcium [Moles/volume] in Serum or Plasma", []string{"mmol/L"}, false, false},
	{model.Lab, "calcium", "17861-6", "Calcium [Mass/volume] in Serum or Plasma", []string{"mg/dL"}, false, false},
	{model.Lab, "phosphate", "14879-1", "Phosphate [Moles/volume] in Serum or Plasma", []string{"mmol/L"}, false, false},
	{model.Lab, "phosphate", "2777-1", "Phosphate [Mass/volume] in Serum or Plasma", []string{"mg/dL"}, false, false},
	{model.Lab, "albumin", "1751-7", "Albumin [Mass/volume] in Serum or Plasma", []string{"g/L", "g/dL"}, false, false},
	{model.Lab, "haemoglobin", "718-7", "Hemoglobin [Mass/volume] in Blood", []string{"g/L", "g/dL"}, false, false},
	{model.Lab, "hba1c", "4548-4", "Hemoglobin A1c/Hemoglobin.total in Blood", []string{"%"}, false, false},
	// Confirmed by public lists that bind it to mmol/mol (IFCC); the wording of
	// its name is from memory.
	{model.Lab, "hba1c", "59261-8", "Hemoglobin A1c/Hemoglobin.total in Blood by IFCC protocol", []string{"mmol/mol"}, false, false},
	{model.Lab, "glucose", "14749-6", "Glucose [Moles/volume] in Serum or Plasma", []string{"mmol/L"}, false, false},
	{model.Lab, "glucose", "2345-7", "Glucose [Mass/volume] in Serum or Plasma", []string{"mg/dL"}, false, false},
	{model.Lab, "urine-creatinine", "2161-8", "Creatinine [Mass/volume] in Urine", []string{"mg/dL"}, false, false},
	// Confirmed by public order catalogues.
	{model.Lab, "urine-creatinine", "14683-7", "Creatinine [Moles/volume] in Urine", []string{"mmol/L", "umol/L"}, false, false},
	{model.Lab, "urine-protein", "2889-4", "Protein [Mass/time] in 24 hour Urine", []string{"mg/(24.h)", "g/(24.h)"}, false, false},
	{model.Lab, "urine-protein", "2888-6", "Protein [Mass/volume] in Urine", []string{"mg/dL", "mg/L", "g/L"}, false, false},
	{model.Lab, "rbc-hpf", "13945-1", "Erythrocytes [#/area] in Urine sediment by Microscopy high power field", []string{"/[HPF]"}, false, false},

	{model.Vital, "weight", "29463-7", "Body weight", []string{"kg", "[lb_av]"}, false, false},
	{model.Vital, "weight", "3141-9", "Body weight Measured", []string{"kg", "[lb_av]"}, true, false},
	{model.Vital, "systolic", "8480-6", "Systolic blood pressure", []string{"mm[Hg]"}, false, false},
	{model.Vital, "diastolic", "8462-4", "Diastolic blood pressure", []string{"mm[Hg]"}, false, false},
	{model.Vital, "pulse", "8867-4", "Heart rate", []string{"/min"}, false, false},
	{model.Vital, "temperature", "8310-5", "Body temperature", []string{"Cel", "[degF]"}, false, false},
	{model.Profile, "height", "8302-2", "Body height", []string{"cm", "m", "[in_i]"}, false, false},
	{model.Fluid, "drink", "8999-5", "Fluid intake oral Estimated", []string{"mL", "L"}, false, false},
	{model.Fluid, "urine", "9187-6", "Urine output", []string{"mL", "L"}, false, false},
}

var (
	gfr   = []string{"mL/min/{1.73_m2}"}
	molar = []string{"mmol/L", "meq/L"}
)

// The codes of whole events. 11502-2 was seen in R4's own value set of document
// types.
const (
	stripPanel    = "24357-6"
	stripName     = "Urinalysis macro (dipstick) panel - Urine"
	pressurePanel = "85354-9"
	pressureName  = "Blood pressure panel with all children optional"
	labReport     = "11502-2"
	labName       = "Laboratory report"
)

// unpublished are the kinds, and the single items of the others, for which no
// published code says quite what we mean. They go out under a code of our own.
//
// A laboratory's urine volume is one of them: LOINC's codes say in how many
// hours it was collected, which stands in a row of its own with us.
var unpublished = append(ownTimes(), []string{
	"condition", "medicine", "symptom", "pack", "note", "answer",
	"profile/birth-date", "profile/sex", "profile/language", "profile/second-language", "profile/fluid-limit",
	"profile/weight-limit", "profile/risk-region", "profile/lab-interval",
	"strip/pack", "strip/seconds-after-dip", "strip/first-morning", "strip/after-exercise", "strip/menstruating",
	"strip/feverish", "strip/drank-a-lot", "strip/cap-left-off", "strip/took-vitamin-c",
	"lab/urine-volume", "lab/urine-hours", "lab/laboratory", "lab/fasting", "lab/ill-then",
	"vital/blood-ketones", "fluid/urine-hours",
}...)

// ownTimes are when single pads were read.
func ownTimes() (out []string) {
	for _, it := range model.Analytes() {
		out = append(out, ownCode(model.Strip, model.OwnTime(it.Code)))
	}
	return out
}

// published finds the code to write for a row, if there is one.
func published(row model.Row) (code, bool) {
	i := slices.IndexFunc(codes, func(c code) bool {
		return !c.readOnly && string(c.kind) == row.Kind && string(c.what) == row.What && c.fits(row.Unit)
	})
	if i < 0 {
		return code{}, false
	}
	return codes[i], true
}

// fits reports that the code is of a value in this unit, "" for a grade.
func (c code) fits(unit string) bool {
	if unit == "" {
		return len(c.units) == 0
	}
	return slices.Contains(c.units, unit)
}

// byLOINC finds the line of a code that somebody else wrote.
func byLOINC(loinc string) (code, bool) {
	i := slices.IndexFunc(codes, func(c code) bool { return c.loinc == loinc })
	if i < 0 {
		return code{}, false
	}
	return codes[i], true
}

// sameUnits are other ways UCUM has of writing a unit of ours: the litre is l
// or L, a day is 24 hours, and what stands in braces is said, not counted.
var sameUnits = map[string]string{
	"mg/d": "mg/(24.h)", "g/d": "g/(24.h)",
	"1/min": "/min", "{beats}/min": "/min", "1": "{SG}", "1/uL": "/uL", "{#}/[HPF]": "/[HPF]",
}

// unit finds the way we write a unit that a code allows.
func (c code) unit(ucum string) (string, bool) {
	if slices.Contains(c.units, ucum) {
		return ucum, true
	}
	for _, u := range c.units {
		if sameUnits[ucum] == u || strings.ReplaceAll(u, "L", "l") == ucum {
			return u, true
		}
	}
	return "", false
}

// gradeWords are the words of other laboratories that can mean but one grade
// of ours (common practice), in small letters.
var gradeWords = map[string]model.Grade{
	"neg": model.Neg, "negative": model.Neg, "trace": model.Trace, "1+": model.Plus1, "2+": model.Plus2, "3+": model.Plus3,
	"4+": model.Plus4, "pos": model.Pos, "positive": model.Pos,
}

// gradeCodes are codes of values that others use for grades. SNOMED CT's for
// negative stands in R4's own examples.
var gradeCodes = map[[2]string]model.Grade{
	{"http://snomed.info/sct", "260385009"}:       model.Neg,
	{hl7 + "v3-ObservationInterpretation", "NEG"}: model.Neg,
	{hl7 + "v3-ObservationInterpretation", "POS"}: model.Pos,
}
