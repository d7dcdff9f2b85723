package charts

import (
	"math"
	"slices"
	"strings"
	"time"

	"github.com/wcharczuk/go-chart/v2"

	"quietwater/model"
	"quietwater/model/finding"
	"quietwater/model/numbers"
	"quietwater/model/renal"
)

// gridChart is the grid of stages by albumin. A cell's risk is its word and how high water stands in it,
// in four steps that can be counted at its edge; the person's cells are joined in the order of time.
type gridChart struct {
	look  Look
	m     ruler
	words Words
	path  []numbers.Place // one for each change of cell
	unit  string

	pad, left, head int
	cellW, cellH    int
	inner           int // room for words in a cell
	width           int
	rows, cols      [][]string
	notes           []string
}

// gridRows is the number of stages.
const gridRows = int(renal.G5)

// cellsOf keeps of a path the places where the cell changed. One without
// albumin is no cell; only the newest is kept, as the row it is.
func cellsOf(path []numbers.Place) []numbers.Place {
	var out []numbers.Place
	for i, p := range path {
		if n := len(out); n > 0 && out[n-1].G == p.G && out[n-1].A == p.A || p.A == 0 && i < len(path)-1 {
			continue
		}
		out = append(out, p)
	}
	return out
}

// Grid draws where a person stands among stages and albumin, and the way there.
func Grid(n *numbers.Numbers, w Words, l Look, width int) Sized {
	l = l.sane()
	g := &gridChart{look: l, m: l.ruler(), words: w, path: cellsOf(n.Path), unit: acrUnit(n), pad: l.units(0.6)}
	if len(g.path) > 6 { // more would be a tangle
		g.path = g.path[len(g.path)-6:]
		g.notes = append(g.notes, w.T(model.T("chart.grid.last-six")))
	}
	if here, ok := n.Here(); ok && here.A == 0 {
		g.notes = append(g.notes, w.T(model.T("chart.grid.no-albumin")))
	}
	return g.sized(width)
}

func (g *gridChart) sized(width int) Sized {
	small := g.look.small()
	heads := func(text string, limit int) []string { return g.m.wrap(text, small, limit) }
	for s := renal.G1; s <= renal.G5; s++ {
		lines := append([]string{g.words.T(model.T("chart.egfr.band", "stage", s.String(), "range", rangeOf(s)))}, heads(g.words.T(model.T("stage."+s.String())), g.look.units(9))...)
		g.rows = append(g.rows, lines)
		g.left = max(g.left, g.m.widest(lines, small))
	}
	g.left += g.pad + g.look.units(0.6)
	inner := 0
	for r := renal.Low; r <= renal.VeryHigh; r++ {
		inner = max(inner, g.m.widest(g.m.wrap(g.riskWord(r), small, 0), small))
	}
	for i := range g.path {
		inner = max(inner, g.m.widest(g.m.wrap(g.dated(i), small, 0), small))
	}
	g.cellW = max((width-g.left-g.pad)/3, inner+g.look.units(3))
	g.inner = g.cellW - g.look.units(3)
	g.width = g.left + 3*g.cellW + g.pad
	most := 0
	a2, a3 := acrLimits(g.unit)
	for i, key := range []string{"chart.grid.a1", "chart.grid.a2", "chart.grid.a3"} {
		name := g.words.T(model.T(key, "limit", model.Quantity{Typed: model.FormatNumber(a2), UCUM: g.unit}, "high", model.Quantity{Typed: model.FormatNumber(a3), UCUM: g.unit}))
		lines := append([]string{renal.A(i + 1).String()}, heads(name, g.cellW-g.look.units(0.6))...)
		g.cols = append(g.cols, lines)
		most = max(most, len(lines))
	}
	g.head = g.pad + most*lead(small) + g.look.units(0.4)
	risk, date := 1, 1
	for r := renal.Low; r <= renal.VeryHigh; r++ {
		risk = max(risk, len(g.m.wrap(g.riskWord(r), small, g.inner)))
	}
	for i := range g.path {
		date = max(date, len(g.m.wrap(g.dated(i), small, g.inner)))
	}
	g.cellH = max(g.look.units(3.6), (risk+date)*lead(small)+g.look.units(1))
	for _, r := range g.rows {
		g.cellH = max(g.cellH, len(r)*lead(small)+g.look.units(0.6))
	}
	h := g.head + gridRows*g.cellH + g.pad
	var lines []string
	for _, n := range g.notes {
		lines = append(lines, g.m.wrap(n, small, g.width-2*g.pad)...)
	}
	if g.notes = lines; len(lines) > 0 {
		h += len(lines)*lead(small) + g.look.units(0.4)
	}
	return Sized{g.chart(h), g.width, h}
}

// RiskWord is a risk of the grid in words.
func RiskWord(r renal.Risk) model.Msg {
	return model.T("risk." + strings.ReplaceAll(r.String(), " ", "-"))
}

func (g *gridChart) riskWord(r renal.Risk) string {
	return g.words.T(RiskWord(r))
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

type gridSeries struct{ *gridChart }

func (gridSeries) GetName() string           { return "grid" }
func (gridSeries) GetYAxis() chart.YAxisType { return chart.YAxisPrimary }
func (gridSeries) GetStyle() chart.Style     { return chart.Style{} }
func (gridSeries) Validate() error           { return nil }

// corner is the upper left of a cell; of a place without albumin that of its row.
func (g *gridChart) corner(s renal.G, a renal.A) (x, y int) {
	return g.left + (max(int(a), 1)-1)*g.cellW, g.head + (int(s)-1)*g.cellH
}

// Render draws heads, water, words, then the way and the place.
func (s gridSeries) Render(r chart.Renderer, _ chart.Box, _, _ chart.Range, _ chart.Style) {
	g, b := s.gridChart, brush{r, s.look, s.m}
	small := g.look.small()
	up := g.m.capHeight(small)
	for i, lines := range g.cols {
		b.words(g.look.Ink, small, lines, g.left+i*g.cellW+g.cellW/2, g.pad+up, true)
	}
	for i, lines := range g.rows {
		y := g.head + i*g.cellH + (g.cellH-len(lines)*lead(small))/2 + lead(small) - (lead(small)-up)/2
		b.words(g.look.Ink, small, lines, g.pad, y, false)
	}
	for st := renal.G1; st <= renal.G5; st++ {
		for a := renal.A1; a <= renal.A3; a++ {
			g.cell(b, st, a)
		}
	}
	g.way(b)
	b.words(g.look.Ink, small, g.notes, g.pad, g.head+gridRows*g.cellH+g.look.units(0.4)+lead(small), false)
}

// cell draws water to the height of the risk, with the four steps at the right edge to be counted.
func (g *gridChart) cell(b brush, s renal.G, a renal.A) {
	x, y := g.corner(s, a)
	gap := g.look.units(0.12)
	x0, y0, x1, y1 := x+gap, y+gap, x+g.cellW-gap, y+g.cellH-gap
	risk := renal.RiskOf(s, a)
	steps := int(risk - renal.Low) // none for low
	level := y1 - (y1-y0)*steps/3
	if steps > 0 {
		if g.look.Contrast {
			b.pen(g.look.Ink, g.look.thin()/2)
			b.hatch(x0, level, x1, y1, g.look.units(0.9), false)
		} else {
			b.fill(g.look.Soft, x0, level, x1, y1)
		}
		b.pen(g.look.Water, g.look.thick())
		b.line(x0, level, x1, level)
	}
	for i := 1; i <= 3; i++ {
		at := y1 - (y1-y0)*i/3
		wide := g.look.units(0.45)
		c := g.look.Line
		if i <= steps {
			c, wide = g.look.Water, g.look.units(0.8)
		}
		b.pen(c, g.look.thick())
		b.line(x1-wide, at, x1, at)
	}
	b.pen(g.look.Line, g.look.thin())
	b.frame(x0, y0, x1, y1)
	small := g.look.small()
	word := g.m.wrap(g.riskWord(risk), small, g.inner)
	g.onPaper(b, word, x0+g.look.units(0.4), y1-g.look.units(0.35)-(len(word)-1)*lead(small))
}

// onPaper writes lines that no hatching runs through.
func (g *gridChart) onPaper(b brush, lines []string, x, y int) {
	small := g.look.small()
	if g.look.Contrast {
		b.fill(g.look.Paper, x-3, y-g.m.capHeight(small)-4, x+g.m.widest(lines, small)+3, y+(len(lines)-1)*lead(small)+6)
	}
	b.words(g.look.Ink, small, lines, x, y, false)
}

// way joins the cells in the order of time, from the first, dated, to the newest, framed and named.
func (g *gridChart) way(b brush) {
	if len(g.path) == 0 {
		return
	}
	here := g.path[len(g.path)-1]
	x, y := g.corner(here.G, here.A)
	w := g.cellW
	if here.A == 0 {
		w = 3 * g.cellW
	}
	b.pen(g.look.Ink, 2*g.look.thick())
	b.frame(x, y, x+w, y+g.cellH)
	centre := func(p numbers.Place) (int, int) {
		x, y := g.corner(p.G, p.A)
		return x + g.cellW - g.look.units(1.7), y + g.cellH*9/20
	}
	b.pen(g.look.Water, max(g.look.thick(), 2*g.look.Size/20))
	for i := 1; i < len(g.path); i++ {
		x0, y0 := centre(g.path[i-1])
		x1, y1 := centre(g.path[i])
		b.line(x0, y0, x1, y1)
		g.arrow(b, x0, y0, x1, y1)
	}
	radius := 0.3 * g.look.Size
	for _, p := range g.path {
		x, y := centre(p)
		b.pen(g.look.Water, g.look.thick())
		b.ring(x, y, radius)
	}
	small := g.look.small()
	cx, cy := centre(here)
	b.SetFillColor(paint(g.look.Water))
	b.Circle(radius, cx, cy)
	b.Fill()
	// The first and the newest are dated; between them the arrows tell the order.
	for i, p := range g.path {
		px, py := g.corner(p.G, p.A)
		if text := g.dated(i); text != "" && (i == len(g.path)-1 || px != x || py != y) {
			g.onPaper(b, g.m.wrap(text, small, g.inner), px+g.look.units(0.5), py+g.look.units(0.4)+g.m.capHeight(small))
		}
	}
}

// dated is what stands in the first and the newest cell of the way, "" in others.
func (g *gridChart) dated(i int) string {
	when := g.words.DateShort(model.OnDay(g.path[i].When.DayIn(g.path[i].When.Time().Location())))
	switch {
	case i == len(g.path)-1:
		return g.words.T(model.T("chart.grid.here", "when", when))
	case i == 0:
		return when
	}
	return ""
}

// arrow puts a head in the middle of a way.
func (g *gridChart) arrow(b brush, x0, y0, x1, y1 int) {
	dx, dy := float64(x1-x0), float64(y1-y0)
	length := math.Hypot(dx, dy)
	if length < 1 {
		return
	}
	ux, uy := dx/length, dy/length
	size := 0.45 * g.look.Size
	mx, my := (float64(x0)+float64(x1))/2, (float64(y0)+float64(y1))/2
	point := func(along, aside float64) (int, int) {
		return int(math.Round(mx + ux*along - uy*aside)), int(math.Round(my + uy*along + ux*aside))
	}
	tx, ty := point(size/2, 0)
	for _, side := range []float64{-1, 1} {
		sx, sy := point(-size/2, side*size/2)
		b.line(sx, sy, tx, ty)
	}
}

// DescribeGrid says in words where somebody stands and where they came from.
func DescribeGrid(n *numbers.Numbers) model.Msg {
	here, ok := n.Here()
	if !ok {
		return model.T("chart.grid.nothing")
	}
	place := placeWords(here)
	cells := cellsOf(n.Path)
	i := slices.IndexFunc(cells, func(p numbers.Place) bool { return p.G != here.G || p.A != here.A })
	if len(cells) < 2 || i < 0 {
		return model.T("chart.grid.only", "place", place, "when", here.When)
	}
	return model.T("chart.grid.description", "place", place, "when", here.When, "first", placeWords(cells[0]), "since", cells[0].When)
}

func placeWords(p numbers.Place) model.Msg {
	r, ok := p.Risk()
	if !ok {
		return model.T("chart.grid.row", "stage", p.G.String())
	}
	return model.T("chart.grid.cell", "stage", p.G.String(), "albumin", p.A.String(),
		"risk", RiskWord(r))
}

// gridSpec is the chart as the list has it.
func gridSpec() Spec {
	return Spec{ID: "grid", Title: model.T("chart.grid.title"),
		Draw: func(r finding.Result, _, _ time.Time, w Words, l Look, width int) Sized {
			return Grid(&r.History.Numbers, w, l, width)
		},
		Describe: func(r finding.Result, _, _ time.Time) model.Msg { return DescribeGrid(&r.History.Numbers) }}
}
