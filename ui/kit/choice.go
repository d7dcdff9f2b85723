package kit

import (
	"image/color"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/canvas"
	"fyne.io/fyne/v2/container"

	"quietwater/model"
)

// Option is one of several answers.
type Option struct {
	ID    string
	Label model.Msg
	Note  model.Msg // small, under the label; may be zero
}

type mark int

const (
	markNone  mark = iota
	markRadio      // one of several
	markCheck      // yes or no
	markOpen       // opens below
	markGo         // leads to another page
)

// Row is a line of words to tap: an answer, a tick box, a line of a list.
type Row struct {
	control
	mark mark
	on   bool
	text *Text
	sign *signBox
}

func (k *Kit) row(id string, m, note model.Msg, kind mark, on bool, lead fyne.CanvasObject) *Row {
	r := &Row{mark: kind, on: on}
	r.k, r.id, r.label = k, id, k.t(m)
	strong := kind == markGo
	r.text = newText(run{k.t(m), k.px(sizeText), strong, k.pal.Ink}, run{k.t2(m), k.px(sizeSmall), false, k.pal.Muted},
		run{k.t(note), k.px(sizeSmall), false, k.pal.Muted}, run{k.t2(note), k.px(sizeSmall), false, k.pal.Muted})
	content := fyne.CanvasObject(r.text)
	if lead != nil {
		content = container.New(beside{gap: 12}, lead, content)
	}
	if kind != markNone {
		r.sign = k.newSign(kind)
		if kind == markOpen || kind == markGo {
			content = container.New(trailing{gap: 12}, r.sign.box, content)
		} else {
			content = container.New(beside{gap: 12}, r.sign.box, content)
		}
	}
	r.paint = r.colours
	r.start(r, content, 14, 6)
	return r
}

// colours: what is chosen has a thick frame of ink besides its filled sign.
func (r *Row) colours() {
	p := r.k.pal
	r.body.FillColor, r.body.StrokeColor, r.body.StrokeWidth = p.Card, p.Line, p.Border
	if r.on && r.mark != markOpen {
		r.body.FillColor, r.body.StrokeColor, r.body.StrokeWidth = p.Soft, p.Ink, max(2*p.Border, 4)
	} else if r.hovered && !r.Disabled() {
		// Only a frame: with the ground of what is chosen, it would look chosen.
		r.body.StrokeColor, r.body.StrokeWidth = p.Ink, p.Border+hoverMore
	}
	ink := p.Ink
	if r.Disabled() {
		ink, r.body.FillColor = p.Muted, p.Paper
	}
	r.text.recolour(ink, p.Muted)
	if r.sign != nil {
		r.sign.set(r.on, ink, r.body.FillColor)
	}
}

func (r *Row) set(on bool) {
	r.on = on
	r.Refresh()
}

// On reports whether the row is chosen or ticked.
func (r *Row) On() bool { return r.on }

// Check makes a box to tick.
func (k *Kit) Check(id string, m model.Msg, on bool, changed func(bool)) *Row {
	r := k.row(id, m, model.Msg{}, markCheck, on, nil)
	r.act = func() {
		r.set(!r.on)
		if changed != nil {
			changed(r.on)
		}
	}
	return r
}

// Choice asks for one of several answers, all of them in view. Up and down (or
// left and right) move between them, as a tap does.
type Choice struct {
	group
	rows    []*Row
	options []Option
	problem *problem
	changed func(string)
}

// Choice makes one. selected may be "": nothing is answered for anybody. The
// label may be zero where a heading asks already.
func (k *Kit) Choice(id string, label model.Msg, options []Option, selected string, changed func(string)) *Choice {
	return k.choice(id, label, options, selected, false, changed)
}

// ShortChoice sets the answers beside each other: yes, no, not sure.
func (k *Kit) ShortChoice(id string, label model.Msg, options []Option, selected string, changed func(string)) *Choice {
	return k.choice(id, label, options, selected, true, changed)
}

func (k *Kit) choice(id string, label model.Msg, options []Option, selected string, abreast bool, changed func(string)) *Choice {
	c := &Choice{options: options, problem: k.problem(), changed: changed}
	c.hold(c, k.Tight())
	if !label.IsZero() {
		c.box.Add(k.label(label))
	}
	rows := container.New(column{gapTap})
	if abreast {
		rows = container.New(&flow{gap: gapTap})
	}
	for i, o := range options {
		r := k.row(id+"-"+o.ID, o.Label, o.Note, markRadio, o.ID == selected, nil)
		r.act = func() { c.pick(i) }
		r.key = func(ev *fyne.KeyEvent) bool { return c.move(i, ev) }
		c.rows = append(c.rows, r)
		rows.Add(r)
	}
	c.box.Add(rows)
	c.box.Add(c.problem.box)
	return c
}

func (c *Choice) pick(i int) {
	for j, r := range c.rows {
		if r.on != (i == j) {
			r.set(i == j)
		}
	}
	c.problem.set(model.Msg{})
	if c.changed != nil {
		c.changed(c.options[i].ID)
	}
}

func (c *Choice) move(from int, ev *fyne.KeyEvent) bool {
	to, ok := step(from, len(c.rows), ev)
	if ok && to != from {
		focus(c.rows[to])
		c.pick(to)
	}
	return ok
}

// step is where an arrow key leads; ok is false for other keys.
func step(from, n int, ev *fyne.KeyEvent) (to int, ok bool) {
	switch ev.Name {
	case fyne.KeyUp, fyne.KeyLeft:
		return max(from-1, 0), true
	case fyne.KeyDown, fyne.KeyRight:
		return min(from+1, n-1), true
	case fyne.KeyHome:
		return 0, true
	case fyne.KeyEnd:
		return n - 1, true
	}
	return from, false
}

func focus(o interface {
	fyne.CanvasObject
	fyne.Focusable
}) {
	if c := canvasOf(o); c != nil {
		c.Focus(o)
	}
}

// Selected is the id of the answer, "" when there is none.
func (c *Choice) Selected() string {
	for i, r := range c.rows {
		if r.on {
			return c.options[i].ID
		}
	}
	return ""
}

// Focusable is what to give the keyboard to: the answer, else the first.
func (c *Choice) Focusable() fyne.Focusable {
	for _, r := range c.rows {
		if r.on {
			return r
		}
	}
	return c.rows[0]
}

// SetProblem shows what is wrong after the answers.
func (c *Choice) SetProblem(m model.Msg) {
	c.problem.set(m)
	c.Refresh()
}

// Select is a choice of many short answers that opens below itself on a tap,
// and closes when one is taken or with Escape.
type Select struct {
	group
	k       *Kit
	head    *Row
	list    *fyne.Container
	whole   fyne.Widget // what the list unfolds in
	rows    []*Row
	options []Option
	chosen  string
	problem *problem
	changed func(string)
}

// Select makes one; selected may be "".
func (k *Kit) Select(id string, label model.Msg, options []Option, selected string, changed func(string)) *Select {
	s := &Select{k: k, options: options, chosen: selected, problem: k.problem(), changed: changed}
	s.head = k.row(id, s.word(), model.Msg{}, markOpen, false, nil)
	s.head.act = s.toggle
	s.head.key = s.headKey
	s.list = container.New(&flow{gap: gapTap})
	for i, o := range options {
		r := k.row(id+"-"+o.ID, o.Label, o.Note, markRadio, o.ID == selected, nil)
		r.act = func() { s.pick(i) }
		r.key = func(ev *fyne.KeyEvent) bool { return s.rowKey(i, ev) }
		s.rows = append(s.rows, r)
		s.list.Add(r)
	}
	s.list.Hide()
	s.hold(s, k.Tight())
	s.whole = s
	if !label.IsZero() {
		s.box.Add(k.label(label))
	}
	s.box.Add(container.New(atMost{k.letters(16)}, s.head))
	s.box.Add(s.list)
	s.box.Add(s.problem.box)
	return s
}

func (s *Select) word() model.Msg {
	for _, o := range s.options {
		if o.ID == s.chosen {
			return o.Label
		}
	}
	return model.T("kit.choose")
}

func (s *Select) toggle() { s.open(!s.list.Visible()) }

func (s *Select) open(yes bool) {
	s.head.on = yes
	if yes {
		s.list.Show()
	} else {
		s.list.Hide()
	}
	s.head.Refresh()
	s.whole.Refresh()
	if yes {
		unfolded(s.whole, s.list)
	}
}

// unfoldsIn has the list open at the end of a field of several boxes, whose row
// it would break apart.
func (s *Select) unfoldsIn(whole fyne.Widget, box *fyne.Container) {
	s.box.Remove(s.list)
	box.Add(s.list)
	s.whole = whole
}

func (s *Select) pick(i int) {
	focus(s.head)
	s.take(i)
}

// take chooses without moving the keyboard.
func (s *Select) take(i int) {
	s.chosen = s.options[i].ID
	for j, r := range s.rows {
		r.set(i == j)
	}
	m := s.word()
	s.head.label = s.k.t(m)
	s.head.text.setRuns([]run{{s.k.t(m), s.k.px(sizeText), false, s.k.pal.Ink}, {s.k.t2(m), s.k.px(sizeSmall), false, s.k.pal.Muted}})
	s.problem.set(model.Msg{})
	s.open(false)
	if s.changed != nil {
		s.changed(s.chosen)
	}
}

// headKey opens with the arrow down and takes the keyboard to the answers.
func (s *Select) headKey(ev *fyne.KeyEvent) bool {
	switch ev.Name {
	case fyne.KeyDown:
		s.open(true)
		at := 0
		for i, r := range s.rows {
			if r.on {
				at = i
			}
		}
		if len(s.rows) > 0 {
			focus(s.rows[at])
		}
		return true
	case fyne.KeyEscape:
		if s.list.Visible() {
			s.open(false)
			return true
		}
	}
	return false
}

func (s *Select) rowKey(i int, ev *fyne.KeyEvent) bool {
	if ev.Name == fyne.KeyEscape {
		focus(s.head)
		s.open(false)
		return true
	}
	to, ok := step(i, len(s.rows), ev)
	if ok && to != i {
		focus(s.rows[to])
	}
	return ok
}

// Selected is the id of the answer, "" when there is none.
func (s *Select) Selected() string { return s.chosen }

// Focusable is what to give the keyboard to.
func (s *Select) Focusable() fyne.Focusable { return s.head }

// SetProblem shows what is wrong after the answers.
func (s *Select) SetProblem(m model.Msg) {
	s.problem.set(m)
	s.Refresh()
}

// ListItem is a line that leads somewhere.
type ListItem struct {
	ID    string
	Title model.Msg
	Note  model.Msg         // may be zero
	Lead  fyne.CanvasObject // a mark at its left; may be nil
	Open  func()
}

// List makes lines that each lead to something; up and down go through them.
func (k *Kit) List(items ...ListItem) *fyne.Container {
	box := container.New(column{gapTap})
	rows := make([]*Row, 0, len(items))
	for i, it := range items {
		r := k.row(it.ID, it.Title, it.Note, markGo, false, it.Lead)
		r.act = it.Open
		r.key = func(ev *fyne.KeyEvent) bool {
			to, ok := step(i, len(rows), ev)
			if ok && to != i {
				focus(rows[to])
			}
			return ok
		}
		rows = append(rows, r)
		box.Add(r)
	}
	return box
}

// signBox draws what kind of row this is: a ring, a box, an angle. Lines, not
// letters, so that the shape is the same in every type.
type signBox struct {
	box   *fyne.Container
	kind  mark
	parts []fyne.CanvasObject
}

func (k *Kit) newSign(kind mark) *signBox {
	s := &signBox{kind: kind}
	switch kind {
	case markRadio:
		s.parts = []fyne.CanvasObject{canvas.NewCircle(clear), canvas.NewCircle(clear)}
	case markCheck:
		s.parts = []fyne.CanvasObject{canvas.NewRectangle(clear), canvas.NewLine(clear), canvas.NewLine(clear)}
	default:
		s.parts = []fyne.CanvasObject{canvas.NewLine(clear), canvas.NewLine(clear)}
	}
	s.box = container.New(signLayout{s, k.px(26)}, s.parts...)
	return s
}

type signLayout struct {
	s    *signBox
	side float32
}

func (l signLayout) MinSize([]fyne.CanvasObject) fyne.Size { return fyne.NewSquareSize(l.side) }

func (l signLayout) Layout(objs []fyne.CanvasObject, size fyne.Size) {
	at := func(x, y float32) fyne.Position {
		return fyne.NewPos((size.Width-l.side)/2+x*l.side, (size.Height-l.side)/2+y*l.side)
	}
	line := func(o fyne.CanvasObject, x1, y1, x2, y2 float32) {
		n := o.(*canvas.Line)
		n.Position1, n.Position2, n.StrokeWidth = at(x1, y1), at(x2, y2), l.side/8
	}
	switch {
	case l.s.kind == markRadio:
		objs[0].Move(at(0.06, 0.06))
		objs[0].Resize(fyne.NewSquareSize(l.side * 0.88))
		objs[1].Move(at(0.27, 0.27))
		objs[1].Resize(fyne.NewSquareSize(l.side * 0.46))
	case l.s.kind == markCheck:
		objs[0].Move(at(0.06, 0.06))
		objs[0].Resize(fyne.NewSquareSize(l.side * 0.88))
		line(objs[1], 0.24, 0.52, 0.43, 0.72)
		line(objs[2], 0.43, 0.72, 0.78, 0.28)
	case l.s.kind == markOpen:
		line(objs[0], 0.2, 0.35, 0.5, 0.65)
		line(objs[1], 0.5, 0.65, 0.8, 0.35)
	default:
		line(objs[0], 0.35, 0.2, 0.65, 0.5)
		line(objs[1], 0.65, 0.5, 0.35, 0.8)
	}
}

// set shows the state: a dot, a tick, or an angle.
func (s *signBox) set(on bool, ink, ground color.Color) {
	mark := clear
	if on {
		mark = ink
	}
	switch s.kind {
	case markRadio:
		ring, dot := s.parts[0].(*canvas.Circle), s.parts[1].(*canvas.Circle)
		ring.StrokeColor, ring.StrokeWidth, ring.FillColor = ink, 2.5, ground
		dot.FillColor = mark
	case markCheck:
		box := s.parts[0].(*canvas.Rectangle)
		box.StrokeColor, box.StrokeWidth, box.FillColor, box.CornerRadius = ink, 2.5, ground, 3
		s.parts[1].(*canvas.Line).StrokeColor, s.parts[2].(*canvas.Line).StrokeColor = mark, mark
	default:
		s.parts[0].(*canvas.Line).StrokeColor, s.parts[1].(*canvas.Line).StrokeColor = ink, ink
	}
}

// trailing keeps its first object at the right end.
type trailing struct{ gap float32 }

func (t trailing) Layout(objs []fyne.CanvasObject, size fyne.Size) {
	s := objs[0].MinSize()
	w := max(size.Width-s.Width-t.gap, 0)
	h := heightAt(objs[1], w)
	objs[1].Move(fyne.NewPos(0, (max(size.Height, h)-h)/2))
	objs[1].Resize(fyne.NewSize(w, h))
	objs[0].Move(fyne.NewPos(size.Width-s.Width, (max(size.Height, h)-s.Height)/2))
	objs[0].Resize(s)
}

func (t trailing) MinSize(objs []fyne.CanvasObject) fyne.Size {
	return beside{gap: t.gap}.MinSize(objs)
}

func (t trailing) natural(objs []fyne.CanvasObject) float32 {
	return beside{gap: t.gap}.natural(objs)
}
