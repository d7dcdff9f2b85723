// Package kittest owns the checks every screen must pass: nothing cut, nothing
// too small to hit, nothing out of the keyboard's reach. It looks at the tree
// of a canvas as it was laid out, without drawing it, and refuses to know what
// a screen is about. Only tests import it.
package kittest

import (
	"fmt"
	"image/color"
	"math"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/canvas"
	"fyne.io/fyne/v2/container"
	"fyne.io/fyne/v2/test"

	"quietwater/ui/kit"
)

// Trouble is one thing that breaks a rule.
type Trouble struct {
	Rule string // the name of the check
	What string // the thing, by id or words
	Why  string
}

func (t Trouble) String() string { return t.Rule + ": " + t.What + ": " + t.Why }

// Check runs every check on what can be seen of a canvas.
func Check(c fyne.Canvas) []Trouble {
	var all []Trouble
	for _, check := range []func(fyne.Canvas) []Trouble{Clipped, TooWide, SmallTargets, Unreachable, Overlapping, MainButtons, LowContrast} {
		all = append(all, check(c)...)
	}
	return all
}

// Settle lays a canvas out as often as a window would between two frames. The
// window of tests does so only when its size changes.
func Settle(c fyne.Canvas) {
	for _, o := range append([]fyne.CanvasObject{c.Content()}, c.Overlays().List()...) {
		if o == nil {
			continue
		}
		for range 3 {
			o.Resize(c.Size().SubtractWidthHeight(1, 1))
			o.Resize(c.Size())
		}
	}
}

// Nodes lists every visible object of the uppermost layer, those inside the
// toolkit's widgets too.
func Nodes(c fyne.Canvas) []*kit.Node {
	root := c.Content()
	if o := c.Overlays().Top(); o != nil {
		root = o
	}
	var out []*kit.Node
	kit.Walk(root, inside, func(n *kit.Node) bool {
		out = append(out, n)
		return true
	})
	return out
}

func inside(o fyne.CanvasObject) []fyne.CanvasObject {
	if w, ok := o.(fyne.Widget); ok {
		return test.WidgetRenderer(w).Objects()
	}
	return nil
}

// name says which thing is meant.
func name(n *kit.Node) string {
	if t, ok := n.Object.(*canvas.Text); ok {
		return fmt.Sprintf("%q", t.Text)
	}
	for p := n; p != nil; p = p.Parent {
		if t, ok := kit.Target(p.Object); ok && (t.ID != "" || t.Label != "") {
			return fmt.Sprintf("%s %q", t.ID, t.Label)
		}
	}
	return fmt.Sprintf("%T at %.0f,%.0f", n.Object, n.Box.X, n.Box.Y)
}

// slack forgives rounding, in units.
const slack = 1

// typed reports whether n stands inside something people type into, where a
// long line moves under the cursor by design.
func typed(n *kit.Node) bool {
	for p := n; p != nil; p = p.Parent {
		if _, ok := p.Object.(*kit.Entry); ok {
			return true
		}
	}
	return false
}

// Clipped finds text that is larger than its place, or that sticks out of the
// thing it stands in.
func Clipped(c fyne.Canvas) []Trouble {
	var out []Trouble
	for _, n := range Nodes(c) {
		t, ok := n.Object.(*canvas.Text)
		if !ok || t.Text == "" || typed(n) {
			continue
		}
		if m := t.MinSize(); m.Width > n.Box.W+slack || m.Height > n.Box.H+slack {
			out = append(out, Trouble{"clipped", name(n), fmt.Sprintf("needs %.0f×%.0f, has %.0f×%.0f", m.Width, m.Height, n.Box.W, n.Box.H)})
			continue
		}
		for p := n.Parent; p != nil; p = p.Parent {
			if _, ok := p.Object.(*container.Scroll); ok {
				break // what lies below can be scrolled to; TooWide looks at the sides
			}
			if sticksOut(t, n.Box, p.Box) {
				out = append(out, Trouble{"clipped", name(n), fmt.Sprintf("sticks out of %T: %v is not in %v", p.Object, n.Box, p.Box)})
				break
			}
		}
	}
	return out
}

// sticksOut looks at the ink of a text, which may be narrower than its box.
func sticksOut(t *canvas.Text, b, in kit.Box) bool {
	w := t.MinSize().Width
	x := b.X
	switch t.Alignment {
	case fyne.TextAlignCenter:
		x += (b.W - w) / 2
	case fyne.TextAlignTrailing:
		x += b.W - w
	}
	return x < in.X-slack || x+w > in.X+in.W+slack || b.Y < in.Y-slack || b.Y+b.H > in.Y+in.H+slack
}

// TooWide finds what is wider than the window or would need sideways scrolling,
// and widgets that got less room than they need.
func TooWide(c fyne.Canvas) []Trouble {
	var out []Trouble
	for _, n := range Nodes(c) {
		if typed(n) {
			continue
		}
		if s, ok := n.Object.(*container.Scroll); ok && s.Content != nil && s.Content.MinSize().Width > n.Box.W+slack {
			out = append(out, Trouble{"too wide", name(n), fmt.Sprintf("its content needs %.0f of %.0f", s.Content.MinSize().Width, n.Box.W)})
		}
		if n.Box.X < -slack || n.Box.X+n.Box.W > c.Size().Width+slack {
			out = append(out, Trouble{"too wide", name(n), fmt.Sprintf("%v leaves the window", n.Box)})
			continue
		}
		if _, ok := n.Object.(fyne.Widget); ok {
			if m := n.Object.MinSize(); m.Width > n.Box.W+slack || m.Height > n.Box.H+slack {
				out = append(out, Trouble{"too wide", name(n), fmt.Sprintf("%T needs %.0f×%.0f, has %.0f×%.0f", n.Object, m.Width, m.Height, n.Box.W, n.Box.H)})
			}
		}
	}
	return out
}

// targets are the things to tap or type into; the scroll bars are left out,
// since wheel and keys do the same.
func targets(c fyne.Canvas) []*kit.Node {
	var out []*kit.Node
	kit.Walk(topOf(c), nil, func(n *kit.Node) bool {
		if _, ok := kit.Target(n.Object); ok {
			out = append(out, n)
		}
		return true
	})
	return out
}

func topOf(c fyne.Canvas) fyne.CanvasObject {
	if o := c.Overlays().Top(); o != nil {
		return o
	}
	return c.Content()
}

// LeastTarget is the least height and width of what is tapped (WCAG 2.2, 2.5.5).
const LeastTarget = 44

// SmallTargets finds what is hard to hit.
func SmallTargets(c fyne.Canvas) []Trouble {
	var out []Trouble
	for _, n := range targets(c) {
		if n.Box.W < LeastTarget || n.Box.H < LeastTarget {
			out = append(out, Trouble{"small target", name(n), fmt.Sprintf("%.0f×%.0f", n.Box.W, n.Box.H)})
		}
	}
	return out
}

// Unreachable finds what can be tapped but not reached with Tab. It moves the
// keyboard and gives it back.
func Unreachable(c fyne.Canvas) []Trouble {
	was := c.Focused()
	defer c.Focus(was)
	c.Unfocus()
	reached := map[fyne.CanvasObject]bool{}
	for range 2000 {
		c.FocusNext()
		o, _ := c.Focused().(fyne.CanvasObject)
		if o == nil || reached[o] {
			break
		}
		reached[o] = true
	}
	var out []Trouble
	for _, n := range targets(c) {
		t, _ := kit.Target(n.Object)
		if !t.Disabled && !reached[n.Object] {
			out = append(out, Trouble{"unreachable", name(n), "Tab does not come to it"})
		}
	}
	return out
}

// Overlapping finds things to tap that lie on one another.
func Overlapping(c fyne.Canvas) []Trouble {
	var out []Trouble
	all := targets(c)
	for i, a := range all {
		for _, b := range all[i+1:] {
			if b.Within(a) {
				continue
			}
			cut := a.Box.Cut(a.Clip).Cut(b.Box.Cut(b.Clip))
			if cut.W > slack && cut.H > slack {
				out = append(out, Trouble{"overlapping", name(a), "lies on " + name(b)})
			}
		}
	}
	return out
}

// MainButtons finds pages with more than one main button.
func MainButtons(c fyne.Canvas) []Trouble {
	var main []*kit.Node
	for _, n := range targets(c) {
		if b, ok := n.Object.(interface{ IsMain() bool }); ok && b.IsMain() {
			main = append(main, n)
		}
	}
	if len(main) < 2 {
		return nil
	}
	return []Trouble{{"main buttons", name(main[1]), fmt.Sprintf("there are %d", len(main))}}
}

// LowContrast finds text that does not stand out from the ground it is drawn
// on: 4.5 to 1, or 3 for large letters (WCAG 2.2, 1.4.3). The ground is the
// last filled shape drawn before it that holds its middle.
func LowContrast(c fyne.Canvas) []Trouble {
	var grounds []*kit.Node
	var out []Trouble
	for _, n := range Nodes(c) {
		if fill(n) != nil {
			grounds = append(grounds, n)
			continue
		}
		t, ok := n.Object.(*canvas.Text)
		if !ok || t.Text == "" {
			continue
		}
		if _, _, _, a := t.Color.RGBA(); a == 0 {
			continue
		}
		for i := len(grounds) - 1; i >= 0; i-- {
			g := grounds[i]
			if !g.Box.Holds(n.Box.X+n.Box.W/2, n.Box.Y+n.Box.H/2) {
				continue
			}
			least := 4.5
			if t.TextSize >= 24 || t.TextSize >= 18.5 && t.TextStyle.Bold {
				least = 3
			}
			if r := kit.Contrast(t.Color, fill(g)); r < least {
				out = append(out, Trouble{"low contrast", name(n), fmt.Sprintf("%.1f to 1", math.Floor(r*10)/10)})
			}
			break
		}
	}
	return out
}

// fill is the colour of an opaque shape, nil for anything else.
func fill(n *kit.Node) color.Color {
	var c color.Color
	switch o := n.Object.(type) {
	case *canvas.Rectangle:
		c = o.FillColor
	case *canvas.Circle:
		c = o.FillColor
	}
	if c == nil {
		return nil
	}
	if _, _, _, a := c.RGBA(); a != 0xffff {
		return nil
	}
	return c
}
