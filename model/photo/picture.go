package photo

import (
	"image"
	"image/color"
	"math"
	"runtime"
	"sync"
)

// LongSide is what a picture is shrunk to before it is read, in pixels: a
// strip pad of 5 mm beside a chart that fills the picture is still some 30
// pixels wide, and a phone's noise is averaged away.
const LongSide = 1600

// Orientation is how a picture lies in its file, as EXIF counts it: 1 is
// upright, 6 has to be turned a quarter to the right. Others count as 1.
type Orientation int

// Picture is an upright picture in sRGB bytes, at most [LongSide] long.
type Picture struct {
	W, H  int
	Scale float64       // its pixels to one of the file's: 1 or less
	pix   []uint8       // red, green, blue
	light *[256]float64 // of a byte
	tone  tone          // that the light is freed of
}

// New shrinks a decoded picture by averaging areas and sets it upright.
func New(img image.Image, o Orientation) *Picture {
	b := img.Bounds()
	w, h := b.Dx(), b.Dy()
	if w <= 0 || h <= 0 {
		return &Picture{}
	}
	scale := min(1, LongSide/float64(max(w, h)))
	dw, dh := max(1, int(math.Round(float64(w)*scale))), max(1, int(math.Round(float64(h)*scale)))
	p := &Picture{W: dw, H: dh, Scale: scale, light: &linear}
	switch m := img.(type) {
	case *image.YCbCr:
		p.pix = fromYCbCr(m, dw, dh)
	case *image.NRGBA:
		p.pix = fromPacked(m.Pix[m.PixOffset(b.Min.X, b.Min.Y):], m.Stride, w, h, dw, dh)
	case *image.RGBA:
		p.pix = fromPacked(m.Pix[m.PixOffset(b.Min.X, b.Min.Y):], m.Stride, w, h, dw, dh)
	default:
		m2 := copied(img)
		p.pix = fromPacked(m2.Pix, m2.Stride, w, h, dw, dh)
	}
	return p.upright(o)
}

// copied brings rare kinds of pictures (palettes, grey, 16 bits) into bytes.
func copied(img image.Image) *image.NRGBA {
	b := img.Bounds()
	out := image.NewNRGBA(image.Rect(0, 0, b.Dx(), b.Dy()))
	inBands(b.Dy(), func(from, to int) {
		for y := from; y < to; y++ {
			for x := range b.Dx() {
				out.Set(x, y, img.At(b.Min.X+x, b.Min.Y+y))
			}
		}
	})
	return out
}

// plane is one channel of a picture.
type plane struct {
	pix          []uint8
	w, h         int
	stride, step int
}

func fromPacked(pix []uint8, stride, w, h, dw, dh int) []uint8 {
	out := make([]uint8, 3*dw*dh)
	for c := range 3 {
		shrink(plane{pix[c:], w, h, stride, 4}, plane{out[c:], dw, dh, 3 * dw, 3})
	}
	return out
}

// fromYCbCr shrinks before it turns colours: there are six times fewer to turn.
func fromYCbCr(m *image.YCbCr, dw, dh int) []uint8 {
	b := m.Rect
	cw, ch := chromaSize(m)
	out := make([]uint8, 3*dw*dh)
	c := m.COffset(b.Min.X, b.Min.Y)
	shrink(plane{m.Y[m.YOffset(b.Min.X, b.Min.Y):], b.Dx(), b.Dy(), m.YStride, 1}, plane{out, dw, dh, 3 * dw, 3})
	shrink(plane{m.Cb[c:], cw, ch, m.CStride, 1}, plane{out[1:], dw, dh, 3 * dw, 3})
	shrink(plane{m.Cr[c:], cw, ch, m.CStride, 1}, plane{out[2:], dw, dh, 3 * dw, 3})
	inBands(dh, func(from, to int) {
		for i := from * dw * 3; i < to*dw*3; i += 3 {
			out[i], out[i+1], out[i+2] = color.YCbCrToRGB(out[i], out[i+1], out[i+2])
		}
	})
	return out
}

func chromaSize(m *image.YCbCr) (w, h int) {
	w, h = m.Rect.Dx(), m.Rect.Dy()
	switch m.SubsampleRatio {
	case image.YCbCrSubsampleRatio422:
		w = (w + 1) / 2
	case image.YCbCrSubsampleRatio420:
		w, h = (w+1)/2, (h+1)/2
	case image.YCbCrSubsampleRatio440:
		h = (h + 1) / 2
	case image.YCbCrSubsampleRatio411:
		w = (w + 3) / 4
	case image.YCbCrSubsampleRatio410:
		w, h = (w+3)/4, (h+1)/2
	}
	return w, h
}

// share is how much of a source pixel a shrunk one covers, of 256.
type share struct {
	from int
	of   []uint32
}

// shares lays n shrunk pixels over m of the source.
func shares(m, n int) []share {
	out := make([]share, n)
	for i := range out {
		lo, hi := float64(i)*float64(m)/float64(n), float64(i+1)*float64(m)/float64(n)
		s := share{from: min(int(lo), m-1)}
		sum := uint32(0)
		for x := s.from; x < m && float64(x) < hi-1e-9; x++ {
			part := (math.Min(hi, float64(x+1)) - math.Max(lo, float64(x))) / (hi - lo)
			w := uint32(math.Round(256 * part))
			s.of, sum = append(s.of, w), sum+w
		}
		s.of[len(s.of)/2] += 256 - sum // what rounding lost
		out[i] = s
	}
	return out
}

// shrink averages areas of src into dst.
func shrink(src, dst plane) {
	columns, rows := shares(src.w, dst.w), shares(src.h, dst.h)
	inBands(dst.h, func(from, to int) {
		sum := make([]uint32, src.w)
		for y := from; y < to; y++ {
			clear(sum)
			for i, weight := range rows[y].of {
				addRow(sum, src.pix[(rows[y].from+i)*src.stride:], src.step, weight)
			}
			line := dst.pix[y*dst.stride:]
			for x, c := range columns {
				total := uint32(1 << 15)
				for i, weight := range c.of {
					total += sum[c.from+i] * weight
				}
				line[x*dst.step] = uint8(total >> 16)
			}
		}
	})
}

func addRow(sum []uint32, row []uint8, step int, weight uint32) {
	if step == 1 {
		row = row[:len(sum)]
		for x, v := range row {
			sum[x] += uint32(v) * weight
		}
		return
	}
	for x := range sum {
		sum[x] += uint32(row[x*step]) * weight
	}
}

// inBands shares n rows among the processors.
func inBands(n int, do func(from, to int)) {
	bands := min(max(1, runtime.GOMAXPROCS(0)), 4)
	var wg sync.WaitGroup
	for i := range bands {
		wg.Go(func() { do(i*n/bands, (i+1)*n/bands) })
	}
	wg.Wait()
}

// upright turns and mirrors a picture as its orientation says.
func (p *Picture) upright(o Orientation) *Picture {
	if o < 2 || o > 8 {
		return p
	}
	q := &Picture{W: p.W, H: p.H, Scale: p.Scale, light: p.light, pix: make([]uint8, len(p.pix))}
	if o >= 5 {
		q.W, q.H = p.H, p.W
	}
	for y := range q.H {
		for x := range q.W {
			sx, sy := o.source(x, y, p.W, p.H)
			copy(q.pix[3*(y*q.W+x):][:3], p.pix[3*(sy*p.W+sx):])
		}
	}
	return q
}

// source is where in the file the upright pixel comes from; w and h are those
// of the file.
func (o Orientation) source(x, y, w, h int) (int, int) {
	switch o {
	case 2:
		return w - 1 - x, y
	case 3:
		return w - 1 - x, h - 1 - y
	case 4:
		return x, h - 1 - y
	case 5:
		return y, x
	case 6:
		return y, h - 1 - x
	case 7:
		return w - 1 - y, h - 1 - x
	case 8:
		return w - 1 - y, x
	}
	return x, y
}

// smaller is the picture with a long side of at most n, and what its
// coordinates are multiplied with to be those of p.
func (p *Picture) smaller(n int) (*Picture, float64) {
	long := max(p.W, p.H)
	if long <= n {
		return p, 1
	}
	q := &Picture{W: max(1, p.W*n/long), H: max(1, p.H*n/long), light: p.light}
	q.pix = make([]uint8, 3*q.W*q.H)
	for c := range 3 {
		shrink(plane{p.pix[c:], p.W, p.H, 3 * p.W, 3}, plane{q.pix[c:], q.W, q.H, 3 * q.W, 3})
	}
	return q, float64(p.W) / float64(q.W)
}

// Image is the picture as the standard library has it.
func (p *Picture) Image() *image.NRGBA {
	m := image.NewNRGBA(image.Rect(0, 0, p.W, p.H))
	for i := range p.W * p.H {
		copy(m.Pix[4*i:], p.pix[3*i:3*i+3])
		m.Pix[4*i+3] = 255
	}
	return m
}

// inside reports a point of the picture.
func (p *Picture) inside(q Point) bool {
	return q.X >= 0 && q.Y >= 0 && q.X <= float64(p.W-1) && q.Y <= float64(p.H-1)
}

// at is the linear light at a point, between the pixels around it; a point
// outside has that of the nearest edge. Whole numbers are pixel centres.
func (p *Picture) at(q Point) light {
	if q.X != q.X || q.Y != q.Y { // a view may have no picture of a point
		q = Point{}
	}
	x, y := clamp(q.X, 0, float64(p.W-1)), clamp(q.Y, 0, float64(p.H-1))
	x0, y0 := min(int(x), max(0, p.W-2)), min(int(y), max(0, p.H-2))
	fx, fy := x-float64(x0), y-float64(y0)
	right, down := 3, 3*p.W
	if p.W == 1 {
		right = 0
	}
	if p.H == 1 {
		down = 0
	}
	i := 3 * (y0*p.W + x0)
	var out light
	for c := range 3 {
		a := p.light[p.pix[i+c]]*(1-fx) + p.light[p.pix[i+right+c]]*fx
		b := p.light[p.pix[i+down+c]]*(1-fx) + p.light[p.pix[i+down+right+c]]*fx
		out[c] = a*(1-fy) + b*fy
	}
	return out
}

func clamp(x, lo, hi float64) float64 { return math.Max(lo, math.Min(hi, x)) }
