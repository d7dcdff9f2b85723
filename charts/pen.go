package charts

import (
	"math"

	"github.com/golang/freetype/truetype"
	"github.com/wcharczuk/go-chart/v2"
	"github.com/wcharczuk/go-chart/v2/drawing"
)

// pen is what both renderers share: the style set last, the path drawn so far, and the measuring of
// words. So both put everything in the same place.
type pen struct {
	fonts  Fonts
	dpi    float64
	class  string
	stroke drawing.Color
	fill   drawing.Color
	ink    drawing.Color // of words
	width  float64
	dash   []float64
	bold   bool
	points float64 // size of words
	turned bool
	turn   float64 // radians, clockwise
	path   path
}

func newPen(f Fonts) pen { return pen{fonts: f, dpi: chart.DefaultDPI} }

// ResetStyle forgets colours, widths and sizes; the font stays, as go-chart expects.
func (p *pen) ResetStyle() {
	p.class, p.stroke, p.fill, p.ink = "", drawing.Color{}, drawing.Color{}, drawing.Color{}
	p.width, p.dash, p.points = 0, nil, 0
	p.ClearTextRotation()
}

// GetDPI returns the dots per inch that turn points into logical pixels.
func (p *pen) GetDPI() float64 { return p.dpi }

// SetDPI sets the dots per inch; one that is not a positive number is ignored.
func (p *pen) SetDPI(dpi float64) {
	if dpi > 0 && !math.IsInf(dpi, 0) {
		p.dpi = dpi
	}
}

// SetClassName sets the class of what follows, which only SVG keeps.
func (p *pen) SetClassName(name string) { p.class = name }

// SetStrokeColor sets the colour of lines.
func (p *pen) SetStrokeColor(c drawing.Color) { p.stroke = c }

// SetFillColor sets the colour of areas.
func (p *pen) SetFillColor(c drawing.Color) { p.fill = c }

// SetStrokeWidth sets the width of lines in logical pixels.
func (p *pen) SetStrokeWidth(w float64) { p.width = w }

// SetStrokeDashArray sets the lengths of dashes and gaps in logical pixels.
func (p *pen) SetStrokeDashArray(d []float64) { p.dash = d }

// SetFont chooses the weight: Bold, or regular for any other.
func (p *pen) SetFont(f *truetype.Font) { p.bold = f == Bold }

// SetFontColor sets the colour of words.
func (p *pen) SetFontColor(c drawing.Color) { p.ink = c }

// SetFontSize sets the size of words in points.
func (p *pen) SetFontSize(points float64) { p.points = points }

// SetTextRotation turns words clockwise about their start, in radians.
func (p *pen) SetTextRotation(radians float64) {
	p.turned, p.turn = !math.IsNaN(radians) && !math.IsInf(radians, 0), radians
}

// ClearTextRotation sets words level again.
func (p *pen) ClearTextRotation() { p.turned, p.turn = false, 0 }

// MoveTo starts a new piece of the path.
func (p *pen) MoveTo(x, y int) { p.path.moveTo(x, y) }

// LineTo draws a straight line.
func (p *pen) LineTo(x, y int) { p.path.lineTo(x, y) }

// QuadCurveTo draws a quadratic curve with its control point first.
func (p *pen) QuadCurveTo(cx, cy, x, y int) { p.path.quadTo(cx, cy, x, y) }

// ArcTo draws a piece of an ellipse, from an angle on by delta, in radians clockwise from the right.
func (p *pen) ArcTo(cx, cy int, rx, ry, start, delta float64) {
	p.path.arcTo(cx, cy, rx, ry, start, delta)
}

// Close leads the path back to where its last piece started.
func (p *pen) Close() { p.path.close() }

// Circle adds a whole circle to the path.
func (p *pen) Circle(radius float64, x, y int) { p.path.circle(radius, x, y) }

// MeasureText returns the box of a line of text as go-chart lays it out: as wide as the text, and as
// high as a capital letter whatever the letters, so that labels stand on one line and centre on their
// tick. Tails and accents hang out of it: leave Extent.Descent below the lowest words of a chart.
func (p *pen) MeasureText(body string) chart.Box {
	size := p.size()
	if size == 0 {
		return chart.Box{}
	}
	e := p.fonts.Extent(body, size, p.bold)
	box := chart.Box{Right: int(math.Ceil(e.Advance - 1e-9)), Bottom: int(math.Ceil(e.CapHeight - 1e-9))}
	if !p.turned {
		return box
	}
	// Corners have to be bounded by all four: a box's own way back assumes they were not turned.
	return bound(box.Corners().Rotate(chart.RadiansToDegrees(p.turn)))
}

func bound(c chart.BoxCorners) chart.Box {
	return chart.Box{
		Top:    min(c.TopLeft.Y, c.TopRight.Y, c.BottomRight.Y, c.BottomLeft.Y),
		Left:   min(c.TopLeft.X, c.TopRight.X, c.BottomRight.X, c.BottomLeft.X),
		Right:  max(c.TopLeft.X, c.TopRight.X, c.BottomRight.X, c.BottomLeft.X),
		Bottom: max(c.TopLeft.Y, c.TopRight.Y, c.BottomRight.Y, c.BottomLeft.Y),
	}
}

// size is the em of words in logical pixels, 0 if they cannot be drawn.
func (p *pen) size() float64 {
	size := p.points * p.dpi / 72
	if !drawableSize(size) {
		return 0
	}
	return size
}

// strokeWidth is the width of lines, 0 if none can be seen.
func (p *pen) strokeWidth() float64 {
	if p.stroke.A == 0 || !(p.width > 0) || p.width > maxSize {
		return 0
	}
	return p.width
}

// dashes returns an even number of dash and gap lengths, or nil for a solid line: one nobody could see
// the gaps of, or whose lengths make no sense (then their sum is no number, or infinite).
func (p *pen) dashes() []float64 {
	var sum float64
	for _, d := range p.dash {
		if d < 0 {
			return nil
		}
		sum += d
	}
	if !(sum >= 0.5) || math.IsInf(sum, 0) {
		return nil
	}
	if len(p.dash)%2 == 1 {
		return append(append([]float64(nil), p.dash...), p.dash...)
	}
	return p.dash
}

type point struct{ x, y float64 }

// path is a list of lines and circles in logical pixels. Curves are made of short lines at once, fine
// enough for eight-fold scale.
type path struct {
	lines   []line
	circles []disc
	broken  bool // an absurd coordinate came last: the next line starts anew
}

type line struct {
	pts    []point
	closed bool
}

type disc struct {
	at point
	r  float64
}

// farthest is the coordinate beyond which a point is an accident, not an outlier.
const farthest = 1 << 31

func sane(x, y int) bool {
	return x > -farthest && x < farthest && y > -farthest && y < farthest
}

// reset empties the path and keeps its memory.
func (p *path) reset() {
	p.lines, p.circles, p.broken = p.lines[:0], p.circles[:0], false
}

func (p *path) start(at point) {
	p.broken = false
	if n := len(p.lines); n < cap(p.lines) {
		p.lines = p.lines[:n+1]
		p.lines[n].pts = append(p.lines[n].pts[:0], at)
		p.lines[n].closed = false
		return
	}
	p.lines = append(p.lines, line{pts: []point{at}})
}

// pen returns where the path is, if it is anywhere.
func (p *path) pen() (point, bool) {
	if p.broken || len(p.lines) == 0 {
		return point{}, false
	}
	l := &p.lines[len(p.lines)-1]
	if l.closed {
		return l.pts[0], true
	}
	return l.pts[len(l.pts)-1], true
}

func (p *path) add(at point) {
	from, ok := p.pen()
	if !ok {
		p.start(at)
		return
	}
	if p.lines[len(p.lines)-1].closed {
		p.start(from)
	}
	l := &p.lines[len(p.lines)-1]
	if at != from {
		l.pts = append(l.pts, at)
	}
}

func (p *path) moveTo(x, y int) {
	if !sane(x, y) {
		p.broken = true
		return
	}
	p.start(point{float64(x), float64(y)})
}

func (p *path) lineTo(x, y int) {
	if !sane(x, y) {
		p.broken = true
		return
	}
	p.add(point{float64(x), float64(y)})
}

func (p *path) quadTo(cx, cy, x, y int) {
	a, ok := p.pen()
	if !ok || !sane(cx, cy) || !sane(x, y) {
		p.lineTo(x, y)
		return
	}
	b, c := point{float64(cx), float64(cy)}, point{float64(x), float64(y)}
	eachOfQuad(a, b, c, 8, p.add)
}

func (p *path) arcTo(cx, cy int, rx, ry, start, delta float64) {
	if !sane(cx, cy) || !(rx >= 0 && rx < farthest) || !(ry >= 0 && ry < farthest) ||
		math.IsNaN(start+delta) || math.IsInf(start+delta, 0) {
		return
	}
	delta = math.Max(-2*math.Pi, math.Min(2*math.Pi, delta))
	n := int(math.Ceil(math.Abs(delta) / arcStep(math.Max(rx, ry)*8)))
	for i := 0; i <= n; i++ {
		sin, cos := math.Sincos(start + delta*float64(i)/float64(max(n, 1)))
		p.add(point{float64(cx) + rx*cos, float64(cy) + ry*sin})
	}
}

func (p *path) close() {
	if n := len(p.lines); n > 0 && !p.broken {
		p.lines[n-1].closed = true
	}
}

func (p *path) circle(radius float64, x, y int) {
	if sane(x, y) && radius > 0 && radius < farthest {
		p.circles = append(p.circles, disc{point{float64(x), float64(y)}, radius})
	}
}

// level reports whether every line runs along an axis, so that its edges can lie on pixel edges.
func (p *path) level() bool {
	if len(p.circles) > 0 {
		return false
	}
	for _, l := range p.lines {
		for i := range l.pts {
			j := i + 1
			if j == len(l.pts) {
				if !l.closed {
					break
				}
				j = 0
			}
			if a, b := l.pts[i], l.pts[j]; a.x != b.x && a.y != b.y {
				return false
			}
		}
	}
	return true
}

// thin shortens runs of points that stand above each other to the first, the extremes and the last:
// the same pixels are covered, by fewer lines.
func (l *line) thin() {
	pts := l.pts
	out := pts[:0]
	for i := 0; i < len(pts); {
		j, lo, hi := i, i, i
		for ; j < len(pts) && pts[j].x == pts[i].x; j++ {
			if pts[j].y < pts[lo].y {
				lo = j
			}
			if pts[j].y > pts[hi].y {
				hi = j
			}
		}
		run := [4]point{pts[i], pts[min(lo, hi)], pts[max(lo, hi)], pts[j-1]}
		for _, q := range run {
			if len(out) == 0 || out[len(out)-1] != q {
				out = append(out, q)
			}
		}
		i = j
	}
	l.pts = out
}

// arcStep is the angle a straight line may bridge on a circle of that many pixels' radius without
// leaving it by more than a tenth of one.
func arcStep(radius float64) float64 {
	if radius < 0.2 {
		return math.Pi / 2
	}
	return math.Max(2*math.Acos(1-0.1/radius), 1e-3)
}

// eachOfQuad walks a quadratic curve in short lines. zoom is how many pixels a unit will become.
func eachOfQuad(a, b, c point, zoom float64, to func(point)) {
	bend := math.Hypot(a.x-2*b.x+c.x, a.y-2*b.y+c.y) * zoom
	n := 1 + int(math.Sqrt(math.Sqrt(3)*math.Min(bend, 1e6)))
	for i := 1; i < n; i++ {
		t := float64(i) / float64(n)
		u := 1 - t
		to(point{u*u*a.x + 2*u*t*b.x + t*t*c.x, u*u*a.y + 2*u*t*b.y + t*t*c.y})
	}
	to(c)
}

// eachOfCubic is eachOfQuad for a cubic curve.
func eachOfCubic(a, b, c, d point, zoom float64, to func(point)) {
	bend := math.Max(math.Hypot(a.x-2*b.x+c.x, a.y-2*b.y+c.y), math.Hypot(b.x-2*c.x+d.x, b.y-2*c.y+d.y)) * zoom
	n := 2 + int(math.Sqrt(3*math.Min(bend, 1e6)))
	for i := 1; i < n; i++ {
		t := float64(i) / float64(n)
		u := 1 - t
		to(point{
			u*u*u*a.x + 3*u*u*t*b.x + 3*u*t*t*c.x + t*t*t*d.x,
			u*u*u*a.y + 3*u*u*t*b.y + 3*u*t*t*c.y + t*t*t*d.y,
		})
	}
	to(d)
}
