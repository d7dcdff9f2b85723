package photo

import (
	"bytes"
	"image"
	"image/jpeg"
	"testing"
	"time"

	"golang.org/x/image/draw"
)

// large is a photograph of the public set as a 12-megapixel phone would have
// made it.
func large(b *testing.B) []byte {
	m := decoded(b, "p001.jpg")
	big := image.NewRGBA(image.Rect(0, 0, 4000, 3000))
	draw.BiLinear.Scale(big, big.Rect, m, m.Bounds(), draw.Src, nil)
	var out bytes.Buffer
	if err := jpeg.Encode(&out, big, &jpeg.Options{Quality: 90}); err != nil {
		b.Fatal(err)
	}
	return out.Bytes()
}

// BenchmarkRead says what reading costs beside the bare decoding of the same
// file, the floor nobody gets under.
func BenchmarkRead(b *testing.B) {
	small := bytes.Buffer{}
	if err := jpeg.Encode(&small, decoded(b, "p001.jpg"), &jpeg.Options{Quality: 85}); err != nil {
		b.Fatal(err)
	}
	k := publicKind(b, "A")
	for name, file := range map[string][]byte{"12-megapixels": large(b), "1600-pixels": small.Bytes()} {
		b.Run(name, func(b *testing.B) {
			var decode, shrink, read time.Duration
			for b.Loop() {
				began := time.Now()
				m, err := jpeg.Decode(bytes.NewReader(file))
				if err != nil {
					b.Fatal(err)
				}
				decode += time.Since(began)
				began = time.Now()
				p := New(m, 1)
				shrink += time.Since(began)
				began = time.Now()
				if r := Read(p, k); r.Why != "" {
					b.Fatal(r.Why)
				}
				read += time.Since(began)
			}
			ms := func(d time.Duration) float64 { return float64(d.Milliseconds()) / float64(b.N) }
			b.ReportMetric(ms(decode), "ms-decode(floor)")
			b.ReportMetric(ms(shrink), "ms-shrink")
			b.ReportMetric(ms(read), "ms-read")
			b.ReportMetric(float64(decode+shrink+read)/float64(decode), "x-floor")
		})
	}
}
