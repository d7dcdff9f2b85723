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
	little               // taken when the number tells little
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
	plain    string // in plain words, said where there is room
}

// courseTrend is a straight line with its interval, over the days it rests on.
type courseTrend struct {
	from, to       model.When
	mid, low, high [2]float64 // at both ends
	said           string     // beside its end
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
	notes   []courseNote // under the axis
	nothing model.Msg
	level   func(float64) float64 // 0 at the bottom of the plot, 1 at its top

	marks             *padChart
	width, pad, left  int
	top, tall, axisAt int
	bandLines         [][]string
	empty             []string
}

// courseNote explains a sign, or only says something.
type courseNote struct {
	sign  shape
	lines []string // one before wrapping
}

// plainly is a note without a sign, dashes one of the trend.
const (
	plainly shape = -1 - iota
	dashes
)

// marksAbout takes the findings about one of the words, in the words they have elsewhere.
func marksAbout(r finding.Result, about ...string) []timeline.Mark {
	var out []timeline.Mark
	for _, f := range r.All() {
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
	c.noted(plainly, key, args...)
}

// noted explains a sign.
func (c *course) noted(sign shape, key string, args ...any) {
	c.notes = append(c.notes, courseNote{sign, []string{c.words.T(model.T(key, args...))}})
}

// takeNames names the bands: with plain words, if for all of them there is room.
func (c *course) takeNames(width int) {
	small := c.look.small()
	lines := func(plain bool, limit int) (all [][]string, widest int, fits bool) {
		tallest := c.look.units(tallest)
		fits = true
		for _, b := range c.bands {
			l := c.m.wrap(b.name, small, limit)
			if plain {
				l = append(l, c.m.wrap(b.plain, small, limit)...)
			}
			all, widest = append(all, l), max(widest, c.m.widest(l, small))
			if part := c.part(b); part > least && c.bandHeight(l) > int(part*float64(tallest)) {
				fits = false
			}
		}
		return all, widest, fits
	}
	var names [][]string
	var widest int
	for _, try := range []struct {
		plain bool
		limit float64
	}{{true, 12}, {true, 9.5}, {false, 6}, {false, 12}} {
		var fits bool
		names, widest, fits = lines(try.plain, c.look.units(try.limit))
		if fits && (!try.plain || widest*10 <= width*3) {
			break
		}
	}
	c.bandLines, c.left = names, max(c.left, widest+c.pad+c.look.units(0.6))
}

// tallest is the height of the plot at most, in letter heights; least the part of it that a band needs to
// be named.
const (
	tallest = 28
	least   = 0.02
)

// part is how much of the plot's height a band takes.
func (c *course) part(b courseBand) float64 {
	return min(c.level(b.to), 1) - max(c.level(b.from), 0)
}

func (c *course) bandHeight(lines []string) int {
	return len(lines)*lead(c.look.small()) + c.look.units(0.5)
}

// noteLimits explains the arrows.
func (c *course) noteLimits() {
	if c.has(atMost) {
		c.noted(atMost, "chart.course.at-most")
	}
	if c.has(atLeast) {
		c.noted(atLeast, "chart.course.at-least")
	}
}

// sized lays everything out.
func (c *course) sized(width int) Sized {
	slices.SortStableFunc(c.points, func(a, b coursePoint) int { return cmp.Compare(c.days.of(a.when), c.days.of(b.when)) })
	small := c.look.small()
	c.left = c.look.units(0.5)
	c.takeNames(width)
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
	lines := 0
	for i := range c.notes {
		n := &c.notes[i]
		n.lines = c.m.wrap(n.lines[0], small, c.width-2*c.pad-c.noteInset(*n))
		lines += len(n.lines)
	}
	h := c.axisAt + c.axis() + c.m.descent(small) + c.pad
	if lines > 0 {
		h += lines*lead(small) + c.look.units(0.4)
	}
	return Sized{c.chart(h), c.width, h}
}

// noteInset is the room for a note's sign.
func (c *course) noteInset(n courseNote) int {
	if n.sign == plainly {
		return 0
	}
	return c.look.units(1.7)
}

// plotHeight makes the lowest band high enough for its words.
func (c *course) plotHeight() int {
	tall := c.look.units(15)
	for i, b := range c.bands {
		if part := c.part(b); part > least {
			tall = max(tall, int(math.Ceil(float64(c.bandHeight(c.bandLines[i]))/part)))
		}
	}
	return min(tall, c.look.units(tallest))
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
		if n := len(c.bandLines[i]); c.part(band) > least {
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
		x, y := box.Left+c.pad, c.top+c.tall/2
		b.fill(c.look.Paper, x-4, y-lead(c.look.Size), x+c.m.widest(c.empty, c.look.Size)+4, y+(len(c.empty)-1)*lead(c.look.Size)+c.m.descent(c.look.Size)+4)
		b.words(c.look.Muted, c.look.Size, c.empty, x, y, false)
	}
	c.drawNotes(b)
}

func (c *course) drawNotes(b brush) {
	small := c.look.small()
	y := c.axisAt + c.axis() + c.look.units(0.4) + lead(small)
	for _, n := range c.notes {
		x, middle := c.pad+c.look.units(0.7), y-c.m.capHeight(small)/2
		switch n.sign {
		case plainly:
		case dashes:
			b.pen(c.look.Ink, c.look.thick(), 10, 6)
			b.line(c.pad, middle, c.pad+c.look.units(1.3), middle)
			b.pen(c.look.Ink, c.look.thick())
		default:
			c.drawShape(b, coursePoint{shape: n.sign}, x, middle-c.noteDrop(n.sign), 0.26*c.look.Size)
		}
		b.words(c.look.Ink, small, n.lines, c.pad+c.noteInset(n), y, false)
		y += len(n.lines) * lead(small)
	}
}

// noteDrop lifts a sign that hangs from its place, or drops one that stands on it.
func (c *course) noteDrop(s shape) int {
	switch s {
	case atMost:
		return c.look.units(0.26)
	case atLeast:
		return -c.look.units(0.26)
	}
	return 0
}

// drawTrend draws the line dashed, and softly around it all lines that the results allow as well.
func (c *course) drawTrend(b brush, left int) {
	t := c.trend
	if t == nil {
		return
	}
	x0, x1 := c.x(left, t.from), c.x(left, t.to)
	if !c.look.Contrast {
		wedge := c.look.Water
		wedge.A = 0x30
		b.SetFillColor(paint(wedge))
		mx, my := (x0+x1)/2, (c.y(t.mid[0])+c.y(t.mid[1]))/2
		if low, high := t.low[0]-t.low[1], t.high[0]-t.high[1]; low != high {
			// Where the outer lines cross, the mean of the results.
			part := min(max((t.low[0]-t.high[0])/(low-high), 0), 1)
			mx, my = x0+int(part*float64(x1-x0)), c.y(t.mid[0]+part*(t.mid[1]-t.mid[0]))
		}
		for _, side := range []struct{ x, low, high int }{{x0, c.y(t.low[0]), c.y(t.high[0])}, {x1, c.y(t.low[1]), c.y(t.high[1])}} {
			b.MoveTo(side.x, side.low)
			b.LineTo(mx, my)
			b.LineTo(side.x, side.high)
			b.Close()
		}
		b.Fill()
	}
	for _, ends := range [][2]float64{t.low, t.high} {
		b.pen(c.look.Muted, c.look.thin(), 2, 6)
		b.line(x0, c.y(ends[0]), x1, c.y(ends[1]))
	}
	b.pen(c.look.Ink, c.look.thick(), 10, 6)
	b.line(x0, c.y(t.mid[0]), x1, c.y(t.mid[1]))
	b.pen(c.look.Ink, c.look.thick())
}

// lines are the results that are a course, in pieces: not those that tell little, not mere limits, and none
// over a pause.
func (c *course) lines() (out [][]coursePoint) {
	last := math.Inf(-1)
	for _, p := range c.points {
		if p.shape != dot {
			continue
		}
		day := c.days.of(p.when)
		if day-last > joined {
			out = append(out, nil)
		}
		out[len(out)-1] = append(out[len(out)-1], p)
		last = day
	}
	return out
}

func (c *course) drawLine(b brush, left int) {
	b.pen(c.look.Water, max(c.look.thin(), 2*c.look.Size/20))
	for _, piece := range c.lines() {
		if len(piece) < 2 {
			continue
		}
		for i, p := range piece {
			if i == 0 {
				b.MoveTo(c.x(left, p.when), c.y(p.y))
			} else {
				b.LineTo(c.x(left, p.when), c.y(p.y))
			}
		}
		b.Stroke()
	}
}

// crowded is the room, in letter heights, that a result needs for a ring of its own.
const crowded = 0.7

// drawPoints draws the signs, then the words: of few results all that have room, of many the newest, the
// first, the highest and the lowest. Where rings would hide each other only those have one.
func (c *course) drawPoints(b brush, left int) {
	radius := 0.26 * c.look.Size
	room := float64(c.width - c.pad - left)
	dense := float64(len(c.points))*crowded*c.look.Size > room
	told := c.told(room)
	last := -c.width // of the laboratory's own numbers: in a crowd those that touch are left out
	for i, p := range c.points {
		x := c.x(left, p.when)
		switch {
		case dense && p.shape == dot && !slices.Contains(told, i):
			continue
		case dense && p.shape == theirs && x-last < c.look.units(crowded):
			continue
		case p.shape == theirs:
			last = x
		}
		c.drawShape(b, p, x, c.yOf(p), radius)
	}
	k := c.labels(left, radius)
	for _, i := range told {
		p := c.points[i]
		x, y, away := c.x(left, p.when), c.yOf(p), int(math.Ceil(radius))+c.look.units(0.35)
		if p.shape == atLeast { // it stands on its place
			y, away = y-int(radius), away+int(radius)
		}
		k.put(b, p.label, x, y, away, i == told[0])
	}
	if t := c.trend; t != nil && t.said != "" {
		c.sayTrend(b, k, left)
	}
}

// told are the results that get words, the most important first.
func (c *course) told(room float64) []int {
	var all []int
	words := 0
	for i, p := range slices.Backward(c.points) {
		if p.label != "" {
			all = append(all, i)
			words += c.m.width(p.label, c.look.small()) + c.look.units(0.4)
		}
	}
	if len(all) == 0 || float64(words) < 0.9*room {
		return all
	}
	ends := []int{all[0], all[len(all)-1]}
	by := func(a, b int) int { return cmp.Compare(c.points[a].y, c.points[b].y) }
	slices.Reverse(all) // of equal ones the first
	for _, i := range []int{slices.MaxFunc(all, by), slices.MinFunc(all, by)} {
		if !slices.ContainsFunc(ends, func(told int) bool { return c.points[told].label == c.points[i].label }) {
			ends = append(ends, i)
		}
	}
	for _, i := range all { // what has a sign of its own stands alone and can be told
		if c.points[i].shape != dot {
			ends = append(ends, i)
		}
	}
	var out []int
	for _, i := range ends {
		if !slices.Contains(out, i) {
			out = append(out, i)
		}
	}
	return out
}

// yOf keeps a sign that hangs from its place inside the plot.
func (c *course) yOf(p coursePoint) int {
	r := int(math.Ceil(0.26*c.look.Size)) + 2
	switch p.shape {
	case atMost:
		return min(c.y(p.y), c.axisAt-2*r)
	case atLeast:
		return max(c.y(p.y), c.top+2*r)
	}
	return c.y(p.y)
}

// sayTrend writes the slope beside the line of the trend, as near to its end as there is room.
func (c *course) sayTrend(b brush, k *labels, left int) {
	t := c.trend
	x0, x1 := c.x(left, t.from), c.x(left, t.to)
	w := c.m.width(t.said, c.look.small())
	for part := 1.0; part >= 0; part -= 0.1 {
		x := x0 + int(part*float64(x1-x0))
		y := c.y(t.mid[0] + part*(t.mid[1]-t.mid[0]))
		for _, away := range []float64{0.6, 1.2, 2, 3} {
			for _, side := range []int{-1, 1} {
				if k.free(b, t.said, x-w/2, y+side*c.look.units(away), side) {
					return
				}
			}
		}
	}
}

// labels finds room for words among what is drawn.
type labels struct {
	c      *course
	inside box4
	solid  []box4   // words and signs: nothing may lie over them
	lines  [][4]int // better not crossed
	levels []int    // edges of bands, better not crossed either
}

// box4 is a rectangle by its edges.
type box4 struct{ x0, y0, x1, y1 int }

func (a box4) overlaps(b box4) bool { return a.x0 < b.x1 && b.x0 < a.x1 && a.y0 < b.y1 && b.y0 < a.y1 }

func (a box4) within(b box4) bool {
	return a.x0 >= b.x0 && a.x1 <= b.x1 && a.y0 >= b.y0 && a.y1 <= b.y1
}

// crossed reports a straight line through the box.
func (a box4) crossed(l [4]int) bool {
	x0, y0, x1, y1 := float64(l[0]), float64(l[1]), float64(l[2]), float64(l[3])
	from, to := 0.0, 1.0
	for _, side := range [][3]float64{{x0, x1 - x0, float64(a.x0)}, {-x0, x0 - x1, -float64(a.x1)}, {y0, y1 - y0, float64(a.y0)}, {-y0, y0 - y1, -float64(a.y1)}} {
		at, moves, edge := side[0], side[1], side[2]
		switch {
		case moves == 0 && at < edge:
			return false
		case moves > 0:
			from = max(from, (edge-at)/moves)
		case moves < 0:
			to = min(to, (edge-at)/moves)
		}
	}
	return from <= to
}

func (c *course) labels(left int, radius float64) *labels {
	k := &labels{c: c, inside: box4{left, c.top, c.width - c.pad, c.axisAt}}
	r := int(math.Ceil(radius)) + 1
	for _, p := range c.points {
		x, y := c.x(left, p.when), c.yOf(p)
		box := box4{x - r, y - r, x + r, y + r}
		switch p.shape {
		case atMost:
			box.y0, box.y1 = y-3, y+2*r+2
		case atLeast:
			box.y0, box.y1 = y-2*r-2, y+3
		}
		k.solid = append(k.solid, box)
	}
	for _, piece := range c.lines() {
		for i := 1; i < len(piece); i++ {
			k.lines = append(k.lines, [4]int{c.x(left, piece[i-1].when), c.y(piece[i-1].y), c.x(left, piece[i].when), c.y(piece[i].y)})
		}
	}
	if t := c.trend; t != nil {
		x0, x1 := c.x(left, t.from), c.x(left, t.to)
		for _, ends := range [][2]float64{t.mid, t.low, t.high} {
			k.lines = append(k.lines, [4]int{x0, c.y(ends[0]), x1, c.y(ends[1])})
		}
	}
	for _, band := range c.bands {
		k.levels = append(k.levels, c.y(band.from))
	}
	return k
}

// put writes words above or below a place, or at a corner of it, where they disturb least. What must be
// said is written even where it covers a line.
func (k *labels) put(b brush, text string, x, y, away int, must bool) {
	small := k.c.look.small()
	w, up := k.c.m.width(text, small), k.c.m.capHeight(small)
	best, cost := box4{}, math.MaxInt
	for i, at := range [][2]int{{x - w/2, y - away}, {x - w/2, y + away + up}, {x + away, y - away/2}, {x - away - w, y - away/2}, {x + away, y + away/2 + up}, {x - away - w, y + away/2 + up}, {x - w/2, y - 2*away}, {x - w/2, y + 2*away + up}} {
		box := box4{at[0] - 2, at[1] - up - 2, at[0] + w + 2, at[1] + k.c.m.descent(small)}
		if c := k.cost(box)*16 + i; c < cost {
			best, cost = box, c
		}
	}
	if !must && cost >= 16*blocked {
		return
	}
	k.write(b, text, best, cost >= 16)
}

// blocked is what it costs to write over words, signs or the edge.
const blocked = 1000

// cost is how much a box disturbs.
func (k *labels) cost(box box4) int {
	cost := 0
	if !box.within(k.inside) {
		cost += 10 * blocked
	}
	for _, s := range k.solid {
		if box.overlaps(s) {
			cost += blocked
		}
	}
	for _, l := range k.lines {
		if box.crossed(l) {
			cost += 4
		}
	}
	for _, y := range k.levels {
		if y > box.y0 && y < box.y1 {
			cost++
		}
	}
	return cost
}

// free writes words above (side −1) or below a height, if nothing at all lies there.
func (k *labels) free(b brush, text string, x, y, side int) bool {
	small := k.c.look.small()
	w, up := k.c.m.width(text, small), k.c.m.capHeight(small)
	x = min(max(x, k.inside.x0+2), k.inside.x1-w-2)
	if side > 0 {
		y += up
	}
	box := box4{x - 2, y - up - 2, x + w + 2, y + k.c.m.descent(small)}
	if k.cost(box) > 0 {
		return false
	}
	k.write(b, text, box, false)
	return true
}

func (k *labels) write(b brush, text string, box box4, onPaper bool) {
	small := k.c.look.small()
	if onPaper {
		b.fill(k.c.look.Paper, box.x0, box.y0, box.x1, box.y1)
	}
	b.words(k.c.look.Ink, small, []string{text}, box.x0+2, box.y0+2+k.c.m.capHeight(small), false)
	k.solid = append(k.solid, box)
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
	case little:
		b.SetFillColor(paint(c.look.Paper))
		b.pen(c.look.Ink, c.look.thick())
		b.MoveTo(x-r-1, y+r)
		b.LineTo(x, y-r-1)
		b.LineTo(x+r+1, y+r)
		b.Close()
		b.FillStroke()
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
