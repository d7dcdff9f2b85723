package kit

import (
	"strconv"
	"strings"
	"time"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/container"

	"quietwater/model"
)

// AskDate says what a date is for.
type AskDate struct {
	ID    string
	Label model.Msg
	Help  model.Msg // may be zero
	Value model.When
	Today time.Time // in the household's zone; never zero
	// Recent adds buttons for today and yesterday.
	Recent bool
	// MonthOnly takes a date without its day for the last day of the month, as
	// printed on packs.
	MonthOnly bool
	Changed   func()
}

// DateField asks for a date in three labelled boxes, the month as a word, so
// that 03/04 can never be taken for the other. It is prefilled.
type DateField struct {
	group
	ask       AskDate
	day, year *Field
	month     *Select
	problem   *problem
}

// DateField makes one.
func (k *Kit) DateField(a AskDate) *DateField {
	f := &DateField{ask: a, problem: k.problem()}
	day, month, year := "", "", ""
	if !a.Value.IsZero() {
		t := a.Value.DayIn(a.Today.Location())
		day, month, year = strconv.Itoa(t.Day()), strconv.Itoa(int(t.Month())), strconv.Itoa(t.Year())
	}
	tell := func(string) {
		if _, wrong := f.Value(); wrong == nil && !f.problem.msg.IsZero() {
			f.SetProblem(model.Msg{}) // what was said of it may be true no longer
		}
		if a.Changed != nil {
			a.Changed()
		}
	}
	months := make([]Option, 12)
	for i := range months {
		n := strconv.Itoa(i + 1)
		months[i] = Option{ID: n, Label: model.T("month." + n + ".alone")}
	}
	f.day = k.Field(Ask{ID: a.ID + "-day", Label: model.T("kit.day"), Width: 4}, day, tell)
	f.month = k.Select(a.ID+"-month", model.T("kit.month"), months, month, tell)
	f.year = k.Field(Ask{ID: a.ID + "-year", Label: model.T("kit.year"), Width: 6}, year, tell)
	f.hold(f, k.Tight(k.label(a.Label)))
	if !a.Help.IsZero() {
		f.box.Add(k.BothSmall(a.Help))
	}
	if a.MonthOnly {
		f.box.Add(k.BothSmall(model.T("kit.month-only")))
	}
	f.box.Add(container.New(&flow{gap: gap, top: true}, f.day, f.month, f.year))
	f.month.unfoldsIn(f, f.box)
	if a.Recent {
		f.box.Add(k.Row(
			k.Button(a.ID+"-today", model.T("kit.today"), func() { f.Set(a.Today) }),
			k.Button(a.ID+"-yesterday", model.T("kit.yesterday"), func() { f.Set(a.Today.AddDate(0, 0, -1)) })))
	}
	f.box.Add(f.problem.box)
	return f
}

// Set fills in a day.
func (f *DateField) Set(t time.Time) {
	f.day.SetText(strconv.Itoa(t.Day()))
	f.month.take(int(t.Month()) - 1)
	f.year.SetText(strconv.Itoa(t.Year()))
	f.SetProblem(model.Msg{})
}

// Empty reports that nothing was filled in.
func (f *DateField) Empty() bool {
	return strings.TrimSpace(f.day.Text()) == "" && f.month.Selected() == "" && strings.TrimSpace(f.year.Text()) == ""
}

// Value is the day asked for, or what is wrong with what was filled in; the
// field of the problem is the ask's ID. Whether a day may lie in the future is
// for others to say.
func (f *DateField) Value() (model.When, *model.Problem) {
	fail := func(key string) (model.When, *model.Problem) {
		return model.When{}, &model.Problem{Field: f.ask.ID, Why: model.T(key)}
	}
	d, y := strings.TrimSpace(f.day.Text()), strings.TrimSpace(f.year.Text())
	month, _ := strconv.Atoi(f.month.Selected())
	if month == 0 || y == "" || d == "" && !f.ask.MonthOnly {
		return fail("kit.date-incomplete")
	}
	year, err := strconv.Atoi(y)
	if err != nil || len(y) != 4 || year < 1800 {
		return fail("kit.date-year")
	}
	zone := f.ask.Today.Location()
	if d == "" {
		return model.OnDay(time.Date(year, time.Month(month)+1, 0, 12, 0, 0, 0, zone)), nil
	}
	day, err := strconv.Atoi(d)
	t := time.Date(year, time.Month(month), day, 12, 0, 0, 0, zone) // noon exists everywhere
	if err != nil || t.Day() != day || t.Month() != time.Month(month) {
		return fail("kit.date-impossible")
	}
	return model.OnDay(t), nil
}

// DayGiven reports whether a day was filled in, and not only a month.
func (f *DateField) DayGiven() bool { return strings.TrimSpace(f.day.Text()) != "" }

// SetProblem shows what is wrong after the boxes.
func (f *DateField) SetProblem(m model.Msg) {
	f.problem.set(m)
	f.Refresh()
}

// Focusable is what to give the keyboard to: the box that a problem shown is
// about, else the first.
func (f *DateField) Focusable() fyne.Focusable {
	if f.problem.msg.IsZero() {
		return f.day.entry
	}
	typed, wrong := f.Value()
	year, _ := strconv.Atoi(strings.TrimSpace(f.year.Text()))
	switch t := typed.Time(); {
	case wrong == nil && t.Year() != f.ask.Today.Year(), wrong != nil && wrong.Why.Key == "kit.date-year":
		return f.year.entry
	case wrong == nil && t.Month() != f.ask.Today.Month():
		return f.month.head
	case wrong == nil || f.day.Text() == "" && !f.ask.MonthOnly:
		return f.day.entry
	case f.month.Selected() == "":
		return f.month.head
	case year == 0:
		return f.year.entry
	}
	return f.day.entry
}

// AskTime says what a time of day is for.
type AskTime struct {
	ID    string
	Label model.Msg
	Help  model.Msg // may be zero
	// Hour and Minute are filled in; an Hour below 0 leaves the boxes empty.
	Hour, Minute int
	Now          func() time.Time // for the button "now"; nil leaves it out
	Changed      func()
}

// TimeField asks for a time of day in two boxes, hours from 0 to 23.
type TimeField struct {
	group
	id           string
	hour, minute *Field
	problem      *problem
}

// TimeField makes one.
func (k *Kit) TimeField(a AskTime) *TimeField {
	f := &TimeField{id: a.ID, problem: k.problem()}
	hour, minute := "", ""
	if a.Hour >= 0 {
		hour, minute = twoDigits(a.Hour), twoDigits(a.Minute)
	}
	tell := func(string) {
		if a.Changed != nil {
			a.Changed()
		}
	}
	f.hour = k.Field(Ask{ID: a.ID + "-hour", Label: model.T("kit.hour"), Width: 4}, hour, tell)
	f.minute = k.Field(Ask{ID: a.ID + "-minute", Label: model.T("kit.minute"), Width: 4}, minute, tell)
	f.hold(f, k.Tight(k.label(a.Label)))
	if !a.Help.IsZero() {
		f.box.Add(k.BothSmall(a.Help))
	}
	f.box.Add(container.New(&flow{gap: gap, top: true}, f.hour, f.minute))
	if a.Now != nil {
		f.box.Add(k.Row(k.Button(a.ID+"-now", model.T("kit.now"), func() {
			t := a.Now()
			f.hour.SetText(twoDigits(t.Hour()))
			f.minute.SetText(twoDigits(t.Minute()))
			f.SetProblem(model.Msg{})
		})))
	}
	f.box.Add(f.problem.box)
	return f
}

func twoDigits(n int) string {
	if n < 10 {
		return "0" + strconv.Itoa(n)
	}
	return strconv.Itoa(n)
}

// Empty reports that nothing was filled in.
func (f *TimeField) Empty() bool {
	return strings.TrimSpace(f.hour.Text()) == "" && strings.TrimSpace(f.minute.Text()) == ""
}

// Value is the time of day, or what is wrong with it.
func (f *TimeField) Value() (hour, minute int, p *model.Problem) {
	hour, err1 := strconv.Atoi(strings.TrimSpace(f.hour.Text()))
	minute, err2 := strconv.Atoi(strings.TrimSpace(f.minute.Text()))
	if err1 != nil || err2 != nil || hour < 0 || hour > 23 || minute < 0 || minute > 59 {
		return 0, 0, &model.Problem{Field: f.id, Why: model.T("kit.time-impossible")}
	}
	return hour, minute, nil
}

// SetProblem shows what is wrong after the boxes.
func (f *TimeField) SetProblem(m model.Msg) {
	f.problem.set(m)
	f.Refresh()
}

// Focusable is what to give the keyboard to.
func (f *TimeField) Focusable() fyne.Focusable { return f.hour.entry }
