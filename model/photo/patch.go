package photo

import (
	"cmp"
	"math"
	"slices"
)

// patch is an evenly coloured, roughly rectangular piece of the picture: a
// chart's block, a strip's pad or its handle, and much that is none of them.
type patch struct {
	at    Point   // its middle
	long  Point   // half its long side, as a vector
	short float64 // half its short side
	area  float64 // in pixels
	pure  light   // its mean colour
}

func (p *patch) half() float64 { return p.long.length() }

const (
	searchSide = 1000 // patches are looked for in a picture so long
	leastPatch = 40   // pixels there
	mostPatch  = 0.045
	leastFill  = 0.70 // of its rectangle
	mostRatio  = 16   // a strip's handle is long
	edge       = 1.6  // pixels of a rim that a flat piece loses
)

// flatBelow are the gradients, in brightness levels of 255 between neighbours,
// below which a pixel counts as even: a fine one for quiet pictures, a coarse
// one for noise.
var flatBelow = []float64{3.5, 6, 10, 17}

// patches finds the even pieces of a picture, the largest of those that lie
// upon one another.
func (p *Picture) patches() []patch {
	small, scale := p.smaller(searchSide)
	if small.W < 8 || small.H < 8 {
		return nil
	}
	steep := small.steepness()
	found := make([][]patch, len(flatBelow))
	inBands(len(flatBelow), func(from, to int) {
		for i := from; i < to; i++ {
			found[i] = small.even(steep, flatBelow[i])
		}
	})
	out := once(slices.Concat(found...))
	for i := range out {
		q := &out[i]
		q.at = Point{(q.at.X+0.5)*scale - 0.5, (q.at.Y+0.5)*scale - 0.5}
		q.long = q.long.times(scale)
		q.short *= scale
		q.area *= scale * scale
	}
	return out
}

// once keeps the largest patch of each place.
func once(all []patch) []patch {
	slices.SortStableFunc(all, func(a, b patch) int { return cmp.Compare(b.area, a.area) })
	var out []patch
	near := newGrid(searchSide, searchSide, 16)
	for _, q := range all {
		taken := false
		near.around(q.at, math.Min(q.short, 40), func(i int) {
			o := &out[i]
			taken = taken || o.area < 3*q.area && o.at.minus(q.at).length() < 0.5*o.short
		})
		if !taken {
			near.put(q.at, len(out))
			out = append(out, q)
		}
	}
	return out
}

// steepness is how much the brightest of the three channels changes at each
// pixel, as it would in a place of middling brightness.
func (p *Picture) steepness() []float32 {
	n := p.W * p.H
	out := make([]float32, n)
	brightness := make([]float32, n)
	var soft [3][]float32
	inBands(3, func(from, to int) {
		for c := from; c < to; c++ {
			soft[c] = p.soft(c)
		}
	})
	inBands(p.H, func(from, to int) {
		for i := from * p.W; i < to*p.W; i++ {
			brightness[i] = max(soft[0][i], soft[1][i], soft[2][i])
		}
	})
	around := means(brightness, p.W, p.H, 15)
	inBands(p.H, func(from, to int) {
		for y := max(from, 1); y < min(to, p.H-1); y++ {
			for x := 1; x < p.W-1; x++ {
				i := y*p.W + x
				most := float32(0)
				for c := range 3 {
					up, at, down := soft[c][i-p.W-1:i-p.W+2], soft[c][i-1:i+2], soft[c][i+p.W-1:i+p.W+2]
					gx := 3*(up[2]-up[0]) + 10*(at[2]-at[0]) + 3*(down[2]-down[0])
					gy := 3*(down[0]-up[0]) + 10*(down[1]-up[1]) + 3*(down[2]-up[2])
					most = max(most, gx*gx+gy*gy)
				}
				out[i] = float32(math.Sqrt(float64(most))) / 16 * 128 / max(around[i], 25)
			}
		}
	})
	for x := range p.W { // no piece reaches the rim
		out[x], out[n-1-x] = 255, 255
	}
	for y := range p.H {
		out[y*p.W], out[y*p.W+p.W-1] = 255, 255
	}
	return out
}

// soft is one channel after a Gaussian of about a pixel.
func (p *Picture) soft(c int) []float32 {
	w, h := p.W, p.H
	rows, out := make([]float32, w*h), make([]float32, w*h)
	for y := range h {
		line := p.pix[3*y*w+c:]
		get := func(x int) float32 { return float32(line[3*min(max(x, 0), w-1)]) }
		for x := range w {
			if x >= 2 && x < w-2 {
				at := line[3*(x-2):]
				rows[y*w+x] = (float32(at[0]) + float32(at[12]) + 4*(float32(at[3])+float32(at[9])) + 6*float32(at[6])) / 16
				continue
			}
			rows[y*w+x] = (get(x-2) + get(x+2) + 4*(get(x-1)+get(x+1)) + 6*get(x)) / 16
		}
	}
	row := func(y int) []float32 { y = min(max(y, 0), h-1); return rows[y*w : y*w+w] }
	for y := range h {
		a, b, c, d, e := row(y-2), row(y-1), row(y), row(y+1), row(y+2)
		to := out[y*w : y*w+w]
		for x := range to {
			to[x] = (a[x] + e[x] + 4*(b[x]+d[x]) + 6*c[x]) / 16
		}
	}
	return out
}

// means is the mean of the square of 2r+1 pixels round each pixel.
func means(v []float32, w, h, r int) []float32 {
	sums := make([]float64, (w+1)*(h+1))
	for y := range h {
		line := 0.0
		for x := range w {
			line += float64(v[y*w+x])
			sums[(y+1)*(w+1)+x+1] = sums[y*(w+1)+x+1] + line
		}
	}
	out := make([]float32, w*h)
	inBands(h, func(from, to int) {
		for y := from; y < to; y++ {
			y0, y1 := max(0, y-r), min(h, y+r+1)
			for x := range w {
				x0, x1 := max(0, x-r), min(w, x+r+1)
				s := sums[y1*(w+1)+x1] - sums[y0*(w+1)+x1] - sums[y1*(w+1)+x0] + sums[y0*(w+1)+x0]
				out[y*w+x] = float32(s / float64((y1-y0)*(x1-x0)))
			}
		}
	})
	return out
}

// run is a stretch of even pixels of one row, x from to before to.
type run struct{ y, from, to, piece int }

// even finds connected pieces that are flatter than a limit.
func (p *Picture) even(steep []float32, limit float64) []patch {
	runs := p.runs(steep, float32(limit))
	area, kept := map[int]int{}, map[int][]run{}
	for i, r := range runs {
		runs[i].piece = root(runs, i)
		area[runs[i].piece] += r.to - r.from
	}
	most := int(mostPatch * float64(p.W*p.H))
	for _, r := range runs {
		if n := area[r.piece]; n >= leastPatch && n <= most {
			kept[r.piece] = append(kept[r.piece], r)
		}
	}
	var out []patch
	for i := range runs { // in the order they lie, not that of a map
		if piece, ok := kept[i]; ok {
			if q, ok := p.rectangle(piece, area[i]); ok {
				out = append(out, q)
			}
		}
	}
	return out
}

// runs joins each run with those it touches in the row above. A piece is named
// by the run it began with.
func (p *Picture) runs(steep []float32, limit float32) []run {
	var runs []run
	above, aboveEnd := 0, 0
	for y := range p.H {
		line := steep[y*p.W : y*p.W+p.W]
		first := len(runs)
		for x := 0; x < p.W; x++ {
			if line[x] >= limit {
				continue
			}
			from := x
			for x < p.W && line[x] < limit {
				x++
			}
			me := len(runs)
			runs = append(runs, run{y, from, x, me})
			for above < aboveEnd && runs[above].to <= from {
				above++
			}
			for j := above; j < aboveEnd && runs[j].from < x; j++ {
				a, b := root(runs, j), root(runs, me)
				runs[max(a, b)].piece = min(a, b)
			}
		}
		above, aboveEnd = first, len(runs)
	}
	return runs
}

func root(runs []run, i int) int {
	for runs[i].piece != i {
		runs[i].piece = runs[runs[i].piece].piece
		i = runs[i].piece
	}
	return i
}

// rectangle lays the smallest rectangle round a piece. ok is false where the
// piece fills too little of it.
func (p *Picture) rectangle(piece []run, area int) (patch, bool) {
	var corners []Point
	var sum light
	for _, r := range piece {
		corners = append(corners, Point{float64(r.from), float64(r.y)}, Point{float64(r.to), float64(r.y)},
			Point{float64(r.from), float64(r.y + 1)}, Point{float64(r.to), float64(r.y + 1)})
		for x := r.from; x < r.to; x++ {
			c := p.pix[3*(r.y*p.W+x):]
			sum[0] += linear[c[0]]
			sum[1] += linear[c[1]]
			sum[2] += linear[c[2]]
		}
	}
	ring := hull(corners)
	best := math.Inf(1)
	var q patch
	for i, a := range ring {
		b := ring[(i+1)%len(ring)]
		along := b.minus(a)
		if along.length() == 0 {
			continue
		}
		along = along.times(1 / along.length())
		lo, hi := Point{math.Inf(1), math.Inf(1)}, Point{math.Inf(-1), math.Inf(-1)}
		for _, c := range ring {
			u, v := c.X*along.X+c.Y*along.Y, c.Y*along.X-c.X*along.Y
			lo, hi = Point{math.Min(lo.X, u), math.Min(lo.Y, v)}, Point{math.Max(hi.X, u), math.Max(hi.Y, v)}
		}
		w, h := hi.X-lo.X, hi.Y-lo.Y
		if w*h >= best {
			continue
		}
		best = w * h
		u, v := (lo.X+hi.X)/2, (lo.Y+hi.Y)/2
		q.at = Point{u*along.X - v*along.Y - 0.5, u*along.Y + v*along.X - 0.5}
		if w >= h {
			q.long, q.short = along.times(w/2+edge), h/2+edge
		} else {
			q.long, q.short = along.across().times(h/2+edge), w/2+edge
		}
	}
	if float64(area) < leastFill*best || q.half() > mostRatio*q.short {
		return q, false
	}
	q.area = 4 * q.half() * q.short
	q.pure = light{sum[0] / float64(area), sum[1] / float64(area), sum[2] / float64(area)}
	return q, true
}

// hull is the smallest ring round some points (Andrew's monotone chain).
func hull(ps []Point) []Point {
	slices.SortFunc(ps, func(a, b Point) int { return cmp.Or(cmp.Compare(a.X, b.X), cmp.Compare(a.Y, b.Y)) })
	ps = slices.Compact(ps)
	if len(ps) < 3 {
		return ps
	}
	half := func(ps []Point) []Point {
		var out []Point
		for _, p := range ps {
			for n := len(out); n >= 2 && turn(out[n-2], out[n-1], p) <= 0; n = len(out) {
				out = out[:n-1]
			}
			out = append(out, p)
		}
		return out[:len(out)-1]
	}
	lower := half(ps)
	slices.Reverse(ps)
	return append(lower, half(ps)...)
}

func turn(a, b, c Point) float64 { return (b.X-a.X)*(c.Y-a.Y) - (b.Y-a.Y)*(c.X-a.X) }

// grid finds numbered points near a place.
type grid struct {
	cell          float64
	columns, rows int
	in            [][]numbered
}

type numbered struct {
	at Point
	i  int
}

func newGrid(w, h int, cell float64) *grid {
	g := &grid{cell: cell, columns: int(float64(w)/cell) + 1, rows: int(float64(h)/cell) + 1}
	g.in = make([][]numbered, g.columns*g.rows)
	return g
}

func (g *grid) column(x float64) int { return min(max(int(x/g.cell), 0), g.columns-1) }
func (g *grid) row(y float64) int    { return min(max(int(y/g.cell), 0), g.rows-1) }

func (g *grid) put(p Point, i int) {
	k := g.row(p.Y)*g.columns + g.column(p.X)
	g.in[k] = append(g.in[k], numbered{p, i})
}

// around calls fn for the points within r of p.
func (g *grid) around(p Point, r float64, fn func(i int)) {
	for y := g.row(p.Y - r); y <= g.row(p.Y+r); y++ {
		for x := g.column(p.X - r); x <= g.column(p.X+r); x++ {
			for _, n := range g.in[y*g.columns+x] {
				if d := n.at.minus(p); d.X*d.X+d.Y*d.Y <= r*r {
					fn(n.i)
				}
			}
		}
	}
}
