package kit

import (
	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/canvas"
	"fyne.io/fyne/v2/container"
	"fyne.io/fyne/v2/driver/desktop"
	"fyne.io/fyne/v2/widget"

	"quietwater/model"
)

// Curtain hides all that a window shows until any key or tap opens it. What lies
// under it stays as it is, with what was typed and what had the keyboard. A key
// opens it when it is let go: its letter, which comes after the key, must not
// end up in the box under the curtain.
type Curtain struct {
	group
	canvas  fyne.Canvas
	before  fyne.Focusable
	pressed bool
	lifted  func()
	echoes  *Echoes
}

// Cover hangs a curtain that says a title and a text; lifted is called once it is
// gone.
func (k *Kit) Cover(c fyne.Canvas, title, text model.Msg, lifted func()) *Curtain {
	o := &Curtain{canvas: c, before: c.Focused(), lifted: lifted, echoes: k.echoes}
	words := container.New(middle{k.px(sizeText) * 34}, container.New(column{gapCard}, k.Step(title), k.Both(text)))
	o.hold(o, container.New(coverLayout{}, canvas.NewRectangle(k.pal.Paper), container.NewVScroll(words)))
	c.Overlays().Add(o)
	o.Resize(c.Size())
	c.Focus(o)
	return o
}

// Lift takes it away, once.
func (o *Curtain) Lift() {
	if o.lifted == nil {
		return
	}
	then := o.lifted
	o.lifted = nil
	o.canvas.Overlays().Remove(o)
	if o.before != nil {
		o.canvas.Focus(o.before)
	}
	o.echoes.Came(false)
	then()
}

// Name is the id the probe knows it by.
func (o *Curtain) Name() string { return "curtain" }

// Tapped lifts it.
func (o *Curtain) Tapped(ev *fyne.PointEvent) {
	if !o.echoes.echo(ev) {
		o.Lift()
	}
}

// KeyDown and KeyUp lift it. The key that hung it comes up without having gone
// down here.
func (o *Curtain) KeyDown(*fyne.KeyEvent) { o.pressed = true }

// KeyUp lifts it.
func (o *Curtain) KeyUp(*fyne.KeyEvent) {
	if o.pressed {
		o.Lift()
	}
}

// TypedKey, TypedRune and TypedShortcut do nothing: neither does what is under it.
func (o *Curtain) TypedKey(*fyne.KeyEvent) {}

// TypedRune does nothing.
func (o *Curtain) TypedRune(rune) {}

// TypedShortcut does nothing.
func (o *Curtain) TypedShortcut(fyne.Shortcut) {}

// AcceptsTab makes Tab a key like any other.
func (o *Curtain) AcceptsTab() bool { return true }

// FocusGained does nothing.
func (o *Curtain) FocusGained() {}

// FocusLost does nothing.
func (o *Curtain) FocusLost() {}

// pageKey is for a key that came while nothing had the keyboard.
func (o *Curtain) pageKey(*fyne.KeyEvent) bool {
	o.Lift()
	return true
}

// ground is what a page lies on. It learns of the mouse where nothing above wants
// it.
type ground struct {
	widget.BaseWidget
	paint *canvas.Rectangle
	moved func()
}

// Ground is the colour under a page; moved is called when the mouse moves over it.
func (k *Kit) Ground(moved func()) fyne.CanvasObject {
	g := &ground{paint: canvas.NewRectangle(k.pal.Paper), moved: moved}
	g.ExtendBaseWidget(g)
	return g
}

// CreateRenderer is for the toolkit.
func (g *ground) CreateRenderer() fyne.WidgetRenderer { return widget.NewSimpleRenderer(g.paint) }

// MouseIn, MouseMoved and MouseOut tell of the mouse.
func (g *ground) MouseIn(*desktop.MouseEvent) { g.moved() }

// MouseMoved tells of it.
func (g *ground) MouseMoved(*desktop.MouseEvent) { g.moved() }

// MouseOut does nothing.
func (g *ground) MouseOut() {}
