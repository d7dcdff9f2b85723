package photo

import "math"

// Point is a place in a picture, in pixels, or on the chart's plane, in
// millimetres.
type Point struct{ X, Y float64 }

func (p Point) plus(q Point) Point          { return Point{p.X + q.X, p.Y + q.Y} }
func (p Point) minus(q Point) Point         { return Point{p.X - q.X, p.Y - q.Y} }
func (p Point) times(f float64) Point       { return Point{p.X * f, p.Y * f} }
func (p Point) length() float64             { return math.Hypot(p.X, p.Y) }
func (p Point) across() Point               { return Point{-p.Y, p.X} }
func (p Point) to(q Point, f float64) Point { return p.plus(q.minus(p).times(f)) }

// view maps a plane to a picture: a homography with its last number 1.
type view [8]float64

func (v view) at(p Point) Point {
	w := v[6]*p.X + v[7]*p.Y + 1
	return Point{(v[0]*p.X + v[1]*p.Y + v[2]) / w, (v[3]*p.X + v[4]*p.Y + v[5]) / w}
}

// back is the view the other way; ok is false where there is none.
func (v view) back() (view, bool) {
	a, b, c, d, e, f, g, h := v[0], v[1], v[2], v[3], v[4], v[5], v[6], v[7]
	m := [9]float64{e - f*h, c*h - b, b*f - c*e, f*g - d, a - c*g, c*d - a*f, d*h - e*g, b*g - a*h, a*e - b*d}
	if math.Abs(m[8]) < 1e-12 {
		return view{}, false
	}
	var out view
	for i := range out {
		out[i] = m[i] / m[8]
	}
	return out, true
}

// scale is the pixels a millimetre is long near p.
func (v view) scale(p Point) float64 {
	o := v.at(p)
	x, y := v.at(Point{p.X + 0.5, p.Y}).minus(o), v.at(Point{p.X, p.Y + 0.5}).minus(o)
	return 2 * math.Sqrt(math.Abs(x.X*y.Y-x.Y*y.X))
}

// pair says that a point of the plane is seen at a point of the picture.
type pair struct{ plane, seen Point }

// affine fits a view without perspective by least squares, held to a prior
// where the points leave it free.
func affine(pairs []pair, prior view, hold float64) view {
	middle, spread := spreadOf(pairs)
	var m [3][3]float64
	var rx, ry [3]float64
	for _, q := range pairs {
		row := [3]float64{(q.plane.X - middle.X) / spread, (q.plane.Y - middle.Y) / spread, 1}
		for i := range 3 {
			for j := range 3 {
				m[i][j] += row[i] * row[j]
			}
			rx[i] += row[i] * q.seen.X
			ry[i] += row[i] * q.seen.Y
		}
	}
	was := prior.at(middle)
	for i, p := range [3][2]float64{{prior[0] * spread, prior[3] * spread}, {prior[1] * spread, prior[4] * spread}, {was.X, was.Y}} {
		weight := hold
		if i == 2 {
			weight = 0 // where it lies is never guessed
		}
		m[i][i] += weight
		rx[i] += weight * p[0]
		ry[i] += weight * p[1]
	}
	x, okx := solve(m[0][:], m[1][:], m[2][:], rx[:])
	y, oky := solve(m[0][:], m[1][:], m[2][:], ry[:])
	if !okx || !oky {
		return prior
	}
	a, b, d, e := x[0]/spread, x[1]/spread, y[0]/spread, y[1]/spread
	return view{a, b, x[2] - a*middle.X - b*middle.Y, d, e, y[2] - d*middle.X - e*middle.Y, 0, 0}
}

// spreadOf is the middle of the points of the plane and how far they lie from
// it.
func spreadOf(pairs []pair) (Point, float64) {
	var middle Point
	for _, q := range pairs {
		middle = middle.plus(q.plane)
	}
	middle = middle.times(1 / float64(max(1, len(pairs))))
	spread := 0.0
	for _, q := range pairs {
		spread += q.plane.minus(middle).length()
	}
	return middle, math.Max(spread/float64(max(1, len(pairs))), 1e-6)
}

// perspective fits a whole view by least squares. hold keeps the two numbers
// of perspective small where few points would make them up; 0 lets them free.
func perspective(pairs []pair, hold float64) (view, bool) {
	if len(pairs) < 4 {
		return view{}, false
	}
	middle, spread := spreadOf(pairs)
	seen := make([]pair, len(pairs))
	for i, q := range pairs {
		seen[i] = pair{q.seen, q.seen}
	}
	at, wide := spreadOf(seen)
	var m [8][8]float64
	var r [8]float64
	for _, q := range pairs {
		x, y := (q.plane.X-middle.X)/spread, (q.plane.Y-middle.Y)/spread
		u, v := (q.seen.X-at.X)/wide, (q.seen.Y-at.Y)/wide
		for _, row := range [2][9]float64{{x, y, 1, 0, 0, 0, -u * x, -u * y, u}, {0, 0, 0, x, y, 1, -v * x, -v * y, v}} {
			for i := range 8 {
				for j := range 8 {
					m[i][j] += row[i] * row[j]
				}
				r[i] += row[i] * row[8]
			}
		}
	}
	m[6][6] += hold
	m[7][7] += hold
	rows := make([][]float64, 8)
	for i := range rows {
		rows[i] = m[i][:]
	}
	h, ok := solve(append(rows, r[:])...)
	if !ok {
		return view{}, false
	}
	// Undo the scaling: seen = wide*u+at, plane = (p-middle)/spread.
	a := [9]float64{h[0], h[1], h[2], h[3], h[4], h[5], h[6], h[7], 1}
	for c := range 3 {
		a[c] = wide*a[c] + at.X*a[6+c]
		a[3+c] = wide*a[3+c] + at.Y*a[6+c]
	}
	for row := range 3 {
		a[3*row] /= spread
		a[3*row+1] /= spread
		a[3*row+2] -= a[3*row]*middle.X + a[3*row+1]*middle.Y
	}
	if math.Abs(a[8]) < 1e-9 {
		return view{}, false
	}
	var out view
	for i := range out {
		out[i] = a[i] / a[8]
	}
	return out, true
}

// solve solves a square system; the last argument is its right side. ok is
// false where there is no one answer.
func solve(system ...[]float64) ([]float64, bool) {
	n := len(system) - 1
	a := make([][]float64, n)
	for i := range a {
		a[i] = append(append([]float64{}, system[i]...), system[n][i])
	}
	for i := range n {
		best := i
		for j := i + 1; j < n; j++ {
			if math.Abs(a[j][i]) > math.Abs(a[best][i]) {
				best = j
			}
		}
		if math.Abs(a[best][i]) < 1e-12 {
			return nil, false
		}
		a[i], a[best] = a[best], a[i]
		for j := range n {
			if j == i {
				continue
			}
			f := a[j][i] / a[i][i]
			for c := i; c <= n; c++ {
				a[j][c] -= f * a[i][c]
			}
		}
	}
	out := make([]float64, n)
	for i := range out {
		out[i] = a[i][n] / a[i][i]
	}
	return out, true
}
