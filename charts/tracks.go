package charts

import (
	"cmp"
	"math"
	"slices"
	"strings"

	"quietwater/model"
	"quietwater/model/timeline"
)

// track is a course laid out in a lane of its own: numbers as a line, how bad a symptom was as bars,
// what lasted as a band.
type track struct {
	timeline.Track
	head   *head
	lo, hi float64
	at     []float64 // of each point, in days
	y, h   int
}

// newTrack takes what lies in the window.
func (c *padChart) newTrack(t timeline.Track) *track {
	it := &track{Track: t}
	it.Points = nil
	for _, p := range t.Points {
		if c.days.covers(p.When) {
			it.Points, it.at = append(it.Points, p), append(it.at, c.days.of(p.When))
		}
	}
	it.head = newHead(c.trackName(t))
	if t.Unit != "" {
		it.head.note = strings.TrimSpace(it.head.note + " " + strings.ReplaceAll(c.words.Unit(t.Unit), " ", "\u00a0"))
	}
	if t.Limit > 0 {
		it.head.note += ", " + c.words.T(model.T("chart.tracks.limit", "value", model.Quantity{Typed: model.FormatNumber(t.Limit)}))
	}
	it.stretch()
	return it
}

// trackName names a course as the reader knows it.
func (c *padChart) trackName(t timeline.Track) string {
	if m := ownName(t); !m.IsZero() {
		return c.words.T(m)
	}
	return c.words.Name(t.Kind, t.Code)
}

// TrackName is the name of a course as it stands alone.
func TrackName(t timeline.Track) model.Msg {
	if m := ownName(t); !m.IsZero() {
		return m
	}
	return model.T("guided.pads", "pads", model.T("name."+string(t.Kind)+"."+string(t.Code)))
}

// ownName is the name of a course that is no item of the plain table.
func ownName(t timeline.Track) model.Msg {
	switch {
	case t.Code == timeline.Pressure:
		return model.T("chart.tracks.pressure")
	case t.Kind == model.Fluid && t.Code == "drink":
		return model.T("chart.tracks.drink")
	case t.Kind == model.Fluid:
		return model.T("chart.tracks.urine")
	}
	return model.Msg{}
}

// stretch sets what the height of the lane stands for.
func (t *track) stretch() {
	if n, ok := t.Steps(); ok {
		t.lo, t.hi = 0, float64(n)
		return
	}
	if len(t.Points) == 0 {
		return
	}
	t.lo, t.hi = math.Inf(1), math.Inf(-1)
	for _, p := range t.Points {
		t.lo, t.hi = min(t.lo, p.Lo), max(t.hi, p.Hi)
	}
	if t.Kind == model.Fluid { // amounts are seen from nothing
		t.lo, t.hi = 0, max(t.hi, t.Limit)
	}
}

// tall is the height of a lane's own drawing.
func (c *padChart) tall(t *track) int {
	switch _, steps := t.Steps(); {
	case steps:
		return c.look.units(1.2)
	case len(t.Points) == 0:
		return c.look.units(0.9)
	}
	return c.look.units(2.6)
}

// reach is the room above and below it for words and rings.
func (c *padChart) reach(t *track) int {
	if _, steps := t.Steps(); steps || len(t.Points) == 0 {
		return c.free() + c.look.units(0.2)
	}
	return c.free() + c.away() + c.m.capHeight(c.look.small()) + c.m.descent(c.look.small())
}

// away is how far the words of a course keep from where its line may run.
func (c *padChart) away() int {
	return int(math.Ceil(0.22*c.look.Size+c.look.thick())) + c.look.units(0.15)
}

func (c *padChart) placeTracks(y int) int {
	for _, t := range c.tracks {
		t.y, t.h = y, max(c.tall(t)+2*c.reach(t), c.headHeight(t.head)+c.look.units(0.8))
		y += t.h
	}
	return y
}

// column is what a track shows in one column of pixels.
type column struct {
	x           int
	lo, hi      float64
	first, last float64 // days
	top, bottom int     // the points with the highest and the lowest
}

// columns gathers points by pixel: what is drawn costs by width, not by how many years there are.
func (c *padChart) columns(t *track) []column {
	var out []column
	for i, p := range t.Points {
		x := c.days.Translate(t.at[i])
		if n := len(out); n > 0 && out[n-1].x == x {
			k := &out[n-1]
			if p.Hi > k.hi {
				k.hi, k.top = p.Hi, i
			}
			if p.Lo < k.lo {
				k.lo, k.bottom = p.Lo, i
			}
			k.last = t.at[i]
			continue
		}
		out = append(out, column{x, p.Lo, p.Hi, t.at[i], t.at[i], i, i})
	}
	return out
}

func (p padSeries) drawTrack(b brush, t *track, left int) {
	p.drawHead(b, t.head, t.y+p.look.units(0.4))
	top, high := t.y+p.reach(t), p.tall(t)
	switch _, steps := t.Steps(); {
	case steps:
		p.drawSteps(b, t, left, top, high)
	case len(t.Points) > 0:
		p.drawCourse(b, t, left, top, high)
	}
	for _, s := range t.Spans {
		p.drawSpan(b, s, left, top, high)
	}
}

// drawSpan draws what lasted as a band with an edge where it began and ended, and none where it goes on.
func (p padSeries) drawSpan(b brush, s timeline.Span, left, top, high int) {
	from, to := -1.0, p.days.day(p.days.last)+1
	if !s.From.IsZero() {
		from = p.days.of(s.From)
	}
	if !s.To.IsZero() {
		to = p.days.of(s.To)
	}
	within := func(day float64) int {
		return left + min(max(p.days.Translate(day), 0), p.days.Domain)
	}
	x0, x1 := within(from), within(to)
	x1 = max(x1, x0+p.look.units(0.2))
	b.fill(p.look.Soft, x0, top, x1, top+high)
	b.pen(p.look.Water, p.look.thick())
	b.line(x0, top, x1, top)
	b.line(x0, top+high-1, x1, top+high-1)
	if from >= 0 {
		b.line(x0, top, x0, top+high-1)
	}
	if !s.Open && to <= p.days.day(p.days.last) {
		b.line(x1, top, x1, top+high-1)
	}
}

// drawSteps draws bars as high as a symptom was bad, and beside the worst of them the word for it.
func (p padSeries) drawSteps(b brush, t *track, left, top, high int) {
	wide := max(p.look.units(0.3), p.days.Translate(1)-p.days.Translate(0)-p.look.units(0.1))
	wide = min(wide, p.look.units(1.5))
	b.pen(p.look.Line, p.look.thin())
	b.line(left, top+high, left+p.days.Domain, top+high)
	for _, k := range p.columns(t) {
		h := int(math.Round(float64(high) * k.hi / t.hi))
		if h == 0 { // asked for, and not there
			b.pen(p.look.Muted, p.look.thick())
			b.line(left+k.x-wide/2, top+high-p.look.units(0.15), left+k.x+wide/2, top+high-p.look.units(0.15))
			continue
		}
		b.fill(p.look.Water, left+k.x-wide/2, top+high-h, left+k.x+(wide+1)/2, top+high)
	}
	p.sayWorst(b, t, left, top, high, wide)
}

// sayWorst writes the word to the right of the worst, or to its left at the end, where nothing else stands.
func (p padSeries) sayWorst(b brush, t *track, left, top, high, wide int) {
	all := p.columns(t)
	i := 0
	for j, k := range all {
		if k.hi >= all[i].hi {
			i = j
		}
	}
	worst, size := all[i], p.look.small()
	if worst.hi == 0 {
		return
	}
	text := p.words.Value(t.Kind, model.Value{Code: t.Code, Number: worst.hi, Typed: model.FormatNumber(worst.hi)})
	w := p.m.width(text, size) + p.look.units(0.3)
	x := left + worst.x + wide/2 + p.look.units(0.3)
	if i+1 < len(all) && left+all[i+1].x-wide/2 < x+w || x+w > left+p.days.Domain {
		x = left + worst.x - wide/2 - w
		if i > 0 && left+all[i-1].x+wide/2 > x-p.look.units(0.3) || x < left {
			return
		}
	}
	b.words(p.look.Ink, size, []string{text}, x, top+high-p.m.descent(size)-int(2*p.look.thin()), false)
}

// drawCourse draws numbers as a line that stops at long pauses, with the highest, the lowest and the
// newest written beside it.
func (p padSeries) drawCourse(b brush, t *track, left, top, high int) {
	y := func(v float64) int {
		part := (v - t.lo) / (t.hi - t.lo)
		if !(part >= 0 && part <= 1) {
			part = 0.5 // all the same
		}
		return top + high - int(math.Round(part*float64(high)))
	}
	if t.Limit > 0 {
		b.pen(p.look.Ink, p.look.thin(), 6, 4)
		b.line(left, y(t.Limit), left+p.days.Domain, y(t.Limit))
	}
	all := p.columns(t)
	pairs := t.Code == timeline.Pressure
	switch {
	case t.Kind == model.Fluid:
		for _, k := range all {
			b.fill(p.look.Water, left+k.x-p.look.units(0.12), y(k.hi), left+k.x+p.look.units(0.12)+1, y(0))
		}
	default:
		b.pen(p.look.Water, max(p.look.thin(), 1.5*p.look.Size/20))
		for i, k := range all {
			middle := y(k.lo/2 + k.hi/2)
			if i == 0 || pairs || t.Joined == 0 || k.first-all[i-1].last > t.Joined {
				b.MoveTo(left+k.x, middle)
			} else {
				b.LineTo(left+k.x, middle)
			}
			if k.lo != k.hi {
				b.MoveTo(left+k.x, y(k.hi))
				b.LineTo(left+k.x, y(k.lo))
				b.MoveTo(left+k.x, middle)
			}
		}
		b.Stroke()
		b.pen(p.look.Water, p.look.thick())
		for i, k := range all {
			if p.spaced(all, i) {
				for _, v := range slices.Compact([]float64{k.lo, k.hi}) {
					b.ring(left+k.x, y(v), 0.7*p.radius())
				}
			}
		}
	}
	p.tell(b, t, all, left, top, high)
}

// spaced reports a column with room for a ring between its neighbours.
func (p padSeries) spaced(all []column, i int) bool {
	room := int(3 * p.radius())
	return (i == 0 || all[i].x-all[i-1].x >= room) && (i+1 == len(all) || all[i+1].x-all[i].x >= room)
}

// tell writes the newest, the highest and the lowest above or below where the line runs; of two that would
// lie on one another the first stays.
func (p padSeries) tell(b brush, t *track, all []column, left, top, high int) {
	if len(all) == 0 {
		return
	}
	last := all[len(all)-1]
	highest := slices.MaxFunc(all, func(a, b column) int { return cmp.Compare(a.hi, b.hi) })
	lowest := slices.MinFunc(all, func(a, b column) int { return cmp.Compare(a.lo, b.lo) })
	size := p.look.small()
	var taken []box4
	write := func(k column, point int, above bool) {
		text := p.numbers(t.Points[point].Typed)
		w := p.m.width(text, size)
		x := min(max(left+k.x-w/2, left), left+p.days.Domain-w)
		base := top - p.away()
		if !above {
			base = top + high + p.away() + p.m.capHeight(size)
		}
		box := box4{x - p.look.units(0.2), base - p.m.capHeight(size), x + w + p.look.units(0.2), base + p.m.descent(size)}
		if slices.ContainsFunc(taken, box.overlaps) {
			return
		}
		taken = append(taken, box)
		b.words(p.look.Ink, size, []string{text}, x, base, false)
	}
	plain := t.Kind != model.Fluid && t.Code != timeline.Pressure
	write(last, last.top, !plain || last.hi >= (t.lo+t.hi)/2)
	if highest.top != last.top {
		write(highest, highest.top, true)
	}
	if plain && lowest.bottom != last.bottom && lowest.lo < highest.hi {
		write(lowest, lowest.bottom, false)
	}
}

// numbers writes a number, or the two of a pair, as the reader's language does.
func (c *padChart) numbers(typed string) string {
	parts := strings.Split(typed, "/")
	for i := range parts {
		parts[i] = c.words.Number(parts[i])
	}
	return strings.Join(parts, "/")
}

// describeTrack says a course in words.
func describeTrack(t timeline.Track) model.Msg {
	name := ownName(t)
	if name.IsZero() {
		name = model.T("name." + string(t.Kind) + "." + string(t.Code))
	}
	if len(t.Points) == 0 {
		return model.T("chart.tracks.said-span", "what", name)
	}
	low := slices.MinFunc(t.Points, func(a, b timeline.Point) int { return cmp.Compare(a.Lo, b.Lo) })
	high := slices.MaxFunc(t.Points, func(a, b timeline.Point) int { return cmp.Compare(a.Hi, b.Hi) })
	if _, steps := t.Steps(); steps {
		when := model.OnDay(high.When.DayIn(high.When.Time().Location()))
		switch it, _ := model.Find(t.Kind, t.Code); {
		case high.Hi == 0:
			return model.T("chart.tracks.said-is", "what", name, "how", model.T("word.no"), "when", when)
		case it.YesNo:
			return model.T("chart.tracks.said-is", "what", name, "how", model.T("word.yes"), "when", when)
		}
		return model.T("chart.tracks.said-worst", "what", name, "how", model.T("severity."+high.Typed), "when", when)
	}
	if len(t.Points) == 1 || low.Typed == high.Typed {
		return model.T("chart.tracks.said-number", "what", name, "value", model.Quantity{Typed: high.Typed})
	}
	return model.T("chart.tracks.said-range", "what", name, "low", model.Quantity{Typed: low.Typed}, "high", model.Quantity{Typed: high.Typed})
}
