package sheet

import (
	"fmt"
	"math"
	"slices"
	"strconv"
	"strings"
	"time"

	"quietwater/model"
	"quietwater/model/numbers"
	"quietwater/model/renal"
)

// Kind says what a doubt is about.
type Kind string

// The doubts, in the order they are asked about one line.
const (
	Unit      Kind = "unit"       // outside its own unit's range, inside another's
	Range     Kind = "range"      // outside every unit's range
	EitherFit Kind = "either-fit" // inside the ranges of two units that mean different amounts
	Jump      Kind = "jump"       // far from the person's last result
	Twice     Kind = "twice"      // the same result of the same day is in the book
	OldDay    Kind = "old-day"    // the sample is of more than 30 days ago
	Apart     Kind = "apart"      // creatinine and the sheet's own eGFR cannot both be right
)

// Doubt is one question that must be answered before a sheet is kept.
type Doubt struct {
	Kind    Kind
	Code    model.Code // "" of the day
	Key     string     // changes with the number and the unit, so that what is new is asked anew
	Ask     model.Msg
	Answers []Answer
}

// Answer is one thing that can be said to a doubt. Look goes back to the box.
type Answer struct {
	ID    string
	Say   model.Msg
	Look  bool
	apply func(*Draft)
}

// Give applies the answer with the id to the draft; false where there is none,
// or where it only leads back to the box.
func (d *Draft) Give(q Doubt, id string) bool {
	i := slices.IndexFunc(q.Answers, func(a Answer) bool { return a.ID == id })
	if i < 0 || q.Answers[i].apply == nil {
		return false
	}
	if d.Sure == nil {
		d.Sure = map[string]bool{}
	}
	q.Answers[i].apply(d)
	return true
}

func (q Doubt) sure(d *Draft) { d.Sure[q.Key] = true }

// What makes a result doubtful (needs R31 and R35; our own choice).
const (
	JumpTimes = 2.0
	OldDays   = 30
)

// Check lists the open doubts of a draft, against one person's earlier entries,
// at the time now, whose location is the household's zone. Lines without a
// unit, or that are no number, are problems of their boxes and not asked about.
func Check(d Draft, earlier []model.Entry, now time.Time) []Doubt {
	var out []Doubt
	ask := func(q Doubt) {
		if !d.Sure[q.Key] {
			out = append(out, q)
		}
	}
	if days := model.DaysBetween(d.Day, model.At(now), now.Location()); !d.Day.IsZero() && days > OldDays && !d.Changing() {
		q := Doubt{Kind: OldDay, Key: "day " + d.Day.String(), Ask: model.T("sheet.ask.old-day", "when", model.OnDay(d.Day.DayIn(now.Location())))}
		q.Answers = []Answer{{ID: "yes", Say: model.T("sheet.say.yes-day"), apply: q.sure}, look}
		ask(q)
	}
	remembered := Remembered(d.others(earlier), d.Laboratory)
	for _, l := range d.ordered() {
		if d.unchanged(l) {
			continue
		}
		if q, doubtful := d.doubt(l, d.others(earlier), remembered, now); doubtful {
			ask(q)
		}
	}
	if q, doubtful := d.apart(earlier, now); doubtful {
		ask(q)
	}
	return out
}

// apart asks about a creatinine and an eGFR of the sheet that do not go
// together, whatever the laboratory's equation.
func (d Draft) apart(earlier []model.Entry, now time.Time) (Doubt, bool) {
	creatinine, theirs := d.Line("creatinine"), d.Line("egfr")
	if creatinine.Typed == "" || theirs.Typed == "" || d.unchanged(creatinine) && d.unchanged(theirs) {
		return Doubt{}, false
	}
	// What the equations need to know of the person, and this sheet alone.
	who := slices.DeleteFunc(slices.Clone(earlier), func(e model.Entry) bool { return e.Kind != model.Profile })
	only := Draft{Person: d.Person, Day: d.Day, Lines: []Line{creatinine, theirs, d.Line("cystatin-c")}}
	es, _ := only.Entries("", func() model.ID { return "" })
	n := numbers.Of(append(who, es...), model.FactsAt(who, d.Person, now), now)
	g, ok := n.Newest()
	if !ok || !g.Gross() {
		return Doubt{}, false
	}
	q := Doubt{Kind: Apart, Code: "creatinine", Key: key(Apart, creatinine) + " " + theirs.Typed}
	q.Ask = model.T("sheet.ask.apart", "creatinine", shown(creatinine, creatinine.Unit), "ours", renal.ShownEGFR(g.Best()), "theirs", theirs.Typed)
	q.Answers = []Answer{{ID: "yes", Say: model.T("sheet.say.both"), apply: q.sure}, look}
	return q, true
}

// unchanged reports a line that stands so in the book already.
func (d Draft) unchanged(l Line) bool {
	return slices.ContainsFunc(d.replaces, func(e model.Entry) bool {
		return slices.ContainsFunc(e.Values, func(v model.Value) bool { return v.Code == l.Code && v.Text() == l.Typed && v.Unit == l.Unit })
	})
}

var look = Answer{ID: "look", Say: model.T("sheet.say.look"), Look: true}

// others leaves out the sheet that is being changed.
func (d Draft) others(entries []model.Entry) []model.Entry {
	return slices.DeleteFunc(slices.Clone(entries), func(e model.Entry) bool {
		return slices.ContainsFunc(d.replaces, func(r model.Entry) bool { return r.ID == e.ID })
	})
}

// doubt finds the first open doubt of one line.
func (d Draft) doubt(l Line, earlier []model.Entry, remembered map[model.Code]string, now time.Time) (Doubt, bool) {
	it, known := model.Find(model.Lab, l.Code)
	u, ok := it.Unit(l.Unit)
	n, isNumber := number(l.Typed)
	if !known || !ok || !isNumber || l.Unit == "" && it.NeedsUnit {
		return Doubt{}, false
	}
	for _, find := range []func() (Doubt, bool){
		func() (Doubt, bool) { return outside(it, u, n, l) },
		func() (Doubt, bool) { return eitherFits(it, u, n, l, remembered[l.Code] == l.Unit) },
		func() (Doubt, bool) { return d.twice(it, l, earlier, now) },
		func() (Doubt, bool) { return jump(it, u, n, l, d.Day, earlier) },
	} {
		if q, is := find(); is && !d.Sure[q.Key] {
			return q, true
		}
	}
	return Doubt{}, false
}

func number(typed string) (float64, bool) {
	return model.ParseNumber(strings.TrimLeft(typed, "<>"))
}

func key(k Kind, l Line) string { return fmt.Sprintf("%s %s %s %s", k, l.Code, l.Typed, l.Unit) }

func shown(l Line, unit string) model.Quantity { return model.Quantity{Typed: l.Typed, UCUM: unit} }

func name(l Line) model.Msg { return model.T("name.lab." + string(l.Code)) }

// setUnit is the answer "no, it says this unit".
func setUnit(l Line, unit string) Answer {
	return Answer{ID: "unit-" + unit, Say: model.T("sheet.say.no-it-says", "value", shown(l, unit)), apply: func(d *Draft) {
		l.Unit = unit
		d.Set(l)
	}}
}

// outside asks about a number that its unit cannot have: another unit's, or
// none's. None of them can be kept as it stands.
func outside(it model.Item, u model.Unit, n float64, l Line) (Doubt, bool) {
	if n >= u.Min && n <= u.Max {
		return Doubt{}, false
	}
	q := Doubt{Kind: Range, Code: l.Code, Key: key(Range, l)}
	for _, other := range it.Units {
		if other.UCUM != u.UCUM && n >= other.Min && n <= other.Max {
			a := setUnit(l, other.UCUM) // the question is whether this was meant
			a.Say = model.T("sheet.say.yes-it-says", "value", shown(l, other.UCUM))
			q.Kind, q.Key = Unit, key(Unit, l)
			q.Answers = append(q.Answers, a)
		}
	}
	if q.Kind == Unit {
		q.Ask = model.T("sheet.ask.unit", "what", name(l), "value", shown(l, u.UCUM), "other", shown(l, q.Answers[0].ID[len("unit-"):]))
	} else {
		q.Ask = model.T("sheet.ask.range", "what", name(l), "value", shown(l, u.UCUM),
			"low", model.Quantity{Typed: model.FormatNumber(u.Min), UCUM: u.UCUM}, "high", model.Quantity{Typed: model.FormatNumber(u.Max), UCUM: u.UCUM})
	}
	q.Answers = append(q.Answers, look, Answer{ID: "note", Say: model.T("sheet.say.note"), apply: func(d *Draft) {
		line := strings.TrimSpace(string(l.Code) + " " + l.Typed + " " + l.Unit + " " + l.Mark)
		d.Note = strings.TrimSpace(d.Note + "\n" + line)
		d.Set(Line{Code: l.Code})
	}})
	return q, true
}

// eitherFits asks where the same number can stand in two units of different
// amounts, so that no limit can tell a slip (needs R30): it shows both and
// never converts. A unit this laboratory used before needs no question of its
// own; the last look shows both units all the same.
func eitherFits(it model.Item, u model.Unit, n float64, l Line, remembered bool) (Doubt, bool) {
	if remembered {
		return Doubt{}, false
	}
	q := Doubt{Kind: EitherFit, Code: l.Code, Key: key(EitherFit, l)}
	for _, other := range it.Units {
		if other.UCUM != u.UCUM && differ(u, other) && n >= other.Min && n <= other.Max {
			q.Answers = append(q.Answers, setUnit(l, other.UCUM))
		}
	}
	if len(q.Answers) == 0 {
		return Doubt{}, false
	}
	q.Answers = append([]Answer{{ID: "yes", Say: model.T("sheet.say.yes-it-says", "value", shown(l, u.UCUM)), apply: q.sure}}, append(q.Answers, look)...)
	other, _ := it.Unit(q.Answers[1].ID[len("unit-"):])
	q.Ask = model.T("sheet.ask.either", "what", name(l), "value", shown(l, u.UCUM), "other", shown(l, other.UCUM))
	if same, ok := InOther(l); ok {
		q.Ask = model.T("sheet.ask.either-same", "what", name(l), "value", shown(l, u.UCUM), "same", same)
	} else if l.Code == "urea" {
		q.Ask = model.T("sheet.ask.either-urea", "value", shown(l, u.UCUM), "other", shown(l, other.UCUM))
	}
	return q, true
}

// differ reports that one number means different amounts in two units.
func differ(a, b model.Unit) bool {
	return a.Factor != b.Factor || a.Offset != b.Offset || a.Factor == 0
}

// InOther is a line's number in the other unit of its item, rounded for the
// eye; ok is false where there is none, or no sure conversion.
func InOther(l Line) (model.Quantity, bool) {
	it, _ := model.Find(model.Lab, l.Code)
	n, isNumber := number(l.Typed)
	u, known := it.Unit(l.Unit)
	for _, other := range it.Units {
		if !isNumber || !known || l.Unit == "" || other.UCUM == u.UCUM || !differ(u, other) {
			continue
		}
		x, ok := it.In(model.Value{Code: l.Code, Number: n, Unit: u.UCUM}, other.UCUM)
		if !ok {
			continue
		}
		bound := ""
		if len(l.Typed) > 0 && (l.Typed[0] == '<' || l.Typed[0] == '>') {
			bound = l.Typed[:1]
		}
		return model.Quantity{Typed: bound + threeDigits(x), UCUM: other.UCUM}, true
	}
	return model.Quantity{}, false
}

// threeDigits rounds to three figures that count, never to a whole hundred.
func threeDigits(x float64) string {
	digits := 2
	if x != 0 {
		digits = max(0, 2-int(math.Floor(math.Log10(math.Abs(x)))))
	}
	return strconv.FormatFloat(x, 'f', min(digits, 4), 64)
}

// twice asks about a result of the same day that is in the book already.
func (d Draft) twice(it model.Item, l Line, earlier []model.Entry, now time.Time) (Doubt, bool) {
	v, why := l.value()
	if why != nil {
		return Doubt{}, false
	}
	for _, e := range labs(earlier) {
		o, has := e.Value(l.Code)
		if !has || model.DaysBetween(e.When, d.Day, now.Location()) != 0 || o.Bound() != v.Bound() {
			continue
		}
		if x, ok := it.In(o, v.Unit); ok && math.Abs(x-v.Number) <= 1e-9*math.Abs(v.Number) {
			q := Doubt{Kind: Twice, Code: l.Code, Key: key(Twice, l), Ask: model.T("sheet.ask.twice", "what", name(l), "value", shown(l, l.Unit), "when", model.OnDay(d.Day.DayIn(now.Location())))}
			q.Answers = []Answer{{ID: "leave-out", Say: model.T("sheet.say.leave-out"), apply: func(d *Draft) { d.Set(Line{Code: l.Code}) }},
				{ID: "yes", Say: model.T("sheet.say.second"), apply: q.sure}, look}
			return q, true
		}
	}
	return Doubt{}, false
}

// jump asks about a number more than twice, or less than half, the person's
// last before the day of the sheet; where a moved decimal point would bring it
// back near the last one, that is offered.
func jump(it model.Item, u model.Unit, n float64, l Line, day model.When, earlier []model.Entry) (Doubt, bool) {
	last, when, ok := lastOf(it, u, l.Code, day, earlier)
	if !ok || last.Number <= 0 || n <= 0 || strings.ContainsAny(l.Typed, "<>") {
		return Doubt{}, false
	}
	was, _ := it.In(last, u.UCUM)
	if n <= JumpTimes*was && n >= was/JumpTimes {
		return Doubt{}, false
	}
	q := Doubt{Kind: Jump, Code: l.Code, Key: key(Jump, l)}
	q.Ask = model.T("sheet.ask.jump", "what", name(l), "value", shown(l, u.UCUM), "last", model.Quantity{Typed: last.Text(), UCUM: last.Unit}, "when", when)
	q.Answers = []Answer{{ID: "yes", Say: model.T("sheet.say.yes-it-says", "value", shown(l, u.UCUM)), apply: q.sure}}
	for _, places := range []int{-1, 1} {
		moved := l
		moved.Typed = movePoint(l.Typed, places)
		if x, _ := number(moved.Typed); x <= JumpTimes*was && x >= was/JumpTimes {
			a := setUnit(moved, u.UCUM)
			a.ID = "point"
			q.Answers = append(q.Answers, a)
		}
	}
	for _, other := range it.Units {
		if other.UCUM == u.UCUM || !differ(u, other) || n < other.Min || n > other.Max {
			continue
		}
		if x, ok := it.In(model.Value{Code: l.Code, Number: n, Unit: other.UCUM}, u.UCUM); ok && x <= JumpTimes*was && x >= was/JumpTimes {
			q.Answers = append(q.Answers, setUnit(l, other.UCUM))
		}
	}
	q.Answers = append(q.Answers, look)
	return q, true
}

// lastOf is the newest number of a code up to a day that converts to a unit.
func lastOf(it model.Item, u model.Unit, c model.Code, day model.When, earlier []model.Entry) (v model.Value, when model.When, ok bool) {
	for _, e := range slices.Backward(labs(earlier)) {
		o, has := e.Value(c)
		if !has || o.Bound() != 0 || e.When.Compare(day) > 0 {
			continue
		}
		if _, converts := it.In(o, u.UCUM); converts {
			return o, e.When, true
		}
	}
	return model.Value{}, model.When{}, false
}

// movePoint moves the decimal point of a plain number by one place, keeping
// every digit: to the left for -1, to the right for 1.
func movePoint(typed string, places int) string {
	whole, rest, _ := strings.Cut(typed, ".")
	if places < 0 {
		if whole == "" {
			whole = "0"
		}
		whole, rest = whole[:len(whole)-1], whole[len(whole)-1:]+rest
	} else {
		if rest == "" {
			rest = "0"
		}
		whole, rest = whole+rest[:1], rest[1:]
	}
	whole = strings.TrimLeft(whole, "0")
	if whole == "" {
		whole = "0"
	}
	if rest == "" {
		return whole
	}
	return whole + "." + rest
}
