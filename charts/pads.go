package charts

import (
	"cmp"
	"image"
	"math"
	"slices"
	"strings"
	"time"

	"github.com/wcharczuk/go-chart/v2"

	"quietwater/model"
	"quietwater/model/finding"
	"quietwater/model/strip"
	"quietwater/model/timeline"
)

// unbroken is the longest pause, in days, over which the line of a number goes on: a household tests
// about weekly, and one test left out is no gap. Common practice.
const unbroken = 14

// scales are the numbers of the blocks most strips print, so that a wobble by one block looks like one.
// Readings beyond widen them. Common practice.
func scale(pad model.Code) (lo, hi float64, ok bool) {
	switch pad {
	case model.PH:
		return 5, 8.5, true
	case model.SpecificGravity:
		return 1, 1.03, true
	}
	return 0, 0, false
}

// Describe says in words what the picture shows, each pad with the highest it reached.
func Describe(p timeline.Picture) model.Msg {
	times := map[string]bool{}
	var said []model.Msg
	for _, l := range p.Lanes {
		for _, c := range l.Cells {
			times[c.When.String()] = true
		}
		said = append(said, describeLane(l))
	}
	tracks := timeline.Cut(p.Tracks, p.From, p.To)
	for _, t := range tracks {
		said = append(said, describeTrack(t))
	}
	if n := len(p.Marks); n > 0 {
		said = append(said, model.T("chart.pads.found", "n", n))
	}
	days := window(p)
	switch {
	case len(times) == 0 && len(tracks) > 0:
		return spanWords(days, "chart.tracks.description", "chart.tracks.description-day", "said", said)
	case len(times) == 0 && p.From.IsZero():
		return model.T("chart.pads.empty-undated")
	case len(times) == 0 && len(said) == 0:
		return spanWords(days, "chart.pads.empty", "chart.pads.empty-day")
	case len(times) == 0:
		return spanWords(days, "chart.pads.empty-found", "chart.pads.empty-found-day", "found", said)
	}
	return spanWords(days, "chart.pads.description", "chart.pads.description-day", "n", len(times), "pads", said)
}

// spanWords is a text about a stretch of days, or about a single one, which
// says its date once.
func spanWords(d *calendar, several, one string, args ...any) model.Msg {
	from, to := model.OnDay(d.first), model.OnDay(d.last.Add(-time.Hour))
	if from.String() == to.String() {
		return model.T(one, append(args, "day", from)...)
	}
	return model.T(several, append(args, "from", from, "to", to)...)
}

func describeLane(l timeline.Lane) model.Msg {
	s := sumUp(l.Cells)
	switch {
	case s.graded:
		return model.T("chart.pads.said-highest", "pad", l.Pad, "grade", s.top.Grade, "when", model.OnDay(s.top.When.DayIn(s.top.When.Time().Location())))
	case s.numbers == nil:
		return model.T("chart.pads.said-not-judged", "pad", l.Pad)
	case s.low().Value.Text() == s.high().Value.Text():
		return model.T("chart.pads.said-number", "pad", l.Pad, "value", quantity(s.low()))
	}
	return model.T("chart.pads.said-range", "pad", l.Pad, "low", quantity(s.low()), "high", quantity(s.high()))
}

func quantity(c timeline.Cell) model.Quantity {
	return model.Quantity{Typed: c.Value.Text(), UCUM: unitOf(c.Value)}
}

func unitOf(v model.Value) string {
	if v.Unit != "" {
		return v.Unit
	}
	it, _ := model.Find(model.Strip, v.Code)
	return it.DefaultUnit()
}

// sum is what several readings of one pad come to: the highest grade if any was judged, else the numbers
// in order, else nothing judged.
type sum struct {
	graded  bool
	top     timeline.Cell
	numbers []timeline.Cell // ascending; only where nothing is graded
}

func sumUp(cells []timeline.Cell) sum {
	var s sum
	for _, c := range cells {
		switch {
		case c.Standing == strip.NotJudged:
		case c.Grade.Judged():
			higher := cmp.Or(cmp.Compare(c.Grade.Rank(), s.top.Grade.Rank()), cmp.Compare(c.Standing, s.top.Standing))
			if !s.graded || higher > 0 {
				s.top, s.graded = c, true
			}
		case isNumber(c):
			s.numbers = append(s.numbers, c)
		}
	}
	if s.graded {
		s.numbers = nil
	}
	slices.SortStableFunc(s.numbers, func(a, b timeline.Cell) int { return cmp.Compare(number(a), number(b)) })
	return s
}

func (s sum) low() timeline.Cell    { return s.numbers[0] }
func (s sum) high() timeline.Cell   { return s.numbers[len(s.numbers)-1] }
func (s sum) middle() timeline.Cell { return s.numbers[(len(s.numbers)-1)/2] }

func isNumber(c timeline.Cell) bool {
	return c.Value.IsNumber() && !math.IsNaN(c.Value.Number) && !math.IsInf(c.Value.Number, 0)
}

// number is a reading in its pad's first unit, or as it stands where no sure conversion exists.
func number(c timeline.Cell) float64 {
	it, _ := model.Find(model.Strip, c.Value.Code)
	if n, ok := it.In(c.Value, it.DefaultUnit()); ok {
		return n
	}
	return c.Value.Number
}

// padChart is the picture laid out. Lengths are logical pixels; x from the left edge of the plot, y from
// the top of the chart.
type padChart struct {
	look   Look
	m      ruler
	words  Words
	days   *calendar
	width  int
	pad    int // around everything
	left   int // where the plot begins
	chosen model.When

	marks  markRow
	tests  testRow
	photos photoRow
	lanes  []*lane
	tracks []*track
	empty  []string // what is said where there is nothing to show
	notes  []string // under the axis
	end    int      // of the last row, where the axis is
}

// head names a row: a plain word, and small beneath it the medical one and the unit.
type head struct {
	name, note  string
	names, also []string // in lines
	size        float64
}

type markRow struct {
	head    *head
	found   []timeline.Mark
	spots   []cluster
	lines   [][]string
	y, h    int
	w, tall int // of a gauge
}

type testRow struct {
	head   *head
	counts []int
	at     []int
	y, h   int
}

// photoRow has a frame for the newest of the photographs of a place.
type photoRow struct {
	head    *head
	taken   []timeline.Photo
	spots   []cluster
	y, h    int
	w, high int // of a frame
}

type lane struct {
	head   *head
	pad    model.Code
	cells  []timeline.Cell
	days   []float64
	units  map[string]bool
	number bool
	lo, hi float64
	spots  []spot
	lines  int // of words under the cells
	y, h   int
}

// spot is what a lane shows in one column.
type spot struct {
	sum
	at          int
	first, last float64 // days
	lines       []string
}

// Pads draws the strip readings: a lane for each pad over one axis of time, the findings above as tide
// marks. A graded reading is a cell filled as high as its grade, with its printed word below; a number is
// a ringed point. Readings too close to be told apart share a cell that shows the highest (of numbers,
// the lowest and highest), under a count of the tests. What lies outside the picture's days is left out.
//
// Of a grade's words those in brackets are left out here ("1+ (one plus)"): the word printed on the pack
// comes first.
func Pads(p timeline.Picture, w Words, l Look, width int) Sized {
	l = l.sane()
	c := layOut(p, w, l, width)
	return Sized{c.chart(c.height()), c.width, c.height()}
}

// Place is what lies somewhere in the picture: a moment, and whose lane. Beside
// all lanes there is no kind; Findings is the row of the findings, Photo the
// test that a photograph there was read for.
type Place struct {
	When     time.Time
	Kind     model.Kind
	Code     model.Code
	Findings bool
	Photo    model.ID
}

// PadsAt is what lies at a place of the same picture, counted from its upper
// left corner in logical pixels; ok is false beside the plot.
func PadsAt(p timeline.Picture, w Words, l Look, width, x, y int) (at Place, ok bool) {
	c := layOut(p, w, l.sane(), width)
	part := float64(x-c.left) / float64(max(c.days.Domain, 1))
	if part < 0 || part > 1 || !c.days.dated() {
		return at, false
	}
	day := c.days.Min + part*(c.days.Max-c.days.Min)
	day = max(0, min(day, c.days.day(c.days.last)-0.01))
	at.When = c.days.first.Add(time.Duration(day * 24 * float64(time.Hour)))
	at.Findings = within(y, c.marks.y, c.marks.h)
	for _, s := range c.photos.spots {
		if f := c.frame(s); image.Pt(x, y).In(f) {
			at.Photo = c.photos.taken[s.to-1].Entry
		}
	}
	for _, l := range c.lanes {
		if within(y, l.y, l.h) {
			at.Kind, at.Code = model.Strip, l.pad
		}
	}
	for _, t := range c.tracks {
		if within(y, t.y, t.h) {
			at.Kind, at.Code = t.Kind, t.Code
		}
	}
	return at, true
}

func within(y, top, high int) bool { return y >= top && y < top+high }

func layOut(p timeline.Picture, w Words, l Look, width int) *padChart {
	c := &padChart{look: l, m: l.ruler(), words: w, pad: l.units(0.6), chosen: p.Chosen}
	c.days = window(p)
	c.days.clock = w.Clock
	c.gather(p)
	c.place(width)
	return c
}

// window is the days of the picture, or if it names none, those of its readings.
func window(p timeline.Picture) *calendar {
	from, to := p.From, p.To
	if !from.IsZero() || !to.IsZero() {
		return newCalendar(from, to)
	}
	see := func(w model.When) {
		if t := w.Time(); !w.IsZero() {
			if from.IsZero() || t.Before(from) {
				from = t
			}
			if t.After(to) {
				to = t
			}
		}
	}
	for _, l := range p.Lanes {
		for _, c := range l.Cells {
			see(c.When)
		}
	}
	for _, m := range p.Marks {
		see(m.When)
	}
	return newCalendar(from, to)
}

// gather takes what lies in the window, and names the rows.
func (c *padChart) gather(p timeline.Picture) {
	for _, m := range p.Marks {
		if c.days.covers(m.When) {
			c.marks.found = append(c.marks.found, m)
		}
	}
	slices.SortStableFunc(c.marks.found, func(a, b timeline.Mark) int {
		return cmp.Compare(c.days.of(a.When), c.days.of(b.When))
	})
	if len(c.marks.found) > 0 {
		c.marks.head = &head{name: c.say("chart.pads.findings")}
	}
	for _, t := range p.Photos {
		if c.days.covers(t.When) {
			c.photos.taken = append(c.photos.taken, t)
		}
	}
	if len(c.photos.taken) > 0 {
		c.photos.head = &head{name: c.say("chart.pads.photos")}
	}
	c.tests.head = &head{name: c.say("chart.pads.tests"), note: c.say("chart.pads.tests-note")}
	for _, l := range p.Lanes {
		if it := c.newLane(l); len(it.cells) > 0 {
			c.lanes = append(c.lanes, it)
		}
	}
	for _, t := range p.Tracks {
		if it := c.newTrack(t); len(it.Points)+len(it.Spans) > 0 {
			c.tracks = append(c.tracks, it)
		}
	}
}

func (c *padChart) say(key string) string { return c.words.T(model.T(key)) }

// parted parts a name from what it says more exactly in brackets, with those
// of Chinese too: "Acidity", "(pH)".
func parted(name string) (plain, exact string) {
	if i := strings.IndexAny(name, "(（"); i > 0 {
		return strings.TrimRight(name[:i], " "), name[i:]
	}
	return name, ""
}

func newHead(name string) *head {
	plain, exact := parted(name)
	return &head{name: plain, note: exact}
}

func (c *padChart) newLane(l timeline.Lane) *lane {
	it := &lane{pad: l.Pad, number: true, units: map[string]bool{}}
	for _, cell := range l.Cells {
		if !c.days.covers(cell.When) {
			continue
		}
		it.cells = append(it.cells, cell)
		if cell.Grade.Judged() && cell.Standing > strip.NotJudged {
			it.number = false
		}
		if cell.Value.IsNumber() {
			it.units[unitOf(cell.Value)] = true
		}
	}
	slices.SortStableFunc(it.cells, func(a, b timeline.Cell) int {
		return cmp.Compare(c.days.of(a.When), c.days.of(b.When))
	})
	for _, cell := range it.cells {
		it.days = append(it.days, c.days.of(cell.When))
	}
	it.head = newHead(c.words.Name(model.Strip, l.Pad))
	if len(it.units) == 1 {
		for u := range it.units {
			it.head.note = strings.TrimSpace(it.head.note + " " + strings.ReplaceAll(c.words.Unit(u), " ", "\u00a0"))
		}
	}
	it.stretch()
	return it
}

// stretch sets what the height of a lane of numbers stands for.
func (l *lane) stretch() {
	s := sumUp(l.cells)
	if !l.number || s.numbers == nil {
		l.lo, l.hi = 0, 1
		return
	}
	l.lo, l.hi = number(s.low()), number(s.high())
	if lo, hi, ok := scale(l.pad); ok {
		l.lo, l.hi = min(l.lo, lo), max(l.hi, hi)
	}
}

// label is what stands under a reading: the printed word or the number as it was written, with its unit
// where the lane holds several, and a question mark where it is in doubt.
func (c *padChart) label(l *lane, cell timeline.Cell) []string {
	text := cell.Value.Text()
	switch {
	case cell.Value.IsNumber():
		text = c.words.Number(text)
		if len(l.units) > 1 {
			text += " " + c.words.Unit(unitOf(cell.Value))
		}
	case cell.Grade.Judged():
		text, _ = parted(c.words.Grade(cell.Grade))
	}
	if cell.Standing == strip.Doubtful || cell.Standing == strip.RetestOnly {
		text = c.words.T(model.T("chart.pads.doubtful", "value", text))
	}
	return c.m.wrap(text, c.look.small(), 0)
}

// place finds a width for everything across, then a height for everything down.
func (c *padChart) place(width int) {
	room, labels := c.room()
	c.placeHeads(width)
	mark := c.placeMarks()
	gap := c.look.units(0.4)
	date := 0
	if c.days.dated() {
		date = c.m.width(c.words.DateShort(model.OnDay(c.days.first)), c.look.small())
	}
	inset := max(room, mark, c.cell(), date)/2 + 2 // the first and the last day can be named
	plot := max(width-c.left-c.pad, 2*inset, date+2*gap, c.look.units(7), c.look.units(12)-c.left)
	c.width = c.left + plot + c.pad
	c.days.spread(plot, inset)
	c.days.mark(c.words.DateShort, c.m, c.look.small())
	c.marks.spots = group(c.placesOf(c.marks.found), mark+gap)
	c.marks.lines = c.markLines()
	c.fillColumns(room+gap, labels)
	c.placePhotos(gap)

	y := c.pad
	if c.marks.head != nil {
		c.marks.y, c.marks.h = y, c.markHeight()
		y += c.marks.h
	}
	if len(c.tests.counts) > 0 {
		c.tests.y, c.tests.h = y, c.headHeight(c.tests.head)+c.look.units(0.6)
		y += c.tests.h
	}
	if c.photos.head != nil {
		c.photos.y, c.photos.h = y, max(c.photos.high+c.look.units(1), c.headHeight(c.photos.head)+c.look.units(0.6))
		y += c.photos.h
	}
	for _, l := range c.lanes {
		l.y, l.h = y, max(c.body(l), c.headHeight(l.head))+c.look.units(1)
		y += l.h
	}
	y = c.placeTracks(y)
	if len(c.lanes)+len(c.tracks) == 0 {
		nothing := model.T("chart.pads.empty-undated")
		if c.days.dated() {
			nothing = spanWords(c.days, "chart.pads.empty", "chart.pads.empty-day")
		}
		c.empty = c.m.wrap(c.words.T(nothing), c.look.Size, plot)
		y += len(c.empty)*lead(c.look.Size) + c.look.units(2)
	}
	c.end = y
	c.notes = c.takeNotes()
}

// room is the width of the widest label of any reading, and the labels by reading.
func (c *padChart) room() (int, map[labelKey][]string) {
	room := c.cell()
	seen := map[labelKey][]string{}
	for _, l := range c.lanes {
		for _, cell := range l.cells {
			k := keyOf(l, cell)
			if _, ok := seen[k]; ok {
				continue
			}
			seen[k] = c.label(l, cell)
			if cell.Standing == strip.NotJudged || !cell.Grade.Judged() && !isNumber(cell) {
				seen[k] = c.m.wrap(c.say("chart.pads.not-judged"), c.look.small(), 0)
			}
			room = max(room, c.m.widest(seen[k], c.look.small()))
		}
	}
	return room, seen
}

// labelKey is what a label depends on: asking for the words of thousands of readings would take longer
// than drawing them.
type labelKey struct {
	lane     *lane
	text     string
	unit     string
	grade    model.Grade
	standing strip.Standing
}

func keyOf(l *lane, c timeline.Cell) labelKey {
	if c.Standing == strip.NotJudged {
		return labelKey{}
	}
	return labelKey{l, c.Value.Text(), c.Value.Unit, c.Grade, c.Standing}
}

// cell is the side of a reading's square.
func (c *padChart) cell() int { return c.look.units(1.5) }

// placeHeads gives the left column the width it needs, at most 35 % of the chart: longer names take
// several lines, then smaller type, and only for a single word that is longer still more width.
func (c *padChart) placeHeads(width int) {
	l := c.look
	var heads []*head
	if c.marks.head != nil {
		heads = append(heads, c.marks.head)
	}
	if len(c.lanes) > 0 {
		heads = append(heads, c.tests.head)
	}
	if c.photos.head != nil {
		heads = append(heads, c.photos.head)
	}
	for _, it := range c.lanes {
		heads = append(heads, it.head)
	}
	for _, it := range c.tracks {
		heads = append(heads, it.head)
	}
	if len(heads) == 0 {
		c.left = c.pad
		return
	}
	gap := l.units(0.6)
	limit := max(width*35/100-c.pad-gap, 1)
	need, longest := 0, 0
	for _, h := range heads {
		need = max(need, c.m.width(h.name, l.Size), c.m.width(h.note, l.small()))
		longest = max(longest, c.m.widest(c.m.wrap(h.name, l.small(), 0), l.small()),
			c.m.widest(c.m.wrap(h.note, l.small(), 0), l.small()))
	}
	column := max(min(need, limit), longest)
	for _, h := range heads {
		h.size = l.Size
		if c.m.widest(c.m.wrap(h.name, h.size, 0), h.size) > column {
			h.size = l.small()
		}
		h.names, h.also = c.m.wrap(h.name, h.size, column), c.m.wrap(h.note, l.small(), column)
	}
	c.left = c.pad + column + gap
}

func (c *padChart) headHeight(h *head) int {
	return len(h.names)*lead(h.size) + len(h.also)*lead(c.look.small())
}

// placeMarks measures the gauges and returns the room one takes across with its words.
func (c *padChart) placeMarks() int {
	if c.marks.head == nil {
		return 0
	}
	c.marks.w, c.marks.tall = c.look.units(0.8), c.look.units(2.4)
	room := c.marks.w + 2*c.amber()
	for i := range c.marks.found {
		room = max(room, c.m.widest(c.markWords(c.marks.found[i:i+1]), c.look.small()))
	}
	return max(room, c.m.widest(c.markCount(len(c.marks.found)), c.look.small()))
}

// markRoom is how wide the words beside a gauge may be, in letter heights: wide enough that "See a doctor
// within 14 days: ring now" is no tower.
const markRoom = 6.5

func (c *padChart) amber() int { return c.look.units(0.3) }

// markWords says how soon, in the finding's own words, so that the picture and the list never differ. Of
// several the most urgent that is still open speaks: what was answered asks for nothing any more.
func (c *padChart) markWords(marks []timeline.Mark) []string {
	open := slices.DeleteFunc(slices.Clone(marks), func(m timeline.Mark) bool { return m.Answered })
	said := model.T("chart.pads.answered")
	if len(open) > 0 {
		said = slices.MaxFunc(open, func(a, b timeline.Mark) int {
			return cmp.Or(cmp.Compare(a.Urgency, b.Urgency), cmp.Compare(b.Days, a.Days))
		}).HowSoon
	}
	return c.m.wrap(c.words.T(said), c.look.small(), c.look.units(markRoom))
}

func (c *padChart) markCount(n int) []string {
	return c.m.wrap(c.words.T(model.T("chart.pads.found", "n", n)), c.look.small(), c.look.units(markRoom))
}

func (c *padChart) placesOf(marks []timeline.Mark) []int {
	var out []int
	for _, m := range marks {
		out = append(out, c.days.Translate(c.days.of(m.When)))
	}
	return out
}

// urgency is the most urgent mark of a cluster.
func (c *padChart) urgency(s cluster) finding.Urgency {
	top := finding.Note
	for _, m := range c.marks.found[s.from:s.to] {
		top = max(top, m.Urgency)
	}
	return min(top, finding.Emergency)
}

func (c *padChart) markLines() [][]string {
	var out [][]string
	for _, s := range c.marks.spots {
		lines := c.markWords(c.marks.found[s.from:s.to])
		if n := s.to - s.from; n > 1 {
			lines = slices.Concat(lines, c.markCount(n))
		}
		out = append(out, lines)
	}
	return out
}

func (c *padChart) markHeight() int {
	most := 0
	for _, l := range c.marks.lines {
		most = max(most, len(l))
	}
	return max(2*c.amber()+c.marks.tall+c.look.units(0.3)+most*lead(c.look.small()), c.headHeight(c.marks.head)) + c.look.units(0.6)
}

// placePhotos measures the frames and gathers what would lie over each other.
func (c *padChart) placePhotos(gap int) {
	c.photos.w, c.photos.high = c.look.units(3.4), c.look.units(2.4)
	places := make([]int, len(c.photos.taken))
	for i, t := range c.photos.taken {
		places[i] = c.days.Translate(c.days.of(t.When))
	}
	c.photos.spots = group(places, c.photos.w+gap)
}

// frame is where the photograph of a spot stands, in the picture.
func (c *padChart) frame(s cluster) image.Rectangle {
	x := max(0, min(s.at-c.photos.w/2, c.days.Domain-c.photos.w))
	y := c.photos.y + c.look.units(0.5)
	return image.Rect(c.left+x, y, c.left+x+c.photos.w, y+c.photos.high)
}

// Framed is a photograph with the place it has in the picture, in logical
// pixels.
type Framed struct {
	Entry model.ID
	Frame image.Rectangle
}

// PadsPhotos tells where the photographs of the same picture belong: each is
// drawn as an empty frame. Of several in one place it is the newest.
func PadsPhotos(p timeline.Picture, w Words, l Look, width int) []Framed {
	if len(p.Photos) == 0 {
		return nil
	}
	c := layOut(p, w, l.sane(), width)
	var out []Framed
	for _, s := range c.photos.spots {
		out = append(out, Framed{c.photos.taken[s.to-1].Entry, c.frame(s)})
	}
	return out
}

// fillColumns gathers the times of all tests into columns, and each lane's readings into its spots.
func (c *padChart) fillColumns(room int, labels map[labelKey][]string) {
	var times []float64
	for _, l := range c.lanes {
		times = append(times, l.days...)
	}
	slices.Sort(times)
	times = slices.Compact(times)
	places := make([]int, len(times))
	for i, d := range times {
		places[i] = c.days.Translate(d)
	}
	columns := group(places, room)
	if len(columns) < len(times) {
		for _, k := range columns {
			c.tests.counts = append(c.tests.counts, k.to-k.from)
			c.tests.at = append(c.tests.at, k.at)
		}
	}
	for _, l := range c.lanes {
		i := 0
		for _, k := range columns {
			from := i
			for i < len(l.days) && l.days[i] <= times[k.to-1] {
				i++
			}
			if i == from {
				continue
			}
			s := spot{sum: sumUp(l.cells[from:i]), at: k.at, first: l.days[from], last: l.days[i-1]}
			s.lines = l.words(s, l.cells[from], labels)
			l.lines = max(l.lines, len(s.lines))
			l.spots = append(l.spots, s)
		}
	}
}

// words are the lines under a spot; of numbers that differ the highest stands above the lowest.
func (l *lane) words(s spot, other timeline.Cell, labels map[labelKey][]string) []string {
	switch {
	case s.graded:
		return labels[keyOf(l, s.top)]
	case s.numbers == nil:
		return labels[keyOf(l, other)]
	case number(s.low()) == number(s.high()):
		return labels[keyOf(l, s.high())]
	}
	return slices.Concat(labels[keyOf(l, s.high())], labels[keyOf(l, s.low())])
}

// body is the height of a lane's readings with their words.
func (c *padChart) body(l *lane) int {
	return c.strip(l) + c.look.units(0.2) + l.lines*lead(c.look.small())
}

// strip is the height a lane's readings have without their words.
func (c *padChart) strip(l *lane) int {
	if l.number {
		return c.look.units(2)
	}
	return c.cell()
}

// takeNotes explains the signs that have no room for their words.
func (c *padChart) takeNotes() []string {
	for _, l := range c.lanes {
		for _, s := range l.spots {
			for _, cell := range append(s.numbers, s.top) {
				if cell.Standing == strip.Doubtful || cell.Standing == strip.RetestOnly {
					return c.m.wrap(c.say("chart.pads.note-doubt"), c.look.small(), c.width-2*c.pad)
				}
			}
		}
	}
	return nil
}

// axis is the height of the axis under the last row, as go-chart measures it.
func (c *padChart) axis() int {
	if len(c.days.ticks) == 0 {
		return 0
	}
	return chart.DefaultXAxisMargin + c.m.capHeight(c.look.small())
}

// height is that of the whole chart.
func (c *padChart) height() int {
	h := c.end + c.axis() + c.m.descent(c.look.small()) + c.pad
	if len(c.notes) > 0 {
		h += len(c.notes)*lead(c.look.small()) + c.look.units(0.4)
	}
	return h
}
