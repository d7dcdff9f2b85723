package ui

import (
	"strconv"

	"fyne.io/fyne/v2"

	"quietwater/model"
	"quietwater/model/daily"
	"quietwater/ui/kit"
)

// feeling is how somebody feels, as it stands on the pages.
type feeling struct {
	person model.Person
	said   map[model.Code]int
	at     moment
}

// feel asks how somebody feels: first what was there the last time, then by
// parts of the body.
func (w *Window) feel(p model.Person) func() view {
	f := &feeling{person: p, said: map[model.Code]int{}}
	return func() view { return w.feelView(f) }
}

func (w *Window) feelView(f *feeling) view {
	k := w.kit
	standing := daily.Standing(w.entriesOf(f.person.ID), w.house.Now())
	body := []fyne.CanvasObject{k.Both(model.T("daily.feel.how"))}
	if len(standing) > 0 {
		body = append(body, k.BothSection(model.T("daily.feel.before")))
		for _, s := range standing {
			body = append(body, w.severity(f, s.Value.Code, model.T("daily.feel.was", "value", model.ValueOf{Kind: model.Symptom, Value: s.Value}, "when", s.When)))
		}
		body = append(body, k.Row(k.Button("same", model.T("daily.feel.same"), func() {
			for _, s := range standing {
				if _, said := f.said[s.Value.Code]; !said {
					f.said[s.Value.Code] = int(s.Value.Number)
				}
			}
			w.redraw()
		}), k.Button("all-gone", model.T("daily.feel.gone"), func() {
			for _, s := range standing {
				if _, said := f.said[s.Value.Code]; !said {
					f.said[s.Value.Code] = 0
				}
			}
			w.redraw()
		})))
	}
	where := "daily.feel.where-first"
	if len(standing) > 0 {
		where = "daily.feel.where"
	}
	body = append(body, k.BothSection(model.T(where)))
	var items []kit.ListItem
	for _, a := range daily.Areas() {
		items = append(items, kit.ListItem{ID: "area-" + a.ID, Title: model.T("daily.area." + a.ID), Note: w.saidOf(f, a),
			Open: func() { w.open(func() view { return w.areaView(f, a) }) }})
	}
	body = append(body, k.List(items...))
	body = append(body, w.momentPart(&f.at)...)
	return view{title: model.T("daily.feel"), whose: &f.person, body: body, back: w.backTo(w.goBack), focusID: "area-" + daily.Areas()[0].ID,
		main: w.unlessReadOnly(&action{"save", model.T("do.save-for", "name", w.called(f.person)), func() { w.saveFeeling(f) }})}
}

// saidOf lists what was said of an area, else what is asked for there.
func (w *Window) saidOf(f *feeling, a daily.Area) model.Msg {
	var said, asked []model.Msg
	for _, c := range a.Codes {
		name := model.T("name.symptom." + string(c))
		asked = append(asked, name)
		if n, ok := f.said[c]; ok {
			said = append(said, model.T("daily.feel.said", "what", name, "value", model.ValueOf{Kind: model.Symptom, Value: severityOf(c, n)}))
		}
	}
	if len(said) > 0 {
		return model.T("daily.list", "what", said)
	}
	return model.T("daily.list", "what", model.AnyOf(asked))
}

// areaView asks for the symptoms of one area.
func (w *Window) areaView(f *feeling, a daily.Area) view {
	k := w.kit
	body := []fyne.CanvasObject{k.BothSection(model.T("daily.area." + a.ID)), k.BothSmall(model.T("daily.feel.scale"))}
	for _, c := range a.Codes {
		body = append(body, w.severity(f, c, model.Msg{}))
	}
	return view{title: model.T("daily.feel"), whose: &f.person, body: body, focusID: string(a.Codes[0]), part: true,
		main: &action{"area-done", model.T("daily.feel.done"), w.close}, keys: map[fyne.KeyName]func(){fyne.KeyEscape: w.close}}
}

// severity asks how bad one symptom is; nothing is chosen for anybody.
func (w *Window) severity(f *feeling, c model.Code, note model.Msg) fyne.CanvasObject {
	k := w.kit
	it, _ := model.Find(model.Symptom, c)
	var options []kit.Option
	if it.YesNo {
		options = []kit.Option{{ID: "0", Label: model.T("do.no")}, {ID: strconv.Itoa(model.There), Label: model.T("do.yes")}}
	} else {
		for n := range 4 {
			options = append(options, kit.Option{ID: strconv.Itoa(n), Label: model.T("guided.pads", "pads", model.T("severity."+strconv.Itoa(n)))})
		}
	}
	chosen := ""
	if n, ok := f.said[c]; ok {
		chosen = strconv.Itoa(n)
		if it.YesNo && n > 0 {
			chosen = strconv.Itoa(model.There)
		}
	}
	choice := k.ShortChoice(string(c), model.T("guided.pads", "pads", model.T("name.symptom."+string(c))), options, chosen, func(id string) {
		f.said[c], _ = strconv.Atoi(id)
	})
	if note.IsZero() {
		return choice
	}
	return k.Tight(choice, k.BothSmall(note))
}

// saveFeeling writes down all that was said, a symptom an entry.
func (w *Window) saveFeeling(f *feeling) {
	form := checked{w: w}
	at := f.at.when(w, &form)
	if form.bad() {
		return
	}
	if len(f.said) == 0 {
		w.say(model.T("daily.feel.nothing"), false)
		w.bar()
		return
	}
	j := &jot{person: f.person, form: func() view { return w.feelView(f) }}
	for _, it := range model.ItemsOf(model.Symptom) {
		if n, ok := f.said[it.Code]; ok {
			j.entries = append(j.entries, w.newEntry(f.person, model.Symptom, at, severityOf(it.Code, n)))
		}
	}
	w.jotDown(j)
}

func severityOf(c model.Code, n int) model.Value {
	return model.Value{Code: c, Number: float64(n), Typed: strconv.Itoa(n)}
}
