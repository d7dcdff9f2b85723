package ui

import (
	"slices"
	"strings"
	"time"

	"fyne.io/fyne/v2"

	"quietwater/charts"
	"quietwater/model"
	"quietwater/model/finding"
	"quietwater/model/household"
	"quietwater/model/strip"
	"quietwater/model/timeline"
	"quietwater/ui/kit"
)

// timelineView is what the timeline shows: whose, how much time, and whether as
// a picture too.
type timelineView struct {
	timeline.View
	everybody bool
	listOnly  bool
	chosen    model.When // the moment that was jumped to
	// tracks are the courses of whose state; gathering many years takes a while.
	tracks  []timeline.Track
	of      model.ID
	version int
}

var newestQuarter = timelineView{View: timeline.View{Zoom: timeline.Quarter}}

// tracksOf are all courses of a person, gathered once for each state.
func (w *Window) tracksOf(m household.Member) []timeline.Track {
	s := &w.span
	if v := w.house.State().Version; s.of != m.Person.ID || s.version != v || v == 0 {
		s.tracks, s.of, s.version = timeline.Tracks(m.Result), m.Person.ID, v
	}
	return s.tracks
}

func (w *Window) timeline() view {
	k := w.kit
	st := w.house.State()
	m, ok := w.member()
	if !ok {
		return view{title: model.T("screen.timeline"), body: []fyne.CanvasObject{k.Both(model.T("quiet.nothing-yet"))}}
	}
	now, first := w.house.Now(), w.firstOf(m)
	from, to := w.span.Window(first, now)
	body := []fyne.CanvasObject{}
	if len(st.Members) > 1 {
		body = append(body, w.timelineWhose(st, m.Person.ID))
	}
	body = append(body, w.timelineMoves(m, first, from, to)...)
	results := []finding.Result{m.Result}
	if w.span.everybody {
		results = nil
		for _, m := range st.Members {
			results = append(results, m.Result)
		}
	} else if !w.span.listOnly {
		body = append(body, w.picture(m, from, to, w.span.chosen)...)
	}
	most := 0
	if !w.span.everybody && !w.span.listOnly {
		most = besidePicture
	}
	body = append(body, w.dayByDay(results, from, to, most)...)
	whose := &m.Person
	if w.span.everybody {
		whose = nil
	}
	return view{title: model.T("screen.timeline"), whose: whose, body: body, keys: w.timelineKeys(m, first)}
}

// firstOf is when what is shown begins.
func (w *Window) firstOf(m household.Member) time.Time {
	first := timeline.First(m.Result)
	if w.span.everybody {
		for _, other := range w.house.State().Members {
			if t := timeline.First(other.Result); first.IsZero() || !t.IsZero() && t.Before(first) {
				first = t
			}
		}
	}
	return first
}

// dayByDay lists what was recorded, the same that the picture shows. Below the
// picture the list ends after about so many lines, 0 for all of it.
func (w *Window) dayByDay(results []finding.Result, from, to time.Time, lines int) []fyne.CanvasObject {
	days := timeline.Days(results, from, to)
	if len(days) == 0 {
		return []fyne.CanvasObject{w.kit.Card(w.kit.Both(model.T("timeline.empty")))}
	}
	body := []fyne.CanvasObject{w.kit.Section(model.T("timeline.list"))}
	listed := 0
	for i, d := range days {
		if i == mostDays || lines > 0 && i > 0 && listed+len(d.Items) > lines {
			body = append(body, w.kit.Both(model.T("timeline.more-days", "n", len(days)-i)))
			if i < mostDays && w.task == nil {
				body = append(body, w.kit.Row(w.kit.Button("list-all", model.T("timeline.list-only"), w.listOnly)))
			}
			return body
		}
		listed += len(d.Items)
		body = append(body, w.dayCard(d))
	}
	return body
}

// besidePicture is how many lines the list has below the picture: all of a busy
// month would take longer to lay out than the picture to draw, each time
// somebody moves it.
const besidePicture = 100

// mostDays is how many days are listed at once: a year of cards would be slow
// to lay out and longer than anybody reads.
const mostDays = 62

// picture shows the lanes of one person.
func (w *Window) picture(m household.Member, from, to time.Time, chosen model.When) []fyne.CanvasObject {
	p := w.lanes(m, from, to, chosen)
	if len(p.Lanes)+len(p.Tracks) == 0 {
		return nil
	}
	return []fyne.CanvasObject{w.kit.Section(model.T("timeline.picture")), w.padChart(m.Person, p)}
}

// lanes are those of one person that were not put away.
func (w *Window) lanes(m household.Member, from, to time.Time, chosen model.When) timeline.Picture {
	p := timeline.Pads(m.Result, from, to)
	p.Tracks, p.Chosen = timeline.Cut(w.tracksOf(m), from, to.AddDate(0, 0, 1)), chosen
	p.Lanes = slices.DeleteFunc(p.Lanes, func(l timeline.Lane) bool { return w.hidden(laneID(model.Strip, l.Pad)) })
	p.Tracks = slices.DeleteFunc(p.Tracks, func(t timeline.Track) bool { return w.hidden(laneID(t.Kind, t.Code)) })
	return p
}

const everybody = "everybody"

func (w *Window) timelineWhose(st *household.State, chosen model.ID) fyne.CanvasObject {
	options := []kit.Option{{ID: everybody, Label: model.T("timeline.whole")}}
	for _, m := range st.Members {
		options = append(options, kit.Option{ID: string(m.Person.ID), Label: kit.Said(w.called(m.Person))})
	}
	id := string(chosen)
	if w.span.everybody {
		id = everybody
	}
	return w.kit.AtOnce().ShortChoice("whose", model.T("today.whose"), options, id, func(id string) {
		w.span.everybody = id == everybody
		if !w.span.everybody {
			w.person = model.ID(id)
		}
		w.redraw()
	})
}

// timelineMoves are the buttons that choose the time shown.
func (w *Window) timelineMoves(m household.Member, first time.Time, from, to time.Time) []fyne.CanvasObject {
	k, now := w.kit, w.house.Now()
	var options []kit.Option
	for _, z := range timeline.Zooms() {
		options = append(options, kit.Option{ID: string(z), Label: model.T("timeline.span-" + string(z))})
	}
	choice := k.AtOnce().ShortChoice("span", model.Msg{}, options, string(w.span.Zoom), func(id string) {
		w.see(w.span.Zoomed(timeline.Zoom(id), first, now))
	})
	var move []fyne.CanvasObject
	if !w.span.AtStart(first, now) {
		move = append(move, k.Button("earlier", model.T("timeline.earlier"), func() { w.see(w.span.Pan(-half, first, now)) }))
	}
	if !w.span.AtEnd(first, now) {
		move = append(move, k.Button("later", model.T("timeline.later"), func() { w.see(w.span.Pan(half, first, now)) }),
			k.Button("to-now", model.T("timeline.to-now"), func() { w.see(timeline.View{Zoom: w.span.Zoom}) }))
	}
	if !w.span.everybody {
		flags := timeline.Flags(m.Result)
		if _, ok := besideFlag(flags, w.flagFrom(from, to), -1); ok {
			move = append(move, k.Button("finding-before", model.T("timeline.finding-before"), func() { w.jump(m, first, -1) }))
		}
		if _, ok := besideFlag(flags, w.flagFrom(from, to), 1); ok {
			move = append(move, k.Button("finding-after", model.T("timeline.finding-after"), func() { w.jump(m, first, 1) }))
		}
		shown := model.T("timeline.list-only")
		if w.span.listOnly {
			shown = model.T("timeline.with-picture")
		}
		move = append(move, k.Button("list-only", shown, w.listOnly), k.Button("lanes", model.T("timeline.lanes"), func() { w.open(w.lanesPage(m)) }))
	}
	days := model.T("timeline.from-to", "from", model.OnDay(from), "to", model.OnDay(to))
	if from.Equal(to) {
		days = kit.Said(w.words.Date(model.OnDay(from)))
	}
	return []fyne.CanvasObject{choice, k.Row(move...), k.Text(days)}
}

// half a length is how far a step goes: what was at one edge is then in the
// middle.
const half = 0.5

// wheelStep is how far one notch of the wheel goes.
const wheelStep = 0.125

// see shows another stretch of time.
func (w *Window) see(v timeline.View) {
	w.span.View, w.span.chosen = v, model.When{}
	w.redraw()
}

func (w *Window) listOnly() {
	w.span.listOnly = !w.span.listOnly
	w.redraw()
}

// flagFrom is the moment the next finding is looked for from: the one jumped
// to, else the middle of what is shown, where all of it is old, else its end.
func (w *Window) flagFrom(from, to time.Time) time.Time {
	if !w.span.chosen.IsZero() {
		return w.span.chosen.Time()
	}
	if w.span.Middle.IsZero() {
		return to.AddDate(0, 0, 1)
	}
	return from.Add(to.Sub(from) / 2)
}

// besideFlag is the finding before or after a moment.
func besideFlag(flags []finding.Finding, at time.Time, way int) (finding.Finding, bool) {
	if way < 0 {
		slices.Reverse(flags)
		defer slices.Reverse(flags)
	}
	for _, f := range flags {
		if t := f.Since.Time(); way > 0 && t.After(at) || way < 0 && t.Before(at) {
			return f, true
		}
	}
	return finding.Finding{}, false
}

// jump shows the finding before or after what is looked at.
func (w *Window) jump(m household.Member, first time.Time, way int) {
	now := w.house.Now()
	from, to := w.span.Window(first, now)
	f, ok := besideFlag(timeline.Flags(m.Result), w.flagFrom(from, to), way)
	if !ok {
		return
	}
	if w.span.Zoom == timeline.All || w.span.Zoom == timeline.Year {
		w.span.Zoom = timeline.Month
	}
	w.span.View, w.span.chosen = w.span.Around(f.Since.Time(), first, now), f.Since
	w.redraw()
}

// timelineKeys move in time without the mouse.
func (w *Window) timelineKeys(m household.Member, first time.Time) map[fyne.KeyName]func() {
	to := func(v func() timeline.View) func() { return func() { w.see(v()) } }
	now := w.house.Now()
	closer := to(func() timeline.View { return w.span.Closer(first, now) })
	wider := to(func() timeline.View { return w.span.Wider(first, now) })
	keys := map[fyne.KeyName]func(){
		fyne.KeyLeft:  to(func() timeline.View { return w.span.Pan(-half, first, now) }),
		fyne.KeyRight: to(func() timeline.View { return w.span.Pan(half, first, now) }),
		fyne.KeyPlus:  closer, fyne.KeyEqual: closer, fyne.KeyMinus: wider,
		fyne.KeyHome: to(func() timeline.View { return timeline.View{Zoom: w.span.Zoom} }),
	}
	if !w.span.everybody {
		keys[fyne.KeyP] = func() { w.jump(m, first, -1) }
		keys[fyne.KeyN] = func() { w.jump(m, first, 1) }
		keys[fyne.KeyL] = w.listOnly
	}
	return keys
}

// around shows what was recorded in the days about a finding.
func (w *Window) around(f finding.Finding) func() view {
	return func() view {
		v := view{title: model.T("timeline.around"), whose: w.personOf(f.Person), back: w.backTo(w.goBack)}
		m, ok := w.house.State().Member(f.Person)
		if !ok {
			return v
		}
		day := f.Since.DayIn(w.house.Now().Location())
		from, to := day.AddDate(0, 0, -aroundDays), day.AddDate(0, 0, aroundDays)
		v.body = []fyne.CanvasObject{w.kit.BothStrong(f.Title), w.kit.Both(model.T("timeline.around-how", "n", aroundDays, "when", f.Since))}
		v.body = append(v.body, w.picture(m, from, to, f.Since)...)
		v.body = append(v.body, w.dayByDay([]finding.Result{m.Result}, from, to, 0)...)
		return v
	}
}

// aroundDays on either side are what is looked at for what may have changed.
// Common practice: two weeks hold a course of medicine, an illness, a week's
// pressure.
const aroundDays = 14

// tapped is what is nearest to where somebody tapped, which is seldom to the
// pixel: of the lane's own, if there is any, else of all. It names the day and
// the row that stands for it in the list of that day.
func tapped(days []timeline.Day, at charts.Place) (day time.Time, row string) {
	day, own, least := at.When, false, time.Duration(0)
	for _, d := range days {
		for _, it := range d.Items {
			mine, far := inLane(it, at), it.When.Time().Sub(at.When).Abs()
			if row == "" || mine && !own || mine == own && far < least {
				day, row, own, least = d.Date, rowOf(it), mine, far
			}
		}
	}
	return day, row
}

func inLane(it timeline.Item, at charts.Place) bool {
	switch {
	case it.Finding != nil:
		return at.Findings
	case at.Photo != "":
		return it.Entry.ID == at.Photo
	}
	return !at.Findings && it.Entry.Kind == at.Kind && slices.ContainsFunc(it.Entry.Values, func(v model.Value) bool {
		return v.Code == at.Code || at.Code == "systolic" && v.Code == "diastolic"
	})
}

// rowOf names the row of an item in a day's list.
func rowOf(it timeline.Item) string {
	if it.Finding != nil {
		return "finding-" + it.Finding.Rule
	}
	return "entry-" + string(it.Entry.ID)
}

// oneDay lists a day, as it is at the time; one row of it may have been meant.
func (w *Window) oneDay(m household.Member, day time.Time, row string) func() view {
	return func() view {
		v := view{title: model.T("screen.timeline"), whose: w.personOf(m.Person.ID), back: w.backTo(w.goBack), focusID: row}
		if m, ok := w.house.State().Member(m.Person.ID); ok {
			v.body = append([]fyne.CanvasObject{w.kit.Section(kit.Said(w.words.Date(model.OnDay(day))))}, w.dayByDay([]finding.Result{m.Result}, day, day, 0)...)
		}
		return v
	}
}

// dayCard lists one day.
func (w *Window) dayCard(d timeline.Day) fyne.CanvasObject {
	k := w.kit
	body := []fyne.CanvasObject{k.Strong(kit.Said(w.words.Date(model.OnDay(d.Date))))}
	for _, it := range d.Items {
		body = append(body, w.dayItem(it))
		if it.Entry != nil {
			body = append(body, w.thumbnail(*it.Entry)...)
		}
	}
	return k.Card(body...)
}

func (w *Window) dayItem(it timeline.Item) fyne.CanvasObject {
	k := w.kit
	who := ""
	if w.span.everybody {
		who = w.called(it.Person) + ": "
	}
	if f := it.Finding; f != nil {
		title := model.T("timeline.finding", "urgency", f.HowSoon(), "title", f.Title)
		switch {
		case it.Due:
			title = model.T("timeline.due", "title", f.Title)
		case f.Answer != nil:
			title = model.T("timeline.answered", "title", f.Title)
		}
		return k.FindingRow("finding-"+f.Rule, int(f.Urgency), kit.Said(who+w.clock(it.When)), title, func() { w.open(w.oneFinding(*f)) })
	}
	return k.List(kit.ListItem{ID: rowOf(it), Title: kit.Said(who + w.entryLine(it)),
		Note: kit.Said(w.entryNote(it)), Open: func() { w.open(w.oneEntry(*it.Entry)) }})
}

func (w *Window) clock(at model.When) string {
	if at.DayOnly() {
		return ""
	}
	return w.words.Clock(at.Time().In(w.house.Now().Location()))
}

// entryLine is what an entry says, in one sentence.
func (w *Window) entryLine(it timeline.Item) string {
	var parts []string
	if it.Entry.Kind == model.Answer { // its code is a rule's id, which is no word
		for _, v := range it.Entry.Values {
			parts = append(parts, strings.TrimSuffix(w.words.Word(v.Word)+": "+v.Note, ": "))
		}
	} else if v := it.Verdict; v != nil {
		for _, p := range v.Pads {
			parts = append(parts, w.words.T(w.padLine(p)))
		}
	} else {
		for _, v := range it.Entry.Values {
			if _, known := model.ItemFor(it.Entry.Kind, v.Code); !known {
				parts = append(parts, w.words.T(model.T("timeline.unknown", "what", string(v.Code))))
				continue
			}
			parts = append(parts, w.notedLine(it.Entry.Kind, v))
		}
	}
	return w.words.Kind(it.Entry.Kind) + " · " + strings.Join(parts, ", ")
}

// notedLine is one value in words with what was noted beside it.
func (w *Window) notedLine(kind model.Kind, v model.Value) string {
	line, note := w.valueLine(kind, v), v.Note
	if p, differs := strip.ProposalIn(note); differs && kind == model.Strip {
		note = w.words.T(model.T("photo.noted", "value", p.Printed))
	}
	if note == "" {
		return line
	}
	return line + " (" + note + ")"
}

func (w *Window) entryNote(it timeline.Item) string {
	parts := []string{}
	if c := w.clock(it.When); c != "" {
		parts = append(parts, c)
	}
	if p, ok := w.house.State().Pack(it.Entry.Pack); ok {
		parts = append(parts, p.Pack.Label)
	}
	if w.isTwofold(it.Entry.ID) {
		parts = append(parts, w.words.T(model.T("merge.twofold")))
	}
	if it.Entry.Author != "" {
		parts = append(parts, w.words.T(model.T("timeline.entry-by", "author", it.Entry.Author)))
	}
	return strings.Join(parts, " · ")
}

func (w *Window) oneFinding(f finding.Finding) func() view {
	return func() view {
		return view{title: model.T("screen.timeline"), whose: w.personOf(f.Person), back: w.backTo(w.goBack), bare: anEmergency(f),
			body: []fyne.CanvasObject{w.finding(f, f.Answer == nil), w.kit.Row(w.kit.Button("around", model.T("timeline.around"), func() { w.open(w.around(f)) }))}}
	}
}

// oneEntry shows one entry whole, as it stands now, and lets it be changed or
// deleted.
func (w *Window) oneEntry(e model.Entry) func() view {
	read := &evidence{}
	return func() view {
		k := w.kit
		all := w.house.State().Records.Book.Entries
		if i := slices.IndexFunc(all, func(o model.Entry) bool { return o.ID == e.ID }); i >= 0 {
			e = all[i]
		}
		v := view{title: model.T("screen.timeline"), whose: w.personOf(e.Person), back: w.backTo(w.goBack)}
		v.body = append(v.body, k.Strong(kit.Said(w.words.Kind(e.Kind)+" · "+w.words.Date(e.When))))
		if m, ok := w.house.State().Member(e.Person); ok && e.Kind == model.Strip {
			for _, t := range m.Result.History.Tests {
				if t.Entry.ID == e.ID {
					v.body = append(v.body, w.worth(t)...)
				}
			}
		}
		var lines []fyne.CanvasObject
		for _, val := range e.Values {
			lines = append(lines, k.Text(kit.Said(w.notedLine(e.Kind, val))))
		}
		v.body = append(v.body, k.Card(lines...), k.Small(kit.Said(w.entryNote(timeline.Item{When: e.When, Entry: &e}))))
		read.show(w, e, &v)
		v.body = append(v.body, w.twofoldOf(e.ID)...)
		if w.house.ReadOnly().IsZero() {
			if change := w.changeButton(e); change != nil {
				v.body = append(v.body, k.Row(change...), apart())
			}
			v.body = append(v.body, k.Row(k.Button("delete", model.T("do.delete"), func() { w.askDelete(e) })))
		}
		return v
	}
}

func (w *Window) askDelete(e model.Entry) {
	w.kit.Confirm(w.win.Canvas(), kit.Question{Title: model.T("timeline.delete-of", "name", w.nameOf(e.Person)), Body: model.T("timeline.deleted-stays"),
		Keep: model.T("do.keep"), Do: model.T("do.delete"), Danger: true, Then: func() {
			if w.keep(household.Changes{RemoveEntries: []model.ID{e.ID}}) {
				w.say(model.T("done.deleted"), true)
				w.close()
			}
		}})
}
