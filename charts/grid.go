package charts

import (
	"cmp"
	"slices"
	"strings"
	"time"

	"github.com/wcharczuk/go-chart/v2"

	"quietwater/model"
	"quietwater/model/finding"
	"quietwater/model/numbers"
	"quietwater/model/renal"
)

// most is how many places of a way are drawn: more would be a tangle.
const most = 6

// gridChart is the grid of stages by albumin. A cell says its risk in words and in waves, from none to
// three, that can be counted in grey print. The way through the grid keeps off the words: it runs along a
// row under them, then up or down along the right edge of a column. Where it turns back it takes a new
// lane, so that it never runs over itself. Lengths are logical pixels.
type gridChart struct {
	look   Look
	m      ruler
	words  Words
	path   []numbers.Place // one for each change of cell
	tests  int             // a year, where the person stands; 0 not said
	unit   string
	rows   []gridRow // by renal.G, from G1
	cols   [3][]string
	beside bool // the stages' names stand beside the cells, else above them

	pad, inset  int
	left        int   // where the cells begin, or what stands left of A1
	strip       int   // room left of A1 for a newest place whose albumin is not known
	aside, down []int // the lane of each place of the way, along columns and along rows
	wide, high  int   // what the lanes take of a cell
	cellW, head int
	width, end  int
	notes       []string
}

// gridRow is one stage.
type gridRow struct {
	names []string
	note  []string // over all of the row: a place whose albumin is not known
	y, h  int
	top   int // where its cells begin
	cells [3][]string
	stops bool // the way stops in it
	whole bool // the person stands somewhere in it
}

// cellsOf keeps of a path the places where the cell changed, the last of them as it is now. One without
// albumin is no cell; only the newest is kept, as the row it is.
func cellsOf(path []numbers.Place) []numbers.Place {
	var out []numbers.Place
	for i, p := range path {
		if n := len(out); n > 0 && out[n-1].G == p.G && out[n-1].A == p.A || p.A == 0 && i < len(path)-1 {
			continue
		}
		out = append(out, p)
	}
	if n := len(out); n > 0 {
		out[n-1] = path[len(path)-1]
	}
	return out
}

// Grid draws where a person stands among stages and albumin, and the way there.
func Grid(n *numbers.Numbers, w Words, l Look, width int) Sized {
	l = l.sane()
	g := &gridChart{look: l, m: l.ruler(), words: w, path: cellsOf(n.Path), unit: acrUnit(n),
		pad: l.units(0.6), inset: l.units(0.45), rows: make([]gridRow, renal.G5)}
	var notes []string
	if len(g.path) > most {
		g.path = g.path[len(g.path)-most:]
		notes = append(notes, w.T(model.T("chart.grid.last-six")))
	}
	here, ok := n.Here()
	switch risk, known := here.Risk(); {
	case !ok:
		notes = append(notes, w.T(model.T("chart.grid.nothing")))
	case known && risk == renal.Low:
		notes = append(notes, w.T(model.T("chart.grid.low")))
	case known && !n.ByDoctor:
		g.tests = renal.ChecksPerYear(here.G, here.A)
	}
	if caution := notValid(here); !caution.IsZero() {
		notes = append(notes, w.T(caution))
	}
	return g.sized(width, notes)
}

// notValid says why the place tells little, where it does (clinical decision 7).
func notValid(p numbers.Place) model.Msg {
	if p.GFR.Invalid == "" {
		return model.Msg{}
	}
	return model.T("numbers.caution." + string(p.GFR.Invalid))
}

func (g *gridChart) sized(width int, notes []string) Sized {
	small := g.look.small()
	if len(g.path) > 0 {
		g.takeLanes()
	}
	if n := len(g.path); n > 0 && g.path[n-1].A == 0 {
		g.strip = g.wide + g.look.units(0.3)
	}
	g.placeAcross(width)
	g.placeDown()
	for _, n := range notes {
		g.notes = append(g.notes, g.m.wrap(n, small, g.width-2*g.pad)...)
	}
	h := g.end + g.pad
	if len(g.notes) > 0 {
		h += len(g.notes)*lead(small) + g.look.units(0.4)
	}
	return Sized{g.chart(h), g.width, h}
}

// lane is the distance of two lanes of the way, and radius that of its places.
func (g *gridChart) lane() int   { return g.look.units(0.58) }
func (g *gridChart) radius() int { return g.look.units(0.24) }

// takeLanes gives each place its lanes: the one before's while the way goes on straight, else a new one.
func (g *gridChart) takeLanes() {
	n := len(g.path)
	step := func(i int) (across, along int) {
		if i >= n {
			return 0, 0
		}
		return sign(int(g.path[i].A - g.path[i-1].A)), sign(int(g.path[i].G - g.path[i-1].G))
	}
	g.aside, g.down = make([]int, n), make([]int, n)
	var columns, rows [renal.G5 + 1]int // lanes so far
	columns[g.path[0].A], rows[g.path[0].G] = 1, 1
	along := 0 // which way the column's lane is run
	for i := 1; i < n; i++ {
		p := g.path[i]
		dx, dy := step(i)
		g.aside[i], g.down[i] = g.aside[i-1], g.down[i-1]
		if dx != 0 || along == -dy {
			g.aside[i] = columns[p.A]
			columns[p.A]++
		}
		along = dy
		if next, _ := step(i + 1); dy != 0 || next == -dx {
			g.down[i] = rows[p.G]
			rows[p.G]++
		}
	}
	g.wide, g.high = (slices.Max(columns[:])-1)*g.lane()+2*g.radius(), (slices.Max(rows[:])-1)*g.lane()+2*g.radius()
}

// placeAcross finds the widths: beside the stages' names if the cells' words have room there, else
// under them.
func (g *gridChart) placeAcross(width int) {
	small := g.look.small()
	word := 0 // the widest single word of a cell or a column's name
	single := func(text string) { word = max(word, g.m.widest(g.m.wrap(text, small, 0), small)) }
	for r := renal.Low; r <= renal.VeryHigh; r++ {
		single(g.riskWord(r))
	}
	for i := range g.path {
		single(g.dated(i))
	}
	single(g.testWords())
	for a := renal.A1; a <= renal.A3; a++ {
		single(g.albumin(a))
	}
	cell := word + g.wide + 3*g.inset
	names := 0
	for s := renal.G1; s <= renal.G5; s++ {
		names = max(names, g.m.widest(g.stage(s, g.look.units(9)), small))
	}
	g.left = g.pad + names + g.look.units(0.6)
	g.cellW = (width - g.left - g.strip - g.pad) / 3
	if g.beside = g.cellW >= cell; !g.beside {
		g.left = g.pad
		g.cellW = max((width-g.left-g.strip-g.pad)/3, cell)
	}
	g.width = max(width, g.left+g.strip+3*g.cellW+g.pad)
}

// stage names one in lines no wider than limit: code and range, then plain words.
func (g *gridChart) stage(s renal.G, limit int) []string {
	code := g.words.T(model.T("chart.egfr.band", "stage", s.String(), "range", rangeOf(s)))
	return append([]string{code}, g.m.wrap(g.words.T(model.T("stage."+s.String())), g.look.small(), limit)...)
}

// albumin names a column, with its range in the unit of the newest ACR.
func (g *gridChart) albumin(a renal.A) string {
	a2, a3 := acrLimits(g.unit)
	key := [...]string{renal.A1: "chart.grid.a1", renal.A2: "chart.grid.a2", renal.A3: "chart.grid.a3"}[a]
	return g.words.T(model.T(key, "limit", amount(g.words, a2, g.unit), "high", amount(g.words, a3, g.unit)))
}

// amount is a number with its unit on one line.
func amount(w Words, x float64, unit string) string {
	return w.Number(model.FormatNumber(x)) + "\u00a0" + w.Unit(unit)
}

// placeDown fills the cells with their words and stacks the rows.
func (g *gridChart) placeDown() {
	small := g.look.small()
	inner := g.cellW - g.wide - 3*g.inset
	deepest := 0
	for a := renal.A1; a <= renal.A3; a++ {
		g.cols[a-1] = append([]string{a.String()}, g.m.wrap(g.albumin(a), small, g.cellW-2*g.inset)...)
		deepest = max(deepest, len(g.cols[a-1]))
	}
	g.head = g.pad + deepest*lead(small) + g.look.units(0.3)
	across := 3*g.cellW - 2*g.inset
	for i, p := range g.path {
		row := &g.rows[p.G-1]
		row.stops = true
		last := i == len(g.path)-1
		text := g.dated(i)
		if text == "" || !last && g.standsIn(p) {
			continue // the newest speaks for its cell
		}
		if p.A != 0 {
			row.cells[p.A-1] = g.m.wrap(text, small, inner)
			continue
		}
		row.whole = true
		row.note = g.m.wrap(g.words.T(model.T("chart.grid.no-albumin", "here", text)), small, across)
	}
	y := g.head
	for i := range g.rows {
		s, row := renal.G(i+1), &g.rows[i]
		row.y, row.top = y, y
		if row.names = g.stage(s, g.look.units(9)); !g.beside {
			row.names = g.m.wrap(strings.Join(g.stage(s, across), " "), small, across)
			row.top += len(row.names)*lead(small) + g.look.units(0.5)
		}
		if len(row.note) > 0 {
			row.top += len(row.note)*lead(small) + g.look.units(0.4)
		}
		lines := 0
		for a := renal.A1; a <= renal.A3; a++ {
			cell := &row.cells[a-1]
			*cell = append(g.m.wrap(g.riskWord(renal.RiskOf(s, a)), small, inner), *cell...)
			if g.standsIn(numbers.Place{G: s, A: a}) {
				*cell = append(*cell, g.m.wrap(g.testWords(), small, inner)...)
			}
			lines = max(lines, len(*cell))
		}
		bottom := row.top + g.inset + lines*lead(small) + g.waves()
		if row.stops {
			bottom += g.high + g.look.units(0.2)
		}
		if g.beside {
			bottom = max(bottom, row.y+len(row.names)*lead(small)+g.look.units(0.5))
		}
		row.h = bottom - row.y
		y = bottom
		if !g.beside {
			y += g.look.units(0.4)
		}
	}
	g.end = y
}

// standsIn reports that the person stands in the place's cell.
func (g *gridChart) standsIn(p numbers.Place) bool {
	if len(g.path) == 0 {
		return false
	}
	here := g.path[len(g.path)-1]
	return here.G == p.G && here.A == p.A
}

// waves is the height that three waves take.
func (g *gridChart) waves() int { return 3*g.wave() + g.look.units(0.35) }
func (g *gridChart) wave() int  { return g.look.units(0.42) }

// RiskWord is a risk of the grid in words.
func RiskWord(r renal.Risk) model.Msg {
	return model.T("risk." + strings.ReplaceAll(r.String(), " ", "-"))
}

func (g *gridChart) riskWord(r renal.Risk) string { return g.words.T(RiskWord(r)) }

// testWords say how often guidelines ask for tests where the person stands.
func (g *gridChart) testWords() string {
	if g.tests == 0 {
		return ""
	}
	if g.tests == 4 { // of these cells it is the least
		return g.words.T(model.T("chart.grid.tests-least", "n", g.tests))
	}
	return g.words.T(model.T("chart.grid.tests", "n", g.tests))
}

// dated is what stands in the first and the newest cell of the way, "" in others.
func (g *gridChart) dated(i int) string {
	when := g.words.DateShort(model.OnDay(g.path[i].When.DayIn(g.path[i].When.Time().Location())))
	switch i {
	case len(g.path) - 1:
		return g.words.T(model.T("chart.grid.here", "when", when))
	case 0:
		return when
	}
	return ""
}

func (g *gridChart) chart(height int) chart.Chart {
	l := g.look
	return chart.Chart{
		Width: g.width, Height: height, DPI: 72, Font: Regular,
		Background:     chart.Style{FillColor: paint(l.Paper), Padding: chart.Box{IsSet: true}},
		Canvas:         chart.Style{FillColor: paint(l.Paper)},
		XAxis:          chart.XAxis{Style: chart.Hidden(), Range: &chart.ContinuousRange{Max: 1}},
		YAxis:          chart.YAxis{Style: chart.Hidden(), Range: &chart.ContinuousRange{Max: 1}},
		YAxisSecondary: chart.HideYAxis(),
		Series:         []chart.Series{gridSeries{g}},
	}
}

// gridSeries is the picture as go-chart's series.
type gridSeries struct{ *gridChart }

func (gridSeries) GetName() string           { return "grid" }
func (gridSeries) GetYAxis() chart.YAxisType { return chart.YAxisPrimary }
func (gridSeries) GetStyle() chart.Style     { return chart.Style{} }
func (gridSeries) Validate() error           { return nil }

// column is where one begins; of albumin not known the strip left of A1.
func (g *gridChart) column(a renal.A) int {
	if a == 0 {
		return g.left
	}
	return g.left + g.strip + (int(a)-1)*g.cellW
}

// stop is where the i-th place of the way is drawn.
func (g *gridChart) stop(i int) (x, y int) {
	p := g.path[i]
	right := g.column(p.A) + g.cellW - g.inset
	if p.A == 0 {
		right = g.left + g.strip
	}
	row := &g.rows[p.G-1]
	x = right - g.wide + g.aside[i]*g.lane() + g.radius()
	return x, row.y + row.h - g.waves() - g.high + g.down[i]*g.lane() + g.radius()
}

// Render draws names and cells, then the way and the place.
func (s gridSeries) Render(r chart.Renderer, _ chart.Box, _, _ chart.Range, _ chart.Style) {
	g, b := s.gridChart, brush{r, s.look, s.m}
	small := g.look.small()
	up := g.m.capHeight(small)
	for a := renal.A1; a <= renal.A3; a++ {
		b.words(g.look.Ink, small, g.cols[a-1], g.column(a)+g.inset, g.pad+up, false)
	}
	for i := range g.rows {
		for a := renal.A1; a <= renal.A3; a++ {
			g.cell(b, &g.rows[i], a, renal.RiskOf(renal.G(i+1), a))
		}
	}
	g.way(b)
	for i := range g.rows {
		g.name(b, &g.rows[i])
	}
	b.words(g.look.Ink, small, g.notes, g.pad, g.end+g.look.units(0.2)+lead(small), false)
}

// name writes a stage and what is said of its row; over cells the way passes under the words.
func (g *gridChart) name(b brush, row *gridRow) {
	small := g.look.small()
	up := g.m.capHeight(small)
	write := func(lines []string, x, y int) {
		if x > g.pad && len(lines) > 0 {
			b.fill(g.look.Paper, x, y-up-g.look.units(0.15), x+g.m.widest(lines, small)+g.look.units(0.2), y+(len(lines)-1)*lead(small)+g.look.units(0.3))
		}
		b.words(g.look.Ink, small, lines, x, y, false)
	}
	x, y := g.pad, row.y+g.inset+up
	if !g.beside {
		x = g.column(renal.A1) + g.inset
	}
	write(row.names, x, y)
	if !g.beside {
		y += len(row.names) * lead(small)
	}
	write(row.note, g.column(renal.A1)+g.inset, y)
}

// cell draws frame, waves and words.
func (g *gridChart) cell(b brush, row *gridRow, a renal.A, risk renal.Risk) {
	gap := g.look.units(0.1)
	x0, x1 := g.column(a)+gap, g.column(a)+g.cellW-gap
	y0, y1 := row.top+gap, row.y+row.h-gap
	b.water(int(risk-renal.Low), x0, x1, y1, g.wave())
	b.pen(g.look.Line, g.look.thin())
	b.frame(x0, y0, x1, y1)
	b.words(g.look.Ink, g.look.small(), row.cells[a-1], g.column(a)+g.inset, row.top+g.inset+g.m.capHeight(g.look.small()), false)
}

// water draws so many waves above each other, each of a height, on a soft ground, up from y.
func (b brush) water(waves, x0, x1, y, height int) {
	if waves <= 0 {
		return
	}
	half, swing := max(b.look.units(0.9), 2), max(b.look.units(0.2), 2)
	surface := func(at int) {
		b.MoveTo(x0, at)
		for x, up := x0, true; x < x1; x, up = x+half, !up {
			to, bend := min(x+half, x1), at+swing
			if up {
				bend = at - swing
			}
			b.QuadCurveTo((x+to)/2, bend, to, at)
		}
	}
	top := y - waves*height
	if !b.look.Contrast {
		b.SetFillColor(paint(b.look.Soft))
		surface(top)
		b.LineTo(x1, y)
		b.LineTo(x0, y)
		b.Close()
		b.Fill()
	}
	b.pen(b.look.Water, max(1, b.look.Size*0.085))
	for i := range waves {
		surface(top + i*height)
		b.Stroke()
	}
}

// way joins the places in the order of time, and frames the newest.
func (g *gridChart) way(b brush) {
	if len(g.path) == 0 {
		return
	}
	here := g.path[len(g.path)-1]
	row := &g.rows[here.G-1]
	edge := int(2 * g.look.thick())
	x0, y0, x1 := g.column(here.A), row.top, g.column(here.A)+g.cellW
	if row.whole {
		x0, y0, x1 = g.left-edge/2, row.y, g.column(renal.A3)+g.cellW
	}
	b.pen(g.look.Ink, float64(edge))
	b.frame(x0, y0, x1, row.y+row.h)
	b.pen(g.look.Water, max(g.look.thick(), 2*g.look.Size/20))
	for i := 1; i < len(g.path); i++ {
		x0, y0 := g.stop(i - 1)
		x1, y1 := g.stop(i)
		b.MoveTo(x0, y0)
		b.LineTo(x1, y0)
		b.LineTo(x1, y1)
		b.Stroke()
		if max(x1-x0, x0-x1) > max(y1-y0, y0-y1) {
			b.arrow((x0+x1)/2, y0, sign(x1-x0), 0)
		} else {
			b.arrow(x1, (y0+y1)/2, 0, sign(y1-y0))
		}
	}
	for i := range g.path {
		x, y := g.stop(i)
		b.pen(g.look.Water, g.look.thick())
		b.ring(x, y, float64(g.radius()))
	}
	x, y := g.stop(len(g.path) - 1)
	b.SetFillColor(paint(g.look.Water))
	b.Circle(float64(g.radius()), x, y)
	b.Fill()
}

func sign(d int) int {
	return cmp.Compare(d, 0)
}

// arrow strokes a head whose tip points along one axis.
func (b brush) arrow(x, y, dx, dy int) {
	size := b.look.units(0.28)
	b.MoveTo(x-size*dx-size*dy, y-size*dy-size*dx)
	b.LineTo(x+size*dx/2, y+size*dy/2)
	b.LineTo(x-size*dx+size*dy, y-size*dy+size*dx)
	b.Stroke()
}

// DescribeGrid says in words where somebody stands and where they came from.
func DescribeGrid(n *numbers.Numbers) model.Msg {
	here, ok := n.Here()
	if !ok {
		return model.T("chart.grid.nothing")
	}
	place := placeWords(here)
	said := model.T("chart.grid.only", "place", place, "when", here.When)
	for _, p := range cellsOf(n.Path) {
		if p.G != here.G || p.A != here.A {
			said = model.T("chart.grid.description", "place", place, "when", here.When, "first", placeWords(p), "since", p.When)
			break
		}
	}
	if caution := notValid(here); !caution.IsZero() {
		said = together([]model.Msg{said, caution})
	}
	return said
}

func placeWords(p numbers.Place) model.Msg {
	r, ok := p.Risk()
	if !ok {
		return model.T("chart.grid.row", "stage", p.G.String())
	}
	return model.T("chart.grid.cell", "stage", p.G.String(), "albumin", p.A.String(), "risk", RiskWord(r))
}

// gridSpec is the chart as the list has it.
func gridSpec() Spec {
	return Spec{ID: "grid", Title: model.T("chart.grid.title"),
		Draw: func(r finding.Result, _, _ time.Time, w Words, l Look, width int) Sized {
			return Grid(&r.History.Numbers, w, l, width)
		},
		Describe: func(r finding.Result, _, _ time.Time) model.Msg { return DescribeGrid(&r.History.Numbers) }}
}
