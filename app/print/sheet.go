// Package print owns what goes to paper: PDF pages made from what the model
// arranged, with our own typeface.
//
// It refuses to know how a page is shown on screen or where it is saved.
package print

import (
	"bytes"
	"fmt"

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
}

// A4 in millimetres, and the sizes on it. Body text is 12 pt or more (needs R45).
const (
	pageWidth, pageHeight = 210.0, 297.0
	margin                = 15.0
	bodyPt, titlePt       = 12.0, 20.0
	padColumn, timeColumn = 48.0, 30.0
)

// TallySheet is one A4 page to write a strip test on where there is no
// computer: the pads in chart order with their read times and printed values.
func TallySheet(w Words, k strip.Kind, name, pack string) ([]byte, error) {
	pdf := fpdf.New("P", "mm", "A4", "")
	pdf.SetMargins(margin, margin, margin)
	pdf.SetAutoPageBreak(true, margin)
	pdf.AddUTF8FontFromBytes("body", "", assets.FontRegular)
	pdf.AddUTF8FontFromBytes("body", "B", assets.FontBold)
	pdf.AddPage()
	pdf.SetFont("body", "B", titlePt)
	pdf.MultiCell(0, 10, w.T(model.T("sheet.title")), "", "L", false)
	pdf.SetFont("body", "", bodyPt)
	for _, l := range [][2]string{{"sheet.person", name}, {"sheet.dipped", ""}, {"sheet.pack", pack}} {
		pdf.CellFormat(70, 9, w.T(model.T(l[0])), "", 0, "L", false, 0, "")
		pdf.CellFormat(0, 9, l[1], "B", 1, "L", false, 0, "")
	}
	pdf.Ln(3)
	pdf.MultiCell(0, 6.5, w.T(model.T("sheet.note")), "", "L", false)
	pdf.Ln(2)
	sheetHead(pdf, w)
	for _, r := range k.Chart.Rows {
		sheetRow(pdf, w, r)
	}
	var out bytes.Buffer
	if err := pdf.Output(&out); err != nil {
		return nil, fmt.Errorf("making the sheet: %w", err)
	}
	return out.Bytes(), nil
}

func sheetHead(pdf *fpdf.Fpdf, w Words) {
	pdf.SetFont("body", "B", bodyPt)
	pdf.CellFormat(padColumn, 8, w.T(model.T("sheet.pad")), "B", 0, "L", false, 0, "")
	pdf.CellFormat(timeColumn, 8, w.T(model.T("sheet.read-at")), "B", 0, "L", false, 0, "")
	pdf.CellFormat(0, 8, w.T(model.T("sheet.tick")), "B", 1, "L", false, 0, "")
	pdf.SetFont("body", "", bodyPt)
}

func sheetRow(pdf *fpdf.Fpdf, w Words, r strip.Row) {
	const high = 18.0
	top := pdf.GetY()
	name := w.Name(model.Strip, r.Pad)
	if u := w.Unit(r.Unit); u != "" {
		name += "\n" + u
	}
	pdf.SetXY(margin, top+2)
	pdf.MultiCell(padColumn, 5.5, name, "", "L", false)
	pdf.SetXY(margin+padColumn, top+2)
	at := model.T("sheet.no-time")
	if r.ReadS > 0 {
		at = model.T("sheet.seconds", "n", r.ReadS)
	}
	pdf.MultiCell(timeColumn, 5.5, w.T(at), "", "L", false)
	left := margin + padColumn + timeColumn
	step := (pageWidth - margin - left) / float64(len(r.Blocks))
	for i, b := range r.Blocks {
		x := left + float64(i)*step
		pdf.Rect(x, top+2, 6, 6, "D")
		pdf.SetXY(x-1, top+9)
		pdf.CellFormat(step, 6, b.Value, "", 0, "L", false, 0, "")
	}
	pdf.Line(margin, top+high, pageWidth-margin, top+high)
	pdf.SetXY(margin, top+high)
}
