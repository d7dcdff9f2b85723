package strip

import (
	"cmp"
	"math"
	"slices"
	"time"

	"quietwater/model"
)

// Standing is how far a pad's reading may be used.
type Standing int

// From useless to fully used. RetestOnly asks for another test and for nothing
// more; Doubtful counts and its doubt is said.
const (
	NotJudged Standing = iota
	RetestOnly
	Doubtful
	Counts
)

// Reason says why a pad does not simply count.
type Reason string

// The reasons, in the order they are shown.
const (
	UnclearReason   Reason = "unclear"
	Early           Reason = "early"
	Late            Reason = "late"
	StalePack       Reason = "stale"
	AgeAssumed      Reason = "age-assumed"
	Dilute          Reason = "dilute"
	Concentrated    Reason = "concentrated"
	Alkaline        Reason = "alkaline"
	MenstruatingNow Reason = "menstruating"
	AfterExercise   Reason = "after-exercise"
	Feverish        Reason = "feverish"
	DrankALot       Reason = "drank-a-lot"
	VitaminC        Reason = "vitamin-c"
	CapLeftOff      Reason = "cap-left-off"
	NeedsCreatinine Reason = "needs-creatinine"
)

// Reasons lists every reason, so that a test can ask for its words.
func Reasons() []Reason {
	return []Reason{UnclearReason, Early, Late, StalePack, AgeAssumed, Dilute, Concentrated, Alkaline,
		MenstruatingNow, AfterExercise, Feverish, DrankALot, VitaminC, CapLeftOff, NeedsCreatinine}
}

// Limits of the verdict. Sources: dilute below 1.010 and concentrated or
// alkaline as Simerville 2005 (quoted); the factor of two between the two
// specific-gravity papers (McAdams 2024, Front Med 2023) is why a dilute trace
// is asked again and never called nothing.
const (
	DiluteBelow      = 1.010 // specific gravity
	ConcentratedFrom = 1.030 // specific gravity
	AlkalineFrom     = 8.0   // pH
	LateUnknownKind  = 120   // s after the dip, when no read times are known
	ACRAsPlus1       = 30.0  // mg/g, KDIGO 2012 category A2
	ACRAsPlus3       = 300.0 // mg/g, KDIGO 2012 category A3

	// AlbuminAlone is the albumin that may not be passed over where creatinine
	// could not be read. Our own choice by arithmetic: charts print creatinine up
	// to about 300 mg/dL, and 150 mg/L over 300 mg/dL is 50 mg/g; it stays at
	// ACRAsPlus1 or above up to 500 mg/dL.
	AlbuminAlone = 150.0 // mg/L
)

// Pad is one reading with what it is worth.
type Pad struct {
	Value    *model.Value // as it stands in the entry
	Grade    model.Grade  // by the pack's own chart; NoGrade for pH and the like
	Standing Standing
	Reasons  []Reason
}

// Positive reports a reading of at least limit that may be used at all.
func (p Pad) Positive(limit model.Grade) bool {
	return p.Standing > NotJudged && p.Grade.AtLeast(limit)
}

func (p *Pad) doubt(s Standing, r Reason) {
	p.Standing = min(p.Standing, s)
	if !slices.Contains(p.Reasons, r) {
		p.Reasons = append(p.Reasons, r)
	}
}

// Verdict is a strip test judged for quality, before anybody asks what it
// means.
type Verdict struct {
	Pads    []Pad
	Gravity float64 // specific gravity, 0 when unknown or not readable
	PH      float64 // 0 when unknown or not readable
	Dilute  bool
	Age     Freshness
	ACR     float64 // mg/g by the albumin and creatinine pads, 0 when unknown
}

// Pad finds the pad of a code.
func (v Verdict) Pad(c model.Code) (Pad, bool) {
	i := slices.IndexFunc(v.Pads, func(p Pad) bool { return p.Value.Code == c })
	if i < 0 {
		return Pad{}, false
	}
	return v.Pads[i], true
}

// Protein is the protein pad or, where the strip has none or it shows less,
// the albumin pad: its ratio to creatinine from 30 mg/g acts as 1+, from 300
// as 3+. Without creatinine only much albumin speaks, as a 1+ to test again.
func (v Verdict) Protein() (Pad, bool) {
	p, ok := v.Pad(model.Protein)
	a, byRatio := v.albumin()
	if byRatio && (!ok || a.Positive(model.Plus1) && (p.Standing == NotJudged || a.Grade.Rank() > p.Grade.Rank())) {
		return a, true
	}
	return p, ok
}

// albumin is the albumin pad graded by its ratio to creatinine, or by itself
// where there is no ratio and weighAlbumin let it stand.
func (v Verdict) albumin() (Pad, bool) {
	p, ok := v.Pad(model.Albumin)
	alone := p.Standing > NotJudged && slices.Contains(p.Reasons, NeedsCreatinine)
	if !ok || v.ACR == 0 && !alone {
		return Pad{}, false
	}
	switch {
	case alone:
		p.Grade = model.Plus1
	case v.ACR >= ACRAsPlus3:
		p.Grade = model.Plus3
	case v.ACR >= ACRAsPlus1:
		p.Grade = model.Plus1
	default:
		p.Grade = model.Neg
	}
	return p, true
}

// Has reports whether any pad carries the reason.
func (v Verdict) Has(r Reason) bool {
	return slices.ContainsFunc(v.Pads, func(p Pad) bool { return slices.Contains(p.Reasons, r) })
}

// Circumstances is what surrounds a test: its strip kind and pack where known
// (nil where not), and what the rest of the book says of that time.
type Circumstances struct {
	Kind         *Kind
	Pack         *model.Pack
	Zone         *time.Location // nil: UTC
	OnVitaminC   bool           // the medicine switch is on
	Menstruating bool           // 3 days before to 5 days after a test marked so (Devon formulary)
	Exercised    bool           // a test of the 3 days before is marked so (BMJ 2009;338:a3021)
}

// Judge gives every pad of a strip test its grade and standing.
func Judge(e model.Entry, c Circumstances) Verdict {
	v := Verdict{Age: UnknownAge, Pads: make([]Pad, 0, len(e.Values))}
	if c.Pack != nil {
		v.Age = ShelfOf(*c.Pack).On(e.When, cmp.Or(c.Zone, time.UTC))
	}
	for _, it := range model.Analytes() {
		if val := e.Find(it.Code); val != nil {
			v.Pads = append(v.Pads, c.read(val, e, v.Age))
		}
	}
	v.Gravity = v.number(model.SpecificGravity, "{SG}")
	v.PH = v.number(model.PH, "[pH]")
	v.Dilute = v.Gravity > 0 && v.Gravity < DiluteBelow
	if alb, cr := v.number(model.Albumin, "mg/L"), v.number(model.Creatinine, "mg/dL"); alb > 0 && cr > 0 {
		v.ACR = alb / cr * 100
	}
	for i := range v.Pads {
		v.weigh(&v.Pads[i], e, c)
	}
	return v
}

// read grades one pad and holds its time and its pack against it.
func (c Circumstances) read(val *model.Value, e model.Entry, age Freshness) Pad {
	p := Pad{Value: val, Standing: Counts, Grade: val.Grade}
	row, known := Row{}, false
	if c.Kind != nil {
		row, known = c.Kind.Row(val.Code)
	}
	if known {
		if g, ok := row.Grade(*val); ok {
			p.Grade = g
		}
	} else if g, ok := model.UsualGrade(val.Code, *val); ok {
		p.Grade = g
	}
	if val.Code == model.Nitrite && p.Grade == model.Trace {
		p.Grade = model.Pos // any pink is positive, however the chart words it
	}
	if val.Grade == model.Unclear {
		p.doubt(NotJudged, UnclearReason) // no colour that could have come too early
	} else if seconds, ok := readAfter(e, val.Code); ok {
		if r := row.Timing(seconds); r != "" {
			p.doubt(NotJudged, r)
		}
	}
	switch age {
	case Stale:
		p.doubt(NotJudged, StalePack)
	case Questionable:
		p.doubt(Doubtful, AgeAssumed)
	}
	return p
}

// readAfter is how many seconds after the dip a pad was read: its own time
// where it has one, else that of the whole strip.
func readAfter(e model.Entry, pad model.Code) (float64, bool) {
	for _, c := range []model.Code{model.OwnTime(pad), model.AfterDip} {
		if v, ok := e.Value(c); ok {
			it, _ := model.Find(model.Strip, c)
			return it.In(v, "s")
		}
	}
	return 0, false
}

// number is a pad's reading in unit, 0 unless it may be used. A stale pack's
// numbers are used here: they can only add doubt.
func (v Verdict) number(c model.Code, unit string) float64 {
	p, ok := v.Pad(c)
	if !ok || slices.Contains(p.Reasons, Late) || slices.Contains(p.Reasons, Early) {
		return 0
	}
	it, _ := model.Find(model.Strip, c)
	n, ok := it.In(*p.Value, unit)
	if !ok {
		return 0
	}
	return n
}

// weigh holds the other pads and the checklist against one pad.
func (v Verdict) weigh(p *Pad, e model.Entry, c Circumstances) {
	vitaminC := c.OnVitaminC || e.Says("took-vitamin-c", "yes") || e.Says("took-vitamin-c", "unsure")
	low := p.Grade.Judged() && !p.Grade.AtLeast(model.Plus1)
	switch p.Value.Code {
	case model.Protein:
		v.weighProtein(p, e)
	case model.Albumin:
		v.weighAlbumin(p)
	case model.Blood:
		if !low && (c.Menstruating || e.Says("menstruating", "yes")) {
			p.doubt(NotJudged, MenstruatingNow)
		}
		if !low && (c.Exercised || e.Says("after-exercise", "yes")) {
			p.doubt(NotJudged, AfterExercise)
		}
	case model.Nitrite:
		if !low && (e.Says("cap-left-off", "yes") || e.Says("cap-left-off", "unsure")) {
			p.doubt(Doubtful, CapLeftOff)
		}
	}
	switch p.Value.Code {
	case model.Blood, model.Glucose, model.Nitrite, model.Leukocytes:
		if low && vitaminC {
			p.doubt(Doubtful, VitaminC)
		}
	}
}

// weighAlbumin: albumin says nothing about the kidneys until creatinine tells
// how thin the urine was. Only so much of it that no usual creatinine brings
// the ratio below ACRAsPlus1 is worth another test by itself.
func (v Verdict) weighAlbumin(p *Pad) {
	if p.Standing == NotJudged || v.number(model.Creatinine, "mg/dL") > 0 {
		return
	}
	// 15 mg/dL must be 150 mg/L, whatever the last binary digits say.
	if alone := v.number(model.Albumin, "mg/L"); math.Round(alone*1e6)/1e6 >= AlbuminAlone {
		p.doubt(RetestOnly, NeedsCreatinine)
		return
	}
	p.doubt(NotJudged, NeedsCreatinine)
}

func (v Verdict) weighProtein(p *Pad, e model.Entry) {
	if v.Dilute && p.Grade.Judged() && !p.Grade.AtLeast(model.Plus1) {
		p.doubt(NotJudged, Dilute)
	}
	if !p.Grade.AtLeast(model.Plus1) {
		// Without a gravity pad nothing but the person can tell that urine was thin.
		if p.Grade.Judged() && v.Gravity == 0 && e.Says("drank-a-lot", "yes") {
			p.doubt(Doubtful, DrankALot)
		}
		return
	}
	standing := Doubtful
	if p.Grade.Rank() == model.Plus1.Rank() {
		standing = RetestOnly
	}
	if v.Gravity >= ConcentratedFrom {
		p.doubt(standing, Concentrated)
	}
	if v.PH >= AlkalineFrom {
		p.doubt(standing, Alkaline)
	}
	if e.Says("after-exercise", "yes") {
		p.doubt(Doubtful, AfterExercise)
	}
	if e.Says("feverish", "yes") {
		p.doubt(Doubtful, Feverish)
	}
}
