package ui

import (
	"fyne.io/fyne/v2"

	"quietwater/i18n"
	"quietwater/model"
	"quietwater/ui/kit"
)

// Copy is a safe copy of a book that could not be opened.
type Copy struct {
	When    model.When
	Entries int
	Ask     model.Msg // what is said before going on from it
	Look    func()    // shows it for reading only
	Use     func()    // goes on from it; the damaged book is kept
}

// Trouble is a book that could not be opened: why, and what is safe to do.
type Trouble struct {
	Why    model.Msg
	Safe   model.Msg // what is safe, and what to do; may be zero
	Path   string    // of the book, for a helper who can do something about it; else ""
	Copies []Copy    // newest first
	// Restore goes on from a backup; nil where that would help nothing. It takes up
	// to minutes, is called beside the window's own work, and fills the window anew.
	Restore func(file, passphrase string)
	Again   func()
	Quit    func()
}

// ShowTrouble fills win with what happened, what is safe and what to do next.
// Looking at a copy comes before going on from one.
func ShowTrouble(win fyne.Window, t Trouble, apply func(fyne.Theme), o Options) {
	tag := o.Language
	if tag == "" {
		tag = o.Machine
	}
	words, err := i18n.New(tag, "")
	if err != nil {
		words, _ = i18n.New("en", "")
	}
	look := kit.Look{Scale: 1}
	if o.Large {
		look.Scale = 2
	}
	apply(kit.NewTheme(look))
	k := kit.New(words, look)
	kit.Keys(win.Canvas(), nil)
	body := []fyne.CanvasObject{k.Notice(kit.NoticeFailed, t.Why)}
	if !t.Safe.IsZero() {
		body = append(body, k.Both(t.Safe))
	}
	if len(t.Copies) > 0 {
		body = append(body, k.Section(model.T("trouble.snapshots")))
	}
	for _, c := range t.Copies {
		body = append(body, k.Card(k.Text(model.T("trouble.copy", "when", c.When, "n", c.Entries)),
			k.Row(k.Button("look", model.T("trouble.look-copy"), c.Look)),
			k.Row(k.Button("use", model.T("trouble.use-snapshot"), func() {
				k.Confirm(win.Canvas(), kit.Question{Title: model.T("trouble.use-snapshot"), Body: c.Ask,
					Keep: model.T("do.cancel"), Do: model.T("trouble.use-snapshot"), Then: c.Use})
			}))))
	}
	if t.Restore != nil {
		body = append(body, restoreInTrouble(win, k, t.Restore)...)
	}
	if t.Path != "" {
		body = append(body, k.Small(model.T("trouble.ask-helper", "path", t.Path)), k.Small(model.T("trouble.rescue", "path", t.Path)))
	}
	main := k.MainButton("again", model.T("do.try-again"), t.Again)
	if len(t.Copies) > 0 { // what to do next stands where a frightened hand goes
		body = append(body, k.Row(k.Button("again", model.T("do.try-again"), t.Again)))
		main = k.MainButton("look-newest", model.T("trouble.look-newest"), t.Copies[0].Look)
	}
	page := k.Page(kit.PageParts{Title: model.T("trouble.title"), Content: body,
		Back: k.Button("quit", model.T("trouble.quit"), t.Quit), Main: main})
	win.SetContent(page)
	if o.Probe != nil {
		o.Probe("trouble")
	}
}

// restoreInTrouble asks for a backup where there is no book to be in.
func restoreInTrouble(win fyne.Window, k *kit.Kit, restore func(file, passphrase string)) []fyne.CanvasObject {
	path, secret := "", ""
	file := k.Field(kit.Ask{ID: "file", Width: 60, Label: model.T("restore.file")}, "", func(s string) { path = s })
	pass := k.SecretField(kit.Ask{ID: "secret", Label: model.T("restore.passphrase"), Help: model.T("restore.passphrase-help")}, func(s string) { secret = s })
	use := k.Button("restore", model.T("restore.use"), func() {
		from := pathOf(path)
		file.SetProblem(unless(from != "", "restore.no-file"))
		if from == "" {
			return
		}
		win.SetContent(k.Page(kit.PageParts{Title: model.T("restore.title"),
			Content: []fyne.CanvasObject{k.Step(model.T("restore.restoring")), k.Both(model.T("restore.working-what"))}}))
		go restore(from, secret)
	})
	return []fyne.CanvasObject{k.Section(model.T("restore.title")), file, pass, k.Row(use)}
}
