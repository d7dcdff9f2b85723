package photo

import (
	"math"
	"sync"

	"quietwater/model/strip"
)

// light is linear red, green and blue; 1 is the brightest a picture can hold.
type light [3]float64

func (c light) plus(d light) light    { return light{c[0] + d[0], c[1] + d[1], c[2] + d[2]} }
func (c light) times(f float64) light { return light{c[0] * f, c[1] * f, c[2] * f} }

// least is the weakest channel: only white is high in all three.
func (c light) least() float64 { return math.Min(math.Min(c[0], c[1]), c[2]) }

func bright(c light) float64 { return 0.25*c[0] + 0.5*c[1] + 0.25*c[2] }

// ratio is light as a share of white, white being the paper's own colour.
func ratio(c, white, paper light) light {
	var out light
	for i := range 3 {
		out[i] = c[i] / math.Max(white[i], 1e-4) * paper[i]
	}
	return out
}

// apart is how unlike two lights are, as a share of the brighter.
func apart(a, b light) float64 {
	most := 0.0
	for c := range 3 {
		most = math.Max(most, math.Abs(a[c]-b[c])/math.Max(math.Max(a[c], b[c]), 0.02))
	}
	return most
}

// linear turns an sRGB byte into linear light (IEC 61966-2-1).
var linear = func() (t [256]float64) {
	for i := range t {
		t[i] = uncoded(float64(i) / 255)
	}
	return t
}()

// uncoded is the linear light of an sRGB value from 0 to 1.
func uncoded(v float64) float64 {
	if v <= 0.04045 {
		return v / 12.92
	}
	return math.Pow((v+0.055)/1.055, 2.4)
}

// coded is the sRGB byte of linear light.
func coded(x float64) float64 {
	x = clamp(x, 0, 1)
	if x <= 0.0031308 {
		return 255 * 12.92 * x
	}
	return 255 * (1.055*math.Pow(x, 1/2.4) - 0.055)
}

// pixels are the sRGB bytes of linear light in steps fine enough that none is
// off by one: a picture asks for millions, and a power each is slow.
var pixels = sync.OnceValue(func() []uint8 {
	t := make([]uint8, 1<<15+1)
	for i := range t {
		t[i] = uint8(math.Round(coded(float64(i) / (1 << 15))))
	}
	return t
})

func nominal(c strip.RGB) light { return light{linear[c[0]], linear[c[1]], linear[c[2]]} }

// Lab is a colour in CIE L*a*b* (D65, 2°): L 0 to 100.
type Lab struct{ L, A, B float64 }

// whiteD65 is the white of sRGB in XYZ: the sums of the rows of its matrix.
var whiteD65 = [3]float64{0.4124564 + 0.3575761 + 0.1804375, 1, 0.0193339 + 0.1191920 + 0.9503041}

// lab turns linear sRGB into Lab (IEC 61966-2-1, CIE 15). Light beyond what
// sRGB can show is kept, so that a fitted colour is not pulled to the edge.
func (c light) lab() Lab {
	x := (0.4124564*c[0] + 0.3575761*c[1] + 0.1804375*c[2]) / whiteD65[0]
	y := 0.2126729*c[0] + 0.7151522*c[1] + 0.0721750*c[2]
	z := (0.0193339*c[0] + 0.1191920*c[1] + 0.9503041*c[2]) / whiteD65[2]
	fx, fy, fz := labF(x), labF(y), labF(z)
	return Lab{116*fy - 16, 500 * (fx - fy), 200 * (fy - fz)}
}

func labF(t float64) float64 {
	if t > 216.0/24389 {
		return math.Cbrt(t)
	}
	return (24389.0/27*t + 16) / 116
}

// DE2000 is the colour difference CIEDE2000 with all weights 1 (Sharma, Wu,
// Dalal 2005).
func DE2000(p, q Lab) float64 {
	const seventh = 25 * 25 * 25 * 25 * 25 * 25 * 25
	c1, c2 := math.Hypot(p.A, p.B), math.Hypot(q.A, q.B)
	c7 := math.Pow((c1+c2)/2, 7)
	g := 0.5 * (1 - math.Sqrt(c7/(c7+seventh)))
	a1, a2 := (1+g)*p.A, (1+g)*q.A
	c1, c2 = math.Hypot(a1, p.B), math.Hypot(a2, q.B)
	h1, h2 := hue(a1, p.B), hue(a2, q.B)

	dL, dC := q.L-p.L, c2-c1
	dh, mean := h2-h1, h1+h2
	switch {
	case c1*c2 == 0:
		dh = 0
	case math.Abs(dh) <= 180:
		mean /= 2
	case mean < 360:
		dh, mean = dh-math.Copysign(360, dh), (mean+360)/2
	default:
		dh, mean = dh-math.Copysign(360, dh), (mean-360)/2
	}
	dH := 2 * math.Sqrt(c1*c2) * math.Sin(dh/2*math.Pi/180)

	l, c := (p.L+q.L)/2, (c1+c2)/2
	t := 1 - 0.17*cosine(mean-30) + 0.24*cosine(2*mean) + 0.32*cosine(3*mean+6) - 0.20*cosine(4*mean-63)
	sL := 1 + 0.015*(l-50)*(l-50)/math.Sqrt(20+(l-50)*(l-50))
	sC, sH := 1+0.045*c, 1+0.015*c*t
	turn := 30 * math.Exp(-math.Pow((mean-275)/25, 2))
	m7 := math.Pow(c, 7)
	rT := -2 * math.Sqrt(m7/(m7+seventh)) * math.Sin(2*turn*math.Pi/180)
	x, y, z := dL/sL, dC/sC, dH/sH
	return math.Sqrt(x*x + y*y + z*z + rT*y*z)
}

// hue is an angle in degrees, 0 to 360.
func hue(a, b float64) float64 {
	h := math.Atan2(b, a) * 180 / math.Pi
	if h < 0 {
		h += 360
	}
	return h
}

func cosine(degrees float64) float64 { return math.Cos(degrees * math.Pi / 180) }

// nearest is how far a colour is from its row: from the line through the
// blocks, since a reaction may stop between two of them.
func nearest(c Lab, row []Lab) float64 {
	best := math.Inf(1)
	for i, b := range row {
		best = math.Min(best, DE2000(c, b))
		if i > 0 {
			best = math.Min(best, DE2000(c, foot(c, row[i-1], b)))
		}
	}
	return best
}

// foot is the point between a and b that is nearest to c as the crow flies.
func foot(c, a, b Lab) Lab {
	l, x, y := b.L-a.L, b.A-a.A, b.B-a.B
	t := clamp(((c.L-a.L)*l+(c.A-a.A)*x+(c.B-a.B)*y)/math.Max(l*l+x*x+y*y, 1e-9), 0, 1)
	return Lab{a.L + t*l, a.A + t*x, a.B + t*y}
}
