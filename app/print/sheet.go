// Package print owns what goes to paper: PDF pages made from what the model
// arranged, with our own typeface.
//
// It refuses to know how a page is shown on screen or where it is saved.
package print

import (
	"bytes"
	"fmt"
	"strings"

	"github.com/go-pdf/fpdf"

	"quietwater/assets"
	"quietwater/model"
	"quietwater/model/strip"
)

// Words turns messages into the language of the paper.
type Words interface {
	T(model.Msg) string
	Name(model.Kind, model.Code) string
	Unit(ucum string) string
	Word(word string) string
}

// Paper is a size of paper, in millimetres.
type Paper struct {
	Name       string // as the PDF library knows it
	Wide, High float64
}

// The papers offered.
var (
	A4     = Paper{"A4", 210, 297}
	Letter = Paper{"Letter", 215.9, 279.4}
)

// Sizes on the page in millimetres. Body text is 12 pt or more (needs R45).
const (
	wideMargin            = 15.0
	bodyPt, titlePt       = 12.0, 20.0
	line                  = 5.5 // of body text
	gap                   = 4.0 // between a column and the next
	padColumn, timeColumn = 58.0, 30.0
	box                   = 7.0
	rowMin, rowMax        = 15.0, 22.0
	answerLine            = 9.0
)

// TallySheet is one A4 page to write a strip test on where there is no
// computer: the pads in chart order with their read times and printed values,
// and what is asked about the test. What does not fit goes on a second page.
func TallySheet(w Words, k strip.Kind, name, pack string) ([]byte, error) {
	s := newSheet(w)
	s.title()
	s.toFill([][2]string{{"sheet.person", name}, {"sheet.dipped", ""}, {"sheet.pack", pack}})
	s.pdf.Ln(3)
	s.para(6.5, s.say("sheet.note"))
	s.pdf.Ln(2)
	s.head()
	asked := s.asked()
	high := s.rowHeight(k.Chart.Rows, s.paper.High-s.margin-s.pdf.GetY()-asked.high())
	for _, r := range k.Chart.Rows {
		s.row(r, high)
	}
	s.answers(asked)
	var out bytes.Buffer
	if err := s.pdf.Output(&out); err != nil {
		return nil, fmt.Errorf("making the sheet: %w", err)
	}
	return out.Bytes(), nil
}

// sheet is a page being written from top to bottom.
type sheet struct {
	pdf    *fpdf.Fpdf
	w      Words
	paper  Paper
	margin float64
	faces  faces
	bold   bool
}

func newSheet(w Words) *sheet { return newSheetOn(w, A4, wideMargin) }

// newSheetOn begins a page of any paper, with any margin.
func newSheetOn(w Words, paper Paper, margin float64) *sheet {
	pdf := fpdf.New("P", "mm", paper.Name, "")
	pdf.SetMargins(margin, margin, margin)
	pdf.SetAutoPageBreak(true, margin)
	pdf.SetCellMargin(0)
	pdf.AddUTF8FontFromBytes("body", "", assets.HanRegular)
	pdf.AddUTF8FontFromBytes("body", "B", assets.HanBold)
	pdf.AddPage()
	return &sheet{pdf: pdf, w: w, paper: paper, margin: margin}
}

func (s *sheet) say(key string, args ...any) string { return s.w.T(model.T(key, args...)) }

func (s *sheet) title() {
	s.pdf.SetTitle(s.say("sheet.title"), true)
	s.setFont("B", titlePt)
	s.para(10, s.say("sheet.title"))
	s.pdf.Ln(1)
	s.setFont("", bodyPt)
}

// toFill writes what is known on the lines and leaves the others to the pen.
func (s *sheet) toFill(lines [][2]string) {
	label := 0.0
	for _, l := range lines {
		label = max(label, s.wide(s.say(l[0]))+gap)
	}
	s.rule(0.2)
	for _, l := range lines {
		s.cell(label, 9.5, s.say(l[0]), "", 0, "LM")
		s.cell(0, 9.5, s.fit(l[1], s.paper.Wide-2*s.margin-label), "B", 1, "LM")
	}
}

// printable leaves out what the PDF library cannot set: it knows no characters
// past the basic plane.
func (s *sheet) printable(text string) string {
	return strings.Map(func(r rune) rune {
		switch {
		case r > 0xFFFF:
			return -1
		case r < ' ':
			return ' '
		}
		return r
	}, text)
}

// fit cuts a name somebody made up to the width there is.
func (s *sheet) fit(text string, width float64) string {
	whole := []rune(s.printable(text))
	for n := len(whole); ; n-- {
		cut := string(whole[:n])
		if n < len(whole) {
			cut += "…"
		}
		if n == 0 || s.wide(cut) <= width {
			return cut
		}
	}
}

func (s *sheet) head() {
	s.setFont("B", bodyPt)
	s.cell(padColumn, 9, s.say("sheet.pad"), "", 0, "LM")
	s.cell(timeColumn, 9, s.say("sheet.read-at"), "", 0, "LM")
	s.cell(0, 9, s.say("sheet.tick"), "", 1, "LM")
	s.across(0.5)
	s.setFont("", bodyPt)
}

// rowHeight is the largest at which all rows fit into room, some of them
// higher for a long name.
func (s *sheet) rowHeight(rows []strip.Row, room float64) float64 {
	for high := rowMax; high > rowMin; high -= 0.5 {
		sum := 0.0
		for _, r := range rows {
			sum += max(high, s.needs(r))
		}
		if sum <= room {
			return high
		}
	}
	return rowMin
}

func (s *sheet) needs(r strip.Row) float64 {
	return float64(max(len(s.name(r)), len(s.time(r))))*line + 2
}

// time is when the pad is read, in lines.
func (s *sheet) time(r strip.Row) []string {
	at := s.say("sheet.no-time")
	if r.ReadS > 0 {
		at = s.say("sheet.seconds", "n", r.ReadS)
	}
	return s.lines(at, timeColumn-gap/2)
}

// name is the pad's, with the unit its values are printed in, in lines.
func (s *sheet) name(r strip.Row) []string {
	name := s.w.Name(model.Strip, r.Pad)
	if u := s.w.Unit(r.Unit); u != "" {
		name += ", " + u
	}
	return s.lines(name, padColumn-gap)
}

// row is a pad: its name and unit, its time, and each printed value above the
// box to tick.
func (s *sheet) row(r strip.Row, high float64) {
	high = max(high, s.needs(r))
	top := s.pdf.GetY()
	if top+high > s.paper.High-s.margin {
		s.pdf.AddPage()
		s.head()
		top = s.pdf.GetY()
	}
	s.stack(s.margin, top, padColumn, high, s.name(r))
	s.stack(s.margin+padColumn, top, timeColumn, high, s.time(r))
	s.boxes(r.Blocks, top+(high-line-box-0.5)/2)
	s.pdf.SetXY(s.margin, top+high)
	s.across(0.2)
}

// stack writes lines in the middle of a row.
func (s *sheet) stack(x, top, wide, high float64, lines []string) {
	for i, l := range lines {
		s.pdf.SetXY(x, top+(high-float64(len(lines))*line)/2+float64(i)*line)
		s.cell(wide, line, l, "", 0, "LM")
	}
}

func (s *sheet) boxes(blocks []strip.Block, top float64) {
	left := s.margin + padColumn + timeColumn
	step := (s.paper.Wide - s.margin - left) / float64(max(6, len(blocks)))
	s.rule(0.35)
	for i, b := range blocks {
		x := left + float64(i)*step
		s.pdf.SetXY(x, top)
		s.cell(step, line, s.fit(b.Value, step), "", 0, "CM")
		s.pdf.Rect(x+(step-box)/2, top+line+0.5, box, box, "D")
	}
}

// asked is what a person is asked about every test, because it changes how the
// test is judged: in two columns, or one where names are long.
type asked struct {
	names []string
	wide  []float64 // the widest name of each column
}

func (s *sheet) asked() asked {
	a := asked{}
	for _, it := range model.ItemsOf(model.Strip) {
		if it.Takes == model.Flag {
			a.names = append(a.names, s.w.Name(it.Kind, it.Code))
		}
	}
	a.wide = s.widest(a.names, 2)
	if a.wide[0]+a.wide[1]+2*(s.yesNoWidth()+gap)+gap > s.paper.Wide-2*s.margin {
		a.wide = s.widest(a.names, 1)
	}
	return a
}

func (s *sheet) widest(names []string, columns int) []float64 {
	wide := make([]float64, columns)
	for i, n := range names {
		wide[i%columns] = max(wide[i%columns], s.wide(n))
	}
	return wide
}

func (a asked) high() float64 {
	return 3 + answerLine*float64((len(a.names)+len(a.wide)-1)/len(a.wide))
}

const small = 5.0 // box beside a word

func (s *sheet) yesNoWidth() float64 {
	return s.wide(s.w.Word("yes")) + s.wide(s.w.Word("no")) + 2*(small+1.5) + gap
}

func (s *sheet) answers(a asked) {
	top := s.pdf.GetY() + 3
	if top+a.high()-3 > s.paper.High-s.margin+0.01 {
		s.pdf.AddPage()
		top = s.pdf.GetY()
	}
	s.pdf.SetAutoPageBreak(false, 0) // the last line may end where the margin begins
	s.rule(0.35)
	for i, name := range a.names {
		column := i % len(a.wide)
		x, y := s.margin, top+answerLine*float64(i/len(a.wide))
		if column == 1 { // the second ends at the margin
			x = s.paper.Wide - s.margin - a.wide[1] - gap - s.yesNoWidth()
		}
		s.pdf.SetXY(x, y)
		s.cell(a.wide[column], answerLine, name, "", 0, "LM")
		x += a.wide[column] + gap
		for _, word := range []string{s.w.Word("yes"), s.w.Word("no")} {
			s.pdf.Rect(x, y+(answerLine-small)/2, small, small, "D")
			s.pdf.SetXY(x+small+1.5, y)
			s.cell(0, answerLine, word, "", 0, "LM")
			x += small + 1.5 + s.wide(word) + gap
		}
	}
}

// across draws a line over the width of the page where writing goes on.
func (s *sheet) across(thick float64) {
	s.rule(thick)
	s.pdf.Line(s.margin, s.pdf.GetY(), s.paper.Wide-s.margin, s.pdf.GetY())
}

func (s *sheet) rule(thick float64) { s.pdf.SetLineWidth(thick) }
