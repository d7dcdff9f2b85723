package photo

import (
	"encoding/csv"
	"math"
	"os"
	"strconv"
	"testing"

	"github.com/lucasb-eyer/go-colorful"

	"quietwater/model/strip"
)

// The pairs of Sharma, Wu and Dalal 2005 (Color Res Appl 30:21-30, table 1),
// to the four digits printed. Pair 10 lies where the mean hue jumps: it is
// 7.2195 in print, and 7.1792 where the last bit falls the other way.
func TestDE2000(t *testing.T) {
	f, err := os.Open("testdata/public/ciede2000.csv")
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	rows, err := csv.NewReader(f).ReadAll()
	if err != nil || len(rows) != 35 {
		t.Fatal(len(rows), err)
	}
	for _, row := range rows[1:] {
		var x [8]float64
		for i, s := range row {
			if x[i], err = strconv.ParseFloat(s, 64); err != nil {
				t.Fatal(err)
			}
		}
		p, q := Lab{x[1], x[2], x[3]}, Lab{x[4], x[5], x[6]}
		for _, got := range []float64{DE2000(p, q), DE2000(q, p)} {
			if math.Abs(got-x[7]) > 1e-4 && !(x[0] == 10 && (math.Abs(got-7.1792) < 1e-4 || math.Abs(got-7.2195) < 1e-4)) {
				t.Errorf("pair %v: %.4f, want %.4f", row[0], got, x[7])
			}
		}
		if DE2000(p, p) != 0 {
			t.Errorf("pair %v: a colour differs from itself", row[0])
		}
	}
}

// go-colorful is a general library of colours (MIT). Its white has other last
// digits than the sum of the sRGB matrix, hence the tolerance.
func TestLabAgainstALibrary(t *testing.T) {
	for r := 0; r < 256; r += 15 {
		for g := 0; g < 256; g += 15 {
			for b := 0; b < 256; b += 15 {
				c := colorful.Color{R: float64(r) / 255, G: float64(g) / 255, B: float64(b) / 255}
				l, x, y := c.Lab()
				got := nominal(strip.RGB{uint8(r), uint8(g), uint8(b)}).lab()
				if math.Abs(got.L-100*l) > 0.02 || math.Abs(got.A-100*x) > 0.05 || math.Abs(got.B-100*y) > 0.05 {
					t.Fatalf("%d %d %d: %.3f, the library has %.3f %.3f %.3f", r, g, b, got, 100*l, 100*x, 100*y)
				}
				lr, lg, lb := c.LinearRgb()
				if n := nominal(strip.RGB{uint8(r), uint8(g), uint8(b)}); math.Abs(n[0]-lr)+math.Abs(n[1]-lg)+math.Abs(n[2]-lb) > 1e-9 {
					t.Fatalf("%d %d %d: linear %v", r, g, b, n)
				}
				if math.Abs(coded(lr)-float64(r)) > 1e-6 {
					t.Fatalf("%d comes back as %v", r, coded(lr))
				}
			}
		}
	}
}

// The table of bytes is the formula's: every byte comes back, and none is more
// than one off anywhere.
func TestPixels(t *testing.T) {
	table := pixels()
	last := float64(len(table) - 1)
	for b, x := range linear {
		if got := table[int(x*last+0.5)]; int(got) != b {
			t.Errorf("%d comes back as %d", b, got)
		}
	}
	for i := range 100_000 {
		x := float64(i) / 99_999
		if got, want := float64(table[int(x*last+0.5)]), coded(x); math.Abs(got-want) > 0.6 {
			t.Fatalf("%g is %g, want %g", x, got, want)
		}
	}
}

// Law: a picture under a coloured, dimmer light gives the same ratios to its
// white as under white light: adaptation by the white's own channels
// (von Kries in linear sRGB).
func TestRatioForgetsTheLight(t *testing.T) {
	paper := light{0.9, 0.89, 0.86}
	for _, lamp := range []light{{1, 1, 1}, {0.5, 0.4, 0.2}, {0.2, 0.3, 0.6}} {
		var c, w light
		for i := range 3 {
			c[i], w[i] = 0.4*lamp[i], paper[i]*lamp[i]
		}
		for i, v := range ratio(c, w, paper) {
			if math.Abs(v-0.4) > 1e-12 {
				t.Errorf("under %v channel %d is %v", lamp, i, v)
			}
		}
	}
}
