package charts

import (
	"bytes"
	"encoding/xml"
	"flag"
	"fmt"
	"image"
	"image/color"
	"image/draw"
	"image/png"
	"io"
	"math"
	"math/rand/v2"
	"os"
	"regexp"
	"slices"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/wcharczuk/go-chart/v2"
	"github.com/wcharczuk/go-chart/v2/drawing"
	"golang.org/x/image/font/gofont/gobold"
	"golang.org/x/image/font/gofont/goregular"
	"golang.org/x/image/font/opentype"

	"quietwater/assets"
)

var update = flag.Bool("update", false, "write the golden files anew")

var (
	paper = drawing.Color{R: 0xfb, G: 0xfa, B: 0xf6, A: 0xff}
	ink   = drawing.Color{R: 0x16, G: 0x24, B: 0x2e, A: 0xff}
	water = drawing.Color{R: 0x0a, G: 0x4f, B: 0x70, A: 0xff}
	soft  = drawing.Color{R: 0xdc, G: 0xea, B: 0xf1, A: 0xff}
	edge  = drawing.Color{R: 0x73, G: 0x84, B: 0x8e, A: 0xff}
)

func testFonts(t testing.TB) Fonts {
	t.Helper()
	f, err := ParseFonts(goregular.TTF, gobold.TTF)
	if err != nil {
		t.Fatal(err)
	}
	return f
}

// series makes n values that wander between 20 and 80 over a range of 0 to 100, always the same.
func series(n int) (xs, ys []float64) {
	rnd := rand.New(rand.NewPCG(1, 2))
	for i := range n {
		xs = append(xs, 100*float64(i)/float64(max(n-1, 1)))
		ys = append(ys, 50+20*math.Sin(float64(i)/float64(n)*12)+10*(rnd.Float64()*2-1))
	}
	return xs, ys
}

// chartOf is a chart as our pages draw them: ranges set, type in pixels, thin axes.
func chartOf(xs, ys []float64, dots float64) chart.Chart {
	axis := chart.Style{FontSize: 17, FontColor: ink, StrokeColor: edge, StrokeWidth: 1}
	grid := chart.Style{StrokeColor: soft, StrokeWidth: 1}
	var xt, yt []chart.Tick
	for v := 0.0; v <= 100; v += 20 {
		xt = append(xt, chart.Tick{Value: v, Label: fmt.Sprintf("week %.0f", v)})
		yt = append(yt, chart.Tick{Value: v, Label: fmt.Sprintf("%.0f", v)})
	}
	return chart.Chart{
		Width: 1280, Height: 300, DPI: 72, Font: Regular,
		Background:     chart.Style{FillColor: paper, Padding: chart.Box{Top: 20, Left: 20, Right: 20, Bottom: 20}},
		Canvas:         chart.Style{FillColor: paper},
		XAxis:          chart.XAxis{Range: &chart.ContinuousRange{Min: 0, Max: 100}, Ticks: xt, Style: axis, GridMajorStyle: grid},
		YAxis:          chart.YAxis{Range: &chart.ContinuousRange{Min: 0, Max: 100}, Ticks: yt, Style: axis, GridMajorStyle: grid},
		YAxisSecondary: chart.HideYAxis(),
		Series: []chart.Series{chart.ContinuousSeries{
			XValues: xs, YValues: ys,
			Style: chart.Style{StrokeColor: water, StrokeWidth: 2, DotColor: water, DotWidth: dots},
		}},
	}
}

func count(img *image.RGBA, c drawing.Color) int {
	n := 0
	for i := 0; i < len(img.Pix); i += 4 {
		if img.Pix[i] == c.R && img.Pix[i+1] == c.G && img.Pix[i+2] == c.B && img.Pix[i+3] == c.A {
			n++
		}
	}
	return n
}

func render(t testing.TB, c Drawable, p chart.RendererProvider) []byte {
	t.Helper()
	var b bytes.Buffer
	if err := c.Render(p, &b); err != nil {
		t.Fatal(err)
	}
	return b.Bytes()
}

func wellFormed(t testing.TB, doc []byte) {
	t.Helper()
	for d := xml.NewDecoder(bytes.NewReader(doc)); ; {
		if _, err := d.Token(); err == io.EOF {
			return
		} else if err != nil {
			t.Fatalf("not XML: %v\n%.300s", err, doc)
		}
	}
}

func TestSeriesOfEveryLength(t *testing.T) {
	fonts := testFonts(t)
	flatX, flatY := series(50)
	for i := range flatY {
		flatY[i] = 50
	}
	x1, y1 := series(1)
	x2, y2 := series(2)
	x10k, y10k := series(10_000)
	for _, c := range []struct {
		name   string
		xs, ys []float64
		dots   float64
		least  int // pixels wholly in the colour of the line
		most   int
		svg    int // bytes at most
	}{
		{"none", nil, nil, 3, 0, 0, 6_000},
		{"one", x1, y1, 3, 10, 40, 6_000},
		{"two", x2, y2, 3, 1000, 3500, 6_000},
		{"flat", flatX, flatY, 0, 2300, 2600, 6_000},
		{"ten thousand", x10k, y10k, 0, 5000, 80_000, 25_000},
	} {
		t.Run(c.name, func(t *testing.T) {
			img, err := Image(chartOf(c.xs, c.ys, c.dots), fonts, 1)
			if err != nil {
				t.Fatal(err)
			}
			if n := count(img, water); n < c.least || n > c.most {
				t.Errorf("the line has %d pixels, want %d to %d", n, c.least, c.most)
			}
			doc := render(t, chartOf(c.xs, c.ys, c.dots), SVG(fonts, ""))
			wellFormed(t, doc)
			if len(doc) > c.svg {
				t.Errorf("SVG of %d bytes, want at most %d", len(doc), c.svg)
			}
			if again := render(t, chartOf(c.xs, c.ys, c.dots), SVG(fonts, "")); !bytes.Equal(doc, again) {
				t.Error("the same chart gave other bytes")
			}
		})
	}
}

func TestFiveYearsOfDaysStaySmall(t *testing.T) {
	xs, ys := series(5*365 + 1)
	doc := render(t, chartOf(xs, ys, 3), SVG(testFonts(t), ""))
	wellFormed(t, doc)
	if n := bytes.Count(doc, []byte("<circle")); n < 1700 {
		t.Errorf("only %d of 1826 days are drawn", n)
	}
	if len(doc) >= 200_000 {
		t.Errorf("%d bytes, want under 200,000", len(doc))
	}
	if long := regexp.MustCompile(`\d\.\d{3,}`).Find(doc); long != nil {
		t.Errorf("a number with more than two decimals: %s", long)
	}
}

// A path is drawn by hand, as go-chart would.
type sketch func(chart.Renderer)

func (s sketch) on(t testing.TB, w, h int, scale float64) *image.RGBA {
	t.Helper()
	r, err := Raster(testFonts(t), scale)(w, h)
	if err != nil {
		t.Fatal(err)
	}
	s(r)
	var got chart.ImageWriter
	if err := r.Save(&got); err != nil {
		t.Fatal(err)
	}
	img, err := got.Image()
	if err != nil {
		t.Fatal(err)
	}
	return img.(*image.RGBA)
}

func (s sketch) inSVG(t testing.TB, w, h int) string {
	t.Helper()
	r, err := SVG(testFonts(t), "")(w, h)
	if err != nil {
		t.Fatal(err)
	}
	s(r)
	var b bytes.Buffer
	if err := r.Save(&b); err != nil {
		t.Fatal(err)
	}
	wellFormed(t, b.Bytes())
	return b.String()
}

func lineOf(width float64, dash []float64, pts ...int) sketch {
	return func(r chart.Renderer) {
		r.SetStrokeColor(ink)
		r.SetStrokeWidth(width)
		r.SetStrokeDashArray(dash)
		r.MoveTo(pts[0], pts[1])
		for i := 2; i < len(pts); i += 2 {
			r.LineTo(pts[i], pts[i+1])
		}
		r.Stroke()
	}
}

func inked(img *image.RGBA) (solid, faint int) {
	for i := 3; i < len(img.Pix); i += 4 {
		switch img.Pix[i] {
		case 0:
		case 255:
			solid++
		default:
			faint++
		}
	}
	return solid, faint
}

func TestLinesAlongTheAxesHaveCleanEdges(t *testing.T) {
	for _, scale := range []float64{1, 1.25, 1.5, 2, 3} {
		for _, width := range []float64{0.4, 1, 2, 3} {
			w := int(math.Max(1, math.Round(width*scale)))
			img := lineOf(width, nil, 10, 20, 60, 20).on(t, 80, 40, scale)
			solid, faint := inked(img)
			long := int(math.Round(50*scale)) + w
			if faint != 0 || math.Abs(float64(solid-long*w)) > float64(2*w) { // a pixel at each end
				t.Errorf("scale %g width %g: %d solid and %d faint pixels, want %d and 0", scale, width, solid, faint, long*w)
			}
			dashed := lineOf(width, []float64{4, 4}, 20, 5, 20, 37).on(t, 80, 40, scale)
			if dark, faint := inked(dashed); scale == math.Trunc(scale) && faint != 0 || dark == 0 {
				t.Errorf("scale %g width %g: dashes have %d dark and %d faint pixels", scale, width, dark, faint)
			}
		}
	}
}

// go-chart sets an axis one logical pixel beside the end of the other.
func TestNeighbouringLinesTouchAtAnyScale(t *testing.T) {
	for scale := 1.0; scale <= 3; scale += 0.05 {
		for x := range 12 {
			img := sketch(func(r chart.Renderer) {
				lineOf(1, nil, 5, 20, 40+x, 20)(r)
				lineOf(1, nil, 41+x, 5, 41+x, 35)(r)
			}).on(t, 60, 40, scale)
			y := int(math.Round(20.5*scale - math.Max(1, math.Round(scale))/2))
			for px := int(6 * scale); px < int((41.5+float64(x))*scale-0.5); px++ {
				if img.RGBAAt(px, y).A != 255 {
					t.Fatalf("scale %.2f: a gap at %d of %.1f", scale, px, (41.5+float64(x))*scale)
				}
			}
		}
	}
}

func TestDashesAreHalfOfTheLine(t *testing.T) {
	for _, pts := range [][]int{{10, 50, 170, 50}, {10, 10, 110, 97}, {10, 10, 60, 90, 110, 10, 160, 90}} {
		whole, _ := area64(lineOf(4, nil, pts...).on(t, 200, 120, 1))
		dashed, _ := area64(lineOf(4, []float64{5}, pts...).on(t, 200, 120, 1))
		if dashed < 0.46*whole || dashed > 0.54*whole {
			t.Errorf("%v: dashes cover %.0f of %.0f", pts, dashed, whole)
		}
	}
}

// area64 adds up the coverage of an image, and where its middle is.
func area64(img *image.RGBA) (sum float64, middle point) {
	for y := range img.Rect.Dy() {
		for x := range img.Rect.Dx() {
			a := float64(img.RGBAAt(x, y).A) / 255
			sum += a
			middle.x += a * (float64(x) + 0.5)
			middle.y += a * (float64(y) + 0.5)
		}
	}
	return sum, point{middle.x / sum, middle.y / sum}
}

func TestAreasAreThoseOfGeometry(t *testing.T) {
	fill := func(draw func(chart.Renderer)) sketch {
		return func(r chart.Renderer) {
			r.SetFillColor(ink)
			r.SetStrokeColor(ink)
			r.SetStrokeWidth(4)
			draw(r)
		}
	}
	for _, c := range []struct {
		name string
		s    sketch
		want float64
		tol  float64
	}{
		{"triangle", fill(func(r chart.Renderer) {
			r.MoveTo(10, 10)
			r.LineTo(110, 10)
			r.LineTo(10, 90)
			r.Close()
			r.Fill()
		}), 4000, 2},
		{"disc", fill(func(r chart.Renderer) { r.Circle(30, 60, 60); r.Fill() }), math.Pi * 900, 6},
		{"ring", fill(func(r chart.Renderer) { r.Circle(30, 60, 60); r.Stroke() }), 2 * math.Pi * 30 * 4, 6},
		{"pie quarter", fill(func(r chart.Renderer) {
			r.MoveTo(60, 60)
			r.ArcTo(60, 60, 40, 40, 0, math.Pi/2)
			r.Close()
			r.Fill()
		}), math.Pi * 400, 5},
		// Two thirds of the box around a parabola of height 40 (control point at 80).
		{"parabola", fill(func(r chart.Renderer) {
			r.MoveTo(10, 10)
			r.QuadCurveTo(60, 90, 110, 10)
			r.Close()
			r.Fill()
		}), 100.0 * 40 * 2 / 3, 5},
		{"line", lineOf(4, nil, 10, 10, 90, 70), 400, 2},
		// A right angle: two arms and a quarter disc outside the bend.
		{"bend", lineOf(20, nil, 20, 60, 60, 20, 100, 60), 2*20*math.Hypot(40, 40) - 100 + math.Pi*25, 3},
		// Drawn twice, the pixels the edge runs through are up to twice as dark: half a pixel along it.
		{"there and back", lineOf(20, nil, 20, 60, 80, 61, 20, 60), 20*60 + math.Pi*50, 45},
	} {
		got, _ := area64(c.s.on(t, 130, 120, 1))
		if math.Abs(got-c.want) > c.tol {
			t.Errorf("%s covers %.1f pixels, want %.1f", c.name, got, c.want)
		}
		big, _ := area64(c.s.on(t, 130, 120, 2))
		if math.Abs(big-4*c.want) > 4*c.tol {
			t.Errorf("%s at double scale covers %.1f, want %.1f", c.name, big, 4*c.want)
		}
	}
}

func TestCrossingLinesDoNotCancel(t *testing.T) {
	img := lineOf(6, nil, 10, 10, 90, 90, 90, 10, 10, 90, 10, 10).on(t, 100, 100, 1)
	if a := img.RGBAAt(50, 50).A; a != 255 {
		t.Errorf("where two lines cross the ink covers %d of 255", a)
	}
	for _, p := range [][2]int{{10, 10}, {90, 90}, {90, 10}, {10, 90}} {
		if a := img.RGBAAt(p[0], p[1]).A; a < 250 {
			t.Errorf("at the bend %v the ink covers %d of 255", p, a)
		}
	}
}

func TestADotSitsOnItsLine(t *testing.T) {
	for _, scale := range []float64{1, 2} {
		dot := sketch(func(r chart.Renderer) { r.SetFillColor(ink); r.Circle(5, 50, 50); r.Fill() })
		_, d := area64(dot.on(t, 101, 101, scale))
		_, l := area64(lineOf(1, nil, 10, 50, 90, 50).on(t, 101, 101, scale))
		if math.Abs(d.x-l.x) > 0.1 || math.Abs(d.y-l.y) > 0.1 {
			t.Errorf("scale %g: dot at %v, line at %v", scale, d, l)
		}
	}
}

func TestColoursMixOnce(t *testing.T) {
	half := drawing.Color{R: 200, G: 100, B: 0, A: 128}
	img := sketch(func(r chart.Renderer) {
		r.SetFillColor(drawing.ColorWhite)
		chart.Draw.Box(r, chart.Box{Right: 40, Bottom: 40}, chart.Style{FillColor: drawing.ColorWhite})
		for i, quarter := range []bool{false, true} {
			r.SetFillColor(half)
			r.MoveTo(5+20*i, 5)
			r.LineTo(15+20*i, 5)
			r.LineTo(15+20*i, 15)
			if quarter { // not a rectangle: through the mask
				r.LineTo(10+20*i, 14)
			}
			r.LineTo(5+20*i, 15)
			r.Close()
			r.Fill()
		}
	}).on(t, 40, 40, 1)
	want := color.RGBA{227, 177, 127, 255} // 200·128/255 + 255·127/255, rounded
	for _, x := range []int{10, 30} {
		if got := img.RGBAAt(x, 8); got != want {
			t.Errorf("at %d the colour is %v, want %v", x, got, want)
		}
	}
	if got := img.RGBAAt(20, 20); got != (color.RGBA{255, 255, 255, 255}) {
		t.Errorf("the ground is %v", got)
	}
}

// A coordinate far outside must not bend, slow down or lose the part inside.
func TestFarPointsKeepTheLineStraight(t *testing.T) {
	near := lineOf(3, nil, 50, 90, 60, -10).on(t, 100, 100, 1)
	far := lineOf(3, nil, 50, 90, 50+100_000_000, 90-1_000_000_000).on(t, 100, 100, 1)
	for y := range 100 {
		for x := range 100 {
			a, b := int(near.RGBAAt(x, y).A), int(far.RGBAAt(x, y).A)
			if a-b > 2 || b-a > 2 {
				t.Fatalf("at %d,%d: %d near, %d far", x, y, a, b)
			}
		}
	}
	fill := func(reach int) sketch {
		return func(r chart.Renderer) {
			r.SetFillColor(ink)
			r.MoveTo(20, 50)
			r.LineTo(20+reach, 50-reach)
			r.LineTo(20+reach, 50+reach)
			r.Close()
			r.Fill()
		}
	}
	a, _ := area64(fill(200).on(t, 100, 100, 1))
	b, _ := area64(fill(2_000_000_000).on(t, 100, 100, 1))
	if math.Abs(a-b) > 1 {
		t.Errorf("the wedge covers %.1f near, %.1f far", a, b)
	}
}

// What is outside the view must not shift what is inside, dashes neither.
func TestTheViewOnlyCuts(t *testing.T) {
	pts := []int{150, 20, 250, 50, 20, 60, 20, 180, 90, 160, 95, 10, 160, 3, 60, 90}
	for _, dash := range [][]float64{nil, {7, 4}, {3}} {
		small, large := lineOf(5, dash, pts...).on(t, 100, 100, 1), lineOf(5, dash, pts...).on(t, 300, 300, 1)
		for y := range 100 {
			for x := range 100 {
				if a, b := int(small.RGBAAt(x, y).A), int(large.RGBAAt(x, y).A); a-b > 16 || b-a > 16 { // the rasteriser counts in 512ths
					t.Fatalf("dashes %v at %d,%d: %d in the small image, %d in the large", dash, x, y, a, b)
				}
			}
		}
	}
}

func TestThinningKeepsThePicture(t *testing.T) {
	rnd := rand.New(rand.NewPCG(3, 4))
	for range 200 {
		l := line{}
		type span struct{ first, lo, hi, last float64 }
		want := map[float64]span{}
		for x := range 12 {
			for i := range rnd.IntN(7) {
				p := point{float64(x), float64(rnd.IntN(9))}
				l.pts = append(l.pts, p)
				s := want[p.x]
				if i == 0 {
					s = span{p.y, p.y, p.y, p.y}
				}
				want[p.x] = span{s.first, min(s.lo, p.y), max(s.hi, p.y), p.y}
			}
		}
		before := append([]point(nil), l.pts...)
		l.thin()
		got := map[float64]span{}
		n := map[float64]int{}
		for _, p := range l.pts {
			s, ok := got[p.x]
			if !ok {
				s = span{p.y, p.y, p.y, p.y}
			}
			got[p.x] = span{s.first, min(s.lo, p.y), max(s.hi, p.y), p.y}
			if n[p.x]++; n[p.x] > 4 {
				t.Fatalf("more than four points at %g: %v", p.x, l.pts)
			}
		}
		for x, s := range want {
			if got[x] != s {
				t.Fatalf("at %g: %v became %v\nof %v", x, s, got[x], before)
			}
		}
	}
}

var words = []string{"H", "40", "2026-11-25", "Eiweiß", "mg/g ≥ 30", "AVAVA To", "ÅÉ", "", "  ", "a\tb\nc", "\x00\xff", "中"}

func TestWordsTakeTheSameRoomInBoth(t *testing.T) {
	fonts := testFonts(t)
	for _, bold := range []bool{false, true} {
		for _, turn := range []float64{0, math.Pi / 2, -math.Pi / 4} {
			for _, w := range words {
				set := func(r chart.Renderer) chart.Box {
					r.SetDPI(72)
					if bold {
						r.SetFont(Bold)
					}
					r.SetFontSize(20)
					if turn != 0 {
						r.SetTextRotation(turn)
					}
					return r.MeasureText(w)
				}
				a, _ := Raster(fonts, 2)(100, 100)
				b, _ := SVG(fonts, "")(100, 100)
				if x, y := set(a), set(b); x != y {
					t.Errorf("%q: %v on pixels, %v in SVG", w, x, y)
				}
			}
		}
	}
}

func TestTurnedWordsTakeTurnedRoom(t *testing.T) {
	p := newPen(testFonts(t))
	p.SetFontSize(20)
	level := p.MeasureText("week 40")
	p.SetTextRotation(math.Pi / 2)
	if b := p.MeasureText("week 40"); b.Width() != level.Height() || b.Height() != level.Width() {
		t.Errorf("level %v, on its side %v", level, b)
	}
	p.SetTextRotation(math.Pi / 4)
	want := float64(level.Width()+level.Height()) / math.Sqrt2
	if b := p.MeasureText("week 40"); math.Abs(float64(b.Width())-want) > 2 || math.Abs(float64(b.Height())-want) > 2 {
		t.Errorf("level %v, aslant %v, want %.0f each way", level, b, want)
	}
}

// The ink of capitals and figures lies in the box that was promised, and fills it.
func TestInkFillsItsBox(t *testing.T) {
	for _, turn := range []float64{0, math.Pi / 2} {
		for _, w := range []string{"H", "40", "2026", "MHE"} {
			var promised chart.Box
			img := sketch(func(r chart.Renderer) {
				r.SetDPI(72)
				r.SetFontSize(20)
				r.SetFontColor(ink)
				promised = r.MeasureText(w)
				if turn != 0 {
					r.SetTextRotation(turn)
				}
				r.Text(w, 20, 60)
			}).on(t, 150, 150, 2)
			got := inkBox(img)
			want := image.Rect(40, 120-2*promised.Bottom, 40+2*promised.Right, 120)
			if turn != 0 { // a quarter turn clockwise about the start: the top looks right
				want = image.Rect(40, 120, 40+2*promised.Bottom, 120+2*promised.Right)
			}
			if !got.In(want.Inset(-1)) || got.Dx() < want.Dx()-12 || got.Dy() < want.Dy()-12 {
				t.Errorf("%q turned %g: ink in %v, promised %v", w, turn, got, want)
			}
		}
	}
}

func inkBox(img *image.RGBA) (box image.Rectangle) {
	for y := range img.Rect.Dy() {
		for x := range img.Rect.Dx() {
			if img.RGBAAt(x, y).A > 60 {
				box = box.Union(image.Rect(x, y, x+1, y+1))
			}
		}
	}
	return box
}

// Outside truth: the advances of the toolkit's own face, where no pair is kerned.
func TestMeasuresAgreeWithAnotherFace(t *testing.T) {
	fonts := testFonts(t)
	parsed, err := opentype.Parse(goregular.TTF)
	if err != nil {
		t.Fatal(err)
	}
	face, err := opentype.NewFace(parsed, &opentype.FaceOptions{Size: 200, DPI: 72})
	if err != nil {
		t.Fatal(err)
	}
	for _, w := range []string{"H", "1234567890", "mmm", "Eiweiß 30"} {
		want := 0.0
		for _, r := range w {
			a, _ := face.GlyphAdvance(r)
			want += float64(a) / 64
		}
		if got := fonts.Extent(w, 200, false).Advance; math.Abs(got-want) > 0.5 {
			t.Errorf("%q is %.2f wide, want %.2f", w, got, want)
		}
	}
	e := fonts.Extent("x", 200, false)
	if m := face.Metrics(); math.Abs(e.Ascent-float64(m.Ascent)/64) > 1 || math.Abs(e.Descent-float64(m.Descent)/64) > 1 {
		t.Errorf("%+v, want the metrics %+v", e, m)
	}
	b, _, _ := face.GlyphBounds('H')
	if h := float64(b.Max.Y-b.Min.Y) / 64; math.Abs(e.CapHeight-h) > 4 {
		t.Errorf("capitals are %.1f high, want %.1f", e.CapHeight, h)
	}
}

func TestPairsAreKernedAtEverySize(t *testing.T) {
	fonts, err := ParseFonts(assets.HanRegular, assets.HanBold)
	if err != nil {
		t.Fatal(err)
	}
	for _, pair := range []string{"AV", "To", "Та"} {
		r := []rune(pair)
		for _, size := range []float64{10, 20, 200} {
			apart := fonts.Extent(string(r[0]), size, false).Advance + fonts.Extent(string(r[1]), size, false).Advance
			if closer := (apart - fonts.Extent(pair, size, false).Advance) / size; closer < 0.02 || closer > 0.12 {
				t.Errorf("%s at %g stands %.3f em closer", pair, size, closer)
			}
		}
	}
}

func TestBoldIsChosenByName(t *testing.T) {
	fonts := testFonts(t)
	write := func(f Fonts, style chart.Style) (dark float64, svg string) {
		s := sketch(func(r chart.Renderer) {
			style.FontSize, style.FontColor = 30, ink
			chart.Draw.Text(r, "Today", 10, 50, style)
		})
		r, err := Raster(f, 1)(200, 100)
		if err != nil {
			t.Fatal(err)
		}
		s(r)
		dark, _ = area64(r.(*raster).img)
		return dark, s.inSVG(t, 200, 100)
	}
	light, lightSVG := write(fonts, chart.Style{Font: Regular})
	heavy, heavySVG := write(fonts, chart.Style{Font: Bold})
	if heavy < 1.2*light {
		t.Errorf("bold covers %.0f, regular %.0f", heavy, light)
	}
	if strings.Contains(lightSVG, "font-weight") || !strings.Contains(heavySVG, `font-weight="700"`) {
		t.Errorf("weights in SVG:\n%s\n%s", lightSVG, heavySVG)
	}
	if other, _ := write(fonts, chart.Style{}); other != light {
		t.Error("no font is not the regular one")
	}
	if alone, _ := write(Fonts{Regular: fonts.Regular}, chart.Style{Font: Bold}); alone != light {
		t.Error("without a bold font, regular does not stand in")
	}
}

func TestSVGSaysOnlyWhatItShould(t *testing.T) {
	hostile := `<b a="1">&'` + "\x00\x1b\xff\u202e"
	got := sketch(func(r chart.Renderer) {
		r.SetDPI(72)
		r.SetClassName(hostile)
		r.SetFontColor(ink)
		r.SetFontSize(17)
		r.Text(hostile, 3, 4)
		r.SetClassName("")
		r.SetTextRotation(math.Pi / 2)
		r.Text("up", 1, 2)
	}).inSVG(t, 10, 10)
	for _, want := range []string{
		`>&lt;b a=&#34;1&#34;&gt;&amp;&#39;` + "\uFFFD" + `</text>`,
		`<text x="1" y="2" transform="rotate(90 1 2)" class="text" font-size="17" fill="#16242e">up</text>`,
		`font-family="'Noto Sans','Quietwater Sans',sans-serif"`,
	} {
		if !strings.Contains(got, want) {
			t.Errorf("missing %s in\n%s", want, got)
		}
	}
	odd := sketch(func(r chart.Renderer) {
		r.SetFontColor(ink)
		r.SetFontSize(10) // 12.777… pixels at 92 dots per inch
		r.Text("x", 1, 2)
		r.SetFillColor(drawing.Color{A: 100})
		r.Circle(math.Pi, 5, 5)
		r.ArcTo(5, 5, 3, 3, 0, 2)
		r.Fill()
		lineOf(1.0/3, []float64{1.0 / 3, 2}, 0, 0, 5, 9)(r)
	}).inSVG(t, 10, 10)
	if long := regexp.MustCompile(`\d\.\d{3,}`).FindString(odd); long != "" || !strings.Contains(odd, `r="3.14"`) {
		t.Errorf("a number with more than two decimals: %s in\n%s", long, odd)
	}
	var b bytes.Buffer
	r, _ := SVG(testFonts(t), "eGFR & <time>")(10, 10)
	for range 2 { // saving twice gives the same
		b.Reset()
		if err := r.Save(&b); err != nil {
			t.Fatal(err)
		}
	}
	if !strings.Contains(b.String(), ` role="img"><title>eGFR &amp; &lt;time&gt;</title></svg>`) {
		t.Errorf("title: %s", b.String())
	}
}

func TestSmallChartLooksAsItDid(t *testing.T) {
	c := chartOf([]float64{0, 30, 60, 100}, []float64{20, 60, 40, 80}, 4)
	c.Width, c.Height = 480, 240
	c.Series = append(c.Series,
		chart.ContinuousSeries{XValues: []float64{0, 100}, YValues: []float64{30, 30},
			Style: chart.Style{StrokeColor: edge, StrokeWidth: 1.5, StrokeDashArray: []float64{6, 4}}},
		chart.AnnotationSeries{Annotations: []chart.Value2{{XValue: 60, YValue: 40, Label: "retest & wait"}},
			Style: chart.Style{Font: Bold, FontSize: 17, FontColor: ink, FillColor: soft, StrokeColor: edge, StrokeWidth: 1}})
	got := render(t, c, SVG(testFonts(t), "A small chart"))
	const name = "testdata/small.svg"
	if *update {
		if err := os.WriteFile(name, got, 0o644); err != nil {
			t.Fatal(err)
		}
	}
	want, err := os.ReadFile(name)
	if err != nil {
		t.Fatal(err)
	}
	if !bytes.Equal(got, want) {
		t.Errorf("the chart differs from %s; look at it, then run with -update\n%s", name, got)
	}
}

func TestChartsMayBeDrawnSideBySide(t *testing.T) {
	fonts := testFonts(t)
	xs, ys := series(400)
	raster, svg := Raster(fonts, 2), SVG(fonts, "")
	wantPNG, wantSVG := render(t, chartOf(xs, ys, 3), raster), render(t, chartOf(xs, ys, 3), svg)
	var wg sync.WaitGroup
	for range 4 {
		wg.Go(func() {
			var a, b bytes.Buffer
			if err := chartOf(xs, ys, 3).Render(raster, &a); err != nil {
				t.Error(err)
			}
			if err := chartOf(xs, ys, 3).Render(svg, &b); err != nil {
				t.Error(err)
			}
			if !bytes.Equal(a.Bytes(), wantPNG) || !bytes.Equal(b.Bytes(), wantSVG) {
				t.Error("a chart drawn beside others came out differently")
			}
		})
	}
	wg.Wait()
}

func TestSaveWritesPNG(t *testing.T) {
	fonts := testFonts(t)
	xs, ys := series(30)
	img, err := Image(chartOf(xs, ys, 3), fonts, 1.5)
	if err != nil {
		t.Fatal(err)
	}
	if img.Rect != image.Rect(0, 0, 1920, 450) {
		t.Errorf("the image is %v", img.Rect)
	}
	back, err := png.Decode(bytes.NewReader(render(t, chartOf(xs, ys, 3), Raster(fonts, 1.5))))
	if err != nil {
		t.Fatal(err)
	}
	same := image.NewRGBA(back.Bounds())
	draw.Draw(same, same.Rect, back, image.Point{}, draw.Src)
	if !bytes.Equal(same.Pix, img.Pix) {
		t.Error("PNG and image differ")
	}
}

func TestRefusals(t *testing.T) {
	fonts := testFonts(t)
	for _, c := range []struct {
		name string
		p    chart.RendererProvider
		w, h int
	}{
		{"no font", Raster(Fonts{}, 1), 10, 10},
		{"no font in SVG", SVG(Fonts{}, ""), 10, 10},
		{"no scale", Raster(fonts, 0), 10, 10},
		{"a scale that is no number", Raster(fonts, math.NaN()), 10, 10},
		{"an infinite scale", Raster(fonts, math.Inf(1)), 10, 10},
		{"too many pixels", Raster(fonts, 1), 1 << 20, 1 << 20},
		{"overflowing", Raster(fonts, 1), math.MaxInt, math.MaxInt},
	} {
		if _, err := c.p(c.w, c.h); err == nil {
			t.Errorf("%s: no error", c.name)
		}
	}
	for _, bad := range [][2][]byte{{nil, nil}, {goregular.TTF, []byte("no font")}, {[]byte("no font"), nil}} {
		if _, err := ParseFonts(bad[0], bad[1]); err == nil {
			t.Error("broken fonts are taken")
		}
	}
	if f, err := ParseFonts(goregular.TTF, nil); err != nil || f.Bold != nil {
		t.Errorf("a lone regular font: %v", err)
	}
	for _, size := range [][2]int{{0, 0}, {-5, 10}, {10, math.MinInt}} {
		r, err := Raster(fonts, 1)(size[0], size[1])
		if err != nil {
			t.Fatal(err)
		}
		lineOf(2, nil, 0, 0, 9, 5)(r)
		if err := r.Save(io.Discard); err == nil {
			t.Error("an empty image was saved")
		}
		lineOf(2, nil, 0, 0, 9, 5).inSVG(t, size[0], size[1])
	}
}

var nan, inf = math.NaN(), math.Inf(1)

// What makes no sense is drawn as nothing.
func TestNonsenseDrawsNothing(t *testing.T) {
	absurd := []int{math.MinInt, math.MaxInt, math.MinInt64 + 300}
	for name, s := range map[string]sketch{
		"widths": func(r chart.Renderer) {
			for _, w := range []float64{0, -1, nan, inf, -inf} {
				lineOf(w, nil, 10, 10, 50, 50)(r)
			}
		},
		"radii": func(r chart.Renderer) {
			r.SetFillColor(ink)
			for _, radius := range []float64{0, -1, nan, inf, -inf} {
				r.Circle(radius, 20, 20)
				r.FillStroke()
				r.ArcTo(20, 20, radius, radius, 0, 1)
				r.Fill()
			}
		},
		"angles": func(r chart.Renderer) {
			r.SetFillColor(ink)
			for _, a := range []float64{nan, inf, -inf} {
				r.ArcTo(20, 20, 5, 5, a, 1)
				r.ArcTo(20, 20, 5, 5, 1, a)
				r.Fill()
			}
		},
		"sizes": func(r chart.Renderer) {
			r.SetFontColor(ink)
			for _, size := range []float64{0, -1, nan, inf, 1e9} {
				r.SetFontSize(size)
				r.Text("40", 20, 20)
				if box := r.MeasureText("40"); box != (chart.Box{}) {
					t.Errorf("size %g measures %v", size, box)
				}
			}
		},
		"places": func(r chart.Renderer) {
			r.SetFontColor(ink)
			r.SetFontSize(20)
			r.SetFillColor(ink)
			for _, v := range absurd {
				r.Text("40", v, 20)
				r.Circle(5, 20, v)
				r.MoveTo(v, v)
				r.LineTo(v, 10)
				r.FillStroke()
			}
		},
		"points alone": func(r chart.Renderer) { lineOf(3, nil, 5, 5)(r); lineOf(3, nil, 5, 5, 5, 5)(r) },
		"no colour":    func(r chart.Renderer) { r.SetStrokeWidth(3); r.MoveTo(1, 1); r.LineTo(9, 9); r.FillStroke() },
	} {
		if solid, faint := inked(s.on(t, 100, 100, 1)); solid+faint != 0 {
			t.Errorf("%s: %d pixels were drawn", name, solid+faint)
		}
		if got := s.inSVG(t, 100, 100); strings.Contains(got, "NaN") || strings.Contains(got, "Inf") || strings.Contains(got, "<path") || strings.Contains(got, "<text") {
			t.Errorf("%s: %s", name, got)
		}
	}
}

func TestAnAbsurdPointBreaksTheLine(t *testing.T) {
	s := lineOf(2, nil, 10, 50, 40, 40, 50, math.MinInt, 60, 40, 90, 50)
	img := s.on(t, 100, 100, 1)
	if img.RGBAAt(25, 45).A == 0 || img.RGBAAt(75, 45).A == 0 {
		t.Error("a side of the gap is missing")
	}
	for y := range 100 {
		if img.RGBAAt(50, y).A != 0 {
			t.Fatal("the gap is bridged")
		}
	}
	if got := s.inSVG(t, 100, 100); !strings.Contains(got, `d="M10 50l30-10M60 40l30 10"`) {
		t.Error(got)
	}
}

func TestDashesThatMakeNoSenseAreSolid(t *testing.T) {
	want, _ := inked(lineOf(2, nil, 10, 50, 90, 50).on(t, 100, 100, 1))
	for _, dash := range [][]float64{{}, {0, 0}, {nan, 1}, {-1, 5}, {inf}, {1e-9, 1e-9}} {
		if got, _ := inked(lineOf(2, dash, 10, 50, 90, 50).on(t, 100, 100, 1)); got != want {
			t.Errorf("%v: %d pixels, want %d", dash, got, want)
		}
	}
}

// FuzzRenderers throws any order of calls with any numbers at both renderers.
func FuzzRenderers(f *testing.F) {
	f.Add([]byte("0123456789abcdefghijklmnopqrstuvwxyz"))
	f.Add(bytes.Repeat([]byte{255, 0, 128, 7, 9}, 40))
	f.Add([]byte{0, 1, 1, 2, 200, 3, 250, 5, 5, 5, 12, 12, 13, 14, 0, 251, 252, 253, 254, 255})
	f.Fuzz(func(t *testing.T, calls []byte) {
		if len(calls) > 400 {
			return
		}
		fonts := testFonts(t)
		for _, p := range []chart.RendererProvider{Raster(fonts, 1.5), SVG(fonts, "t")} {
			r, err := p(40, 30)
			if err != nil {
				t.Fatal(err)
			}
			scrawl(r, calls)
			var b bytes.Buffer
			if err := r.Save(&b); err != nil {
				t.Fatal(err)
			}
			if b.Bytes()[0] == '<' {
				wellFormed(t, b.Bytes())
			}
		}
	})
}

func scrawl(r chart.Renderer, calls []byte) {
	next := func() byte {
		if len(calls) == 0 {
			return 0
		}
		b := calls[0]
		calls = calls[1:]
		return b
	}
	odd := []float64{nan, inf, -inf, 1e300, -1e300, 1e-300}
	num := func() float64 {
		b := next()
		if int(b) < len(odd) {
			return odd[b]
		}
		return (float64(b) - 100) / 4
	}
	whole := func() int {
		switch b := next(); b {
		case 0:
			return math.MinInt
		case 1:
			return math.MaxInt
		case 2:
			return 1 << 31
		case 3:
			return -(1 << 31) + 1
		default:
			return int(b) - 100
		}
	}
	tint := func() drawing.Color { return drawing.Color{R: next(), G: 9, B: 99, A: next()} }
	for len(calls) > 0 {
		switch next() % 20 {
		case 0:
			r.MoveTo(whole(), whole())
		case 1, 2, 3:
			r.LineTo(whole(), whole())
		case 4:
			r.QuadCurveTo(whole(), whole(), whole(), whole())
		case 5:
			r.ArcTo(whole(), whole(), num(), num(), num(), num())
		case 6:
			r.Close()
		case 7:
			r.Stroke()
		case 8:
			r.Fill()
		case 9:
			r.FillStroke()
		case 10:
			r.Circle(num(), whole(), whole())
		case 11:
			r.SetFontSize(num())
			r.SetFontColor(tint())
			r.Text(string(calls), whole(), whole())
		case 12:
			r.MeasureText(string(calls))
		case 13:
			r.SetTextRotation(num())
		case 14:
			r.SetStrokeDashArray([]float64{num(), num(), num()})
		case 15:
			r.SetStrokeWidth(num())
			r.SetStrokeColor(tint())
		case 16:
			r.SetFillColor(tint())
		case 17:
			r.SetDPI(num())
		case 18:
			r.SetClassName(string(calls))
		case 19:
			r.ResetStyle()
		}
	}
}

// BenchmarkRaster reports the time of a whole chart beside the floor, which is filling an image of the
// same size, measured in the same run.
func BenchmarkRaster(b *testing.B) {
	fonts := testFonts(b)
	for _, scale := range []float64{1, 2} {
		for _, n := range []int{300, 10_000} {
			b.Run(fmt.Sprintf("scale=%g/points=%d", scale, n), func(b *testing.B) {
				xs, ys := series(n)
				for b.Loop() {
					if _, err := Image(chartOf(xs, ys, 0), fonts, scale); err != nil {
						b.Fatal(err)
					}
				}
				drawn := b.Elapsed() / time.Duration(b.N)
				b.ReportMetric(float64(drawn)/float64(floor(scale)), "floors")
			})
		}
	}
}

// floor is the middle one of many fillings.
func floor(scale float64) time.Duration {
	var took []time.Duration
	for range 101 {
		start := time.Now()
		img := image.NewRGBA(image.Rect(0, 0, int(1280*scale), int(300*scale)))
		draw.Draw(img, img.Rect, image.NewUniform(opaque{paper}), image.Point{}, draw.Src)
		took = append(took, time.Since(start))
	}
	slices.Sort(took)
	return took[len(took)/2]
}
