package kit_test

import (
	"fmt"
	"testing"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/canvas"
	"fyne.io/fyne/v2/container"

	"quietwater/assets"
	"quietwater/ui/kit"
	"quietwater/ui/kit/kittest"
)

// TestEveryLook lays every widget out in every look and size, in the pair of
// languages that needs the most room, and lets all checks look at it. Once
// from a wide window and once from the narrowest the program supports.
func TestEveryLook(t *testing.T) {
	for _, ink := range kit.Inks() {
		for _, scale := range kit.Scales() {
			look := kit.Look{Scale: scale, Ink: ink}
			dress(t, look)
			k := kit.New(long(t), look)
			for id, build := range pages {
				t.Run(fmt.Sprintf("%s/%s/%.0f", id, inkNames[ink], scale*100), func(t *testing.T) {
					w := show(t, look, build(k))
					for _, size := range []fyne.Size{{Width: 1280, Height: 800}, {Width: 960, Height: 640}} {
						w.Resize(size)
						for _, trouble := range kittest.Check(w.Canvas()) {
							t.Errorf("%v: %v", size, trouble)
						}
					}
				})
			}
		}
	}
}

// TestQuestion does the same for what lies over a page.
func TestQuestion(t *testing.T) {
	for _, scale := range kit.Scales() {
		look := kit.Look{Scale: scale}
		dress(t, look)
		k := kit.New(long(t), look)
		w := show(t, look, pages["words"](k))
		k.Confirm(w.Canvas(), kit.Question{Title: m("story.del-q"), Body: m("story.del-b"), Keep: m("do.keep"), Do: m("story.del"), Danger: true})
		for _, trouble := range kittest.Check(w.Canvas()) {
			t.Errorf("%.0f %%: %v", scale*100, trouble)
		}
		// R17: what destroys stands 24 units away from anything else.
		var keep, do kit.Box
		for _, l := range kit.Probe(w.Canvas(), "") {
			switch l.ID {
			case "keep":
				keep = kit.Box{X: l.X, Y: l.Y, W: l.W, H: l.H}
			case "confirm":
				do = kit.Box{X: l.X, Y: l.Y, W: l.W, H: l.H}
			}
		}
		if gap := max(do.X-keep.X-keep.W, do.Y-keep.Y-keep.H); keep.W == 0 || do.W == 0 || gap < 24 {
			t.Errorf("%.0f %%: %v and %v are %.0f apart", scale*100, keep, do, gap)
		}
	}
}

// TestRail checks the rail beside a page, in the sizes that have room for it.
func TestRail(t *testing.T) {
	for _, scale := range []float32{1, 1.25, 1.5} {
		look := kit.Look{Scale: scale}
		dress(t, look)
		k := kit.New(long(t), look)
		var items []fyne.CanvasObject
		for _, name := range []string{assets.Today, assets.Timeline, assets.Supplies, assets.Household, assets.Help} {
			items = append(items, k.First().RailItem("rail-"+name, m("screen."+name), name, assets.Picture(name), name == assets.Today, nothing))
		}
		w := show(t, look, container.NewStack(canvas.NewRectangle(look.Palette().Paper), container.NewBorder(nil, nil, k.Rail(items...), nil, pages["words"](k))))
		for _, trouble := range kittest.Check(w.Canvas()) {
			t.Errorf("%.0f %%: %v", scale*100, trouble)
		}
	}
}
