package ui

import (
	"maps"
	"slices"
	"time"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/container"

	"quietwater/model"
	"quietwater/model/household"
	"quietwater/model/strip"
	"quietwater/ui/kit"
)

// The steps of a guided test, kept with its draft.
const (
	stepPack = iota
	stepStale
	stepPrepare
	stepReady
	stepLead
	stepTime
	stepHow
	stepPads
	stepReview
	stepPhoto
	stepConfirm
	stepMarks
	stepWrite // between stepPrepare and stepReady; drafts keep these numbers
	stepUnread
)

// leadSeconds is the count before the dip for wet hands.
const leadSeconds = 5

// readFor is how long "read now" stands at least: less than the shortest gap
// between two read times of usual charts.
const readFor = 4 * time.Second

// tickEvery is how often the running test looks at the clocks.
const tickEvery = 200 * time.Millisecond

// guided is one strip test under way, from choosing the pack to saving.
type guided struct {
	w        *Window
	draft    strip.Draft
	person   model.Person
	kind     strip.Kind
	practice bool
	wetHands bool
	pad      int
	reviewed bool         // the pad was opened from the review, and goes back to it
	rest     []model.Code // still to be read by eye beside a picture; nil while nobody goes through them
	seenPads map[model.Code]*padSeen
	shot     *shot // the photograph; nil before one is waited for
	run      *strip.Run
	leadFrom time.Duration
	stop     chan struct{} // ends the ticking; nil when nothing ticks
	dial     *kit.Countdown
	words    *fyne.Container // the large line under the digits
	after    *fyne.Container // what comes next, while something is to be read now
	sketch   *kit.ChartSketch
	usual    fyne.CanvasObject // whose times these are; nil for the leaflet's
	saying   string            // its key and pads, so that it is drawn only when it changes
	coming   string            // the same of what comes next
	spoken   *strip.Moment     // the pads that were to be read last
}

func (w *Window) startTest(p model.Person) func() view {
	g := &guided{w: w, person: p, draft: strip.Draft{Person: p.ID, Answers: map[model.Code]string{}, Values: map[model.Code]model.Value{}, Blocks: map[model.Code]int{}}}
	if packs := g.packs(); len(packs) > 0 {
		g.choosePack(string(packs[0].Pack.ID))
	} else {
		g.choosePack(withoutPack)
	}
	return g.view
}

// practice is a test without a strip that saves nothing.
func (w *Window) practice(p model.Person) func() view {
	g := &guided{w: w, person: p, practice: true, draft: strip.Draft{Person: p.ID, Step: stepPrepare,
		Answers: map[model.Code]string{}, Values: map[model.Code]model.Value{}, Blocks: map[model.Code]int{}}}
	g.kind = strip.Generic()[0]
	if packs := g.packs(); len(packs) > 0 && packs[0].KindKnown {
		g.kind = packs[0].Kind
	}
	return g.view
}

// resume goes on with a draft where it was left. Time does not stand still for
// a strip: a test left while it was timed goes on with how it was read.
func (w *Window) resume(d strip.Draft) func() view {
	m, _ := w.house.State().Member(d.Person)
	g := &guided{w: w, person: m.Person, draft: d}
	g.draft.Answers, g.draft.Values, g.draft.Blocks = map[model.Code]string{}, map[model.Code]model.Value{}, map[model.Code]int{}
	maps.Copy(g.draft.Answers, d.Answers)
	maps.Copy(g.draft.Values, d.Values)
	maps.Copy(g.draft.Blocks, d.Blocks)
	var known bool
	if g.kind, known = strip.FindKind(w.house.State().Records.Kinds(), d.StripKind); !known {
		// A kind this version cannot read: which pads there are is asked anew.
		g.draft.Pack, g.draft.Step = "", stepPack
		g.chooseKind(strip.GenericIDs()[0])
		return g.view
	}
	for g.pad < len(g.kind.Chart.Rows)-1 {
		if _, read := g.draft.Values[g.kind.Chart.Rows[g.pad].Pad]; !read {
			break
		}
		g.pad++
	}
	if d.Dipped.IsZero() && d.Step > stepReady && d.Step != stepWrite {
		g.draft.Step = stepReady
	} else if !d.Dipped.IsZero() && d.Step < stepHow {
		g.draft.Step = stepHow
	} else if d.Step == stepConfirm || d.Step == stepMarks { // the picture is not kept with a draft
		g.draft.Step = stepPhoto
	}
	return g.view
}

func (g *guided) view() view {
	draw := map[int]func() view{
		stepPack: g.packStep, stepStale: g.staleStep, stepPrepare: g.prepareStep, stepWrite: g.writeStep, stepReady: g.readyStep,
		stepLead: g.timeStep, stepTime: g.timeStep, stepHow: g.howStep, stepPads: g.padStep, stepReview: g.reviewStep,
		stepPhoto: g.photoStep, stepConfirm: g.confirmStep, stepMarks: g.marksStep, stepUnread: g.unreadStep,
	}[g.draft.Step]
	v := draw()
	v.title, v.whose, v.kept = model.T("screen.guided"), &g.person, true
	v.bare = true
	if g.practice && !v.busy { // a clock needs the whole page
		note := []fyne.CanvasObject{g.w.kit.Notice(kit.NoticeInfo, model.T("guided.practice"))}
		if g.large() && g.draft.Step == stepPads {
			v.body = append(v.body, note...)
		} else {
			v.body = append(note, v.body...)
		}
	}
	return v
}

// step goes to another step of the test and keeps the draft.
func (g *guided) step(n int) {
	g.quiet()
	g.draft.Step = n
	g.keep()
	g.w.turn(g.view)
}

// keep saves the draft; practice keeps nothing.
func (g *guided) keep() {
	if !g.practice {
		g.w.keep(household.KeepDraft(g.draft))
	}
}

// leave stops the clock and goes back to where the test was started. The draft
// stays.
func (g *guided) leave() {
	g.quiet()
	g.w.close()
}

// quiet ends the ticking.
func (g *guided) quiet() {
	if g.stop != nil {
		close(g.stop)
		g.stop = nil
	}
}

const withoutPack = "none"

// packs are those that hold strips.
func (g *guided) packs() []household.PackState {
	return slices.DeleteFunc(g.w.house.State().PacksFor(g.person.ID), func(p household.PackState) bool { return p.Empty })
}

func (g *guided) choosePack(id string) {
	g.draft.Insisted = false
	if id == withoutPack {
		g.draft.Pack = ""
		g.chooseKind(strip.GenericIDs()[0])
		return
	}
	p, _ := g.w.house.State().Pack(model.ID(id))
	g.draft.Pack = p.Pack.ID
	g.kind, g.draft.StripKind = p.Kind, p.Kind.ID
	if !p.KindKnown {
		g.chooseKind(strip.GenericIDs()[0])
	}
}

func (g *guided) chooseKind(id string) {
	g.kind, _ = strip.FindKind(g.w.house.State().Records.Kinds(), id)
	g.draft.StripKind = g.kind.ID
}

func (g *guided) pack() (household.PackState, bool) {
	if g.draft.Pack == "" {
		return household.PackState{}, false
	}
	return g.w.house.State().Pack(g.draft.Pack)
}

func (g *guided) packStep() view {
	k := g.w.kit
	if _, ok := g.pack(); !ok && g.draft.Pack != "" { // it was taken back meanwhile
		g.choosePack(withoutPack)
	}
	add := k.Button("add-pack", model.T("supplies.add-pack"), func() { g.w.open(g.w.newPack(g.takeEntered)) })
	var options []kit.Option
	for _, p := range g.packs() {
		note := g.w.shelfWords(p)
		if why := packTrouble(p); !why.IsZero() {
			note = why
		}
		options = append(options, kit.Option{ID: string(p.Pack.ID), Label: kit.Said(p.Pack.Label), Note: note})
	}
	var body []fyne.CanvasObject
	if len(options) == 0 {
		body = append(body, k.Notice(kit.NoticeInfo, model.T("guided.no-pack"), add))
	}
	known := len(options) > 0
	options = append(options, kit.Option{ID: withoutPack, Label: model.T("guided.without-pack"), Note: model.T("guided.without-pack-note")})
	chosen := string(g.draft.Pack)
	if chosen == "" {
		chosen = withoutPack
	}
	body = append(body, k.Choice("pack", model.T("guided.which-pack"), options, chosen, func(id string) {
		g.choosePack(id)
		g.w.redraw()
	}))
	if known {
		body = append(body, k.Row(add))
	}
	if p, ok := g.pack(); !ok || !p.KindKnown {
		body = append(body, k.Choice("kind", model.T("guided.which-kind"), g.w.kindOptions(), g.draft.StripKind, g.chooseKind))
	}
	return view{body: body, back: g.w.backTo(g.leave), main: &action{"next", model.T("do.next"), func() {
		if p, ok := g.pack(); ok && p.Freshness == strip.Stale && !g.draft.Insisted {
			g.step(stepStale)
			return
		}
		g.step(stepPrepare)
	}}}
}

// takeEntered chooses a pack that was entered on the way, where it is one this
// person may use: whoever has just held it means to test with it.
func (g *guided) takeEntered(id model.ID) {
	if slices.ContainsFunc(g.packs(), func(p household.PackState) bool { return p.Pack.ID == id }) {
		g.choosePack(string(id))
	}
}

// staleStep refuses a pack past its date unless the person insists.
func (g *guided) staleStep() view {
	k := g.w.kit
	return view{
		body: []fyne.CanvasObject{k.Notice(kit.NoticeCare, model.T("guided.stale-title")), k.Step(model.T("guided.stale")), k.Both(model.T("guided.stale-note")),
			k.Row(k.Button("insist", model.T("guided.stale-insist"), func() {
				g.draft.Insisted = true
				g.step(stepPrepare)
			}))},
		back: g.w.backTo(func() { g.step(stepPack) }),
		main: &action{"other-pack", model.T("guided.other-pack"), func() { g.step(stepPack) }},
	}
}

// questions are those of the checklist that fit the person and the pack.
func (g *guided) questions() []model.Code {
	all := []model.Code{"first-morning", "drank-a-lot", "after-exercise", "menstruating", "feverish", "took-vitamin-c", "cap-left-off"}
	m, _ := g.w.house.State().Member(g.person.ID)
	p, known := g.pack()
	return slices.DeleteFunc(all, func(c model.Code) bool {
		return c == "menstruating" && (m.Facts.Sex == "male" || beyondBearing(m.Facts, g.w.house.Now())) || c == "cap-left-off" && known && p.Pack.Sealed == model.Single
	})
}

func (g *guided) prepareStep() view {
	k := g.w.kit
	body := []fyne.CanvasObject{k.BothSection(model.T("guided.prepare")), k.Both(model.T("guided.prepare-cup")), k.Both(model.T("guided.prepare-sample"))}
	for _, q := range g.questions() {
		options := []kit.Option{{ID: "yes", Label: model.T("do.yes")}, {ID: "no", Label: model.T("do.no")}, {ID: "unsure", Label: model.T("do.unsure")}}
		body = append(body, k.ShortChoice("ask-"+string(q), model.T("guided.ask."+string(q)), options, g.draft.Answers[q],
			func(id string) { g.draft.Answers[q] = id }))
	}
	back := func() { g.step(stepPack) }
	if g.practice {
		back = g.leave
	}
	return view{body: body, back: g.w.backTo(back), main: &action{"next", model.T("do.next"), func() { g.step(stepWrite) }}}
}

// writeStep has paper made ready, and says whose reading times will be called:
// once the strip is wet it is too late for either.
func (g *guided) writeStep() view {
	k := g.w.kit
	body := []fyne.CanvasObject{k.Step(model.T("guided.ready-write"))}
	if g.usualTimes() {
		body = append(body, k.BothStrong(model.T("guided.usual-times")))
	}
	if pads := g.notReady(); len(pads) > 0 {
		body = append(body, k.Both(model.T("guided.photo-early", "pads", pads)))
	}
	body = append(body, k.Row(k.Button("sheet", model.T("guided.sheet"), g.sheet)))
	return view{body: body, back: g.w.backTo(func() { g.step(stepPrepare) }),
		main: &action{"next", model.T("do.next"), func() { g.step(stepReady) }}}
}

// large reports a type that leaves room for little more than one thing to do.
func (g *guided) large() bool { return g.w.look.Scale >= 1.5 }

// usualTimes reports that the times called are not from the household's own
// leaflet.
func (g *guided) usualTimes() bool { return !g.w.isOwn(g.kind) }

func (g *guided) sheet() {
	p, _ := g.pack()
	path, err := g.w.house.Sheet(g.w.words, g.kind, g.person.Name, p.Pack.Label)
	if err != nil {
		g.w.fail(err)
		return
	}
	g.w.say(model.T("guided.sheet-made", "path", path), false)
	g.w.redraw()
}

func (g *guided) readyStep() view {
	k := g.w.kit
	dip := &action{"dip", model.T("guided.dip-now"), g.dip}
	if g.wetHands {
		dip = &action{"dip", model.T("guided.lead-start"), g.lead}
	}
	return view{
		body: []fyne.CanvasObject{k.Step(model.T("guided.ready-do")), k.Both(model.T("guided.ready-key")),
			k.Check("lead-in", model.T("guided.lead-in"), g.wetHands, func(on bool) {
				g.wetHands = on
				g.w.focusNext = "dip" // the space bar must dip, not untick
				g.w.redraw()
			})},
		back:  g.w.backTo(func() { g.step(stepWrite) }),
		main:  dip,
		keys:  map[fyne.KeyName]func(){fyne.KeySpace: dip.do},
		enter: g.w.sound.Prepare,
	}
}

// lead counts down to the dip, so that wet hands press nothing.
func (g *guided) lead() {
	g.leadFrom = g.w.house.Tick().Mono
	g.draft.Step = stepLead
	g.w.turn(g.view)
}

// dip starts the clock. The draft is kept after it, so that the disk never
// delays the moment.
func (g *guided) dip() {
	t := g.w.house.Tick()
	g.run, g.spoken = strip.NewRun(g.kind, t), nil
	g.draft.Dipped, g.draft.Step, g.draft.Timed = t.Wall, stepTime, false
	g.w.turn(g.view)
	g.keep()
}

// timeStep is the running clock: the chart drawn small, one big number, what
// comes next, nothing else.
func (g *guided) timeStep() view {
	k := g.w.kit
	g.dial, g.words, g.after, g.saying, g.coming = k.Countdown(), container.NewVBox(), container.NewVBox(), "", ""
	g.sketch = k.ChartSketch(len(g.kind.Chart.Rows), model.T("guided.mark-now"), model.T("guided.mark-soon"))
	if g.large() { // the arrows and the large line say it; the words need the width
		g.sketch = k.ChartSketch(len(g.kind.Chart.Rows), model.Msg{}, model.Msg{})
	}
	face := []fyne.CanvasObject{g.dial, g.words, g.after}
	g.usual = nil
	if g.usualTimes() && g.draft.Step == stepTime && !g.large() { // it was said before the dip
		g.usual = k.Both(model.T("guided.usual-times"))
		face = append(face, g.usual)
	}
	g.quiet()
	g.stop = make(chan struct{})
	g.w.pulse(g.stop, g.tick)
	g.tick()
	return view{fixed: k.BesideSketch(g.sketch, face...), leave: g.quiet, busy: true, back: &action{"stop", model.T("guided.stop"), g.abandon}}
}

// abandon leaves a running test. Its strip cannot wait, but what was seen can
// still be entered.
func (g *guided) abandon() {
	if g.draft.Step == stepLead {
		g.step(stepReady)
		return
	}
	g.w.kit.Confirm(g.w.win.Canvas(), kit.Question{Title: model.T("guided.stop-ask"), Body: model.T("guided.stop-note"),
		Keep: model.T("guided.stop-no"), Do: model.T("guided.stop"), Danger: true, Then: func() {
			if g.draft.Step == stepTime {
				g.step(stepHow)
			}
		}})
}

// pulse calls tick every so often, beside the window's own work, until stop is
// closed.
func pulse(stop chan struct{}, tick func()) {
	go func() {
		t := time.NewTicker(tickEvery)
		defer t.Stop()
		for {
			select {
			case <-stop:
				return
			case <-t.C:
				fyne.Do(func() {
					select {
					case <-stop:
					default:
						tick()
					}
				})
			}
		}
	}()
}

// beside does work on a goroutine, and then what follows it on the window's.
func beside(work, then func()) {
	go func() {
		work()
		fyne.Do(then)
	}()
}

// tick brings the dial up to now and sounds what has come due.
func (g *guided) tick() {
	t := g.w.house.Tick()
	if g.draft.Step == stepLead {
		left := leadSeconds*time.Second - (t.Mono - g.leadFrom)
		if left <= 0 {
			g.w.sound.Now()
			g.dip()
			return
		}
		g.dial.Set(left, model.Msg{})
		g.speak(model.T("guided.lead-then"), nil, kit.RowPlain)
		return
	}
	s := g.run.Advance(t)
	if s.Broken {
		g.lost()
		return
	}
	for _, m := range s.Fired {
		if m.Ahead {
			g.w.sound.Ahead()
			continue
		}
		g.spoken = &m
		g.w.sound.Now()
	}
	reading := g.reading(s)
	if s.Done && !reading { // the last pad was given its time too
		g.w.sound.Done()
		g.draft.Timed = true
		g.step(stepHow)
		return
	}
	next := g.next(s)
	if s.Left <= strip.AheadS*time.Second {
		next = model.Msg{} // "get ready" says it already
	}
	g.dial.Set(s.Left, next)
	g.then(s, reading)
	g.speak(g.now(s))
}

// then says what comes next while something is to be read now. A big number
// would look like the time left for this pad, so there it is a sentence.
func (g *guided) then(s strip.Status, reading bool) {
	m := model.Msg{}
	if reading && !s.Done {
		what := padNames(s.Next.Pads)
		if len(what) == 0 {
			what = []model.Msg{model.T("guided.photo")}
		}
		m = model.T("guided.next-in", "pads", what, "n", int((s.Left+time.Second-1)/time.Second))
	}
	said := ""
	if !m.IsZero() {
		said = g.w.words.T(m)
	}
	for _, o := range []fyne.CanvasObject{g.dial, g.usual} { // what only the waiting has room for
		switch {
		case o == nil:
		case reading:
			o.Hide()
		default:
			o.Show()
		}
	}
	if said == g.coming {
		return
	}
	g.coming, g.after.Objects = said, nil
	if said != "" {
		line := g.w.kit.Step(m)
		if g.large() { // as large as a step of the first size, and it fits
			line = g.w.kit.BothSection(m)
		}
		g.after.Objects = []fyne.CanvasObject{line}
	}
	g.after.Refresh()
}

// reading reports whether "read now" still stands: for several pads as much
// longer as there is time, because each is to be found and written down.
func (g *guided) reading(s strip.Status) bool {
	if g.spoken == nil {
		return false
	}
	since := s.Elapsed - time.Duration(g.spoken.AtS)*time.Second
	all := time.Duration(len(g.spoken.Pads)) * readFor
	return since < readFor || since < all && !s.Done && s.Left > strip.AheadS*time.Second
}

// lost ends a run whose time is not known any more. Its dip is forgotten, so
// that nobody goes on with a strip that was never timed.
func (g *guided) lost() {
	g.quiet()
	g.draft.Dipped, g.draft.Step = time.Time{}, stepReady
	g.w.turn(g.broken)
	g.keep()
}

// speak sets the large line under the digits, says which rows of the chart it
// is about and marks them.
func (g *guided) speak(m model.Msg, pads []model.Code, mark kit.RowMark) {
	if said := g.w.words.T(m); said != g.saying {
		g.saying = said
		g.words.Objects = []fyne.CanvasObject{g.w.kit.Step(m)}
		beside := false // the digits, where there is room
		if len(pads) > 0 {
			where := g.where(pads)
			known := g.large() && mark == kit.RowNow && len(pads) > 1 // what the numbers are was said when it was soon
			said += " " + g.w.words.T(where)
			if beside = g.large() && mark == kit.RowSoon; beside {
				g.dial.Tell(where)
			} else if !known {
				g.words.Add(g.w.kit.BothSection(where))
			}
		}
		if !beside {
			g.dial.Tell(model.Msg{})
		}
		g.w.tellAloud(said)
		g.sketch.Set(mark, g.rows(pads)...)
		g.words.Refresh()
		if g.w.probe != nil {
			g.w.probe("task")
		}
	}
}

// now is the large line: what to read this moment, what comes within ten
// seconds, else to wait; the pads it is about, and how their rows are marked. It
// speaks of the moment the digits count to.
func (g *guided) now(s strip.Status) (model.Msg, []model.Code, kit.RowMark) {
	if m := g.spoken; g.reading(s) {
		switch {
		case m.Photo && len(m.Pads) > 0:
			return model.T("guided.read-and-photo", "pads", g.numbered(m.Pads)), m.Pads, kit.RowNow
		case m.Photo:
			return model.T("guided.photo-now"), nil, kit.RowPlain
		}
		return model.T("guided.read-now", "pads", g.numbered(m.Pads)), m.Pads, kit.RowNow
	}
	switch {
	case s.Left > strip.AheadS*time.Second:
		return model.T("guided.wait"), nil, kit.RowPlain
	case len(s.Next.Pads) == 0:
		return model.T("guided.photo-soon"), nil, kit.RowPlain
	}
	return model.T("guided.soon", "pads", g.numbered(s.Next.Pads)), s.Next.Pads, kit.RowSoon
}

// rows are the places of pads on the chart, from 0 at the top.
func (g *guided) rows(pads []model.Code) []int {
	var out []int
	for _, p := range pads {
		out = append(out, slices.IndexFunc(g.kind.Chart.Rows, func(r strip.Row) bool { return r.Pad == p }))
	}
	return out
}

// numbered are the names of pads in the order of the chart; of several, each
// with its row, because they are found by counting.
func (g *guided) numbered(pads []model.Code) []model.Msg {
	if len(pads) == 1 {
		return padNames(pads)
	}
	var out []model.Msg
	for i, row := range g.rows(pads) {
		out = append(out, model.T("guided.numbered", "i", row+1, "pad", padName(pads[i])))
	}
	return out
}

// where is the row of one pad in words, or what the numbers of several mean.
func (g *guided) where(pads []model.Code) model.Msg {
	if len(pads) == 1 {
		return model.T("guided.row-of", "i", g.rows(pads)[0]+1, "of", len(g.kind.Chart.Rows))
	}
	return model.T("guided.rows")
}

// next is what the digits count down to.
func (g *guided) next(s strip.Status) model.Msg {
	if len(s.Next.Pads) == 0 {
		return model.T("guided.photo")
	}
	return model.T("guided.pads", "pads", padNames(s.Next.Pads))
}

func padNames(pads []model.Code) []model.Msg {
	var out []model.Msg
	for _, p := range pads {
		out = append(out, padName(p))
	}
	return out
}

func padName(p model.Code) model.Msg { return model.T("name.strip." + string(p)) }

// padTitle is the name standing alone, with a capital.
func padTitle(p model.Code) model.Msg { return model.T("guided.pads", "pads", padName(p)) }

// broken says honestly that no pad was timed.
func (g *guided) broken() view {
	k := g.w.kit
	return view{title: model.T("screen.guided"), whose: &g.person,
		body: []fyne.CanvasObject{k.Notice(kit.NoticeFailed, model.T("guided.broken-title")), k.Step(model.T("guided.broken"))},
		back: g.w.backTo(g.leave),
		main: &action{"start-over", model.T("guided.start-over"), func() { g.step(stepReady) }}}
}

func (g *guided) howStep() view {
	k := g.w.kit
	options := []kit.Option{
		{ID: string(model.ReadAtTone), Label: model.T("guided.how.tone")},
		{ID: string(model.FromPhoto), Label: model.T("guided.how.photo")},
		{ID: string(model.ReadLater), Label: model.T("guided.how.later"), Note: model.T("guided.how.later-note")},
	}
	if pads := g.notReady(); len(pads) > 0 {
		options[1].Note = model.T("guided.photo-early", "pads", pads)
	}
	said := model.T("guided.all-read")
	if !g.draft.Timed { // stopped before its end: nothing was announced whole
		said, options = model.T("guided.stopped"), options[1:]
	}
	v := view{back: g.w.backTo(g.leave), body: []fyne.CanvasObject{k.Both(said), k.Both(model.T("guided.from-notes")),
		k.Choice("how", model.T("guided.how"), options, string(g.draft.How), func(id string) {
			g.setHow(model.Origin(id))
			g.w.redraw()
		})}}
	if g.draft.How != model.ByHand {
		v.main = &action{"next", model.T("do.next"), func() {
			g.pad, g.reviewed, g.rest, g.shot = 0, false, nil, nil
			if g.draft.How == model.FromPhoto {
				g.step(stepPhoto)
				return
			}
			g.step(stepPads)
		}}
	}
	return v
}

func (g *guided) setHow(how model.Origin) {
	g.draft.How, g.draft.Seconds, g.seenPads = how, 0, nil
	if how != model.FromPhoto {
		g.forgetPhoto()
	}
	switch how {
	case model.FromPhoto:
		g.draft.Seconds = strip.PhotoAtS
	case model.ReadLater:
		g.draft.Seconds = max(1, int(g.w.house.Now().Sub(g.draft.Dipped)/time.Second))
	}
}

// padStep asks for one pad, in the order of the chart.
func (g *guided) padStep() view {
	k := g.w.kit
	rows := g.kind.Chart.Rows
	g.pad = min(max(g.pad, 0), len(rows)-1)
	r := rows[g.pad]
	pick := func(i int) {
		g.draft.Blocks[r.Pad] = i
		if i < 0 {
			g.draft.Values[r.Pad] = model.Value{Code: r.Pad, Grade: model.Unclear}
		} else {
			g.draft.Values[r.Pad] = r.Value(i)
		}
		g.keep()
		g.w.redraw()
	}
	place, match := k.Small(model.T("guided.pad-of", "i", g.pad+1, "of", len(rows))), model.T("guided.match", "pad", padName(r.Pad))
	blocks := k.SwatchRow("block", model.Msg{}, g.swatches(r), g.chosen(r), pick)
	seen, must := g.seenOf(r), g.mustSay(r)
	var asked []fyne.CanvasObject
	if must {
		asked = g.askSeen(r, seen)
	}
	body := slices.Concat([]fyne.CanvasObject{place, k.BothSection(match)}, asked, []fyne.CanvasObject{blocks})
	if g.large() { // what the blocks say must be in view with them
		body = slices.Concat([]fyne.CanvasObject{k.Section(match)}, asked, []fyne.CanvasObject{blocks, k.Second(match), place})
	}
	v := view{body: body, back: g.w.backTo(g.padBack)}
	// There is no main button before a block is chosen, so that a second press
	// cannot slip past a pad.
	value, read := g.draft.Values[r.Pad]
	timed := read && value.Grade != model.Unclear
	if timed && !must {
		v.body = append(v.body, g.otherTime(r, seen))
	}
	if seen.how == seenOther && (timed || must) {
		v.body = append(v.body, g.timeBox(r, seen))
	}
	if read {
		v.main = &action{"next", model.T("do.next"), g.nextPad}
	} else {
		v.focusID = "block-0"
		v.body = append(v.body, k.Row(k.Button("skip-pad", model.T("guided.skip-pad"), g.nextPad)))
	}
	if must && seen.how == "" {
		v.focusID = "seen-" + seenOwn
	}
	return v
}

// padBack goes back to the page a pad was opened from, else to the pad before.
func (g *guided) padBack() {
	switch {
	case g.rest != nil:
		g.rest = nil
		g.step(stepUnread)
	case g.reviewed && g.shot != nil && g.shot.picture != nil:
		g.step(stepConfirm)
	case g.reviewed:
		g.step(stepReview)
	case g.pad == 0:
		g.step(stepHow)
	default:
		g.pad--
		g.step(stepPads)
	}
}

// nextPad goes on to the next pad, or back to the page it was opened from.
func (g *guided) nextPad() {
	switch {
	case !g.readWhen() || g.nextOfRest():
		return
	case g.rest != nil:
		g.rest = nil
		g.step(stepReview)
		return
	}
	if g.reviewed && g.shot != nil && g.shot.picture != nil {
		g.w.focusNext = "eye-" + string(g.kind.Chart.Rows[g.pad].Pad) // where it was left
		g.step(stepConfirm)
		return
	}
	if g.reviewed || g.pad+1 == len(g.kind.Chart.Rows) {
		g.step(stepReview)
		return
	}
	g.pad++
	g.step(stepPads)
}

func (g *guided) swatches(r strip.Row) []kit.Swatch {
	var out []kit.Swatch
	for i, b := range r.Blocks {
		sw := kit.Swatch{Value: b.Value, Unit: g.unitOf(r, b), RGB: [3]uint8(b.RGB), Step: i}
		if v := r.Value(i); v.Grade != model.NoGrade && v.Grade != model.Neg && v.Grade != model.Unclear && v.Grade.String() != b.Value {
			sw.Grade = model.T("guided.grade", "grade", shortGrade(v.Grade))
		}
		out = append(out, sw)
	}
	return out
}

// chosen is the block that was picked, kit.CouldNotTell, or -1 for none.
func (g *guided) chosen(r strip.Row) int {
	switch v, ok := g.draft.Values[r.Pad]; {
	case !ok:
		return -1
	case v.Grade == model.Unclear:
		return kit.CouldNotTell
	default:
		return g.draft.Blocks[r.Pad]
	}
}

// reviewStep shows all that will be saved; any line can be opened again.
func (g *guided) reviewStep() view {
	k := g.w.kit
	var items []kit.ListItem
	read := 0
	for i, r := range g.kind.Chart.Rows {
		note, lead := model.T("guided.review-none"), fyne.CanvasObject(nil)
		if v, ok := g.draft.Values[r.Pad]; ok {
			note, lead = g.seen(r, v)
			note = g.withTime(r, note)
			read++
		}
		note = g.besidePicture(r, note)
		items = append(items, kit.ListItem{ID: "pad-" + string(r.Pad), Title: padTitle(r.Pad), Note: note, Lead: lead, Open: func() {
			g.pad, g.reviewed, g.rest = i, true, nil
			g.step(stepPads)
		}})
	}
	v := view{body: append([]fyne.CanvasObject{k.BothSection(model.T("guided.review")), k.List(items...)}, g.keptWith()...),
		back: g.w.backTo(func() {
			if g.shot != nil && g.shot.picture != nil {
				g.step(stepConfirm)
				return
			}
			g.pad, g.reviewed = len(g.kind.Chart.Rows)-1, false
			g.step(stepPads)
		})}
	switch {
	case g.practice:
		v.main = &action{"save", model.T("guided.practice-end"), func() { g.w.turn(g.practised) }}
	case read > 0:
		v.main = &action{"save", model.T("guided.save", "name", g.person.Name), g.save}
	}
	return v
}

// seen is a pad's reading as it was tapped, what it means where that is another
// word, and the block's picture.
func (g *guided) seen(r strip.Row, v model.Value) (model.Msg, fyne.CanvasObject) {
	means := padValue(v)
	i, picked := g.draft.Blocks[r.Pad]
	if !picked || i < 0 || i >= len(r.Blocks) {
		return model.T("kit.said", "text", means), nil
	}
	return printedMeans(r, i, v), g.w.kit.Patch(g.swatches(r)[i])
}

// printedMeans is a block of the chart as it is printed there, and what it means
// where that is another word: who holds it against the chart finds no other.
func printedMeans(r strip.Row, i int, v model.Value) model.Msg {
	means := padValue(v)
	text := r.Blocks[i].Value
	if g, word := model.ParseGrade(text); v.IsNumber() || word && g == v.Grade {
		return model.T("kit.said", "text", means)
	}
	var printed any = text
	if _, number := model.ParseNumber(text); number { // its unit is said in each language
		printed = model.Quantity{Typed: text, UCUM: r.Unit}
	}
	return model.T("guided.printed-means", "printed", printed, "value", means)
}

func (g *guided) practised() view {
	return view{title: model.T("screen.guided"), whose: &g.person,
		body: []fyne.CanvasObject{g.w.kit.Step(model.T("guided.practice-done"))},
		main: &action{"to-today", model.T("guided.to-today"), g.w.toToday},
		keys: map[fyne.KeyName]func(){fyne.KeyEscape: g.w.toToday}}
}

// save keeps the test and forgets its draft, both or neither.
func (g *guided) save() {
	e := g.draft.Entry(g.w.house.NewID(), g.w.author())
	c := household.DropDraft()
	c.Entries = []model.Entry{e}
	if g.w.save(c) {
		g.w.person, g.w.tested = g.person.ID, &tested{e.ID, g.draft}
		g.w.turn(func() view { return g.w.result(e.ID, g.person, &g.kind) })
		g.keepPicture(e)
	}
}

// beyondBearing reports an age at which questions about menstruation and
// pregnancy only burden (60, our own choice).
func beyondBearing(f model.Facts, now time.Time) bool {
	age, known := f.AgeYears(now)
	return known && age >= 60
}

// shortGrade is the word for trace and positive, the sign for the plusses.
func shortGrade(g model.Grade) any {
	if g == model.Trace || g == model.Pos {
		return g
	}
	return g.String()
}

// unitOf is the unit printed with a block's number; words have none.
func (g *guided) unitOf(r strip.Row, b strip.Block) string {
	if _, number := model.ParseNumber(b.Value); !number {
		return ""
	}
	return g.w.words.Unit(r.Unit)
}
