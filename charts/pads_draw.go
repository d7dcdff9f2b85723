package charts

import (
	"math"

	"github.com/wcharczuk/go-chart/v2"

	"quietwater/model"
	"quietwater/model/strip"
	"quietwater/model/timeline"
)

// chart hands the layout to go-chart, which draws ground and axis and then asks for the rest.
func (c *padChart) chart(height int) chart.Chart {
	l := c.look
	words := chart.Style{
		Font: Regular, FontSize: l.small(), FontColor: paint(l.Ink), StrokeColor: paint(l.Line),
		StrokeWidth: min(l.thin(), 2), // go-chart leaves five pixels between a tick and its words
	}
	return chart.Chart{
		Width: c.width, Height: height, DPI: 72, Font: Regular,
		Background: chart.Style{FillColor: paint(l.Paper), Padding: chart.Box{
			Top: c.pad, Left: c.left, Right: c.pad, Bottom: height - c.end - c.axis(), IsSet: true,
		}},
		Canvas:         chart.Style{FillColor: paint(l.Paper)},
		XAxis:          chart.XAxis{Range: c.days, Style: words, GridMajorStyle: chart.Hidden(), GridMinorStyle: chart.Hidden()},
		YAxis:          chart.YAxis{Style: chart.Hidden(), Range: &chart.ContinuousRange{Max: 1}},
		YAxisSecondary: chart.HideYAxis(),
		Series:         []chart.Series{padSeries{c}},
	}
}

// padSeries is the picture as go-chart's series, which it calls with the axis drawn.
type padSeries struct{ *padChart }

func (padSeries) GetName() string           { return "pads" }
func (padSeries) GetYAxis() chart.YAxisType { return chart.YAxisPrimary }
func (padSeries) GetStyle() chart.Style     { return chart.Style{} }
func (padSeries) Validate() error           { return nil }

// Render draws the rows from the top.
func (p padSeries) Render(r chart.Renderer, box chart.Box, _, _ chart.Range, _ chart.Style) {
	b := brush{r, p.look, p.m}
	for i, l := range p.lanes {
		p.ground(b, l.y, l.h, i)
	}
	for i, t := range p.tracks {
		p.ground(b, t.y, t.h, len(p.lanes)+i)
	}
	p.drawChosen(b, box.Left)
	if p.marks.head != nil {
		p.drawMarks(b, box.Left)
	}
	if p.tests.counts != nil {
		p.drawTests(b, box.Left)
	}
	if p.photos.head != nil {
		p.drawPhotos(b)
	}
	for _, l := range p.lanes {
		p.drawHead(b, l.head, l.y+p.look.units(0.5))
		if l.number {
			p.drawNumbers(b, l, box.Left)
		} else {
			p.drawCells(b, l, box.Left)
		}
	}
	for _, t := range p.tracks {
		p.drawTrack(b, t, box.Left)
	}
	size := p.look.Size
	b.words(p.look.Ink, size, p.empty, p.left, p.end-p.look.units(1)-(len(p.empty)-1)*lead(size), false)
	b.words(p.look.Muted, p.look.small(), p.notes, p.pad, p.end+p.axis()+p.m.descent(p.look.small())+lead(p.look.small()), false)
}

// drawChosen draws the moment looked at as a line down through all lanes, broken where their words and
// readings stand.
func (p padSeries) drawChosen(b brush, left int) {
	if p.chosen.IsZero() || !p.days.covers(p.chosen) {
		return
	}
	b.pen(p.look.Ink, 2*p.look.thick())
	x := left + p.days.Translate(p.days.of(p.chosen))
	for _, l := range p.lanes {
		b.line(x, l.y, x, l.y+p.free()-1)
	}
	for _, t := range p.tracks {
		b.line(x, t.y, x, t.y+p.free()-1)
	}
}

// free is the room at the top of each lane that nothing stands in.
func (c *padChart) free() int { return c.look.units(0.4) }

// ground tells a lane from the next: every other one has a soft ground, in high contrast a line above.
func (p padSeries) ground(b brush, y, h, i int) {
	x0, x1 := p.pad/2, p.width-p.pad/2
	switch {
	case p.look.Contrast:
		b.pen(p.look.Line, p.look.Size/20)
		b.line(x0, y, x1, y)
	case i%2 == 0:
		b.fill(p.look.Soft, x0, y, x1, y+h)
	}
}

func (p padSeries) drawHead(b brush, h *head, y int) {
	b.words(p.look.Ink, h.size, h.names, p.pad, y+p.m.capHeight(h.size), false)
	y += len(h.names) * lead(h.size)
	b.words(p.look.Muted, p.look.small(), h.also, p.pad, y+p.m.capHeight(p.look.small()), false)
}

func (p padSeries) drawMarks(b brush, left int) {
	p.drawHead(b, p.marks.head, p.marks.y+p.amber())
	y := p.marks.y + p.amber()
	below := y + p.marks.tall + p.amber() + p.look.units(0.3) + p.m.capHeight(p.look.small())
	for i, s := range p.marks.spots {
		b.tide(p.urgency(s), left+s.at-p.marks.w/2, y, p.marks.w, p.marks.tall, p.amber())
		b.words(p.look.Ink, p.look.small(), p.marks.lines[i], left+s.at, below, true)
	}
}

func (p padSeries) drawTests(b brush, left int) {
	y := p.tests.y + p.look.units(0.1)
	p.drawHead(b, p.tests.head, y)
	for i, n := range p.tests.counts {
		b.words(p.look.Muted, p.look.small(), []string{p.words.Number(model.FormatNumber(float64(n)))},
			left+p.tests.at[i], y+p.m.capHeight(p.look.Size), true)
	}
}

// drawPhotos draws a frame for each photograph, with the sign of one in it: where the picture itself is at
// hand, it is laid over that.
func (p padSeries) drawPhotos(b brush) {
	p.drawHead(b, p.photos.head, p.photos.y+p.look.units(0.5))
	for _, s := range p.photos.spots {
		at := p.frame(s)
		b.fill(p.look.Paper, at.Min.X, at.Min.Y, at.Max.X, at.Max.Y)
		b.pen(p.look.Water, p.look.thick())
		b.frame(at.Min.X, at.Min.Y, at.Max.X-1, at.Max.Y-1)
		b.ring((at.Min.X+at.Max.X)/2, (at.Min.Y+at.Max.Y)/2, float64(p.photos.high)/4)
	}
}

// drawCells draws a lane of grades: squares filled as high as the grade, with their words below.
func (p padSeries) drawCells(b brush, l *lane, left int) {
	side := p.cell()
	y := l.y + p.look.units(0.5)
	for _, s := range l.spots {
		x := left + s.at - side/2
		switch {
		case s.graded:
			p.drawCell(b, s.top, x, y, side)
		case s.numbers != nil: // a number the pack's chart gives no grade for
			b.pen(p.look.Water, p.look.thick())
			b.ring(left+s.at, y+side/2, p.radius())
		default:
			p.drawNotJudged(b, x, y, side)
		}
		p.drawWords(b, l, s, left)
	}
}

// drawCell draws one reading. The order of the grades is told three times: by height, by the density of
// the hatch, which survives grey print, and by the word.
func (p padSeries) drawCell(b brush, c timeline.Cell, x, y, side int) {
	l := p.look
	b.fill(l.Paper, x, y, x+side, y+side)
	if c.Standing == strip.Counts {
		p.fillCell(b, c.Grade.Rank(), x, y, side)
		b.pen(l.Water, l.thick())
	} else {
		gap := l.units(0.2) // or a full cell would hide the dots
		p.fillCell(b, c.Grade.Rank(), x+gap, y+gap, side-2*gap)
		b.pen(l.Ink, l.thick(), 2, 3)
	}
	b.frame(x, y, x+side-1, y+side-1)
}

// fillCell fills a square from below: slanting lines that come closer at each step, crossed for the last
// but one, and solid for the last. The surface is a line of its own.
func (p padSeries) fillCell(b brush, rank, x, y, side int) {
	l, full := p.look, model.Plus4.Rank()
	top := y + side - side*rank/full
	if rank == full {
		b.fill(l.Water, x, top, x+side, y+side)
		return
	}
	if rank <= 0 {
		return
	}
	b.pen(l.Water, max(1, l.Size*0.065))
	gap := l.units([...]float64{0, 0.6, 0.3, 0.25, 0.3}[rank])
	if rank == full-1 {
		b.hatch(x+1, top, x+side-1, y+side-1, gap, true)
	}
	b.hatch(x+1, top, x+side-1, y+side-1, gap, false)
	b.fill(l.Water, x, top, x+side, top+max(2, l.units(0.1)))
}

func (p padSeries) drawNotJudged(b brush, x, y, side int) {
	b.fill(p.look.Paper, x, y, x+side, y+side)
	b.pen(p.look.Muted, p.look.thick(), 6, 4)
	b.frame(x, y, x+side-1, y+side-1)
	b.pen(p.look.Muted, p.look.thin())
	b.line(x, y+side-1, x+side-1, y)
}

func (p padSeries) drawWords(b brush, l *lane, s spot, left int) {
	y := l.y + p.look.units(0.5) + p.strip(l) + p.look.units(0.2) + lead(p.look.small()) - p.m.descent(p.look.small())
	c := p.look.Ink
	if !s.graded && s.numbers == nil {
		c = p.look.Muted
	}
	b.words(c, p.look.small(), s.lines, left+s.at, y, true)
}

func (p padSeries) radius() float64 { return 0.22 * p.look.Size }

// drawNumbers draws a lane of numbers: ringed points on a thin line that stops at long pauses. Several
// readings in one place are a bar from the lowest to the highest, and the line goes through the middle one.
func (p padSeries) drawNumbers(b brush, l *lane, left int) {
	r := int(math.Ceil(p.radius() + p.look.thick()))
	top, height := l.y+p.look.units(0.5)+r, p.strip(l)-2*r
	at := func(c timeline.Cell) int {
		part := (number(c)/2 - l.lo/2) / (l.hi/2 - l.lo/2) // halves, as no number is then too large
		if !(part >= 0 && part <= 1) {
			part = 0.5 // all the same
		}
		return top + height - int(math.Round(float64(height)*part))
	}
	b.pen(p.look.Water, max(p.look.thin(), 1.5*p.look.Size/20))
	var last *spot
	for i := range l.spots {
		s := &l.spots[i]
		if s.numbers == nil {
			continue
		}
		if last == nil || s.first-last.last > unbroken {
			b.MoveTo(left+s.at, at(s.middle()))
		} else {
			b.LineTo(left+s.at, at(s.middle()))
		}
		last = s
	}
	b.Stroke()
	for _, s := range l.spots {
		x := left + s.at
		if s.numbers == nil {
			side := min(p.strip(l), p.cell())
			p.drawNotJudged(b, x-side/2, l.y+p.look.units(0.5)+(p.strip(l)-side)/2, side)
		} else {
			p.drawPoints(b, s, x, at)
		}
		p.drawWords(b, l, s, left)
	}
}

func (p padSeries) drawPoints(b brush, s spot, x int, at func(timeline.Cell) int) {
	lo, hi := at(s.low()), at(s.high())
	if lo != hi {
		b.pen(p.look.Water, p.look.thick())
		b.line(x, hi, x, lo)
	}
	for _, c := range []timeline.Cell{s.low(), s.high()} {
		b.pen(p.look.Water, p.look.thick())
		if c.Standing != strip.Counts {
			b.pen(p.look.Ink, p.look.thick(), 2, 2)
		}
		b.ring(x, at(c), p.radius())
	}
}
