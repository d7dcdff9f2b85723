package kit

import (
	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/canvas"
	"fyne.io/fyne/v2/container"

	"quietwater/model"
)

// Question is asked before something that is hard to take back.
type Question struct {
	Title model.Msg
	Body  model.Msg
	Keep  model.Msg // the safe answer; it has the keyboard, and Escape gives it
	Do    model.Msg // what will be done, as a word: "Delete the test of 6 August"
	// Danger sets Do away from Keep and makes it an ordinary button; without
	// it, Do is the main button.
	Danger bool
	// Back is a third answer, that leaves all as it is; where there is one,
	// Escape gives it instead of Keep.
	Back model.Msg
	Then func() // after Do
	Kept func() // after Keep; may be nil
}

// confirm covers the page until it is answered.
type confirm struct {
	group
	keep   func()
	echoes *Echoes
}

// Confirm asks on a canvas, over everything else.
func (k *Kit) Confirm(c fyne.Canvas, q Question) {
	before := c.Focused()
	o := &confirm{echoes: k.echoes}
	gone := false
	leave := func(then func()) {
		if gone {
			return
		}
		gone = true
		c.Overlays().Remove(o)
		if before != nil {
			c.Focus(before)
		}
		k.echoes.Came(false)
		if then != nil {
			then()
		}
	}
	o.keep = func() { leave(q.Kept) }
	keep := k.Button("keep", q.Keep, func() { leave(q.Kept) })
	do := k.MainButton("confirm", q.Do, func() { leave(q.Then) })
	space := float32(gap)
	if q.Danger {
		do = k.Button("confirm", q.Do, func() { leave(q.Then) })
		space = dangerGap
	}
	answers := container.New(&flow{gap: space}, keep, do)
	if !q.Back.IsZero() {
		o.keep = func() { leave(nil) }
		answers.Add(k.Button("leave", q.Back, o.keep))
	}
	text := container.New(column{gapCard}, k.BothSection(q.Title), k.Both(q.Body), answers)
	card := container.New(inset{gapCard, gapCard}, k.frame(k.pal.Card, k.pal.Ink, max(k.pal.Border, 2)), text)
	scroll := container.NewVScroll(container.New(middle{k.px(sizeText) * 34}, card))
	o.hold(o, container.New(coverLayout{}, canvas.NewRectangle(k.pal.Soft), scroll))
	c.Overlays().Add(o)
	o.Resize(c.Size())
	c.Focus(keep)
	k.echoes.Came(false)
}

func (o *confirm) pageKey(ev *fyne.KeyEvent) bool {
	if ev.Name == fyne.KeyEscape {
		if !o.echoes.echo(nil) {
			o.keep()
		}
		return true
	}
	return false
}

// coverLayout: everything as large as the whole; the scrolling part is told
// its width first.
type coverLayout struct{}

func (coverLayout) Layout(objs []fyne.CanvasObject, size fyne.Size) {
	for _, o := range objs {
		if s, ok := o.(*container.Scroll); ok {
			heightAt(s.Content, size.Width)
		}
		o.Move(fyne.NewPos(0, 0))
		o.Resize(size)
	}
}

func (coverLayout) MinSize(objs []fyne.CanvasObject) fyne.Size { return fyne.NewSize(200, 200) }

// middle centres one thing, no wider than a number of units.
type middle struct{ widest float32 }

func (m middle) Layout(objs []fyne.CanvasObject, size fyne.Size) {
	w := min(size.Width-2*gapCard, m.widest)
	h := heightAt(objs[0], w)
	objs[0].Move(fyne.NewPos((size.Width-w)/2, max((size.Height-h)/3, gapCard)))
	objs[0].Resize(fyne.NewSize(w, h))
}

func (m middle) MinSize(objs []fyne.CanvasObject) fyne.Size {
	return objs[0].MinSize().AddWidthHeight(2*gapCard, 2*gapCard)
}
