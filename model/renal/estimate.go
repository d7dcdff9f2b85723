package renal

import (
	"quietwater/model"
)

// Name names one number that can be worked out.
type Name string

// The numbers, in the order they are given.
const (
	NameCreatinine2021 Name = "egfr-creatinine-2021"
	NameBoth2021       Name = "egfr-creatinine-cystatin-2021"
	NameCystatin2012   Name = "egfr-cystatin-2012"
	NameChild2009      Name = "egfr-child-2009"
	NameU25Creatinine  Name = "egfr-u25-creatinine"
	NameU25Cystatin    Name = "egfr-u25-cystatin"
	NameU25Average     Name = "egfr-u25-average"
	NameCockcroft      Name = "clearance-cockcroft-gault"
	NameMeasured       Name = "clearance-measured"
	NameDuBois         Name = "bsa-du-bois"
	NameMosteller      Name = "bsa-mosteller"
	NameG              Name = "g-category"
	NameA              Name = "a-category"
	NameRisk           Name = "risk-category"
	NameChecks         Name = "checks-per-year"
	NameFailure4Two    Name = "failure-risk-4-2y"
	NameFailure4Five   Name = "failure-risk-4-5y"
	NameFailure8Two    Name = "failure-risk-8-2y"
	NameFailure8Five   Name = "failure-risk-8-5y"
	NameACRFromPCR     Name = "acr-from-pcr"
	NameACRFromStrip   Name = "acr-from-strip"
)

const (
	perSurface = "mL/min/{1.73_m2}"
	perMinute  = "mL/min"
)

// estimates says, for each name in order, its unit, its publication and how it
// is worked out.
var estimates = []struct {
	name Name
	unit string
	cite model.Cite
	of   func(*bench) outcome
}{
	{NameCreatinine2021, perSurface, model.Cite{Source: "inker2021", At: "table 2"}, (*bench).creatinine2021},
	{NameBoth2021, perSurface, model.Cite{Source: "inker2021", At: "table 2"}, (*bench).both2021},
	{NameCystatin2012, perSurface, model.Cite{Source: "inker2012", At: "table 2"}, (*bench).cystatin2012},
	{NameChild2009, perSurface, model.Cite{Source: "schwartz2009", At: "abstract"}, (*bench).child2009},
	{NameU25Creatinine, perSurface, model.Cite{Source: "pierce2021", At: "table 3"}, (*bench).u25Creatinine},
	{NameU25Cystatin, perSurface, model.Cite{Source: "pierce2021", At: "table 3"}, (*bench).u25Cystatin},
	{NameU25Average, perSurface, model.Cite{Source: "pierce2021", At: "abstract"}, (*bench).u25Average},
	{NameCockcroft, perMinute, model.Cite{Source: "cockcroft1976", At: "abstract"}, (*bench).cockcroft},
	{NameMeasured, perMinute, model.Cite{Source: model.CommonPractice}, (*bench).measured},
	{NameDuBois, "m2", model.Cite{Source: "dubois1916", At: "formula"}, (*bench).duBois},
	{NameMosteller, "m2", model.Cite{Source: "mosteller1987", At: "formula"}, (*bench).mosteller},
	{NameG, "", model.Cite{Source: "kdigo2012", At: "table 5"}, (*bench).gCategory},
	{NameA, "", model.Cite{Source: "kdigo2012", At: "table 5"}, (*bench).aCategory},
	{NameRisk, "", model.Cite{Source: "kdigo2012", At: "figure 9"}, (*bench).riskCategory},
	{NameChecks, "/a", model.Cite{Source: "ada2024", At: "section 11, figure"}, (*bench).checksPerYear},
	{NameFailure4Two, "%", model.Cite{Source: "tangri2016", At: "eAppendix"}, func(b *bench) outcome { return b.risky(two(b.failure4())) }},
	{NameFailure4Five, "%", model.Cite{Source: "tangri2016", At: "eAppendix"}, func(b *bench) outcome { return b.risky(five(b.failure4())) }},
	{NameFailure8Two, "%", model.Cite{Source: "tangri2016", At: "eAppendix"}, func(b *bench) outcome { return b.risky(two(b.failure8())) }},
	{NameFailure8Five, "%", model.Cite{Source: "tangri2016", At: "eAppendix"}, func(b *bench) outcome { return b.risky(five(b.failure8())) }},
	{NameACRFromPCR, "mg/g", model.Cite{Source: "sumida2020", At: "adjusted equation"}, (*bench).acrFromPCR},
	{NameACRFromStrip, "mg/g", model.Cite{Source: "sumida2020", At: "adjusted equation"}, (*bench).acrFromStrip},
}

// Names lists every name, in order.
func Names() []Name {
	out := make([]Name, len(estimates))
	for i, e := range estimates {
		out[i] = e.name
	}
	return out
}

// Cite is the publication of a name; zero for one that is not of ours.
func (n Name) Cite() model.Cite {
	for _, e := range estimates {
		if e.name == n {
			return e.cite
		}
	}
	return model.Cite{}
}

// Case is all that is known of one person at one time. A Value without a Code
// is not known.
type Case struct {
	Age            float64 // exact years; negative where not known
	Sex            Sex
	Height, Weight model.Value // of the kinds profile and vital

	Creatinine, CystatinC, ACR, PCR            model.Value // of the kind lab
	Albumin, Phosphate, Bicarbonate, Calcium   model.Value
	UrineCreatinine, UrineVolume, UrineHours   model.Value
	EGFR                                       model.Value // as reported
	StripProtein                               model.Grade
	Diabetes, HighPressure                     *bool // nil where not known
	Region                                     string
	Dialysis, Transplant, Pregnant, Amputation bool
}

// Result is one number worked out, unrounded; a category has a Word, and its
// rank from 1 for a number.
type Result struct {
	Name    Name
	Value   float64
	Word    string
	Unit    string // UCUM
	Cite    model.Cite
	Caution model.Msg // why it says less than it seems; zero where nothing does
}

// Refusal is a number that was not worked out.
type Refusal struct {
	Name Name
	Why  model.Msg
}

// Estimate works out every name in order, or says why it does not.
func Estimate(c Case) ([]Result, []Refusal) {
	b := &bench{Case: c}
	var results []Result
	var refusals []Refusal
	for _, e := range estimates {
		o := e.of(b)
		if !o.why.IsZero() {
			refusals = append(refusals, Refusal{e.name, o.why})
			continue
		}
		results = append(results, Result{e.name, o.value, o.word, e.unit, e.cite, o.caution})
	}
	return results, refusals
}

// outcome is a number or a word, or why there is none.
type outcome struct {
	value   float64
	word    string
	caution model.Msg
	why     model.Msg
}

func number(v float64, why model.Msg) outcome { return outcome{value: v, why: why} }

func no(why model.Msg) outcome { return outcome{why: why} }

// but adds a caution, the first of which is kept.
func (o outcome) but(caution model.Msg) outcome {
	if o.caution.IsZero() {
		o.caution = caution
	}
	return o
}

func two(r Risks, why model.Msg) outcome  { return number(100*r.Two, why) }
func five(r Risks, why model.Msg) outcome { return number(100*r.Five, why) }

// risky adds to a risk of failure what makes it wrong for this person.
func (b *bench) risky(o outcome) outcome {
	if b.Amputation {
		return o.but(model.T("renal.caution.risk-amputation"))
	}
	return o.but(model.T("renal.caution.risk"))
}

// bench is one case on the table.
type bench struct{ Case }

// take reads a value in a unit; why says what is wrong with it, missing that it
// is not there.
func take(k model.Kind, v model.Value, unit, missing string) (float64, model.Msg) {
	if v.Code == "" {
		return 0, refused(missing)
	}
	it, known := model.Find(k, v.Code)
	if !known {
		return 0, refused(missing)
	}
	if v.Unit == "" && len(it.Units) == 1 {
		v.Unit = it.Units[0].UCUM // there is nothing to mistake it for
	}
	// What was written speaks: Number and Typed cannot say two things.
	v, ps := model.ParseValue(it, v.Text(), v.Unit, "")
	switch {
	case len(ps) > 0:
		return 0, ps[0].Why
	case v.Bound() != 0:
		return 0, refused("limit", "what", v.Code)
	}
	x, ok := it.In(v, unit)
	if !ok {
		return 0, refused(missing)
	}
	return x, model.Msg{}
}

func lab(v model.Value, unit, missing string) (float64, model.Msg) {
	return take(model.Lab, v, unit, missing)
}

// first is the first thing wrong, if any.
func first(whys ...model.Msg) model.Msg {
	for _, w := range whys {
		if !w.IsZero() {
			return w
		}
	}
	return model.Msg{}
}

func (b *bench) serum() (float64, model.Msg)    { return lab(b.Creatinine, "mg/dL", "creatinine") }
func (b *bench) cystatin() (float64, model.Msg) { return lab(b.CystatinC, "mg/L", "cystatin") }
func (b *bench) height() (float64, model.Msg) {
	return take(model.Profile, b.Height, "cm", "height")
}
func (b *bench) weight() (float64, model.Msg) { return take(model.Vital, b.Weight, "kg", "weight") }

// years are completed years, as adults' equations take them.
func (b *bench) years() (int, model.Msg) {
	if !(b.Age >= 0 && b.Age <= oldest) {
		return 0, refused("age")
	}
	return int(b.Age), model.Msg{}
}

// filtered adds to a filtering by creatinine why it says little of these
// kidneys, the gravest reason first.
func (b *bench) filtered(o outcome) outcome {
	if b.Amputation && !b.Dialysis && !b.Pregnant {
		return o.but(model.T("renal.caution.amputation"))
	}
	return b.byCystatin(o)
}

// byCystatin is the same for filtering by cystatin C alone, which does not come
// from muscle.
func (b *bench) byCystatin(o outcome) outcome {
	switch {
	case b.Dialysis:
		return o.but(model.T("renal.caution.dialysis"))
	case b.Pregnant:
		return o.but(model.T("renal.caution.pregnancy"))
	case b.Age >= 18 && b.Age <= 25:
		return o.but(model.T("renal.caution.young"))
	}
	return o
}

// What an equation is for is said before what is missing for it: nobody should
// look for a height that would not be used.
func (b *bench) adult() model.Msg {
	years, why := b.years()
	if why.IsZero() && years < 18 {
		why = refused("adult-only")
	}
	return why
}

func (b *bench) child() model.Msg {
	_, why := b.years()
	if why.IsZero() && !childAge(b.Age) {
		why = refused("child-only")
	}
	return why
}

func (b *bench) young() model.Msg {
	_, why := b.years()
	if why.IsZero() && !u25Age(b.Age) {
		why = refused("young-only")
	}
	return why
}

func (b *bench) creatinine2021() outcome {
	years, _ := b.years()
	mgdL, why := b.serum()
	if why := first(b.adult(), why); !why.IsZero() {
		return no(why)
	}
	return b.filtered(number(CreatinineEGFR(mgdL, years, b.Sex)))
}

func (b *bench) both2021() outcome {
	years, _ := b.years()
	mgdL, w1 := b.serum()
	cys, w2 := b.cystatin()
	if why := first(b.adult(), w1, w2); !why.IsZero() {
		return no(why)
	}
	return b.filtered(number(CreatinineCystatinEGFR(mgdL, cys, years, b.Sex)))
}

func (b *bench) cystatin2012() outcome {
	years, _ := b.years()
	cys, why := b.cystatin()
	if why := first(b.adult(), why); !why.IsZero() {
		return no(why)
	}
	return b.byCystatin(number(CystatinEGFR(cys, years, b.Sex)))
}

func (b *bench) child2009() outcome {
	mgdL, w1 := b.serum()
	cm, w2 := b.height()
	if why := first(b.child(), w1, w2); !why.IsZero() {
		return no(why)
	}
	return b.filtered(number(BedsideChildEGFR(mgdL, cm, b.Age)))
}

func (b *bench) u25Creatinine() outcome {
	mgdL, w1 := b.serum()
	cm, w2 := b.height()
	if why := first(b.young(), w1, w2); !why.IsZero() {
		return no(why)
	}
	return b.filtered(number(U25Creatinine(mgdL, cm, b.Age, b.Sex)))
}

func (b *bench) u25Cystatin() outcome {
	cys, why := b.cystatin()
	if why := first(b.young(), why); !why.IsZero() {
		return no(why)
	}
	return b.byCystatin(number(U25Cystatin(cys, b.Age, b.Sex)))
}

func (b *bench) u25Average() outcome {
	one, other := b.u25Creatinine(), b.u25Cystatin()
	if why := first(one.why, other.why); !why.IsZero() {
		return no(why)
	}
	return b.filtered(outcome{value: (one.value + other.value) / 2})
}

func (b *bench) cockcroft() outcome {
	years, _ := b.years()
	mgdL, w1 := b.serum()
	kg, w2 := b.weight()
	if why := first(b.adult(), w1, w2); !why.IsZero() {
		return no(why)
	}
	return b.filtered(number(CockcroftGault(mgdL, kg, years, b.Sex))).but(model.T("renal.caution.doses"))
}

func (b *bench) measured() outcome {
	serum, w1 := b.serum()
	urine, w2 := lab(b.UrineCreatinine, "mg/dL", "collection")
	mL, w3 := lab(b.UrineVolume, "mL", "collection")
	hours, w4 := lab(b.UrineHours, "h", "collection")
	if why := first(w1, w2, w3, w4); !why.IsZero() {
		return no(why)
	}
	o := number(MeasuredClearance(urine, mL, hours, serum))
	// Children pass less creatinine for their weight than the limits of adults.
	if kg, why := b.weight(); why.IsZero() && (b.Age < 0 || b.Age >= 18) {
		o = o.but(CollectionDoubt(urine, mL, hours, kg, b.Sex))
	}
	return o
}

func (b *bench) duBois() outcome    { return b.surface(DuBois) }
func (b *bench) mosteller() outcome { return b.surface(Mosteller) }

func (b *bench) surface(of func(cm, kg float64) (float64, model.Msg)) outcome {
	cm, w1 := b.height()
	kg, w2 := b.weight()
	if why := first(w1, w2); !why.IsZero() {
		return no(why)
	}
	return number(of(cm, kg))
}

// egfr is the number stages are read from: with cystatin C where it was
// measured (KDIGO 2024, 1.2.2), else by creatinine, else by cystatin C, else as
// reported. Without any it says what the likeliest of them lacks.
func (b *bench) egfr() outcome {
	ways := []outcome{b.both2021(), b.creatinine2021(), b.cystatin2012()}
	if b.Age >= 0 && b.Age < 18 {
		ways = []outcome{b.u25Average(), b.u25Creatinine(), b.u25Cystatin(), b.child2009()}
	}
	for _, o := range ways {
		if o.why.IsZero() {
			return o
		}
	}
	switch {
	case b.EGFR.Code != "":
		return b.filtered(number(lab(b.EGFR, perSurface, "egfr")))
	case b.Creatinine.Code == "" && b.CystatinC.Code == "":
		return no(refused("egfr"))
	case b.Creatinine.Code == "":
		return no(ways[2].why)
	}
	return no(ways[1].why)
}

// notStaged says under which conditions no stage is read from the numbers.
func (b *bench) notStaged() model.Msg {
	switch {
	case b.Dialysis:
		return refused("dialysis")
	case b.Pregnant:
		return refused("pregnancy")
	case b.Age >= 0 && b.Age < 2: // kidneys still ripen (KDIGO 2012, 1.2: note on children)
		return refused("below-two")
	}
	return model.Msg{}
}

func (b *bench) gCategory() outcome {
	if why := b.notStaged(); !why.IsZero() {
		return no(why)
	}
	g, o := b.stage()
	o.value, o.word = float64(g), g.String()
	return o
}

// stage is the G category; a report that is only a limit gives one where it
// leaves a single one open.
func (b *bench) stage() (G, outcome) {
	o := b.egfr()
	if o.why.IsZero() {
		return GOf(o.value), outcome{caution: o.caution}
	}
	switch v := b.EGFR; {
	case v.Code == "egfr" && v.Bound() == '>' && v.Number >= G1.From():
		return G1, b.filtered(outcome{})
	case v.Code == "egfr" && v.Bound() == '<' && v.Number <= G4.From():
		return G5, b.filtered(outcome{})
	}
	return 0, no(o.why)
}

// albuminuria is the A category of the ACR, else the one the PCR stands for.
func (b *bench) albuminuria() (A, outcome) {
	ratio, of, o := b.ACR, AOf, outcome{}
	if ratio.Code == "" && b.PCR.Code != "" {
		ratio, of, o = b.PCR, AOfPCR, outcome{caution: model.T("renal.caution.from-pcr")}
	}
	if ratio.Code == "" {
		return 0, no(refused("acr"))
	}
	it, _ := model.Find(model.Lab, ratio.Code)
	if _, ps := model.ParseValue(it, ratio.Text(), ratio.Unit, ""); len(ps) > 0 {
		return 0, no(ps[0].Why)
	}
	a, ok := of(ratio)
	if !ok {
		return 0, no(refused("ratio"))
	}
	return a, o
}

func (b *bench) aCategory() outcome {
	if b.Dialysis {
		return no(refused("dialysis"))
	}
	a, o := b.albuminuria()
	o.value, o.word = float64(a), a.String()
	return o
}

func (b *bench) cell() (G, A, outcome) {
	if why := b.notStaged(); !why.IsZero() {
		return 0, 0, no(why)
	}
	g, og := b.stage()
	a, oa := b.albuminuria()
	if why := first(og.why, oa.why); !why.IsZero() {
		return 0, 0, no(why)
	}
	return g, a, og.but(oa.caution)
}

func (b *bench) riskCategory() outcome {
	g, a, o := b.cell()
	if o.why.IsZero() {
		r := RiskOf(g, a)
		o.value, o.word = float64(r), r.String()
	}
	return o
}

func (b *bench) checksPerYear() outcome {
	g, a, o := b.cell()
	if !o.why.IsZero() {
		return o
	}
	o.value = float64(ChecksPerYear(g, a))
	switch {
	case g <= G2 && a == A1:
		return o.but(model.T("renal.caution.checks-if-ckd"))
	case g == G5, g == G4 && a == A3:
		return o.but(model.T("renal.caution.checks-or-more"))
	}
	return o
}

// risk gathers what both equations of failure need.
func (b *bench) risk() (egfr, acr float64, why model.Msg) {
	switch {
	case b.Dialysis:
		return 0, 0, refused("risk-dialysis")
	case b.Transplant:
		return 0, 0, refused("risk-transplant")
	case b.Pregnant:
		return 0, 0, refused("pregnancy")
	}
	o := b.creatinine2021() // what the equation was made and tested with
	if !o.why.IsZero() && b.EGFR.Code != "" {
		o = number(lab(b.EGFR, perSurface, "egfr"))
	}
	mgG, w2 := lab(b.ACR, "mg/g", "risk-acr")
	return o.value, mgG, first(b.adult(), o.why, w2)
}

func (b *bench) failure4() (Risks, model.Msg) {
	egfr, acr, why := b.risk()
	if !why.IsZero() {
		return Risks{}, why
	}
	return FailureRisk4(b.Age, b.Sex, egfr, acr, b.Region)
}

func (b *bench) failure8() (Risks, model.Msg) {
	egfr, acr, why := b.risk()
	albumin, w1 := lab(b.Albumin, "g/dL", "risk-eight")
	phosphate, w2 := lab(b.Phosphate, "mg/dL", "risk-eight")
	bicarbonate, w3 := lab(b.Bicarbonate, "mmol/L", "risk-eight")
	calcium, w4 := lab(b.Calcium, "mg/dL", "risk-eight")
	if why := first(why, w1, w2, w3, w4); !why.IsZero() {
		return Risks{}, why
	}
	return FailureRisk8(b.Age, b.Sex, egfr, acr, albumin, phosphate, bicarbonate, calcium, b.Region)
}

// rough tells that an ACR is only estimated, and what was taken for granted.
func (b *bench) rough(o outcome) outcome {
	if b.Diabetes == nil || b.HighPressure == nil {
		return o.but(model.T("renal.caution.rough-without"))
	}
	return o.but(model.T("renal.caution.rough"))
}

func (b *bench) diabetes() bool { return b.Diabetes != nil && *b.Diabetes }
func (b *bench) pressure() bool { return b.HighPressure != nil && *b.HighPressure }

// notChild refuses those known to be under 18: only adults were studied.
func (b *bench) notChild() model.Msg {
	if b.Age < 0 {
		return model.Msg{}
	}
	return b.adult()
}

func (b *bench) acrFromPCR() outcome {
	pcr, why := lab(b.PCR, "mg/g", "pcr-missing")
	if why := first(b.notChild(), why); !why.IsZero() {
		return no(why)
	}
	return b.rough(number(ACRFromPCR(pcr, b.Sex, b.diabetes(), b.pressure())))
}

func (b *bench) acrFromStrip() outcome {
	if why := b.notChild(); !why.IsZero() {
		return no(why)
	}
	return b.rough(number(ACRFromStrip(b.StripProtein, b.Sex, b.diabetes(), b.pressure())))
}
