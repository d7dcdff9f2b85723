package photo

import (
	"cmp"
	"image"
	"math"
	"slices"

	"quietwater/model"
	"quietwater/model/strip"
)

// What keeps a chart or a strip from being learnt.
const (
	NoBlocks Why = "no-blocks" // the marks hold no rows of even colours
	NoPads   Why = "no-pads"   // nothing between the marks looks like a strip with its pads
)

// Card is a printed chart that is being learnt from a picture of it: what a
// person marked the corners of, and the rows of blocks on it. Its unit is
// close to a millimetre: a block is learntBlock high.
type Card struct {
	W, H float64
	Rows []CardRow // from the top
	p    *Picture
	view view
	size Point // of a block
	step float64
}

// CardRow is the blocks of one row as x, y, width and height, from the left.
type CardRow [][4]float64

const (
	learntBlock  = 7.0  // the height of most printed blocks, in millimetres
	mostSlope    = 0.21 // of a block's side to the card's
	alike        = 1.25 // sizes of two blocks of one chart
	mostBlocks   = 15
	paperDiffers = 0.03 // of a block from the paper about it
)

// plainPaper is what a card is taken to be printed on. Only the blocks' shares
// of it are ever used.
var plainPaper = strip.RGB{242, 241, 238}

// LearnCard finds the rows of blocks on a card whose corners (top left, top
// right, bottom right, bottom left as printed) a person marked. The Why is
// [NoBlocks], [TooBright], [TooDark] or none.
func LearnCard(p *Picture, corners [4]Point) (Card, Why) {
	a, b, c, d := corners[0], corners[1], corners[2], corners[3]
	w, h := (b.minus(a).length()+c.minus(d).length())/2, (d.minus(a).length()+c.minus(b).length())/2
	if turn(a, b, c) <= 0 || turn(c, d, a) <= 0 || turn(b, c, d) <= 0 || turn(d, a, b) <= 0 {
		return Card{}, NoBlocks
	}
	card := Card{W: w, H: h, p: p}
	view, ok := perspective([]pair{{Point{}, a}, {Point{w, 0}, b}, {Point{w, h}, c}, {Point{0, h}, d}}, 0)
	if card.view = view; !ok {
		return Card{}, NoBlocks
	}
	blocks := card.blocks()
	if len(blocks) < 3 {
		return Card{}, NoBlocks
	}
	card.inUnits(blocks)
	if blocks = card.blocks(); len(blocks) == 0 { // of a card seen so aslant that its unit is none
		return Card{}, NoBlocks
	}
	if card.rows(blocks); len(card.Rows) == 0 {
		return Card{}, NoBlocks
	}
	card.fill()
	return card, card.exposure()
}

// inUnits changes the card's unit, which was the pixel, by what the blocks
// measure.
func (c *Card) inUnits(blocks [][4]float64) {
	var high []float64
	for _, b := range blocks {
		high = append(high, b[3])
	}
	by := learntBlock / median(high)
	c.W, c.H = c.W*by, c.H*by
	for i := range c.view {
		if i != 2 && i != 5 {
			c.view[i] /= by
		}
	}
}

// blocks are the pieces of the card that most others are like in size.
func (c *Card) blocks() [][4]float64 {
	back, ok := c.view.back()
	if !ok {
		return nil
	}
	var all [][4]float64
	for _, q := range c.p.patches() {
		at := back.at(q.at)
		if q.half() > mostBlockRatio*q.short || at.X < 0 || at.Y < 0 || at.X > c.W || at.Y > c.H {
			continue
		}
		x := back.at(q.at.plus(q.long)).minus(at)
		y := back.at(q.at.plus(q.long.across().times(q.short / q.half()))).minus(at)
		if math.Abs(x.X) < math.Abs(x.Y) {
			x, y = y, x
		}
		if math.Abs(x.Y) > mostSlope*math.Abs(x.X) || math.Abs(y.X) > mostSlope*math.Abs(y.Y) {
			continue
		}
		w, h := 2*math.Abs(x.X), 2*math.Abs(y.Y)
		box := [4]float64{at.X - w/2, at.Y - h/2, w, h}
		if w < c.W/2 && h < c.H/2 && c.differs(box) > paperDiffers {
			all = append(all, box)
		}
	}
	like := func(a, b [4]float64) bool {
		w, h := a[2]/b[2], a[3]/b[3]
		return w < alike && w > 1/alike && h < alike && h > 1/alike
	}
	best, most := [4]float64{}, 0.0
	for _, a := range all {
		n := 0.0
		for _, b := range all {
			if like(a, b) {
				n++
			}
		}
		// Letters of a headline may be as many; they are smaller.
		if n *= math.Sqrt(a[2] * a[3]); n > most {
			best, most = a, n
		}
	}
	return slices.DeleteFunc(all, func(b [4]float64) bool { return !like(b, best) })
}

func middleOf(b [4]float64) Point { return Point{b[0] + b[2]/2, b[1] + b[3]/2} }

// differs is how unlike the paper above and below it a block is.
func (c *Card) differs(b [4]float64) float64 {
	at := middleOf(b)
	var in, out samples
	for n := range 5 {
		x := (float64(n)/4 - 0.5) * 0.5 * b[2]
		in.add(c.p.at(c.view.at(Point{at.X + x, at.Y})))
		in.add(c.p.at(c.view.at(Point{at.X + x, at.Y + 0.2*b[3]})))
		out.add(c.p.at(c.view.at(Point{at.X + x, at.Y - 0.64*b[3]})))
		out.add(c.p.at(c.view.at(Point{at.X + x, at.Y + 0.64*b[3]})))
	}
	return apart(in.middle(), out.brighter(0.5))
}

// rows sorts blocks into rows and says how large a block is and how far it is
// to the next.
func (c *Card) rows(blocks [][4]float64) {
	var w, h, steps []float64
	for _, b := range blocks {
		w, h = append(w, b[2]), append(h, b[3])
	}
	c.size = Point{median(w), median(h)}
	for i, b := range blocks { // one chart prints them all alike
		blocks[i] = c.block(middleOf(b))
	}
	slices.SortFunc(blocks, func(a, b [4]float64) int { return cmp.Compare(a[1], b[1]) })
	var last float64
	for _, b := range blocks {
		y := middleOf(b).Y
		if len(c.Rows) == 0 || y-last > 0.6*c.size.Y {
			c.Rows = append(c.Rows, nil)
		}
		c.Rows[len(c.Rows)-1] = append(c.Rows[len(c.Rows)-1], b)
		last = y
	}
	for _, r := range c.Rows {
		slices.SortFunc(r, func(a, b [4]float64) int { return cmp.Compare(a[0], b[0]) })
		for i := 1; i < len(r); i++ {
			steps = append(steps, middleOf(r[i]).X-middleOf(r[i-1]).X)
		}
	}
	slices.Sort(steps)
	if c.step = 1.15 * c.size.X; len(steps) > 0 {
		c.step = steps[len(steps)/3] // a third: some blocks were not seen
	}
	c.Rows = slices.DeleteFunc(c.Rows, func(r CardRow) bool { return len(r) < 2 })
}

// fill adds the blocks that were not seen since they are nearly as white as
// the paper: those between others, and those in front, where the other rows
// begin.
func (c *Card) fill() {
	var first []float64
	for _, r := range c.Rows {
		first = append(first, middleOf(r[0]).X)
	}
	slices.Sort(first)
	begins := first[len(first)/4]
	for i, r := range c.Rows {
		var full CardRow
		if n := int(math.Round((middleOf(r[0]).X - begins) / c.step)); n > 0 && len(c.Rows) > 1 {
			for k := n; k > 0; k-- {
				full = append(full, moved(r[0], -float64(k)*c.step))
			}
		}
		for j, b := range r {
			if j > 0 {
				gap := middleOf(b).X - middleOf(r[j-1]).X
				n := int(math.Round(gap / c.step))
				for k := 1; k < n; k++ {
					full = append(full, moved(r[j-1], gap*float64(k)/float64(n)))
				}
			}
			full = append(full, b)
		}
		c.Rows[i] = full
	}
}

// block is one whose middle is at a point of the card.
func (c *Card) block(at Point) [4]float64 {
	x, y := clamp(at.X-c.size.X/2, 0, c.W-c.size.X), clamp(at.Y-c.size.Y/2, 0, c.H-c.size.Y)
	return [4]float64{x, y, c.size.X, c.size.Y}
}

func moved(b [4]float64, by float64) [4]float64 { return [4]float64{b[0] + by, b[1], b[2], b[3]} }

// exposure says where the card is too bright or too dark to take colours from.
func (c *Card) exposure() Why {
	bad, dark, n := 0, 0, 0
	for _, s := range c.seen() {
		n++
		if s.white.least() > burnt {
			bad++
		}
		if bright(s.white) < darkest {
			dark++
		}
	}
	switch {
	case 2*bad > n:
		return TooBright
	case 2*dark > n:
		return TooDark
	}
	return ""
}

// SetCount says how many blocks a row has. One is added, or taken away, at the
// end where there is more, or less, of a colour.
func (c *Card) SetCount(row, n int) {
	r := c.Rows[row]
	n = min(max(n, 1), mostBlocks)
	for len(r) > n {
		if c.differs(r[0]) < c.differs(r[len(r)-1]) {
			r = r[1:]
		} else {
			r = r[:len(r)-1]
		}
	}
	for len(r) < n {
		before, after := moved(r[0], -c.step), moved(r[len(r)-1], c.step)
		if before[0] >= 0 && c.differs(before) > c.differs(after) || after[0]+after[2] > c.W {
			r = append(CardRow{before}, r...)
		} else {
			r = append(slices.Clip(r), after)
		}
	}
	c.Rows[row] = r
}

// Between lays a row of n blocks between the middles of its first and its last,
// as a person marked them in the card's image.
func (c *Card) Between(row, n int, first, last Point) {
	scale := c.scale()
	a, b := first.times(1/scale), last.times(1/scale)
	var r CardRow
	for i := range n {
		at := a
		if n > 1 {
			at = a.to(b, float64(i)/float64(n-1))
		}
		r = append(r, c.block(at))
	}
	c.Rows[row] = r
}

// Ends are the middles of a row's first and last block in the card's image.
func (c *Card) Ends(row int) (first, last Point) {
	r := c.Rows[row]
	return middleOf(r[0]).times(c.scale()), middleOf(r[len(r)-1]).times(c.scale())
}

// AddRow adds a row below the others.
func (c *Card) AddRow() {
	r := slices.Clone(c.Rows[len(c.Rows)-1])
	for i := range r {
		r[i][1] = math.Min(r[i][1]+1.6*r[i][3], c.H-r[i][3])
	}
	c.Rows = append(c.Rows, r)
}

// RemoveRow takes away what is no row of blocks.
func (c *Card) RemoveRow(row int) { c.Rows = slices.Delete(slices.Clone(c.Rows), row, row+1) }

func (c *Card) scale() float64 { return straightScale(c.W, c.H) }

// Image is the card set straight.
func (c *Card) Image() *image.NRGBA {
	return c.p.straight(1, c.W, c.H, func(x, y float64) Point { return c.view.at(Point{x * c.W, y * c.H}) })
}

// RowImage is one row set straight, from rim to rim of the card: its blocks can
// be counted, and what is printed beside them read.
func (c *Card) RowImage(row int) *image.NRGBA {
	b := c.Rows[row][0]
	lo, hi := math.Max(0, b[1]-0.4*b[3]), math.Min(c.H, b[1]+1.8*b[3])
	return c.p.straight(1, c.W, hi-lo, func(x, y float64) Point { return c.view.at(Point{x * c.W, lo + y*(hi-lo)}) })
}

func (c *Card) seen() []swatch {
	k := c.kind(make([]model.Code, len(c.Rows)))
	f := &finder{p: c.p, kind: &k, spots: spotsOf(&k)}
	as := chart{view: c.view}
	for range f.spots {
		as.hit = append(as.hit, -1)
	}
	return f.seen(as)
}

func (c *Card) kind(pads []model.Code) strip.Kind {
	k := strip.Kind{Format: 1, Chart: strip.Chart{WidthMM: c.W, HeightMM: c.H, Paper: plainPaper}}
	for i, r := range c.Rows {
		row := strip.Row{Pad: pads[i]}
		for _, b := range r {
			row.Blocks = append(row.Blocks, strip.Block{Rect: b})
		}
		k.Chart.Rows = append(k.Chart.Rows, row)
	}
	return k
}

// Chart is the chart with its colours, its rows being those of the pads given.
// Values, units and times are left to the person who reads them off the card.
func (c *Card) Chart(pads []model.Code) strip.Chart {
	k := c.kind(pads)
	seen, n := c.seen(), 0
	for i, r := range k.Chart.Rows {
		for j := range r.Blocks {
			ink := seen[n].ratio(nominal(plainPaper))
			for ch := range 3 {
				k.Chart.Rows[i].Blocks[j].RGB[ch] = uint8(math.Round(coded(ink[ch])))
			}
			n++
		}
	}
	return k.Chart
}
