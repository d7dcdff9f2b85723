package photo

import (
	"image"
	"math"
)

// perMM is how finely a piece of the picture is shown, in pixels a millimetre.
const perMM = 8

// PadImage is pad i of the strip as it was photographed, set straight, with
// some of the strip's back on both sides.
func (r Reading) PadImage(p *Picture, i int) *image.NRGBA {
	k := r.Place.kind
	pad, wide := k.Strip.Pads[i], k.Strip.WidthMM
	return p.straight(r.Place.gain, pad.SizeMM*1.7, wide*1.1, func(x, y float64) Point {
		return r.Place.view.at(r.Place.pose.at(pad.CenterMM+(x-0.5)*pad.SizeMM*1.7, (y-0.5)*wide*1.1))
	})
}

// RowImage is the chart's row of pad i in the same picture, set straight, with
// the values that most charts print below it.
func (r Reading) RowImage(p *Picture, i int) *image.NRGBA {
	row, _ := r.Place.kind.Row(r.Place.kind.Strip.Pads[i].Pad)
	lo, hi := Point{math.Inf(1), math.Inf(1)}, Point{math.Inf(-1), math.Inf(-1)}
	for _, b := range row.Blocks {
		lo = Point{math.Min(lo.X, b.Rect[0]), math.Min(lo.Y, b.Rect[1])}
		hi = Point{math.Max(hi.X, b.Rect[0]+b.Rect[2]), math.Max(hi.Y, b.Rect[1]+b.Rect[3])}
	}
	const rim, values = 1.2, 3.2
	below := values
	for _, other := range r.Place.kind.Chart.Rows {
		for _, b := range other.Blocks {
			if gap := b.Rect[1] - hi.Y; gap > 0 {
				below = math.Min(below, 0.9*gap)
			}
		}
	}
	below = math.Min(below, r.Place.kind.Chart.HeightMM-hi.Y)
	lo, hi = lo.minus(Point{rim, rim}), hi.plus(Point{rim, math.Max(0, below)})
	return p.straight(r.Place.gain, hi.X-lo.X, hi.Y-lo.Y, func(x, y float64) Point {
		return r.Place.view.at(Point{lo.X + x*(hi.X-lo.X), lo.Y + y*(hi.Y-lo.Y)})
	})
}

// evidenceSide is how long the picture that is kept is at most, in pixels.
const evidenceSide = 1400

// Evidence is chart and strip set straight, as they were photographed, in one
// picture: what a reading rests on.
func (r Reading) Evidence(p *Picture) *image.NRGBA {
	const rim = 4
	k, l := r.Place.kind, r.Place.pose
	lo, hi := Point{}, Point{k.Chart.WidthMM, k.Chart.HeightMM}
	for _, q := range [4]Point{l.at(0, k.Strip.WidthMM/2), l.at(0, -k.Strip.WidthMM/2), l.at(k.Strip.LengthMM, k.Strip.WidthMM/2), l.at(k.Strip.LengthMM, -k.Strip.WidthMM/2)} {
		lo = Point{math.Min(lo.X, q.X), math.Min(lo.Y, q.Y)}
		hi = Point{math.Max(hi.X, q.X), math.Max(hi.Y, q.Y)}
	}
	lo, hi = lo.minus(Point{rim, rim}), hi.plus(Point{rim, rim})
	w, h := hi.X-lo.X, hi.Y-lo.Y
	return p.drawn(math.Min(perMM, evidenceSide/math.Max(w, h)), 1, w, h, func(x, y float64) Point {
		return r.Place.view.at(Point{lo.X + x*w, lo.Y + y*h})
	})
}

// straight draws a piece of the plane, a dark picture's brighter by a gain that is
// the same for all of it and every colour, w by h millimetres large; from says where
// each of its points, counted from 0 to 1, is seen.
func (p *Picture) straight(gain, w, h float64, from func(x, y float64) Point) *image.NRGBA {
	return p.drawn(straightScale(w, h), gain, w, h, from)
}

// drawn is straight with a scale, in pixels a millimetre.
func (p *Picture) drawn(scale, gain, w, h float64, from func(x, y float64) Point) *image.NRGBA {
	dw, dh := max(1, int(w*scale)), max(1, int(h*scale))
	out := image.NewNRGBA(image.Rect(0, 0, dw, dh))
	byteOf := pixels()
	for y := range dh {
		for x := range dw {
			c := p.at(from((float64(x)+0.5)/float64(dw), (float64(y)+0.5)/float64(dh)))
			at := out.Pix[out.PixOffset(x, y):]
			for ch := range 3 {
				at[ch] = byteOf[int(clamp(gain*c[ch], 0, 1)*float64(len(byteOf)-1)+0.5)]
			}
			at[3] = 255
		}
	}
	return out
}

// straightScale is the pixels a millimetre gets in a straightened piece.
func straightScale(w, h float64) float64 {
	return math.Min(perMM, 1200/math.Max(1, math.Max(w, h)))
}
