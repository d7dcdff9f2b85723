package i18n

import (
	"slices"
	"strings"
	"unicode"

	"quietwater/model"
)

// Number shows a plain decimal number with the decimal sign of the language
// and region. Digits stay as they were typed (1.10 is not 1.1), groups are
// never separated, a leading zero never left out (needs R33, after ISMP's
// list of error-prone notations). Of any other text, only points between
// digits change.
func (p *Pair) Number(typed string) string { return p.first.number(typed) }

func (t *tongue) number(typed string) string {
	if strings.HasPrefix(typed, ".") {
		typed = "0" + typed
	}
	r := []rune(typed)
	var b strings.Builder
	for i, c := range r {
		if c == '.' && i > 0 && i+1 < len(r) && isDigit(r[i-1]) && isDigit(r[i+1]) {
			b.WriteString(t.decimal)
			continue
		}
		b.WriteRune(c)
	}
	return b.String()
}

func isDigit(r rune) bool { return r >= '0' && r <= '9' }

// separators says what a sign between digits can be. A group sign never
// marks decimals; a sure sign marks nothing else; point and comma can be both.
var separators = map[rune]role{
	'.': either, '．': either, ',': either, '，': either,
	'٫': sure, '·': sure,
	' ': group, '\u00a0': group, '\u202f': group, '\u2009': group, '\u2007': group,
	'\'': group, '’': group, '٬': group,
}

type role int

const (
	either role = iota
	sure
	group
)

// written is a number taken apart.
type written struct {
	minus  bool
	parts  []string // the digits between separators, as 0 to 9
	seps   []rune
	broken bool // something else is in it
}

// ParseNumber reads a number typed in any language: decimal comma or point,
// the digits of any script, a minus. It gives a plain decimal number with a
// point and every digit that was typed.
//
// What can be read two ways is asked, never guessed (needs R32): "1.234" and
// "1,234" (see [Readings]), two kinds of separators, one separator twice, and
// separated groups. The problem's field is "value".
func ParseNumber(typed string) (plain string, problem *model.Problem) {
	typed = strings.TrimSpace(typed)
	if typed == "" {
		return "", numberProblem("problem.number-missing")
	}
	w := takeApart(typed)
	switch {
	case w.broken:
		return "", numberProblem("problem.number-form", "value", clip(typed))
	case len(w.seps) > 1 || len(w.seps) == 1 && separators[w.seps[0]] == group:
		return "", numberProblem("problem.number-groups", "value", clip(typed))
	case w.twoWays():
		whole, decimal := w.readings()
		return "", numberProblem("problem.number-two-ways", "value", clip(typed),
			"whole", model.Quantity{Typed: whole}, "decimal", model.Quantity{Typed: decimal})
	}
	plain = w.plain()
	if _, ok := model.ParseNumber(plain); !ok {
		return "", numberProblem("problem.number-form", "value", clip(typed))
	}
	return plain, nil
}

// Readings gives the two plain numbers that a lone separator before exactly
// three digits can mean, for the person to choose from: "1,234" may be 1234 or
// 1.234. ok is false for everything else.
func Readings(typed string) (whole, decimal string, ok bool) {
	w := takeApart(strings.TrimSpace(typed))
	if w.broken || !w.twoWays() {
		return "", "", false
	}
	whole, decimal = w.readings()
	return whole, decimal, true
}

// ParseNumberFor is [ParseNumber] for one item in one of its units ("" for
// the default). It still asks at "1.234" unless the whole number is outside
// the limits of every unit the item is written in, and the decimal number
// within those of this one: a specific gravity of 1.020 needs no question.
func ParseNumberFor(it model.Item, ucum, typed string) (plain string, problem *model.Problem) {
	plain, problem = ParseNumber(typed)
	if problem == nil {
		return plain, nil
	}
	whole, decimal, ok := Readings(typed)
	u, known := it.Unit(ucum)
	if !ok || !known || !within(u, decimal) {
		return plain, problem
	}
	for _, other := range it.Units {
		if within(other, whole) {
			return plain, problem
		}
	}
	return decimal, nil
}

// ParseResultFor is [ParseNumberFor] for a laboratory result, which may also be
// only a limit, as sheets print it: "<3", "> 90". The sign stands first in what
// it gives, as [model.Value.Bound] reads it.
func ParseResultFor(it model.Item, ucum, typed string) (plain string, problem *model.Problem) {
	typed = strings.TrimSpace(typed)
	rest := strings.TrimLeft(typed, "<>＜＞‹›")
	sign := map[string]string{"": "", "<": "<", "＜": "<", "‹": "<", ">": ">", "＞": ">", "›": ">"}
	bound, ok := sign[strings.TrimSuffix(typed, rest)]
	if !ok {
		return "", numberProblem("problem.number-form", "value", clip(typed))
	}
	plain, problem = ParseNumberFor(it, ucum, rest)
	if problem != nil {
		return "", problem
	}
	return bound + plain, nil
}

func within(u model.Unit, plain string) bool {
	n, ok := model.ParseNumber(plain)
	return ok && n >= u.Min && n <= u.Max
}

func takeApart(s string) written {
	w := written{parts: []string{""}}
	if r := strings.TrimLeft(s, "-−"); len(r) < len(s) {
		w.minus = true
		w.broken = len([]rune(s))-len([]rune(r)) > 1
		s = r
	}
	var script rune
	for _, r := range s {
		if d, zero, ok := digit(r); ok {
			w.broken = w.broken || script != 0 && script != zero
			script = zero
			w.parts[len(w.parts)-1] += string(d)
			continue
		}
		if _, ok := separators[r]; !ok {
			w.broken = true
			return w
		}
		w.seps = append(w.seps, r)
		w.parts = append(w.parts, "")
	}
	// A separator with no digits behind it is a number half typed; before it
	// only a lone decimal sign needs none.
	w.broken = w.broken || slices.Contains(w.parts[1:], "") || len(w.seps) != 1 && w.parts[0] == ""
	return w
}

// digit gives the ASCII digit of a decimal digit of any script, and the zero
// of that script.
func digit(r rune) (d, zero rune, ok bool) {
	if !unicode.Is(unicode.Nd, r) {
		return 0, 0, false
	}
	// Unicode gives decimal digits in runs of ten, zero first; a run of
	// several tens is several alphabets of digits.
	lo := r
	for unicode.Is(unicode.Nd, lo-1) {
		lo--
	}
	n := (r - lo) % 10
	return '0' + n, r - n, true
}

// twoWays reports a lone point or comma that may mark thousands: one to three
// digits before it, not beginning with zero, and exactly three behind.
func (w written) twoWays() bool {
	return len(w.seps) == 1 && separators[w.seps[0]] == either &&
		len(w.parts[1]) == 3 && len(w.parts[0]) >= 1 && len(w.parts[0]) <= 3 && w.parts[0][0] != '0'
}

func (w written) readings() (whole, decimal string) {
	return w.sign() + w.parts[0] + w.parts[1], w.sign() + w.parts[0] + "." + w.parts[1]
}

func (w written) plain() string {
	if len(w.seps) == 0 {
		return w.sign() + w.parts[0]
	}
	if w.parts[0] == "" {
		return w.sign() + "0." + w.parts[1]
	}
	return w.sign() + w.parts[0] + "." + w.parts[1]
}

func (w written) sign() string {
	if w.minus {
		return "-"
	}
	return ""
}

func numberProblem(key string, args ...any) *model.Problem {
	return &model.Problem{Field: "value", Why: model.T(key, args...)}
}

// clip keeps a typed text short enough to stand in a message.
func clip(s string) string {
	r := []rune(strings.ToValidUTF8(s, "?"))
	if len(r) > 40 {
		return string(r[:39]) + "…"
	}
	return string(r)
}
