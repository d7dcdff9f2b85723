package i18n

import (
	"cmp"
	"regexp"
	"strings"

	"quietwater/model"
)

// Grade is the grade as the chart prints it and as it is said: "1+ (one
// plus)". NoGrade is "".
func (p *Pair) Grade(g model.Grade) string { return p.first.grade(g) }

// Name is an item of the catalogue as it stands by itself, with a capital:
// "White blood cells (leukocytes)". What has no name comes back as its code.
func (p *Pair) Name(k model.Kind, c model.Code) string {
	return p.first.capital(p.first.named(k, c))
}

// Kind names a kind of entry, with a capital.
func (p *Pair) Kind(k model.Kind) string { return p.first.capital(p.first.arg(k)) }

// Word is a listed word of the plain table (yes, start, male, tub, called …)
// as it stands by itself; a word that is not listed comes back as it is.
func (p *Pair) Word(w string) string { return p.first.capital(p.first.known("word."+w, w)) }

// Unit is a UCUM unit as it is printed: "µmol/L", "mL/min/1.73 m²", "per µL";
// "" for those that are never printed (pH, specific gravity, counts).
func (p *Pair) Unit(ucum string) string { return p.first.unit(ucum, nil) }

// Quantity is a number with its printed unit.
func (p *Pair) Quantity(q model.Quantity) string { return p.first.quantity(q) }

// Value is a value of an item in words: a grade, a number with its unit, how
// bad a symptom is, a date, a listed word, or the text itself.
func (p *Pair) Value(k model.Kind, v model.Value) string { return p.first.value(k, v) }

func (t *tongue) grade(g model.Grade) string {
	if g.String() == "" {
		return ""
	}
	return t.word("grade." + strings.ReplaceAll(g.String(), "+", "plus"))
}

// named names an item; a pad's own reading time is named after the pad.
func (t *tongue) named(k model.Kind, c model.Code) string {
	if pad, ok := model.TimedPad(c); ok && k == model.Strip {
		return t.say(model.T("name.strip.own-after-dip", "pad", pad))
	}
	return t.known("name."+string(k)+"."+string(c), string(c))
}

// name names a code whose kind is not told: the strip's name first, since
// rules speak of pads most.
func (t *tongue) name(c model.Code) string {
	if _, ok := model.TimedPad(c); ok {
		return t.named(model.Strip, c)
	}
	if s := t.text("name.strip."+string(c), nil); s != "" {
		return s
	}
	for _, k := range model.Kinds() {
		if s := t.text("name."+string(k)+"."+string(c), nil); s != "" {
			return s
		}
	}
	return string(c)
}

// printed says how a UCUM unit is shown. Those in words are keys beginning
// with "unit."; the rest is the same in every language but for the decimal
// sign. A unit that is not here is shown as it is.
var printed = map[string]string{
	"{SG}": "", "[pH]": "", "{count}": "", "": "",
	"umol/L": "µmol/L", "mmol/L": "mmol/L", "meq/L": "mEq/L", "mmol/mol": "mmol/mol", "%": "%",
	"mg/dL": "mg/dL", "mg/L": "mg/L", "g/L": "g/L", "g/dL": "g/dL", "mg/g": "mg/g", "mg/mmol": "mg/mmol",
	"mL/min/{1.73_m2}": "mL/min/1.73 m²", "mL/min": "mL/min", "m2": "m²",
	"mm[Hg]": "mmHg", "Cel": "°C", "[degF]": "°F", "kg": "kg", "cm": "cm", "m": "m", "mL": "mL", "L": "L",
	"[lb_av]": "unit.pounds", "[in_i]": "unit.inches", "/uL": "unit.per-microlitre", "/min": "unit.per-minute",
	"/[HPF]": "unit.per-field", "mL/d": "unit.millilitres-a-day",
	"mg/(24.h)": "unit.milligrams-in-a-day", "g/(24.h)": "unit.grams-in-a-day",
	"s": "unit.seconds", "min": "unit.minutes", "h": "unit.hours", "d": "unit.days", "mo": "unit.months",
}

func (t *tongue) unit(ucum string, n any) string {
	s, known := printed[ucum]
	switch {
	case !known:
		return ucum
	case strings.HasPrefix(s, "unit."):
		return t.say(model.T(s, "n", n))
	}
	return t.number(unitSign.ReplaceAllStringFunc(s, func(sign string) string { return cmp.Or(t.units[sign], sign) }))
}

// unitSign is one sign of a printed unit: "mL" in "mL/min/1.73 m²".
var unitSign = regexp.MustCompile(`\pL+`)

func (t *tongue) quantity(q model.Quantity) string {
	n := t.number(q.Typed)
	if u := t.unit(q.UCUM, q.Typed); u != "" {
		return n + " " + u
	}
	return n
}

// severity says how bad a symptom is, as it was asked for.
func (t *tongue) severity(v model.Value) string {
	if it, _ := model.ItemFor(model.Symptom, v.Code); it.YesNo {
		switch v.Number {
		case 0:
			return t.word("word.no")
		case model.There:
			return t.word("word.yes")
		}
	}
	return t.known("severity."+v.Text(), v.Text())
}

func (t *tongue) observation(o model.Observation) string {
	name := t.named(o.Kind, o.Value.Code)
	return t.date(o.When) + ", " + t.capital(name) + ": " + t.value(o.Kind, o.Value)
}

func (t *tongue) value(k model.Kind, v model.Value) string {
	switch {
	case v.Grade != model.NoGrade:
		return t.grade(v.Grade)
	case v.IsNumber() && k == model.Symptom:
		return t.severity(v)
	case v.IsNumber():
		return t.quantity(model.Quantity{Typed: v.Text(), UCUM: v.Unit})
	}
	it, _ := model.ItemFor(k, v.Code)
	switch it.Takes {
	case model.Day, model.DayOrMonth:
		if d, err := model.ParseDay(v.Word, it.Takes == model.DayOrMonth); err == nil {
			return t.date(d)
		}
	case model.Language:
		if tag, err := parseTag(v.Word); err == nil {
			if folder, ok := t.cat.offered(tag); ok {
				return t.cat.says(folder, "language.name")
			}
		}
	case model.Flag, model.Span, model.Words:
		return t.known("word."+v.Word, v.Word)
	}
	return v.Word
}
