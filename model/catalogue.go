package model

import (
	"slices"
	"strings"
	"time"
)

// Takes says what form the value of an item has.
type Takes int

// The forms a value can take in the plain table.
const (
	Number        Takes = iota // a plain decimal number
	GradeWord                  // a grade only
	GradeOrNumber              // a grade, or a number with unit
	Flag                       // yes, no, unsure
	Span                       // start, end
	Words                      // one of Item.Words
	Day                        // YYYY-MM-DD
	DayOrMonth                 // YYYY-MM-DD or YYYY-MM, its last day
	Language                   // a BCP 47 tag
	Text                       // free text
)

// Unit is one UCUM unit an item may be written in. A number between Min and
// Max is accepted as it stands; outside, the program asks. A value converts to
// the item's first unit as Factor × value + Offset; Factor 0 means that no
// conversion is sure enough to make.
type Unit struct {
	UCUM     string
	Factor   float64
	Offset   float64
	Min, Max float64
}

// Item is one thing that can be recorded: a line of the plain table's "what".
type Item struct {
	Kind  Kind
	Code  Code
	Takes Takes
	// Units holds the accepted units, default first. NeedsUnit (laboratory
	// values) forbids leaving the unit out.
	Units     []Unit
	NeedsUnit bool
	Whole     bool // only whole numbers
	NoneIs0   bool // 0 is accepted besides, and means that there is none
	YesNo     bool // a symptom only asked for as there ([There]) or not (0)
	Words     []string
	LOINC     string
	Cite      Cite // where limits and meaning come from
}

// Unit finds an accepted unit; the empty string finds the default one.
func (it Item) Unit(ucum string) (Unit, bool) {
	if ucum == "" && len(it.Units) > 0 {
		return it.Units[0], true
	}
	i := slices.IndexFunc(it.Units, func(u Unit) bool { return u.UCUM == ucum })
	if i < 0 {
		return Unit{}, false
	}
	return it.Units[i], true
}

// DefaultUnit is the unit meant by an empty cell, "" where there is none.
func (it Item) DefaultUnit() string {
	if it.NeedsUnit || len(it.Units) == 0 {
		return ""
	}
	return it.Units[0].UCUM
}

// In converts v to the unit ucum of the same item. ok is false where either
// unit is unknown or no sure conversion exists.
func (it Item) In(v Value, ucum string) (float64, bool) {
	from, ok1 := it.Unit(v.Unit)
	to, ok2 := it.Unit(ucum)
	if !v.IsNumber() || !ok1 || !ok2 {
		return 0, false
	}
	if from.UCUM == to.UCUM {
		return v.Number, true
	}
	if from.Factor == 0 || to.Factor == 0 {
		return 0, false
	}
	return (from.Factor*v.Number + from.Offset - to.Offset) / to.Factor, true
}

// Find looks an item up by kind and code.
func Find(k Kind, c Code) (Item, bool) {
	i, ok := catalogued[place{k, c}]
	if !ok {
		return Item{}, false
	}
	return catalogue[i], true
}

// place is where an item stands in the plain table.
type place struct {
	kind Kind
	code Code
}

// catalogued finds an item's line in the catalogue: rules ask for it with every
// value of many years.
var catalogued = func() map[place]int {
	at := make(map[place]int, len(catalogue))
	for i, it := range catalogue {
		at[place{it.Kind, it.Code}] = i
	}
	return at
}()

// ItemsOf lists the items of one kind in the order of the plain table.
func ItemsOf(k Kind) []Item {
	var out []Item
	for _, it := range Items() {
		if it.Kind == k {
			out = append(out, it)
		}
	}
	return out
}

// Items is the whole catalogue, in the order of the plain table.
func Items() []Item { return catalogue }

// catalogue is built once from the tables below and never changed.
var catalogue = slices.Concat(
	profileItems,
	spans(Condition, "diabetes", "high-blood-pressure", "heart-failure", "kidney-disease", "transplant",
		"dialysis", "single-kidney", "pregnancy", "urinary-catheter", "amputation", "stones", "acute-illness"),
	spans(Medicine, "sglt2-inhibitor", "acei-or-arb", "diuretic", "metformin", "nsaid", "anticoagulant",
		"insulin", "vitamin-c"),
	analytes,
	stripCircumstances,
	ownTimes(),
	labItems,
	vitalItems,
	symptoms,
	fluidItems,
	packItems,
	[]Item{{Kind: Note, Code: "text", Takes: Text, Cite: Cite{Source: CommonPractice}}},
)

func spans(k Kind, codes ...Code) []Item {
	out := make([]Item, len(codes))
	for i, c := range codes {
		out[i] = Item{Kind: k, Code: c, Takes: Span, Cite: Cite{Source: CommonPractice}}
	}
	return out
}

func unit(ucum string, lo, hi float64) []Unit { return []Unit{{ucum, 1, 0, lo, hi}} }

var profileItems = []Item{
	{Kind: Profile, Code: "birth-date", Takes: Day},
	{Kind: Profile, Code: "sex", Takes: Words, Words: []string{"male", "female"}},
	{Kind: Profile, Code: "height", Units: []Unit{{"cm", 1, 0, 30, 250}, {"m", 100, 0, 0.3, 2.5}, {"[in_i]", 2.54, 0, 12, 98}}},
	{Kind: Profile, Code: "language", Takes: Language},
	{Kind: Profile, Code: "second-language", Takes: Language},
	// What the person's own doctor set; the program sets none.
	{Kind: Profile, Code: "fluid-limit", Units: unit("mL/d", 200, 5000), NoneIs0: true},
	// The weight above which the person's own dialysis unit wants a call.
	{Kind: Profile, Code: "weight-limit", Units: []Unit{{"kg", 1, 0, 1, 350}, {"[lb_av]", 0.45359237, 0, 2, 770}}, NoneIs0: true},
	{Kind: Profile, Code: "risk-region", Takes: Words, Words: []string{"north-america", "other"}},
	// How often the person's own doctor wants blood and urine tested; 0 is no say.
	{Kind: Profile, Code: "lab-interval", Units: unit("mo", 0, 36)},
}

// stripCircumstances are what the checklist before the dip asks; the answers
// change how a test is judged.
var stripCircumstances = []Item{
	{Kind: Strip, Code: "pack", Takes: Text},
	{Kind: Strip, Code: AfterDip, Units: unit("s", 0, 86400)},
	{Kind: Strip, Code: "first-morning", Takes: Flag},
	{Kind: Strip, Code: "after-exercise", Takes: Flag},
	{Kind: Strip, Code: "menstruating", Takes: Flag},
	{Kind: Strip, Code: "feverish", Takes: Flag},
	{Kind: Strip, Code: "drank-a-lot", Takes: Flag},
	{Kind: Strip, Code: "cap-left-off", Takes: Flag},
	{Kind: Strip, Code: "took-vitamin-c", Takes: Flag},
}

// AfterDip is how long after the dip a strip was read. Where one pad was read at
// another time than the rest, [OwnTime] of that pad says when.
const AfterDip Code = "seconds-after-dip"

const ownTime = "-after-dip"

// OwnTime is the code of a pad's own reading time.
func OwnTime(pad Code) Code { return pad + ownTime }

// TimedPad is the pad whose own reading time c is; ok is false for all else.
func TimedPad(c Code) (pad Code, ok bool) {
	name, ok := strings.CutSuffix(string(c), ownTime)
	return Code(name), ok && c != AfterDip
}

// ownTimes are one for each pad, as somebody at home would say it: 3 minutes.
func ownTimes() []Item {
	var out []Item
	for _, it := range analytes {
		out = append(out, Item{Kind: Strip, Code: OwnTime(it.Code), Units: []Unit{{"s", 1, 0, 0, 86400}, {"min", 60, 0, 0, 1440}}})
	}
	return out
}

// labItems carry the limits outside which a number is asked about. They are
// our own choice unless cited; creatinine's are needs R29.
var labItems = labs([]Item{
	{Code: "creatinine", LOINC: "14682-9", Units: []Unit{{"umol/L", 1, 0, 26, 1600}, {"mg/dL", 88.4, 0, 0.2, 17.9}}},
	{Code: "cystatin-c", LOINC: "33863-2", Units: []Unit{{"mg/L", 1, 0, 0.2, 12}}},
	{Code: "egfr", LOINC: "69405-9", Units: unit("mL/min/{1.73_m2}", 1, 200)},
	{Code: "acr", LOINC: "9318-7", Units: []Unit{{"mg/g", 1, 0, 0, 30000}, {"mg/mmol", 8.84, 0, 0, 3400}}},
	{Code: "pcr", LOINC: "2890-2", Units: []Unit{{"mg/g", 1, 0, 0, 50000}, {"mg/mmol", 8.84, 0, 0, 5600}}},
	// A sheet's mg/dL may mean urea or urea nitrogen (2.14 times apart), so it
	// is kept as written and never converted.
	{Code: "urea", LOINC: "22664-7", Units: []Unit{{"mmol/L", 1, 0, 0.5, 80}, {"mg/dL", 0, 0, 1, 480}}},
	{Code: "potassium", LOINC: "2823-3", Units: []Unit{{"mmol/L", 1, 0, 1.5, 10}, {"meq/L", 1, 0, 1.5, 10}}},
	{Code: "sodium", LOINC: "2951-2", Units: []Unit{{"mmol/L", 1, 0, 90, 200}, {"meq/L", 1, 0, 90, 200}}},
	{Code: "bicarbonate", LOINC: "1963-8", Units: []Unit{{"mmol/L", 1, 0, 3, 60}, {"meq/L", 1, 0, 3, 60}}},
	{Code: "calcium", LOINC: "2000-8", Units: []Unit{{"mmol/L", 1, 0, 1, 5}, {"mg/dL", 1 / 4.008, 0, 5.1, 20}}},
	{Code: "phosphate", LOINC: "14879-1", Units: []Unit{{"mmol/L", 1, 0, 0.2, 6}, {"mg/dL", 1 / 3.097, 0, 0.6, 18.5}}},
	{Code: "albumin", LOINC: "1751-7", Units: []Unit{{"g/L", 1, 0, 8, 70}, {"g/dL", 10, 0, 0.8, 7}}},
	{Code: "haemoglobin", LOINC: "718-7", Units: []Unit{{"g/L", 1, 0, 30, 250}, {"g/dL", 10, 0, 3, 25}}},
	{Code: "hba1c", LOINC: "4548-4", Units: []Unit{{"mmol/mol", 1, 0, 15, 200}, {"%", 0, 0, 3, 20}}},
	{Code: "glucose", LOINC: "14749-6", Units: []Unit{{"mmol/L", 1, 0, 1, 50}, {"mg/dL", 1 / 18.02, 0, 51, 900}}},
	{Code: "urine-creatinine", LOINC: "2161-8", Units: []Unit{{"mg/dL", 1, 0, 2, 700}, {"mmol/L", 11.312, 0, 0.2, 60}, {"umol/L", 0.011312, 0, 200, 60000}}},
	{Code: "urine-volume", LOINC: "3167-4", Units: []Unit{{"mL", 1, 0, 0, 20000}, {"L", 1000, 0, 0, 20}}},
	{Code: "urine-hours", Units: unit("h", 0.5, 48)},
	{Code: "urine-protein", LOINC: "2889-4", Units: []Unit{{"mg/(24.h)", 1, 0, 0, 40000}, {"g/(24.h)", 1000, 0, 0, 40}, {"mg/dL", 0, 0, 0, 5000}, {"mg/L", 0, 0, 0, 50000}, {"g/L", 0, 0, 0, 50}}},
	{Code: "rbc-hpf", LOINC: "13945-1", Units: unit("/[HPF]", 0, 1000)},
	// About the sheet, for all results of its time.
	{Code: "laboratory", Takes: Text},
	{Code: "fasting", Takes: Flag},
	{Code: "ill-then", Takes: Flag},
})

func labs(items []Item) []Item {
	for i, it := range items {
		items[i].Kind = Lab
		items[i].NeedsUnit = it.Takes == Number && it.Code != "urine-hours" && it.Code != "rbc-hpf"
	}
	return items
}

var vitalItems = []Item{
	{Kind: Vital, Code: "weight", LOINC: "29463-7", Units: []Unit{{"kg", 1, 0, 1, 350}, {"[lb_av]", 0.45359237, 0, 2, 770}}},
	{Kind: Vital, Code: "systolic", LOINC: "8480-6", Units: unit("mm[Hg]", 60, 260)},
	{Kind: Vital, Code: "diastolic", LOINC: "8462-4", Units: unit("mm[Hg]", 30, 180)},
	{Kind: Vital, Code: "pulse", LOINC: "8867-4", Units: unit("/min", 20, 250)},
	{Kind: Vital, Code: "temperature", LOINC: "8310-5", Units: []Unit{{"Cel", 1, 0, 30, 45}, {"[degF]", 5.0 / 9, -160.0 / 9, 86, 113}}},
	// Beta-hydroxybutyrate from a finger prick, on the household's own meter.
	{Kind: Vital, Code: "blood-ketones", LOINC: "66441-7", Units: unit("mmol/L", 0, 15)},
}

var symptoms = severities(
	"foamy-urine", "passing-more", "passing-less", "passing-none", "night-urination", "painful-urination",
	"visible-blood", "blood-clots", "dark-urine", "ankle-swelling", "face-swelling", "breathlessness",
	"breathless-at-rest", "chest-pain", "tiredness", "poor-focus", "itching", "nausea", "vomiting", "diarrhoea",
	"poor-appetite", "cramps", "flank-pain", "fever", "shivering", "confusion", "headache", "vision-trouble",
	"belly-pain", "yellow-eyes", "thirst", "fast-breathing", "dizziness", "weakness", "cloudy-fluid", "collapse",
	"fit", "face-arm-speech", "drowsiness")

// yesNo are the symptoms that are there or not: nobody has a mild fit.
var yesNo = []Code{"passing-none", "visible-blood", "blood-clots", "collapse", "fit", "face-arm-speech", "cloudy-fluid", "yellow-eyes"}

// There is the severity a yes is kept as: what is there, and not said to be as
// bad as can be (our choice).
const There = 2

func severities(codes ...Code) []Item {
	out := make([]Item, len(codes))
	for i, c := range codes {
		out[i] = Item{Kind: Symptom, Code: c, Units: unit("", 0, 3), Whole: true, YesNo: slices.Contains(yesNo, c)}
	}
	return out
}

var fluidItems = []Item{
	{Kind: Fluid, Code: "drink", LOINC: "8999-5", Units: []Unit{{"mL", 1, 0, 1, 5000}, {"L", 1000, 0, 0.001, 5}}},
	{Kind: Fluid, Code: "urine", LOINC: "9187-6", Units: []Unit{{"mL", 1, 0, 0, 20000}, {"L", 1000, 0, 0, 20}}},
	{Kind: Fluid, Code: "urine-hours", Units: unit("h", 0.5, 48)},
}

var packItems = []Item{
	{Kind: PackKind, Code: "use-by", Takes: DayOrMonth, Cite: Cite{Source: "iso15223", At: "5.1.4"}},
	{Kind: PackKind, Code: "opened-on", Takes: Day},
	{Kind: PackKind, Code: "days-after-opening", Units: unit("d", 1, 1000), Whole: true},
	{Kind: PackKind, Code: "strips", Units: unit("{count}", 1, 10000), Whole: true, Cite: Cite{Source: "iso15223", At: "5.5.5"}},
	{Kind: PackKind, Code: "sealed", Takes: Words, Words: []string{string(Single), string(Tub)}},
	{Kind: PackKind, Code: "kind-of-strip", Takes: Text},
	{Kind: PackKind, Code: "lot", Takes: Text, Cite: Cite{Source: "iso15223", At: "5.1.5"}},
	{Kind: PackKind, Code: "price", Units: unit("", 0, 100000)},
	{Kind: PackKind, Code: "currency", Takes: Text},
}

// LastDay turns a printed month into its last day, in UTC: a pack marked
// 2027-02 may be used up to and including 28 February 2027 (ISO 15223-1, 5.1.4).
func LastDay(year int, month time.Month) time.Time {
	return time.Date(year, month+1, 0, 0, 0, 0, 0, time.UTC)
}
