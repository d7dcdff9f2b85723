package ui

import (
	"fmt"
	"slices"
	"strings"
	"testing"
	"time"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/canvas"
	"fyne.io/fyne/v2/test"

	"quietwater/assets"
	"quietwater/i18n"
	"quietwater/model"
	"quietwater/model/household"
	"quietwater/model/photo"
	"quietwater/model/strip"
	"quietwater/model/timeline"
	"quietwater/ui/kit"
	"quietwater/ui/kit/kittest"
)

// longName is a name as long as people bear.
const longName = "Maximiliana Guadalupe Fernández-Echevarría"

// fullBook is the invented household with every state a screen can show: an
// emergency, packs that are stale, doubtful, empty and about to end, a strip
// kind of its own, long names and a reading this version does not know.
func fullBook() household.Records {
	r := household.Demo(morning)
	id := func(n int) model.ID { return model.ID(fmt.Sprintf("%032x", 0xe0000+n)) }
	day := func(n int) model.When { return model.OnDay(morning.AddDate(0, 0, n)) }
	rosa, emil := r.Book.Persons[0].ID, r.Book.Persons[1].ID
	own := strip.Generic()[1]
	own.ID, own.Name = "own-1", "Three pads from the chemist at the corner of the market square"
	c := household.Changes{
		Kinds:   []strip.Kind{own},
		Persons: []model.Person{{ID: id(1), Name: longName, Mark: 3}},
		Packs: []model.Pack{
			{ID: id(2), Label: "Old tub", StripKind: "ten-pads", Sealed: model.Tub, OpenedOn: day(-200), DaysOpen: 90, Strips: 50, Lot: "A-77120/b"},
			{ID: id(3), Label: "Tub without a leaflet", StripKind: "ten-pads", Sealed: model.Tub, OpenedOn: day(-40)},
			{ID: id(4), Label: "Ends this week", StripKind: own.ID, Sealed: model.Single, UseBy: day(3), Strips: 4, Price: "12.90", Currency: "EUR"},
			{ID: id(5), Label: "Never opened tub in the cupboard of the hall", StripKind: "albumin-creatinine", Sealed: model.Tub, UseBy: day(400)},
			{ID: id(6), Label: "Of a kind nobody knows", StripKind: "gone", Sealed: model.Tub, OpenedOn: day(-1), DaysOpen: 60},
			{ID: id(7), Label: "Used up", StripKind: own.ID, Sealed: model.Single, Strips: 1, UseBy: day(40)},
		},
		Entries: []model.Entry{
			{ID: id(10), Person: rosa, Kind: model.Symptom, When: model.At(morning.Add(-time.Hour)), Author: "Emil",
				Values: []model.Value{{Code: "chest-pain", Number: 2, Typed: "2", Note: "since the stairs"}}},
			{ID: id(11), Person: rosa, Kind: model.Strip, When: model.At(morning.Add(-2 * time.Hour)), Pack: id(2), Origin: model.FromPhoto,
				Values: []model.Value{{Code: "protein", Grade: model.Plus2}, {Code: "blood", Grade: model.Plus2}, {Code: "ph", Grade: model.Unclear}}},
			{ID: id(12), Person: emil, Kind: model.Strip, When: day(-2), Pack: id(7), Values: []model.Value{{Code: "nitrite", Grade: model.Pos}, {Code: "leukocytes", Grade: model.Plus1}}},
			{ID: id(13), Person: emil, Kind: model.Symptom, When: day(-2), Values: []model.Value{{Code: "painful-urination", Number: 1, Typed: "1"}, {Code: "not-known-yet", Number: 1}}},
		},
		Settings: map[string]string{household.SetAuthor: "Emil", household.SetClinic: "0555 0100"},
	}
	return r.Apply(c)
}

// place is one page and the way to it.
type place struct {
	name string
	open func(*desk)
}

// places are the pages of the rail and every page that can lie over them.
func places(r household.Records) []place {
	out := []place{}
	add := func(name string, open func(d *desk)) { out = append(out, place{name, open}) }
	task := func(name string, f func(w *Window) func() view) {
		add(name, func(d *desk) { d.w.turn(f(d.w)) })
	}
	for _, p := range r.Book.Persons {
		for _, s := range screens() {
			if s.id == "supplies" || s.id == "household" || s.id == "help" {
				continue
			}
			add(s.id+" of "+p.Name, func(d *desk) {
				d.w.person, d.w.span.everybody = p.ID, false
				d.w.show(s.id)
			})
		}
	}
	add("timeline of everybody, a year ago", func(d *desk) {
		d.w.span.everybody = true
		d.w.show("timeline")
		d.press(fyne.KeyLeft)
	})
	for _, z := range timeline.Zooms() {
		add("timeline, "+string(z), func(d *desk) {
			d.w.person, d.w.span.everybody, d.w.span.Zoom = r.Book.Persons[0].ID, false, z
			d.w.show("timeline")
		})
	}
	add("timeline, only the list", func(d *desk) {
		d.w.person, d.w.span.everybody, d.w.span.listOnly = r.Book.Persons[0].ID, false, true
		d.w.show("timeline")
	})
	task("lanes", func(w *Window) func() view {
		m, _ := w.house.State().Member(r.Book.Persons[0].ID)
		return w.lanesPage(m)
	})
	task("a day", func(w *Window) func() view {
		m, _ := w.house.State().Member(r.Book.Persons[0].ID)
		return w.oneDay(m, model.OnDay(morning.AddDate(0, 0, -1)).Time(), "")
	})
	for _, id := range []string{"supplies", "household", "help"} {
		add(id, func(d *desk) { d.w.show(id) })
	}
	task("take in a file", func(w *Window) func() view { return w.takeIn() })
	task("take in: what is in it", func(w *Window) func() view {
		in := &intake{w: w, path: "/in/lab.json"}
		got := sheetFile(newBook(r), "")
		in.got, in.latest = &got, got.Changes.Entries
		return in.view
	})
	task("take in: of days that have one", func(w *Window) func() view {
		in := &intake{w: w, path: "/in/lab.json"}
		b := newBook(r)
		got := sheetFile(b, r.Book.Persons[0].Name)
		in.got, in.again, in.latest = &got, againstBook(b, got), got.Changes.Entries
		return in.view
	})
	add("take back the last change", func(d *desk) {
		rosa, now := r.Book.Persons[0], d.book.Now()
		d.w.house.Save(household.Changes{Entries: []model.Entry{{ID: d.book.NewID(), Person: rosa.ID, Kind: model.Fluid, When: model.At(now),
			Values: []model.Value{{Code: "drink", Number: 250, Typed: "250", Unit: "mL"}}}}})
		d.w.turn(d.w.takeBackView)
	})
	task("take in: looking", func(w *Window) func() view { return (&intake{w: w, path: "/in/lab.json", busy: true}).view })
	task("take in: saving", func(w *Window) func() view { return (&intake{w: w, busy: true, saving: true}).view })
	task("write everything to a file", func(w *Window) func() view { return w.writeOut() })
	add("write everything as FHIR", func(d *desk) {
		d.w.turn(d.w.writeOut())
		d.tap("form-fhir")
	})
	for _, p := range helpPages() {
		task("help: "+p.id, func(w *Window) func() view { return w.helpOn(p) })
	}
	task("licences", func(w *Window) func() view { return w.licences })
	task("licence", func(w *Window) func() view { return w.licence(assets.Licences()[0]) })
	task("menu", func(w *Window) func() view { return w.menu })

	rosa, long := r.Book.Persons[0], personCalled(r, longName)
	old := packCalled(r, "Old tub")
	test := func(w *Window, p model.Person, kind string) *guided {
		g := &guided{w: w, person: p, draft: strip.Draft{Person: p.ID, Answers: map[model.Code]string{}, Values: map[model.Code]model.Value{}, Blocks: map[model.Code]int{}}}
		g.choosePack(withoutPack)
		if kind != "" {
			g.chooseKind(kind)
		}
		g.draft.Dipped = w.house.Now()
		return g
	}
	step := func(name string, n int, do func(*guided)) {
		task("guided: "+name, func(w *Window) func() view {
			g := test(w, rosa, "")
			g.draft.Step = n
			if do != nil {
				do(g)
			}
			return g.view
		})
	}
	task("guided: pack", func(w *Window) func() view { return w.startTest(rosa) })
	step("without a pack", stepPack, nil)
	step("stale", stepStale, func(g *guided) { g.choosePack(string(old.ID)) })
	step("prepare", stepPrepare, nil)
	step("ready", stepReady, nil)
	step("ready, wet hands", stepReady, func(g *guided) { g.wetHands = true })
	step("lead-in", stepLead, func(g *guided) { g.leadFrom = g.w.house.Tick().Mono })
	for _, at := range []int{0, 35, 42, 45, 57, 60, 115} {
		add(fmt.Sprintf("guided: timing at %d s", at), func(d *desk) {
			g := test(d.w, rosa, "")
			g.run, g.draft.Step = strip.NewRun(g.kind, d.book.Tick()), stepTime
			d.w.turn(g.view)
			d.wait(time.Duration(at) * time.Second)
		})
	}
	task("guided: broken", func(w *Window) func() view { return test(w, rosa, "").broken })
	step("how", stepHow, nil)
	step("how, only now", stepHow, func(g *guided) { g.setHow(model.ReadLater) })
	for _, k := range r.Kinds() {
		for i, row := range k.Chart.Rows {
			task("guided: pad "+k.ID+" "+string(row.Pad), func(w *Window) func() view {
				g := test(w, rosa, k.ID)
				g.draft.Step, g.pad = stepPads, i
				switch i % 3 {
				case 1:
					g.draft.Values[row.Pad], g.draft.Blocks[row.Pad] = row.Value(1), 1
				case 2:
					g.draft.Values[row.Pad] = model.Value{Code: row.Pad, Grade: model.Unclear}
				}
				return g.view
			})
		}
	}
	shown := func(g *guided, name string) {
		g.setHow(model.FromPhoto)
		s := *readShots()[name]
		g.shot = &s
		g.clock(Photograph{Taken: g.draft.Dipped.Add(63 * time.Second)})
		g.propose()
	}
	step("photo", stepPhoto, nil)
	step("photo, one has come", stepPhoto, func(g *guided) {
		g.shot = &shot{arrival: arrival{looked: true, since: morning, files: []FoundFile{{"/home/rosa/Pictures/Phone/IMG_20250806_090102345.jpg", morning.Add(time.Minute)}, {"/home/rosa/Pictures/old.jpg", morning}}}}
	})
	step("photo, reading", stepPhoto, func(g *guided) { g.shot = &shot{arrival: arrival{busy: true, tried: "/pictures/strip.jpg"}} })
	step("photo, refused", stepPhoto, func(g *guided) { g.shot = &shot{arrival: arrival{failed: photo.OtherStrip.Msg()}} })
	step("photo, marking", stepMarks, func(g *guided) {
		g.shot = &shot{arrival: arrival{failed: photo.NoChart.Msg()}, opened: readShots()["p001.jpg"].opened}
	})
	step("photo, read", stepConfirm, func(g *guided) { shown(g, "p001.jpg") })
	step("photo, confirmed", stepConfirm, func(g *guided) {
		shown(g, "p011.jpg")
		for i, p := range g.shot.reading.Pads {
			if row, _ := g.kind.Row(p.Code); i%2 == 0 {
				g.take(p)
			} else if i%3 == 0 {
				g.draft.Values[p.Code], g.draft.Blocks[p.Code] = row.Value(0), 0
			}
		}
	})
	step("photo, not all read", stepUnread, func(g *guided) {
		shown(g, "p011.jpg")
		g.take(g.shot.reading.Pads[1])
	})
	step("photo, a pad that was not ready", stepPads, func(g *guided) { shown(g, "p011.jpg") })
	step("a pad of its own time", stepPads, func(g *guided) {
		row := g.kind.Chart.Rows[3]
		g.setHow(model.ReadAtTone)
		g.pad, g.draft.Values[row.Pad], g.draft.Blocks[row.Pad] = 3, row.Value(1), 1
		g.draft.Values[model.OwnTime(row.Pad)] = model.Value{Code: model.OwnTime(row.Pad), Number: 3, Typed: "3", Unit: "min"}
	})
	step("review, one read late", stepReview, func(g *guided) {
		g.setHow(model.ReadAtTone)
		for _, row := range g.kind.Chart.Rows {
			g.draft.Values[row.Pad], g.draft.Blocks[row.Pad] = row.Value(1), 1
		}
		g.draft.Values[model.OwnTime(model.Protein)] = model.Value{Code: model.OwnTime(model.Protein), Number: 3, Typed: "3", Unit: "min"}
	})
	step("review, nothing read", stepReview, nil)
	step("review of a long name", stepReview, func(g *guided) {
		g.person = long
		for _, row := range g.kind.Chart.Rows {
			g.draft.Values[row.Pad] = row.Value(1)
		}
	})
	step("practice", stepPrepare, func(g *guided) { g.practice = true })
	step("practice review", stepReview, func(g *guided) { g.practice = true })
	task("guided: practised", func(w *Window) func() view { return test(w, rosa, "").practised })
	changed := map[string]bool{}
	for _, e := range r.Book.Entries {
		if e.When.Before(model.OnDay(morning.AddDate(0, 0, -3))) {
			continue
		}
		if e.Kind == model.Strip {
			task("result "+string(e.ID[28:]), func(w *Window) func() view { return func() view { return w.result(e.ID, rosa, nil) } })
		}
		if e.Kind == model.Strip || e.Kind == model.Symptom {
			task("entry "+string(e.ID[28:]), func(w *Window) func() view { return w.oneEntry(e) })
		}
		if what := string(e.Kind) + " " + string(e.Values[0].Code); correctable(e) && !changed[what] {
			changed[what] = true
			task("change "+what, func(w *Window) func() view { return w.change(e) })
		}
	}

	st := household.Derive(r, morning)
	seen := map[string]bool{}
	for _, m := range st.Members {
		for _, f := range m.Result.Open {
			if seen[f.Rule] {
				continue
			}
			seen[f.Rule] = true
			task("finding "+f.Rule, func(w *Window) func() view { return w.oneFinding(f) })
			if len(seen) == 1 {
				task("around "+f.Rule, func(w *Window) func() view { return w.around(f) })
			}
			task("answer "+f.Rule, func(w *Window) func() view { return w.answer(f, "called") })
		}
	}
	task("new pack", func(w *Window) func() view { return w.editPack(model.Pack{}) })
	add("pack with problems", func(d *desk) {
		p := old
		p.Label = ""
		f := &packForm{pack: p, days: "many", strips: "-2", price: "1,234", fields: nil}
		d.w.turn(func() view { return d.w.packView(f) })
		d.w.savePack(f)
	})
	task("strip kind", func(w *Window) func() view { return w.editKind(strip.Generic()[0]) })
	task("own strip kind", func(w *Window) func() view { return w.editKind(r.OwnKinds[0]) })
	learnPlaces(add)
	task("new person", func(w *Window) func() view { return w.editPerson(model.Person{}) })
	task("person", func(w *Window) func() view { return w.editPerson(rosa) })
	task("person of a long name", func(w *Window) func() view { return w.editPerson(long) })
	add("person with problems", func(d *desk) {
		f := &personForm{height: "1,234"}
		d.w.turn(func() view { return d.w.personView(f) })
		d.w.savePerson(f)
	})
	for i, it := range switches() {
		task("switch "+string(it.Code), func(w *Window) func() view { return w.turnSwitch(rosa, it, i%2 == 0) })
	}
	backupPlaces(task)
	privacyPlaces(add, task, long)
	labPlaces(add, rosa, long)
	mergePlaces(add, r)
	dailyPlaces(add, task, rosa, long)
	task("result over time", func(w *Window) func() view { return func() view { return w.resultPage(rosa, "urea") } })
	task("interval between tests", func(w *Window) func() view { return w.intervalPage(long, 3) })
	task("welcome", func(w *Window) func() view { return w.welcome() })
	task("welcome: who", func(w *Window) func() view { return w.welcomeWho(&personForm{saved: func(model.Person) {}}) })
	task("welcome: conditions", func(w *Window) func() view { return w.welcomeConditions(&personForm{person: long}) })
	task("welcome: numbers", func(w *Window) func() view { return w.welcomeNumbers(&personForm{}) })

	add("a question", func(d *desk) {
		d.w.show("today")
		d.w.askDeletePerson(long)
	})
	add("saved", func(d *desk) {
		d.w.show("today")
		d.w.say(model.T("done.saved"), true)
		d.w.bar()
	})
	add("a result, saved just now", func(d *desk) {
		i := slices.IndexFunc(r.Book.Entries, func(e model.Entry) bool { return e.Kind == model.Strip })
		d.w.say(model.T("done.saved"), true)
		d.w.turn(func() view { return d.w.result(r.Book.Entries[i].ID, rosa, nil) })
	})
	add("a question before leaving", func(d *desk) {
		d.w.turn(d.w.editPack(old))
		d.w.askLeave(func() {})
	})
	add("numbers that cannot be rung", func(d *desk) {
		d.w.typed[household.SetEmergency] = "call Maria"
		d.w.show("household")
		clear(d.w.typed) // for the pages after it
	})
	add("not saved", func(d *desk) {
		d.w.turn(d.w.editPack(old))
		d.w.fail(told{model.T("trouble.disk-full")})
	})
	add("not saved, for a reason without words", func(d *desk) {
		d.w.turn(d.w.editPack(old))
		d.w.fail(fmt.Errorf("write our-household.quietwater: no space left on device"))
	})
	add("today with a draft", func(d *desk) {
		d.w.keep(household.KeepDraft(strip.Draft{Person: rosa.ID, Step: stepPads, Dipped: morning}))
		d.w.show("today")
	})
	add("read only", func(d *desk) {
		d.book.closed = model.T("trouble.read-only")
		d.w.show("today")
	})
	add("a safe copy", func(d *desk) {
		d.book.closed = model.T("trouble.snapshot-shown", "when", model.At(morning))
		d.w.forced.Return = func() {}
		d.w.show("today")
	})
	add("demo", func(d *desk) {
		d.book.path = ""
		d.w.show("household")
	})
	trouble := func(copies int) func(*desk) {
		return func(d *desk) {
			t := Trouble{Why: model.T("trouble.damaged"), Safe: model.T("trouble.damaged-alone"), Path: "/home/rosa/.local/share/quietwater/household.book",
				Again: func() {}, Quit: func() {}}
			for i := range copies {
				t.Copies = append(t.Copies, Copy{When: model.At(morning.AddDate(0, 0, -i)), Entries: 1200 - i, Look: func() {}, Use: func() {}})
			}
			if copies > 0 {
				t.Restore = func(string, string) {}
			}
			ShowTrouble(d.win, t, func(fyne.Theme) {}, Options{Language: d.w.words.First(), Large: d.w.look.Scale == 2})
		}
	}
	add("opening a long book", func(d *desk) {
		page, ok := Opening(d.win, d.book.state, func(fyne.Theme) {}, Options{})
		if !ok {
			panic("a full book has no newest month")
		}
		d.win.SetContent(page)
	})
	add("trouble", trouble(0))
	add("trouble with copies", trouble(3))
	return out
}

func personCalled(r household.Records, name string) model.Person {
	return r.Book.Persons[slices.IndexFunc(r.Book.Persons, func(p model.Person) bool { return p.Name == name })]
}

func packCalled(r household.Records, label string) model.Pack {
	return r.Book.Packs[slices.IndexFunc(r.Book.Packs, func(p model.Pack) bool { return p.Label == label })]
}

// dressing is what a household may have chosen.
type dressing struct {
	first, second string
	scale         int
	ink           string
	size          fyne.Size
}

func (d dressing) String() string {
	return fmt.Sprintf("%s+%s/%d/%s/%.0f", d.first, d.second, d.scale, d.ink, d.size.Width)
}

// dressings: all languages at the largest type; every type and every look in the
// two languages at once, which need most room; and a low window.
func dressings() []dressing {
	wide, low := fyne.NewSize(1280, 800), fyne.NewSize(1024, 700)
	var out []dressing
	pairs := [][2]string{{"en", "es"}, {"es", "en"}, {"de", "es"}}
	for _, l := range i18n.Languages() {
		pairs = append(pairs, [2]string{l.Tag, ""})
	}
	for _, l := range pairs {
		out = append(out, dressing{l[0], l[1], 200, "light", wide})
	}
	// The heavy lines of high contrast need most room; every look meets the
	// smallest and the largest type.
	for scale, inks := range map[int][]string{100: {"light", "contrast"}, 125: {"dark"}, 150: {"contrast"}, 200: {"dark", "contrast"}} {
		for _, ink := range inks {
			out = append(out, dressing{"es", "en", scale, ink, wide})
		}
	}
	return append(out, dressing{"en", "", 100, "light", low}, dressing{"es", "en", 100, "light", low})
}

// TestScreens opens every page there is in every dressing and lets all checks
// of kittest look at it; besides that, no text may be missing, and help must
// stand in one place.
func TestScreens(t *testing.T) {
	r := fullBook()
	all := places(r)
	t.Log(len(all), "pages")
	for _, dress := range dressings() {
		t.Run(dress.String(), func(t *testing.T) {
			set := household.Changes{Settings: map[string]string{household.SetLanguage: dress.first, household.SetSecond: dress.second,
				household.SetScale: fmt.Sprint(dress.scale), household.SetInk: dress.ink}}
			d := open(t, newBook(r.Apply(set)))
			d.size = dress.size
			start := *d.book
			var help kit.Box
			for _, p := range all {
				d.fresh(start)
				p.open(d)
				d.settle()
				for _, trouble := range checkPage(d.win.Canvas()) {
					t.Errorf("%s: %v", p.name, trouble)
				}
				if b, ok := boxOf(d.win.Canvas(), "help"); ok {
					if help == (kit.Box{}) {
						help = b
					}
					if b.X != help.X || b.W != help.W || b.H != help.H {
						t.Errorf("%s: help stands at %v, on the first page at %v", p.name, b, help)
					}
				}
			}
		})
	}
}

// fresh brings the window back to Today with the book as it was.
func (d *desk) fresh(b book) {
	for d.win.Canvas().Overlays().Top() != nil {
		d.win.Canvas().Overlays().Remove(d.win.Canvas().Overlays().Top())
	}
	b.past = slices.Clone(b.past)
	*d.book = b
	d.w.curtain = nil // it went with the overlays
	d.w.notice, d.w.person, d.w.span = nil, "", newestQuarter
	d.w.task, d.w.trail, d.w.at, d.w.page = nil, nil, "today", nil
	if d.w.leave != nil {
		d.w.leave()
		d.w.leave = nil
	}
	d.tick = nil
}

// checkPage is kittest.Check and, besides, texts that are missing.
func checkPage(c fyne.Canvas) []kittest.Trouble {
	out := append(kittest.Check(c), dangerous(c)...)
	for _, n := range kittest.Nodes(c) {
		say := ""
		if x, ok := n.Object.(*canvas.Text); ok {
			say = x.Text
		} else if a, ok := n.Object.(fyne.Accessible); ok {
			say = a.AccessibilityLabel()
		}
		if strings.ContainsAny(say, "⟦⟧") {
			out = append(out, kittest.Trouble{Rule: "missing text", What: say, Why: "no message says it"})
		}
	}
	return out
}

// dangerous finds what destroys something within 24 units of anything else to
// tap (needs R17).
func dangerous(c fyne.Canvas) []kittest.Trouble {
	var all []*kit.Node
	for _, n := range kittest.Nodes(c) {
		if _, ok := kit.Target(n.Object); ok {
			all = append(all, n)
		}
	}
	var out []kittest.Trouble
	for _, n := range all {
		t, _ := kit.Target(n.Object)
		if !strings.HasPrefix(t.ID, "delete") && t.ID != "drop-draft" {
			continue
		}
		for _, o := range all {
			a, b := n.Box, o.Box
			if gap := max(a.X-b.X-b.W, b.X-a.X-a.W, a.Y-b.Y-b.H, b.Y-a.Y-a.H); o != n && gap < 24 && !scrolledApart(n, o) {
				other, _ := kit.Target(o.Object)
				out = append(out, kittest.Trouble{Rule: "dangerous", What: t.ID, Why: fmt.Sprintf("%.0f units from %q", gap, other.ID)})
			}
		}
	}
	return out
}

// scrolledApart reports whether only one of two things scrolls.
func scrolledApart(a, b *kit.Node) bool { return a.Clip != b.Clip }

func boxOf(c fyne.Canvas, id string) (kit.Box, bool) {
	for _, n := range kittest.Nodes(c) {
		if t, ok := kit.Target(n.Object); ok && t.ID == id {
			return n.Box, true
		}
	}
	return kit.Box{}, false
}

// TestScreensCanFail shows the checks one bad page each.
func TestScreensCanFail(t *testing.T) {
	test.NewApp()
	d := open(t, newBook(household.Demo(morning)))
	for _, c := range []struct {
		rule string
		page func(k *kit.Kit) view
	}{
		{"missing text", func(k *kit.Kit) view {
			return view{title: model.T("screen.today"), body: []fyne.CanvasObject{k.Text(model.T("no.such-key"))}}
		}},
		{"too wide", func(k *kit.Kit) view {
			r := canvas.NewRectangle(nil)
			r.SetMinSize(fyne.NewSize(2000, 10))
			return view{title: model.T("screen.today"), body: []fyne.CanvasObject{r}}
		}},
		{"dangerous", func(k *kit.Kit) view {
			return view{title: model.T("screen.today"), body: []fyne.CanvasObject{k.Row(k.Button("delete", model.T("do.delete"), func() {}),
				k.Button("a", model.T("do.save"), func() {}))}}
		}},
		{"main buttons", func(k *kit.Kit) view {
			return view{title: model.T("screen.today"), body: []fyne.CanvasObject{k.MainButton("a", model.T("do.save"), func() {})},
				main: &action{"b", model.T("do.next"), func() {}}}
		}},
	} {
		d.w.turn(func() view { return c.page(d.w.kit) })
		d.settle()
		if !slices.ContainsFunc(checkPage(d.win.Canvas()), func(t kittest.Trouble) bool { return t.Rule == c.rule }) {
			t.Errorf("a page with this fault passes: %s", c.rule)
		}
	}
}
