package charts

import (
	"io"
	"math"

	"github.com/wcharczuk/go-chart/v2"
	"github.com/wcharczuk/go-chart/v2/drawing"

	"quietwater/charts/typeset"
)

// Canvas is a page that keeps what is drawn on it as lines, areas and words. Lengths are in logical
// pixels, y downwards.
type Canvas interface {
	Shape(Shape)
	Lettering(Lettering)
}

// Shape is an area, its edge, or both. A colour without opacity draws nothing.
type Shape struct {
	Pieces []Piece
	Fill   drawing.Color
	Stroke drawing.Color
	Width  float64
	Dashes []float64
}

// Piece is a run of straight lines.
type Piece struct {
	Points [][2]float64
	Closed bool
}

// Lettering is a line of words from a place on its baseline, turned clockwise about it by Turn in
// radians. Size is the em.
type Lettering struct {
	Text       string
	X, Y, Size float64
	Turn       float64
	Bold       bool
	Ink        drawing.Color
}

// Draw draws a chart on a canvas.
func Draw(c Drawable, fonts Fonts, on Canvas) error {
	return c.Render(func(int, int) (chart.Renderer, error) {
		if fonts.Regular == nil {
			return nil, errNoFont
		}
		return &onCanvas{newPen(fonts), on}, nil
	}, io.Discard)
}

// onCanvas hands everything on.
type onCanvas struct {
	pen
	to Canvas
}

// Save has nothing to write.
func (v *onCanvas) Save(io.Writer) error { return nil }

// Stroke draws the lines of the path and forgets it.
func (v *onCanvas) Stroke() { v.draw(false, true) }

// Fill fills the path and forgets it.
func (v *onCanvas) Fill() { v.draw(true, false) }

// FillStroke fills the path, draws its lines above, and forgets it.
func (v *onCanvas) FillStroke() { v.draw(true, true) }

// Text sets a line of words, from x on along the baseline y.
func (v *onCanvas) Text(body string, x, y int) {
	size := v.size()
	if body = typeset.Clean(body); size == 0 || v.ink.A == 0 || !sane(x, y) || body == "" {
		return
	}
	l := Lettering{Text: body, X: float64(x), Y: float64(y), Size: size, Bold: v.bold, Ink: v.ink}
	if v.turned {
		l.Turn = v.turn
	}
	v.to.Lettering(l)
}

func (v *onCanvas) draw(fill, stroke bool) {
	defer v.path.reset()
	var s Shape
	if fill {
		s.Fill = v.fill
	}
	if width := v.strokeWidth(); stroke && width > 0 {
		s.Stroke, s.Width, s.Dashes = v.stroke, width, v.dashes()
	}
	if s.Fill.A == 0 && s.Stroke.A == 0 {
		return
	}
	round := path{}
	for _, c := range v.path.circles {
		round.circleLines(c)
	}
	for _, l := range append(v.path.lines, round.lines...) {
		if len(l.pts) < 2 {
			continue
		}
		p := Piece{Closed: l.closed}
		for _, at := range l.pts {
			p.Points = append(p.Points, [2]float64{at.x, at.y})
		}
		s.Pieces = append(s.Pieces, p)
	}
	if len(s.Pieces) > 0 {
		v.to.Shape(s)
	}
}

// circleLines adds a circle as short lines.
func (p *path) circleLines(c disc) {
	p.start(point{c.at.x + c.r, c.at.y})
	p.arcTo(int(c.at.x), int(c.at.y), c.r, c.r, 0, 2*math.Pi)
	p.close()
}
