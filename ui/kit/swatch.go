package kit

import (
	"image"
	"image/color"
	"math"
	"strconv"
	"strings"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/canvas"
	"fyne.io/fyne/v2/container"

	"quietwater/model"
)

// Swatch is one colour block of a printed chart.
type Swatch struct {
	Value string    // as printed: "30", "1+", "neg"
	Unit  string    // of the value, small under it; "" for none
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
	cells     []*swatchCell
	tell      *Row
	tellFirst bool // it stands before the blocks
	changed   func(int)
}

// SwatchRow makes one. selected is an index, CouldNotTell, or -1 for none;
// changed gets the same. An arrow chooses what it comes to, as in a [Choice].
func (k *Kit) SwatchRow(id string, label model.Msg, blocks []Swatch, selected int, changed func(int)) *Swatches {
	s := &Swatches{changed: changed}
	s.hold(s, k.Tight())
	if !label.IsZero() {
		s.box.Add(k.label(label))
	}
	help := k.BothSmall(model.T("kit.swatch-help"))
	unsure, wide := model.T("kit.could-not-tell"), k.letters(24)
	if second := k.t2(unsure); second != "" && k.look.scale() >= 1.5 { // a line more would push the words of the blocks out
		unsure, wide = Said(k.t(unsure)+" · "+second), k.letters(48)
	}
	s.tell = k.row(id+"-unclear", unsure, model.Msg{}, markRadio, selected == CouldNotTell, nil)
	s.tell.act = func() { s.pick(CouldNotTell) }
	tell := container.New(atMost{wide}, s.tell)
	// In large type the blocks are so tall that what follows them is out of view.
	// The answer beside them comes first there; what the pictures are for can be
	// scrolled to.
	s.tellFirst = k.look.scale() >= 1.5
	if s.tellFirst {
		s.box.Add(tell)
	} else {
		s.box.Add(help)
	}
	row := container.New(&swatchLine{s: s})
	for i, b := range blocks {
		c := k.swatchCell(id+"-"+strconv.Itoa(b.Step), b, i == selected)
		c.act = func() { s.pick(i) }
		c.key = func(ev *fyne.KeyEvent) bool { return s.move(s.place(i), ev) }
		s.cells = append(s.cells, c)
		row.Add(c)
	}
	s.box.Add(row)
	s.tell.key = func(ev *fyne.KeyEvent) bool { return s.move(s.place(CouldNotTell), ev) }
	if s.tellFirst {
		s.box.Add(help)
	} else {
		s.box.Add(tell)
	}
	return s
}

// place is where a block, or "could not tell", stands among all answers; block
// is the way back.
func (s *Swatches) place(i int) int {
	switch {
	case i == CouldNotTell && s.tellFirst:
		return 0
	case i == CouldNotTell:
		return len(s.cells)
	case s.tellFirst:
		return i + 1
	}
	return i
}

func (s *Swatches) block(place int) int {
	if place == s.place(CouldNotTell) {
		return CouldNotTell
	}
	if s.tellFirst {
		return place - 1
	}
	return place
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

// move goes along the blocks and on to "could not tell", and chooses where it
// stops: a ring around one block and a tick on another would be read as a choice
// that was never made.
func (s *Swatches) move(from int, ev *fyne.KeyEvent) bool {
	to, ok := step(from, len(s.cells)+1, ev)
	if ok && to != from {
		i := s.block(to)
		if i == CouldNotTell {
			focus(s.tell)
		} else {
			focus(s.cells[i])
		}
		s.pick(i)
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

// Patch is the picture of one block alone, to be known again beside its words.
func (k *Kit) Patch(b Swatch) fyne.CanvasObject {
	r := canvas.NewRaster(func(w, h int) image.Image { return swatchImage(w, h, b.RGB, b.Step) })
	r.SetMinSize(fyne.NewSquareSize(k.px(44)))
	return r
}

type swatchCell struct {
	control
	on     bool
	block  Swatch
	side   float32 // of the square
	number *Text
	value  *Text
	unit   *Text
	grade  *Text
	chosen *Text
}

// Measures of a cell in units; the widths of natural grow with the text.
const (
	swatchPad   = 6
	swatchLeast = 44 // width of a cell
	swatchMost  = 7  // cells that share a line, as long as they are not below the least
)

func (k *Kit) swatchCell(id string, b Swatch, on bool) *swatchCell {
	c := &swatchCell{on: on, block: b}
	c.k, c.id, c.label = k, id, strings.TrimSpace(b.Value+" "+b.Unit)
	square := canvas.NewRaster(func(w, h int) image.Image { return swatchImage(w, h, b.RGB, b.Step) })
	c.side = k.block()
	plate := canvas.NewCircle(hex(0xFFFFFF))
	plate.StrokeColor, plate.StrokeWidth = hex(0x000000), 1.5
	c.number, c.value, c.unit, c.grade, c.chosen = newText(), newText(), newText(), newText(), newText()
	for _, t := range []*Text{c.number, c.value, c.unit, c.grade, c.chosen} {
		t.align = fyne.TextAlignCenter
	}
	for i := range c.words() {
		c.set(i, 1)
	}
	c.numbered()
	picture := container.New(swatchLayout{c}, square, plate, c.number)
	c.paint = c.colours
	c.start(c, container.New(column{2}, picture, c.value, c.unit, c.grade, c.chosen), swatchPad, 10)
	c.lay = controlLayout{x: swatchPad, y: 10, top: true}
	return c
}

// words are the texts under the square, from above.
func (c *swatchCell) words() []*Text { return []*Text{c.value, c.unit, c.grade, c.chosen} }

// set writes one of the words, smaller by a factor.
func (c *swatchCell) set(word int, factor float32) {
	k := c.k
	text, small := k.px(sizeText)*factor, k.px(sizeSmall)*factor
	switch t := c.words()[word]; t {
	case c.value:
		t.setRuns([]run{{c.block.Value, text, true, k.pal.Ink}})
	case c.unit:
		t.setRuns([]run{{c.block.Unit, small, false, k.pal.Ink}})
		if c.block.Unit == "" {
			t.Hide()
		}
	case c.grade:
		t.setRuns([]run{{k.t(c.block.Grade), small, false, k.pal.Ink}, {k.t2(c.block.Grade), small, false, k.pal.Muted}})
	case c.chosen:
		t.setRuns([]run{{"✓ " + k.t(model.T("kit.chosen")), small, true, k.pal.Ink}})
	}
}

// block is the side of a square. It is a picture and grows less than the words
// under it, which must be in view with it.
func (k *Kit) block() float32 { return 72 + (max(k.look.scale(), 1)-1)*28 }

// plate is how wide the ground of the number is.
func (c *swatchCell) plate() float32 { return min(c.k.px(30), c.side*0.6) }

func (c *swatchCell) numbered() {
	c.number.setRuns([]run{{strconv.Itoa(c.block.Step + 1), c.plate() * sizeSmall / 30, true, hex(0x000000)}})
}

// natural gives all cells of a row about the same width.
func (c *swatchCell) natural() float32 {
	return min(max(c.control.natural(), c.k.px(118)), c.k.px(170))
}

// swatchLine sets the blocks beside each other, all equally wide, and makes
// them narrower rather than begin another line: the darkest blocks must not be
// the ones that have to be scrolled to.
type swatchLine struct {
	s     *Swatches
	width float32 // as last laid out; MinSize must know it
	cell  float32 // the width the words were last made to fit
	ideal float32 // width of a cell with all the room
}

// split is how many cells stand on a line, and how wide each is.
func (l *swatchLine) split(n int) (perLine int, cell float32) {
	if l.ideal == 0 {
		for _, c := range l.s.cells {
			l.ideal = max(l.ideal, c.natural())
		}
	}
	share := func(n int) float32 { return (l.width+gapTap)/float32(n) - gapTap }
	if l.width == 0 || share(n) >= l.ideal {
		return n, l.ideal
	}
	perLine = min(n, swatchMost)
	for perLine > 1 && share(perLine) < swatchLeast {
		perLine--
	}
	lines := (n + perLine - 1) / perLine
	perLine = (n + lines - 1) / lines
	return perLine, min(share(perLine), l.ideal)
}

// fit makes the words of all cells as large as the longest of them allows, but
// never smaller than at the first text size; a word that is still too long is
// broken.
func (l *swatchLine) fit(cell float32) {
	if cell == l.cell {
		return
	}
	l.cell = cell
	cells := l.s.cells
	room := cell - 2*swatchPad
	for word := range cells[0].words() {
		longest := float32(1)
		for _, c := range cells {
			c.set(word, 1)
			t := c.words()[word]
			longest = max(longest, t.least)
			if t == c.chosen { // the tick stays with its word
				longest = max(longest, t.natural())
			}
		}
		// Letters do not shrink quite evenly; a little less keeps the word whole.
		factor := float32(1)
		if longest > room {
			factor = max(0.97*room/longest, 1/cells[0].k.look.scale())
		}
		for _, c := range cells {
			if factor < 1 {
				c.set(word, factor)
			}
			t := c.words()[word]
			t.least = min(t.least, room)
		}
	}
	for _, c := range cells {
		c.side = min(c.k.block(), room)
		c.numbered()
		c.Refresh()
	}
}

func (l *swatchLine) Layout(objs []fyne.CanvasObject, size fyne.Size) {
	l.width = size.Width
	if len(objs) == 0 {
		return
	}
	perLine, cell := l.split(len(objs))
	l.fit(cell)
	y := float32(0)
	for from := 0; from < len(objs); from += perLine {
		line := objs[from:min(from+perLine, len(objs))]
		high := float32(0)
		for _, o := range line {
			high = max(high, heightAt(o, cell))
		}
		for i, o := range line {
			o.Move(fyne.NewPos(float32(i)*(cell+gapTap), y))
			o.Resize(fyne.NewSize(cell, high))
		}
		y += high + gapTap
	}
}

func (l *swatchLine) MinSize(objs []fyne.CanvasObject) fyne.Size {
	if len(objs) == 0 {
		return fyne.Size{}
	}
	perLine, _ := l.split(len(objs))
	s := fyne.NewSize(swatchLeast, -gapTap)
	for from := 0; from < len(objs); from += perLine {
		high := float32(0)
		for _, o := range objs[from:min(from+perLine, len(objs))] {
			high = max(high, o.MinSize().Height)
		}
		s.Height += high + gapTap
	}
	return s
}

func (l *swatchLine) natural(objs []fyne.CanvasObject) float32 {
	was := l.width
	l.width = 0
	n, cell := l.split(len(objs))
	l.width = was
	return max(float32(n)*(cell+gapTap)-gapTap, 0)
}

func (c *swatchCell) colours() {
	p := c.k.pal
	c.body.FillColor, c.body.StrokeColor, c.body.StrokeWidth = p.Card, p.Line, p.Border
	if c.hovered {
		c.body.StrokeColor, c.body.StrokeWidth = p.Ink, p.Border+hoverMore
	}
	word := clear
	if c.on {
		c.body.StrokeColor, c.body.StrokeWidth = p.Ink, max(3*p.Border, 5)
		word = p.Ink
	}
	c.chosen.recolour(word)
}

// swatchLayout centres the square and sets the number on a plate inside it.
type swatchLayout struct{ c *swatchCell }

func (l swatchLayout) Layout(objs []fyne.CanvasObject, s fyne.Size) {
	side, plate := l.c.side, l.c.plate()
	objs[0].Resize(fyne.NewSquareSize(side))
	objs[0].Move(fyne.NewPos((s.Width-side)/2, 0))
	at := fyne.NewPos((s.Width-plate)/2, (side-plate)/2)
	objs[1].Resize(fyne.NewSquareSize(plate))
	objs[1].Move(at)
	h := heightAt(objs[2], plate)
	objs[2].Resize(fyne.NewSize(plate, h))
	objs[2].Move(fyne.NewPos(at.X, at.Y+(plate-h)/2))
}

func (l swatchLayout) MinSize([]fyne.CanvasObject) fyne.Size { return fyne.NewSquareSize(l.c.side) }

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
