package ui

import (
	"path/filepath"
	"slices"
	"strconv"
	"time"

	"fyne.io/fyne/v2"

	"quietwater/model"
	"quietwater/model/household"
	"quietwater/ui/kit"
)

// arrival gets a picture in: one that was dropped, one of the newest in the
// usual folders – a new one is offered as it comes – or one by its name.
type arrival struct {
	here   bool        // a page of it is on the screen
	files  []FoundFile // the newest in the usual folders
	looked bool        // the folders have been looked into
	since  time.Time   // pictures that came later are offered
	typed  string      // a path on its way
	busy   bool        // a picture is being worked on
	tried  string      // the file that is, or was
	failed model.Msg   // why it was of no use
}

// mostPictures is how many of the newest pictures are listed.
const mostPictures = 6

// lookEvery is how often the folders are looked into while somebody waits for
// a picture to come.
const lookEvery = 2 * time.Second

// arrivalWords is what a picture is asked for with.
type arrivalWords struct {
	how  model.Msg // what it should show
	yes  model.Msg // the one that has come is it
	read model.Msg // the one that was named is
}

// view waits for a picture. ways are what else may be done about one that was
// of no use.
func (a *arrival) view(w *Window, words arrivalWords, take func(path string), ways ...fyne.CanvasObject) view {
	k := w.kit
	v := view{dropped: take}
	if !a.failed.IsZero() {
		v.body = append(v.body, k.Notice(kit.NoticeCare, a.failed, ways...))
	}
	if len(a.files) > 0 && a.files[0].Changed.After(a.since) {
		newest := a.files[0].Path
		v.body = append(v.body, k.Notice(kit.NoticeInfo, model.T("photo.come", "file", filepath.Base(newest)),
			k.MainButton("take-new", words.yes, func() { take(newest) })))
	}
	v.body = append(v.body, k.Both(words.how))
	if len(a.files) > 0 {
		v.body = append(v.body, k.BothSection(model.T("photo.newest")), k.List(fileItems("picture-", a.files, take)...))
	}
	v.body = append(v.body, a.byName(w, model.T("photo.path-help"), words.read, func(path string) { a.fileOrFolder(w, path, take) })...)
	if own := w.house.State().Records.Settings[household.SetPictures]; own != "" {
		v.body = append(v.body, k.Both(model.T("photo.watched", "folder", own)), k.Row(k.Button("unwatch", model.T("photo.unwatch"), func() {
			if w.keep(household.WatchPictures("")) {
				a.files = nil
				w.redraw()
			}
		})))
	}
	var stop chan struct{}
	v.enter = func() { a.here, stop = true, w.lookOut(a) }
	v.leave = func() {
		a.here = false
		close(stop)
	}
	return v
}

// fileOrFolder takes a file that was named. A folder is looked into from then
// on.
func (a *arrival) fileOrFolder(w *Window, path string, take func(string)) {
	folder := false
	w.beside(func() { folder = w.house.IsFolder(path) }, func() {
		switch {
		case !folder:
			take(path)
		case w.house.ReadOnly().IsZero() && w.keep(household.WatchPictures(path)):
			a.typed, a.looked, a.since = "", false, time.Time{}
			w.redraw()
		}
	})
}

// byName is a box for the name of a file and a button that takes it.
func (a *arrival) byName(w *Window, help, read model.Msg, take func(path string)) []fyne.CanvasObject {
	path := w.kit.AtOnce().Field(kit.Ask{ID: "path", Label: model.T("photo.path"), Help: help}, a.typed, func(t string) { a.typed = t })
	named := func() {
		if p := pathOf(a.typed); p != "" {
			take(p)
		}
	}
	path.OnEnter(named)
	return []fyne.CanvasObject{path, w.kit.Row(w.kit.Button("read-path", read, named))}
}

// atWork says that a picture is being worked on.
func (a *arrival) atWork(w *Window) view {
	return view{body: []fyne.CanvasObject{w.kit.Step(model.T("photo.reading")), w.kit.Text(model.T("photo.reading-what", "file", filepath.Base(a.tried)))},
		enter: func() { a.here = true }, leave: func() { a.here = false }}
}

// lookOut looks into the folders, at once and every now and then, beside the
// window's own work: a folder may lie far away.
func (w *Window) lookOut(a *arrival) chan struct{} {
	stop := make(chan struct{})
	looking, beats := false, 0
	w.pulse(stop, func() {
		beats++
		if looking || beats%int(lookEvery/tickEvery) != 1 {
			return
		}
		looking = true
		var files []FoundFile
		w.beside(func() { files = w.house.Found(Photographs, mostPictures) }, func() {
			looking = false
			if !a.looked && len(files) > 0 {
				a.since = files[0].Changed
			}
			a.looked = true
			if a.here && !a.busy && !slices.Equal(files, a.files) {
				a.files = files
				w.redraw()
			}
		})
	})
	return stop
}

// found are the newest files of a sort, to be chosen by a tap.
type found struct {
	sort   Sort
	files  []FoundFile
	looked bool
}

// look finds them once, beside the window's own work; then draws them.
func (f *found) look(w *Window, then func()) {
	lookOnce(w, &f.looked, func() []FoundFile { return w.house.Found(f.sort, mostPictures) }, func(files []FoundFile) {
		if f.files = files; len(files) > 0 {
			then()
		}
	})
}

// lookOnce finds something on drives or in folders, which may be slow, once for
// a page and beside the window's own work.
func lookOnce[T any](w *Window, looked *bool, find func() T, then func(T)) {
	if *looked {
		return
	}
	*looked = true
	var got T
	w.beside(func() { got = find() }, func() { then(got) })
}

// list offers them; nothing where there are none.
func (f *found) list(w *Window, take func(path string)) []fyne.CanvasObject {
	if len(f.files) == 0 {
		return nil
	}
	return []fyne.CanvasObject{w.kit.BothSection(model.T("files.newest")), w.kit.List(fileItems("file-", f.files, take)...)}
}

func fileItems(id string, files []FoundFile, take func(path string)) (items []kit.ListItem) {
	for i, f := range files {
		items = append(items, kit.ListItem{ID: id + strconv.Itoa(i), Title: kit.Said(filepath.Base(f.Path)),
			Note: model.T("photo.of", "when", model.At(f.Changed), "folder", filepath.Base(filepath.Dir(f.Path))), Open: func() { take(f.Path) }})
	}
	return items
}
