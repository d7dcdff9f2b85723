package ui

import (
	"slices"

	"image/color"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/canvas"
	"fyne.io/fyne/v2/container"
	"fyne.io/fyne/v2/driver/desktop"

	"quietwater/assets"
	"quietwater/model"
	"quietwater/model/household"
	"quietwater/ui/kit"
)

// railUpTo is the largest text size that leaves room for the rail; above it
// the pages are a list of their own.
const railUpTo = 1.25

// frame puts a view into the window.
func (w *Window) frame(v view, id string) {
	k := w.kit
	parts := kit.PageParts{Title: v.title, Content: v.body, Fixed: v.fixed, Keys: w.keys(v),
		Bare: v.busy && v.fixed != nil && w.look.Scale > railUpTo} // as large as that, a clock needs the whole page
	if v.whose != nil {
		parts.Title = model.T("screen.of", "screen", v.title, "name", w.called(*v.whose))
		parts.Mark = k.Leaf(v.whose.Mark, v.whose.Name)
	}
	if w.house.Path() == "" && !v.busy { // a clock needs the whole page
		parts.Content = append([]fyne.CanvasObject{k.Small(model.T("screen.demo"))}, parts.Content...)
	}
	if why := w.house.ReadOnly(); !why.IsZero() {
		said := []fyne.CanvasObject{k.Notice(kit.NoticeCare, why)}
		if w.forced.Return != nil {
			said = append(said, k.Row(k.Button("back-copies", model.T("trouble.back-copies"), w.forced.Return)))
		}
		parts.Content = append(said, parts.Content...)
	}
	if (w.at != "help" || w.task != nil) && !v.busy {
		parts.Help = k.Button("help", model.T("do.help"), w.openHelp)
	}
	if v.back != nil {
		parts.Back = k.Button(v.back.id, v.back.label, v.back.do)
	}
	if v.aside != nil {
		parts.Aside = k.Button(v.aside.id, v.aside.label, v.aside.do)
	}
	if v.main != nil {
		parts.Main = k.MainButton(v.main.id, v.main.label, v.main.do)
	}
	if w.task == nil && w.look.Scale > railUpTo {
		parts.Back = k.Button("menu", model.T("screen.menu"), func() { w.open(w.menu) })
	}
	if n := w.notice; v.result && n.inPage() {
		parts.Content = append(parts.Content, k.SavedBar(n.say, w.takeBack, nil))
	}
	place, before := float32(0), w.page
	if before != nil {
		place = before.Offset()
	}
	focused, given := w.focusedID(), w.focusNext != ""
	if given {
		focused, w.focusNext = w.focusNext, ""
	} else if focused == "" {
		focused = v.focusID
	}
	w.page = k.Page(parts)
	w.drawn(before)
	w.bar()
	w.win.SetContent(w.withRail(w.page))
	w.page.ScrollTo(place)
	w.refocus(v, parts, focused, given)
	if before == nil && !given && w.page.Offset() != place {
		// A new page is read from its top. What lies below it must not have the
		// keyboard unseen; Tab goes there.
		w.win.Canvas().Unfocus()
		w.page.ScrollTo(place)
	}
	if before == nil {
		w.echoes.Came(v.busy)
	}
	if v.enter != nil {
		v.enter()
	}
	if before == nil && !v.busy && w.curtain == nil {
		w.aloud(false)
	}
	if w.probe != nil {
		w.probe(id)
	}
}

// withRail sets the rail of pages beside the page where there is room; a task
// has the window for itself.
func (w *Window) withRail(page fyne.CanvasObject) fyne.CanvasObject {
	ground := w.kit.Ground(func() { w.idle.moved = true })
	if w.task != nil || w.look.Scale > railUpTo {
		return container.NewStack(ground, page)
	}
	var items []fyne.CanvasObject
	for _, s := range screens() {
		items = append(items, w.kit.First().RailItem("rail-"+s.id, model.T("screen."+s.id), s.picture, assets.Picture(s.picture),
			s.id == w.at, func() { w.visit(s.id) }))
	}
	return container.NewStack(ground, container.NewBorder(nil, nil, w.kit.Rail(items...), nil, page))
}

// apart makes twice the room between two things, so that what destroys is not
// hit instead of its neighbour.
func apart() fyne.CanvasObject { return canvas.NewRectangle(color.Transparent) }

// menu is the rail as a page of its own, for large type.
func (w *Window) menu() view {
	var items []kit.ListItem
	for _, s := range screens() {
		items = append(items, kit.ListItem{ID: "rail-" + s.id, Title: model.T("screen." + s.id), Open: func() { w.visit(s.id) }})
	}
	return view{title: model.T("screen.menu"), body: []fyne.CanvasObject{w.kit.List(items...)},
		back: w.backTo(w.goBack)}
}

func (w *Window) backTo(do func()) *action { return &action{"back", model.T("do.back"), do} }

// bar shows what was saved, undone or went wrong, until it is closed.
func (w *Window) bar() {
	if w.page == nil {
		return
	}
	n := w.notice
	if n == nil {
		w.page.SetBar(nil)
		return
	}
	n.shown = true
	if w.view.result && n.inPage() {
		w.page.SetBar(nil)
		return
	}
	dismiss := func() {
		w.notice = nil
		w.page.SetBar(nil)
	}
	if n.failed {
		w.page.SetBar(w.kit.Notice(kit.NoticeFailed, n.say, w.kit.Button("close-notice", model.T("do.close"), dismiss)))
		return
	}
	undo := w.takeBack
	if !n.undo {
		undo = nil
	}
	w.page.SetBar(w.kit.SavedBar(n.say, undo, dismiss))
}

// inPage reports an offer to take back what was saved: the one thing that a page
// with what calls for a doctor says in its own lines, after all else, because a
// bar would hide whom to ring.
func (n *notice) inPage() bool { return n != nil && n.undo && !n.failed }

// takeBack undoes what the notice offers to.
func (w *Window) takeBack() {
	w.notice = nil
	w.undo()
}

type named interface{ Name() string }

// focusedID names what has the keyboard, so that it keeps it when the page is
// drawn again.
func (w *Window) focusedID() string {
	if n, ok := w.win.Canvas().Focused().(named); ok && w.page != nil {
		return n.Name()
	}
	return ""
}

// refocus gives the keyboard back to what had it, else to what the page asks
// for, else to its main button.
func (w *Window) refocus(v view, parts kit.PageParts, id string, given bool) {
	c := w.win.Canvas()
	if w.curtain != nil { // it keeps the keyboard
		return
	}
	if id != "" {
		var found fyne.Focusable
		kit.Walk(c.Content(), nil, func(n *kit.Node) bool {
			if f, ok := n.Object.(fyne.Focusable); ok && found == nil {
				if m, ok := n.Object.(named); ok && m.Name() == id {
					found = f
				}
			}
			return found == nil
		})
		if found != nil {
			c.Focus(found)
			if o, ok := found.(fyne.CanvasObject); ok && given {
				kit.Reveal(c, o)
			}
			return
		}
	}
	switch {
	case v.focus != nil:
		c.Focus(v.focus)
	case parts.Main != nil:
		c.Focus(parts.Main)
	}
}

// keys answers the keys of every page: help, the pages of the rail, the two
// languages changed over; and those of the page itself.
func (w *Window) keys(v view) func(*fyne.KeyEvent) bool {
	return func(ev *fyne.KeyEvent) bool {
		if do, ok := v.keys[ev.Name]; ok {
			do()
			return true
		}
		switch ev.Name {
		case fyne.KeyF1:
			if !v.busy {
				w.openHelp()
			}
			return true
		case fyne.KeyF8:
			w.aloud(true)
			return true
		case fyne.KeyF12:
			w.cover()
			return true
		case fyne.KeyF9:
			w.swapLanguages()
			return true
		case fyne.KeyF10:
			if w.task == nil {
				w.backUpNow()
			}
			return true
		}
		for _, s := range screens() {
			if ev.Name == s.key && w.task == nil { // a task is left by its own buttons
				w.visit(s.id)
				return true
			}
		}
		return false
	}
}

// openHelp shows the help page, from there the card of keys; over a task it
// leads back to the task.
func (w *Window) openHelp() {
	switch {
	case w.task == nil && w.at == "help":
		i := slices.IndexFunc(helpPages(), func(p helpPage) bool { return p.id == keysPage })
		w.open(w.helpOn(helpPages()[i]))
		return
	case w.task == nil:
		w.visit("help")
		return
	}
	w.open(func() view {
		v := w.help()
		v.back = w.backTo(w.goBack)
		return v
	})
}

func (w *Window) shortcuts() {
	// The toolkit turns the keys for undo into a shortcut of its own.
	w.win.Canvas().AddShortcut(&fyne.ShortcutUndo{}, func(fyne.Shortcut) { w.undo() })
	w.win.Canvas().AddShortcut(&desktop.CustomShortcut{KeyName: fyne.KeyZ, Modifier: fyne.KeyModifierShortcutDefault},
		func(fyne.Shortcut) { w.undo() })
}

// swapLanguages changes the two languages over.
func (w *Window) swapLanguages() {
	first, second := w.words.First(), w.words.Second()
	if second == "" {
		return
	}
	w.forced.Language = ""
	if w.keep(household.Changes{Settings: map[string]string{household.SetLanguage: second, household.SetSecond: first}}) {
		w.dress()
		w.redraw()
	}
}

func inkOf(name string) kit.Ink {
	switch name {
	case "dark":
		return kit.Dark
	case "contrast":
		return kit.HighContrast
	}
	return kit.Light
}
