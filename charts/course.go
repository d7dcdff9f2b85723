package charts

import (
	"cmp"
	"math"
	"slices"
	"strings"
	"time"

	"github.com/wcharczuk/go-chart/v2"

	"quietwater/model"
	"quietwater/model/finding"
	"quietwater/model/timeline"
)

// joined is the longest pause, in days, over which the line of laboratory results goes on: tests are due
// at least once a year, and a few months late is no gap. Our own choice.
const joined = 460

// shape tells points apart without colour.
type shape int

const (
	dot     shape = iota // a result
	ill                  // taken in an acute illness
	theirs               // the laboratory's own number beside ours
	both                 // with cystatin C
	atMost               // only a limit: the true one lies below
	atLeast              // only a limit: the true one lies above
)

// coursePoint is one number of a course.
type coursePoint struct {
	when  model.When
	y     float64
	shape shape
	label string // "" for none
}

// courseBand is a range with its name at the left.
type courseBand struct {
	from, to float64
	name     string
}

// courseTrend is a straight line with its interval, over the days it rests on.
type courseTrend struct {
	from, to       model.When
	mid, low, high [2]float64 // at both ends
}

// course is a number over the years: bands behind, one strong line, points with rings, the findings above.
// Lengths are logical pixels.
type course struct {
	look    Look
	m       ruler
	words   Words
	days    *calendar
	bands   []courseBand
	points  []coursePoint
	trend   *courseTrend
	notes   []string // under the axis, one a line before wrapping
	nothing model.Msg
	level   func(float64) float64 // 0 at the bottom of the plot, 1 at its top

	marks             *padChart
	width, pad, left  int
	top, tall, axisAt int
	bandLines         [][]string
	noteLines, empty  []string
}

// marksAbout takes the findings about one of the words, in the words they have elsewhere.
func marksAbout(r finding.Result, about ...string) []timeline.Mark {
	var out []timeline.Mark
	for _, f := range slices.Concat(r.Open, r.Answered) {
		if f.Due == nil && slices.ContainsFunc(f.About, func(a string) bool { return slices.Contains(about, a) }) {
			out = append(out, timeline.Mark{When: f.Since, Urgency: f.Urgency, Days: f.Days, Title: f.Title, HowSoon: f.HowSoon(), Answered: f.Answer != nil})
		}
	}
	slices.SortStableFunc(out, func(a, b timeline.Mark) int { return a.When.Compare(b.When) })
	return out
}

// newCourse begins a course between two days, both included.
func newCourse(marks []timeline.Mark, from, to time.Time, w Words, l Look) *course {
	l = l.sane()
	c := &course{look: l, m: l.ruler(), words: w, days: newCalendar(from, to), pad: l.units(0.6)}
	c.marks = &padChart{look: l, m: c.m, words: w, days: c.days, pad: c.pad}
	for _, m := range marks {
		if c.days.covers(m.When) {
			c.marks.marks.found = append(c.marks.marks.found, m)
		}
	}
	return c
}

// point adds one that lies in the window and is a number.
func (c *course) point(p coursePoint) {
	if c.days.covers(p.when) && !math.IsNaN(p.y) && !math.IsInf(p.y, 0) {
		c.points = append(c.points, p)
	}
}

func (c *course) note(key string, args ...any) {
	c.notes = append(c.notes, c.words.T(model.T(key, args...)))
}

// sized lays everything out.
func (c *course) sized(width int) Sized {
	slices.SortStableFunc(c.points, func(a, b coursePoint) int { return cmp.Compare(c.days.of(a.when), c.days.of(b.when)) })
	small := c.look.small()
	c.left = c.look.units(0.5)
	for _, b := range c.bands {
		lines := c.m.wrap(b.name, small, c.look.units(6))
		c.bandLines = append(c.bandLines, lines)
		c.left = max(c.left, c.m.widest(lines, small)+c.pad+c.look.units(0.6))
	}
	marksRoom := 0
	if len(c.marks.marks.found) > 0 {
		name := c.m.wrap(c.words.T(model.T("chart.pads.findings")), small, c.left-c.pad)
		c.marks.marks.head = &head{names: name, size: small}
		c.left = max(c.left, c.m.widest(name, small)+c.pad+c.look.units(0.6))
		marksRoom = c.marks.placeMarks()
	}
	labels := 0
	for _, p := range c.points {
		labels = max(labels, c.m.width(p.label, small))
	}
	date := 0
	if c.days.dated() {
		date = c.m.width(c.words.DateShort(model.OnDay(c.days.first)), small)
	}
	inset := max(labels, date, marksRoom, c.look.units(1))/2 + 2
	plot := max(width-c.left-c.pad, 2*inset, c.look.units(8))
	if len(c.points) == 0 {
		words := c.words.T(c.nothing)
		plot = max(plot, c.m.widest(c.m.wrap(words, c.look.Size, 0), c.look.Size)+2*c.pad)
		c.empty = c.m.wrap(words, c.look.Size, plot-2*c.pad)
	}
	c.width = c.left + plot + c.pad
	c.days.spread(plot, inset)
	c.days.mark(c.words.DateShort, c.m, small)
	c.top = c.pad
	if marksRoom > 0 {
		gap := c.look.units(0.4)
		c.marks.marks.spots = group(c.marks.placesOf(c.marks.marks.found), marksRoom+gap)
		c.marks.marks.lines = c.marks.markLines()
		c.marks.marks.y, c.marks.marks.h = c.top, c.marks.markHeight()
		c.top += c.marks.marks.h
	}
	c.tall = c.plotHeight()
	c.axisAt = c.top + c.tall
	for _, n := range c.notes {
		c.noteLines = append(c.noteLines, c.m.wrap(n, small, c.width-2*c.pad)...)
	}
	h := c.axisAt + c.axis() + c.m.descent(small) + c.pad
	if n := len(c.noteLines); n > 0 {
		h += n*lead(small) + c.look.units(0.4)
	}
	return Sized{c.chart(h), c.width, h}
}

// plotHeight makes the lowest band high enough for its words.
func (c *course) plotHeight() int {
	tall := c.look.units(15)
	for i, b := range c.bands {
		part := min(c.level(b.to), 1) - max(c.level(b.from), 0)
		if need := len(c.bandLines[i])*lead(c.look.small()) + c.look.units(0.3); part > 0.02 {
			tall = max(tall, int(math.Ceil(float64(need)/part)))
		}
	}
	return min(tall, c.look.units(26))
}

func (c *course) axis() int {
	if len(c.days.ticks) == 0 {
		return 0
	}
	return chart.DefaultXAxisMargin + c.m.capHeight(c.look.small())
}

func (c *course) chart(height int) chart.Chart {
	l := c.look
	words := chart.Style{Font: Regular, FontSize: l.small(), FontColor: paint(l.Ink), StrokeColor: paint(l.Line), StrokeWidth: min(l.thin(), 2)}
	return chart.Chart{
		Width: c.width, Height: height, DPI: 72, Font: Regular,
		Background: chart.Style{FillColor: paint(l.Paper), Padding: chart.Box{
			Top: c.pad, Left: c.left, Right: c.pad, Bottom: height - c.axisAt - c.axis(), IsSet: true,
		}},
		Canvas:         chart.Style{FillColor: paint(l.Paper)},
		XAxis:          chart.XAxis{Range: c.days, Style: words, GridMajorStyle: chart.Hidden(), GridMinorStyle: chart.Hidden()},
		YAxis:          chart.YAxis{Style: chart.Hidden(), Range: &chart.ContinuousRange{Max: 1}},
		YAxisSecondary: chart.HideYAxis(),
		Series:         []chart.Series{courseSeries{c}},
	}
}

// courseSeries is the picture as go-chart's series, which it calls with the axis drawn.
type courseSeries struct{ *course }

func (courseSeries) GetName() string           { return "course" }
func (courseSeries) GetYAxis() chart.YAxisType { return chart.YAxisPrimary }
func (courseSeries) GetStyle() chart.Style     { return chart.Style{} }
func (courseSeries) Validate() error           { return nil }

// y is the place of a number, kept inside the plot.
func (c *course) y(v float64) int {
	part := min(max(c.level(v), 0), 1)
	return c.axisAt - int(math.Round(part*float64(c.tall)))
}

func (c *course) x(left int, w model.When) int { return left + c.days.Translate(c.days.of(w)) }

// Render draws from the back: bands, trend, line, points, words.
func (s courseSeries) Render(r chart.Renderer, box chart.Box, _, _ chart.Range, _ chart.Style) {
	c, b := s.course, brush{r, s.look, s.m}
	right := c.width - c.pad
	for i, band := range c.bands {
		top, bottom := c.y(band.to), c.y(band.from)
		if bottom-top < 2 {
			continue
		}
		if i%2 == 1 && !c.look.Contrast {
			b.fill(c.look.Soft, box.Left, top, right, bottom)
		}
		b.pen(c.look.Line, c.look.thin())
		b.line(c.pad, bottom, right, bottom)
		n := len(c.bandLines[i])
		if n*lead(c.look.small()) <= bottom-top {
			y := (top+bottom)/2 - (n-1)*lead(c.look.small())/2 + c.m.capHeight(c.look.small())/2
			b.words(c.look.Ink, c.look.small(), c.bandLines[i], c.pad, y, false)
		}
	}
	if c.marks.marks.head != nil {
		padSeries{c.marks}.drawMarks(b, box.Left)
	}
	c.drawTrend(b, box.Left)
	c.drawLine(b, box.Left)
	c.drawPoints(b, box.Left)
	if len(c.empty) > 0 {
		b.words(c.look.Muted, c.look.Size, c.empty, box.Left+c.pad, c.top+c.tall/2, false)
	}
	small := c.look.small()
	b.words(c.look.Ink, small, c.noteLines, c.pad, c.axisAt+c.axis()+c.look.units(0.4)+lead(small), false)
}

func (c *course) drawTrend(b brush, left int) {
	t := c.trend
	if t == nil || !c.days.covers(t.from) || !c.days.covers(t.to) {
		return
	}
	x0, x1 := c.x(left, t.from), c.x(left, t.to)
	for _, ends := range [][2]float64{t.low, t.high} {
		b.pen(c.look.Muted, c.look.thin(), 2, 6)
		b.line(x0, c.y(ends[0]), x1, c.y(ends[1]))
	}
	b.pen(c.look.Ink, c.look.thick(), 10, 6)
	b.line(x0, c.y(t.mid[0]), x1, c.y(t.mid[1]))
	b.pen(c.look.Ink, c.look.thick())
}

// drawLine joins the results that are a course: not those of an illness, not mere limits.
func (c *course) drawLine(b brush, left int) {
	b.pen(c.look.Water, max(c.look.thin(), 2*c.look.Size/20))
	last := math.Inf(-1)
	any := false
	for _, p := range c.points {
		if p.shape != dot {
			continue
		}
		day := c.days.of(p.when)
		if day-last > joined {
			b.MoveTo(c.x(left, p.when), c.y(p.y))
		} else {
			b.LineTo(c.x(left, p.when), c.y(p.y))
			any = true
		}
		last = day
	}
	if any {
		b.Stroke()
	}
}

// drawPoints draws the rings, and from the newest back the words that have room.
func (c *course) drawPoints(b brush, left int) {
	radius := 0.26 * c.look.Size
	many := len(c.points) > 60
	if many {
		radius = 0.14 * c.look.Size
	}
	for _, p := range c.points {
		c.drawShape(b, p, c.x(left, p.when), c.y(p.y), radius)
	}
	small := c.look.small()
	var taken [][2]int
	for i := len(c.points) - 1; i >= 0; i-- {
		p := c.points[i]
		if p.label == "" {
			continue
		}
		w, x := c.m.width(p.label, small), c.x(left, p.when)
		from, to := x-w/2-c.look.units(0.3), x+w/2+c.look.units(0.3)
		if slices.ContainsFunc(taken, func(t [2]int) bool { return from < t[1] && to > t[0] }) {
			continue
		}
		taken = append(taken, [2]int{from, to})
		y := c.y(p.y) - int(radius) - c.look.units(0.45)
		if y-c.m.capHeight(small) < c.top {
			y = c.y(p.y) + int(radius) + c.look.units(0.45) + c.m.capHeight(small)
		}
		b.fill(c.look.Paper, x-w/2-2, y-c.m.capHeight(small)-2, x+(w+1)/2+2, y+3)
		b.words(c.look.Ink, small, []string{p.label}, x, y, true)
	}
}

func (c *course) drawShape(b brush, p coursePoint, x, y int, radius float64) {
	r := int(math.Ceil(radius))
	switch p.shape {
	case dot:
		b.pen(c.look.Water, c.look.thick())
		b.ring(x, y, radius)
	case both:
		b.pen(c.look.Water, c.look.thick())
		b.MoveTo(x, y-r-1)
		b.LineTo(x+r+1, y)
		b.LineTo(x, y+r+1)
		b.LineTo(x-r-1, y)
		b.Close()
		b.Stroke()
	case ill:
		b.fill(c.look.Paper, x-r, y-r, x+r+1, y+r+1)
		b.pen(c.look.Ink, c.look.thick())
		b.frame(x-r, y-r, x+r, y+r)
	case theirs:
		b.pen(c.look.Muted, c.look.thick())
		b.line(x-r, y-r, x+r, y+r)
		b.line(x-r, y+r, x+r, y-r)
	case atMost, atLeast:
		tip := r
		if p.shape == atLeast {
			tip = -r
		}
		b.pen(c.look.Water, c.look.thick())
		b.line(x, y, x, y+2*tip)
		b.line(x-r, y+tip, x, y+2*tip)
		b.line(x+r, y+tip, x, y+2*tip)
		b.line(x-r, y, x+r, y)
	}
}

// has reports a point of a shape.
func (c *course) has(s shape) bool {
	return slices.ContainsFunc(c.points, func(p coursePoint) bool { return p.shape == s })
}

// limitOf is the sign of a result that is only a limit, with the number as the sheet has it.
func limitOf(typed string) shape {
	switch {
	case strings.HasPrefix(typed, "<"):
		return atMost
	case strings.HasPrefix(typed, ">"):
		return atLeast
	}
	return dot
}
