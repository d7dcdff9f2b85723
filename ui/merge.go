package ui

import (
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"time"

	"fyne.io/fyne/v2"

	"quietwater/model"
	"quietwater/model/household"
	"quietwater/model/merge"
	"quietwater/model/strip"
	"quietwater/ui/kit"
)

// bringing takes another copy of the book into this one: which file, what it
// would bring, and only then the one button that saves.
type bringing struct {
	w      *Window
	path   string
	secret string // of a backup
	busy   bool
	saving bool // what is being saved is waited for
	failed model.Msg
	coming *merge.Coming // nil before a file was looked at
	same   map[int]bool  // of those who may be one, who is
	found  found
}

// mostNewest is how many of the entries that would come are shown.
const mostNewest = 5

// bringIn begins with the file.
func (w *Window) bringIn() func() view {
	b := &bringing{w: w, found: found{sort: Books}}
	return b.view
}

func (b *bringing) view() view {
	var v view
	switch {
	case b.busy:
		v = view{body: []fyne.CanvasObject{b.w.kit.Step(model.T("merge.busy"))}}
		if !b.saving {
			v.back = b.w.backTo(b.giveUp)
		}
	case b.coming != nil:
		v = b.preview()
	default:
		v = b.ask()
	}
	v.title = model.T("merge.title")
	return v
}

// ask wants the name of the other file.
func (b *bringing) ask() view {
	w, k := b.w, b.w.kit
	v := view{back: w.backTo(w.goBack), dropped: b.look}
	here := false
	v.leave = func() { here = false }
	v.enter = func() {
		here = true
		b.found.look(w, func() {
			if here {
				w.redraw()
			}
		})
	}
	if !b.failed.IsZero() {
		v.body = append(v.body, k.Notice(kit.NoticeCare, b.failed))
	}
	path := k.AtOnce().Field(kit.Ask{ID: "path", Label: model.T("merge.path"), Help: model.T("merge.path-help")}, b.path, func(s string) { b.path = s })
	named := func() { b.look(b.path) }
	path.OnEnter(named)
	secret := k.AtOnce().SecretField(kit.Ask{ID: "secret", Label: model.T("restore.passphrase"), Help: model.T("restore.passphrase-help")}, func(s string) { b.secret = s })
	secret.OnEnter(named)
	v.body = append(v.body, k.Both(model.T("merge.how")), k.Both(model.T("merge.safe")))
	v.body = append(append(v.body, b.found.list(w, b.choose)...), path, secret)
	v.main = &action{"look", model.T("merge.look"), named}
	v.focus = path.Focusable()
	return v
}

// choose takes a file of the list: a backup may need its passphrase first.
func (b *bringing) choose(path string) {
	b.path = path
	if strings.HasSuffix(path, ".age") && b.secret == "" {
		b.w.focusNext = "secret"
		b.w.redraw()
		return
	}
	b.look(path)
}

// look reads the other book beside the window's own work.
func (b *bringing) look(path string) {
	path = pathOf(path)
	if path == "" || b.busy {
		return
	}
	b.path, b.failed = path, model.Msg{}
	var coming merge.Coming
	b.work(func() (err error) {
		coming, err = b.w.house.Compare(path, b.secret)
		return err
	}, func() {
		b.coming, b.same = &coming, map[int]bool{}
		b.w.turn(b.view)
	})
}

// giveUp leaves a file that takes long to itself, and asks anew.
func (b *bringing) giveUp() {
	again := &bringing{w: b.w, path: b.path}
	b.busy = false
	b.w.turn(again.view)
}

// work does something long, which may be given up; what it finds wrong is said
// where the file is asked for.
func (b *bringing) work(do func() error, then func()) {
	b.busy = true
	b.w.turn(b.view)
	var err error
	b.w.beside(func() { err = do() }, func() {
		if !b.busy {
			return
		}
		b.busy, b.saving = false, false
		if err != nil {
			b.failed, b.coming = tell(err), nil
			b.w.turn(b.view)
			return
		}
		then()
	})
}

// preview says what would come, for whom, and what would stand in two forms.
func (b *bringing) preview() view {
	w, k, c := b.w, b.w.kit, b.coming
	v := view{back: w.backTo(func() {
		b.coming = nil
		w.turn(b.view)
	})}
	v.body = []fyne.CanvasObject{k.Small(model.T("merge.from", "file", filepath.Base(b.path)))}
	if c.Nothing() && len(c.Alike) == 0 {
		v.body = append(v.body, k.Step(model.T("merge.nothing")))
		v.main = &action{"done", model.T("do.back"), w.goBack}
		return v
	}
	v.body = append(v.body, k.BothStrong(model.T("merge.preview")), k.Card(b.counts()...))
	v.body = append(append(v.body, b.alike()...), b.people()...)
	if conflicts := b.conflicts(); len(conflicts) > 0 {
		v.body = append(append(v.body, k.BothSection(model.T("merge.twofold"))), conflicts...)
	}
	v.main = w.unlessReadOnly(&action{"take", model.T("merge.take"), b.take})
	return v
}

func (b *bringing) counts() (out []fyne.CanvasObject) {
	c := b.coming
	for _, line := range []struct {
		key string
		n   int
	}{
		{"merge.added", c.Added}, {"merge.changed", c.Changed}, {"merge.deleted", c.Deleted}, {"merge.kept", c.Kept},
		{"merge.conflicts", c.Conflicts()}, {"merge.settings", c.Settings}, {"merge.pictures", c.Pictures}, {"merge.unsound", c.Unsound},
	} {
		if line.n > 0 {
			out = append(out, b.w.kit.Both(model.T(line.key, "n", line.n)))
		}
	}
	if len(out) == 0 {
		out = append(out, b.w.kit.Both(model.T("merge.nothing")))
	}
	return out
}

// alike asks whether two persons are one. Nothing is ticked beforehand.
func (b *bringing) alike() (out []fyne.CanvasObject) {
	k := b.w.kit
	for i, a := range b.coming.Alike {
		out = append(out, k.Card(k.BothStrong(model.T("merge.alike")), k.Both(model.T("merge.alike-why", "name", a.First.Name)),
			k.Both(born(a)),
			k.AtOnce().Check("same-"+strconv.Itoa(i), model.T("merge.one-person", "name", a.First.Name), b.same[i], func(on bool) { b.same[i] = on })))
	}
	return out
}

// born is the birth date of both, which is one where both have it.
func born(a merge.Alike) model.Msg {
	if a.FirstBirth.IsZero() || a.SecondBirth.IsZero() {
		return model.T("merge.no-birth")
	}
	return model.T("merge.born", "when", a.FirstBirth)
}

// conflicts are the records that would stand in two forms from now on.
func (b *bringing) conflicts() (out []fyne.CanvasObject) {
	for _, t := range b.coming.Twofold {
		if t.New {
			out = append(out, b.w.twofoldCard(t, b.name(t), nil))
		}
	}
	return out
}

// name finds a person also among those who are not in this book yet.
func (b *bringing) name(t merge.Twofold) string {
	for _, p := range b.coming.People {
		if e := t.Forms[0].Entry; e != nil && p.Person.ID == e.Person {
			return p.Person.Name
		}
	}
	return b.w.nameOfForm(t)
}

// people tells whose records come, and the newest of them.
func (b *bringing) people() []fyne.CanvasObject {
	k, names := b.w.kit, map[model.ID]string{}
	out := []fyne.CanvasObject{}
	for _, p := range b.coming.People {
		names[p.Person.ID] = b.w.called(p.Person)
		line := model.T("merge.person", "added", p.Added, "changed", p.Changed, "deleted", p.Deleted)
		if p.New {
			line = model.T("merge.person-new", "added", p.Added)
		}
		out = append(out, k.Card(k.Strong(kit.Said(p.Person.Name)), k.Both(line)))
	}
	if len(out) > 0 {
		out = append([]fyne.CanvasObject{k.BothSection(model.T("merge.people"))}, out...)
	}
	name := func(id model.ID) string { return names[id] }
	// What goes is named whole: it may be what somebody still wants.
	out = append(out, b.w.entriesNamed("merge.going", b.coming.Going, name, mostLines)...)
	return append(out, b.w.entriesNamed("merge.newest", b.coming.Entries, name, mostNewest)...)
}

// take saves it all. What stands in two forms is asked about right after.
func (b *bringing) take() {
	w := b.w
	var same [][2]model.ID
	for i, a := range b.coming.Alike {
		if b.same[i] {
			same = append(same, [2]model.ID{a.First.ID, a.Second.ID})
		}
	}
	var done merge.Coming
	b.saving = true
	b.work(func() (err error) {
		done, err = w.house.Merge(b.path, same)
		return err
	}, func() {
		w.say(model.T("merge.done"), true)
		if done.Conflicts() > 0 {
			w.turn(w.twofold)
			return
		}
		w.close()
	})
}

// twofold lists all that was changed in two places, to be chosen.
func (w *Window) twofold() view {
	k, open := w.kit, w.house.State().Records.Twofold
	v := view{title: model.T("merge.twofold"), back: w.backTo(w.goBack)}
	if len(open) == 0 {
		v.body = append(v.body, k.Step(model.T("merge.twofold-none")))
		return v
	}
	v.body = append(v.body, k.Both(model.T("merge.twofold-how")))
	for _, t := range open {
		var keep func(int64)
		if w.house.ReadOnly().IsZero() {
			keep = func(form int64) { w.choose(t, form) }
		}
		v.body = append(v.body, w.twofoldCard(t, w.nameOfForm(t), keep))
	}
	return v
}

// rests is for how long after a choice no other record is decided: the page
// moves up, and the second press of a double click would meet the next one.
const rests = time.Second

func (w *Window) choose(t merge.Twofold, form int64) {
	now := w.house.Tick().Mono
	if w.chosen.key != "" && w.chosen.key != t.Key && now-w.chosen.at < rests {
		return
	}
	w.chosen.key, w.chosen.at = t.Key, now
	if err := w.house.Choose(t, form); err != nil {
		w.fail(err)
		return
	}
	w.say(model.T("merge.chosen"), true)
	w.redraw()
}

// twofoldCard shows a record in all its forms. Where keep is not nil each has a
// button.
func (w *Window) twofoldCard(t merge.Twofold, who string, keep func(form int64)) fyne.CanvasObject {
	k := w.kit
	card := []fyne.CanvasObject{k.Strong(w.twofoldTitle(t, who))}
	for i, f := range t.Forms {
		head := model.T("merge.stands")
		if i > 0 {
			head = model.T("merge.other")
		}
		lines := []fyne.CanvasObject{k.BothStrong(head)}
		for _, l := range w.formLines(t, f) {
			lines = append(lines, k.Text(kit.Said(l)))
		}
		written := []string{w.words.T(model.T("merge.written", "when", model.At(f.Changed.In(w.house.Now().Location()))))}
		if f.Entry != nil && f.Entry.Author != "" {
			written = append(written, w.words.T(model.T("timeline.entry-by", "author", f.Entry.Author)))
		}
		lines = append(lines, k.Small(kit.Said(strings.Join(written, " · "))))
		if keep != nil {
			lines = append(lines, k.Row(k.Button("keep-"+strconv.Itoa(i)+"-"+t.Key, model.T("merge.keep-this"), func() { keep(f.Sum) })))
		}
		card = append(card, k.Card(lines...))
	}
	return k.Card(card...)
}

// twofoldTitle says which record it is.
func (w *Window) twofoldTitle(t merge.Twofold, who string) model.Msg {
	switch f := t.Forms[0]; {
	case f.Entry != nil:
		return kit.Said(strings.TrimPrefix(who+" · ", " · ") + w.words.Kind(f.Entry.Kind))
	case f.Pack != nil:
		return kit.Said(f.Pack.Label)
	case f.Person != nil:
		return kit.Said(f.Person.Name)
	case t.What == merge.Setting:
		sort, whose, _ := household.NumberSort(t.Key)
		if whose != "" {
			return kit.Said(w.nameOf(whose) + " · " + w.words.T(model.T("setting."+sort)))
		}
		return model.T("setting." + sort)
	}
	return model.T("merge.strip-kind")
}

// formLines are what one form says.
func (w *Window) formLines(t merge.Twofold, f merge.Form) (out []string) {
	switch {
	case f.Entry != nil:
		out = append(out, w.words.Date(f.Entry.When))
		for _, v := range f.Entry.Values {
			out = append(out, w.notedLine(f.Entry.Kind, v))
		}
	case f.Pack != nil:
		p := household.PackState{Pack: *f.Pack, Shelf: strip.ShelfOf(*f.Pack)}
		out = append(out, f.Pack.Label, w.words.T(w.shelfWords(p)))
		if f.Pack.Lot != "" {
			out = append(out, w.words.T(model.T("supplies.lot", "lot", f.Pack.Lot)))
		}
	case f.Person != nil:
		out = append(out, f.Person.Name)
	case t.What == merge.Kind:
		if k, err := strip.ReadKind(strings.NewReader(f.Text)); err == nil {
			out = append(out, w.words.T(kindName(k)), w.words.T(w.kindNote(k)))
		}
	default:
		out = append(out, f.Text)
	}
	return out
}

func (w *Window) nameOfForm(t merge.Twofold) string {
	if e := t.Forms[0].Entry; e != nil {
		return w.nameOf(e.Person)
	}
	return ""
}

// isTwofold reports an entry that stands in several forms.
func (w *Window) isTwofold(id model.ID) bool {
	return slices.ContainsFunc(w.house.State().Records.Twofold, func(t merge.Twofold) bool { return t.What == merge.Entry && t.Key == string(id) })
}

// twofoldOf says so on the entry's page.
func (w *Window) twofoldOf(id model.ID) []fyne.CanvasObject {
	if !w.isTwofold(id) {
		return nil
	}
	return []fyne.CanvasObject{w.kit.Notice(kit.NoticeCare, model.T("merge.twofold-some", "n", 1),
		w.kit.Button("choose", model.T("merge.choose"), func() { w.open(w.twofold) }))}
}

// twofoldNote says on the page of today that something stands in two forms.
func (w *Window) twofoldNote() []fyne.CanvasObject {
	n := len(w.house.State().Records.Twofold)
	if n == 0 {
		return nil
	}
	return []fyne.CanvasObject{w.kit.Notice(kit.NoticeCare, model.T("merge.twofold-some", "n", n),
		w.kit.Button("choose", model.T("merge.choose"), func() { w.open(w.twofold) }))}
}
