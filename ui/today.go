package ui

import (
	"cmp"
	"slices"
	"strings"
	"time"

	"fyne.io/fyne/v2"

	"quietwater/model"
	"quietwater/model/finding"
	"quietwater/model/household"
	"quietwater/model/strip"
	"quietwater/model/todo"
	"quietwater/ui/kit"
)

// today shows one person what to do now.
func (w *Window) today() view {
	st := w.house.State()
	m, ok := w.member()
	if !ok {
		return view{title: model.T("screen.today"),
			body: []fyne.CanvasObject{w.kit.Both(model.T("today.nobody"))},
			main: &action{"add-person", model.T("today.add-person"), func() { w.open(w.editPerson(model.Person{})) }}}
	}
	var body []fyne.CanvasObject
	if len(st.Members) > 1 {
		body = append(body, w.whose(st, m.Person.ID))
	}
	louder, others := w.others(st, m)
	calls, rest := w.pressing(m.Result.Open)
	// What stands in two forms may hide a call; only an emergency comes first.
	emergency := len(calls) > 0 && calls[0].Urgency == finding.Emergency
	switch {
	case emergency && w.look.Scale > railUpTo: // in large type whatever stood above would push it out of the window
		cards := w.callCards(calls)
		body = append(append(append(cards, body...), louder...), w.drafted(st)...)
		body = append(body, w.twofoldNote()...)
	case emergency:
		body = append(append(body, louder...), w.drafted(st)...)
		body = append(append(body, w.callCards(calls)...), w.twofoldNote()...)
	default:
		body = append(append(body, louder...), w.drafted(st)...)
		body = append(append(body, w.twofoldNote()...), w.callCards(calls)...)
	}
	body = append(body, w.quickRow(m.Person)...)
	again := todo.AfterCalls(m, st.Now)
	for _, it := range again {
		body = append(body, w.todoCard(st, it))
	}
	for _, f := range slices.Concat(m.Result.Lapsed, rest) {
		body = append(body, w.finding(f, true))
	}
	body = append(body, others...)
	body = append(body, w.quiet(m, len(again) > 0)...)
	body = append(body, w.unread(m)...)
	body = append(body, w.endingPacks(st, m.Person.ID)...)
	body = append(body, w.backupDue(st)...)
	body = append(body, w.kit.BothSmall(lastTest(m.Result.History)))
	body = append(body, w.kit.Row(w.kit.Button("todos", model.T("todo.see"), func() { w.open(w.todos()) }),
		w.kit.Button("practice", model.T("today.practice"), func() { w.open(w.practice(m.Person)) })))
	v := view{title: model.T("screen.today"), whose: &m.Person, body: body, awake: len(emergencies(st)) > 0}
	if w.house.ReadOnly().IsZero() {
		v.main = &action{"start-test", model.T("today.start"), func() { w.beginTest(m.Person) }}
		if emergency { // nothing is to be begun now
			v.main = &action{"called", model.T("finding.called"), func() { w.open(w.answer(calls[0], "called")) }}
		}
	}
	if w.house.ReadOnly().IsZero() && len(calls) > 0 && !(emergency && w.look.Scale > railUpTo) { // they leave no room for the day's own entries; nor does this for an emergency in large type
		v.aside = &action{"write-down", model.T("daily.write"), func() { w.open(w.writeDown(m.Person)) }}
	}
	return v
}

// soonAgain is how near a measurement that was asked for must be to stand among
// the calls, and withinHours how short the time for it: a second pressure is due
// in minutes. What may be done any of these days waits below.
const soonAgain, withinHours = 15 * time.Minute, 2 * time.Hour

// pressing parts what comes before everything else on the page, which is what
// calls for a doctor and what is to be measured again at once, from what lets
// the day's own entries go first.
func (w *Window) pressing(open []finding.Finding) (calls, rest []finding.Finding) {
	now := w.house.Now()
	for _, f := range open {
		if f.Urgency >= finding.Soon || f.Due != nil && f.Due.To.Sub(f.Due.From) <= withinHours && !f.Due.From.After(now.Add(soonAgain)) && now.Before(f.Due.To) {
			calls = append(calls, f)
		} else {
			rest = append(rest, f)
		}
	}
	return calls, rest
}

// callCards are the cards of what calls. Several are listed first, because in
// large type the second lies far below the first; but nothing stands before an
// emergency there, which would be pushed out of the window in its turn.
func (w *Window) callCards(calls []finding.Finding) []fyne.CanvasObject {
	var rows, cards []fyne.CanvasObject
	for _, f := range calls {
		card := w.finding(f, true)
		cards = append(cards, card)
		rows = append(rows, w.safe.FindingRow("to-"+f.Rule, int(f.Urgency), f.HowSoon(), f.Title, func() { w.page.Reveal(card) }))
	}
	if len(calls) < 2 {
		return cards
	}
	list := append([]fyne.CanvasObject{w.kit.BothStrong(model.T("today.calls", "n", len(calls)))}, rows...)
	if calls[0].Urgency == finding.Emergency && w.look.Scale > railUpTo {
		return append(append(cards[:1:1], list...), cards[1:]...)
	}
	return append(list, cards...)
}

// quickRow has what an ordinary day writes down, and what was drunk so far.
func (w *Window) quickRow(p model.Person) []fyne.CanvasObject {
	if !w.house.ReadOnly().IsZero() {
		return nil
	}
	k := w.kit
	var buttons []fyne.CanvasObject
	for _, a := range w.quickThings(p) {
		buttons = append(buttons, k.Button(a.id, a.label, a.do))
	}
	return append([]fyne.CanvasObject{k.Column(k.BothStrong(model.T("daily.title")), k.Row(buttons...))}, append(w.waterToday(p), w.weekToday(p)...)...)
}

// whose lets the household choose whose page this is.
func (w *Window) whose(st *household.State, chosen model.ID) fyne.CanvasObject {
	var options []kit.Option
	for _, m := range st.Members {
		options = append(options, kit.Option{ID: string(m.Person.ID), Label: kit.Said(w.called(m.Person))})
	}
	return w.kit.AtOnce().ShortChoice("whose", model.T("today.whose"), options, string(chosen), func(id string) {
		w.person = model.ID(id)
		w.redraw()
	})
}

// others shows what calls for a doctor in somebody else's record, so that a
// page about one person hides nobody's alarm. What cannot wait, or is more urgent
// than all of the shown person's own, is louder and stands first; the rest stands
// below.
func (w *Window) others(st *household.State, shown household.Member) (louder, others []fyne.CanvasObject) {
	own := finding.Note
	if len(shown.Result.Open) > 0 {
		own = shown.Result.Open[0].Urgency
	}
	calling := slices.DeleteFunc(slices.Clone(st.Members), func(m household.Member) bool {
		return m.Person.ID == shown.Person.ID || len(m.Result.Open) == 0 || m.Result.Open[0].Urgency < finding.Soon
	})
	slices.SortStableFunc(calling, func(a, b household.Member) int { // the most urgent first
		return cmp.Compare(b.Result.Open[0].Urgency, a.Result.Open[0].Urgency)
	})
	for _, m := range calling {
		f := m.Result.Open[0]
		title := model.T("today.other", "name", w.called(m.Person), "title", f.Title)
		row := w.safe.FindingRow("other-"+m.Person.Name, int(f.Urgency), f.HowSoon(), title, func() {
			w.person = m.Person.ID
			w.show("today")
		})
		if f.Urgency > own || f.Urgency >= finding.Today { // an equal call may not lie screens below
			louder = append(louder, row)
		} else {
			others = append(others, row)
		}
	}
	return louder, others
}

// drafted offers to go on with an unfinished test.
func (w *Window) drafted(st *household.State) []fyne.CanvasObject {
	d, ok := st.Records.Draft()
	m, known := st.Member(d.Person)
	if !ok || !known {
		return nil
	}
	say := draftWords(d, m.Person)
	if !w.house.ReadOnly().IsZero() {
		return []fyne.CanvasObject{w.kit.Notice(kit.NoticeInfo, say)}
	}
	return []fyne.CanvasObject{w.kit.Notice(kit.NoticeInfo, say, w.kit.Column(w.kit.PersonMark(m.Person.Mark, w.called(m.Person)),
		w.kit.Row(w.kit.Button("go-on", model.T("today.go-on"), func() { w.open(w.resume(d)) })), apart(),
		w.kit.Row(w.kit.Button("drop-draft", model.T("guided.draft-drop"), func() { w.askDropDraft(say, w.redraw) }))))}
}

func draftWords(d strip.Draft, p model.Person) model.Msg {
	if d.Dipped.IsZero() {
		return model.T("guided.draft-undipped", "name", p.Name)
	}
	return model.T("guided.draft", "when", model.At(d.Dipped), "name", p.Name)
}

// beginTest starts a test. There is room for one draft: before a dipped one
// gives way, somebody must say so.
func (w *Window) beginTest(p model.Person) {
	st := w.house.State()
	d, begun := st.Records.Draft()
	m, known := st.Member(d.Person)
	start := func() { w.open(w.startTest(p)) }
	if !begun || !known || d.Dipped.IsZero() {
		start()
		return
	}
	w.kit.Confirm(w.win.Canvas(), kit.Question{Title: model.T("guided.begun-ask"), Body: model.T("guided.begun-note", "which", draftWords(d, m.Person)),
		Keep: model.T("guided.begun-go-on"), Kept: func() { w.open(w.resume(d)) },
		Do: model.T("guided.begun-new"), Danger: true, Then: func() { w.dropDraft(start) }, Back: model.T("do.back")})
}

// askDropDraft asks first, because a draft thrown away is gone for good.
func (w *Window) askDropDraft(which model.Msg, then func()) {
	w.kit.Confirm(w.win.Canvas(), kit.Question{Title: model.T("guided.drop-ask"), Body: which,
		Keep: model.T("do.keep"), Do: model.T("guided.draft-drop"), Danger: true, Then: func() { w.dropDraft(then) }})
}

func (w *Window) dropDraft(then func()) {
	if w.keep(household.DropDraft()) {
		then()
	}
}

// quiet says the most that may be said when nothing is open; again says that
// something is to be measured once more.
func (w *Window) quiet(m household.Member, again bool) []fyne.CanvasObject {
	key := map[finding.Quiet]string{
		finding.Silent: "quiet.silent", finding.OnlyStrips: "quiet.silent-strips", finding.NothingYet: "quiet.nothing-yet",
		finding.Unjudged: "today.quiet-unjudged", finding.SevereRecord: "today.quiet-severe",
		finding.AllAnswered: "quiet.answered", finding.OldRecord: "quiet.old",
	}[m.Quiet]
	switch {
	case key == "":
		return nil
	case again && m.Quiet == finding.AllAnswered:
		key = "quiet.answered-again"
	}
	return []fyne.CanvasObject{w.kit.Card(w.kit.Both(model.T(key, "when", m.Result.NewestRecord())))}
}

// unread names what was recorded and no rule looks at, so that silence about
// it is not taken for good news.
func (w *Window) unread(m household.Member) []fyne.CanvasObject {
	var names []model.Msg
	for _, it := range m.Result.Unread() {
		names = append(names, model.T("name."+string(it.Kind)+"."+string(it.Code)))
	}
	if len(names) == 0 {
		return nil
	}
	return []fyne.CanvasObject{w.kit.Notice(kit.NoticeInfo, model.T("today.unread", "what", names))}
}

// endingPacks warns of packs that end soon; of what is past its time already
// only when nothing better is in the house.
func (w *Window) endingPacks(st *household.State, person model.ID) []fyne.CanvasObject {
	var out []fyne.CanvasObject
	for i, p := range st.PacksFor(person) {
		past := p.Freshness == strip.Stale || p.Freshness == strip.Questionable
		if why := packTrouble(p); !why.IsZero() && !p.Empty && (!past || i == 0) {
			out = append(out, w.kit.Notice(kit.NoticeCare, model.T("today.pack-ending", "pack", p.Pack.Label, "why", why),
				w.kit.Button("see-packs", model.T("screen.supplies"), func() { w.visit("supplies") })))
		}
	}
	return out
}

func lastTest(h *finding.History) model.Msg {
	if len(h.Tests) == 0 {
		return model.T("today.no-test")
	}
	return model.T("today.last-test", "when", h.Tests[len(h.Tests)-1].When())
}

// finding draws a finding as a card. ask adds the buttons that answer it.
func (w *Window) finding(f finding.Finding, ask bool) fyne.CanvasObject {
	return w.safe.FindingCard(kit.FindingText{
		Urgency: int(f.Urgency), HowSoon: f.HowSoon(), Ring: w.ringNow(f.Urgency), When: w.dueWords(f), Title: f.Title, Do: f.Do, Why: f.Why,
		Change: f.Change, Sources: w.cited(f),
		Call: func(k *kit.Kit) []fyne.CanvasObject {
			if f.Urgency < finding.Soon {
				return nil
			}
			return w.numbers(k, f)
		},
		Answer: func(k *kit.Kit) []fyne.CanvasObject {
			if !ask || !w.house.ReadOnly().IsZero() {
				return nil
			}
			return []fyne.CanvasObject{k.Row(w.answerButtons(k, f)...)}
		},
		Help:  func(k *kit.Kit) []fyne.CanvasObject { return w.helpFor(k, f) },
		Under: func(k *kit.Kit) []fyne.CanvasObject { return w.underFinding(k, f) },
	})
}

// ringNow is the number to ring in an emergency, or whose it is where none is
// entered: of all a card says it must never lie below the window.
func (w *Window) ringNow(u finding.Urgency) model.Msg {
	if u < finding.Emergency {
		return model.Msg{}
	}
	if n := w.house.State().Records.Settings[household.SetEmergency]; n != "" {
		return model.T("finding.ring", "number", n)
	}
	return model.T("finding.ring-local")
}

// helpFor is what to say on the telephone.
func (w *Window) helpFor(k *kit.Kit, f finding.Finding) []fyne.CanvasObject {
	var out []fyne.CanvasObject
	if script, ok := f.Script(); ok {
		out = append(out, k.BothStrong(model.T("finding.say-this")))
		for _, m := range append(script, w.background(f.Person)...) {
			out = append(out, k.Both(m))
		}
	}
	return out
}

// background is what a doctor on the phone asks first: the age, and the
// conditions and medicines that stand in the book.
func (w *Window) background(id model.ID) []model.Msg {
	m, ok := w.house.State().Member(id)
	if !ok {
		return nil
	}
	h, now := m.Result.History, w.house.Now()
	var known []model.Msg
	if age, ok := h.Facts.AgeYears(now); ok {
		known = append(known, model.T("finding.script-age", "n", age))
	}
	for _, kind := range []model.Kind{model.Condition, model.Medicine} {
		for _, it := range model.ItemsOf(kind) {
			if h.On(kind, it.Code) {
				known = append(known, model.T("name."+string(kind)+"."+string(it.Code)))
			}
		}
	}
	if len(known) == 0 {
		return nil
	}
	return []model.Msg{model.T("finding.script-about", "name", w.called(m.Person), "list", known)}
}

// underFinding is what a finding's text rests on, and what was said of it.
func (w *Window) underFinding(k *kit.Kit, f finding.Finding) []fyne.CanvasObject {
	var out []fyne.CanvasObject
	if len(f.Evidence) > 0 {
		out = append(out, k.BothSmall(restsOn(f)))
	}
	if f.Other {
		out = append(out, k.BothSmall(model.T("merge.other-form")))
	}
	if f.Answer != nil {
		out = append(out, k.BothSmall(answered(*f.Answer)))
	}
	return out
}

func (w *Window) answerButtons(k *kit.Kit, f finding.Finding) []fyne.CanvasObject {
	words := []struct{ word, key string }{{"called", "finding.called"}, {"doctor-knows", "finding.doctor-knows"}, {"done", "finding.done"}}
	var out []fyne.CanvasObject
	for _, a := range words {
		// What calls for a doctor ends only with a call or a doctor who knows,
		// so that it cannot be put away by a slip.
		if a.word == "done" && f.Urgency >= finding.Soon || a.word == "called" && f.Urgency < finding.Mention {
			continue
		}
		out = append(out, k.Button("answer-"+a.word+"-"+f.Rule, model.T(a.key), func() { w.open(w.answer(f, a.word)) }))
	}
	return out
}

// numbers are the telephone numbers that fit a finding, or the way to enter them.
func (w *Window) numbers(k *kit.Kit, f finding.Finding) []fyne.CanvasObject {
	u, number := f.Urgency, func(sort string) string { return w.house.State().Records.NumberFor(sort, f.Person) }
	fits := map[string]bool{household.SetEmergency: u == finding.Emergency, household.SetMaternity: w.maternal(f)}
	var lines []string
	for _, key := range household.Numbers() {
		if ok, only := fits[key]; number(key) != "" && (ok || !only) {
			lines = append(lines, w.numberLine(key, number(key)))
		}
	}
	out := []fyne.CanvasObject{k.BothStrong(model.T("finding.numbers"))}
	emergency := number(household.SetEmergency)
	if u == finding.Today && len(lines) > 0 && emergency != "" { // it may get worse before somebody answers
		lines = append(lines, w.numberLine(household.SetEmergency, emergency))
	}
	missing := model.Msg{}
	switch {
	case len(lines) == 0 && emergency == "" && u < finding.Today:
		missing = model.T("finding.no-number-soon") // a visit within days is no reason to ring for an ambulance
	case len(lines) == 0 && emergency == "":
		missing = model.T("finding.no-number")
	case len(lines) == 0:
		missing = model.T("finding.no-clinic")
		if u >= finding.Today { // at night there may be no other
			lines = append(lines, w.numberLine(household.SetEmergency, emergency))
		}
	case u == finding.Emergency && emergency == "": // a clinic's number must not stand in for it
		missing = model.T("finding.no-emergency")
	}
	if !missing.IsZero() {
		out = append(out, k.Both(missing))
	}
	if len(lines) > 0 {
		out = append(out, k.Strong(kit.Said(strings.Join(lines, "\n"))))
	}
	if !missing.IsZero() && w.house.ReadOnly().IsZero() {
		out = append(out, k.Row(k.Button("enter-numbers", model.T("finding.enter-number"), func() { w.visit("household") })))
	}
	return out
}

// maternal reports a finding of somebody a maternity unit looks after, or did.
func (w *Window) maternal(f finding.Finding) bool {
	m, ok := w.house.State().Member(f.Person)
	return strings.HasPrefix(f.Rule, "pregnancy-") || ok && m.Result.History.On(model.Condition, "pregnancy")
}

// numberLine is a telephone number with whose it is.
func (w *Window) numberLine(sort, number string) string {
	return w.words.T(model.T("setting."+sort)) + ": " + number
}

// called is a person's name, with the date of birth where the book has two of
// that name: nobody may be taken for somebody else.
func (w *Window) called(p model.Person) string {
	for _, m := range w.house.State().Members {
		if m.Person.ID != p.ID && m.Person.Name == p.Name {
			if me, _ := w.house.State().Member(p.ID); !me.Facts.Birth.IsZero() {
				return p.Name + " (" + w.words.Date(me.Facts.Birth) + ")"
			}
		}
	}
	return p.Name
}

func (w *Window) nameOf(id model.ID) string {
	m, _ := w.house.State().Member(id)
	return w.called(m.Person)
}

// cited is the line of sources under a finding.
func (w *Window) cited(f finding.Finding) model.Msg {
	var lines []string
	for _, id := range f.Sources {
		if s, ok := model.FindSource(id); ok {
			lines = append(lines, w.citation(s))
		}
	}
	return kit.Said(strings.Join(lines, "; "))
}

// citation names a source; what is none of the world's is said in the reader's
// language.
func (w *Window) citation(s model.Source) string {
	if s.Published() {
		return s.Citation
	}
	return w.words.T(model.T("source." + string(s.ID)))
}

// restsOn lists the values a finding rests on: of many the newest.
func restsOn(f finding.Finding) model.Msg {
	newest, older := f.Observations()
	if older > 0 {
		return model.T("finding.rests-on-more", "list", newest, "n", older)
	}
	return model.T("finding.rests-on", "list", newest)
}

// valueLine is one value in words: "protein 1+", "specific gravity 1.005".
func (w *Window) valueLine(kind model.Kind, v model.Value) string {
	return w.words.Name(kind, v.Code) + ": " + w.words.Value(kind, v)
}

// dueWords says until when a to-do is due, or beside a call when to measure
// again; other findings say when the newest thing they rest on was seen.
func (w *Window) dueWords(f finding.Finding) model.Msg {
	if f.Due == nil {
		return kit.Said(w.words.Date(f.Since))
	}
	from, to := dueSpan(*f.Due)
	if f.Urgency >= finding.Soon { // the call itself is due now
		return model.T("today.again", "from", from, "to", to)
	}
	if w.house.Now().After(f.Due.To) {
		return model.T("today.overdue", "to", to)
	}
	return model.T("today.due", "from", from, "to", to)
}

// dueSpan gives whole days as days: "until the 7th" and not "until the 7th,
// 00:00", which is the end of the 6th.
func dueSpan(s finding.Span) (from, to model.When) {
	midnight := func(t time.Time) bool { return t.Hour() == 0 && t.Minute() == 0 }
	if midnight(s.From) && midnight(s.To) && s.To.After(s.From) {
		return model.OnDay(s.From), model.OnDay(s.To.Add(-time.Minute))
	}
	return model.At(s.From), model.At(s.To)
}

func answered(a finding.AnswerRecord) model.Msg {
	return model.T("today.answered", "word", model.T("word."+a.Word), "when", a.When, "note", a.Note)
}

// packTrouble says what is wrong or soon will be with a pack; zero when
// nothing is known to be.
func packTrouble(p household.PackState) model.Msg {
	switch {
	case p.Empty:
		return model.T("supplies.empty")
	case p.Freshness == strip.Stale:
		return model.T("supplies.stale")
	case p.Freshness == strip.Questionable:
		return model.T("supplies.questionable")
	case !p.EndingSoon:
		return model.Msg{}
	case !p.Shelf.Until.IsZero() && p.DaysLeft == 0:
		return model.T("supplies.ends-today")
	case !p.Shelf.Until.IsZero() && p.DaysLeft <= strip.WarnDays:
		return model.T("supplies.ends-soon", "n", p.DaysLeft)
	}
	return model.T("supplies.left", "n", p.Left)
}

// answer asks what came of a finding, with whom somebody spoke, when, and what
// they said, and writes it down. The form comes first: the finding below it was
// read before. An emergency is not closed before somebody is named, so that a
// second tap in the same place cannot do it.
func (w *Window) answer(f finding.Finding, word string) func() view {
	whom, who, what, at := "", "", "", &moment{}
	return func() view {
		k := w.kit
		var reached *kit.Choice
		body := []fyne.CanvasObject{k.BothSection(model.T("finding." + word))}
		if word != "done" {
			reached = k.ShortChoice("answer-whom", model.T("finding.answer-who"), whomOptions(f.Urgency), whom, func(id string) { whom = id })
			body = append(body, reached)
		}
		person := k.Field(kit.Ask{ID: "answer-who", Label: model.T("finding.answer-name")}, who, func(s string) { who = s })
		said := k.Field(kit.Ask{ID: "answer-what", Label: model.T("finding.answer-what"), Lines: 3}, what, func(s string) { what = s })
		body = append(append(body, person, said), append(w.momentPart(at), w.finding(f, false))...)
		v := view{
			title: model.T("finding.answer-title"), whose: w.personOf(f.Person), back: w.backTo(w.goBack), focus: person.Focusable(), body: body,
			main: &action{"save", model.T("do.save-for", "name", w.nameOf(f.Person)), func() {
				form := checked{w: w}
				if reached != nil {
					form.check(reached, unless(whom != "" || f.Urgency < finding.Emergency, "finding.answer-whom-missing"))
				}
				when := at.when(w, &form)
				if form.first == nil && at.other && when.Compare(f.Since) < 0 {
					form.check(at.date, model.T("finding.answer-before"))
				}
				if form.bad() {
					return
				}
				e := w.newEntry(model.Person{ID: f.Person}, model.Answer, when, model.Value{Code: model.Code(f.Rule), Word: word,
					Note: spoken(w.whomWords(whom), strings.TrimSpace(who), strings.TrimSpace(what))})
				if w.save(household.Changes{Entries: []model.Entry{e}}) {
					w.close()
				}
			}},
		}
		if reached != nil {
			v.focus = reached.Focusable()
		}
		return v
	}
}

// whomOptions are who may have been reached, to be chosen with one tap. Somebody
// else than a doctor or the emergency number ends no emergency.
func whomOptions(u finding.Urgency) []kit.Option {
	var out []kit.Option
	ids := []string{"doctor", "emergency", "other"}
	if u == finding.Emergency {
		ids = ids[:2]
	}
	for _, id := range ids {
		out = append(out, kit.Option{ID: id, Label: model.T("finding.whom-" + id)})
	}
	return out
}

// whomWords is the choice as the note keeps it; "" for none.
func (w *Window) whomWords(id string) string {
	if id == "" {
		return ""
	}
	return w.words.T(model.T("finding.whom-" + id))
}

// spoken puts who was spoken to before what they said.
func spoken(parts ...string) string {
	return strings.Join(slices.DeleteFunc(parts, func(s string) bool { return s == "" }), ": ")
}

func (w *Window) personOf(id model.ID) *model.Person {
	m, ok := w.house.State().Member(id)
	if !ok {
		return nil
	}
	return &m.Person
}

func (w *Window) author() string { return w.house.State().Records.Settings[household.SetAuthor] }
