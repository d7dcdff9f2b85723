package kit

import (
	"image"
	"image/color"
	"math"
	"slices"
	"strconv"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/canvas"
	"fyne.io/fyne/v2/container"

	"quietwater/model"
)

// RowMark is what a [ChartSketch] says of a row.
type RowMark int

// A row is read now (a full arrow and its word), comes next (an empty arrow and
// its word), or neither.
const (
	RowPlain RowMark = iota
	RowNow
	RowSoon
)

// ChartSketch is a printed chart drawn small and upright: its rows from the top,
// each with its number, so that the right one can be counted to on the pack in
// the hand. It has no colours, because none is to be matched with it.
type ChartSketch struct {
	group
	k     *Kit
	words map[RowMark]model.Msg
	rows  []*sketchRow
}

type sketchRow struct {
	ground *canvas.Rectangle
	number *Text
	blocks []fyne.CanvasObject
	arrow  *canvas.Raster
	word   *Text
	mark   RowMark
	high   float32
}

// Measures of the sketch in units that do not grow with the type: it is as large
// as a window allows, to be seen from the wash basin.
const (
	sketchHigh   = 500 // all rows
	sketchRowMax = 50
	sketchBlocks = 4 // drawn in each row
)

// ChartSketch draws a chart of n rows; now and soon are the words beside the
// arrows.
func (k *Kit) ChartSketch(n int, now, soon model.Msg) *ChartSketch {
	s := &ChartSketch{k: k, words: map[RowMark]model.Msg{RowNow: now, RowSoon: soon}}
	box := container.New(column{0})
	high := min(float32(sketchRowMax), sketchHigh/float32(max(n, 1)))
	wide := float32(0)
	for _, m := range []model.Msg{now, soon} {
		wide = max(wide, run{k.t(m), high * 0.6, true, k.pal.Ink}.measure(k.t(m)).Width)
	}
	for i := range n {
		r := &sketchRow{high: high, ground: canvas.NewRectangle(clear), number: newText(), word: newText()}
		r.number.align = fyne.TextAlignCenter
		r.number.setRuns([]run{{strconv.Itoa(i + 1), high * 0.6, true, k.pal.Ink}})
		r.arrow = canvas.NewRaster(func(w, h int) image.Image { return arrowImage(w, h, r.mark == RowNow, k.pal.Ink) })
		objs := []fyne.CanvasObject{r.ground, r.number, r.arrow, r.word}
		for range sketchBlocks {
			b := canvas.NewRectangle(k.pal.Card)
			b.StrokeColor, b.StrokeWidth = k.pal.Ink, 1.5
			r.blocks = append(r.blocks, b)
			objs = append(objs, b)
		}
		s.paint(r)
		s.rows = append(s.rows, r)
		box.Add(container.New(sketchLayout{r, wide + 4}, objs...))
	}
	frame := k.frame(k.pal.Card, k.pal.Line, max(k.pal.Border, 1))
	s.hold(s, container.New(inset{6, 6}, frame, box))
	return s
}

// Set marks some rows, counted from 0, and no others. Only what changes is drawn
// again: a clock runs beside it.
func (s *ChartSketch) Set(mark RowMark, rows ...int) {
	changed := false
	for i, r := range s.rows {
		m := RowPlain
		if slices.Contains(rows, i) {
			m = mark
		}
		if m != r.mark {
			r.mark, changed = m, true
			s.paint(r)
		}
	}
	if changed {
		s.Refresh() // the words find their place
	}
}

func (s *ChartSketch) paint(r *sketchRow) {
	r.ground.FillColor, r.ground.StrokeColor, r.ground.StrokeWidth = clear, clear, 0
	r.word.setRuns(nil)
	r.word.Hide()
	r.arrow.Hide()
	if r.mark != RowPlain {
		r.ground.FillColor, r.ground.StrokeColor, r.ground.StrokeWidth = s.k.pal.Soft, s.k.pal.Ink, 2
		r.word.setRuns([]run{{s.k.t(s.words[r.mark]), r.high * 0.6, true, s.k.pal.Ink}})
		r.word.Show()
		r.arrow.Show()
	}
	r.ground.Refresh()
	r.arrow.Refresh()
	r.word.Refresh()
}

// BesideSketch sets things beside a sketch, from the top.
func (k *Kit) BesideSketch(s *ChartSketch, right ...fyne.CanvasObject) fyne.CanvasObject {
	return container.New(beside{gap: gapCard, stretch: true}, container.New(column{0}, s), k.Column(right...))
}

// sketchLayout sets the parts of a row from the left: number, blocks, arrow, word.
type sketchLayout struct {
	r    *sketchRow
	word float32
}

// parts are where number, blocks, arrow and word begin, and the whole width.
func (l sketchLayout) parts() (blocks, arrow, word, all float32) {
	h := l.r.high
	blocks = h * 0.95
	arrow = blocks + sketchBlocks*h*0.5 + h*0.15
	word = arrow + h*0.55
	return blocks, arrow, word, word + l.word + h*0.1
}

func (l sketchLayout) Layout(_ []fyne.CanvasObject, size fyne.Size) {
	r, h := l.r, l.r.high
	blocks, arrow, word, _ := l.parts()
	r.ground.Move(fyne.NewPos(0, 1))
	r.ground.Resize(fyne.NewSize(size.Width, h-2))
	text := heightAt(r.number, h*0.9)
	r.number.Move(fyne.NewPos(0, (h-text)/2))
	r.number.Resize(fyne.NewSize(h*0.9, text))
	for i, b := range r.blocks {
		b.Move(fyne.NewPos(blocks+float32(i)*h*0.5, h*0.3))
		b.Resize(fyne.NewSquareSize(h * 0.4))
	}
	r.arrow.Move(fyne.NewPos(arrow, h*0.25))
	r.arrow.Resize(fyne.NewSquareSize(h * 0.5))
	text = heightAt(r.word, l.word)
	r.word.Move(fyne.NewPos(word, (h-text)/2))
	r.word.Resize(fyne.NewSize(l.word, text))
}

func (l sketchLayout) MinSize([]fyne.CanvasObject) fyne.Size {
	_, _, _, all := l.parts()
	return fyne.NewSize(all, l.r.high)
}

// arrowImage draws an arrow's head that points left, full or empty.
func arrowImage(w, h int, full bool, ink color.NRGBA) *image.NRGBA {
	img := image.NewNRGBA(image.Rect(0, 0, w, h))
	W, H := float64(w), float64(h)
	slope := math.Hypot(W, H/2)
	for y := range h {
		for x := range w {
			fx, fy := float64(x)+0.5, float64(y)+0.5
			// How far inside the two slanting edges and the upright one.
			inside := math.Min((fx*H/2-math.Abs(fy-H/2)*W)/slope, W-fx)
			a := cover(inside)
			if !full {
				a -= cover(inside - math.Max(2, W/9))
			}
			c := ink
			c.A = uint8(math.Round(255 * math.Max(a, 0)))
			img.SetNRGBA(x, y, c)
		}
	}
	return img
}
