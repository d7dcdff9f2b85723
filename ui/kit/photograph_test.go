package kit

import (
	"image"
	"image/color"
	"testing"
)

// TestLay: a picture comes into the middle of its frame, as large as it goes,
// and touches nothing around it; none is nothing.
func TestLay(t *testing.T) {
	grey, red := color.RGBA{90, 90, 90, 255}, color.RGBA{200, 0, 0, 255}
	for _, size := range []image.Point{{10, 10}, {400, 30}, {60, 200}, {1, 1}} {
		for _, fit := range []float64{0.5, 1, 2.5} {
			paper := image.NewRGBA(image.Rect(0, 0, 300, 300))
			fill(paper, paper.Bounds(), grey)
			m := image.NewRGBA(image.Rectangle{Max: size})
			fill(m, m.Bounds(), red)
			frame := image.Rect(20, 20, 80, 60)
			Lay(paper, m, frame, fit)
			middle := image.Pt(int(50*fit), int(40*fit))
			if c := paper.RGBAAt(middle.X, middle.Y); c != red {
				t.Errorf("%v at %g: %v in the middle", size, fit, c)
			}
			for y := range 300 {
				for x := range 300 {
					in := float64(x) >= 20*fit && float64(x) < 80*fit && float64(y) >= 20*fit && float64(y) < 60*fit
					if !in && paper.RGBAAt(x, y) != grey {
						t.Fatalf("%v at %g: %d,%d was painted over", size, fit, x, y)
					}
				}
			}
		}
	}
	Lay(image.NewRGBA(image.Rect(0, 0, 9, 9)), nil, image.Rect(0, 0, 5, 5), 1)
}

func fill(m *image.RGBA, r image.Rectangle, c color.RGBA) {
	for y := r.Min.Y; y < r.Max.Y; y++ {
		for x := r.Min.X; x < r.Max.X; x++ {
			m.SetRGBA(x, y, c)
		}
	}
}
