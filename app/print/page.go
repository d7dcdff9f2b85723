package print

import (
	"bytes"
	"fmt"
	"regexp"
	"slices"
	"strings"
	"time"

	"quietwater/charts"
	"quietwater/model"
	"quietwater/model/finding"
	"quietwater/model/page"
)

// Sizes of the page for the doctor, in millimetres and points.
const (
	narrowMargin = 12.0
	namePt       = 17.0
	pageLine     = 5.0 // of body text
	headingHigh  = 6.4
	indent       = 4.0 // of a line that goes on
	gaugeRoom    = 7.0
	gaugeWide    = 3.6
)

// Doctor is what the page for the doctor is made from.
type Doctor struct {
	Result finding.Result
	Asked  page.Asked
	Words  []ChartWords // a first side in each of these languages, the doctor's first
	Paper  Paper
	// More asks for sides after the first: what it left out, charts and tables.
	More bool
}

// ChartWords speaks for pages with charts on them.
type ChartWords interface {
	Words
	charts.Words
}

// MoreSides is how many sides may follow the first: a doctor has no time for
// more.
const MoreSides = 5

// DoctorPage sets the page for the doctor. left is how many lines found no room
// on the first side in the doctor's language.
func DoctorPage(d Doctor) (pdf []byte, left int, err error) {
	s := newSheetOn(d.Words[0], d.Paper, narrowMargin)
	s.pdf.SetAutoPageBreak(false, 0)
	p := page.Of(d.Result, d.Asked)
	s.pdf.SetTitle(s.say("doc.title", "name", p.Person.Name), true)
	now := d.Result.History.Now
	rest := s.side(p, now)
	if d.More {
		s.more(d, rest)
	}
	for _, w := range d.Words[1:] {
		s.pdf.AddPage()
		s.w = w
		s.side(p, now)
	}
	var b bytes.Buffer
	if err := s.pdf.Output(&b); err != nil {
		return nil, 0, fmt.Errorf("making the page for the doctor: %w", err)
	}
	return b.Bytes(), countLines(rest), nil
}

// row is a heading or a line of the page, broken for its width.
type row struct {
	heading bool
	label   string
	lines   []string
	urgency *finding.Urgency
	rank    page.Rank
}

func (r row) high() float64 {
	if r.heading {
		return headingHigh
	}
	return float64(len(r.lines)) * pageLine
}

func countLines(rows []row) (n int) {
	for _, r := range rows {
		if !r.heading {
			n++
		}
	}
	return n
}

// countCalls counts what calls for a doctor.
func countCalls(rows []row) (n int) {
	for _, r := range rows {
		if r.urgency != nil && *r.urgency >= finding.Soon {
			n++
		}
	}
	return n
}

// side sets one side that holds what there is room for, and gives back the rest.
func (s *sheet) side(p page.Page, now time.Time) (rest []row) {
	s.pdf.SetXY(s.margin, s.margin)
	s.setFont("B", namePt)
	s.para(7.5, s.say("doc.title", "name", s.fit(p.Person.Name, 120)))
	s.setFont("", bodyPt)
	s.para(pageLine, s.joined(p.Who))
	s.para(pageLine, s.joined([]model.Msg{p.Period, model.T("doc.written", "when", model.At(now))}))
	foot := s.lines(s.w.T(p.Foot), s.room())
	end := s.paper.High - s.margin - float64(len(foot))*pageLine
	keep, rest := fitted(s.rows(p), end-pageLine-s.pdf.GetY())
	for _, r := range keep {
		s.pageRow(r)
	}
	s.pdf.SetXY(s.margin, end-pageLine)
	if n := countLines(rest); n > 0 {
		s.setFont("B", bodyPt)
		said := s.say("doc.more", "n", n)
		if calls := countCalls(rest); calls > 0 {
			said += " · " + s.say("doc.more-urgent", "n", calls)
		}
		s.cell(0, pageLine, said, "", 1, "LM")
	}
	s.setFont("", bodyPt)
	s.pdf.SetXY(s.margin, end)
	s.across(0.2)
	for _, l := range foot {
		s.pdf.SetX(s.margin)
		s.cell(0, pageLine, l, "", 1, "LM")
	}
	return rest
}

// room is the width between the margins.
func (s *sheet) room() float64 { return s.paper.Wide - 2*s.margin }

// joined says facts one after the other.
func (s *sheet) joined(facts []model.Msg) string {
	said := make([]string, len(facts))
	for i, f := range facts {
		said[i] = s.w.T(f)
	}
	return strings.Join(said, " · ")
}

// rows breaks everything the page has to say.
func (s *sheet) rows(p page.Page) []row {
	var out []row
	for _, sec := range p.Sections {
		out = append(out, row{heading: true, lines: []string{s.w.T(sec.Title)}})
		for _, l := range sec.Lines {
			out = append(out, s.lineRow(l))
		}
	}
	return out
}

// lineRow breaks a line; its label leads it in bold.
func (s *sheet) lineRow(l page.Line) row {
	r := row{urgency: l.Urgency, rank: l.Rank}
	if !l.Label.IsZero() {
		r.label = s.w.T(l.Label) + " "
	}
	text := l.Own
	if text == "" {
		text = s.joined(l.Facts)
	}
	width := s.room()
	if l.Urgency != nil {
		width -= gaugeRoom
	}
	s.setFont("B", bodyPt)
	bold := s.wide(r.label)
	s.setFont("", bodyPt)
	r.lines = s.broken(r.label+s.bound(text), func(part string) bool {
		if rest, first := strings.CutPrefix(part, r.label); first && r.label != "" {
			return bold+s.wide(rest) <= width
		}
		return s.wide(part) <= width-indent
	})
	return r
}

// unitAfter is a number with a unit behind it, which no line may part.
var unitAfter = regexp.MustCompile(`(\d) ((?:[mµ]?mol|[mµ]?g|mL|L|mEq|kg|cm|mmHg|°C)\b)`)

// bound is a text whose numbers stay with their units.
func (s *sheet) bound(text string) string {
	return unitAfter.ReplaceAllString(s.printable(text), "$1\u00a0$2")
}

// fitted keeps the rows that room holds: what gives way first goes first, of
// equals the last. A heading without lines goes too.
func fitted(rows []row, room float64) (keep, rest []row) {
	gone := make([]bool, len(rows))
	for high(rows, gone) > room {
		worst := -1
		for i, r := range rows {
			if !r.heading && !gone[i] && r.rank > page.Must && (worst < 0 || r.rank >= rows[worst].rank) {
				worst = i
			}
		}
		if worst < 0 { // only what must stay is left: the last of it goes on the next side
			worst = lastLine(rows, gone)
		}
		if worst < 0 {
			break
		}
		gone[worst] = true
	}
	// What was let go to make room for something long may leave room for what is
	// shorter.
	for rank := page.Must; rank <= page.Rest; rank++ {
		for i, r := range rows {
			if !gone[i] || r.rank != rank {
				continue
			}
			if gone[i] = false; high(rows, gone) > room {
				gone[i] = true
			}
		}
	}
	var heading *row
	for i := range rows {
		switch {
		case rows[i].heading:
			heading = &rows[i]
			if emptySection(rows, gone, i) {
				continue
			}
			keep = append(keep, rows[i])
		case gone[i]:
			if heading != nil {
				rest, heading = append(rest, *heading), nil
			}
			rest = append(rest, rows[i])
		default:
			keep = append(keep, rows[i])
		}
	}
	return keep, rest
}

// emptySection reports a heading all of whose lines are gone.
func emptySection(rows []row, gone []bool, heading int) bool {
	for i := heading + 1; i < len(rows) && !rows[i].heading; i++ {
		if !gone[i] {
			return false
		}
	}
	return true
}

func lastLine(rows []row, gone []bool) int {
	for i := range slices.Backward(rows) {
		if !rows[i].heading && !gone[i] {
			return i
		}
	}
	return -1
}

func high(rows []row, gone []bool) (sum float64) {
	for i, r := range rows {
		if r.heading && !emptySection(rows, gone, i) || !r.heading && !gone[i] {
			sum += r.high()
		}
	}
	return sum
}

// pageRow writes a row where the page has got to.
func (s *sheet) pageRow(r row) {
	top := s.pdf.GetY()
	if r.heading {
		s.pdf.SetXY(s.margin, top+headingHigh-pageLine-0.6)
		s.across(0.2)
		s.setFont("B", bodyPt)
		s.pdf.SetXY(s.margin, top+headingHigh-pageLine)
		s.cell(0, pageLine, r.lines[0], "", 1, "LM")
		s.setFont("", bodyPt)
		return
	}
	left := s.margin
	if r.urgency != nil {
		s.gauge(int(*r.urgency), left, top+0.5, r.high()-1)
		left += gaugeRoom
	}
	for i, l := range r.lines {
		x := left
		s.pdf.SetXY(x, top+float64(i)*pageLine)
		if rest, ok := strings.CutPrefix(l, r.label); i == 0 && r.label != "" && ok {
			s.setFont("B", bodyPt)
			s.cell(s.wide(r.label), pageLine, r.label, "", 0, "LM")
			x += s.wide(r.label)
			s.setFont("", bodyPt)
			s.pdf.SetXY(x, top)
			l = rest
		} else if i > 0 {
			s.pdf.SetX(x + indent)
		}
		s.cell(0, pageLine, l, "", 0, "LM")
	}
	s.pdf.SetXY(s.margin, top+r.high())
}

// gauge is the sign of urgency: water that stands higher the sooner, with lines
// to count it by in a grey copy.
func (s *sheet) gauge(urgency int, x, top, high float64) {
	high = min(high, 2*pageLine)
	level := high * float64(urgency) / 5
	s.rule(0.25)
	s.pdf.SetFillColor(60, 60, 60)
	if level > 0 {
		s.pdf.Rect(x, top+high-level, gaugeWide, level, "F")
	}
	s.pdf.Rect(x, top, gaugeWide, high, "D")
	for i := 1; i < 5; i++ {
		if y := top + high*float64(i)/5; y < top+high-level-0.01 {
			s.pdf.Line(x, y, x+gaugeWide/2, y)
		}
	}
	s.pdf.SetFillColor(0, 0, 0)
}

// more sets the sides after the first, at most MoreSides: what found no room,
// charts, tables.
func (s *sheet) more(d Doctor, rest []row) {
	m := &following{sheet: s, of: d.Result.History.Person.Name}
	if len(rest) > 0 {
		m.begin()
		for _, r := range rest {
			m.ensure(r.high())
			if m.full {
				return
			}
			s.pageRow(r)
		}
	}
	for _, c := range charts.All() {
		m.chart(c, d)
	}
	for _, t := range page.Tables(d.Result, d.Asked, MoreSides*int(s.paper.High/pageLine)) { // none holds more lines
		m.table(t, d.Words[0])
	}
}

// following is the sides after the first, as far as there may be any.
type following struct {
	*sheet
	of    string
	sides int
	full  bool
}

// begin turns to a new side that says whose it is.
func (m *following) begin() {
	if m.sides == MoreSides {
		m.full = true
		return
	}
	m.sides++
	m.pdf.AddPage()
	m.setFont("", bodyPt)
	m.pdf.SetXY(m.margin, m.margin)
	m.para(pageLine, m.say("doc.side", "name", m.fit(m.of, 120), "n", m.sides+1))
	m.pdf.SetY(m.pdf.GetY() + 2)
}

// ensure turns the page where less room is left than high.
func (m *following) ensure(high float64) {
	if m.sides == 0 || m.pdf.GetY()+high > m.paper.High-m.margin {
		m.begin()
	}
}

func (m *following) title(t model.Msg) {
	m.setFont("B", bodyPt)
	m.para(pageLine+1, m.w.T(t))
	m.setFont("", bodyPt)
}

// chart sets a chart as wide as the page.
func (m *following) chart(c charts.Spec, d Doctor) {
	look, err := paperLook()
	if err != nil {
		m.pdf.SetError(err)
		return
	}
	sized := c.Draw(d.Result, d.Asked.Since, d.Result.History.Now, d.Words[0], look, chartUnits)
	scale := m.room() / float64(max(sized.Width, chartUnits))
	high := float64(sized.Height) * scale
	if most := m.paper.High - 2*m.margin - 4*pageLine; high > most {
		scale *= most / high
		high = most
	}
	m.ensure(high + 2*pageLine)
	if m.full {
		return
	}
	m.title(c.Title)
	top := m.pdf.GetY()
	if err := charts.Draw(sized, look.Fonts, &onPaper{m.sheet, m.margin, top, scale}); err != nil {
		m.pdf.SetError(err)
	}
	m.setFont("", bodyPt)
	m.pdf.SetXY(m.margin, top+high+pageLine)
}

// table sets a table, its head again on each side. The last column takes the
// room that is left and breaks its lines.
func (m *following) table(t page.Table, w charts.Words) {
	said := func(c page.Cell) string {
		if !c.Day.IsZero() {
			return w.DateShort(c.Day)
		}
		return m.bound(m.joined(c.Facts))
	}
	wide := make([]float64, len(t.Head))
	for _, r := range append([][]page.Cell{t.Head}, t.Rows...) {
		for i, c := range r[:len(wide)-1] {
			m.setFont("B", bodyPt)
			wide[i] = max(wide[i], min(m.wide(said(c)), 0.4*m.room())+gap)
		}
	}
	left := m.room()
	for _, x := range wide {
		left -= x
	}
	wide[len(wide)-1] = left
	put := func(r []page.Cell, style string) bool {
		m.setFont(style, bodyPt)
		broken := make([][]string, len(r))
		high := 1
		for i, c := range r {
			broken[i] = m.lines(said(c), wide[i]-gap/2)
			high = max(high, len(broken[i]))
		}
		if m.pdf.GetY()+float64(high)*pageLine > m.paper.High-m.margin {
			return false
		}
		x, top := m.margin, m.pdf.GetY()
		for i := range r {
			for j, l := range broken[i] {
				m.pdf.SetXY(x, top+float64(j)*pageLine)
				m.cell(wide[i], pageLine, l, "", 0, "LM")
			}
			x += wide[i]
		}
		m.pdf.SetXY(m.margin, top+float64(high)*pageLine)
		return true
	}
	m.ensure(6 * pageLine)
	if m.full {
		return
	}
	m.title(t.Title)
	put(t.Head, "B")
	m.across(0.2)
	for _, r := range t.Rows {
		for !put(r, "") {
			m.begin()
			if m.full {
				return
			}
			put(t.Head, "B")
			m.across(0.2)
		}
	}
	m.pdf.SetY(m.pdf.GetY() + pageLine)
}
