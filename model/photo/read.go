// Package photo reads a strip from one photograph of it beside its printed
// chart: it finds the chart, then the strip, compares each pad with the blocks
// of its row in the same picture, and says how sure it is – or why it will not
// say anything.
//
// It refuses to know files, formats and what a reading means; a reading is a
// proposal that a person confirms.
package photo

import (
	"math"
	"slices"

	"quietwater/model"
	"quietwater/model/strip"
)

// Why says why a picture, or a pad, is not read.
type Why string

// Msg says it to a person, with what to do.
func (w Why) Msg() model.Msg {
	if w == "" {
		return model.Msg{}
	}
	return model.T("photo.why." + string(w))
}

// What keeps a picture from being read. An empty Why is nothing.
const (
	NoLayout    Why = "no-layout"    // it is not known where this kind has its blocks and pads
	NoChart     Why = "no-chart"     // none was found that looks like this kind's
	OtherChart  Why = "other-chart"  // there is one, and it is not this kind's
	ChartCut    Why = "chart-cut"    // a part of it is outside the picture
	TooBright   Why = "too-bright"   // its white has burnt out
	TooDark     Why = "too-dark"     // its white is nearly black
	NoStrip     Why = "no-strip"     // none was found beside the chart
	OtherStrip  Why = "other-strip"  // there is one, and its pads belong elsewhere
	NothingRead Why = "nothing-read" // every pad was refused
)

// What keeps a pad from being read.
const (
	Glare   Why = "glare"    // light is mirrored on it or beside it
	Uneven  Why = "uneven"   // a shadow's edge or a stain lies on it
	NoMatch Why = "no-match" // its colour is like none of its row
	Unsure  Why = "unsure"   // two blocks that are not neighbours are as near
	Hidden  Why = "hidden"   // it lies outside the picture
)

// Pad is what was seen of one pad of the strip.
type Pad struct {
	Code model.Code
	// Block is the nearest block of its row, from 0; -1 where none is proposed.
	Block int
	// Next is the neighbour a colour between two blocks leans to, else -1.
	Next int
	// Confidence is how likely Block is right, of what could be told by colour
	// alone: 0 to 1.
	Confidence float64
	Distance   float64 // CIEDE2000 to the block
	Why        Why     // where none is proposed
	At         Point   // its middle in the upright, shrunk picture
}

// Sure reports a proposal that may be confirmed together with others.
func (p Pad) Sure() bool {
	return p.Block >= 0 && p.Next < 0 && p.Confidence >= SureFrom && p.Distance <= SureWithin
}

// From these on a proposal is called sure (measured on our own pictures).
const (
	SureFrom   = 0.75
	SureWithin = 4.0
)

// Reading is what a picture says.
type Reading struct {
	Why   Why // empty: some pad was read
	Pads  []Pad
	Place Place
}

// Whys lists every reason there is, those of pictures first.
func Whys() []Why {
	return []Why{NoLayout, NoChart, OtherChart, ChartCut, TooBright, TooDark, NoStrip, OtherStrip, NothingRead, Glare, Uneven, NoMatch, Unsure, Hidden}
}

// Status is one word: read, partial or refused.
func (r Reading) Status() string {
	switch {
	case r.Why != "":
		return "refused"
	case slices.ContainsFunc(r.Pads, func(p Pad) bool { return p.Block < 0 }):
		return "partial"
	}
	return "read"
}

// Place is where chart and strip were found, in the upright, shrunk picture.
type Place struct {
	Corners [4]Point // of the chart's card: top left, top right, bottom right, bottom left as printed
	Ends    [2]Point // of the strip: its pad end, its handle end
	kind    *strip.Kind
	view    view
	lie     lie
	gain    float64 // that brings the chart's paper near white
}

// Limits on what is read at all. They were set on our own pictures, with room
// on both sides (TestOwnPictures).
const (
	leastHits    = 0.6  // of the blocks
	mostDrift    = 14.0 // before the inks are fitted
	mostInkMiss  = 4.5  // mean CIEDE2000 of the chart's blocks, the inks fitted tightly
	mostRowMiss  = 9.0  // and the median of one row's
	leastScore   = 5.0  // of a strip
	leastBacking = 0.6
	mostFar      = 13.0 // CIEDE2000 of a pad from its row
	burnt        = 0.975
	darkest      = 0.012
	mostUneven   = 0.11
	mostShade    = 0.05 // of the log of a channel
	mirrorsFrom  = 1.25
	nearlyBurnt  = 0.6
	mirrored     = 0.93 // no pad is so white
	shadeSD      = 0.02
	sigma        = 6.0 // of a colour difference, for the confidence
)

// inMillimetres is a kind whose layout is in millimetres, or near it: a file may
// use any unit that chart and strip share, and pads are some 5 mm large.
func inMillimetres(k *strip.Kind) *strip.Kind {
	var sizes []float64
	for _, p := range k.Strip.Pads {
		sizes = append(sizes, p.SizeMM)
	}
	size := median(sizes)
	if size > 3 && size < 9 {
		return k
	}
	by := 5 / size
	out := *k
	c, sh := &out.Chart, &out.Strip
	c.WidthMM, c.HeightMM, sh.WidthMM, sh.LengthMM = c.WidthMM*by, c.HeightMM*by, sh.WidthMM*by, sh.LengthMM*by
	c.Rows, sh.Pads = slices.Clone(c.Rows), slices.Clone(sh.Pads)
	for i := range c.Rows {
		c.Rows[i].Blocks = slices.Clone(c.Rows[i].Blocks)
		for j := range c.Rows[i].Blocks {
			for n := range 4 {
				c.Rows[i].Blocks[j].Rect[n] *= by
			}
		}
	}
	for i := range sh.Pads {
		sh.Pads[i].CenterMM *= by
		sh.Pads[i].SizeMM *= by
	}
	return &out
}

// Read reads a strip of a kind without help.
func Read(p *Picture, k *strip.Kind) Reading {
	if k.CheckLayout() != nil {
		return Reading{Why: NoLayout}
	}
	f := newFinder(p, inMillimetres(k))
	found := f.charts()
	if len(found) == 0 {
		return Reading{Why: NoChart}
	}
	return f.read(found[0], nil)
}

// Marks are what a person pointed at in the upright, shrunk picture.
type Marks struct {
	Corners [4]Point // of the chart's card: top left, top right, bottom right, bottom left as printed
	Ends    [2]Point // of the strip: its pad end, its handle end
}

// Scaled are the marks in a picture of another size.
func (m Marks) Scaled(by float64) Marks {
	for i := range m.Corners {
		m.Corners[i] = m.Corners[i].times(by)
	}
	for i := range m.Ends {
		m.Ends[i] = m.Ends[i].times(by)
	}
	return m
}

// ReadMarked reads a strip where a person showed chart and strip. A hand errs
// by some millimetres: what stands near the marks decides.
func ReadMarked(p *Picture, k *strip.Kind, m Marks) Reading {
	if k.CheckLayout() != nil {
		return Reading{Why: NoLayout}
	}
	f := newFinder(p, inMillimetres(k))
	c, ok := f.marked(m.Corners)
	if !ok {
		return Reading{Why: NoChart}
	}
	return f.read(c, &m.Ends)
}

func (f *finder) read(c chart, ends *[2]Point) Reading {
	seen := f.seen(c)
	if why := f.doubtChart(c, seen); why != "" {
		return Reading{Why: why}
	}
	s := newSeeker(f, c, seen)
	best := s.find
	if ends != nil {
		best = func() (tried, bool) { return s.marked(*ends) }
	}
	there, ok := best()
	out := Reading{Place: s.place(there.lie)}
	switch {
	case !ok || there.score < leastScore && there.far > 8 && there.hits < 2:
		out.Why = NoStrip
	case there.score < leastScore || there.backing < leastBacking:
		out.Why = OtherStrip
	default:
		s.measure(there.lie, &out)
		if foreign(out.Pads) {
			out.Why, out.Pads = OtherStrip, nil
		} else if !slices.ContainsFunc(out.Pads, func(p Pad) bool { return p.Block >= 0 }) {
			out.Why = NothingRead
		}
	}
	// A reflection hides what a strip is known by.
	if ok && out.Why != "" && s.lampOn(there.lie) {
		out.Why, out.Pads = NothingRead, nil
	}
	return out
}

// lampOn reports a lie on which light is mirrored.
func (s *seeker) lampOn(l lie) bool {
	for _, pad := range s.shape.Pads {
		for _, aside := range []float64{-0.3, 0, 0.3} {
			if p := s.point(l, pad.CenterMM, aside*s.shape.WidthMM); s.f.p.inside(p) && s.f.p.at(p).least() > mirrored {
				return true
			}
		}
	}
	return false
}

// doubtChart says why what was found is not the chart, or cannot be used.
func (f *finder) doubtChart(c chart, seen []swatch) Why {
	outside, burntOut, dark := 0, 0, 0
	for _, s := range seen {
		switch {
		case !s.ok:
			outside++
		case s.white.least() > burnt:
			burntOut++
		case bright(s.white) < darkest:
			dark++
		}
	}
	n := float64(len(seen))
	switch {
	case float64(c.hits) < leastHits*n || c.drift > mostDrift:
		return NoChart
	case outside > 0:
		return ChartCut
	case float64(burntOut) > n/2:
		return TooBright
	case float64(dark) > n/2:
		return TooDark
	}
	sum, rows := 0.0, map[int][]float64{}
	for i, off := range miss(f.spots, seen, nominal(f.kind.Chart.Paper)) {
		sum += off
		rows[f.spots[i].row] = append(rows[f.spots[i].row], off)
	}
	if sum/n > mostInkMiss || f.strangers(c) > 1 {
		return OtherChart
	}
	for _, off := range rows {
		if median(off) > mostRowMiss {
			return OtherChart
		}
	}
	return ""
}

// strangers counts pieces that look like blocks of this chart, stand where a
// row would go on or among the rows, and are none: another kind's chart has
// them.
func (f *finder) strangers(c chart) int {
	back, ok := c.view.back()
	if !ok {
		return 0
	}
	n := 0
	for i, q := range f.patches {
		at := back.at(q.at)
		if slices.Contains(c.hit, i) || q.half() > mostBlockRatio*q.short {
			continue
		}
		scale := c.view.scale(at)
		near := f.spots[0]
		for _, s := range f.spots {
			if s.middle.minus(at).length() < near.middle.minus(at).length() {
				near = s
			}
		}
		if r := q.area / (near.w * near.h * scale * scale); r < 0.5 || r > 1.6 {
			continue
		}
		if !f.onPaper(c, at, near, q.pure) {
			continue
		}
		d := at.minus(near.middle)
		switch {
		case f.goesOn(at):
			n += 2
		case f.amongRows(at) && (math.Abs(d.X) > 0.75*near.w || math.Abs(d.Y) > 0.75*near.h):
			n++
		}
	}
	return n
}

// onPaper reports a piece that is no paper itself and has paper on at least
// three sides: as a block has, and the table beyond the card has not.
func (f *finder) onPaper(c chart, at Point, near spot, ink light) bool {
	white := f.p.at(c.view.at(Point{near.middle.X, near.middle.Y - near.h/2 - 0.8}))
	if apart(ink, white) < 0.15 {
		return false
	}
	sides := 0
	for _, d := range [4]Point{{near.w/2 + 0.9, 0}, {-near.w/2 - 0.9, 0}, {0, near.h/2 + 0.9}, {0, -near.h/2 - 0.9}} {
		if p := c.view.at(at.plus(d)); f.p.inside(p) && apart(f.p.at(p), white) < 0.25 {
			sides++
		}
	}
	return sides >= 3
}

// goesOn reports a place where a row would have its next block.
func (f *finder) goesOn(at Point) bool {
	for i, s := range f.spots {
		for _, j := range [2]int{i - 1, i + 1} {
			if j < 0 || j >= len(f.spots) || f.spots[j].row != s.row {
				continue
			}
			if k := 2*i - j; k >= 0 && k < len(f.spots) && f.spots[k].row == s.row {
				continue // the next is there
			}
			if next := s.middle.times(2).minus(f.spots[j].middle); at.minus(next).length() < 0.3*math.Min(s.w, s.h) {
				return true
			}
		}
	}
	return false
}

func (f *finder) amongRows(at Point) bool {
	lo, hi := f.spots[0].middle, f.spots[0].middle
	for _, s := range f.spots {
		lo = Point{math.Min(lo.X, s.middle.X-s.w/2), math.Min(lo.Y, s.middle.Y-s.h/2)}
		hi = Point{math.Max(hi.X, s.middle.X+s.w/2), math.Max(hi.Y, s.middle.Y+s.h/2)}
	}
	return at.X > lo.X && at.Y > lo.Y && at.X < hi.X && at.Y < hi.Y
}

func (s *seeker) place(l lie) Place {
	v, w, h := s.c.view, s.f.kind.Chart.WidthMM, s.f.kind.Chart.HeightMM
	return Place{kind: s.f.kind, view: v, lie: l, gain: clamp(0.8/math.Max(s.brightest, 0.01), 1, 5), Corners: [4]Point{v.at(Point{}), v.at(Point{w, 0}), v.at(Point{w, h}), v.at(Point{0, h})},
		Ends: [2]Point{s.point(l, 0, 0), s.point(l, s.shape.LengthMM, 0)}}
}

// foreign reports pads that, for the most part, are not where they should be or
// of no colour of their rows: a strip of another kind.
func foreign(pads []Pad) bool {
	off, all := 0, 0
	for _, p := range pads {
		switch p.Why {
		case Uneven, NoMatch:
			off++
			all++
		case Glare, Hidden:
		default:
			all++
		}
	}
	return 2*off > all || all == 2 && off == 1
}

// measure compares every pad with the blocks of its row.
func (s *seeker) measure(l lie, out *Reading) {
	var all []dab
	for i := range s.shape.Pads {
		all = append(all, s.dab(l, i))
	}
	s.mirrored(l, all)
	shade := s.fitted(all, s.shadeOf(l, all))
	for i, d := range all {
		pad := Pad{Code: s.shape.Pads[i].Pad, Block: -1, Next: -1, At: s.point(l, s.shape.Pads[i].CenterMM, 0), Why: d.why}
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
// rest of the strip and than any paper of the chart, and nearly burnt out: something is mirrored there, and lies on the pad as well.
func (s *seeker) mirrored(l lie, all []dab) {
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
		near := d.white.least() > nearlyBurnt
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

func (s *seeker) dab(l lie, i int) dab {
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
			if c.least() > mirrored {
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

// shadeOf is how much lighter or darker the strip's back is than the chart's
// paper in the same light. Plastic and paper are both white, each in its way;
// what differs by more than mostShade is the light.
func (s *seeker) shadeOf(l lie, all []dab) light {
	var out light
	for c := range 3 {
		var logs []float64
		for i, d := range all {
			if d.why == "" {
				paper := s.white(l.at(s.shape.Pads[i].CenterMM, 0))
				logs = append(logs, math.Log(math.Max(d.white[c], 1e-4)/math.Max(paper[c], 1e-4)))
			}
		}
		out[c] = math.Exp(clamp(median(logs), -mostShade, mostShade))
	}
	return out
}

// fitted moves that shade a little to where the pads, together, lie nearest to
// their rows.
func (s *seeker) fitted(all []dab, shade light) light {
	turned := func(by light) light {
		return light{shade[0] * math.Exp(by[0]), shade[1] * math.Exp(by[1]), shade[2] * math.Exp(by[2])}
	}
	cost := func(by light) float64 {
		sum := (by[0]*by[0] + by[1]*by[1] + by[2]*by[2]) / (2 * shadeSD * shadeSD)
		for i, d := range all {
			if d.why == "" {
				off := math.Min(8, nearest(s.inks.of(d.ratio(turned(by), s.paper)).lab(), s.rows[i]))
				sum += off * off / 8
			}
		}
		return sum
	}
	var by light
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
	return turned(by)
}

// choose takes the nearest block, and refuses what is near to none, or to two
// that are not neighbours.
func (s *seeker) choose(out Pad, c Lab, row []Lab) Pad {
	far := make([]float64, len(row))
	sum, best := 0.0, 0
	for j, b := range row {
		far[j] = DE2000(c, b)
		sum += math.Exp(-far[j] * far[j] / (2 * sigma * sigma))
		if far[j] < far[best] {
			best = j
		}
	}
	out.Distance = far[best]
	if nearest(c, row) > mostFar {
		out.Why = NoMatch
		return out
	}
	likely := func(j int) float64 { return math.Exp(-far[j]*far[j]/(2*sigma*sigma)) / math.Max(sum, 1e-12) }
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
func (s *seeker) beside(l lie, i int) (light, bool) {
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
	weights := 0.0
	burntOut := 0
	sides := 0
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
		if c.least() > burnt {
			burntOut++
		}
		sum, weights = sum.plus(c), weights+1
	}
	if weights == 0 {
		return s.white(l.at(pad.CenterMM, 0)), false
	}
	return sum.times(1 / weights), burntOut == sides
}
