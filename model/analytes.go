package model

// The strip pads rules refer to by name.
const (
	Leukocytes      Code = "leukocytes"
	Nitrite         Code = "nitrite"
	Urobilinogen    Code = "urobilinogen"
	Protein         Code = "protein"
	PH              Code = "ph"
	Blood           Code = "blood"
	SpecificGravity Code = "specific-gravity"
	Ketones         Code = "ketones"
	Bilirubin       Code = "bilirubin"
	Glucose         Code = "glucose"
	Creatinine      Code = "creatinine"
	Albumin         Code = "albumin"
)

// analytes are the pads a strip may carry. Limits of numbers are wide (a
// printed block is never outside); grades come from the pack's own blocks
// first, from [UsualGrade] where the pack is unknown.
var analytes = []Item{
	{Kind: Strip, Code: Leukocytes, Takes: GradeOrNumber, LOINC: "5799-2", Units: unit("/uL", 0, 5000), Cite: Cite{Source: FromMemory}},
	{Kind: Strip, Code: Nitrite, Takes: GradeWord, LOINC: "5802-4", Cite: Cite{"gallagher1990", "abstract"}},
	{Kind: Strip, Code: Urobilinogen, Takes: GradeOrNumber, LOINC: "5818-0", Units: []Unit{{"mg/dL", 1, 0, 0, 20}, {"umol/L", 1 / 16.9, 0, 0, 340}}, Cite: Cite{Source: FromMemory}},
	{Kind: Strip, Code: Protein, Takes: GradeOrNumber, LOINC: "20454-5", Units: []Unit{{"mg/dL", 1, 0, 0, 5000}, {"g/L", 100, 0, 0, 50}, {"mg/L", 0.1, 0, 0, 50000}}, Cite: Cite{"simerville2005", "table of strip grades"}},
	{Kind: Strip, Code: PH, Takes: Number, LOINC: "5803-2", Units: unit("[pH]", 4, 10), Cite: Cite{"simerville2005", "pH"}},
	{Kind: Strip, Code: Blood, Takes: GradeOrNumber, LOINC: "5794-3", Units: unit("/uL", 0, 5000), Cite: Cite{Source: FromMemory}},
	{Kind: Strip, Code: SpecificGravity, Takes: Number, LOINC: "5811-5", Units: unit("{SG}", 1, 1.06), Cite: Cite{"simerville2005", "specific gravity"}},
	{Kind: Strip, Code: Ketones, Takes: GradeOrNumber, LOINC: "2514-8", Units: []Unit{{"mg/dL", 1, 0, 0, 500}, {"mmol/L", 10.2, 0, 0, 50}}, Cite: Cite{Source: CommonPractice}},
	{Kind: Strip, Code: Bilirubin, Takes: GradeOrNumber, LOINC: "5770-3", Units: []Unit{{"mg/dL", 1, 0, 0, 50}, {"umol/L", 1 / 17.1, 0, 0, 855}}, Cite: Cite{Source: FromMemory}},
	{Kind: Strip, Code: Glucose, Takes: GradeOrNumber, LOINC: "25428-4", Units: []Unit{{"mg/dL", 1, 0, 0, 10000}, {"mmol/L", 18.02, 0, 0, 555}}, Cite: Cite{Source: CommonPractice}},
	{Kind: Strip, Code: Creatinine, Takes: GradeOrNumber, LOINC: "30004-6", Units: []Unit{{"mg/dL", 1, 0, 0, 1000}, {"g/L", 100, 0, 0, 10}, {"mmol/L", 11.312, 0, 0, 90}}, Cite: Cite{Source: FromMemory}},
	{Kind: Strip, Code: Albumin, Takes: GradeOrNumber, LOINC: "11218-5", Units: []Unit{{"mg/L", 1, 0, 0, 5000}, {"mg/dL", 10, 0, 0, 500}}, Cite: Cite{Source: "loinc", At: "95232-5, term description"}},
}

// usualBlocks gives, per pad, the lowest number of each grade on commonly
// printed charts, in the pad's default unit (facts D: compiled common
// practice; the household's own pack always goes first).
var usualBlocks = map[Code][]struct {
	from  float64
	grade Grade
}{
	Protein: {{0, Neg}, {10, Trace}, {30, Plus1}, {100, Plus2}, {300, Plus3}, {1000, Plus4}},
	// The same blocks are printed as 5.5, 14, 28, 55 and 110 mmol/L; the last
	// two convert to 991 and 1982 mg/dL.
	Glucose:    {{0, Neg}, {50, Trace}, {250, Plus1}, {500, Plus2}, {990, Plus3}, {1980, Plus4}},
	Ketones:    {{0, Neg}, {5, Trace}, {15, Plus1}, {39, Plus2}, {78, Plus3}, {156, Plus4}}, // 2 % below 40, 80, 160: the same blocks printed in mmol/L are rounded
	Blood:      {{0, Neg}, {5, Trace}, {25, Plus1}, {80, Plus2}, {200, Plus3}},
	Leukocytes: {{0, Neg}, {10, Trace}, {70, Plus1}, {125, Plus2}, {500, Plus3}},
	Bilirubin:  {{0, Neg}, {0.5, Plus1}, {2, Plus2}, {4, Plus3}},
}

// UsualGrade grades a number read from a strip of unknown kind by the blocks
// most charts print. ok is false for pads that are read as numbers.
func UsualGrade(c Code, v Value) (g Grade, ok bool) {
	if v.Grade != NoGrade {
		return v.Grade, true
	}
	rows, known := usualBlocks[c]
	it, _ := Find(Strip, c)
	n, converted := it.In(v, it.DefaultUnit())
	if !known || !converted {
		return NoGrade, false
	}
	for _, r := range rows {
		if n >= r.from {
			g = r.grade
		}
	}
	return g, true
}

// Analytes lists the pads a strip can carry, in the order of the plain table.
func Analytes() []Item { return analytes }
