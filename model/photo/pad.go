package photo

import "math"

// foreign reports pads that, for the most part, are not where they should be or
// of no colour of their rows, or that are all somewhat unlike their rows: a
// strip of another kind.
func foreign(pads []Pad) bool {
	off, all := 0, 0
	sum, measured := 0.0, 0.0
	for _, p := range pads {
		if p.Why == Glare || p.Why == Hidden {
			continue
		}
		all++
		if p.Why == Uneven || p.Why == NoMatch {
			off++
		}
		if p.Why != Uneven {
			sum, measured = sum+math.Min(p.off, mostFar), measured+1
		}
	}
	return 2*off > all || all == 2 && off == 1 || sum > mostStripOff*measured
}

// measure compares every pad with the blocks of its row.
func (s *seeker) measure(l pose, out *Reading) {
	var all []dab
	for i := range s.shape.Pads {
		all = append(all, s.dab(l, i))
	}
	s.mirrored(l, all)
	shade := s.shade(l, all)
	for i, d := range all {
		pad := Pad{Code: s.shape.Pads[i].Pad, Block: -1, Next: -1, Why: d.why}
		if pad.Why == "" && bright(d.ratio(shade, s.paper)) > 1.04 {
			pad.Why = Glare
		}
		if pad.Why == "" {
			pad = s.choose(pad, s.inks.of(d.ratio(shade, s.paper)).lab(), s.rows[i])
		}
		out.Pads = append(out.Pads, pad)
	}
}

// mirrored refuses pads beside which the white is much brighter than on the
// rest of the strip and than any paper of the chart, and nearly burnt out:
// something is mirrored there, and lies on the pad as well.
func (s *seeker) mirrored(l pose, all []dab) {
	least := math.Inf(1)
	for _, d := range all {
		if d.why != Hidden {
			least = math.Min(least, bright(d.white))
		}
	}
	for _, at := range gaps(s.shape) {
		if p := s.point(l, at, 0); s.f.p.inside(p) && s.whitish(s.f.p.at(p), l.at(at, 0)) {
			least = math.Min(least, bright(s.f.p.at(p)))
		}
	}
	for i, d := range all {
		near := d.white.least() > s.nearlyBurnt
		if d.why == "" && near && bright(d.white) > mirrorsFrom*math.Max(least, s.brightest) {
			all[i].why = Glare
		}
	}
}

// dab is the colour of a pad as the picture has it, and the white beside it.
type dab struct {
	raw, white light
	why        Why
}

func (d dab) ratio(shade, paper light) light {
	var white light
	for c := range 3 {
		white[c] = d.white[c] / shade[c]
	}
	return ratio(d.raw, white, paper)
}

func (s *seeker) dab(l pose, i int) dab {
	pad := s.shape.Pads[i]
	var d dab
	var in samples
	blown := 0
	const n = 11
	for y := range n {
		for x := range n {
			at := s.point(l, pad.CenterMM+0.56*pad.SizeMM*(float64(y)/(n-1)-0.5), 0.56*s.shape.WidthMM*(float64(x)/(n-1)-0.5))
			if !s.f.p.inside(at) {
				return dab{why: Hidden}
			}
			c := s.f.p.at(at)
			if c.least() > s.glaring {
				blown++
			}
			in.add(c)
		}
	}
	clipped := false
	d.raw = in.between(0.15, 0.8).middle()
	d.white, clipped = s.beside(l, i)
	switch {
	case blown > n*n/20 || clipped:
		d.why = Glare
	case in.spread() > mostUneven:
		d.why = Uneven
	}
	return d
}

// What is known of a shade before the pads are looked at, as the standard
// deviation of its log: our choice.
const (
	plasticSD = 0.04 // of plastic beside paper in the same light
	hazeSD    = 0.02 // of the light beside the chart where it is smooth on the chart,
	hazeTwice = 2.0  // or else so much of what it strays there,
	hazeFar   = 3.0  // and from so many of those on a shadow may end between them
	padSD     = 1.4  // of a pad from the line through its row, in CIEDE2000
)

// shade is how much lighter or darker the strip's back is than the chart's
// paper in the same light. Plastic and paper are both white, each in its way;
// that much may be told from the white beside the pads, as far as the light on
// the chart says what it is beside it, and the pads, together, lie near their
// rows.
func (s *seeker) shade(l pose, all []dab) light {
	var seen light
	for c := range 3 {
		var logs []float64
		for i, d := range all {
			if d.why == "" {
				paper := s.white(l.at(s.shape.Pads[i].CenterMM, 0))
				logs = append(logs, math.Log(math.Max(d.white[c], 1e-4)/math.Max(paper[c], 1e-4)))
			}
		}
		seen[c] = median(logs)
	}
	haze := math.Max(hazeSD, hazeTwice*s.stray())
	back := func(by light) light { return light{math.Exp(by[0]), math.Exp(by[1]), math.Exp(by[2])} }
	cost := func(by light) float64 {
		sum := 0.0
		for c := range 3 {
			far := (by[c] - seen[c]) / haze / hazeFar
			sum += by[c]*by[c]/plasticSD/plasticSD + hazeFar*hazeFar*math.Log1p(far*far)
		}
		for i, d := range all {
			if d.why == "" {
				off := math.Min(8, nearest(s.inks.of(d.ratio(back(by), s.paper)).lab(), s.rows[i])) / padSD
				sum += off * off
			}
		}
		return sum
	}
	share := plasticSD * plasticSD / (plasticSD*plasticSD + haze*haze)
	// Either the light is what it seems beside the chart, or nothing is known of it.
	by, best := descend(seen.times(share), cost)
	if other, less := descend(light{}, cost); less < best {
		by = other
	}
	return back(by)
}

// descend looks for the least cost about a place, to half a hundredth.
func descend(by light, cost func(light) float64) (light, float64) {
	best := cost(by)
	for step := 0.02; step > 0.004; step /= 2 {
		for moved := true; moved; {
			moved = false
			for _, way := range []light{{1, 1, 1}, {1, 0, 0}, {0, 1, 0}, {0, 0, 1}} {
				for _, sign := range []float64{step, -step} {
					if c := cost(by.plus(way.times(sign))); c < best-1e-9 {
						best, by, moved = c, by.plus(way.times(sign)), true
					}
				}
			}
		}
	}
	return by, best
}

// stray is how far the paper's white is from the slope laid through it, as the
// standard deviation of its log.
func (s *seeker) stray() float64 {
	var off []float64
	for i, sw := range s.c.seen {
		if !sw.ok {
			continue
		}
		slope := s.white(s.f.spots[i].middle)
		for c := range 3 {
			off = append(off, math.Abs(math.Log(math.Max(sw.white[c], 1e-4)/slope[c])))
		}
	}
	return 1.48 * median(off)
}

// A pad may be unlike the block it belongs to for two reasons. It is no print:
// it was made from other dyes, and may have stopped between two blocks. And the
// light and the camera have bent its colour otherwise than the ink's: the more,
// the more they have bent the inks themselves. The share is the likeliest on
// 320 pictures of our own, in which it is seen (a tightly held fit misses the
// chart by 0.3 to 2; pads are then measured 0.7 to 2.7 off); with the other, an
// ordinary picture has 4.5 in all, which came with the public pictures.
const (
	mixSD     = 4.0
	bentShare = 1.3
)

// choose takes the nearest block, and refuses what is near to none, to two that
// are not neighbours, or to so many that the nearest is no likelier than the
// rest together.
func (s *seeker) choose(out Pad, c Lab, row []Lab) Pad {
	far := make([]float64, len(row))
	sum, best := 0.0, 0
	for j, b := range row {
		far[j] = DE2000(c, b)
		sum += math.Exp(-far[j] * far[j] / (2 * s.sigma * s.sigma))
		if far[j] < far[best] {
			best = j
		}
	}
	out.Distance = far[best]
	if out.off = nearest(c, row); out.off > mostFar {
		out.Why = NoMatch
		return out
	}
	likely := func(j int) float64 { return math.Exp(-far[j]*far[j]/(2*s.sigma*s.sigma)) / math.Max(sum, 1e-12) }
	away := 0.0
	for j := range row {
		if j < best-1 || j > best+1 {
			away = math.Max(away, likely(j))
		}
	}
	if away > 0.6*likely(best) {
		out.Why = Unsure
		return out
	}
	if likely(best) < 0.5 {
		out.Why = Alike
		return out
	}
	out.Block, out.Confidence = best, likely(best)
	for _, j := range []int{best - 1, best + 1} {
		if j >= 0 && j < len(row) && far[j] < 1.5*far[best] && (out.Next < 0 || far[j] < far[out.Next]) {
			out.Next = j
		}
	}
	return out
}

// beside is the white of the backing next to a pad. clipped says that it has
// burnt out, so that nothing can be measured against it.
func (s *seeker) beside(l pose, i int) (light, bool) {
	sh := s.shape
	pad := sh.Pads[i]
	lo, hi := 0.0, sh.LengthMM
	if i > 0 {
		lo = sh.Pads[i-1].CenterMM + sh.Pads[i-1].SizeMM/2
	}
	if i+1 < len(sh.Pads) {
		hi = sh.Pads[i+1].CenterMM - sh.Pads[i+1].SizeMM/2
	}
	var sum light
	sides, burntOut := 0, 0
	for side, edge := range [2][2]float64{{lo, pad.CenterMM - pad.SizeMM/2}, {pad.CenterMM + pad.SizeMM/2, hi}} {
		gap := edge[1] - edge[0]
		if gap < 1.2 {
			continue
		}
		near := edge[1] // the edge towards the pad
		way := -1.0
		if side == 1 {
			near, way = edge[0], 1
		}
		var in samples
		wide := math.Min(gap-0.9, 2.0)
		for d := range 5 {
			for a := range 9 {
				at := s.point(l, near+way*(0.5+wide*float64(d)/4), 0.56*sh.WidthMM*(float64(a)/8-0.5))
				if s.f.p.inside(at) {
					in.add(s.f.p.at(at))
				}
			}
		}
		if len(in) == 0 {
			continue
		}
		c := in.between(0.4, 0.9).middle()
		if !s.whitish(c, l.at(near+way*gap/2, 0)) {
			continue
		}
		sides++
		if c.least() > s.burnt {
			burntOut++
		}
		sum = sum.plus(c)
	}
	if sides == 0 {
		return s.white(l.at(pad.CenterMM, 0)), false
	}
	return sum.times(1 / float64(sides)), burntOut == sides
}
