package kit

import (
	"image"
	"image/color"
	"sync"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/canvas"
	"fyne.io/fyne/v2/container"
	"fyne.io/fyne/v2/driver/desktop"
	"fyne.io/fyne/v2/widget"

	"quietwater/model"
)

// AskChart says what a chart shows and who draws it.
type AskChart struct {
	ID     string
	Alt    model.Msg // what there is to see, in a sentence; stands under the chart
	Height float32   // in units at scale 1
	// Draw makes a picture of w by h pixels, scale pixels to the unit. It runs
	// on a goroutine of its own, may be called again while it still runs, and
	// may return nil when there is nothing to show.
	Draw func(w, h int, scale float32) image.Image
	// Tapped is told where the picture was tapped, in parts of its width and
	// height; nil for a picture nothing lies behind.
	Tapped func(x, y float32)
	// Save keeps the picture as a file; nil leaves the button out.
	Save func()
	// Turned is told that the wheel was turned over it with Control (zoom) or
	// Shift (pan) held, up and right being more than 0, and where, in parts of the
	// picture from its upper left corner; nil for none.
	Turned func(zoom bool, steps, x, y float32)
	// Words are the same things as sentences, for whoever cannot see the
	// chart; nil leaves the button out.
	Words func() []model.Msg
}

// ChartView shows a picture drawn beside the work of the window, which so
// never waits for it.
type ChartView struct {
	group
	id, alt string
	raster  *canvas.Raster
	ask     AskChart
	ground  color.NRGBA

	mu     sync.Mutex // the toolkit may paint on another goroutine
	done   image.Image
	doneAs image.Point // the size it was asked for
	asked  image.Point // the size being drawn
	gen    int         // raised by Redraw; older pictures are thrown away
}

// ChartView makes one.
func (k *Kit) ChartView(a AskChart) *ChartView {
	v := &ChartView{id: a.ID, alt: k.t(a.Alt), ask: a, ground: k.pal.Card}
	v.raster = canvas.NewRaster(v.picture)
	v.raster.SetMinSize(fyne.NewSize(k.px(160), k.px(a.Height)))
	below := k.Column(k.BothSmall(a.Alt))
	picture := fyne.CanvasObject(v.raster)
	if a.Tapped != nil || a.Turned != nil {
		picture = container.NewStack(v.raster, newWheelPlace(a))
	}
	v.hold(v, k.Tight(picture, below))
	if a.Save != nil {
		below.Add(container.New(&flow{gap: gap}, k.Button(a.ID+"-save", model.T("kit.chart-save"), a.Save)))
	}
	if a.Words != nil {
		text := k.Tight()
		text.Hide()
		var open, shut *Button
		show := func(yes bool) {
			text.RemoveAll()
			if yes {
				for _, m := range a.Words() {
					text.Add(k.Both(m))
				}
				text.Show()
				open.Hide()
				shut.Show()
				focus(shut)
			} else {
				text.Hide()
				shut.Hide()
				open.Show()
				focus(open)
			}
			v.Refresh()
		}
		open = k.Button(a.ID+"-words", model.T("kit.chart-words"), func() { show(true) })
		shut = k.Button(a.ID+"-words-away", model.T("kit.chart-words-away"), func() { show(false) })
		shut.Hide()
		below.Add(container.New(&flow{gap: gap}, open, shut))
		below.Add(text)
	}
	return v
}

// Redraw asks for a new picture, because the data changed.
func (v *ChartView) Redraw() {
	v.mu.Lock()
	v.gen++
	v.asked = image.Point{}
	v.doneAs = image.Point{}
	v.mu.Unlock()
	v.raster.Refresh()
}

// picture gives what is there for this size, and sees to it that the right one
// is on its way.
func (v *ChartView) picture(w, h int) image.Image {
	v.mu.Lock()
	defer v.mu.Unlock()
	size := image.Pt(w, h)
	if w > 0 && h > 0 && v.doneAs != size && v.asked != size {
		v.asked = size
		scale := float32(1)
		if u := v.raster.Size().Width; u > 0 {
			scale = float32(w) / u
		}
		go v.draw(size, scale, v.gen)
	}
	if v.done != nil && v.done.Bounds().Size() == size {
		return v.done
	}
	blank := image.NewNRGBA(image.Rect(0, 0, max(w, 1), max(h, 1)))
	for i := 0; i < len(blank.Pix); i += 4 {
		blank.Pix[i], blank.Pix[i+1], blank.Pix[i+2], blank.Pix[i+3] = v.ground.R, v.ground.G, v.ground.B, 0xff
	}
	return blank
}

func (v *ChartView) draw(size image.Point, scale float32, gen int) {
	img := v.ask.Draw(size.X, size.Y, scale)
	v.mu.Lock()
	current := gen == v.gen && size == v.asked
	if current {
		v.done, v.doneAs = img, size
	}
	v.mu.Unlock()
	if current {
		fyne.Do(v.raster.Refresh)
	}
}

// wheelPlace lies over a picture and takes the mouse: a click tells where, the
// wheel with Control or Shift held zooms and pans, alone it scrolls the page.
// All of it can be had by keyboard elsewhere on the page.
type wheelPlace struct {
	widget.BaseWidget
	tapped func(x, y float32)
	turned func(zoom bool, steps, x, y float32)
	down   fyne.Position
}

func newWheelPlace(a AskChart) *wheelPlace {
	p := &wheelPlace{tapped: a.Tapped, turned: a.Turned}
	p.ExtendBaseWidget(p)
	return p
}

// MouseDown remembers where.
func (p *wheelPlace) MouseDown(ev *desktop.MouseEvent) { p.down = ev.Position }

// MouseUp tells where, unless the mouse was drawn away meanwhile.
func (p *wheelPlace) MouseUp(ev *desktop.MouseEvent) {
	d := ev.Position.Subtract(p.down)
	if s := p.Size(); s.Width > 0 && s.Height > 0 && p.tapped != nil && d.X*d.X+d.Y*d.Y < 64 {
		// After this event: the toolkit takes the keyboard away once the mouse is
		// up, and what opens has somebody to give it to.
		fyne.Do(func() { p.tapped(ev.Position.X/s.Width, ev.Position.Y/s.Height) })
	}
}

// Scrolled zooms, pans, or hands the wheel on to the page.
func (p *wheelPlace) Scrolled(ev *fyne.ScrollEvent) {
	held := fyne.KeyModifier(0)
	if d, ok := fyne.CurrentApp().Driver().(desktop.Driver); ok {
		held = d.CurrentKeyModifiers()
	}
	s := p.Size()
	x, y := ev.Position.X/max(s.Width, 1), ev.Position.Y/max(s.Height, 1)
	along, across := ev.Scrolled.DY, ev.Scrolled.DX
	switch {
	case p.turned != nil && held&fyne.KeyModifierControl != 0:
		p.turned(true, along, x, y)
	case p.turned != nil && (held&fyne.KeyModifierShift != 0 || across != 0 && across*across > along*along):
		if across == 0 {
			across = along
		}
		p.turned(false, across, x, y)
	default:
		if s := scrollAround(p); s != nil {
			s.Scrolled(ev)
		}
	}
}

// CreateRenderer is for the toolkit.
func (p *wheelPlace) CreateRenderer() fyne.WidgetRenderer {
	return widget.NewSimpleRenderer(canvas.NewRectangle(color.Transparent))
}
