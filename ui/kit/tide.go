package kit

import (
	"image"
	"image/color"
	"math"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/canvas"
	"fyne.io/fyne/v2/container"
)

// TideSteps is how many steps above "note" the tide mark has.
const TideSteps = 5

// TideMark is our sign for how soon: a narrow gauge, filled from below to so
// many fifths, with a small wave on top. urgency runs from 0 (note, empty) to
// 5 (emergency, full). The words always stand beside it.
func (k *Kit) TideMark(urgency int) fyne.CanvasObject { return k.tideMark(urgency, 76) }

func (k *Kit) tideMark(urgency int, high float32) fyne.CanvasObject {
	p := k.pal
	r := canvas.NewRaster(func(w, h int) image.Image { return TideImage(w, h, urgency, p.Water, p.Card, p.Ink) })
	r.SetMinSize(fyne.NewSize(k.px(24), k.px(high)))
	return r
}

// TideImage draws the tide mark into w by h pixels: the water, the empty part
// and the outline with its five lines each in their colour.
func TideImage(w, h, urgency int, water, empty, line color.NRGBA) *image.NRGBA {
	img := image.NewNRGBA(image.Rect(0, 0, w, h))
	urgency = min(max(urgency, 0), TideSteps)
	W, H := float64(w), float64(h)
	edge := math.Max(1.5, W/12) // of the outline
	radius := W / 4
	// The fifth line lies a little under the rim, so that all five can be seen.
	floor, rim := H-edge, edge+W/3
	level := func(i int) float64 { return floor - (floor-rim)*float64(i)/TideSteps }
	wave := math.Min(W/14, 4)
	for y := range h {
		for x := range w {
			fx, fy := float64(x)+0.5, float64(y)+0.5
			outside := roundDistance(fx, fy, W, H, radius)
			body := cover(-outside)
			if body == 0 {
				continue
			}
			c := empty
			wet := 0.0
			if urgency == TideSteps {
				wet = 1
			} else if urgency > 0 {
				top := level(urgency) + wave*math.Sin(2*math.Pi*fx/W*1.5)
				wet = cover(fy - top)
			}
			c = mix(c, water, wet)
			for i := 1; i <= TideSteps; i++ {
				ink := line
				if wet > 0.5 {
					ink = empty
				}
				// The line at the surface would hide the wave.
				if i != urgency || urgency == TideSteps {
					c = mix(c, ink, cover(edge*0.3-math.Abs(fy-level(i))+0.5)*0.85)
				}
			}
			c = mix(c, line, cover(outside+edge))
			c.A = uint8(math.Round(255 * body))
			img.SetNRGBA(x, y, c)
		}
	}
	return img
}

// roundDistance is how far a point lies outside a rounded rectangle, negative
// inside.
func roundDistance(x, y, w, h, r float64) float64 {
	dx := math.Abs(x-w/2) - (w/2 - r)
	dy := math.Abs(y-h/2) - (h/2 - r)
	return math.Hypot(math.Max(dx, 0), math.Max(dy, 0)) + math.Min(math.Max(dx, dy), 0) - r
}

// cover is how much of a pixel lies on the good side of an edge d pixels away.
func cover(d float64) float64 { return math.Min(math.Max(d+0.5, 0), 1) }

func mix(a, b color.NRGBA, t float64) color.NRGBA {
	f := func(x, y uint8) uint8 { return uint8(math.Round(float64(x) + (float64(y)-float64(x))*t)) }
	return color.NRGBA{f(a.R, b.R), f(a.G, b.G), f(a.B, b.B), 0xff}
}

// edged is a card with a coloured edge between two lines: amber alone would
// not stand out from paper.
func (k *Kit) edged(inner fyne.CanvasObject, edge color.Color, outline color.Color) *fyne.Container {
	back := k.frame(edge, outline, max(k.pal.Border, 1.5))
	back.CornerRadius = corner + 6
	return container.New(inset{9, 9}, back, inner)
}

// Gauge shows how much of a limit is used up: water that rises in a glass to
// full as share goes from 0 to 1. The words and the number always stand beside
// it.
func (k *Kit) Gauge(share float64) fyne.CanvasObject {
	p := k.pal
	r := canvas.NewRaster(func(w, h int) image.Image { return GaugeImage(w, h, share, p.Water, p.Card, p.Ink) })
	r.SetMinSize(fyne.NewSize(k.px(32), k.px(76)))
	return r
}

// GaugeImage draws the gauge into w by h pixels. The rim is the limit; what is
// over it stands as a heavy line on top.
func GaugeImage(w, h int, share float64, water, empty, line color.NRGBA) *image.NRGBA {
	img := image.NewNRGBA(image.Rect(0, 0, w, h))
	W, H := float64(w), float64(h)
	edge := math.Max(1.5, W/16)
	rim, floor := edge*3, H-edge
	top := floor - (floor-rim)*math.Min(math.Max(share, 0), 1)
	for y := range h {
		for x := range w {
			fx, fy := float64(x)+0.5, float64(y)+0.5
			lean := W / 8 * fy / H // narrower at the foot
			side := math.Min(fx-lean, W-lean-fx)
			if side < 0 || fy < rim-edge && share <= 1 {
				continue
			}
			c := mix(empty, water, cover(fy-top))
			wall := math.Min(side, floor+edge-fy)
			c = mix(c, line, cover(edge-wall))
			c = mix(c, line, cover(edge/2-math.Abs(fy-rim))) // the limit
			if fy < rim-edge/2 {                             // over it
				c = line
			}
			img.SetNRGBA(x, y, c)
		}
	}
	return img
}
