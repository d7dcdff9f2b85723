package kit

import (
	"image"
	"testing"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/test"

	"quietwater/i18n"
	"quietwater/model"
)

func TestMarker(t *testing.T) {
	test.NewTempApp(t)
	words, err := i18n.New("en", "")
	if err != nil {
		t.Fatal(err)
	}
	changes := 0
	names := []model.Msg{model.T("photo.mark.1", "n", 1), model.T("photo.mark.2", "n", 2)}
	m := New(words, Look{Scale: 1}).Marker("mark", image.NewNRGBA(image.Rect(0, 0, 500, 250)), names, []Spot{{10, 10}, {400, 200}}, [][2]int{{0, 1}}, func() { changes++ })
	win := test.NewTempWindow(t, m)
	win.Resize(fyne.NewSize(900, 600))
	at := func(i int, x, y float32) {
		t.Helper()
		if got := m.Spots()[i]; got != (Spot{x, y}) {
			t.Errorf("handle %d is at %v, want %v %v", i+1, got, x, y)
		}
	}
	// Keys move by a 250th of the picture, never over its rim.
	h := m.handles[1]
	win.Canvas().Focus(h)
	for range 3 {
		h.TypedKey(&fyne.KeyEvent{Name: fyne.KeyRight})
	}
	h.TypedKey(&fyne.KeyEvent{Name: fyne.KeyUp})
	at(1, 406, 198)
	at(0, 10, 10)
	m.Undo()
	at(1, 406, 200)
	for range 20 {
		m.handles[0].TypedKey(&fyne.KeyEvent{Name: fyne.KeyLeft})
	}
	at(0, 0, 10)
	if changes != 24 {
		t.Errorf("%d changes were told", changes)
	}
	// A whole movement of the mouse is taken back at once.
	scale := h.scale
	for range 4 {
		h.Dragged(&fyne.DragEvent{Dragged: fyne.Delta{DX: -10 * scale, DY: -5 * scale}})
	}
	h.DragEnd()
	at(1, 366, 180)
	m.Undo()
	at(1, 406, 200)
	for range 99 {
		m.Undo()
	}
	at(0, 10, 10)
	at(1, 400, 200)
}
