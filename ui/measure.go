package ui

import (
	"strings"

	"fyne.io/fyne/v2"

	"quietwater/i18n"
	"quietwater/model"
	"quietwater/model/daily"
	"quietwater/ui/kit"
)

// measured is one number of a measurement with its box.
type measured struct {
	code     model.Code
	typed    string
	unit     string
	optional bool
	field    *kit.NumberField
}

// measure is a page that asks for one measurement: a number or a few with their
// units, and when it was.
type measure struct {
	id     string // of its texts
	person model.Person
	kind   model.Kind
	boxes  []*measured
	at     moment
	// more stands between the boxes and the time; nil for nothing.
	more func() []fyne.CanvasObject
	// then goes on after saving; nil is the page Today.
	then func(model.Entry)
}

func (w *Window) newMeasure(id string, p model.Person, kind model.Kind, codes ...model.Code) *measure {
	m := &measure{id: id, person: p, kind: kind}
	for _, c := range codes {
		m.boxes = append(m.boxes, &measured{code: c, unit: w.lastUnit(p, kind, c)})
	}
	return m
}

// lastUnit is the unit the person's last number was written in. The first time
// there is none, unless only one exists: 72 may be pounds.
func (w *Window) lastUnit(p model.Person, kind model.Kind, c model.Code) string {
	it, _ := model.Find(kind, c)
	if len(it.Units) == 1 || kind == model.Fluid { // a jug is marked in mL
		return it.DefaultUnit()
	}
	if s, ok := w.last(p, kind, c); ok {
		return s.Value.Unit
	}
	return ""
}

// weight asks for one; on dialysis the unit's own limit stands beside it.
func (w *Window) weight(p model.Person) func() view {
	m := w.newMeasure("weight", p, model.Vital, "weight")
	m.more = func() []fyne.CanvasObject {
		member, ok := w.house.State().Member(p.ID)
		if !ok || !member.Result.History.On(model.Condition, "dialysis") {
			return nil
		}
		limit := member.Facts.WeightLimit
		return []fyne.CanvasObject{w.kit.Row(w.kit.Button("weight-limit", model.T("daily.weight-limit.change"), func() {
			w.open(w.limitPage(p, "weight-limit", "weight-limit", "kg", limit))
		}))}
	}
	return w.measurePage(m)
}

func (w *Window) temperature(p model.Person) func() view {
	return w.measurePage(w.newMeasure("temperature", p, model.Vital, "temperature"))
}

func (w *Window) ketones(p model.Person) func() view {
	return w.measurePage(w.newMeasure("ketones", p, model.Vital, "blood-ketones"))
}

// metersKetones reports somebody whose blood is tested for ketones at home:
// those with diabetes, or a medicine for it, and whoever did it before.
func (w *Window) metersKetones(p model.Person) bool {
	m, ok := w.house.State().Member(p.ID)
	if !ok {
		return false
	}
	h := m.Result.History
	return h.KetoneRisk(model.At(w.house.Now())) || len(h.Of(model.Vital, "blood-ketones")) > 0
}

// urine asks for a portion, or for all of some hours.
func (w *Window) urine(p model.Person) func() view {
	m := w.newMeasure("urine", p, model.Fluid, "urine")
	hours := &measured{code: "urine-hours", unit: "h", typed: "24"}
	m.more = func() []fyne.CanvasObject {
		all := len(m.boxes) > 1
		return []fyne.CanvasObject{w.kit.Check("collection", model.T("daily.urine.all"), all, func(on bool) {
			if m.boxes = m.boxes[:1]; on {
				m.boxes = append(m.boxes, hours)
			}
			w.redraw()
		})}
	}
	return w.measurePage(m)
}

func (w *Window) measurePage(m *measure) func() view { return func() view { return w.measureView(m) } }

func (w *Window) measureView(m *measure) view {
	k := w.kit
	body := []fyne.CanvasObject{k.Both(model.T("daily." + m.id + ".how"))}
	save := &action{"save", model.T("do.save-for", "name", w.called(m.person)), func() { w.saveMeasure(m) }}
	for _, b := range m.boxes {
		body = append(body, w.numberBox(m.kind, b))
	}
	for i, b := range m.boxes {
		b.field.OnEnter(func() {
			if i+1 < len(m.boxes) {
				w.win.Canvas().Focus(m.boxes[i+1].field.Focusable())
				return
			}
			w.saveMeasure(m)
		})
	}
	if m.more != nil {
		body = append(body, m.more()...)
	}
	body = append(body, w.momentPart(&m.at)...)
	var codes []model.Code
	for _, b := range m.boxes {
		codes = append(codes, b.code)
	}
	body = append(body, w.lastLine(m.person, m.kind, codes...)...)
	return view{title: model.T("daily." + m.id), whose: &m.person, body: body, back: w.backTo(w.goBack), focus: m.boxes[0].field.Focusable(),
		main: w.unlessReadOnly(save)}
}

// saveMeasure reads the boxes and writes the measurement down.
func (w *Window) saveMeasure(m *measure) {
	form := checked{w: w}
	var vs []model.Value
	for _, b := range m.boxes {
		b.typed, b.unit = b.field.Text(), b.field.Unit()
		v, why := readBox(m.kind, b)
		if d, ok := w.slip(w.newEntry(m.person, m.kind, model.At(w.house.Now())), v, why); ok {
			w.askSlip(&jot{person: m.person, form: w.measurePage(m), meant: m.meant(w)}, d)
			return
		}
		form.check(b.field, why)
		if why.IsZero() && strings.TrimSpace(b.typed) != "" {
			vs = append(vs, v)
		}
	}
	at := m.at.when(w, &form)
	e := w.newEntry(m.person, m.kind, at, vs...)
	if form.first == nil {
		// What is wrong with several numbers together is told at the first.
		if ps := e.Validate(w.house.Now()); len(ps) > 0 {
			form.check(m.boxes[0].field, ps[0].Why)
		}
	}
	if form.bad() {
		return
	}
	j := &jot{person: m.person, entries: []model.Entry{e}, form: w.measurePage(m), meant: m.meant(w)}
	if m.then != nil {
		j.then = func() { m.then(e) }
	}
	w.jotDown(j)
}

// meant puts into its box what was meant instead, and goes on.
func (m *measure) meant(w *Window) func(model.Value) {
	return func(v model.Value) {
		take(w, m.boxes, v)
		w.turn(w.measurePage(m))
		w.saveMeasure(m)
	}
}

// take puts a value into its box.
func take(w *Window, boxes []*measured, v model.Value) {
	for _, b := range boxes {
		if b.code == v.Code {
			b.typed, b.unit = w.words.Number(v.Typed), v.Unit
		}
	}
}

// slip is what was probably meant by a number of an entry that cannot be kept,
// because why.
func (w *Window) slip(e model.Entry, v model.Value, why model.Msg) (daily.Doubt, bool) {
	if why.IsZero() || v.Number == 0 {
		return daily.Doubt{}, false
	}
	return daily.Slip(e, v, w.entriesOf(e.Person))
}

// askSlip asks whether that was meant.
func (w *Window) askSlip(j *jot, d daily.Doubt) {
	w.stepTo(func() view { return w.jotDoubt(j, "", d) })
}

// unitMissing says where the unit of a measurement is found.
func unitMissing(what model.Msg, c model.Code) model.Msg {
	if c == "weight" {
		return model.T("daily.weight.unit-missing")
	}
	return model.T("daily.unit-missing", "what", what)
}

// readBox reads a number, or says what is wrong with it.
func readBox(kind model.Kind, b *measured) (model.Value, model.Msg) {
	it, _ := model.Find(kind, b.code)
	what := model.T("name." + string(kind) + "." + string(b.code))
	switch {
	case strings.TrimSpace(b.typed) == "" && b.optional:
		return model.Value{}, model.Msg{}
	case strings.TrimSpace(b.typed) == "":
		return model.Value{}, model.T("problem.number-missing")
	case b.unit == "" && len(it.Units) > 0:
		return model.Value{}, unitMissing(what, b.code)
	}
	plain, p := i18n.ParseNumberFor(it, b.unit, b.typed)
	if p != nil {
		return model.Value{}, p.Why
	}
	v, ps := model.ParseValue(it, plain, b.unit, "")
	if len(ps) == 0 {
		return v, model.Msg{}
	}
	if b.code == "systolic" || b.code == "diastolic" {
		// A number beyond what is kept may be the dangerous one.
		if u, _ := it.Unit(b.unit); v.Number > u.Max {
			return v, model.T("daily.pressure-beyond", "high", model.Quantity{Typed: model.FormatNumber(u.Max), UCUM: u.UCUM})
		}
	}
	return v, ps[0].Why
}
