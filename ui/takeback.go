package ui

import (
	"slices"

	"fyne.io/fyne/v2"

	"quietwater/model"
	"quietwater/model/household"
	"quietwater/ui/kit"
)

// takeBackView shows what the last change was before it is taken back: it may
// have been made days ago, or by somebody else.
func (w *Window) takeBackView() view {
	k := w.kit
	v := view{title: model.T("household.undo"), back: w.backTo(w.goBack)}
	last, any, err := w.house.Last()
	switch {
	case err != nil:
		v.body = []fyne.CanvasObject{k.Notice(kit.NoticeFailed, tell(err))}
		return v
	case !any:
		v.body = []fyne.CanvasObject{k.Both(model.T("done.nothing-to-undo"))}
		return v
	}
	if !last.At.IsZero() {
		v.body = append(v.body, k.BothStrong(model.T("merge.written", "when", model.At(last.At.In(w.house.Now().Location())))))
	}
	if last.Author != "" {
		v.body = append(v.body, k.Text(model.T("timeline.entry-by", "author", last.Author)))
	}
	touched := map[model.ID]bool{} // an import may have touched a hundred thousand
	for _, id := range last.Entries {
		touched[id] = true
	}
	var there []model.Entry
	for _, e := range slices.Backward(w.house.State().Records.Book.Entries) {
		if touched[e.ID] {
			there = append(there, e)
		}
	}
	v.body = append(v.body, w.entriesNamed("undo.there", there, w.nameOf, mostLines)...)
	if n := len(last.Entries) - len(there); n > 0 {
		v.body = append(v.body, k.Both(model.T("undo.deleted", "n", n)))
	}
	if len(last.Named) > 0 {
		v.body = append(v.body, w.namedLines(last.Named)...)
	}
	if n := last.Records - len(last.Entries) - len(last.Named); n > 0 {
		v.body = append(v.body, k.Both(model.T("undo.others", "n", n)))
	}
	v.main = w.unlessReadOnly(&action{"take-back", model.T("undo.do"), func() {
		w.undo()
		w.close()
	}})
	return v
}

// namedLines name persons, packs and strip kinds that a change touched; of many
// the rest is counted.
func (w *Window) namedLines(all []household.Named) []fyne.CanvasObject {
	var out []fyne.CanvasObject
	for i, n := range all {
		if i == mostLines {
			return append(out, w.kit.Both(model.T("undo.others", "n", len(all)-i)))
		}
		key := "undo.touched"
		if n.Gone {
			key = "undo.back"
		}
		out = append(out, w.kit.Both(model.T(key, "what", model.T("undo."+n.What, "name", n.Name))))
	}
	return out
}
