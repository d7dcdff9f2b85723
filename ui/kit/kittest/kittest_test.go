package kittest_test

import (
	"image/color"
	"testing"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/canvas"
	"fyne.io/fyne/v2/container"
	"fyne.io/fyne/v2/test"
	"fyne.io/fyne/v2/widget"

	"quietwater/model"
	"quietwater/ui/kit"
	"quietwater/ui/kit/kittest"
)

// plain says every message by its key.
type plain struct{}

func (plain) T(m model.Msg) string { return m.Key }
func (plain) T2(model.Msg) string  { return "" }

var k = kit.New(plain{}, kit.Look{Scale: 1})

// at puts things on fixed places, as a careless screen would.
func at(boxes ...any) fyne.CanvasObject {
	c := container.NewWithoutLayout()
	for i := 0; i < len(boxes); i += 2 {
		o, b := boxes[i].(fyne.CanvasObject), boxes[i+1].(kit.Box)
		o.Move(fyne.NewPos(b.X, b.Y))
		o.Resize(fyne.NewSize(b.W, b.H))
		c.Add(o)
	}
	return c
}

func text(s string, c color.Color) *canvas.Text {
	t := canvas.NewText(s, c)
	t.TextSize = 20
	return t
}

func nothing() {}

// pad is tapped but takes no keyboard.
type pad struct{ widget.BaseWidget }

func (p *pad) Tapped(*fyne.PointEvent) {}
func (p *pad) CreateRenderer() fyne.WidgetRenderer {
	return widget.NewSimpleRenderer(canvas.NewRectangle(color.Black))
}

func newPad() *pad {
	p := &pad{}
	p.ExtendBaseWidget(p)
	return p
}

var (
	black = color.NRGBA{0, 0, 0, 255}
	grey  = color.NRGBA{160, 160, 160, 255}
	white = color.NRGBA{255, 255, 255, 255}
)

// TestEveryCheckCanFail feeds each check a tree it must not let pass, beside a
// good one of the same kind.
func TestEveryCheckCanFail(t *testing.T) {
	test.NewApp()
	for _, c := range []struct {
		name      string
		check     func(fyne.Canvas) []kittest.Trouble
		good, bad fyne.CanvasObject
	}{
		{"text wider than its place", kittest.Clipped,
			at(text("Start", black), kit.Box{X: 0, Y: 0, W: 200, H: 40}), at(text("Start a strip test", black), kit.Box{X: 0, Y: 0, W: 40, H: 40})},
		{"text higher than its place", kittest.Clipped,
			at(text("Start", black), kit.Box{X: 0, Y: 0, W: 200, H: 40}), at(text("Start", black), kit.Box{X: 0, Y: 0, W: 200, H: 10})},
		{"text sticking out of its parent", kittest.Clipped,
			at(at(text("Start", black), kit.Box{X: 0, Y: 0, W: 100, H: 40}), kit.Box{X: 0, Y: 0, W: 100, H: 40}),
			at(at(text("Start", black), kit.Box{X: 80, Y: 0, W: 100, H: 40}), kit.Box{X: 0, Y: 0, W: 100, H: 40})},
		{"a toolkit label that is cut", kittest.TooWide,
			at(widget.NewLabel("12"), kit.Box{X: 0, Y: 0, W: 200, H: 60}), at(widget.NewLabel("1234567890"), kit.Box{X: 0, Y: 0, W: 30, H: 60})},
		{"out of the window", kittest.TooWide,
			at(k.Button("a", model.T("a"), nothing), kit.Box{X: 20, Y: 20, W: 200, H: 60}), at(k.Button("a", model.T("a"), nothing), kit.Box{X: 750, Y: 0, W: 200, H: 60})},
		{"sideways scrolling", kittest.TooWide,
			container.NewVScroll(k.Text(model.T("a short word"))), at(container.NewScroll(container.NewStack(wide())), kit.Box{W: 300, H: 300})},
		{"small target", kittest.SmallTargets,
			at(newPad(), kit.Box{X: 0, Y: 0, W: 44, H: 44}), at(newPad(), kit.Box{X: 0, Y: 0, W: 44, H: 43})},
		{"out of Tab's reach", kittest.Unreachable,
			at(k.Button("a", model.T("a"), nothing), kit.Box{W: 200, H: 60}), at(k.Button("a", model.T("a"), nothing), kit.Box{W: 200, H: 60}, newPad(), kit.Box{Y: 100, W: 60, H: 60})},
		{"one on another", kittest.Overlapping,
			at(newPad(), kit.Box{W: 60, H: 60}, newPad(), kit.Box{X: 60, W: 60, H: 60}), at(newPad(), kit.Box{W: 60, H: 60}, newPad(), kit.Box{X: 50, Y: 50, W: 60, H: 60})},
		{"two main buttons", kittest.MainButtons,
			k.Row(k.MainButton("a", model.T("a"), nothing), k.Button("b", model.T("b"), nothing)), k.Row(k.MainButton("a", model.T("a"), nothing), k.MainButton("b", model.T("b"), nothing))},
		{"pale text", kittest.LowContrast,
			at(canvas.NewRectangle(white), kit.Box{W: 200, H: 60}, text("Start", black), kit.Box{W: 100, H: 40}),
			at(canvas.NewRectangle(white), kit.Box{W: 200, H: 60}, text("Start", grey), kit.Box{W: 100, H: 40})},
	} {
		for _, tree := range []struct {
			o    fyne.CanvasObject
			want bool
		}{{c.good, false}, {c.bad, true}} {
			w := test.NewWindow(tree.o)
			w.SetPadded(false)
			w.Resize(fyne.NewSize(800, 600))
			if got := c.check(w.Canvas()); len(got) > 0 != tree.want {
				t.Errorf("%s: bad %v, found %v", c.name, tree.want, got)
			}
			if tree.want && len(kittest.Check(w.Canvas())) == 0 {
				t.Errorf("%s: Check leaves it out", c.name)
			}
			w.Close()
		}
	}
}

func wide() fyne.CanvasObject {
	r := canvas.NewRectangle(white)
	r.SetMinSize(fyne.NewSize(900, 10))
	return r
}
