package ui

import (
	"fmt"

	"fyne.io/fyne/v2"

	"quietwater/model"
	"quietwater/model/finding"
	"quietwater/ui/kit"
)

// helpSections are the sections of the help page with their number of
// paragraphs.
func helpSections() []struct {
	id string
	n  int
} {
	return []struct {
		id string
		n  int
	}{{"safety", 3}, {"test", 5}, {"caution", 5}, {"photo", 7}, {"daily", 6}, {"labs", 5}, {"urgency", 1}, {"keys", 5}, {"data", 3}, {"sources", 1}, {"licence", 2}}
}

func (w *Window) help() view {
	k := w.kit
	var body []fyne.CanvasObject
	for _, s := range helpSections() {
		body = append(body, k.BothSection(model.T("help."+s.id+".title")))
		for i := range s.n {
			body = append(body, k.Both(model.T(fmt.Sprintf("help.%s.p%d", s.id, i+1))))
		}
		switch s.id {
		case "urgency":
			for _, u := range finding.Urgencies() {
				body = append(body, k.Beside(k.TideMark(int(u)), k.Both(u.Name())))
			}
		case "sources":
			body = append(body, w.sourceList()...)
		}
	}
	return view{title: model.T("screen.help"), body: body}
}

// sourceList names every source once, with where to find it.
func (w *Window) sourceList() []fyne.CanvasObject {
	var out []fyne.CanvasObject
	for _, s := range model.Sources() {
		where := s.URL
		if s.DOI != "" {
			where = "doi.org/" + s.DOI
		}
		out = append(out, w.kit.Column(w.kit.Text(kit.Said(s.Citation)), w.kit.Small(kit.Said(where)),
			w.kit.Small(model.T("help.sources.checked", "checked", s.Checked))))
	}
	return out
}
