package photo

import "math"

// tone is how much a camera has steepened the middle of its brightness for the
// eye's sake, dark and bright parts being the flatter for it: an sRGB value v
// from 0 to 1 has become v + tone·(3v²-2v³-v). Shares of white are true only
// once that is undone, since the strip seldom lies in just the chart's light.
type tone float64

const (
	mostTone = 0.6  // steeper, and the curve would turn back
	toneHold = 11.0 // squares of CIEDE2000, over all blocks, that a tone of 1 has to save
)

// undo is the light there was before the camera steepened it.
func (k tone) undo(x float64) float64 {
	want := coded(x) / 255
	v := want
	for range 8 { // Newton's method; the curve is steeper than 0.4 everywhere
		v -= (v + float64(k)*(3*v*v-2*v*v*v-v) - want) / (1 + float64(k)*(6*v-6*v*v-1))
	}
	return uncoded(v)
}

func (k tone) undone(c light) light { return light{k.undo(c[0]), k.undo(c[1]), k.undo(c[2])} }

// toned is the picture with its tone undone.
func (p *Picture) toned(k tone) *Picture {
	q := *p
	q.tone, q.light = k, new([256]float64)
	for i, x := range p.light {
		q.light[i] = k.undo(x)
	}
	return &q
}

// toned finds the tone of the picture by the chart, and looks at both anew.
func (f *finder) toned(c chart) chart {
	f.p = f.p.toned(toneOf(f.spots, c.seen, nominal(f.kind.Chart.Paper)))
	c.seen = f.seen(c)
	return c
}

// toneOf is the tone without which the chart as seen fits the chart as printed
// best. Few blocks say little of it: they are held to none.
func toneOf(spots []spot, seen []swatch, paper light) tone {
	cost := func(k tone) float64 {
		flat := make([]swatch, len(seen))
		for i, s := range seen {
			flat[i] = swatch{s.ok, k.undone(s.raw), k.undone(s.white)}
		}
		m := inksOf(spots, flat, paper)
		sum := toneHold * float64(k*k)
		for i, s := range flat {
			if s.ok {
				off := math.Min(8, DE2000(m.of(s.ratio(paper)).lab(), spots[i].ink.lab()))
				sum += off * off
			}
		}
		return sum
	}
	k := tone(0)
	best := cost(k)
	for step := tone(0.16); step > 0.01; step /= 2 {
		for _, way := range []tone{step, -step} {
			for math.Abs(float64(k+way)) <= mostTone {
				c := cost(k + way)
				if c >= best {
					break
				}
				best, k = c, k+way
			}
		}
	}
	return k
}
