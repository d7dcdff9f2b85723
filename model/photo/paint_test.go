package photo

import (
	"bytes"
	"fmt"
	"image"
	"image/jpeg"
	"math"
	"math/rand/v2"

	"quietwater/model"
	"quietwater/model/strip"
)

// Our own photographs: invented kinds of strip, painted from spectra under
// lamps and cameras of our own, so that nothing is set by the public pictures
// alone. Ink and pad have different pigments of the same daylight colour and
// drift apart under a lamp, as they do at home.

// spectrum is sampled from 400 to 700 nm, each 10 nm.
type spectrum [31]float64

func nm(i int) float64 { return 400 + 10*float64(i) }

func bell(at, wide float64) (s spectrum) {
	for i := range s {
		s[i] = math.Exp(-0.5 * math.Pow((nm(i)-at)/wide, 2))
	}
	return s
}

func (s spectrum) times(o spectrum) spectrum {
	for i := range s {
		s[i] *= o[i]
	}
	return s
}

// dyed is what lies between two depths of colour on a pad: Kubelka and Munk's
// ratio of what is swallowed to what is scattered goes with the dye there is.
func (s spectrum) dyed(o spectrum, f float64) spectrum {
	for i := range s {
		a, b := clamp(s[i], 0.004, 0.999), clamp(o[i], 0.004, 0.999)
		k := (1-f)*(1-a)*(1-a)/(2*a) + f*(1-b)*(1-b)/(2*b)
		s[i] = 1 + k - math.Sqrt(k*k+2*k)
	}
	return s
}

func dot(a, b spectrum) (sum float64) {
	for i := range a {
		sum += a[i] * b[i]
	}
	return sum
}

// hot is a black body's light (Planck's law).
func hot(kelvin float64) (s spectrum) {
	for i := range s {
		l := nm(i) * 1e-9
		s[i] = 1e-30 / math.Pow(l, 5) / (math.Exp(0.014388/(l*kelvin)) - 1)
	}
	return s.level()
}

func (s spectrum) level() spectrum {
	sum := 0.0
	for _, v := range s {
		sum += v / float64(len(s))
	}
	for i := range s {
		s[i] /= sum
	}
	return s
}

// led is a blue diode behind a phosphor, tube a lamp of three bands.
func led(kelvin float64) spectrum {
	warm := clamp((6500-kelvin)/4000, 0, 1)
	s, p := bell(452, 11), bell(560+40*warm, 55)
	for i := range s {
		s[i] = s[i]*(1.1-0.8*warm) + p[i]
	}
	return s.level()
}

func tube(kelvin float64) spectrum {
	s := hot(kelvin)
	for _, line := range [3][3]float64{{437, 6, 1.2}, {545, 7, 3}, {611, 7, 2.6}} {
		b := bell(line[0], line[1])
		for i := range s {
			s[i] = 0.75*s[i] + 0.9*line[2]*b[i]
		}
	}
	return s.level()
}

// eye is the colour matching of CIE 1931, by the fit of Wyman, Sloan and
// Shirley 2013 (JCGT 2:2, single- and multi-lobe, written from memory: it only
// has to make plausible pictures).
var eye = func() (out [3]spectrum) {
	lobe := func(l, a, m, s1, s2 float64) float64 {
		s := s1
		if l >= m {
			s = s2
		}
		return a * math.Exp(-0.5*math.Pow((l-m)/s, 2))
	}
	for i := range out[0] {
		l := nm(i)
		out[0][i] = lobe(l, 1.056, 599.8, 37.9, 31) + lobe(l, 0.362, 442, 16, 26.7) + lobe(l, -0.065, 501.1, 20.4, 26.2)
		out[1][i] = lobe(l, 0.821, 568.8, 46.9, 40.5) + lobe(l, 0.286, 530.9, 16.3, 31.1)
		out[2][i] = lobe(l, 1.217, 437, 11.8, 36) + lobe(l, 0.681, 459, 26, 13.8)
	}
	return out
}()

// seenBy is what three receptors make of a surface, white being 1.
func seenBy(receptors [3]spectrum, lamp, surface spectrum) light {
	var out light
	for c, r := range receptors {
		out[c] = dot(r.times(lamp), surface) / dot(r, lamp)
	}
	return out
}

// toRGB turns equal-white tristimulus values into linear sRGB.
func toRGB(xyz light) light {
	x, y, z := xyz[0]*whiteD65[0], xyz[1], xyz[2]*whiteD65[2]
	return light{3.2404542*x - 1.5371385*y - 0.4985314*z, -0.9692660*x + 1.8760108*y + 0.0415560*z, 0.0556434*x - 0.2040259*y + 1.0572252*z}
}

// pigments makes surfaces of a daylight colour from three dyes.
type pigments [3]spectrum

func (d pigments) surface(want light) spectrum {
	day := hot(6504)
	var cols [3]light
	for i, dye := range d {
		cols[i] = toRGB(seenBy(eye, day, dye))
	}
	x, ok := solve([]float64{cols[0][0], cols[1][0], cols[2][0]}, []float64{cols[0][1], cols[1][1], cols[2][1]},
		[]float64{cols[0][2], cols[1][2], cols[2][2]}, want[:])
	var out spectrum
	if !ok {
		return out
	}
	for i := range out {
		out[i] = clamp(x[0]*d[0][i]+x[1]*d[1][i]+x[2]*d[2][i], 0.01, 0.98)
	}
	return out
}

// dyes are three broad bands that share the spectrum among them.
func dyes(r *rand.Rand, wide float64) pigments {
	a, b := 492+6*r.Float64(), 578+8*r.Float64()
	var out pigments
	for i := range out[0] {
		up := 1 / (1 + math.Exp(-(nm(i)-a)/wide))
		upper := 1 / (1 + math.Exp(-(nm(i)-b)/wide))
		out[0][i], out[1][i], out[2][i] = 1-up, up-upper*up, upper*up
	}
	return out
}

// scene is one invented photograph.
type scene struct {
	w, h      int
	kind      strip.Kind // what is asked for
	shown     strip.Kind // whose chart lies there
	laid      strip.Kind // whose strip lies there; no pads: none
	frac      []float64  // of each pad laid
	light     spectrum
	other     spectrum // at the far side, where the light is mixed
	mix       float64
	balance   float64 // how much the camera takes back of the light's colour
	bright    float64
	curve     float64 // of the camera's tone
	vivid     float64
	noise     float64
	blur      float64 // pixels
	jpeg      int
	astray    float64 // how far pads are from the colours printed for them, as the standard deviation of L, a and b
	backSD    float64 // how unlike the backs of strips are, as that of the log of each channel
	slope     float64 // of the light over the picture
	shadow    float64 // 0 none
	glare     *Point  // on the plane
	glareWide float64 // mm
	rot       float64
	tilt      [2]float64
	scale     float64 // px per mm
	shift     Point
	pose      pose
	table     int
	bend      float64
	lamp      string
	day       []light // once painted: the colours of the pads by daylight
}

// truth is where things are.
func (s *scene) view() view {
	w, h := s.shown.Chart.WidthMM, s.shown.Chart.HeightMM
	c, sn := math.Cos(s.rot), math.Sin(s.rot)
	m := Point{w / 2, h / 2}
	p := func(x, y float64) Point {
		d := Point{x, y}.minus(m)
		q := Point{d.X*c - d.Y*sn, d.X*sn + d.Y*c}.times(s.scale)
		f := 1 / (1 + s.tilt[0]*q.X + s.tilt[1]*q.Y)
		return Point{float64(s.w)/2 + s.shift.X + q.X*f, float64(s.h)/2 + s.shift.Y + q.Y*f}
	}
	v, _ := perspective([]pair{{Point{}, p(0, 0)}, {Point{w, 0}, p(w, 0)}, {Point{w, h}, p(w, h)}, {Point{0, h}, p(0, h)}}, 0)
	return v
}

// paint takes the photograph.
func (s *scene) paint(r *rand.Rand) *image.NRGBA {
	ink, pad := dyes(r, 9), dyes(r, 16)
	cam := [3]spectrum{bell(602+6*r.NormFloat64(), 34), bell(538+5*r.NormFloat64(), 37), bell(459+4*r.NormFloat64(), 27)}
	matrix := s.matrix(cam)
	type cloth [2]light
	look := func(sur spectrum) cloth {
		var out cloth
		for i, lamp := range [2]spectrum{s.light, s.other} {
			raw := light{}
			for c := range 3 {
				// The camera's idea of white: partly the lamp's, partly daylight's.
				white := math.Pow(dot(cam[c], s.light)/dot(cam[1], s.light), s.balance) * math.Pow(dot(cam[c], hot(5500))/dot(cam[1], hot(5500)), 1-s.balance)
				raw[c] = dot(cam[c].times(lamp), sur) / dot(cam[1], s.light) / white
			}
			for c := range 3 {
				out[i][c] = matrix[c][0]*raw[0] + matrix[c][1]*raw[1] + matrix[c][2]*raw[2]
			}
		}
		return out
	}
	paper := look(ink.surface(nominal(s.shown.Chart.Paper)))
	var blocks []cloth
	spots := spotsOf(&s.shown)
	for _, b := range spots {
		blocks = append(blocks, look(ink.surface(b.ink)))
	}
	var pads []cloth
	s.day = nil
	for i, p := range s.laid.Strip.Pads {
		for _, row := range s.laid.Chart.Rows {
			if row.Pad == p.Pad {
				lo := min(int(s.frac[i]), len(row.Blocks)-1)
				hi := min(lo+1, len(row.Blocks)-1)
				var off Lab
				if s.astray > 0 {
					off = Lab{s.astray * r.NormFloat64(), s.astray * r.NormFloat64(), s.astray * r.NormFloat64()}
				}
				sur := pad.surface(strayed(row.Blocks[lo].RGB, off)).dyed(pad.surface(strayed(row.Blocks[hi].RGB, off)), s.frac[i]-float64(lo))
				pads, s.day = append(pads, look(sur)), append(s.day, toRGB(seenBy(eye, hot(6504), sur)))
			}
		}
	}
	black := look(ink.surface(light{0.04, 0.04, 0.045}))
	title := paper
	if t := s.shown.Chart.Title; t != nil {
		title = look(ink.surface(nominal(t.RGB)))
	}
	back := light{0.86, 0.86, 0.85}
	for c := range back {
		if s.backSD > 0 {
			back[c] *= math.Exp(s.backSD * r.NormFloat64())
		}
	}
	plastic := look(pad.surface(back))
	cloths := [][2]light{}
	for _, c := range [][3]uint8{{120, 82, 50}, {225, 222, 215}, {60, 62, 66}, {90, 130, 96}, {150, 60, 58}, {196, 190, 178}} {
		cloths = append(cloths, look(ink.surface(nominal(strip.RGB(c)))))
	}
	table := cloths[s.table]
	v := s.view()
	plane, _ := v.back()
	material := func(p Point) cloth {
		q := p.minus(s.pose.end)
		d, a := q.X*s.pose.along.X+q.Y*s.pose.along.Y, -q.X*s.pose.along.Y+q.Y*s.pose.along.X
		sh := s.laid.Strip
		if len(sh.Pads) > 0 && d > 0 && d < sh.LengthMM && math.Abs(a) < sh.WidthMM/2 {
			for i, pd := range sh.Pads {
				if math.Abs(d-pd.CenterMM) < pd.SizeMM/2 {
					return pads[i]
				}
			}
			return plastic
		}
		ch := s.shown.Chart
		if p.X < 0 || p.Y < 0 || p.X > ch.WidthMM || p.Y > ch.HeightMM {
			out := table
			grain := 1.0
			switch s.table {
			case 0:
				grain = 0.8 + 0.3*math.Sin(p.Y*0.9+2*math.Sin(p.X*0.03))*math.Sin(p.Y*0.23+1)
			case 3:
				if (int(math.Floor(p.X/18))+int(math.Floor(p.Y/18)))%2 == 0 {
					grain = 0.85
				}
			}
			return cloth{out[0].times(grain), out[1].times(grain)}
		}
		for i := range spots {
			b := &spots[i]
			dy := math.Abs(p.Y-b.middle.Y) - b.h/2
			if dy > 2.5 {
				continue
			}
			dx := math.Abs(p.X-b.middle.X) - b.w/2
			if dx < 0 && dy < 0 {
				if ch.Outline && (dx > -0.35 || dy > -0.35) {
					return cloth{black[0].plus(paper[0]).times(0.5), black[1].plus(paper[1]).times(0.5)}
				}
				return blocks[i]
			}
			// The words below a block.
			if y := p.Y - b.middle.Y - b.h/2; y > 0.9 && y < 2.3 && math.Abs(p.X-b.middle.X) < 2.2 && int(math.Floor(p.X*2.2))%2 == 0 {
				return black
			}
		}
		if t := ch.Title; t != nil && p.Y < t.Rect[1]+t.Rect[3] {
			if y := p.Y - t.Rect[3]/2; math.Abs(y) < 2 && math.Abs(p.X-ch.WidthMM/2) < 25 && int(math.Floor(p.X/1.4))%3 != 0 {
				return paper
			}
			return title
		}
		if p.X > ch.LabelCol[0] && p.X < ch.LabelCol[1]-3 {
			for _, b := range spots {
				if b.block == 0 && math.Abs(p.Y-b.middle.Y) < 1.1 && int(math.Floor(p.X/1.1))%3 != 0 {
					return black
				}
			}
		}
		return paper
	}
	at := make([]light, s.w*s.h)
	inBands(s.h, func(from, to int) {
		for y := from; y < to; y++ {
			for x := range s.w {
				var sum light
				for n := range 4 {
					px := Point{float64(x) + 0.5*float64(n%2) - 0.25, float64(y) + 0.5*float64(n/2) - 0.25}
					p := plane.at(px)
					p.Y += s.bend * math.Pow((p.X-s.shown.Chart.WidthMM/2)/50, 2)
					m := material(p)
					u, w := (px.X/float64(s.w) - 0.5), (px.Y/float64(s.h) - 0.5)
					side := 1 / (1 + math.Exp(-6*u))
					c := m[0].times(1 - s.mix*side).plus(m[1].times(s.mix * side))
					c = c.times(s.bright * (1 + s.slope*(0.8*u+0.6*w)))
					if s.shadow > 0 {
						c = c.times(1 - s.shadow/(1+math.Exp(-60*(u*0.7-w*0.5+0.05))))
					}
					if s.glare != nil {
						g := 3 * math.Exp(-0.5*math.Pow(p.minus(*s.glare).length()/s.glareWide, 2))
						c = c.plus(light{g, g, g})
					}
					sum = sum.plus(c.times(0.25))
				}
				at[y*s.w+x] = sum
			}
		}
	})
	at = blurred(at, s.w, s.h, s.blur)
	out := image.NewNRGBA(image.Rect(0, 0, s.w, s.h))
	for i, c := range at {
		y := 0.3*c[0] + 0.6*c[1] + 0.1*c[2]
		for ch := range 3 {
			v := y + s.vivid*(c[ch]-y)
			v += s.noise * r.NormFloat64() * (0.004 + 0.012*math.Sqrt(math.Max(v, 0)))
			v = coded(v) / 255
			v += s.curve * (3*v*v - 2*v*v*v - v)
			out.Pix[4*i+ch] = uint8(math.Round(255 * clamp(v, 0, 1)))
		}
		out.Pix[4*i+3] = 255
	}
	return out
}

// matrix turns what this camera sees in daylight into sRGB.
func (s *scene) matrix(cam [3]spectrum) [3][3]float64 {
	r := rand.New(rand.NewPCG(5, 6))
	var seen, want []light
	for range 60 {
		d := dyes(r, 12)
		sur := d.surface(light{0.05 + 0.85*r.Float64(), 0.05 + 0.85*r.Float64(), 0.05 + 0.85*r.Float64()})
		seen, want = append(seen, seenBy(cam, hot(5500), sur)), append(want, toRGB(seenBy(eye, hot(6504), sur)))
	}
	var out [3][3]float64
	for c := range 3 {
		var m [3][3]float64
		var y [3]float64
		for i := range seen {
			for a := range 3 {
				for b := range 3 {
					m[a][b] += seen[i][a] * seen[i][b]
				}
				y[a] += seen[i][a] * want[i][c]
			}
		}
		x, _ := solve(m[0][:], m[1][:], m[2][:], y[:])
		copy(out[c][:], x)
	}
	return out
}

func blurred(at []light, w, h int, sigma float64) []light {
	if sigma < 0.3 {
		return at
	}
	r := int(math.Ceil(3 * sigma))
	weights, sum := make([]float64, 2*r+1), 0.0
	for i := range weights {
		weights[i] = math.Exp(-0.5 * math.Pow(float64(i-r)/sigma, 2))
		sum += weights[i]
	}
	pass := func(in []light, dx, dy int) []light {
		out := make([]light, len(in))
		inBands(h, func(from, to int) {
			for y := from; y < to; y++ {
				for x := range w {
					for i, k := range weights {
						xx, yy := min(max(x+dx*(i-r), 0), w-1), min(max(y+dy*(i-r), 0), h-1)
						for c := range 3 {
							out[y*w+x][c] += in[yy*w+xx][c] * k / sum
						}
					}
				}
			}
		})
		return out
	}
	return pass(pass(at, 1, 0), 0, 1)
}

// photo is the picture as a file would give it.
func (s *scene) photo(r *rand.Rand) image.Image {
	var b bytes.Buffer
	if err := jpeg.Encode(&b, s.paint(r), &jpeg.Options{Quality: s.jpeg}); err != nil {
		panic(err)
	}
	m, err := jpeg.Decode(&b)
	if err != nil {
		panic(err)
	}
	return m
}

// inventedKind is a kind of strip nobody sells.
func inventedKind(r *rand.Rand) strip.Kind {
	rows := 2 + r.IntN(9)
	if r.IntN(3) == 0 {
		rows = 2 + r.IntN(3)
	}
	bw, bh := 7+5*r.Float64(), 6+4*r.Float64()
	gx, gy := 1.2+2*r.Float64(), 4+3*r.Float64()
	if rows > 6 {
		bh, gy = 6+2*r.Float64(), 3.8+r.Float64()
	}
	left, top := 20+10*r.Float64(), 4.0
	k := strip.Kind{Format: 1, ID: "invented", Chart: strip.Chart{Paper: strip.RGB{uint8(238 + r.IntN(10)), uint8(238 + r.IntN(8)), uint8(230 + r.IntN(12))},
		Outline: r.IntN(4) == 0, LabelCol: [2]float64{2, left - 2}}}
	most := 0
	var lengths []int
	for range rows {
		n := 4 + r.IntN(4)
		lengths, most = append(lengths, n), max(most, n)
	}
	k.Chart.WidthMM = left + float64(most)*(bw+gx) + 3
	if r.IntN(4) > 0 {
		k.Chart.Title = &strip.Title{Text: "x", Rect: [4]float64{0, 0, k.Chart.WidthMM, 9}, RGB: strip.RGB{uint8(r.IntN(120)), uint8(r.IntN(120)), uint8(r.IntN(120))}}
		top = 13
	}
	size, gap := 4.5+2*r.Float64(), 1.8+4*r.Float64()
	if rows > 6 {
		gap = 1.8 + r.Float64()
	}
	k.Strip = strip.Shape{WidthMM: 5 + r.Float64(), LengthMM: 0}
	at := 1.5 + size/2 + 2*r.Float64()
	for i, n := range lengths {
		row := strip.Row{Pad: model.Code(fmt.Sprint("pad-", i))}
		for j, c := range ramp(r, n) {
			row.Blocks = append(row.Blocks, strip.Block{Value: fmt.Sprint(j), RGB: c, Rect: [4]float64{left + float64(j)*(bw+gx), top + float64(i)*(bh+gy), bw, bh}})
		}
		k.Chart.Rows = append(k.Chart.Rows, row)
		k.Strip.Pads = append(k.Strip.Pads, strip.PadPlace{Pad: row.Pad, CenterMM: at, SizeMM: size})
		at += size + gap
	}
	k.Chart.HeightMM = top + float64(rows)*(bh+gy) + 2
	k.Strip.LengthMM = at + 25 + 15*r.Float64()
	return k
}

// ramp is a row of colours, each a just tellable step or more from the last, as
// printed charts have them.
func ramp(r *rand.Rand, n int) []strip.RGB {
	for {
		from := Lab{78 + 17*r.Float64(), -25 + 40*r.Float64(), 5 + 50*r.Float64()}
		to := Lab{25 + 40*r.Float64(), -40 + 85*r.Float64(), -35 + 70*r.Float64()}
		bow := Point{20 * r.NormFloat64(), 20 * r.NormFloat64()}
		var out []strip.RGB
		var labs []Lab
		ok := true
		for i := range n {
			t := math.Pow(float64(i)/float64(n-1), 0.9)
			c, in := fromLab(Lab{from.L + t*(to.L-from.L), from.A + t*(to.A-from.A) + bow.X*t*(1-t), from.B + t*(to.B-from.B) + bow.Y*t*(1-t)})
			out, labs = append(out, c), append(labs, nominal(c).lab())
			ok = ok && in
		}
		for i := 1; i < n; i++ {
			ok = ok && DE2000(labs[i-1], labs[i]) > 6.5
		}
		if ok {
			return out
		}
	}
}

// strayed is a printed colour off by so much.
func strayed(c strip.RGB, off Lab) light {
	if off == (Lab{}) {
		return nominal(c)
	}
	l := nominal(c).lab()
	out, _ := lightOf(Lab{l.L + off.L, l.A + off.A, l.B + off.B})
	return out
}

// fromLab is the sRGB of a colour; false where the screen has none.
func fromLab(l Lab) (strip.RGB, bool) {
	c, ok := lightOf(l)
	var out strip.RGB
	for i := range c {
		out[i] = uint8(math.Round(coded(c[i])))
	}
	return out, ok
}

// lightOf is linear sRGB of a colour; false near and beyond what a screen has.
func lightOf(l Lab) (light, bool) {
	fy := (l.L + 16) / 116
	inv := func(f float64) float64 {
		if f > 6.0/29 {
			return f * f * f
		}
		return (116*f - 16) * 27 / 24389
	}
	c := toRGB(light{inv(fy + l.A/500), inv(fy), inv(fy - l.B/200)})
	ok := true
	for i := range c {
		ok = ok && c[i] > 0.003 && c[i] < 0.97
		c[i] = clamp(c[i], 0.003, 1)
	}
	return c, ok
}

// newScene takes an ordinary picture of a strip of a kind; hard makes the
// light, the camera and the hand worse.
func newScene(r *rand.Rand, k strip.Kind, hard float64) *scene {
	s := &scene{w: 1040, h: 780, kind: k, shown: k, laid: k, balance: 0.9 - 0.35*hard*r.Float64(), bright: 0.75 * math.Exp(0.25*hard*r.NormFloat64()),
		curve: 0.3 * r.Float64(), vivid: 1 + 0.2*r.Float64(), noise: 0.5 + hard*r.Float64(), blur: 0.5 + 0.6*hard*r.Float64(), jpeg: 92 - int(25*hard*r.Float64()),
		slope: 0.3 * hard * r.NormFloat64(), rot: 0.1 * hard * r.NormFloat64(), table: r.IntN(6), bend: 0.4 * hard * r.Float64()}
	if r.IntN(5) == 0 {
		s.rot += float64(r.IntN(4)) * math.Pi / 2
	}
	if r.IntN(3) == 0 {
		s.w, s.h = s.h, s.w
	}
	s.tilt = [2]float64{0.00012 * hard * r.NormFloat64(), 0.00012 * hard * r.NormFloat64()}
	switch r.IntN(5) {
	case 0:
		s.lamp, s.light = "led", led(2700+3500*r.Float64())
	case 1:
		s.lamp, s.light = "tube", tube(3500+1500*r.Float64())
	case 2:
		s.lamp, s.light = "warm", hot(2600+900*r.Float64())
	default:
		s.lamp, s.light = "day", hot(4800+2500*r.Float64())
	}
	s.other = s.light
	if hard > 0.8 && r.IntN(6) == 0 {
		s.other, s.mix = hot(6500), 0.6
	}
	if hard > 0.8 && r.IntN(6) == 0 {
		s.shadow = 0.45
	}
	for _, p := range k.Strip.Pads {
		for _, row := range k.Chart.Rows {
			if row.Pad == p.Pad {
				f := float64(r.IntN(len(row.Blocks)))
				if r.IntN(4) == 0 {
					f = clamp(f+0.8*(r.Float64()-0.5), 0, float64(len(row.Blocks)-1))
				}
				s.frac = append(s.frac, f)
			}
		}
	}
	s.laySomewhere(r, hard)
	return s
}

// laySomewhere puts the strip beside the card, and both into the picture.
func (s *scene) laySomewhere(r *rand.Rand, hard float64) {
	w, h, n := s.shown.Chart.WidthMM, s.shown.Chart.HeightMM, s.laid.Strip.LengthMM
	away := 6 + 8*r.Float64()
	skew := 0.08 * hard * r.NormFloat64()
	var mid Point
	angle := 0.0
	lo, hi := Point{}, Point{w, h}
	switch r.IntN(4) {
	case 0:
		mid, angle = Point{-away, h / 2}, math.Pi/2
	case 1:
		mid, angle = Point{w + away, h / 2}, math.Pi/2
	case 2:
		mid = Point{w / 2, h + away}
	default:
		mid = Point{w / 2, -away}
	}
	if r.IntN(3) == 0 {
		angle += math.Pi
	}
	angle += skew
	along := Point{math.Cos(angle), math.Sin(angle)}
	s.pose = pose{mid.minus(along.times(n / 2)), along}
	for _, p := range []Point{s.pose.at(0, 4), s.pose.at(n, 4), s.pose.at(0, -4), s.pose.at(n, -4)} {
		lo, hi = Point{math.Min(lo.X, p.X), math.Min(lo.Y, p.Y)}, Point{math.Max(hi.X, p.X), math.Max(hi.Y, p.Y)}
	}
	c, sn := math.Abs(math.Cos(s.rot)), math.Abs(math.Sin(s.rot))
	bw, bh := (hi.X-lo.X)*c+(hi.Y-lo.Y)*sn, (hi.X-lo.X)*sn+(hi.Y-lo.Y)*c
	s.scale = math.Min(float64(s.w)/bw, float64(s.h)/bh) * (0.9 - 0.2*r.Float64())
	d := Point{(lo.X+hi.X)/2 - w/2, (lo.Y+hi.Y)/2 - h/2}
	cs, ss := math.Cos(s.rot), math.Sin(s.rot)
	s.shift = Point{-(d.X*cs - d.Y*ss) * s.scale, -(d.X*ss + d.Y*cs) * s.scale}
}

// spoiled are pictures nobody may read, each made from an ordinary one.
var spoiled = map[string]func(*rand.Rand, *scene){
	"no strip": func(_ *rand.Rand, s *scene) { s.laid.Strip.Pads = nil },
	"another strip": func(r *rand.Rand, s *scene) {
		other := inventedKind(r)
		for len(other.Strip.Pads) == len(s.kind.Strip.Pads) {
			other = inventedKind(r)
		}
		s.laid = other
		s.frac = make([]float64, len(other.Strip.Pads))
		for i := range s.frac {
			s.frac[i] = float64(r.IntN(len(other.Chart.Rows[i].Blocks)))
		}
	},
	"another chart": func(r *rand.Rand, s *scene) { s.shown = inventedKind(r) },
	"a chart of other colours": func(r *rand.Rand, s *scene) {
		s.shown.Chart.Rows = recoloured(r, s.kind.Chart.Rows)
	},
	"a chart with one row of other colours": func(r *rand.Rand, s *scene) {
		s.shown.Chart.Rows = append([]strip.Row{}, s.kind.Chart.Rows...)
		i := r.IntN(len(s.kind.Chart.Rows))
		s.shown.Chart.Rows[i] = recoloured(r, s.kind.Chart.Rows[i:i+1])[0]
	},
	"a chart with a block more a row": func(r *rand.Rand, s *scene) {
		rows := make([]strip.Row, len(s.kind.Chart.Rows))
		for i, row := range s.kind.Chart.Rows {
			n := len(row.Blocks)
			last := row.Blocks[n-1]
			last.Rect[0] += last.Rect[0] - row.Blocks[n-2].Rect[0]
			last.RGB = strip.RGB{last.RGB[0] / 2, last.RGB[1] / 2, last.RGB[2] / 2}
			row.Blocks = append(append([]strip.Block{}, row.Blocks...), last)
			rows[i] = row
			s.shown.Chart.WidthMM = math.Max(s.shown.Chart.WidthMM, last.Rect[0]+last.Rect[2]+3)
		}
		s.shown.Chart.Rows = rows
		s.laySomewhere(r, 0.5)
	},
	"a chart whose rows go the other way": func(_ *rand.Rand, s *scene) {
		rows := make([]strip.Row, len(s.kind.Chart.Rows))
		for i, row := range s.kind.Chart.Rows {
			blocks := append([]strip.Block{}, row.Blocks...)
			for j := range blocks {
				blocks[j].RGB = row.Blocks[len(blocks)-1-j].RGB
			}
			row.Blocks = blocks
			rows[i] = row
		}
		s.shown.Chart.Rows = rows
	},
	"blurred":   func(_ *rand.Rand, s *scene) { s.blur = 2.2 * s.scale },
	"burnt out": func(_ *rand.Rand, s *scene) { s.bright, s.slope = 2.6, 0 },
	"the chart cut": func(_ *rand.Rand, s *scene) {
		v := s.view()
		c := s.shown.Chart
		// The last blocks go over the rim, whichever way the card lies.
		far := 0.0
		for _, b := range spotsOf(&s.shown) {
			far = math.Max(far, b.middle.X)
		}
		at := v.at(Point{far, c.HeightMM / 2})
		w, h := float64(s.w), float64(s.h)
		s.shift = s.shift.plus([]Point{{w - at.X, 0}, {0, h - at.Y}, {-at.X, 0}, {0, -at.Y}}[int(math.Round(s.rot/(math.Pi/2))+4)%4])
	},
	"a reflection on the strip": func(_ *rand.Rand, s *scene) {
		pads := s.laid.Strip.Pads
		p := s.pose.at((pads[0].CenterMM+pads[len(pads)-1].CenterMM)/2, 0)
		s.glare, s.glareWide = &p, (pads[len(pads)-1].CenterMM-pads[0].CenterMM)/2+8
	},
}

func recoloured(r *rand.Rand, rows []strip.Row) []strip.Row {
	out := make([]strip.Row, len(rows))
	for i, row := range rows {
		blocks := append([]strip.Block{}, row.Blocks...)
		for j, c := range ramp(r, len(blocks)) {
			blocks[j].RGB = c
		}
		row.Blocks = blocks
		out[i] = row
	}
	return out
}
