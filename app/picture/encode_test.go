package picture

import (
	"bytes"
	"image"
	"image/jpeg"
	"math"
	"math/rand/v2"
	"os"
	"testing"
	"time"

	"quietwater/model/photo"
	"quietwater/model/strip"
)

// What is kept of the public pictures fits into 300 kB and can be read again as
// the picture it came from was.
func TestEncodeEvidence(t *testing.T) {
	for file, kind := range map[string]int{"p001.jpg": 0, "p017.jpg": 1, "p016.jpg": 2, "p010.jpg": 2} {
		p, err := Open("../../model/photo/testdata/public/"+file, time.UTC)
		if err != nil {
			t.Fatal(err)
		}
		k := strip.Generic()[kind]
		whole := photo.New(p.Image, p.Turn)
		want := photo.Read(whole, &k)
		b, err := Encode(want.Evidence(whole), MostEvidence)
		if err != nil {
			t.Fatal(err)
		}
		if len(b) > MostEvidence || len(b) < 20_000 {
			t.Errorf("%s: %d bytes are kept", file, len(b))
		}
		m, err := jpeg.Decode(bytes.NewReader(b))
		if err != nil {
			t.Fatal(err)
		}
		got := photo.Read(photo.New(m, 1), &k)
		if got.Why != "" {
			t.Errorf("%s: what is kept is not read: %s", file, got.Why)
			continue
		}
		for i, pad := range got.Pads {
			if math.Abs(float64(pad.Block-want.Pads[i].Block)) > 1 {
				t.Errorf("%s: %s was block %d, in what is kept it is %d", file, pad.Code, want.Pads[i].Block, pad.Block)
			}
		}
	}
}

// Noise is the hardest to keep small; a picture of no size is kept as it is.
func TestEncodeFits(t *testing.T) {
	m := image.NewNRGBA(image.Rect(0, 0, 1400, 1100))
	r := rand.New(rand.NewPCG(1, 2))
	for i := range m.Pix {
		m.Pix[i] = uint8(r.Uint32())
	}
	b, err := Encode(m, MostEvidence)
	if err != nil || len(b) > MostEvidence {
		t.Errorf("%d bytes, %v", len(b), err)
	}
	if b, err = Encode(image.NewNRGBA(image.Rect(0, 0, 3, 900)), 10); err != nil || len(b) == 0 {
		t.Errorf("%d bytes, %v", len(b), err)
	}
	if got, err := Decode(b, time.UTC); err != nil || !got.Taken.IsZero() {
		t.Errorf("%v, taken %v", err, got.Taken)
	}
}

// The whole photograph is kept byte by byte.
func TestWhole(t *testing.T) {
	const path = "../../model/photo/testdata/public/p001.jpg"
	want, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	if got, err := Whole(path); err != nil || !bytes.Equal(got, want) {
		t.Errorf("%d bytes of %d, %v", len(got), len(want), err)
	}
	if _, err := Whole("no/such/file"); err == nil {
		t.Error("a file that is not there is kept")
	}
}
