package photo

import (
	"bytes"
	"image"
	"image/color"
	"math"
	"math/rand/v2"
	"os"
	"testing"

	"quietwater/model"
	"quietwater/model/strip"
)

// corners tells the four quarters of a picture apart.
func corners(p *Picture) [4]uint8 {
	at := func(x, y int) uint8 { return p.pix[3*(y*p.W+x)] }
	return [4]uint8{at(1, 1), at(p.W-2, 1), at(p.W-2, p.H-2), at(1, p.H-2)}
}

// TestOrientations: EXIF 2.32, 4.6.4 A, tag 274, says where the first row and
// column of the file belong.
func TestOrientations(t *testing.T) {
	file := image.NewGray(image.Rect(0, 0, 40, 24))
	for y := range 24 {
		for x := range 40 {
			file.SetGray(x, y, color.Gray{uint8(50 + 50*(x/20) + 100*(y/12))}) // 50 100 / 150 200
		}
	}
	for o, want := range map[Orientation][4]uint8{
		0: {50, 100, 200, 150}, 1: {50, 100, 200, 150}, 2: {100, 50, 150, 200}, 3: {200, 150, 50, 100}, 4: {150, 200, 100, 50},
		5: {50, 150, 200, 100}, 6: {150, 50, 100, 200}, 7: {200, 100, 50, 150}, 8: {100, 200, 150, 50}, 9: {50, 100, 200, 150},
	} {
		p := New(file, o)
		if got := corners(p); got != want {
			t.Errorf("orientation %d: %v, want %v", o, got, want)
		}
		if turned := o >= 5 && o <= 8; turned != (p.W == 24) {
			t.Errorf("orientation %d: %d by %d", o, p.W, p.H)
		}
	}
}

// Law: shrinking keeps the mean, whatever the kind of picture.
func TestShrinkKeepsTheMean(t *testing.T) {
	r := rand.New(rand.NewPCG(1, 2))
	for _, size := range [][2]int{{1, 1}, {3, 2}, {1601, 7}, {2000, 1500}, {1600, 1200}, {4000, 10}} {
		w, h := size[0], size[1]
		packed := image.NewNRGBA(image.Rect(5, 7, 5+w, 7+h))
		coded := image.NewYCbCr(image.Rect(0, 0, w, h), image.YCbCrSubsampleRatio420)
		sum := 0.0
		for y := range h {
			for x := range w {
				v := uint8(40 + r.IntN(160))
				sum += float64(v) / float64(w*h)
				packed.SetNRGBA(5+x, 7+y, color.NRGBA{v, v, v, 255})
				coded.Y[coded.YOffset(x, y)] = v
			}
		}
		for i := range coded.Cb {
			coded.Cb[i], coded.Cr[i] = 128, 128
		}
		for _, m := range []image.Image{packed, coded} {
			p := New(m, 1)
			if max(p.W, p.H) > LongSide {
				t.Errorf("%v became %d by %d", size, p.W, p.H)
			}
			got := 0.0
			for i := 0; i < len(p.pix); i += 3 {
				got += float64(p.pix[i]) / float64(p.W*p.H)
			}
			if math.Abs(got-sum) > 1.2 {
				t.Errorf("%T %v: mean %.2f, was %.2f", m, size, got, sum)
			}
		}
	}
}

// Law: a view and its way back undo one another.
func TestViewBack(t *testing.T) {
	r := rand.New(rand.NewPCG(3, 4))
	for range 200 {
		var pairs []pair
		for _, c := range [4]Point{{0, 0}, {100, 0}, {100, 70}, {0, 70}} {
			pairs = append(pairs, pair{c, Point{400 + 6*c.X + 40*r.Float64(), 300 + 6*c.Y + 40*r.Float64()}})
		}
		v, ok := perspective(pairs, 0)
		if !ok {
			t.Fatal(pairs)
		}
		back, ok := v.back()
		if !ok {
			t.Fatal(v)
		}
		for _, q := range pairs {
			if d := v.at(q.plane).minus(q.seen).length(); d > 1e-6 {
				t.Fatalf("%v is seen %v px away", q, d)
			}
		}
		p := Point{100 * r.Float64(), 70 * r.Float64()}
		if d := back.at(v.at(p)).minus(p).length(); d > 1e-6 {
			t.Fatalf("%v came back %v away", p, d)
		}
	}
}

// Nothing panics on what is no photograph of anything.
func TestOddPictures(t *testing.T) {
	k := publicKind(t, "C")
	for _, m := range []image.Image{image.NewNRGBA(image.Rect(0, 0, 0, 0)), image.NewNRGBA(image.Rect(0, 0, 1, 1)), image.NewGray(image.Rect(0, 0, 9, 1)),
		image.NewGray(image.Rect(0, 0, 1, 3000)), image.NewNRGBA(image.Rect(0, 0, 400, 300)), image.NewUniform(color.White)} {
		if u, ok := m.(*image.Uniform); ok {
			n := image.NewNRGBA(image.Rect(0, 0, 300, 300))
			for i := range n.Pix {
				n.Pix[i] = 255
			}
			_, m = u, n
		}
		p := New(m, 6)
		for _, r := range []Reading{Read(p, k), ReadMarked(p, k, Marks{}), ReadMarked(p, k, Marks{Corners: [4]Point{{0, 0}, {200, 0}, {200, 100}, {0, 100}}, Ends: [2]Point{{1e9, 1}, {math.NaN(), 4}}}), Read(p, &strip.Kind{})} {
			if r.Why == "" {
				t.Errorf("%v was read", m.Bounds())
			}
		}
	}
}

// FuzzRead reads strips from noise with a kind that may be nonsense too.
func FuzzRead(f *testing.F) {
	f.Add(uint64(1), uint16(40), uint16(30), 3.0, 9.0)
	f.Fuzz(func(t *testing.T, seed uint64, w, h uint16, a, b float64) {
		r := rand.New(rand.NewPCG(seed, 9))
		m := image.NewNRGBA(image.Rect(0, 0, int(w%300), int(h%300)))
		cell := 1 + r.IntN(40)
		for i := range m.Pix {
			m.Pix[i] = uint8(seed >> (i / 4 % max(1, m.Rect.Dx()) / cell % 50) * uint64(1+i/4/max(1, m.Rect.Dx())/cell))
		}
		k := inventedKind(r)
		k.Chart.Rows[0].Blocks[0].Rect = [4]float64{a, b, b, a}
		k.Strip.Pads[0].CenterMM = a
		p := New(m, Orientation(seed%10))
		Read(p, &k)
		marks := Marks{Corners: [4]Point{{a, b}, {b + 50, a}, {90, 90}, {b, 80}}, Ends: [2]Point{{a, a}, {b, 50}}}
		ReadMarked(p, &k, marks)
		if c, why := LearnCard(p, marks.Corners); why == "" {
			c.SetCount(0, r.IntN(20))
			c.Between(0, 1+r.IntN(5), Point{a, b}, Point{b, a})
			c.RowImage(0)
			k.Chart = c.Chart(make([]model.Code, len(c.Rows)))
		}
		if s, why := LearnStrip(p, &k, marks, 1+r.IntN(12)); why == "" {
			s.Kind(s.Order())
		}
	})
}

// TestWhys: every reason has its words, in the catalogue of English at least;
// that the other languages have them too is TestTextsWhole's.
func TestWhys(t *testing.T) {
	b, err := os.ReadFile("../../i18n/text/en/photo.toml")
	if err != nil {
		t.Fatal(err)
	}
	for _, w := range Whys() {
		if !bytes.Contains(b, []byte(`"`+w.Msg().Key+`"`)) {
			t.Errorf("%q has no words", w)
		}
	}
	if n := bytes.Count(b, []byte(`"photo.why.`)); n != len(Whys()) {
		t.Errorf("%d reasons have words, %d are listed", n, len(Whys()))
	}
	if !Why("").Msg().IsZero() {
		t.Error("no reason says something")
	}
}
