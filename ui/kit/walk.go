package kit

import (
	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/container"
)

// Box is a rectangle in units from the upper left corner of the window.
type Box struct{ X, Y, W, H float32 }

// Cut is the part of b inside c; W or H is 0 when there is none.
func (b Box) Cut(c Box) Box {
	x, y := max(b.X, c.X), max(b.Y, c.Y)
	return Box{x, y, max(min(b.X+b.W, c.X+c.W)-x, 0), max(min(b.Y+b.H, c.Y+c.H)-y, 0)}
}

// Holds reports whether a point lies in b.
func (b Box) Holds(x, y float32) bool { return x >= b.X && y >= b.Y && x < b.X+b.W && y < b.Y+b.H }

// Node is one object on its place in the window.
type Node struct {
	Object fyne.CanvasObject
	Box    Box   // where it lies, also when scrolled away
	Clip   Box   // what of the window its scrolling ancestors leave
	Parent *Node // nil at the root
}

// Within reports whether a is an ancestor of n.
func (n *Node) Within(a *Node) bool {
	for p := n.Parent; p != nil; p = p.Parent {
		if p == a {
			return true
		}
	}
	return false
}

// Parted is a widget that tells what it is made of, as those of kit do. The
// toolkit has no way to ask a widget that outside tests.
type Parted interface{ Parts() []fyne.CanvasObject }

// Walk visits the visible objects of a tree in drawing order, parents first.
// Widgets that are not [Parted] are leaves, unless inside gives their parts;
// it may be nil. When visit returns false the children are left out.
func Walk(root fyne.CanvasObject, inside func(fyne.CanvasObject) []fyne.CanvasObject, visit func(*Node) bool) {
	if root == nil {
		return
	}
	p, s := root.Position(), root.Size()
	walk(&Node{Object: root, Box: Box{p.X, p.Y, s.Width, s.Height}, Clip: Box{p.X, p.Y, s.Width, s.Height}}, inside, visit)
}

func walk(n *Node, inside func(fyne.CanvasObject) []fyne.CanvasObject, visit func(*Node) bool) {
	if !n.Object.Visible() || !visit(n) {
		return
	}
	clip := n.Clip
	var children []fyne.CanvasObject
	switch o := n.Object.(type) {
	case *fyne.Container:
		children = o.Objects
	case *container.Scroll:
		clip = clip.Cut(n.Box)
		if o.Content != nil {
			children = []fyne.CanvasObject{o.Content}
		}
	case Parted:
		children = o.Parts()
	default:
		if inside != nil {
			children = inside(o)
		}
	}
	for _, c := range children {
		p, s := c.Position(), c.Size()
		walk(&Node{c, Box{n.Box.X + p.X, n.Box.Y + p.Y, s.Width, s.Height}, clip, n}, inside, visit)
	}
}

// top is what a person can act on: the uppermost overlay, or the content.
func top(c fyne.Canvas) fyne.CanvasObject {
	if o := c.Overlays().Top(); o != nil {
		return o
	}
	return c.Content()
}

// canvasOf is where o stands; nil for nowhere. The toolkit knows that of what has
// been painted; between a page's coming and its first picture a key may come.
func canvasOf(o fyne.CanvasObject) fyne.Canvas {
	app := fyne.CurrentApp()
	if app == nil {
		return nil
	}
	if c := app.Driver().CanvasForObject(o); c != nil {
		return c
	}
	for _, w := range app.Driver().AllWindows() {
		found := false
		Walk(top(w.Canvas()), nil, func(n *Node) bool {
			found = found || n.Object == o
			return !found
		})
		if found {
			return w.Canvas()
		}
	}
	return nil
}

// scrollAround is the nearest thing around o that scrolls; nil for none.
func scrollAround(o fyne.CanvasObject) (found *container.Scroll) {
	c := canvasOf(o)
	if c == nil {
		return nil
	}
	Walk(top(c), nil, func(n *Node) bool {
		if n.Object != o {
			return true
		}
		for p := n.Parent; p != nil && found == nil; p = p.Parent {
			found, _ = p.Object.(*container.Scroll)
		}
		return false
	})
	return found
}

// reveal scrolls until o lies in view, with a little room around it.
func reveal(o fyne.CanvasObject) {
	if c := canvasOf(o); c != nil {
		Reveal(c, o)
	}
}

// Reveal does so on a canvas that does not know o yet, since it has not been
// drawn.
func Reveal(c fyne.Canvas, o fyne.CanvasObject) {
	Walk(top(c), nil, func(n *Node) bool {
		if n.Object != o {
			return true
		}
		for p := n.Parent; p != nil; p = p.Parent {
			s, ok := p.Object.(*container.Scroll)
			if !ok {
				continue
			}
			const room = 16
			dy := float32(0)
			if over := n.Box.Y + n.Box.H + room - (p.Box.Y + p.Box.H); over > 0 {
				dy = over
			}
			if under := p.Box.Y + room - (n.Box.Y - dy); under > 0 {
				dy -= under
			}
			if dy != 0 {
				s.ScrollToOffset(fyne.NewPos(s.Offset.X, max(s.Offset.Y+dy, 0)))
			}
			break
		}
		return false
	})
}

// unfolded brings what has just opened into view, with the field it belongs to
// where both fit. Its place is known only once the page is laid out with it.
func unfolded(field, opened fyne.CanvasObject) {
	c := canvasOf(field)
	if c == nil {
		return
	}
	Walk(top(c), nil, func(n *Node) bool {
		if n.Object != field {
			return true
		}
		for p := n.Parent; p != nil; p = p.Parent {
			if page, ok := p.Object.(*Page); ok {
				page.Refresh()
			}
		}
		return false
	})
	Reveal(c, field)
	Reveal(c, opened)
}

// RevealWhole brings a field into view with what has just been said of it.
func RevealWhole(field fyne.CanvasObject) { unfolded(field, field) }

// keyed is a page or a question that knows some keys by itself.
type keyed interface {
	pageKey(*fyne.KeyEvent) bool
}

// passKey offers a key nobody wanted to the page that o stands on.
func passKey(o fyne.CanvasObject, ev *fyne.KeyEvent) {
	if c := canvasOf(o); c != nil {
		pressKey(c, ev)
	}
}

func pressKey(c fyne.Canvas, ev *fyne.KeyEvent) {
	done := false
	Walk(top(c), nil, func(n *Node) bool {
		if p, ok := n.Object.(keyed); ok && !done {
			done = p.pageKey(ev)
		}
		return !done
	})
}

// Keys lets a window's page answer Escape, Page Up and the like when nothing
// on it has the keyboard; e may be nil. Call it once for each window.
func Keys(c fyne.Canvas, e *Echoes) {
	e.listen(c)
	c.SetOnTypedKey(func(ev *fyne.KeyEvent) { pressKey(c, ev) })
}
