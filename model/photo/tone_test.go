package photo

import (
	"math"
	"math/rand/v2"
	"testing"
)

// steepened is what the camera does.
func (k tone) steepened(x float64) float64 {
	v := coded(x) / 255
	return uncoded(v + float64(k)*(3*v*v-2*v*v*v-v))
}

// Law: undoing a tone gives the light there was, and leaves black and white.
func TestToneIsUndone(t *testing.T) {
	for k := tone(-mostTone); k <= mostTone; k += 0.05 {
		for x := 0.0; x <= 1; x += 0.01 {
			if got := k.undo(k.steepened(x)); math.Abs(got-x) > 1e-6 {
				t.Fatalf("tone %.2f: %.3f comes back as %.6f", k, x, got)
			}
		}
	}
}

// A chart in light from one side, its inks drifted apart, tells the camera's
// tone; one of few blocks tells it less well and is held to none.
func TestToneIsFound(t *testing.T) {
	r := rand.New(rand.NewPCG(4, 4))
	for _, c := range []struct {
		kind      string
		want, off tone
	}{{"A", -0.2, 0.03}, {"A", 0, 0.03}, {"A", 0.15, 0.03}, {"A", 0.3, 0.03}, {"B", 0, 0.05}, {"B", 0.25, 0.08}, {"C", 0, 0.15}, {"C", 0.25, 0.15}} {
		k := publicKind(t, c.kind)
		spots, paper := spotsOf(k), nominal(k.Chart.Paper)
		mixed := func(x light) light { // the inks, as this lamp and this camera have them
			return light{0.9*x[0] + 0.1*x[1], 0.05*x[0] + 0.9*x[1] + 0.05*x[2], 0.12*x[1] + 0.7*x[2]}
		}
		var seen []swatch
		for _, s := range spots {
			bright := 0.8 - 0.3*s.middle.X/k.Chart.WidthMM
			sw := swatch{ok: true, raw: mixed(s.ink).times(bright), white: mixed(paper).times(bright)}
			for ch := range 3 {
				sw.raw[ch] = c.want.steepened(sw.raw[ch] * math.Exp(0.01*r.NormFloat64()))
				sw.white[ch] = c.want.steepened(sw.white[ch])
			}
			seen = append(seen, sw)
		}
		if got := toneOf(spots, seen, paper); math.Abs(float64(got-c.want)) > float64(c.off) {
			t.Errorf("%s: tone %.2f was taken for %.2f", c.kind, c.want, got)
		} else {
			t.Logf("%s: tone %.2f, found %.2f", c.kind, c.want, got)
		}
	}
}
