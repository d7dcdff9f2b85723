package kit

import (
	"image"
	"math"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/canvas"
	"fyne.io/fyne/v2/container"
	"golang.org/x/image/draw"
)

// Photograph shows pieces of one photograph beside one another, as high as
// some lines of text or as the room allows, on the grey that every colour
// stands on.
func (k *Kit) Photograph(lines float32, pieces ...image.Image) *fyne.Container {
	p := &abreast{high: k.px(sizeText * lines)}
	row := container.New(p)
	for _, m := range pieces {
		img := canvas.NewImageFromImage(m)
		img.FillMode = canvas.ImageFillStretch
		b := m.Bounds()
		p.ratio = append(p.ratio, float32(b.Dx())/float32(max(1, b.Dy())))
		row.Add(img)
	}
	ground := canvas.NewRectangle(surround)
	ground.CornerRadius = 4
	return container.NewStack(ground, container.New(inset{gapTap, gapTap}, row))
}

// abreast sets pictures of equal height beside each other, smaller where the
// room is narrow.
type abreast struct {
	high  float32
	ratio []float32 // of width to height
	width float32   // that it was given last
}

func (a *abreast) height() float32 {
	sum := float32(0)
	for _, r := range a.ratio {
		sum += r
	}
	room := a.width - gapTap*float32(len(a.ratio)-1)
	if a.width == 0 || sum*a.high <= room {
		return a.high
	}
	return max(1, room/sum)
}

func (a *abreast) Layout(objs []fyne.CanvasObject, size fyne.Size) {
	a.width = size.Width
	h, x := a.height(), float32(0)
	for i, o := range objs {
		o.Move(fyne.NewPos(x, 0))
		o.Resize(fyne.NewSize(h*a.ratio[i], h))
		x += h*a.ratio[i] + gapTap
	}
}

func (a *abreast) MinSize([]fyne.CanvasObject) fyne.Size { return fyne.NewSize(1, a.height()) }

func (a *abreast) natural([]fyne.CanvasObject) float32 {
	sum := gapTap * float32(len(a.ratio)-1)
	for _, r := range a.ratio {
		sum += r * a.high
	}
	return sum
}

// Lay puts a picture into a frame of a drawing that has fit pixels a unit, as
// large as it goes and in its middle. There may be none.
func Lay(on draw.Image, m image.Image, frame image.Rectangle, fit float64) {
	if m == nil || m.Bounds().Empty() {
		return
	}
	px := func(units int) int { return int(math.Round(float64(units) * fit)) }
	in := image.Rect(px(frame.Min.X), px(frame.Min.Y), px(frame.Max.X), px(frame.Max.Y)).Inset(max(1, px(2)))
	b := m.Bounds()
	w, h := in.Dx(), b.Dy()*in.Dx()/b.Dx()
	if h > in.Dy() {
		w, h = b.Dx()*in.Dy()/b.Dy(), in.Dy()
	}
	to := image.Rect(0, 0, w, h).Add(in.Min).Add(image.Pt((in.Dx()-w)/2, (in.Dy()-h)/2))
	draw.Draw(on, in, image.White, image.Point{}, draw.Src)
	draw.ApproxBiLinear.Scale(on, to, m, b, draw.Src, nil)
}

// Shrunk is a picture at most so many pixels high.
func Shrunk(m image.Image, high int) image.Image {
	b := m.Bounds()
	if b.Dy() <= high {
		return m
	}
	out := image.NewRGBA(image.Rect(0, 0, max(1, b.Dx()*high/b.Dy()), high))
	draw.ApproxBiLinear.Scale(out, out.Bounds(), m, b, draw.Src, nil)
	return out
}
