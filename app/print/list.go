package print

import (
	"bytes"
	"fmt"

	"quietwater/model"
	"quietwater/model/todo"
)

// The columns of the list in millimetres.
const (
	doneColumn, whenColumn, whoColumn = 18.0, 62.0, 32.0
	listLine                          = 6.0
)

// TodoList is what is to be done on A4, with a box to tick for each, for the
// days on which the computer is off.
func TodoList(w Words, items []todo.Item, asOf model.When) ([]byte, error) {
	s := newSheet(w)
	s.pdf.SetTitle(s.say("todo.title"), true)
	s.setFont("B", titlePt)
	s.para(10, s.say("todo.page", "when", asOf))
	s.pdf.Ln(2)
	s.listHead()
	if len(items) == 0 {
		s.para(listLine, s.say("todo.none"))
	}
	for _, it := range items {
		s.listRow(it)
	}
	s.pdf.Ln(4)
	s.para(listLine, s.say("todo.how"))
	var out bytes.Buffer
	if err := s.pdf.Output(&out); err != nil {
		return nil, fmt.Errorf("making the list: %w", err)
	}
	return out.Bytes(), nil
}

func (s *sheet) listHead() {
	s.setFont("B", bodyPt)
	s.cell(doneColumn, 9, s.say("todo.done"), "", 0, "LM")
	s.cell(whenColumn, 9, s.say("todo.due"), "", 0, "LM")
	s.cell(whoColumn, 9, s.say("todo.whose"), "", 0, "LM")
	s.cell(0, 9, s.say("todo.what"), "", 1, "LM")
	s.across(0.5)
	s.setFont("", bodyPt)
}

// listRow is one to-do; what does not fit its column goes on below.
func (s *sheet) listRow(it todo.Item) {
	who := ""
	if it.Person != "" {
		who = it.Name
	}
	wide := s.paper.Wide - 2*s.margin - doneColumn - whenColumn - whoColumn
	columns := []struct {
		x    float64
		text []string
	}{
		{s.margin + doneColumn, s.lines(s.w.T(it.When()), whenColumn-gap)},
		{s.margin + doneColumn + whenColumn, []string{s.fit(who, whoColumn-gap)}},
		{s.margin + doneColumn + whenColumn + whoColumn, s.lines(s.fit(s.w.T(it.What), 4*wide), wide)},
	}
	high := box
	for _, c := range columns {
		high = max(high, float64(len(c.text))*listLine)
	}
	high += 3
	if s.pdf.GetY()+high > s.paper.High-s.margin {
		s.pdf.AddPage()
		s.listHead()
	}
	top := s.pdf.GetY()
	s.rule(0.35)
	s.pdf.Rect(s.margin, top+1.5, box, box, "D")
	for _, c := range columns {
		for i, text := range c.text {
			s.pdf.SetXY(c.x, top+1.5+float64(i)*listLine)
			s.cell(0, listLine, text, "", 0, "LM")
		}
	}
	s.pdf.SetXY(s.margin, top+high)
	s.across(0.2)
}
