package kit

import (
	"image"
	"image/color"
	"math"
	"strconv"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/canvas"
	"fyne.io/fyne/v2/container"

	"quietwater/model"
)

// Swatch is one colour block of a printed chart.
type Swatch struct {
	Value string    // as printed: "30", "1+", "neg"
	Grade model.Msg // the grade in words; may be zero
	RGB   [3]uint8  // about its colour, to find the row by
	Step  int       // its place on the chart, from 0
}

// CouldNotTell is what Swatches.Selected gives for the answer beside the blocks.
const CouldNotTell = -2

// Swatches offers the blocks of one pad. They are pictures to find the row on
// the printed chart, and say so: no screen shows colours well enough to match.
type Swatches struct {
	group
	cells   []*swatchCell
	tell    *Row
	changed func(int)
}

// SwatchRow makes one. selected is an index, CouldNotTell, or -1 for none;
// changed gets the same. Left and right move between the blocks.
func (k *Kit) SwatchRow(id string, label model.Msg, blocks []Swatch, selected int, changed func(int)) *Swatches {
	s := &Swatches{changed: changed}
	s.hold(s, k.Tight())
	if !label.IsZero() {
		s.box.Add(k.label(label))
	}
	s.box.Add(k.BothSmall(model.T("kit.swatch-help")))
	row := container.New(&flow{gap: gapTap, top: true})
	for i, b := range blocks {
		c := k.swatchCell(id+"-"+strconv.Itoa(b.Step), b, i == selected)
		c.act = func() { s.pick(i) }
		c.key = func(ev *fyne.KeyEvent) bool { return s.move(i, ev) }
		s.cells = append(s.cells, c)
		row.Add(c)
	}
	s.box.Add(row)
	s.tell = k.row(id+"-unclear", model.T("kit.could-not-tell"), model.Msg{}, markRadio, selected == CouldNotTell, nil)
	s.tell.act = func() { s.pick(CouldNotTell) }
	s.tell.key = func(ev *fyne.KeyEvent) bool { return s.move(len(s.cells), ev) }
	s.box.Add(container.New(atMost{k.letters(24)}, s.tell))
	return s
}

func (s *Swatches) pick(i int) {
	for j, c := range s.cells {
		if c.on != (i == j) {
			c.on = i == j
			c.Refresh()
		}
	}
	if s.tell.on != (i == CouldNotTell) {
		s.tell.set(i == CouldNotTell)
	}
	if s.changed != nil {
		s.changed(i)
	}
}

// move goes along the blocks and on to "could not tell"; it chooses nothing,
// since a wrong colour slipped past would be a wrong reading.
func (s *Swatches) move(from int, ev *fyne.KeyEvent) bool {
	to, ok := step(from, len(s.cells)+1, ev)
	if ok && to != from {
		if to == len(s.cells) {
			focus(s.tell)
		} else {
			focus(s.cells[to])
		}
	}
	return ok
}

// Selected is the chosen block's index, CouldNotTell, or -1.
func (s *Swatches) Selected() int {
	for i, c := range s.cells {
		if c.on {
			return i
		}
	}
	if s.tell.on {
		return CouldNotTell
	}
	return -1
}

type swatchCell struct {
	control
	on     bool
	chosen *Text
	value  *Text
	grade  *Text
}

func (k *Kit) swatchCell(id string, b Swatch, on bool) *swatchCell {
	c := &swatchCell{on: on}
	c.k, c.id, c.label = k, id, b.Value
	square := canvas.NewRaster(func(w, h int) image.Image { return swatchImage(w, h, b.RGB, b.Step) })
	side := max(k.px(72), 72)
	square.SetMinSize(fyne.NewSquareSize(side))
	plate := canvas.NewCircle(hex(0xFFFFFF))
	plate.StrokeColor, plate.StrokeWidth = hex(0x000000), 1.5
	number := newText(run{strconv.Itoa(b.Step + 1), k.px(sizeSmall), true, hex(0x000000)})
	number.align = fyne.TextAlignCenter
	c.value = newText(run{b.Value, k.px(sizeText), true, k.pal.Ink})
	c.grade = newText(run{k.t(b.Grade), k.px(sizeSmall), false, k.pal.Ink}, run{k.t2(b.Grade), k.px(sizeSmall), false, k.pal.Muted})
	c.chosen = newText(run{"✓ " + k.t(model.T("kit.chosen")), k.px(sizeSmall), true, k.pal.Ink})
	for _, t := range []*Text{c.value, c.grade, c.chosen} {
		t.align = fyne.TextAlignCenter
	}
	picture := container.New(swatchLayout{side, k.px(30)}, square, plate, number)
	c.paint = c.colours
	c.start(c, container.New(column{2}, picture, c.value, c.grade, c.chosen), 10, 10)
	return c
}

// natural gives all cells of a row about the same width.
func (c *swatchCell) natural() float32 {
	return min(max(c.control.natural(), c.k.px(118)), c.k.px(170))
}

func (c *swatchCell) colours() {
	p := c.k.pal
	c.body.FillColor, c.body.StrokeColor, c.body.StrokeWidth = p.Card, p.Line, p.Border
	if c.hovered {
		c.body.StrokeColor, c.body.StrokeWidth = p.Ink, 3
	}
	word := clear
	if c.on {
		c.body.StrokeColor, c.body.StrokeWidth = p.Ink, max(3*p.Border, 5)
		word = p.Ink
	}
	c.chosen.recolour(word)
}

// swatchLayout centres the square and sets the number on a plate inside it.
type swatchLayout struct{ side, plate float32 }

func (l swatchLayout) Layout(objs []fyne.CanvasObject, s fyne.Size) {
	objs[0].Resize(fyne.NewSquareSize(l.side))
	objs[0].Move(fyne.NewPos((s.Width-l.side)/2, 0))
	at := fyne.NewPos((s.Width-l.plate)/2, (l.side-l.plate)/2)
	objs[1].Resize(fyne.NewSquareSize(l.plate))
	objs[1].Move(at)
	h := heightAt(objs[2], l.plate)
	objs[2].Resize(fyne.NewSize(l.plate, h))
	objs[2].Move(fyne.NewPos(at.X, at.Y+(l.plate-h)/2))
}

func (l swatchLayout) MinSize([]fyne.CanvasObject) fyne.Size { return fyne.NewSquareSize(l.side) }

// swatchImage draws the block inside its neutral grey, with one slanting line
// for each step above the lowest, so that the order can be counted in grey.
func swatchImage(w, h int, rgb [3]uint8, step int) *image.NRGBA {
	img := image.NewNRGBA(image.Rect(0, 0, w, h))
	block := color.NRGBA{rgb[0], rgb[1], rgb[2], 0xff}
	line := color.NRGBA{0, 0, 0, 0xff}
	if luminance(block) < 0.18 {
		line = color.NRGBA{0xff, 0xff, 0xff, 0xff}
	}
	W, H := float64(w), float64(h)
	edge := W / 9
	thick := math.Max(1, W/60)
	for y := range h {
		for x := range w {
			fx, fy := float64(x)+0.5, float64(y)+0.5
			inside := min(fx-edge, W-edge-fx, fy-edge, H-edge-fy)
			c := block
			for i := 1; i <= step; i++ {
				// The lines x+y = const, evenly from corner to corner.
				at := (W + H) * float64(i) / float64(step+1)
				d := math.Abs(fx+fy-at) / math.Sqrt2
				c = mix(c, line, cover(thick/2-d)*0.8)
			}
			img.SetNRGBA(x, y, mix(surround, c, cover(inside)))
		}
	}
	return img
}
