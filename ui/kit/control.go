package kit

import (
	"image/color"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/canvas"
	"fyne.io/fyne/v2/driver/desktop"
	"fyne.io/fyne/v2/widget"
)

const corner = 6

var clear color.Color = color.Transparent

// control is what every tappable thing of ours has in common: a ring when it
// has the keyboard, Space and Return that do what a tap does, and a name for
// the probe. What it looks like are its parts; paint colours them for its state.
type control struct {
	widget.DisableableWidget
	k     *Kit
	self  fyne.Widget
	id    string
	label string // in the first language
	ring  *canvas.Rectangle
	body  *canvas.Rectangle
	parts []fyne.CanvasObject
	lay   fyne.Layout
	paint func()
	act   func()
	key   func(*fyne.KeyEvent) bool // true: was for this control

	focused, hovered, pressed bool
}

// start finishes a control; content stands inside body, pad away from its edge.
func (c *control) start(self fyne.Widget, content fyne.CanvasObject, padX, padY float32) {
	c.self = self
	c.ring = canvas.NewRectangle(clear)
	c.ring.StrokeWidth, c.ring.CornerRadius = ringWidth, corner+ringRoom
	c.body = canvas.NewRectangle(clear)
	c.body.CornerRadius = corner
	c.parts = []fyne.CanvasObject{c.ring, c.body, content}
	c.lay = controlLayout{x: padX, y: padY}
	self.(interface{ ExtendBaseWidget(fyne.Widget) }).ExtendBaseWidget(self)
	c.repaint()
}

func (c *control) repaint() {
	c.ring.StrokeColor = clear
	if c.focused {
		c.ring.StrokeColor = c.k.pal.Focus
	}
	if c.paint != nil {
		c.paint()
	}
}

func (c *control) Refresh() {
	c.repaint()
	c.BaseWidget.Refresh()
}

// Name is the id the probe knows it by.
func (c *control) Name() string { return c.id }

// Parts are what it is made of; see [Walk].
func (c *control) Parts() []fyne.CanvasObject { return c.parts }

// AccessibilityLabel is its words in the first language.
func (c *control) AccessibilityLabel() string { return c.label }

// AccessibilityRole of something to press.
func (c *control) AccessibilityRole() fyne.AccessibleRole { return fyne.AccessibleRoleButton }

// Tapped takes the keyboard, so that Tab goes on from here, and does what the
// control is for.
func (c *control) Tapped(ev *fyne.PointEvent) {
	if c.Disabled() || c.act == nil || c.k.echoes.echo(ev) {
		return
	}
	if ev != nil {
		if cv := canvasOf(c.self); cv != nil {
			cv.Focus(c.self.(fyne.Focusable))
		}
	}
	c.act()
}

// FocusGained shows the ring and brings the control into view.
func (c *control) FocusGained() {
	c.focused = true
	c.k.echoes.focusMoved()
	c.self.Refresh()
	reveal(c.self)
}

// FocusLost takes the ring away.
func (c *control) FocusLost() {
	c.focused, c.pressed = false, false
	c.self.Refresh()
}

// KeyDown tells a key that goes down from one that is held.
func (c *control) KeyDown(ev *fyne.KeyEvent) { c.k.echoes.KeyDown(ev) }

// KeyUp does nothing.
func (c *control) KeyUp(*fyne.KeyEvent) {}

// TypedRune does nothing: Space comes as a key too.
func (c *control) TypedRune(rune) {}

// TypedKey answers Space and Return; the page gets what is left.
func (c *control) TypedKey(ev *fyne.KeyEvent) {
	switch {
	case c.key != nil && c.key(ev):
	case ev.Name == fyne.KeySpace || ev.Name == fyne.KeyReturn || ev.Name == fyne.KeyEnter:
		c.Tapped(nil)
	default:
		passKey(c.self, ev)
	}
}

// MouseIn, MouseMoved and MouseOut mark what the pointer is on.
func (c *control) MouseIn(*desktop.MouseEvent) { c.hovered = true; c.self.Refresh() }

// MouseMoved does nothing.
func (c *control) MouseMoved(*desktop.MouseEvent) {}

// MouseOut takes the mark away.
func (c *control) MouseOut() { c.hovered = false; c.self.Refresh() }

// Cursor is a hand over what can be tapped.
func (c *control) Cursor() desktop.Cursor {
	if c.Disabled() {
		return desktop.DefaultCursor
	}
	return desktop.PointerCursor
}

func (c *control) natural() float32 {
	l := c.lay.(controlLayout)
	return max(natural(c.parts[len(c.parts)-1])+2*l.x, target)
}

// CreateRenderer is for the toolkit.
func (c *control) CreateRenderer() fyne.WidgetRenderer { return &controlRenderer{c} }

type controlRenderer struct{ c *control }

func (r *controlRenderer) Destroy()                     {}
func (r *controlRenderer) Layout(s fyne.Size)           { r.c.lay.Layout(r.c.parts, s) }
func (r *controlRenderer) MinSize() fyne.Size           { return r.c.lay.MinSize(r.c.parts) }
func (r *controlRenderer) Objects() []fyne.CanvasObject { return r.c.parts }
func (r *controlRenderer) Refresh() {
	r.c.lay.Layout(r.c.parts, r.c.self.Size())
	canvas.Refresh(r.c.self)
}

// controlLayout: the body fills all, so that things line up with the words
// above them; the ring lies around it, in the space every layout of ours
// leaves between things; the content stands in the middle.
type controlLayout struct {
	x, y float32
	top  bool // or at the top, where neighbours are equally high and must line up
}

func (l controlLayout) Layout(objs []fyne.CanvasObject, size fyne.Size) {
	l.around(objs[0], objs[1], size)
	content := objs[len(objs)-1]
	w := max(size.Width-2*l.x, 0)
	h := heightAt(content, w)
	y := max((size.Height-h)/2, l.y)
	if l.top {
		y = l.y
	}
	content.Move(fyne.NewPos(l.x, y))
	content.Resize(fyne.NewSize(w, h))
}

func (l controlLayout) MinSize(objs []fyne.CanvasObject) fyne.Size {
	m := objs[len(objs)-1].MinSize()
	return fyne.NewSize(max(m.Width+2*l.x, target), max(m.Height+2*l.y, target))
}

func (controlLayout) around(ring, body fyne.CanvasObject, size fyne.Size) {
	// A stroke is drawn half outside its rectangle.
	const out = ringRoom - ringWidth/2.0
	ring.Move(fyne.NewPos(-out, -out))
	ring.Resize(size.AddWidthHeight(2*out, 2*out))
	body.Move(fyne.NewPos(0, 0))
	body.Resize(size)
}
