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
	Alike   Why = "alike"    // in this light no block is likelier right than wrong
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
	off        float64 // CIEDE2000 to the line through its row
}

// Sure reports a proposal that may be confirmed together with others.
func (p Pad) Sure() bool {
	return p.Block >= 0 && p.Next < 0 && p.Confidence >= SureFrom && p.Distance <= SureWithin
}

// From these on a proposal is called sure (measured on our own pictures).
const (
	SureFrom   = 0.875
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
	return []Why{NoLayout, NoChart, OtherChart, ChartCut, TooBright, TooDark, NoStrip, OtherStrip, NothingRead, Glare, Uneven, NoMatch, Unsure, Alike, Hidden, NoBlocks, NoPads}
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
	pose    pose
	gain    float64 // that brings the chart's paper near white
}

// Limits on what is read at all: our choice, set by looking at the public
// pictures and at our own, with room on both sides on both.
const (
	leastHits    = 0.6  // of the blocks
	mostDrift    = 14.0 // before the inks are fitted
	mostInkMiss  = 4.5  // mean CIEDE2000 of the chart's blocks, the inks fitted tightly
	mostRowMiss  = 9.0  // and the median of one row's
	leastScore   = 5.0  // of a strip
	leastBacking = 0.6
	mostFar      = 13.0 // CIEDE2000 of a pad from its row
	mostStripOff = 6.0  // and of all the pads of a strip in the mean
	burnt        = 0.975
	darkest      = 0.012
	mostUneven   = 0.11
	mirrorsFrom  = 1.25
	nearlyBurnt  = 0.6
	glaring      = 0.93 // no pad is so white
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
	if why := f.doubtChart(c); why != "" {
		return Reading{Why: why}
	}
	s := newSeeker(f, f.toned(c))
	best := s.find
	if ends != nil {
		best = func() (tried, bool) { return s.marked(*ends) }
	}
	there, ok := best()
	out := Reading{Place: s.place(there.pose)}
	switch {
	case !ok || there.score < leastScore && there.far > 8 && there.hits < 2:
		out.Why = NoStrip
	case there.score < leastScore || there.backing < leastBacking:
		out.Why = OtherStrip
	default:
		s.measure(there.pose, &out)
		if foreign(out.Pads) {
			out.Why, out.Pads = OtherStrip, nil
		} else if !slices.ContainsFunc(out.Pads, func(p Pad) bool { return p.Block >= 0 }) {
			out.Why = NothingRead
		}
	}
	// A reflection hides what a strip is known by.
	if ok && out.Why != "" && s.lampOn(there.pose) {
		out.Why, out.Pads = NothingRead, nil
	}
	return out
}

// lampOn reports a pose on which light is mirrored.
func (s *seeker) lampOn(l pose) bool {
	for _, pad := range s.shape.Pads {
		for _, aside := range []float64{-0.3, 0, 0.3} {
			if p := s.point(l, pad.CenterMM, aside*s.shape.WidthMM); s.f.p.inside(p) && s.f.p.at(p).least() > s.glaring {
				return true
			}
		}
	}
	return false
}

// doubtChart says why what was found is not the chart, or cannot be used.
func (f *finder) doubtChart(c chart) Why {
	outside, burntOut, dark := 0, 0, 0
	for _, s := range c.seen {
		switch {
		case !s.ok:
			outside++
		case s.white.least() > burnt:
			burntOut++
		case bright(s.white) < darkest:
			dark++
		}
	}
	n := float64(len(c.seen))
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
	for i, off := range miss(f.spots, c.seen, nominal(f.kind.Chart.Paper)) {
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

// corners are those of a chart's card as it is seen.
func (f *finder) corners(c chart) [4]Point {
	w, h := f.kind.Chart.WidthMM, f.kind.Chart.HeightMM
	return [4]Point{c.view.at(Point{}), c.view.at(Point{w, 0}), c.view.at(Point{w, h}), c.view.at(Point{0, h})}
}

func (s *seeker) place(l pose) Place {
	return Place{
		Corners: s.f.corners(s.c),
		Ends:    [2]Point{s.point(l, 0, 0), s.point(l, s.shape.LengthMM, 0)},
		kind:    s.f.kind, view: s.c.view, pose: l, gain: clamp(0.8/math.Max(s.brightest, 0.01), 1, 5),
	}
}
