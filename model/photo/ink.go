package photo

import "math"

// inks turns what is seen, as a share of the paper's white, into the colours
// the chart is printed in: a matrix and an offset for each channel. What the
// light, the camera and its idea of white have done to the chart they have
// done to the strip.
type inks [3][4]float64

func (m inks) of(c light) light {
	var out light
	for i, row := range m {
		out[i] = row[0]*c[0] + row[1]*c[1] + row[2]*c[2] + row[3]
	}
	return out
}

// inksOf fits the chart as seen to the chart as printed by least squares, dark
// colours weighing as much as light ones do to the eye, and again with little
// weight for a block that disagrees with the rest: a reflection lies on it. Few
// blocks cannot tell twelve numbers: they are held to leaving the colours as
// they are.
func inksOf(spots []spot, seen []swatch, paper light) inks {
	weight := make([]float64, len(spots))
	for i := range weight {
		weight[i] = 1
	}
	var m inks
	for range 2 {
		m = fitInks(spots, seen, paper, weight, loosely)
		for i, s := range seen {
			if s.ok {
				off := DE2000(m.of(s.ratio(paper)).lab(), spots[i].ink.lab()) / 8
				weight[i] = 1 / (1 + off*off)
			}
		}
	}
	return m
}

// How tightly a fit is held to leaving colours as they are: loosely where they
// are to be measured, tightly where it is asked whether this is the chart at
// all, since twelve numbers can make nine blocks of one chart into another's.
const (
	loosely = 0.03
	tightly = 1.0
)

// miss is how far each block is from its print with a tight fit, in CIEDE2000.
func miss(spots []spot, seen []swatch, paper light) []float64 {
	even := make([]float64, len(seen))
	for i := range even {
		even[i] = 1
	}
	m := fitInks(spots, seen, paper, even, tightly)
	out := make([]float64, len(seen))
	for i, s := range seen {
		if s.ok {
			out[i] = DE2000(m.of(s.ratio(paper)).lab(), spots[i].ink.lab())
		}
	}
	return out
}

func fitInks(spots []spot, seen []swatch, paper light, weight []float64, hold float64) inks {
	var out inks
	for c := range 3 {
		var m [4][4]float64
		var r [4]float64
		n := 0.0
		add := func(x [4]float64, y, weight float64) {
			for i := range 4 {
				for j := range 4 {
					m[i][j] += weight * x[i] * x[j]
				}
				r[i] += weight * x[i] * y
			}
		}
		for i, s := range seen {
			if s.ok {
				q, y := s.ratio(paper), spots[i].ink[c]
				add([4]float64{q[0], q[1], q[2], 1}, y, weight[i]/math.Pow(0.08+y, 1.3))
				n++
			}
		}
		add([4]float64{paper[0], paper[1], paper[2], 1}, paper[c], n/6/math.Pow(1.08, 1.3))
		for i := range 4 {
			m[i][i] += hold
		}
		r[c] += hold
		x, ok := solve(m[0][:], m[1][:], m[2][:], m[3][:], r[:])
		if !ok {
			x = make([]float64, 4)
			x[c] = 1
		}
		copy(out[c][:], x)
	}
	return out
}
