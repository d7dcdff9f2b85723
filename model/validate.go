package model

import (
	"fmt"
	"math"
	"regexp"
	"strings"
	"time"
	"unicode/utf8"
)

// Limits on what one value may hold (reliability plan, section 6).
const (
	MaxText  = 64 << 10
	MaxLabel = 200
)

var (
	languageTag = regexp.MustCompile(`^[a-zA-Z]{2,3}(-[a-zA-Z0-9]{2,8})*$`)
	answerCode  = regexp.MustCompile(`^[a-z0-9]+(-[a-z0-9]+)*$`)
)

// AnswerWords are the things a household can say of a finding.
func AnswerWords() []string { return []string{"called", "doctor-knows", "done"} }

// ItemFor is Find, and also knows answers, whose code is a finding's id.
func ItemFor(k Kind, c Code) (Item, bool) {
	if k == Answer && len(c) <= 64 && answerCode.MatchString(string(c)) {
		return Item{Kind: Answer, Code: c, Takes: Words, Words: AnswerWords()}, true
	}
	return Find(k, c)
}

// ParseValue reads the value, unit and note cells of one plain-table row, or
// says what is wrong with them. It never guesses a unit for a laboratory
// value and never converts.
func ParseValue(it Item, text, unit, note string) (Value, []Problem) {
	v := Value{Code: it.Code, Note: note}
	if p := checkText("note", note, MaxText); p != nil {
		return v, p
	}
	if text == "" {
		return v, problem("value", "problem.value-missing", "what", it.Code)
	}
	if g, ok := ParseGrade(text); ok && it.takesGrade(g) {
		v.Grade = g
		return v, noUnit(it, unit)
	}
	if it.Takes == Number || it.Takes == GradeOrNumber {
		return parseNumber(it, v, text, unit)
	}
	v.Word = text
	if p := noUnit(it, unit); p != nil {
		return v, p
	}
	return v, checkWord(it, text)
}

// takesGrade reports whether a grade word may stand for the item. "Could not
// tell" may be said of every pad, also of one read as a number.
func (it Item) takesGrade(g Grade) bool {
	switch it.Takes {
	case GradeWord, GradeOrNumber:
		return true
	}
	return g == Unclear && it.Kind == Strip && (it.Code == PH || it.Code == SpecificGravity)
}

func noUnit(it Item, unit string) []Problem {
	if unit != "" {
		return problem("unit", "problem.unit-not-wanted", "what", it.Code, "unit", unit)
	}
	return nil
}

func parseNumber(it Item, v Value, text, unit string) (Value, []Problem) {
	plain := text
	if it.Kind == Lab { // a sheet prints "<3" and ">90" where it did not measure further
		plain = strings.TrimLeft(text[:1], "<>") + text[1:]
	}
	n, ok := ParseNumber(plain)
	if !ok {
		if it.Takes == GradeOrNumber {
			return v, problem("value", "problem.not-grade-or-number", "what", it.Code, "value", clip(text))
		}
		return v, problem("value", "problem.not-a-number", "what", it.Code, "value", clip(text))
	}
	if unit == "" && it.NeedsUnit {
		return v, problem("unit", "problem.unit-missing", "what", it.Code)
	}
	u, ok := it.Unit(unit)
	if !ok {
		return v, problem("unit", "problem.unit-unknown", "what", it.Code, "unit", clip(unit))
	}
	v.Number, v.Typed, v.Unit = n, text, u.UCUM
	return v, checkRange(it, u, v)
}

func checkRange(it Item, u Unit, v Value) []Problem {
	if it.Whole && v.Number != math.Trunc(v.Number) {
		return problem("value", "problem.not-whole", "what", it.Code, "value", v.Typed)
	}
	if v.Number >= u.Min && v.Number <= u.Max || v.Number == 0 && it.NoneIs0 {
		return nil
	}
	for _, other := range it.Units {
		if other.UCUM != u.UCUM && v.Number >= other.Min && v.Number <= other.Max {
			return problem("value", "problem.did-you-mean", "what", it.Code,
				"value", Quantity{v.Typed, u.UCUM}, "other", Quantity{v.Typed, other.UCUM})
		}
	}
	return problem("value", "problem.out-of-range", "what", it.Code, "value", Quantity{v.Typed, u.UCUM},
		"low", Quantity{FormatNumber(u.Min), u.UCUM}, "high", Quantity{FormatNumber(u.Max), u.UCUM})
}

func checkWord(it Item, text string) []Problem {
	switch it.Takes {
	case Flag:
		return oneOf(it, text, []string{"yes", "no", "unsure"})
	case Span:
		return oneOf(it, text, []string{"start", "end"})
	case Words:
		return oneOf(it, text, it.Words)
	case GradeWord:
		return problem("value", "problem.not-a-grade", "what", it.Code, "value", clip(text))
	case Language:
		if !languageTag.MatchString(text) {
			return problem("value", "problem.not-a-language", "value", clip(text))
		}
	case Day, DayOrMonth:
		if _, err := ParseDay(text, it.Takes == DayOrMonth); err != nil {
			return problem("value", "problem.not-a-date", "value", clip(text))
		}
	case Text:
		limit := MaxLabel
		if it.Kind == Note {
			limit = MaxText
		}
		return checkText("value", text, limit)
	}
	return nil
}

// ParseDay reads YYYY-MM-DD and, where months are allowed, YYYY-MM as its
// last day.
func ParseDay(s string, months bool) (When, error) {
	if months {
		if t, err := time.Parse("2006-01", s); err == nil {
			return plausible(OnDay(LastDay(t.Year(), t.Month())), s)
		}
	}
	t, err := time.Parse(dayLayout, s)
	if err != nil {
		return When{}, fmt.Errorf("day %q is not of the form YYYY-MM-DD", s)
	}
	return plausible(OnDay(t), s)
}

func oneOf(it Item, text string, words []string) []Problem {
	for _, w := range words {
		if w == text {
			return nil
		}
	}
	return problem("value", "problem.not-one-of", "what", it.Code, "value", clip(text), "words", strings.Join(words, ", "))
}

func checkText(field, s string, limit int) []Problem {
	if len(s) > limit {
		return problem(field, "problem.too-long", "limit", limit)
	}
	if !utf8.ValidString(s) || strings.ContainsRune(s, 0) {
		return problem(field, "problem.not-text")
	}
	return nil
}

// clip keeps a foreign text short enough to stand in a message.
func clip(s string) string {
	r := []rune(strings.ToValidUTF8(s, "�"))
	if len(r) > 40 {
		return string(r[:39]) + "…"
	}
	return string(r)
}

func problem(field, key string, args ...any) []Problem {
	return []Problem{{field, T(key, args...)}}
}

// Quantity is a number as it was typed with its UCUM unit, for messages.
type Quantity struct{ Typed, UCUM string }

// Validate says what is wrong with an entry as a whole, at the time now; nil
// when it may be saved. Single values are checked by [ParseValue].
func (e Entry) Validate(now time.Time) []Problem {
	var out []Problem
	if len(e.Values) == 0 {
		out = append(out, problem("value", "problem.nothing-entered")...)
	}
	if e.When.IsZero() && e.Kind != Profile {
		out = append(out, problem("when", "problem.when-missing")...)
	}
	if !e.When.IsZero() && e.When.After(now.Add(5*time.Minute)) {
		out = append(out, problem("when", "problem.in-the-future")...)
	}
	seen := map[Code]bool{}
	for _, v := range e.Values {
		if seen[v.Code] {
			out = append(out, problem("what", "problem.twice", "what", v.Code)...)
		}
		seen[v.Code] = true
		it, known := ItemFor(e.Kind, v.Code)
		if !known {
			out = append(out, problem("what", "problem.what-unknown", "what", string(v.Code))...)
			continue
		}
		out = append(out, it.check(v, now)...)
	}
	return append(out, e.checkPressure()...)
}

// check is what ParseValue says of a value that is already one.
func (it Item) check(v Value, now time.Time) []Problem {
	if v.IsNumber() {
		if it.Takes != Number && it.Takes != GradeOrNumber {
			return problem("value", "problem.value-missing", "what", it.Code)
		}
		_, ps := ParseValue(it, v.Text(), v.Unit, v.Note)
		return ps
	}
	if _, ps := ParseValue(it, v.Text(), "", v.Note); ps != nil {
		return ps
	}
	return it.checkFuture(v, now)
}

// checkFuture refuses a birth, or a box opened, after now.
func (it Item) checkFuture(v Value, now time.Time) []Problem {
	if it.Takes != Day || now.IsZero() {
		return nil
	}
	if d, err := ParseDay(v.Word, false); err == nil && d.After(now) {
		return problem("value", "problem.in-the-future")
	}
	return nil
}

// checkPressure catches two numbers typed into each other's boxes.
func (e Entry) checkPressure() []Problem {
	sys, ok1 := e.Value("systolic")
	dia, ok2 := e.Value("diastolic")
	if ok1 && ok2 && sys.Number <= dia.Number {
		return problem("value", "problem.pressure-order")
	}
	return nil
}
