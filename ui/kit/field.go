package kit

import (
	"image/color"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/canvas"
	"fyne.io/fyne/v2/container"
	"fyne.io/fyne/v2/driver/desktop"
	"fyne.io/fyne/v2/widget"

	"quietwater/model"
)

// Entry is a box to type into, with our ring around it. Screens use it in a
// [Field].
type Entry struct {
	widget.Entry
	id, label string
	ring      *canvas.Rectangle
	focus     Palette
	once      bool // see [Kit.AtOnce]
	echoes    *Echoes
	left      func() // called when somebody goes on to something else; nil for nothing
	byMouse   bool   // the keyboard comes from a mouse button that is still down
}

func (k *Kit) entry(id, label string, text string, lines int, changed func(string)) (*Entry, *fyne.Container) {
	e := &Entry{id: id, label: label, focus: k.pal, once: k.once, echoes: k.echoes}
	e.MultiLine = lines > 1
	e.Wrapping = fyne.TextWrap(fyne.TextTruncateClip) // the line moves under the cursor
	if e.MultiLine {
		e.Wrapping = fyne.TextWrapWord
		e.SetMinRowsVisible(lines)
	}
	e.Text = text
	e.ExtendBaseWidget(e)
	e.OnChanged = changed
	e.ring = canvas.NewRectangle(clear)
	e.ring.StrokeWidth, e.ring.CornerRadius = ringWidth, corner+ringRoom
	return e, container.New(entryLayout{}, e.ring, e, newWheelOver())
}

// wheelOver lies over a box and hands the wheel on to the page. The toolkit's
// boxes keep it for themselves even where nothing in them can move, and the page
// stands still under the hand.
type wheelOver struct{ widget.BaseWidget }

func newWheelOver() *wheelOver {
	o := &wheelOver{}
	o.ExtendBaseWidget(o)
	return o
}

// Scrolled hands the wheel on.
func (o *wheelOver) Scrolled(ev *fyne.ScrollEvent) {
	if s := scrollAround(o); s != nil {
		s.Scrolled(ev)
	}
}

// CreateRenderer draws nothing.
func (o *wheelOver) CreateRenderer() fyne.WidgetRenderer {
	return widget.NewSimpleRenderer(canvas.NewRectangle(color.Transparent))
}

// Name is the id the probe knows it by.
func (e *Entry) Name() string { return e.id }

// AccessibilityLabel is what the box is for.
func (e *Entry) AccessibilityLabel() string { return e.label }

// AccessibilityRole of a box with text.
func (e *Entry) AccessibilityRole() fyne.AccessibleRole { return fyne.AccessibleRoleText }

// FocusGained shows the ring and brings the box into view, if it was not the
// mouse that chose it.
func (e *Entry) FocusGained() {
	e.Entry.FocusGained()
	e.ring.StrokeColor = e.focus.Focus
	e.ring.Refresh()
	if !e.byMouse {
		reveal(e)
	}
}

// MouseDown takes the keyboard and leaves the page where it is: were the box to
// move, the button would be let go over something else, which would take the
// keyboard away again.
func (e *Entry) MouseDown(ev *desktop.MouseEvent) {
	e.byMouse = true
	e.Entry.MouseDown(ev)
	e.byMouse = false
}

// MouseUp brings the box into view now that the click is over.
func (e *Entry) MouseUp(ev *desktop.MouseEvent) {
	e.Entry.MouseUp(ev)
	if c := canvasOf(e); c != nil && c.Focused() == fyne.Focusable(e) {
		reveal(e)
	}
}

// FocusLost takes the ring away.
func (e *Entry) FocusLost() {
	e.Entry.FocusLost()
	e.ring.StrokeColor = clear
	e.ring.Refresh()
	if e.left != nil {
		e.left()
	}
}

// TypedKey leaves Escape, function keys and paging to the page; Tab always goes on to the
// next thing, so that nobody is caught in a box of many lines.
func (e *Entry) TypedKey(ev *fyne.KeyEvent) {
	switch ev.Name {
	case fyne.KeyEscape, fyne.KeyF1, fyne.KeyF2, fyne.KeyF3, fyne.KeyF4, fyne.KeyF5, fyne.KeyF6, fyne.KeyF7, fyne.KeyF8, fyne.KeyF9, fyne.KeyF12:
		passKey(e, ev)
	case fyne.KeyPageUp, fyne.KeyPageDown:
		if !e.MultiLine {
			passKey(e, ev)
			return
		}
		e.Entry.TypedKey(ev)
	default:
		e.Entry.TypedKey(ev)
	}
}

// KeyDown tells a key that goes down from one that is held.
func (e *Entry) KeyDown(ev *fyne.KeyEvent) {
	e.echoes.KeyDown(ev)
	e.Entry.KeyDown(ev)
}

// AcceptsTab is never true.
func (e *Entry) AcceptsTab() bool { return false }

// entryLayout lets the box fill all and the ring lie around it.
type entryLayout struct{}

func (entryLayout) Layout(objs []fyne.CanvasObject, s fyne.Size) {
	controlLayout{}.around(objs[0], objs[1], s)
	objs[2].Resize(objs[1].Size())
	objs[2].Move(objs[1].Position())
}

func (entryLayout) MinSize(objs []fyne.CanvasObject) fyne.Size {
	m := objs[1].MinSize()
	return fyne.NewSize(max(m.Width, target), max(m.Height, target))
}

// problem is a place under a field for what is wrong with it, with the remedy.
type problem struct {
	k   *Kit
	box *fyne.Container
	msg model.Msg
}

func (k *Kit) problem() *problem {
	p := &problem{k: k, box: k.Tight()}
	p.box.Hide()
	return p
}

func (p *problem) set(m model.Msg) {
	p.msg = m
	p.box.RemoveAll()
	if m.IsZero() {
		p.box.Hide()
		return
	}
	sign := newText(run{notices[NoticeCare].sign, p.k.px(sizeText), true, p.k.pal.Ink})
	p.box.Add(container.New(inset{12, gapSmall}, p.k.frame(clear, p.k.pal.Ink, max(p.k.pal.Border, 2)),
		container.New(beside{gap: 10, stretch: true}, sign, p.k.BothStrong(m))))
	p.box.Show()
}

// Field is a labelled box to type into. A problem is shown after it, and what
// was typed stays.
type Field struct {
	group
	entry   *Entry
	problem *problem
}

// Ask says what a field is for.
type Ask struct {
	ID    string // names it for scripts
	Label model.Msg
	Help  model.Msg // may be zero
	Width int       // of the box in letters; 0 is a line of about 28
	Lines int       // more than 1 for a longer text
}

// Field makes one. changed may be nil; nothing is judged while somebody types.
func (k *Kit) Field(a Ask, text string, changed func(string)) *Field {
	f := &Field{}
	k.field(f, f, a, text, changed)
	return f
}

// field fills f, which stands in the page as self.
func (k *Kit) field(f *Field, self fyne.Widget, a Ask, text string, changed func(string)) {
	f.problem = k.problem()
	var box *fyne.Container
	f.entry, box = k.entry(a.ID, k.t(a.Label), text, a.Lines, changed)
	f.hold(self, k.Tight(k.label(a.Label)))
	if !a.Help.IsZero() {
		f.box.Add(k.BothSmall(a.Help))
	}
	f.box.Add(container.New(atMost{k.letters(a.Width)}, box))
	f.box.Add(f.problem.box)
}

// SecretField is a Field whose letters are hidden until a box is ticked.
func (k *Kit) SecretField(a Ask, changed func(string)) *Field {
	f := k.Field(a, "", changed)
	f.entry.Password = true
	// Anything here keeps the toolkit from adding its own small eye.
	f.entry.ActionItem = canvas.NewRectangle(clear)
	show := k.Check(a.ID+"-show", model.T("kit.show-letters"), false, func(on bool) {
		f.entry.Password = !on
		f.entry.Refresh()
	})
	f.box.Objects = append(f.box.Objects[:len(f.box.Objects)-1], show, f.problem.box)
	return f
}

// label heads a field; smaller than a section, in both languages.
func (k *Kit) label(m model.Msg) *Text {
	return newText(run{k.t(m), k.px(sizeText), true, k.pal.Ink}, run{k.t2(m), k.px(sizeSmall), false, k.pal.Muted})
}

// letters is the width of a box for so many letters.
func (k *Kit) letters(n int) float32 {
	if n <= 0 {
		n = 28
	}
	return k.px(sizeText)*0.62*float32(n) + 2*12 + 12
}

// Text is what stands in the box.
func (f *Field) Text() string { return f.entry.Text }

// SetText replaces it.
func (f *Field) SetText(s string) { f.entry.SetText(s) }

// SetProblem shows what is wrong after the field; the zero message takes it away.
func (f *Field) SetProblem(m model.Msg) {
	f.problem.set(m)
	f.Refresh()
}

// OnEnter is called when Return is pressed in the box.
func (f *Field) OnEnter(do func()) { f.entry.OnSubmitted = func(string) { do() } }

// OnLeft is called when the box loses the keyboard.
func (f *Field) OnLeft(do func()) { f.entry.left = do }

// Focusable is what to give the keyboard to.
func (f *Field) Focusable() fyne.Focusable { return f.entry }

// Disable and Enable close and open the box.
func (f *Field) Disable() { f.entry.Disable() }

// Enable opens it again.
func (f *Field) Enable() { f.entry.Enable() }

// NumberField is a Field for a number with its unit beside it, as large as the
// number. With several units none is chosen unless the caller names one.
type NumberField struct {
	*Field
	units *Choice
	unit  string
}

// NumberField makes one. units are the ids a value is kept under with their
// words; changed may be nil and gets the text as typed.
func (k *Kit) NumberField(a Ask, typed string, units []Option, unit string, changed func(typed, unit string)) *NumberField {
	if a.Width == 0 {
		a.Width = 8
	}
	n := &NumberField{Field: &Field{}, unit: unit}
	tell := func() {
		if changed != nil {
			changed(n.Text(), n.Unit())
		}
	}
	k.field(n.Field, n, a, typed, func(string) { tell() })
	box := n.box.Objects[len(n.box.Objects)-2]
	switch len(units) {
	case 0:
		return n
	case 1:
		n.unit = units[0].ID
		n.box.Objects[len(n.box.Objects)-2] = k.Row(box, k.Text(units[0].Label))
	default:
		n.units = k.choice(a.ID+"-unit", model.Msg{}, units, unit, true, func(id string) {
			n.unit = id
			tell()
		})
		n.box.Objects[len(n.box.Objects)-2] = k.Row(box, n.units)
	}
	return n
}

// Unit is the chosen unit's id, "" while none is.
func (n *NumberField) Unit() string { return n.unit }
