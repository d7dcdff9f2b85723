package photo

import (
	"image"
	"math"
	"slices"

	"quietwater/model"
	"quietwater/model/strip"
)

// Beside is a strip that is being learnt from a picture of it beside its
// chart: where its pads are, as distances from its pad end in the unit of the
// chart.
type Beside struct {
	Middles []float64
	Size    float64 // of a pad
	kind    strip.Kind
	seeker  *seeker
	pose    pose
	wide    float64
	long    float64
}

// FindChart looks for a kind's chart alone; it needs no strip, nor to know
// one.
func FindChart(p *Picture, k *strip.Kind) (corners [4]Point, why Why) {
	f := newFinder(p, unlessKnown(k))
	found := f.charts()
	if len(found) == 0 {
		return corners, NoChart
	}
	if why := f.doubtChart(found[0]); why != "" {
		return corners, why
	}
	return f.corners(found[0]), ""
}

// unlessKnown is a kind in millimetres where its strip says how large they
// are; one whose strip is yet to be learnt is in them already.
func unlessKnown(k *strip.Kind) *strip.Kind {
	if len(k.Strip.Pads) == 0 {
		return k
	}
	return inMillimetres(k)
}

// LearnStrip finds n pads between the two ends of a strip, marked beside its
// chart.
func LearnStrip(p *Picture, k *strip.Kind, m Marks, n int) (*Beside, Why) {
	f := newFinder(p, unlessKnown(k))
	c, ok := f.marked(m.Corners)
	if !ok {
		return nil, NoChart
	}
	if why := f.doubtChart(c); why != "" {
		return nil, why
	}
	back, ok := c.view.back()
	if !ok {
		return nil, NoChart
	}
	a, b := back.at(m.Ends[0]), back.at(m.Ends[1])
	out := &Beside{kind: *f.kind, seeker: newSeeker(f, c), long: b.minus(a).length()}
	if n < 1 || n > 20 || out.long < 4*float64(n) || out.long > 400 {
		return nil, NoPads
	}
	out.pose = pose{a, b.minus(a).times(1 / out.long)}
	if !out.centre() || !out.pads(n) || out.onBlocks() {
		return nil, NoPads
	}
	return out, ""
}

// centre measures how wide the strip is where it is white, and moves the line
// between the marks to its middle. A strip on a white table is taken to be as
// wide as most are.
func (b *Beside) centre() bool {
	const reach, step, most = 5.0, 0.2, 4.0
	s := b.seeker
	var wide, aside []float64
	for i := range 41 {
		d := b.long * float64(i) / 40
		if !s.f.p.inside(s.point(b.pose, d, 0)) {
			return false
		}
		c := s.f.p.at(s.point(b.pose, d, 0))
		if !s.whitish(c, b.pose.at(d, 0)) {
			continue
		}
		var edge [2]float64
		for side, way := range [2]float64{-1, 1} {
			for x := step; x < reach && apart(c, s.f.p.at(s.point(b.pose, d, way*x))) < 0.13; x += step {
				edge[side] = x
			}
		}
		if w := edge[0] + edge[1]; edge[0] < reach-2*step && edge[1] < reach-2*step && w > most/2 {
			wide, aside = append(wide, w), append(aside, (edge[1]-edge[0])/2)
		}
	}
	if b.wide = 5; len(wide) >= 4 {
		b.wide = clamp(median(wide)+step, 2.5, 9)
		b.pose.end = b.pose.at(0, median(aside))
	}
	return true
}

// onBlocks reports pads that are blocks of the chart: a column of them looks
// much like a strip.
func (b *Beside) onBlocks() bool {
	for _, m := range b.Middles {
		for _, s := range b.seeker.f.spots {
			if d := b.pose.at(m, 0).minus(s.middle); math.Abs(d.X) < 0.7*s.w && math.Abs(d.Y) < 0.7*s.h {
				return true
			}
		}
	}
	return false
}

const (
	fine      = 0.25 // between two looks along a strip
	leastPads = 4.0  // per pad, of how well they stand out: 6 to 23 on the public strips, under 3 beside them
)

// pads lays n pads of one size, equally far apart, where they are even, the
// gaps between them white, and both unlike one another.
func (b *Beside) pads(n int) bool {
	along := b.profile()
	white := b.white(along)
	off := make([]float64, len(along)) // from white
	for i, c := range along {
		off[i] = DE2000(c, white)
	}
	at := func(d float64) int { return min(max(int(math.Round(d/fine)), 0), len(along)-1) }
	value := func(start, step, size float64) float64 {
		sum := 0.0
		for i := range n {
			m := start + float64(i)*step
			mid := along[at(m)]
			sum += math.Min(25, off[at(m)])
			for _, d := range [4]float64{-0.4, -0.2, 0.2, 0.4} {
				sum -= math.Min(10, DE2000(mid, along[at(m+d*size)]))
			}
			for _, side := range [2]float64{-1, 1} {
				gap := math.Min(step-size, 4)
				sum -= 0.5*math.Min(20, off[at(m+side*(size/2+0.3*gap))]) + 0.5*math.Min(20, off[at(m+side*(size/2+0.5*gap))])
			}
		}
		return sum
	}
	best := math.Inf(-1)
	for step := 4.5; step <= math.Min(18, b.long/float64(n)); step += 0.25 {
		for size := 0.45 * step; size <= 0.86*step && size <= 8; size += 0.25 {
			if size < 2.5 {
				continue
			}
			for start := size / 2; start+float64(n-1)*step+size/2 < 0.97*b.long && start < size/2+8; start += fine {
				if v := value(start, step, size); v > best {
					best, b.Size = v, size
					b.Middles = b.Middles[:0]
					for i := range n {
						b.Middles = append(b.Middles, start+float64(i)*step)
					}
				}
			}
		}
	}
	if best < leastPads*float64(n) {
		return false
	}
	b.refine(off)
	return true
}

// refine measures the pads that stand out by where they begin and end, half
// way to white, and lays all of them by a line through those.
func (b *Beside) refine(off []float64) {
	var places, found, sizes []float64
	for i, m := range b.Middles {
		mid := int(math.Round(m / fine))
		if mid >= len(off) || off[mid] < 8 {
			continue
		}
		from, to := edgeOf(off, mid, -1), edgeOf(off, mid, 1)
		if size := (to - from) * fine; size > 0.6*b.Size && size < 1.6*b.Size {
			places, found, sizes = append(places, float64(i)), append(found, (from+to)/2*fine), append(sizes, size)
		}
	}
	if len(sizes) == 0 {
		return
	}
	b.Size = clamp(median(sizes), 2.5, 8)
	if len(found) > 1 {
		k := line(places, found, 3, 20)
		for i := range b.Middles {
			b.Middles[i] = k[0] + k[1]*float64(i)
		}
	}
}

// edgeOf is where a hill falls below half the height it has at a place.
func edgeOf(hill []float64, at, way int) float64 {
	half := hill[at] / 2
	for i := at; i+way >= 0 && i+way < len(hill); i += way {
		if a, b := hill[i], hill[i+way]; b < half {
			return float64(i) + float64(way)*(a-half)/(a-b)
		}
	}
	return float64(at)
}

// profile is the colours down the middle of the strip.
func (b *Beside) profile() []Lab {
	s := b.seeker
	var out []Lab
	for d := 0.0; d <= b.long; d += fine {
		var in samples
		for _, aside := range [5]float64{-0.24, -0.12, 0, 0.12, 0.24} {
			in.add(s.f.p.at(s.point(b.pose, d, aside*b.wide)))
		}
		out = append(out, s.inks.of(ratio(in.middle(), s.white(b.pose.at(d, 0)), s.paper)).lab())
	}
	return out
}

// white is the strip's own: what most of it looks like where it is bright and
// of little colour.
func (b *Beside) white(along []Lab) Lab {
	pale := slices.DeleteFunc(slices.Clone(along), func(c Lab) bool { return math.Abs(c.A) > 10 || math.Abs(c.B) > 14 || c.L < 55 })
	if len(pale) == 0 {
		return plainLab
	}
	var l, x, y []float64
	for _, c := range pale {
		l, x, y = append(l, c.L), append(x, c.A), append(y, c.B)
	}
	return Lab{median(l), median(x), median(y)}
}

var plainLab = nominal(plainPaper).lab()

// Image is the strip set straight, its pad end at the left, as fine as
// [Beside.Scale] says.
func (b *Beside) Image() *image.NRGBA {
	s := b.seeker
	wide := b.wide + 3
	gain := s.place(b.pose).gain
	return s.f.p.straight(gain, b.long, wide, func(x, y float64) Point {
		return s.point(b.pose, x*b.long, (y-0.5)*wide)
	})
}

// Scale is the pixels of the image to the chart's unit.
func (b *Beside) Scale() float64 { return straightScale(b.long, b.wide+3) }

// Between lays the pads evenly between the middles of the first and the last, as
// a person marked them in the image.
func (b *Beside) Between(first, last Point) {
	from, to := first.X/b.Scale(), last.X/b.Scale()
	if to < from {
		from, to = to, from
	}
	for i := range b.Middles {
		b.Middles[i] = from + (to-from)*float64(i)/math.Max(1, float64(len(b.Middles)-1))
	}
	if n := len(b.Middles); n > 1 {
		b.Size = clamp(b.Size, 2, math.Max(2, 0.8*(to-from)/float64(n-1)))
	}
}

// Ends are the middles of the first and the last pad in the image.
func (b *Beside) Ends() (first, last Point) {
	y := (b.wide + 3) / 2 * b.Scale()
	return Point{b.Middles[0] * b.Scale(), y}, Point{b.Middles[len(b.Middles)-1] * b.Scale(), y}
}

// PadImage is pad i with some of the strip about it.
func (b *Beside) PadImage(i int) *image.NRGBA {
	s, side := b.seeker, b.Size*1.7
	return s.f.p.straight(s.place(b.pose).gain, side, b.wide*1.1, func(x, y float64) Point {
		return s.point(b.pose, b.Middles[i]+(x-0.5)*side, (y-0.5)*b.wide*1.1)
	})
}

// Kind is the kind with this strip, its pads named from the pad end.
func (b *Beside) Kind(pads []model.Code) strip.Kind {
	k := b.kind
	k.Strip = strip.Shape{WidthMM: b.wide, LengthMM: b.long}
	end := 0.0
	for i, m := range b.Middles {
		size := math.Min(b.Size, 2*(m-end)) // pads never lie upon one another
		if i+1 < len(b.Middles) {
			size = math.Min(size, 0.95*(b.Middles[i+1]-m))
		}
		size = math.Min(size, 2*(b.long-m))
		k.Strip.Pads = append(k.Strip.Pads, strip.PadPlace{Pad: pads[i], CenterMM: m, SizeMM: size})
		end = m + size/2
	}
	return k
}

// Order guesses which pad is which by the printed order of the rows, from the
// pad end or from the handle, whichever the colours speak for.
func (b *Beside) Order() []model.Code {
	var down []model.Code
	for _, r := range b.kind.Chart.Rows {
		down = append(down, r.Pad)
	}
	up := slices.Clone(down)
	slices.Reverse(up)
	if b.strange(up) < 0.8*b.strange(down) {
		return up
	}
	return down
}

// strange is how unlike their rows the pads are in an order.
func (b *Beside) strange(order []model.Code) float64 {
	if len(order) != len(b.Middles) {
		return math.Inf(1)
	}
	k := b.Kind(order)
	f := *b.seeker.f
	f.kind = &k
	return newSeeker(&f, b.seeker.c).glance(b.pose).far
}
