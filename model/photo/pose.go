package photo

import (
	"cmp"
	"math"
	"slices"

	"quietwater/model/strip"
)

const mostSettled = 8

// pose is where a strip lies on the chart's plane, in millimetres: the middle
// of its pad end, and the direction to its handle (of length 1, or a little
// more or less where the plane is not quite the chart's).
type pose struct{ end, along Point }

func (l pose) at(down, aside float64) Point {
	return l.end.plus(l.along.times(down)).plus(l.along.across().times(aside))
}

// seeker looks for the strip beside a chart that was found.
type seeker struct {
	f         *finder
	c         chart
	shape     strip.Shape
	rows      [][]Lab // of each pad's row: the blocks as they are in this picture
	inks      inks
	sigma     float64 // of how unlike a pad and its block may look in this picture, in CIEDE2000
	paper     light
	brightest float64       // of the paper's white
	haze      [3][3]float64 // log of the paper's white over the plane: at 0, per mm across, per mm down

	glaring, nearlyBurnt, burnt float64 // those limits with the picture's tone undone
}

func newSeeker(f *finder, c chart) *seeker {
	s := &seeker{f: f, c: c, shape: f.kind.Strip, paper: nominal(f.kind.Chart.Paper)}
	s.glaring, s.nearlyBurnt, s.burnt = f.p.tone.undo(glaring), f.p.tone.undo(nearlyBurnt), f.p.tone.undo(burnt)
	s.inks = inksOf(f.spots, c.seen, s.paper)
	s.sigma = math.Hypot(mixSD, bentShare*mean(miss(f.spots, c.seen, s.paper)))
	for _, pad := range s.shape.Pads {
		row := slices.IndexFunc(f.kind.Chart.Rows, func(r strip.Row) bool { return r.Pad == pad.Pad })
		var blocks []Lab
		for i, b := range f.spots {
			if b.row == row {
				// A block counts half as it is seen and half as it is printed:
				// what lies on it in this picture must not move its row.
				blocks = append(blocks, halfway(s.inks.of(c.seen[i].ratio(s.paper)).lab(), b.ink.lab()))
			}
		}
		s.rows = append(s.rows, blocks)
	}
	for ch := range 3 {
		s.haze[ch] = flat(f.spots, c.seen, ch)
	}
	for _, sw := range c.seen {
		s.brightest = math.Max(s.brightest, bright(sw.white))
	}
	return s
}

func halfway(a, b Lab) Lab { return Lab{(a.L + b.L) / 2, (a.A + b.A) / 2, (a.B + b.B) / 2} }

// flat fits the log of one channel of the paper's white to a slope over the
// chart, and again without what a reflection makes brighter.
func flat(spots []spot, seen []swatch, ch int) [3]float64 {
	var k [3]float64
	weight := make([]float64, len(seen))
	for i := range weight {
		weight[i] = 1
	}
	for range 4 {
		var m [3][3]float64
		var r [3]float64
		for i, s := range seen {
			if !s.ok {
				continue
			}
			x := [3]float64{1, spots[i].middle.X, spots[i].middle.Y}
			for a := range 3 {
				for b := range 3 {
					m[a][b] += weight[i] * x[a] * x[b]
				}
				r[a] += weight[i] * x[a] * math.Log(math.Max(s.white[ch], 1e-3))
			}
		}
		for a := 1; a < 3; a++ {
			m[a][a] += 300 // mm²: a small chart tells little of a slope
		}
		x, ok := solve(m[0][:], m[1][:], m[2][:], r[:])
		if !ok {
			return k
		}
		k = [3]float64(x)
		for i, s := range seen {
			off := (math.Log(math.Max(s.white[ch], 1e-3)) - k[0] - k[1]*spots[i].middle.X - k[2]*spots[i].middle.Y) / 0.1
			weight[i] = 1 / (1 + off*off)
		}
	}
	return k
}

// white is what paper would look like at a place of the plane. Beyond the
// chart's rim the slope is followed for a part of the way only.
func (s *seeker) white(p Point) light {
	w, h := s.f.kind.Chart.WidthMM, s.f.kind.Chart.HeightMM
	const beyond = 12
	x, y := clamp(p.X, -beyond, w+beyond), clamp(p.Y, -beyond, h+beyond)
	var out light
	for ch, k := range s.haze {
		out[ch] = math.Exp(k[0] + k[1]*x + k[2]*y)
	}
	return out
}

// look is what a strip would look like where it is thought to lie.
type look struct {
	score   float64
	backing float64 // share of places that are as white as a strip's back
	far     float64 // mean difference of the pads from their rows
	hits    int     // pads a patch was found at
	rim     float64 // how much it stands out from the table
}

// gaps are the places of the white backing, as distances from the pad end, and
// the handle as far as fingers seldom reach.
func gaps(sh strip.Shape) []float64 {
	var out []float64
	from := 0.0
	put := func(lo, hi float64) {
		if hi-lo >= 1.2 {
			out = append(out, (lo+hi)/2)
		}
	}
	for _, p := range sh.Pads {
		put(from, p.CenterMM-p.SizeMM/2)
		from = p.CenterMM + p.SizeMM/2
	}
	for d := from + 1; d < math.Min(sh.LengthMM-2, from+22); d += 2.5 {
		out = append(out, d)
	}
	return out
}

func (s *seeker) point(l pose, down, aside float64) Point { return s.c.view.at(l.at(down, aside)) }

// glance looks at a strip with few samples.
func (s *seeker) glance(l pose) look {
	var out look
	f, sh := s.f, s.shape
	places := gaps(sh)
	whites := make([]light, len(places))
	n, good, rim := 0.0, 0.0, 0.0
	for i, d := range places {
		at := s.point(l, d, 0)
		if !f.p.inside(at) {
			n++
			continue
		}
		c := f.p.at(at).plus(f.p.at(s.point(l, d, 0.22*sh.WidthMM))).plus(f.p.at(s.point(l, d, -0.22*sh.WidthMM))).times(1.0 / 3)
		whites[i] = c
		n++
		if s.whitish(c, l.at(d, 0)) {
			good++
		}
		for _, side := range []float64{-1, 1} {
			o := f.p.at(s.point(l, d, side*(sh.WidthMM/2+1.4)))
			if apart(c, o) > 0.12 {
				rim += 0.5
			}
		}
	}
	out.backing, out.rim = good/math.Max(n, 1), rim/math.Max(n, 1)
	looked := 0.0
	for i, pad := range sh.Pads {
		at := s.point(l, pad.CenterMM, 0)
		if !f.p.inside(at) {
			out.far += 25
			looked++
			continue
		}
		var in samples
		for _, d := range [5]Point{{}, {0.25, 0}, {-0.25, 0}, {0, 0.25}, {0, -0.25}} {
			in.add(f.p.at(s.point(l, pad.CenterMM+d.X*pad.SizeMM, d.Y*sh.WidthMM)))
		}
		if in.middle().least() > s.glaring {
			continue // what is mirrored on a pad speaks neither for it nor against it
		}
		looked++
		w := s.backing(l, places, whites, pad.CenterMM)
		out.far += math.Min(25, nearest(s.inks.of(ratio(in.middle(), w, s.paper)).lab(), s.rows[i]))
		if s.patchAt(at, s.c.view.scale(l.at(pad.CenterMM, 0)), pad.SizeMM) {
			out.hits++
		}
	}
	if looked == 0 {
		out.far, looked = 25, 1
	} else {
		out.far /= looked
	}
	out.score = 6*out.backing + 1.5*out.rim - 0.28*out.far + 3.2*float64(out.hits)/looked
	return out
}

// whitish reports a colour a white backing may have at a place.
func (s *seeker) whitish(c light, p Point) bool {
	lab := s.inks.of(ratio(c, s.white(p), s.paper)).lab()
	return math.Abs(lab.A) < 14 && math.Abs(lab.B) < 18 && lab.L > 55 && lab.L < 125
}

// backing is the white beside a pad: of the gaps on both its sides, weighed by
// how near they are.
func (s *seeker) backing(l pose, places []float64, whites []light, center float64) light {
	var sum light
	n := 0.0
	for side := range 2 {
		best := -1
		for i, d := range places {
			if (d < center) == (side == 0) && bright(whites[i]) > 0 && (best < 0 || math.Abs(d-center) < math.Abs(places[best]-center)) {
				best = i
			}
		}
		if best < 0 {
			continue
		}
		weight := 1 / math.Max(math.Abs(places[best]-center), 1)
		sum, n = sum.plus(whites[best].times(weight)), n+weight
	}
	if n == 0 {
		return s.white(l.at(center, 0))
	}
	return sum.times(1 / n)
}

func (s *seeker) patchAt(at Point, scale, size float64) bool {
	found := false
	s.f.blocks.around(at, 0.3*size*scale, func(i int) {
		r := s.f.patches[i].area / (size * size * scale * scale)
		found = found || r > 0.3 && r < 1.8
	})
	return found
}

// guesses are the poses that patches off the chart speak for.
func (s *seeker) guesses() []pose {
	f, sh := s.f, s.shape
	back, ok := s.c.view.back()
	if !ok {
		return nil
	}
	taken := map[int]bool{}
	for _, h := range s.c.hit {
		taken[h] = true
	}
	type piece struct {
		at, long    Point // in mm; long is half the long side
		short, area float64
	}
	var pads, bodies []piece
	padArea := sh.Pads[0].SizeMM * sh.WidthMM
	for i, q := range f.patches {
		if taken[i] {
			continue
		}
		at := back.at(q.at)
		if at.X < -120 || at.Y < -120 || at.X > f.kind.Chart.WidthMM+120 || at.Y > f.kind.Chart.HeightMM+120 {
			continue
		}
		long := back.at(q.at.plus(q.long)).minus(back.at(q.at.minus(q.long))).times(0.5)
		short := back.at(q.at.plus(q.long.across().times(q.short / q.half()))).minus(at).length()
		p := piece{at, long, short, 4 * long.length() * short}
		if r := p.area / padArea; r > 0.3 && r < 1.8 && long.length() < 2.2*short {
			pads = append(pads, p)
		}
		if r := 2 * short / sh.WidthMM; r > 0.5 && r < 1.5 && long.length() > 1.5*sh.WidthMM {
			bodies = append(bodies, p)
		}
	}
	var out []pose
	unit := func(p Point) Point { return p.times(1 / math.Max(p.length(), 1e-9)) }
	first := func(at, along Point, center float64) pose { return pose{at.minus(along.times(center)), along} }
	for i, a := range pads {
		for j, b := range pads {
			if i == j {
				continue
			}
			gap := b.at.minus(a.at)
			for m, p := range sh.Pads {
				for _, q := range sh.Pads[m+1:] {
					want := q.CenterMM - p.CenterMM
					if math.Abs(gap.length()-want) < math.Max(1.2, 0.05*want) {
						out = append(out, first(a.at.to(b.at, 0.5), unit(gap), (p.CenterMM+q.CenterMM)/2))
					}
				}
			}
		}
	}
	for _, a := range pads {
		for _, along := range [4]Point{unit(a.long), unit(a.long).times(-1), unit(a.long).across(), unit(a.long).across().times(-1)} {
			for _, p := range sh.Pads {
				out = append(out, first(a.at, along, p.CenterMM))
			}
		}
	}
	last := sh.Pads[len(sh.Pads)-1]
	for _, b := range bodies {
		for _, way := range [2]float64{-1, 1} {
			along := unit(b.long).times(way)
			half := b.long.length()
			out = append(out, first(b.at.plus(along.times(half)), along, sh.LengthMM), first(b.at.minus(along.times(half)), along, last.CenterMM+last.SizeMM/2))
		}
	}
	return out
}

// tried is a pose with what it looks like.
type tried struct {
	pose
	look
}

// find is the likeliest pose. ok is false where nothing speaks for any.
func (s *seeker) find() (best tried, ok bool) {
	all := slices.DeleteFunc(s.guesses(), s.onBlocks)
	out := make([]tried, len(all))
	inBands(len(all), func(from, to int) {
		for i := from; i < to; i++ {
			out[i] = tried{all[i], s.glance(all[i])}
		}
	})
	slices.SortStableFunc(out, func(a, b tried) int { return cmp.Compare(b.score, a.score) })
	return s.best(out[:min(len(out), mostSettled)], 3)
}

// onBlocks reports a pose whose pads would be blocks of the chart: a column of
// them looks much like a strip.
func (s *seeker) onBlocks(l pose) bool {
	for _, pad := range s.shape.Pads {
		at := l.at(pad.CenterMM, 0)
		for _, b := range s.f.spots {
			if math.Abs(at.X-b.middle.X) < b.w/2 && math.Abs(at.Y-b.middle.Y) < b.h/2 {
				return true
			}
		}
	}
	return false
}

// marked is the pose between two marks, either way round: hands err by some
// millimetres, and now and then in which end is which.
func (s *seeker) marked(ends [2]Point) (best tried, ok bool) {
	back, ok := s.c.view.back()
	if !ok {
		return tried{}, false
	}
	a, b := back.at(ends[0]), back.at(ends[1])
	along := b.minus(a)
	if along.length() < s.shape.LengthMM/2 {
		return tried{}, false
	}
	along = along.times(1 / along.length())
	mid := a.to(b, 0.5)
	half := along.times(s.shape.LengthMM / 2)
	return s.best([]tried{{pose: pose{mid.minus(half), along}}, {pose: pose{mid.plus(half), along.times(-1)}},
		{pose: pose{a, along}}, {pose: pose{b, along.times(-1)}}}, 4)
}

func (s *seeker) best(out []tried, reach float64) (tried, bool) {
	if len(out) == 0 {
		return tried{}, false
	}
	inBands(len(out), func(from, to int) {
		for i := from; i < to; i++ {
			out[i].pose, out[i].look = s.settle(out[i].pose, reach)
		}
	})
	slices.SortStableFunc(out, func(a, b tried) int { return cmp.Compare(b.score, a.score) })
	return out[0], true
}

// settle moves a strip about a little until its pads and gaps stand out most.
func (s *seeker) settle(l pose, reach float64) (pose, look) {
	best := s.contrast(l)
	turn, step := 0.03, reach/2
	for step > 0.1 {
		moved := false
		for _, m := range []pose{
			{l.at(step, 0), l.along}, {l.at(-step, 0), l.along}, {l.at(0, step/2), l.along}, {l.at(0, -step/2), l.along},
			s.turned(l, turn), s.turned(l, -turn), s.stretched(l, 1+turn), s.stretched(l, 1-turn),
		} {
			if c := s.contrast(m); c > best {
				best, l, moved = c, m, true
				break
			}
		}
		if !moved {
			step, turn = step/2, turn/2
		}
	}
	return l, s.glance(l)
}

// turned turns a strip about the middle of its pads.
func (s *seeker) turned(l pose, angle float64) pose {
	c, sn := math.Cos(angle), math.Sin(angle)
	return s.along(l, Point{l.along.X*c - l.along.Y*sn, l.along.X*sn + l.along.Y*c})
}

func (s *seeker) stretched(l pose, by float64) pose {
	along := l.along.times(by)
	if n := along.length(); n < 0.93 || n > 1.07 {
		return l
	}
	return s.along(l, along)
}

// along lays a strip another way, the middle of its pads staying.
func (s *seeker) along(l pose, along Point) pose {
	pads := s.shape.Pads
	mid := (pads[0].CenterMM + pads[len(pads)-1].CenterMM) / 2
	return pose{l.at(mid, 0).minus(along.times(mid)), along}
}

// contrast is high where pads are even and unlike the gaps beside them, and
// the gaps are white and unlike the table.
func (s *seeker) contrast(l pose) float64 {
	f, sh := s.f, s.shape
	sum := 0.0
	get := func(d, a float64) light { return f.p.at(s.point(l, d, a)) }
	places := gaps(sh)
	for _, d := range places {
		c := get(d, 0)
		left, right := get(d, 0.3*sh.WidthMM), get(d, -0.3*sh.WidthMM)
		if s.whitish(c, l.at(d, 0)) {
			sum += 1
		}
		sum -= apart(c, left) + apart(c, right)
		sum += 0.5 * (math.Min(0.4, apart(c, get(d, sh.WidthMM/2+0.8))) + math.Min(0.4, apart(c, get(d, -sh.WidthMM/2-0.8))))
	}
	k := float64(len(places)) / float64(len(sh.Pads))
	for _, p := range sh.Pads {
		r := p.SizeMM * 0.36
		in := [5]light{get(p.CenterMM, 0), get(p.CenterMM-r, 0), get(p.CenterMM+r, 0), get(p.CenterMM, 0.36*sh.WidthMM), get(p.CenterMM, -0.36*sh.WidthMM)}
		for _, c := range in[1:] {
			sum -= 1.0 * k * math.Min(0.5, apart(in[0], c))
		}
		before, after := get(p.CenterMM-p.SizeMM/2-0.7, 0), get(p.CenterMM+p.SizeMM/2+0.7, 0)
		sum += 0.5 * k * (math.Min(0.5, apart(in[0], before)) + math.Min(0.5, apart(in[0], after)))
	}
	return sum
}
