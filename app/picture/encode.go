package picture

import (
	"bytes"
	"image"
	"image/jpeg"
)

// Encode makes a JPEG of at most so many bytes, as good as fits: coarser first,
// then smaller. It carries no notes of a camera.
func Encode(m *image.NRGBA, most int) ([]byte, error) {
	for {
		for _, quality := range []int{88, 80, 70, 60} {
			var out bytes.Buffer
			if err := jpeg.Encode(&out, m, &jpeg.Options{Quality: quality}); err != nil {
				return nil, err
			}
			if out.Len() <= most || m.Rect.Dx() < 16 || m.Rect.Dy() < 16 {
				return out.Bytes(), nil
			}
		}
		m = half(m)
	}
}

// half is a picture half as wide and high, each four pixels averaged.
func half(m *image.NRGBA) *image.NRGBA {
	out := image.NewNRGBA(image.Rect(0, 0, m.Rect.Dx()/2, m.Rect.Dy()/2))
	for y := range out.Rect.Dy() {
		for x := range out.Rect.Dx() {
			from := m.PixOffset(m.Rect.Min.X+2*x, m.Rect.Min.Y+2*y)
			to := out.PixOffset(x, y)
			for c := range 4 {
				sum := 2
				for _, i := range [4]int{from, from + 4, from + m.Stride, from + m.Stride + 4} {
					sum += int(m.Pix[i+c])
				}
				out.Pix[to+c] = uint8(sum / 4)
			}
		}
	}
	return out
}
