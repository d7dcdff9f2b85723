package charts

import (
	"encoding/binary"
	"fmt"
	"image"
	"image/draw"
	"image/png"
	"io"
	"math"

	"github.com/wcharczuk/go-chart/v2"
	"github.com/wcharczuk/go-chart/v2/drawing"
	"golang.org/x/image/vector"

	"quietwater/charts/typeset"
)

// Limits of an image: more pixels than any page or screen needs would only exhaust the memory.
const (
	maxScale  = 8
	maxPixels = 1 << 26
)

// Raster returns a provider that draws a chart of logical pixels into an image of scale times as many:
// a chart laid out at 1280 by 300 becomes 2560 by 600 at scale 2, with the same layout and finer lines.
// The scale is above 0 and at most 8. A chart without height or width becomes an empty image.
//
// The renderer's Save hands the image itself to a writer that is a chart.RGBACollector (chart.ImageWriter
// is one), and writes PNG to any other; Image does the first in one call.
func Raster(fonts Fonts, scale float64) chart.RendererProvider {
	return func(w, h int) (chart.Renderer, error) {
		if fonts.Regular == nil {
			return nil, errNoFont
		}
		if !(scale > 0 && scale <= maxScale) {
			return nil, fmt.Errorf("charts: scale %g is not above 0 and at most %d", scale, maxScale)
		}
		pw, ph := math.Round(float64(max(w, 0))*scale), math.Round(float64(max(h, 0))*scale)
		if pw > maxPixels || ph > maxPixels || pw*ph > maxPixels {
			return nil, fmt.Errorf("charts: an image of %.0f by %.0f pixels is too large", pw, ph)
		}
		return &raster{
			pen:   newPen(fonts),
			img:   image.NewRGBA(image.Rect(0, 0, int(pw), int(ph))),
			scale: scale,
		}, nil
	}
}

// Drawable is what go-chart can draw: chart.Chart, chart.BarChart and their like.
type Drawable interface {
	Render(chart.RendererProvider, io.Writer) error
}

// Image draws a chart into an image, without a detour through PNG. See Raster for the scale.
func Image(c Drawable, fonts Fonts, scale float64) (*image.RGBA, error) {
	var got collector
	if err := c.Render(Raster(fonts, scale), &got); err != nil {
		return nil, err
	}
	return got.img, nil
}

type collector struct{ img *image.RGBA }

func (c *collector) SetRGBA(img *image.RGBA)     { c.img = img }
func (c *collector) Write(b []byte) (int, error) { return len(b), nil }

// raster draws into an image. Shapes are gathered as polygons, and painted together through one mask
// that is no larger than they are; rectangles on pixel edges skip the mask.
type raster struct {
	pen
	img   *image.RGBA
	scale float64

	corners []point // of the polygons gathered, in image pixels
	ends    []int   // where each polygon ends in corners
	clipped []point // scratch
	laid    []point // scratch
	z       vector.Rasterizer
	mask    image.Alpha
}

// Save hands over the image, or writes it as PNG, which cannot hold an empty one.
func (r *raster) Save(w io.Writer) error {
	if c, ok := w.(chart.RGBACollector); ok {
		c.SetRGBA(r.img)
		return nil
	}
	return png.Encode(w, r.img)
}

// Stroke draws the lines of the path and forgets it.
func (r *raster) Stroke() {
	r.strokePath()
	r.path.reset()
}

// Fill fills the path and forgets it.
func (r *raster) Fill() {
	r.fillPath()
	r.path.reset()
}

// FillStroke fills the path, draws its lines above, and forgets it.
func (r *raster) FillStroke() {
	r.fillPath()
	r.strokePath()
	r.path.reset()
}

// Text draws a line of words, from x on along the baseline y.
func (r *raster) Text(body string, x, y int) {
	size := r.size() * r.scale
	if size == 0 || r.ink.A == 0 || !sane(x, y) {
		return
	}
	ox, oy := float64(x)*r.scale, float64(y)*r.scale
	sin, cos := 0.0, 1.0
	if r.turned {
		sin, cos = math.Sincos(r.turn)
	} else {
		oy = math.Round(oy) // a baseline between pixels would blur every foot
	}
	for _, g := range r.fonts.set(body, r.bold).Glyphs {
		r.glyph(g, func(p typeset.Point) point {
			px, py := (p.X+g.X)*size, (p.Y+g.Y)*size
			return point{ox + px*cos - py*sin, oy + px*sin + py*cos}
		})
	}
	r.paint(r.ink)
}

// glyph gathers an outline, unless it lies wholly outside the image.
func (r *raster) glyph(g typeset.Glyph, place func(typeset.Point) point) {
	from, first := len(r.corners), len(r.ends)
	var at point
	add := func(p point) {
		at = p
		r.corners = append(r.corners, p)
	}
	for _, c := range g.Outline {
		p0, p1, p2 := place(c.P[0]), place(c.P[1]), place(c.P[2])
		switch c.Op {
		case typeset.Move:
			r.endPolygon()
			add(p0)
		case typeset.Straight:
			add(p0)
		case typeset.Quad:
			eachOfQuad(at, p0, p1, 1, add)
		case typeset.Cube:
			eachOfCubic(at, p0, p1, p2, 1, add)
		}
	}
	r.endPolygon()
	if len(r.corners) > from && !box(r.corners[from:]).Overlaps(r.img.Rect) {
		r.corners, r.ends = r.corners[:from], r.ends[:first]
	}
}

func (r *raster) fillPath() {
	if r.fill.A == 0 {
		return
	}
	for i := range r.path.lines {
		l := &r.path.lines[i]
		r.laid = r.laid[:0]
		for _, p := range l.pts {
			r.laid = append(r.laid, point{p.x * r.scale, p.y * r.scale})
		}
		if a, ok := rectangle(r.laid); ok && len(r.path.lines) == 1 {
			r.paintRect(a, r.fill)
			continue
		}
		r.polygon(r.clip(r.laid))
	}
	for _, c := range r.path.circles {
		r.polygon(r.clip(r.ring(c, 0)))
	}
	r.paint(r.fill)
}

func (r *raster) strokePath() {
	w := r.strokeWidth() * r.scale
	if w == 0 {
		return
	}
	dashes := r.dashes()
	level := r.path.level()
	if level {
		w = math.Max(1, math.Round(w))
	}
	for i := range r.path.lines {
		l := &r.path.lines[i]
		if dashes == nil {
			l.thin()
		}
		switch {
		case level && dashes == nil && r.stroke.A == 0xff:
			r.blocks(l, w)
		case level:
			r.strokeLine(lengthen(r.align(l.pts, w), l.closed, w), l.closed, w, dashes)
		default:
			r.strokeLine(r.middle(l.pts), l.closed, w, dashes)
		}
	}
	for _, c := range r.path.circles {
		if dashes != nil {
			r.strokeLine(r.ring(c, 0), true, w, dashes)
			continue
		}
		// The outline and, the other way round, the hole.
		r.polygon(r.clip(r.ring(c, w/2)))
		hole := r.ring(c, -w/2)
		for i, j := 0, len(hole)-1; i < j; i, j = i+1, j-1 {
			hole[i], hole[j] = hole[j], hole[i]
		}
		r.polygon(r.clip(hole))
	}
	r.paint(r.stroke)
}

// middle takes points to the middles of their logical pixels, in image pixels.
func (r *raster) middle(pts []point) []point {
	r.laid = r.laid[:0]
	for _, p := range pts {
		r.laid = append(r.laid, point{(p.x + 0.5) * r.scale, (p.y + 0.5) * r.scale})
	}
	return r.laid
}

// align is middle for lines along the axes: moved so that the edges of a stroke of whole width w fall
// on pixel edges.
func (r *raster) align(pts []point, w float64) []point {
	r.middle(pts)
	for i, p := range r.laid {
		r.laid[i] = point{math.Round(p.x-w/2) + w/2, math.Round(p.y-w/2) + w/2}
	}
	return r.laid
}

// lengthen gives an open line square ends.
func lengthen(pts []point, closed bool, w float64) []point {
	if n := len(pts); n > 1 && !closed {
		pts[0] = beyond(pts[1], pts[0], w/2)
		pts[n-1] = beyond(pts[n-2], pts[n-1], w/2)
	}
	return pts
}

func beyond(from, to point, by float64) point {
	dx, dy := to.x-from.x, to.y-from.y
	d := math.Hypot(dx, dy)
	if d == 0 {
		return to
	}
	return point{to.x + dx/d*by, to.y + dy/d*by}
}

// ring returns a circle as a polygon, its radius grown by so many image pixels; nothing if none is left.
func (r *raster) ring(c disc, grow float64) []point {
	r.laid = r.laid[:0]
	radius := c.r*r.scale + grow
	if radius <= 0 {
		return nil
	}
	x, y := (c.at.x+0.5)*r.scale, (c.at.y+0.5)*r.scale
	n := max(8, int(math.Ceil(2*math.Pi/arcStep(radius*4))))
	for i := range n {
		sin, cos := math.Sincos(2 * math.Pi * float64(i) / float64(n))
		r.laid = append(r.laid, point{x + radius*cos, y + radius*sin})
	}
	return r.laid
}

// blocks paints an opaque stroke along the axes at once, a rectangle for each stretch. The ends of an
// open line reach over their whole logical pixel: at odd scales a tick in the next one must touch it.
func (r *raster) blocks(l *line, w float64) {
	pts := r.align(l.pts, w)
	n := len(pts)
	open := !l.closed && l.pts[0] != l.pts[n-1]
	for i, a := range pts {
		j := i + 1
		if j == n {
			if !l.closed {
				return
			}
			j = 0
		}
		b := pts[j]
		if a == b {
			continue
		}
		rect := area{
			math.Min(a.x, b.x) - w/2, math.Min(a.y, b.y) - w/2,
			math.Max(a.x, b.x) + w/2, math.Max(a.y, b.y) + w/2,
		}
		if open && i == 0 {
			rect.reach(r.tip(l.pts[1], l.pts[0]), a, b)
		}
		if open && j == n-1 {
			rect.reach(r.tip(l.pts[n-2], l.pts[n-1]), a, b)
		}
		r.paintRect(rect, r.stroke)
	}
}

// tip is the far edge of a line's last logical pixel, in image pixels.
func (r *raster) tip(from, end point) point {
	t := beyond(from, end, r.width/2)
	return point{(t.x + 0.5) * r.scale, (t.y + 0.5) * r.scale}
}

// strokeLine gathers a stroke: one quadrilateral for each stretch, and a fan in the gap that two leave
// on the outside of a bend. All turn the same way, so that overlaps cannot cancel each other.
func (r *raster) strokeLine(pts []point, closed bool, w float64, dashes []float64) {
	n := len(pts)
	if closed {
		n++
	}
	reach := w/2 + 1
	view := area{-reach, -reach, float64(r.img.Rect.Max.X) + reach, float64(r.img.Rect.Max.Y) + reach}
	rhythm := newRhythm(dashes, r.scale)
	var first, last point // directions
	whole := false        // the last stretch reached its end inside the view
	startWhole := false
	started := false
	for i := 1; i < n; i++ {
		a, b := pts[i-1], pts[i%len(pts)]
		length := math.Hypot(b.x-a.x, b.y-a.y)
		if length == 0 {
			continue
		}
		dir := point{(b.x - a.x) / length, (b.y - a.y) / length}
		t0, t1, seen := view.cut(a, b)
		if !seen {
			rhythm.skip(length)
			whole, started = false, true
			continue
		}
		if whole && t0 == 0 && rhythm.on() {
			r.bend(a, last, dir, w/2)
		}
		if !started {
			first, startWhole, started = dir, t0 == 0 && rhythm.on(), true
		}
		rhythm.skip(t0 * length)
		rhythm.run(t0*length, t1*length, func(from, to float64) {
			r.stretch(point{a.x + dir.x*from, a.y + dir.y*from}, point{a.x + dir.x*to, a.y + dir.y*to}, dir, w/2)
		})
		rhythm.skip((1 - t1) * length)
		last, whole = dir, t1 == 1
	}
	if closed && whole && startWhole && rhythm.on() {
		r.bend(pts[0], last, first, w/2)
	}
}

func (r *raster) stretch(a, b, dir point, half float64) {
	nx, ny := -dir.y*half, dir.x*half
	r.corners = append(r.corners,
		point{a.x + nx, a.y + ny}, point{b.x + nx, b.y + ny},
		point{b.x - nx, b.y - ny}, point{a.x - nx, a.y - ny})
	r.endPolygon()
}

// bend fills the wedge on the outside of a bend at p, in the directions d0 and then d1. Under a width of
// a pixel and a half nobody sees the gap.
func (r *raster) bend(p, d0, d1 point, half float64) {
	cross, dot := d0.x*d1.y-d0.y*d1.x, d0.x*d1.x+d0.y*d1.y
	if half < 0.75 || (dot > 0 && math.Abs(cross) < 0.02) {
		return
	}
	angle := math.Atan2(math.Abs(cross), dot)
	// The fan goes from the left normal of one direction to that of the other, turning left; for a bend
	// to the left the outside is on the right, and the fan is walked from the end.
	u := point{-d0.y * half, d0.x * half}
	if cross > 0 {
		u = point{d1.y * half, -d1.x * half}
	}
	n := int(math.Ceil(angle / arcStep(half)))
	sin, cos := math.Sincos(-angle / float64(n))
	r.corners = append(r.corners, p, point{p.x + u.x, p.y + u.y})
	for range n {
		u = point{u.x*cos - u.y*sin, u.x*sin + u.y*cos}
		r.corners = append(r.corners, point{p.x + u.x, p.y + u.y})
	}
	r.endPolygon()
}

// polygon gathers one polygon.
func (r *raster) polygon(pts []point) {
	r.corners = append(r.corners, pts...)
	r.endPolygon()
}

func (r *raster) endPolygon() {
	if n := len(r.ends); n == 0 && len(r.corners) == 0 || n > 0 && r.ends[n-1] == len(r.corners) {
		return
	}
	r.ends = append(r.ends, len(r.corners))
}

// clip cuts a polygon to the image, side by side.
func (r *raster) clip(pts []point) []point {
	w, h := float64(r.img.Rect.Max.X), float64(r.img.Rect.Max.Y)
	sides := [4]func(point) float64{ // how far inside
		func(p point) float64 { return p.x },
		func(p point) float64 { return w - p.x },
		func(p point) float64 { return p.y },
		func(p point) float64 { return h - p.y },
	}
	for _, inside := range sides {
		in := true
		for _, p := range pts {
			if inside(p) < 0 {
				in = false
				break
			}
		}
		if in {
			continue
		}
		out := r.clipped[:0]
		for i, b := range pts {
			a := pts[(i+len(pts)-1)%len(pts)]
			da, db := inside(a), inside(b)
			if (da < 0) != (db < 0) {
				t := da / (da - db)
				out = append(out, point{a.x + (b.x-a.x)*t, a.y + (b.y-a.y)*t})
			}
			if db >= 0 {
				out = append(out, b)
			}
		}
		r.clipped, r.laid = r.laid, out
		pts = out
	}
	return pts
}

// paint puts the polygons gathered on the image in one colour, and forgets them.
func (r *raster) paint(c drawing.Color) {
	defer func() { r.corners, r.ends = r.corners[:0], r.ends[:0] }()
	if len(r.corners) == 0 {
		return
	}
	bounds := box(r.corners).Intersect(r.img.Rect)
	if bounds.Empty() {
		return
	}
	w, h := bounds.Dx(), bounds.Dy()
	ox, oy := float64(bounds.Min.X), float64(bounds.Min.Y)
	r.z.Reset(w, h)
	i := 0
	for _, end := range r.ends {
		r.z.MoveTo(float32(r.corners[i].x-ox), float32(r.corners[i].y-oy))
		for i++; i < end; i++ {
			r.z.LineTo(float32(r.corners[i].x-ox), float32(r.corners[i].y-oy))
		}
		r.z.ClosePath()
	}
	if cap(r.mask.Pix) < w*h {
		r.mask.Pix = make([]byte, w*h)
	}
	r.mask.Pix, r.mask.Stride, r.mask.Rect = r.mask.Pix[:w*h], w, image.Rect(0, 0, w, h)
	r.z.DrawOp = draw.Src
	r.z.Draw(&r.mask, r.mask.Rect, image.Opaque, image.Point{})
	for y := range h {
		blend(r.img.Pix[r.img.PixOffset(bounds.Min.X, bounds.Min.Y+y):], r.mask.Pix[y*w:(y+1)*w], c)
	}
}

// blend lays a colour over a row of pixels, as much of it as the mask says.
func blend(pix, mask []byte, c drawing.Color) {
	a := uint32(c.A)
	cr, cg, cb := uint32(c.R)*a, uint32(c.G)*a, uint32(c.B)*a // of 255²
	for i := 0; i < len(mask); i++ {
		if mask[i] == 0 {
			for i+8 < len(mask) && binary.LittleEndian.Uint64(mask[i:]) == 0 {
				i += 8
			}
			if mask[i] == 0 {
				continue
			}
		}
		m := uint32(mask[i])
		p := pix[4*i : 4*i+4 : 4*i+4]
		rest := 255*255 - a*m // of what was there
		p[0] = byte((cr*m + uint32(p[0])*rest + 255*255/2) / (255 * 255))
		p[1] = byte((cg*m + uint32(p[1])*rest + 255*255/2) / (255 * 255))
		p[2] = byte((cb*m + uint32(p[2])*rest + 255*255/2) / (255 * 255))
		p[3] = byte((a*m*255 + uint32(p[3])*rest + 255*255/2) / (255 * 255))
	}
}

// paintRect fills a rectangle, its edges moved to the nearest pixel edges.
func (r *raster) paintRect(a area, c drawing.Color) {
	w, h := float64(r.img.Rect.Max.X), float64(r.img.Rect.Max.Y)
	edge := func(v, limit float64) int { return int(math.Round(math.Max(0, math.Min(limit, v)))) }
	dst := image.Rect(edge(a.x0, w), edge(a.y0, h), edge(a.x1, w), edge(a.y1, h))
	if dst.Empty() {
		return
	}
	if c.A == 0xff {
		draw.Draw(r.img, dst, image.NewUniform(opaque{c}), image.Point{}, draw.Src)
		return
	}
	row := make([]byte, dst.Dx())
	for i := range row {
		row[i] = 0xff
	}
	for y := dst.Min.Y; y < dst.Max.Y; y++ {
		blend(r.img.Pix[r.img.PixOffset(dst.Min.X, y):], row, c)
	}
}

// opaque is a colour for the image package; go-chart's own conversion rounds downwards.
type opaque struct{ c drawing.Color }

func (o opaque) RGBA() (r, g, b, a uint32) {
	return uint32(o.c.R) * 0x101, uint32(o.c.G) * 0x101, uint32(o.c.B) * 0x101, 0xffff
}

// box returns the whole pixels that hold all points. Points are near the image or clipped to it.
func box(pts []point) image.Rectangle {
	lo, hi := pts[0], pts[0]
	for _, p := range pts[1:] {
		lo.x, lo.y = math.Min(lo.x, p.x), math.Min(lo.y, p.y)
		hi.x, hi.y = math.Max(hi.x, p.x), math.Max(hi.y, p.y)
	}
	return image.Rect(int(math.Floor(lo.x)), int(math.Floor(lo.y)), int(math.Ceil(hi.x)), int(math.Ceil(hi.y)))
}

type area struct{ x0, y0, x1, y1 float64 }

// reach widens the area of a stretch from a to b, along it only, to hold the pixel p touches.
func (v *area) reach(p, a, b point) {
	low := func(x float64) float64 { return math.Floor(x + 1e-6) }
	high := func(x float64) float64 { return math.Ceil(x - 1e-6) }
	if a.y == b.y {
		v.x0, v.x1 = math.Min(v.x0, low(p.x)), math.Max(v.x1, high(p.x))
	} else {
		v.y0, v.y1 = math.Min(v.y0, low(p.y)), math.Max(v.y1, high(p.y))
	}
}

// rectangle reports whether a polygon is a rectangle along the axes, and which.
func rectangle(p []point) (area, bool) {
	if len(p) == 5 && p[4] == p[0] {
		p = p[:4]
	}
	if len(p) != 4 {
		return area{}, false
	}
	across := p[0].y == p[1].y && p[1].x == p[2].x && p[2].y == p[3].y && p[3].x == p[0].x
	down := p[0].x == p[1].x && p[1].y == p[2].y && p[2].x == p[3].x && p[3].y == p[0].y
	return area{
		math.Min(p[0].x, p[2].x), math.Min(p[0].y, p[2].y),
		math.Max(p[0].x, p[2].x), math.Max(p[0].y, p[2].y),
	}, across || down
}

// cut returns which part of the way from a to b lies within the area, as fractions.
func (v area) cut(a, b point) (t0, t1 float64, ok bool) {
	t0, t1 = 0, 1
	for _, side := range [4][2]float64{
		{a.x - b.x, a.x - v.x0}, {b.x - a.x, v.x1 - a.x},
		{a.y - b.y, a.y - v.y0}, {b.y - a.y, v.y1 - a.y},
	} {
		slope, room := side[0], side[1]
		switch {
		case slope == 0 && room < 0:
			return 0, 0, false
		case slope < 0:
			t0 = math.Max(t0, room/slope)
		case slope > 0:
			t1 = math.Min(t1, room/slope)
		}
	}
	return t0, t1, t0 < t1
}

// rhythm knows where along a line its dashes are. Without lengths it is always on.
type rhythm struct {
	lengths []float64
	sum     float64
	i       int     // which length we are in; even ones are drawn
	left    float64 // of it
}

func newRhythm(dashes []float64, scale float64) *rhythm {
	r := &rhythm{}
	for _, d := range dashes {
		r.lengths = append(r.lengths, d*scale)
		r.sum += d * scale
	}
	if len(dashes) > 0 {
		r.left = r.lengths[0]
	}
	return r
}

func (r *rhythm) on() bool { return r.i%2 == 0 }

func (r *rhythm) skip(length float64) {
	if r.lengths != nil {
		r.walk(0, math.Mod(length, r.sum), func(_, _ float64) {})
	}
}

// run calls draw for each dash between two distances.
func (r *rhythm) run(from, to float64, draw func(from, to float64)) {
	if r.lengths == nil {
		draw(from, to)
		return
	}
	r.walk(from, to, draw)
}

func (r *rhythm) walk(from, to float64, draw func(from, to float64)) {
	for to-from > 1e-9 {
		step := math.Min(r.left, to-from)
		if r.on() && step > 0 {
			draw(from, from+step)
		}
		from += step
		if r.left -= step; r.left <= 1e-9 {
			r.i = (r.i + 1) % len(r.lengths)
			r.left = r.lengths[r.i]
		}
	}
}
