package ui

import (
	"fmt"
	"slices"
	"strings"

	"fyne.io/fyne/v2"

	"quietwater/assets"
	"quietwater/model"
	"quietwater/model/finding"
	"quietwater/ui/kit"
)

// helpPage answers one question: its paragraphs, and the publications it rests
// on.
type helpPage struct {
	id      string
	n       int
	sources []model.SourceID
}

// helpPages are the questions people have, the commonest first. What to do when
// somebody feels unwell stands above them all.
func helpPages() []helpPage {
	return []helpPage{{"test", 5, nil}, {"trace", 4, []model.SourceID{"mcadams2024", "frontmed2023", "sumida2020"}},
		{"again", 4, []model.SourceID{model.CommonPractice, model.OurChoice}}, {"morning", 2, []model.SourceID{"kdigo2024", model.CommonPractice}},
		{"stale", 4, []model.SourceID{"iso15223", "gallagher1990", model.OurChoice}}, {"caution", 5, []model.SourceID{"sumida2020", "simerville2005", "gallagher1990"}},
		{"screen", 2, []model.SourceID{model.CommonPractice}}, {"unknown", 4, nil}, {"photo", 7, nil}, {"daily", 7, nil},
		{"labs", 5, []model.SourceID{"kdigo2024"}}, {"doctor", 4, nil}, {"files", 4, nil}, {"urgency", 1, nil}, {keysPage, 7, nil}, {"data", 3, nil}, {"privacy", 6, nil}, {"merge", 3, nil}, {"backup", 5, []model.SourceID{model.CommonPractice}}, {"sources", 1, nil}, {"licence", 2, nil}}
}

const safetyParagraphs = 3

func (p helpPage) title() model.Msg { return model.T("help." + p.id + ".title") }

func (p helpPage) paragraphs() (out []model.Msg) {
	for i := range p.n {
		out = append(out, model.T(fmt.Sprintf("help.%s.p%d", p.id, i+1)))
	}
	return out
}

// also is what a page is searched for by, besides what stands on it: a name on
// a laboratory's sheet, or the word other programs use.
func (p helpPage) also() (out []model.Msg) {
	of := map[string]model.Kind{"labs": model.Lab, "test": model.Strip}
	for _, it := range model.ItemsOf(of[p.id]) {
		if _, ok := model.TimedPad(it.Code); ok {
			continue // named after its pad, which is there
		}
		out = append(out, model.T("name."+string(it.Kind)+"."+string(it.Code)))
	}
	if p.id == "files" {
		out = append(out, model.T("help.files.words"))
	}
	return out
}

// help lists the questions, all of them or those in which what was typed stands.
func (w *Window) help() view {
	k := w.kit
	body := []fyne.CanvasObject{k.BothSection(model.T("help.safety.title"))}
	for _, m := range (helpPage{"safety", safetyParagraphs, nil}).paragraphs() {
		body = append(body, k.Both(m))
	}
	found := k.Column()
	show := func() {
		found.Objects = w.helpFound(w.searched)
		found.Refresh()
	}
	search := k.AtOnce().Field(kit.Ask{ID: "search", Label: model.T("help.search")}, w.searched, func(text string) {
		w.searched = text
		show()
	})
	show()
	body = append(body, search, found)
	if w.forced.Version != "" {
		body = append(body, k.Small(model.T("help.version", "version", w.forced.Version)))
	}
	return view{title: model.T("screen.help"), body: body}
}

// searched is a text as it is searched in: case counts for nothing, and neither
// does the dot of the Turkish İ and ı, which keyboards set differently.
func searched(text string) string { return undotted.Replace(strings.ToLower(text)) }

var undotted = strings.NewReplacer("i\u0307", "i", "ı", "i")

// helpFound are the questions that hold most words of what was typed, in either
// language, and the symptoms that are meant: those are written down, and judged.
func (w *Window) helpFound(typed string) []fyne.CanvasObject {
	words := strings.Fields(searched(typed))
	most := 0
	var pages []kit.ListItem
	for _, p := range helpPages() {
		all := ""
		for _, m := range slices.Concat(p.paragraphs(), p.also(), []model.Msg{p.title()}) {
			all += searched(w.words.T(m)+" "+w.words.T2(m)) + " "
		}
		n := 0
		for _, word := range words {
			if strings.Contains(all, word) {
				n++
			}
		}
		if n > most {
			pages, most = nil, n
		}
		if n == most && (n > 0 || len(words) == 0) {
			pages = append(pages, kit.ListItem{ID: "help-" + p.id, Title: p.title(), Open: func() { w.open(w.helpOn(p)) }})
		}
	}
	items := append(w.symptomsMeant(words), pages...)
	if len(items) == 0 {
		return []fyne.CanvasObject{w.kit.Both(model.T("help.search-none"))}
	}
	return []fyne.CanvasObject{w.kit.List(items...)}
}

// symptomsMeant are those whose name begins a word as one that was typed does.
func (w *Window) symptomsMeant(words []string) []kit.ListItem {
	m, known := w.member()
	if !known || !w.house.ReadOnly().IsZero() {
		return nil
	}
	var out []kit.ListItem
	for _, it := range model.ItemsOf(model.Symptom) {
		name := model.T("name.symptom." + string(it.Code))
		if slices.ContainsFunc(strings.Fields(searched(w.words.T(name)+" "+w.words.T2(name))), func(of string) bool {
			return slices.ContainsFunc(words, func(word string) bool { return len([]rune(word)) > 3 && strings.HasPrefix(of, word) })
		}) {
			out = append(out, kit.ListItem{ID: "symptom-" + string(it.Code), Title: model.T("help.symptom", "what", name), Open: func() { w.open(w.feel(m.Person)) }})
		}
	}
	return out
}

// helpOn answers one question.
func (w *Window) helpOn(p helpPage) func() view {
	return func() view {
		k := w.kit
		body := []fyne.CanvasObject{k.BothSection(p.title())}
		for _, m := range p.paragraphs() {
			body = append(body, k.Both(m))
		}
		switch p.id {
		case "urgency":
			for _, u := range finding.Urgencies() {
				body = append(body, k.Beside(k.TideMark(int(u)), k.Both(u.Name())))
			}
		case keysPage:
			body = append(body, w.pageKeys())
		case "sources":
			body = append(body, w.sourceList()...)
		case "licence":
			body = append(body, k.List(kit.ListItem{ID: "licences", Title: model.T("help.licences.title"), Open: func() { w.open(w.licences) }}))
			body = append(body, w.codeNotices()...)
		}
		if len(p.sources) > 0 {
			body = append(body, k.Section(model.T("help.sources.title")))
		}
		for _, id := range p.sources {
			if s, ok := model.FindSource(id); ok {
				body = append(body, k.Small(kit.Said(w.citation(s))))
			}
		}
		return view{title: model.T("screen.help"), body: body, back: w.backTo(w.goBack)}
	}
}

// licences lists everything that is built into the program.
func (w *Window) licences() view {
	var items []kit.ListItem
	for i, l := range assets.Licences() {
		items = append(items, kit.ListItem{ID: fmt.Sprint("licence-", i), Title: kit.Said(l.Name), Open: func() { w.open(w.licence(l)) }})
	}
	return view{title: model.T("screen.help"), back: w.backTo(w.goBack), body: []fyne.CanvasObject{
		w.kit.BothSection(model.T("help.licences.title")), w.kit.Both(model.T("help.licences.note")), w.kit.List(items...)}}
}

// licence is what one thing in the program is passed on under, as it was written.
func (w *Window) licence(l assets.Licence) func() view {
	return func() view {
		body := []fyne.CanvasObject{w.kit.Section(kit.Said(l.Name))}
		for _, p := range strings.Split(l.Text, "\n\n") {
			body = append(body, w.kit.Small(kit.Said(strings.Join(strings.Fields(p), " "))))
		}
		return view{title: model.T("screen.help"), body: body, back: w.backTo(w.goBack)}
	}
}

// keysPage is the card of keys among the help pages.
const keysPage = "keys"

// pageKeys is the key of every page.
func (w *Window) pageKeys() fyne.CanvasObject {
	var rows []fyne.CanvasObject
	for _, s := range screens() {
		rows = append(rows, w.kit.Beside(w.kit.Strong(kit.Said(string(s.key))), w.kit.Both(model.T("screen."+s.id))))
	}
	return w.kit.Card(rows...)
}

// sourceList names every source once, with where to find it.
func (w *Window) sourceList() []fyne.CanvasObject {
	var out []fyne.CanvasObject
	for _, s := range model.Sources() {
		where := s.URL
		if s.DOI != "" {
			where = "doi.org/" + s.DOI
		}
		out = append(out, w.kit.Column(w.kit.Text(kit.Said(w.citation(s))), w.kit.Small(kit.Said(where)),
			w.kit.Small(model.T("help.sources.checked", "checked", s.Checked))))
	}
	return out
}
