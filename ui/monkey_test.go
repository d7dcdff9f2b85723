package ui

import (
	"math/rand/v2"
	"strings"
	"testing"
	"time"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/test"

	"quietwater/model"
	"quietwater/ui/kit"
)

// TestAnybodyMayPressAnything: whatever is tapped, typed and pressed in
// whatever order, nothing panics, no text is missing, and no entry goes without
// somebody having said yes to that.
func TestAnybodyMayPressAnything(t *testing.T) {
	for seed := range uint64(4) {
		r := rand.New(rand.NewPCG(seed, 7))
		d := open(t, newBook(fullBook()))
		var did []string
		kept := map[model.ID]bool{}
		for range 150 {
			may := false // entries may go
			ids := d.ids()
			switch n := r.IntN(20); {
			case n == 0:
				key := []fyne.KeyName{fyne.KeyEscape, fyne.KeyF1, fyne.KeyF2, fyne.KeyF3, fyne.KeyF4, fyne.KeyF5, fyne.KeyF6, fyne.KeyF9, fyne.KeyReturn,
					fyne.KeySpace, fyne.KeyUp, fyne.KeyDown, fyne.KeyLeft, fyne.KeyRight, fyne.KeyPageDown}[r.IntN(14)]
				may = d.focused() == "confirm" || d.focused() == "undo"
				did = append(did, string(key))
				d.press(key)
			case n == 1:
				pass := time.Duration(r.IntN(50)) * time.Second
				did = append(did, pass.String())
				d.wait(pass)
			case n < 5:
				d.win.Canvas().FocusNext()
				if e, ok := d.win.Canvas().Focused().(*kit.Entry); ok {
					text := []string{"7", "31", "2026", "1,234", "-1", "Ömer", " ", "1e9", "ملح", strings.Repeat("x", 300)}[r.IntN(10)]
					did = append(did, d.focused()+"="+text)
					test.Type(e, text)
				}
			case len(ids) > 0:
				id := ids[r.IntN(len(ids))]
				if id == "sound-test" || d.find(id) == nil {
					continue
				}
				did = append(did, id)
				may = id == "confirm" || id == "undo"
				d.tap(id)
			}
			if strings.ContainsAny(d.text(), "⟦⟧") {
				t.Fatalf("seed %d: a text is missing after %v\n%s", seed, did, d.text())
			}
			now := map[model.ID]bool{}
			for _, e := range d.book.records().Book.Entries {
				now[e.ID] = true
			}
			for id := range kept {
				if !now[id] && !may {
					t.Fatalf("seed %d: an entry went after %v", seed, did)
				}
			}
			kept = now
		}
	}
}
