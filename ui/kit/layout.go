package kit

import (
	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/container"
)

// The toolkit asks for a height before it says the width, which wrapped text
// cannot answer. The layouts here give every child its width first and then
// ask again, so that one pass is enough.

// heightAt gives o the width w and tells how high it then wants to be.
func heightAt(o fyne.CanvasObject, w float32) float32 {
	if o.Size().Width != w {
		o.Resize(fyne.NewSize(w, o.MinSize().Height))
	}
	return o.MinSize().Height
}

// natural is the width an object takes when it has the room.
func natural(o fyne.CanvasObject) float32 {
	if n, ok := o.(interface{ natural() float32 }); ok {
		return n.natural()
	}
	if c, ok := o.(*fyne.Container); ok {
		if n, ok := c.Layout.(interface {
			natural([]fyne.CanvasObject) float32
		}); ok {
			return n.natural(c.Objects)
		}
	}
	return o.MinSize().Width
}

// column stacks things, all as wide as itself.
type column struct{ gap float32 }

func (c column) Layout(objs []fyne.CanvasObject, size fyne.Size) {
	y := float32(0)
	for _, o := range objs {
		if !o.Visible() {
			continue
		}
		h := heightAt(o, size.Width)
		o.Move(fyne.NewPos(0, y))
		o.Resize(fyne.NewSize(size.Width, h))
		y += h + c.gap
	}
}

func (c column) MinSize(objs []fyne.CanvasObject) fyne.Size {
	var s fyne.Size
	for _, o := range objs {
		if !o.Visible() {
			continue
		}
		m := o.MinSize()
		if s.Height > 0 {
			s.Height += c.gap
		}
		s.Width, s.Height = max(s.Width, m.Width), s.Height+m.Height
	}
	return s
}

func (c column) natural(objs []fyne.CanvasObject) float32 {
	w := float32(0)
	for _, o := range objs {
		if o.Visible() {
			w = max(w, natural(o))
		}
	}
	return w
}

// flow sets things beside each other, each at its natural width, and goes on
// below when the line is full. Things of one line stand on one middle line, or
// with top on one upper line.
type flow struct {
	gap   float32
	top   bool
	width float32 // as last laid out; MinSize must know it
}

func (f *flow) Layout(objs []fyne.CanvasObject, size fyne.Size) {
	f.width = size.Width
	f.place(objs, true)
}

func (f *flow) MinSize(objs []fyne.CanvasObject) fyne.Size {
	w := float32(0)
	for _, o := range objs {
		if o.Visible() {
			w = max(w, o.MinSize().Width)
		}
	}
	return fyne.NewSize(w, f.place(objs, false))
}

func (f *flow) natural(objs []fyne.CanvasObject) float32 {
	w := -f.gap
	for _, o := range objs {
		if o.Visible() {
			w += natural(o) + f.gap
		}
	}
	return max(w, 0)
}

// place lays the lines out, or only adds up how high they are.
func (f *flow) place(objs []fyne.CanvasObject, move bool) (height float32) {
	width := f.width
	if width == 0 {
		width = f.natural(objs)
	}
	var line []fyne.CanvasObject
	x, lineHeight := float32(0), float32(0)
	flush := func() {
		for _, o := range line {
			if move {
				y := height
				if !f.top {
					y += (lineHeight - o.Size().Height) / 2
				}
				o.Move(fyne.NewPos(o.Position().X, y))
			}
		}
		height += lineHeight
		line, x, lineHeight = nil, 0, 0
	}
	for _, o := range objs {
		if !o.Visible() {
			continue
		}
		w := max(min(natural(o), width), o.MinSize().Width)
		if len(line) > 0 && x+w > width+0.5 {
			flush()
			height += f.gap
		}
		h := o.MinSize().Height
		if move {
			h = heightAt(o, w)
			o.Move(fyne.NewPos(x, height))
			o.Resize(fyne.NewSize(w, h))
		}
		line = append(line, o)
		x += w + f.gap
		lineHeight = max(lineHeight, h)
	}
	flush()
	return height
}

// beside keeps its first object at its own width on the left, as high as the
// rest, which takes all other width.
type beside struct {
	gap     float32
	stretch bool // the first is as high as the second
	top     bool // the first stands at the top when it is the lower one
}

func (b beside) Layout(objs []fyne.CanvasObject, size fyne.Size) {
	left, right := objs[0], objs[1]
	lw := left.MinSize().Width
	w := max(size.Width-lw-b.gap, 0)
	rh := heightAt(right, w)
	lh := left.MinSize().Height
	h := max(size.Height, rh, lh)
	right.Move(fyne.NewPos(lw+b.gap, (h-rh)/2))
	right.Resize(fyne.NewSize(w, rh))
	if b.stretch {
		lh = h
		right.Move(fyne.NewPos(lw+b.gap, 0))
	}
	y := (h - lh) / 2
	if b.top {
		y = 0
	}
	left.Move(fyne.NewPos(0, y))
	left.Resize(fyne.NewSize(lw, lh))
}

func (b beside) MinSize(objs []fyne.CanvasObject) fyne.Size {
	l, r := objs[0].MinSize(), objs[1].MinSize()
	return fyne.NewSize(l.Width+b.gap+r.Width, max(l.Height, r.Height))
}

func (b beside) natural(objs []fyne.CanvasObject) float32 {
	return natural(objs[0]) + b.gap + natural(objs[1])
}

// inset keeps room around its last object; those before lie behind it, filling all.
type inset struct{ x, y float32 }

func (i inset) Layout(objs []fyne.CanvasObject, size fyne.Size) {
	inner := objs[len(objs)-1]
	w := max(size.Width-2*i.x, 0)
	h := max(heightAt(inner, w), size.Height-2*i.y)
	inner.Move(fyne.NewPos(i.x, i.y))
	inner.Resize(fyne.NewSize(w, h))
	for _, o := range objs[:len(objs)-1] {
		o.Move(fyne.NewPos(0, 0))
		o.Resize(size)
	}
}

func (i inset) MinSize(objs []fyne.CanvasObject) fyne.Size {
	return objs[len(objs)-1].MinSize().AddWidthHeight(2*i.x, 2*i.y)
}

func (i inset) natural(objs []fyne.CanvasObject) float32 {
	return natural(objs[len(objs)-1]) + 2*i.x
}

// atMost keeps its one object no wider than a number of units.
type atMost struct{ width float32 }

func (a atMost) Layout(objs []fyne.CanvasObject, size fyne.Size) {
	w := min(size.Width, a.width)
	h := heightAt(objs[0], w)
	objs[0].Move(fyne.NewPos(0, 0))
	objs[0].Resize(fyne.NewSize(w, h))
}

func (a atMost) MinSize(objs []fyne.CanvasObject) fyne.Size { return objs[0].MinSize() }

func (a atMost) natural([]fyne.CanvasObject) float32 { return a.width }

// Column stacks things with the usual space between.
func (k *Kit) Column(objs ...fyne.CanvasObject) *fyne.Container {
	return container.New(column{gap}, objs...)
}

// Tight stacks things that belong together.
func (k *Kit) Tight(objs ...fyne.CanvasObject) *fyne.Container {
	return container.New(column{gapSmall}, objs...)
}

// Row sets things beside each other and goes on below when there is no room.
func (k *Kit) Row(objs ...fyne.CanvasObject) *fyne.Container {
	return container.New(&flow{gap: gap}, objs...)
}

// Beside keeps left at its own width and gives the rest to right.
func (k *Kit) Beside(left, right fyne.CanvasObject) *fyne.Container {
	return container.New(beside{gap: gap}, left, right)
}
