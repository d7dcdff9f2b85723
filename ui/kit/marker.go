package kit

import (
	"image"
	"slices"
	"strconv"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/canvas"
	"fyne.io/fyne/v2/container"

	"quietwater/model"
)

// Spot is a place in a picture, in its pixels.
type Spot struct{ X, Y float32 }

// Marker shows a picture with handles to be drawn to places on it, by mouse or
// by arrow keys, and a glass that enlarges what lies under the one in hand.
type Marker struct {
	group
	k       *Kit
	id      string
	img     image.Image
	names   []model.Msg
	at      []Spot
	past    [][]Spot
	active  int
	pic     *canvas.Image
	handles []*handle
	lines   []*canvas.Line
	joins   [][2]int
	glass   *canvas.Image
	cross   [2]*canvas.Line
	said    *fyne.Container
	board   *fyne.Container
	changed func()
}

const (
	handleSize  = 50
	mostHigh    = 520 // of the picture, so that it fits a window of 800
	lessHigh    = 190 // the larger type is: the words about it take the rest
	glassPixels = 90  // of the picture in the glass, each way
	keyStep     = 250 // presses of an arrow across the picture
	rim         = 25  // about the picture, for rings on its edge
)

// Marker makes one. joins are pairs of handles a line is drawn between. id and
// a number name the handles.
func (k *Kit) Marker(id string, img image.Image, names []model.Msg, at []Spot, joins [][2]int, changed func()) *Marker {
	m := &Marker{k: k, id: id, img: img, names: names, at: slices.Clone(at), joins: joins, changed: changed, said: k.Tight()}
	m.pic = canvas.NewImageFromImage(img)
	m.pic.FillMode = canvas.ImageFillStretch
	m.glass = &canvas.Image{FillMode: canvas.ImageFillStretch, ScaleMode: canvas.ImageScalePixels}
	things := []fyne.CanvasObject{m.pic}
	for range joins {
		l := canvas.NewLine(k.pal.Focus)
		l.StrokeWidth = 2
		m.lines = append(m.lines, l)
		things = append(things, l)
	}
	for i := range names {
		h := m.handle(i, id+"-"+strconv.Itoa(i+1))
		m.handles = append(m.handles, h)
		things = append(things, h)
	}
	things = append(things, m.glass)
	for i := range m.cross {
		m.cross[i] = canvas.NewLine(k.pal.Focus)
		m.cross[i].StrokeWidth = 1.5
		things = append(things, m.cross[i])
	}
	m.board = container.New(&board{m: m}, things...)
	m.hold(m, k.Tight(m.said, m.board))
	m.take(0)
	return m
}

// Spots are where the handles stand.
func (m *Marker) Spots() []Spot { return slices.Clone(m.at) }

// Handle is one of the handles, to be given the keyboard.
func (m *Marker) Handle(i int) fyne.Focusable { return m.handles[i] }

// Undo puts the handles back to where they were before the last was moved.
func (m *Marker) Undo() {
	if n := len(m.past); n > 0 {
		m.at, m.past = m.past[n-1], m.past[:n-1]
		m.show()
	}
}

// take has the glass show what lies under a handle.
func (m *Marker) take(i int) {
	m.active = i
	m.said.Objects = []fyne.CanvasObject{m.k.BothStrong(m.names[i])}
	m.said.Refresh()
	m.show()
}

// move moves the active handle; begin says that a new movement begins, which
// can be taken back.
func (m *Marker) move(dx, dy float32, begin bool) {
	if begin {
		m.past = append(m.past, slices.Clone(m.at))
	}
	b := m.img.Bounds()
	p := &m.at[m.active]
	p.X = min(max(p.X+dx, 0), float32(b.Dx()-1))
	p.Y = min(max(p.Y+dy, 0), float32(b.Dy()-1))
	m.show()
	if m.changed != nil {
		m.changed()
	}
}

func (m *Marker) show() {
	if s, ok := m.img.(interface {
		SubImage(image.Rectangle) image.Image
	}); ok {
		p := m.at[m.active]
		at := image.Pt(int(p.X), int(p.Y)).Add(m.img.Bounds().Min)
		r := image.Rect(at.X-glassPixels/2, at.Y-glassPixels/2, at.X+glassPixels/2, at.Y+glassPixels/2)
		m.glass.Image = padded(s.SubImage(r), r)
		m.glass.Refresh()
	}
	// Only what has moved is drawn anew: the picture is large and drawn slowly.
	m.board.Layout.Layout(m.board.Objects, m.board.Size())
	for _, l := range m.lines {
		l.Refresh()
	}
}

// padded is a piece of a picture that may reach beyond its rim.
func padded(img image.Image, r image.Rectangle) image.Image {
	out := image.NewNRGBA(image.Rect(0, 0, r.Dx(), r.Dy()))
	b := img.Bounds()
	for y := range r.Dy() {
		for x := range r.Dx() {
			if p := image.Pt(r.Min.X+x, r.Min.Y+y); p.In(b) {
				out.Set(x, y, img.At(p.X, p.Y))
			} else {
				out.Set(x, y, surround)
			}
		}
	}
	return out
}

// board lays out the picture, its handles and the glass beside it.
type board struct {
	m     *Marker
	width float32
	scale float32 // of the picture as shown
}

func (b *board) sizes() (pic fyne.Size, glass float32) {
	size := b.m.img.Bounds()
	width := b.width
	if width <= 0 {
		width = 900
	}
	glass = min(max(width*0.24, 110), 240)
	w := max(width-glass-gap-2*rim, 60)
	high := mostHigh - lessHigh*(b.m.k.look.scale()-1)
	b.scale = min(w/float32(max(1, size.Dx())), high/float32(max(1, size.Dy())))
	return fyne.NewSize(float32(size.Dx())*b.scale, float32(size.Dy())*b.scale), glass
}

func (b *board) MinSize([]fyne.CanvasObject) fyne.Size {
	pic, glass := b.sizes()
	return fyne.NewSize(1, max(pic.Height+2*rim, glass))
}

func (b *board) Layout(_ []fyne.CanvasObject, size fyne.Size) {
	b.width = size.Width
	m := b.m
	pic, glass := b.sizes()
	m.pic.Resize(pic)
	m.pic.Move(fyne.NewPos(rim, rim))
	on := func(i int) fyne.Position { return fyne.NewPos(rim+m.at[i].X*b.scale, rim+m.at[i].Y*b.scale) }
	for i, h := range m.handles {
		h.scale = b.scale
		h.Resize(fyne.NewSquareSize(handleSize))
		h.Move(on(i).SubtractXY(handleSize/2, handleSize/2))
	}
	for i, j := range m.joins {
		m.lines[i].Position1, m.lines[i].Position2 = on(j[0]), on(j[1])
	}
	x := pic.Width + 2*rim + gap
	m.glass.Resize(fyne.NewSquareSize(glass))
	m.glass.Move(fyne.NewPos(x, 0))
	m.cross[0].Position1, m.cross[0].Position2 = fyne.NewPos(x, glass/2), fyne.NewPos(x+glass, glass/2)
	m.cross[1].Position1, m.cross[1].Position2 = fyne.NewPos(x+glass/2, 0), fyne.NewPos(x+glass/2, glass)
}

// handle is a ring to be drawn about.
type handle struct {
	control
	m        *Marker
	i        int
	scale    float32
	dragging bool
}

func (m *Marker) handle(i int, id string) *handle {
	h := &handle{m: m, i: i, scale: 1}
	h.k, h.id, h.label = m.k, id, m.k.t(m.names[i])
	ring := func(width float32, stroke bool) *canvas.Circle {
		c := canvas.NewCircle(clear)
		c.StrokeWidth, c.StrokeColor = width, m.k.pal.Paper
		if stroke {
			c.StrokeColor = m.k.pal.Ink
		}
		return c
	}
	word := canvas.NewText(strconv.Itoa(i+1), m.k.pal.Ink)
	word.TextSize, word.TextStyle.Bold, word.Alignment = 13, true, fyne.TextAlignCenter
	ground := canvas.NewCircle(m.k.pal.Paper)
	h.start(h, container.New(ringLayout{}, ring(6, false), ring(2.5, true), ground, word), 0, 0)
	h.act = func() { m.take(i) }
	h.key = func(ev *fyne.KeyEvent) bool {
		by := float32(max(m.img.Bounds().Dx(), m.img.Bounds().Dy())) / keyStep
		way, ok := map[fyne.KeyName][2]float32{fyne.KeyLeft: {-by, 0}, fyne.KeyRight: {by, 0}, fyne.KeyUp: {0, -by}, fyne.KeyDown: {0, by}}[ev.Name]
		if ok {
			m.active = i
			m.move(way[0], way[1], true)
		}
		return ok
	}
	return h
}

// FocusGained takes the handle in hand.
func (h *handle) FocusGained() {
	h.control.FocusGained()
	h.m.take(h.i)
}

// Dragged draws it about.
func (h *handle) Dragged(ev *fyne.DragEvent) {
	if !h.dragging {
		h.m.take(h.i)
	}
	h.m.move(ev.Dragged.DX/h.scale, ev.Dragged.DY/h.scale, !h.dragging)
	h.dragging = true
}

// DragEnd lets it go.
func (h *handle) DragEnd() { h.dragging = false }

// number is the size of the disc with a handle's number.
const number = 17

// ringLayout leaves the middle free to be seen and puts the number on the ring.
type ringLayout struct{}

func (ringLayout) MinSize([]fyne.CanvasObject) fyne.Size {
	return fyne.NewSquareSize(handleSize)
}

func (ringLayout) Layout(objs []fyne.CanvasObject, size fyne.Size) {
	for _, o := range objs[:2] {
		o.Resize(size.SubtractWidthHeight(number, number))
		o.Move(fyne.NewPos(number/2, number/2))
	}
	for _, o := range objs[2:] {
		o.Resize(fyne.NewSquareSize(number))
		o.Move(fyne.NewPos((size.Width-number)/2, 0))
	}
}
