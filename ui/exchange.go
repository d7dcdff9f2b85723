package ui

import (
	"path/filepath"
	"slices"
	"strconv"
	"strings"

	"fyne.io/fyne/v2"

	"quietwater/assets"
	"quietwater/model"
	"quietwater/model/household"
	"quietwater/model/sheet"
	"quietwater/model/timeline"
	"quietwater/ui/kit"
)

// filesPart leads from the Household page to taking a file in and writing one.
func (w *Window) filesPart() []fyne.CanvasObject {
	k := w.kit
	var ways []fyne.CanvasObject
	if w.house.ReadOnly().IsZero() {
		ways = append(ways, k.Button("take-in", model.T("exchange.take"), func() { w.open(w.takeIn()) }))
	}
	ways = append(ways, k.Button("write-out", model.T("exchange.write"), func() { w.open(w.writeOut()) }))
	return []fyne.CanvasObject{k.Both(model.T("exchange.section-help")), k.Row(ways...)}
}

// intake is a file on its way into the book: named, looked at, then taken in
// or left. Nothing is saved before the last button.
type intake struct {
	w      *Window
	here   bool // a page of it is on the screen
	typed  string
	path   string // the file that was looked at
	person string // whose its results are said to be; "" as the file says
	asIs   bool   // somebody chose to go by the file's name
	busy   bool
	saving bool
	failed model.Msg
	got    *Incoming
	found  found
	again  []sheet.SameDay // results of days that have one already
	latest []model.Entry   // what is new in it, the newest first
	doubt  string          // what to do with those: "" until it was said
}

// What may be done with results of days that have one already.
const (
	leaveOut = "leave-out"
	takeToo  = "take-too"
)

// mostLines is how many refusals, and how many unknown codes, are shown; the
// rest is counted.
const mostLines = 40

func (w *Window) takeIn() func() view {
	in := &intake{w: w, found: found{sort: Results}}
	return in.view
}

func (in *intake) view() view {
	k := in.w.kit
	v := view{title: model.T("exchange.take"), dropped: in.look, back: in.w.backTo(in.w.goBack),
		enter: in.enter, leave: func() { in.here = false }}
	switch {
	case in.saving: // whoever goes back finds it saved all the same
		v.body, v.dropped = []fyne.CanvasObject{k.Step(model.T("exchange.saving"))}, nil
	case in.busy:
		v.body, v.dropped = []fyne.CanvasObject{k.Step(model.T("exchange.looking")), k.Text(kit.Said(filepath.Base(in.path)))}, nil
	case in.got != nil:
		v.body = in.preview()
		v.aside = &action{"other-file", model.T("exchange.other-file"), in.another}
		if n := in.taken(); n > 0 && in.known() && (len(in.again) == 0 || in.doubt != "") {
			v.main = in.w.unlessReadOnly(&action{"take-all", model.T("exchange.save", "n", n), in.save})
		}
	default:
		v.body = in.choose()
	}
	return v
}

func (in *intake) choose() []fyne.CanvasObject {
	k := in.w.kit
	var out []fyne.CanvasObject
	if !in.failed.IsZero() {
		out = append(out, k.Notice(kit.NoticeCare, in.failed))
	}
	f := k.AtOnce().Field(kit.Ask{ID: "path", Label: model.T("exchange.path"), Help: model.T("exchange.path-help")}, in.typed, func(t string) { in.typed = t })
	named := func() {
		if p := pathOf(in.typed); p != "" {
			in.look(p)
		}
	}
	f.OnEnter(named)
	out = append(append(out, k.Both(model.T("exchange.take-how"))), in.found.list(in.w, in.look)...)
	return append(out, f, k.Row(k.Button("look", model.T("exchange.look"), named)))
}

// enter looks what lies about while a file is chosen.
func (in *intake) enter() {
	if in.here = true; in.got == nil && !in.busy {
		in.found.look(in.w, func() {
			if in.here && in.got == nil && !in.busy {
				in.w.redraw()
			}
		})
	}
}

// taken is how many values would be saved.
func (in *intake) taken() int {
	if in.doubt == leaveOut {
		return in.got.Accepted - len(in.again)
	}
	return in.got.Accepted
}

// another goes back to choosing.
func (in *intake) another() {
	in.got, in.path, in.failed = nil, "", model.Msg{}
	in.w.turn(in.view)
}

// look reads a file beside the window's own work.
func (in *intake) look(path string) {
	if in.busy {
		return
	}
	if in.path != path {
		in.person, in.asIs = "", false
	}
	in.path, in.got, in.doubt = path, nil, ""
	var got Incoming
	person, st := in.person, in.w.house.State()
	var again []sheet.SameDay
	var latest []model.Entry
	in.work(func() (err error) {
		got, err = in.w.house.TakeIn(path, person)
		again = sheet.SameDays(st.Records.Book.Entries, got.Changes.Entries, st.Now.Location())
		latest = slices.Clone(got.Changes.Entries)
		model.SortEntries(latest)
		slices.Reverse(latest)
		return err
	}, func() { in.got, in.again, in.latest = &got, again, latest })
}

// work does something that may take seconds, and shows what came of it; where
// another page lies over this one, it is there when they come back.
func (in *intake) work(do func() error, then func()) {
	if in.busy {
		return
	}
	in.busy, in.failed = true, model.Msg{}
	in.w.redraw()
	var err error
	in.w.beside(func() { err = do() }, func() {
		in.busy, in.saving = false, false
		if err != nil {
			in.failed = tell(err)
		} else {
			then()
		}
		if in.here {
			in.w.turn(in.view)
		}
	})
}

// save takes all good values in as one step, which Undo takes back. Many years
// take seconds, so it is done beside the window's own work.
func (in *intake) save() {
	w, n, c := in.w, in.taken(), in.got.Changes
	if in.doubt == leaveOut {
		out := map[model.ID]bool{}
		for _, s := range in.again {
			out[s.Coming.ID] = true
		}
		c.Entries = slices.DeleteFunc(slices.Clone(c.Entries), func(e model.Entry) bool { return out[e.ID] })
	}
	in.saving = true
	in.work(func() error { return w.house.Save(c) }, func() {
		in.got, in.path = nil, "" // it is in the book now
		w.say(model.T("exchange.saved", "n", n), true)
		if in.here {
			w.settled()
			w.close()
		} else {
			w.bar()
		}
	})
}

// preview shows what of the file can be taken in and what cannot, and why.
func (in *intake) preview() []fyne.CanvasObject {
	k, got := in.w.kit, in.got
	var out []fyne.CanvasObject
	if !in.failed.IsZero() {
		out = append(out, k.Notice(kit.NoticeFailed, in.failed))
	}
	out = append(out, k.Strong(kit.Said(filepath.Base(in.path))), k.Both(model.T("exchange.nothing-yet")))
	if c := in.whose(); c != nil {
		out = append(out, c)
	}
	out = append(append(out, in.strangers()...), in.sameDays()...)
	if got.Accepted == 0 {
		out = append(out, k.Notice(kit.NoticeInfo, model.T("exchange.none")))
	} else {
		out = append(out, k.BothSection(model.T("exchange.can")))
		out = append(append(out, in.perPerson()...), in.newest()...)
	}
	there, refused := 0, []model.Msg{}
	for _, r := range got.Refused {
		if r.Why.Key == "problem.already-there" {
			there++
			continue
		}
		why := r.Why
		if got.Numbered {
			why = model.T("exchange.row", "row", r.Row, "why", r.Why)
		}
		refused = append(refused, why)
	}
	if there > 0 {
		out = append(out, k.Both(model.T("exchange.there", "n", there)))
	}
	out = append(out, in.lines("exchange.refused", "", refused)...)
	var unknown []model.Msg
	for _, u := range got.Unknown {
		code := u.Code
		if u.Unit != "" {
			code = strings.TrimSpace(code + " " + u.Unit)
		}
		unknown = append(unknown, model.T("exchange.unknown-line", "name", u.Name, "code", code, "why", u.Why))
	}
	out = append(out, in.lines("exchange.unknown", "exchange.unknown-help", unknown)...)
	if len(got.Passed) > 0 {
		out = append(out, k.Small(model.T("exchange.passed", "what", strings.Join(got.Passed, ", "))))
	}
	return out
}

// lines lists messages under a heading, the rest of many counted.
func (in *intake) lines(head, help string, all []model.Msg) []fyne.CanvasObject {
	k := in.w.kit
	if len(all) == 0 {
		return nil
	}
	out := []fyne.CanvasObject{k.BothSection(model.T(head))}
	if help != "" {
		out = append(out, k.Both(model.T(help)))
	}
	for _, m := range all[:min(len(all), mostLines)] {
		out = append(out, k.Text(m))
	}
	if n := len(all) - mostLines; n > 0 {
		out = append(out, k.Text(model.T("exchange.more", "n", n)))
	}
	return out
}

// perPerson counts what is new of each person, and the packs.
func (in *intake) perPerson() (out []fyne.CanvasObject) {
	k, c := in.w.kit, in.got.Changes
	people := slices.Clone(in.w.house.State().Records.Book.Persons)
	for _, p := range append(people, c.Persons...) {
		n := 0
		for _, e := range c.Entries {
			if e.Person == p.ID {
				if n += len(e.Values); e.Pack != "" {
					n++ // the pack was a value of its own in the file
				}
			}
		}
		added := slices.ContainsFunc(c.Persons, func(q model.Person) bool { return q.ID == p.ID })
		if n == 0 && !added {
			continue
		}
		lines := []fyne.CanvasObject{k.Beside(k.Leaf(p.Mark, p.Name), k.Strong(kit.Said(p.Name))), k.Text(model.T("exchange.values", "n", n))}
		if added {
			lines = append(lines, k.Both(model.T("exchange.new-person")))
		}
		out = append(out, k.Card(lines...))
	}
	if n := len(c.Packs); n > 0 {
		out = append(out, k.Text(model.T("exchange.packs", "n", n)))
	}
	return out
}

// strangers warns of names the book does not know, where it knows others: one
// misspelt would make two persons of one.
func (in *intake) strangers() []fyne.CanvasObject {
	if len(in.w.house.State().Members) == 0 || len(in.got.Changes.Persons) == 0 || !in.known() {
		return nil
	}
	var names []string
	for _, p := range in.got.Changes.Persons {
		names = append(names, p.Name)
	}
	return []fyne.CanvasObject{in.w.kit.Notice(kit.NoticeCare, model.T("exchange.strangers", "names", strings.Join(names, ", ")))}
}

// sameDays shows the results that may be in the book already, each beside what
// is there, and asks what to do with them.
func (in *intake) sameDays() []fyne.CanvasObject {
	if len(in.again) == 0 {
		return nil
	}
	w, k := in.w, in.w.kit
	card := []fyne.CanvasObject{k.BothStrong(model.T("exchange.same-day", "n", len(in.again)))}
	for _, s := range in.again[:min(len(in.again), mostLines)] {
		var there []string
		for _, v := range s.There {
			there = append(there, w.valueLine(model.Lab, v))
		}
		card = append(card, k.Text(model.T("exchange.same-day-line", "when", s.Coming.When,
			"coming", w.valueLine(model.Lab, s.Value), "there", strings.Join(there, "; "))))
	}
	if n := len(in.again) - mostLines; n > 0 {
		card = append(card, k.Text(model.T("exchange.more", "n", n)))
	}
	return []fyne.CanvasObject{k.Card(append(card, k.AtOnce().Choice("same-day", model.T("exchange.same-day-ask"), []kit.Option{
		{ID: leaveOut, Label: model.T("exchange.same-day-leave"), Note: model.T("exchange.same-day-leave-note")},
		{ID: takeToo, Label: model.T("exchange.same-day-take"), Note: model.T("exchange.same-day-take-note")},
	}, in.doubt, func(id string) {
		in.doubt = id
		w.redraw()
	}))...)}
}

// newest shows what the file holds, so that a wrong file is seen before it is
// saved; of many values the newest.
func (in *intake) newest() []fyne.CanvasObject {
	names := map[model.ID]string{}
	for _, p := range slices.Concat(in.w.house.State().Records.Book.Persons, in.got.Changes.Persons) {
		names[p.ID] = in.w.called(p)
	}
	return in.w.entriesNamed("exchange.contents", in.latest, func(id model.ID) string { return names[id] }, mostLines)
}

// entriesNamed lists entries that are not in the book, or not any more, under a
// heading, the rest of many counted.
func (w *Window) entriesNamed(head string, es []model.Entry, name func(model.ID) string, most int) []fyne.CanvasObject {
	if len(es) == 0 {
		return nil
	}
	k := w.kit
	out := []fyne.CanvasObject{k.BothSection(model.T(head))}
	for _, e := range es[:min(most, len(es))] {
		out = append(out, k.Column(k.Text(kit.Said(name(e.Person)+": "+w.entryLine(timeline.Item{When: e.When, Entry: &e}))), k.Small(kit.Said(w.words.Date(e.When)))))
	}
	if n := len(es) - most; n > 0 {
		out = append(out, k.Text(model.T("exchange.more", "n", n)))
	}
	return out
}

// known reports that nobody need be asked whose results these are: the file
// names several people, or one of this household, or somebody has said it. A
// laboratory writes another name than the household does, and one person must
// not become two.
func (in *intake) known() bool {
	names, members := in.got.Patients, in.w.house.State().Members
	return len(names) != 1 || in.person != "" || in.asIs || len(members) == 0 ||
		slices.ContainsFunc(members, func(m household.Member) bool { return m.Person.Name == names[0] })
}

// whose asks whose results a file of one patient holds.
func (in *intake) whose() fyne.CanvasObject {
	names := in.got.Patients
	if len(names) != 1 {
		return nil
	}
	const asIs = "file"
	var options []kit.Option
	chosen := ""
	for i, m := range in.w.house.State().Members {
		if m.Person.Name == names[0] {
			continue
		}
		id := strconv.Itoa(i)
		options = append(options, kit.Option{ID: id, Label: kit.Said(in.w.called(m.Person))})
		if m.Person.Name == in.person {
			chosen = id
		}
	}
	if len(options) == 0 {
		return nil
	}
	if names[0] != "" {
		options = append(options, kit.Option{ID: asIs, Label: model.T("exchange.whose-file", "name", names[0])})
		if in.person == "" && in.known() {
			chosen = asIs
		}
	}
	return in.w.kit.AtOnce().Choice("whose", model.T("exchange.whose"), options, chosen, func(id string) {
		in.person, in.asIs = "", id == asIs
		if i, err := strconv.Atoi(id); err == nil {
			in.person = in.w.house.State().Members[i].Person.Name
		}
		in.look(in.path)
	})
}

// outgoing writes the whole book to a file or a folder. Whoever goes back while
// it is written finds it written all the same.
type outgoing struct {
	w           *Window
	form, typed string
	failed      model.Msg
	busy, here  bool
	places      []string // drives that are there
	looked      bool
}

func (w *Window) writeOut() func() view {
	return (&outgoing{w: w, form: FormTable}).view
}

func (o *outgoing) view() view {
	v := view{title: model.T("exchange.write"), back: o.w.backTo(o.w.goBack),
		enter: o.enter, leave: func() { o.here = false }}
	k := o.w.kit
	if o.busy {
		v.body = []fyne.CanvasObject{k.Step(model.T("exchange.writing"))}
		return v
	}
	if !o.failed.IsZero() {
		v.body = append(v.body, k.Notice(kit.NoticeFailed, o.failed))
	}
	how := "exchange.write-how"
	if o.form == FormFolder {
		how = "folder.why"
	}
	v.body = append(v.body, k.Both(model.T(how)), k.AtOnce().Choice("form", model.T("exchange.form"), []kit.Option{
		{ID: FormTable, Label: model.T("exchange.form-table"), Note: model.T("exchange.form-table-note")},
		{ID: FormFHIR, Label: model.T("exchange.form-fhir"), Note: model.T("exchange.form-fhir-note")},
		{ID: FormFolder, Label: model.T("exchange.form-folder"), Note: model.T("exchange.form-folder-note")},
	}, o.form, func(id string) {
		o.form = id
		o.w.redraw()
	}),
		o.drives(),
		k.AtOnce().Field(kit.Ask{ID: "where", Label: model.T("exchange.where"), Help: model.T("exchange.where-help")}, o.typed, func(t string) { o.typed = t }))
	if o.form == FormFHIR {
		v.body = append(v.body, o.w.codeNotices()...)
	}
	v.main = &action{"write", model.T("exchange.do-write"), o.write}
	return v
}

// enter looks for drives, beside the window's own work.
func (o *outgoing) enter() {
	o.here = true
	lookOnce(o.w, &o.looked, o.w.house.BackupPlaces, func(places []string) {
		if o.places = places; o.here && !o.busy && len(places) > 0 {
			o.w.redraw()
		}
	})
}

// drives offers the sticks that are there as the place.
func (o *outgoing) drives() fyne.CanvasObject {
	var items []kit.ListItem
	for i, p := range o.places {
		items = append(items, kit.ListItem{ID: "place-" + strconv.Itoa(i), Title: kit.Said(p), Note: model.T("backup.found-place"), Open: func() {
			o.typed = p
			o.w.focusNext = "write"
			o.w.redraw()
		}})
	}
	return o.w.kit.List(items...)
}

func (o *outgoing) write() {
	w, form, words := o.w, o.form, o.w.words // taken before they can change
	o.busy, o.failed = true, model.Msg{}
	w.redraw()
	var path string
	var err error
	w.beside(func() { path, err = w.house.WriteBook(words, form, pathOf(o.typed)) }, func() {
		o.busy = false
		switch {
		case err != nil:
			if o.failed = tell(err); o.here {
				w.turn(o.view)
			} else {
				w.fail(err)
			}
			return
		case form == FormFolder:
			w.say(model.T("exchange.folder-written", "path", path), false)
		default:
			w.say(model.T("exchange.written", "path", path), false)
		}
		if o.here {
			w.settled()
			w.close()
		} else {
			w.bar()
		}
	})
}

// codeNotices are what those who publish the codes of a FHIR file ask to be
// said, in their own words.
func (w *Window) codeNotices() []fyne.CanvasObject {
	out := []fyne.CanvasObject{w.kit.Section(model.T("exchange.notices"))}
	for _, p := range strings.Split(strings.TrimSpace(assets.CodeNotices), "\n\n") {
		out = append(out, w.kit.Small(kit.Said(strings.ReplaceAll(p, "\n", " "))))
	}
	return out
}
