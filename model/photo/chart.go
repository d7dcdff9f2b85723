package photo

import (
	"cmp"
	"math"
	"slices"

	"quietwater/model/strip"
)

// spot is a block of the chart: where the leaflet prints it and in what colour.
type spot struct {
	row, block int
	middle     Point // in millimetres
	w, h       float64
	ink        light
}

func spotsOf(k *strip.Kind) []spot {
	var out []spot
	for i, r := range k.Chart.Rows {
		for j, b := range r.Blocks {
			out = append(out, spot{i, j, Point{b.Rect[0] + b.Rect[2]/2, b.Rect[1] + b.Rect[3]/2}, b.Rect[2], b.Rect[3], nominal(b.RGB)})
		}
	}
	return out
}

// chart is a chart found in a picture.
type chart struct {
	view  view
	hit   []int    // per spot the patch seen there, -1 for none
	hits  int      // how many
	drift float64  // mean colour difference from what is printed, once the light is allowed for
	cost  float64  // less is better
	seen  []swatch // per spot
}

// finder looks for one kind of chart among the patches of a picture.
type finder struct {
	p       *Picture
	kind    *strip.Kind
	spots   []spot
	patches []patch
	blocks  *grid // of the patches a block could be
	pitch   float64
}

const (
	mostBlockRatio = 3.2
	mostSeeds      = 14
	mostGrown      = 14
)

func newFinder(p *Picture, k *strip.Kind) *finder {
	f := &finder{p: p, kind: k, spots: spotsOf(k), patches: p.patches(), blocks: newGrid(p.W, p.H, 40)}
	for i, q := range f.patches {
		if q.half() <= mostBlockRatio*q.short {
			f.blocks.put(q.at, i)
		}
	}
	f.pitch = math.Inf(1)
	for i, a := range f.spots {
		for _, b := range f.spots[:i] {
			f.pitch = math.Min(f.pitch, a.middle.minus(b.middle).length())
		}
	}
	return f
}

// charts lists where the chart may lie, the likeliest first.
func (f *finder) charts() []chart {
	type guess struct {
		view view
		from int // the spot it began with
	}
	var guesses []guess
	for _, i := range f.seeds() {
		q := f.patches[i]
		for s, b := range f.spots {
			for turn := range 4 {
				if v, ok := viewFrom(q, b, turn); ok {
					guesses = append(guesses, guess{v, s})
				}
			}
		}
	}
	grown := make([]chart, len(guesses))
	inBands(len(guesses), func(from, to int) {
		for i := from; i < to; i++ {
			g := guesses[i]
			grown[i] = f.grow(g.view, f.spots[g.from].middle, false)
		}
	})
	slices.SortStableFunc(grown, func(a, b chart) int { return b.hits - a.hits })
	grown = f.distinct(grown)
	inBands(len(grown), func(from, to int) {
		for i := from; i < to; i++ {
			grown[i] = f.settle(grown[i])
		}
	})
	slices.SortStableFunc(grown, func(a, b chart) int { return cmp.Compare(a.cost, b.cost) })
	return grown
}

// marked is the chart whose corners a person marked.
func (f *finder) marked(corners [4]Point) (chart, bool) {
	w, h := f.kind.Chart.WidthMM, f.kind.Chart.HeightMM
	v, ok := perspective([]pair{{Point{}, corners[0]}, {Point{w, 0}, corners[1]}, {Point{w, h}, corners[2]}, {Point{0, h}, corners[3]}}, 0)
	if !ok || turn(corners[0], corners[1], corners[2]) <= 0 || turn(corners[2], corners[3], corners[0]) <= 0 {
		return chart{}, false
	}
	as := chart{view: v}
	as.hit, _, _ = f.match(v, Point{w / 2, h / 2}, math.Inf(1), 0.45)
	return f.settle(as), true
}

// distinct keeps one of each place the chart may lie, up to a number.
func (f *finder) distinct(all []chart) []chart {
	w, h := f.kind.Chart.WidthMM, f.kind.Chart.HeightMM
	var out []chart
	for _, c := range all {
		if len(out) == mostGrown || c.hits < max(3, len(f.spots)/4, all[0].hits*2/3) {
			break
		}
		if !slices.ContainsFunc(out, func(o chart) bool {
			return o.view.at(Point{}).minus(c.view.at(Point{})).length() < 6 && o.view.at(Point{w, h}).minus(c.view.at(Point{w, h})).length() < 6
		}) {
			out = append(out, c)
		}
	}
	return out
}

// seeds are the patches with the most others of their size near them, as the
// blocks of a chart have.
func (f *finder) seeds() []int {
	type seed struct{ i, near int }
	var all []seed
	for i, q := range f.patches {
		if q.half() > mostBlockRatio*q.short {
			continue
		}
		s := seed{i: i}
		f.blocks.around(q.at, 7*q.half(), func(j int) {
			if r := f.patches[j].area / q.area; r > 0.6 && r < 1.7 {
				s.near++
			}
		})
		all = append(all, s)
	}
	slices.SortStableFunc(all, func(a, b seed) int { return b.near - a.near })
	var out []int
	for _, s := range all[:min(len(all), mostSeeds)] {
		out = append(out, s.i)
	}
	return out
}

// viewFrom is how the chart lies if a patch is one of its blocks.
func viewFrom(q patch, b spot, turn int) (view, bool) {
	x, y := q.long.times(2/b.w), q.long.across().times(2*q.short/q.half()/b.h)
	if turn%2 == 1 {
		x, y = q.long.across().times(-2*q.short/q.half()/b.w), q.long.times(2/b.h)
	}
	if turn >= 2 {
		x, y = x.times(-1), y.times(-1)
	}
	if r := x.length() / y.length(); r < 0.6 || r > 1.7 {
		return view{}, false
	}
	return view{x.X, y.X, q.at.X - x.X*b.middle.X - y.X*b.middle.Y, x.Y, y.Y, q.at.Y - x.Y*b.middle.X - y.Y*b.middle.Y, 0, 0}, true
}

// grow matches the spots near a place first and then ever more, fitting anew
// after each step. full fits the perspective too.
func (f *finder) grow(v view, from Point, full bool) chart {
	c := chart{view: v}
	reach := []float64{1.6, 3.2, 6.5, math.Inf(1)}
	if full {
		reach = []float64{math.Inf(1), math.Inf(1), math.Inf(1), math.Inf(1)}
	}
	for i, r := range reach {
		var pairs []pair
		var looked int
		c.hit, pairs, looked = f.match(c.view, from, r*f.pitch, []float64{0.45, 0.42, 0.4, 0.36}[i])
		c.hits = len(pairs)
		if c.hits < min(3, i+2) || 2*c.hits < looked {
			return c
		}
		next := affine(pairs, c.view, 0.3)
		if full && c.hits >= 6 {
			// What lies off by more than others do is not what it was taken for.
			pairs = f.trimmed(pairs, c.view)
			if p, ok := perspective(pairs, 0.002*float64(len(pairs))); ok {
				next = p
			}
		}
		c.view = next
	}
	c.hit, _, _ = f.match(c.view, from, math.Inf(1), 0.36)
	c.hits = 0
	for _, h := range c.hit {
		if h >= 0 {
			c.hits++
		}
	}
	return c
}

// trimmed leaves out the pairs that fit worst.
func (f *finder) trimmed(pairs []pair, v view) []pair {
	off := make([]float64, len(pairs))
	for i, q := range pairs {
		off[i] = v.at(q.plane).minus(q.seen).length()
	}
	limit := math.Max(2, 2.5*median(slices.Clone(off)))
	var out []pair
	for i, q := range pairs {
		if off[i] <= limit {
			out = append(out, q)
		}
	}
	if len(out) < 6 {
		return pairs
	}
	return out
}

// match finds the patch of each spot within reach of a place. near is how far
// from where it is expected, in sizes of a block. looked is how many spots of
// the picture were in reach.
func (f *finder) match(v view, from Point, reach, near float64) (hit []int, pairs []pair, looked int) {
	hit = make([]int, len(f.spots))
	for i, s := range f.spots {
		hit[i] = -1
		if s.middle.minus(from).length() > reach {
			continue
		}
		at, scale := v.at(s.middle), v.scale(s.middle)
		if !f.p.inside(at) {
			continue
		}
		looked++
		best := near * math.Min(s.w, s.h) * scale
		f.blocks.around(at, best, func(j int) {
			q := &f.patches[j]
			if r := q.area / (s.w * s.h * scale * scale); r < 0.45 || r > 1.6 {
				return
			}
			if d := q.at.minus(at).length(); d < best {
				best, hit[i] = d, j
			}
		})
		if hit[i] >= 0 {
			pairs = append(pairs, pair{s.middle, f.patches[hit[i]].at})
		}
	}
	return hit, pairs, looked
}

// settle fits the perspective and says how well the colours agree with what is
// printed.
func (f *finder) settle(c chart) chart {
	middle := Point{f.kind.Chart.WidthMM / 2, f.kind.Chart.HeightMM / 2}
	if full := f.grow(c.view, middle, true); full.hits >= c.hits-1 && full.hits >= 3 {
		c = full
	}
	c.seen = f.seen(c)
	outside := 0
	for _, s := range c.seen {
		if !s.ok {
			outside++
		}
	}
	c.drift = drift(f.spots, c.seen)
	n := float64(len(f.spots))
	c.cost = c.drift + 25*float64(outside)/n - 6*float64(c.hits)/n
	return c
}

// swatch is a block as it is seen.
type swatch struct {
	ok    bool  // it lies in the picture
	raw   light // as the picture has it
	white light // the paper round it
}

// ratio is the colour as light thrown back, the paper having its own.
func (s swatch) ratio(paper light) light { return ratio(s.raw, s.white, paper) }

// where a spot's middle is seen: its patch's, where one was found, since paper
// bends.
func (f *finder) where(c chart, i int) Point {
	if c.hit[i] >= 0 {
		return f.patches[c.hit[i]].at
	}
	return c.view.at(f.spots[i].middle)
}

func (f *finder) seen(c chart) []swatch {
	out := make([]swatch, len(f.spots))
	for i, s := range f.spots {
		at := f.where(c, i)
		shift := at.minus(c.view.at(s.middle))
		place := func(x, y float64) Point { return c.view.at(Point{s.middle.X + x, s.middle.Y + y}).plus(shift) }
		sw := swatch{ok: true}
		for _, corner := range [4]Point{place(-s.w/2, -s.h/2), place(s.w/2, -s.h/2), place(s.w/2, s.h/2), place(-s.w/2, s.h/2)} {
			sw.ok = sw.ok && f.p.inside(corner)
		}
		if sw.ok {
			var in samples
			for y := range 7 {
				for x := range 7 {
					in.add(f.p.at(place(s.w*0.55*(float64(x)/6-0.5), s.h*0.55*(float64(y)/6-0.5))))
				}
			}
			sw.raw = in.middle()
			for _, side := range []float64{-1, 1} {
				var across, down samples
				for n := range 8 {
					along := float64(n)/7 - 0.5
					for _, gap := range []float64{0.55, 1} {
						across.add(f.p.at(place(along*s.w, side*(s.h/2+gap))))
						down.add(f.p.at(place(side*(s.w/2+gap), along*s.h)))
					}
				}
				// Each side counts the same, so that a shadow that ends here
				// makes the paper no brighter than it is in the middle.
				for _, in := range []samples{across, down} {
					sw.white = sw.white.plus(in.between(0.5, 0.9).middle().times(0.25))
				}
			}
		}
		out[i] = sw
	}
	return out
}

// drift fits how the light and the camera changed each channel – how much, and
// how steeply – and is the mean difference (CIEDE2000, each at most 25) of the
// colours that are left from those printed.
func drift(spots []spot, seen []swatch) float64 {
	var back [3][2]float64 // log nominal = a + b log seen
	for c := range 3 {
		var xs, ys []float64
		for i, s := range seen {
			if s.ok {
				xs = append(xs, math.Log(math.Max(s.raw[c]/math.Max(s.white[c], 1e-3), 0.004)))
				ys = append(ys, math.Log(math.Max(spots[i].ink[c], 0.004)))
			}
		}
		back[c] = line(xs, ys, 0.55, 1.8)
	}
	sum, n := 0.0, 0
	for i, s := range seen {
		if !s.ok {
			continue
		}
		var fit light
		for c := range 3 {
			fit[c] = math.Exp(back[c][0] + back[c][1]*math.Log(math.Max(s.raw[c]/math.Max(s.white[c], 1e-3), 0.004)))
		}
		sum += math.Min(25, DE2000(fit.lab(), spots[i].ink.lab()))
		n++
	}
	if n == 0 {
		return 25
	}
	return sum / float64(n)
}

// line fits y = a + b x, b between two limits, and again without what lies far
// off.
func line(xs, ys []float64, lo, hi float64) [2]float64 {
	weight := make([]float64, len(xs))
	for i := range weight {
		weight[i] = 1
	}
	var a, b float64
	for range 3 {
		var n, sx, sy, sxx, sxy float64
		for i, x := range xs {
			w := weight[i]
			n, sx, sy, sxx, sxy = n+w, sx+w*x, sy+w*ys[i], sxx+w*x*x, sxy+w*x*ys[i]
		}
		b = 1
		if d := n*sxx - sx*sx; d > 1e-9 {
			b = clamp((n*sxy-sx*sy)/d, lo, hi)
		}
		a = (sy - b*sx) / math.Max(n, 1e-9)
		for i, x := range xs {
			off := (ys[i] - a - b*x) / 0.12
			weight[i] = 1 / (1 + off*off)
		}
	}
	return [2]float64{a, b}
}
