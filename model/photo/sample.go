package photo

import (
	"cmp"
	"math"
	"slices"
)

// samples are some colours of one piece of the picture.
type samples []light

func (s *samples) add(c light) { *s = append(*s, c) }

// middle is the median of each channel.
func (s samples) middle() light {
	var out light
	one := make([]float64, len(s))
	for c := range 3 {
		for i := range s {
			one[i] = s[i][c]
		}
		out[c] = median(one)
	}
	return out
}

// spread is how unlike the samples are: the mean distance of their brightness
// from the middle one, as a share of it.
func (s samples) spread() float64 {
	m, sum := bright(s.middle()), 0.0
	for _, c := range s {
		sum += math.Abs(bright(c) - m)
	}
	return sum / float64(max(1, len(s))) / math.Max(m, 1e-3)
}

// brighter is the mean of the brightest share of the samples.
func (s samples) brighter(part float64) light {
	slices.SortFunc(s, func(a, b light) int { return cmp.Compare(bright(b), bright(a)) })
	return s[:max(1, int(part*float64(len(s))))].mean()
}

// between is the samples whose brightness lies between two shares of the rest.
func (s samples) between(lo, hi float64) samples {
	s = slices.Clone(s)
	slices.SortFunc(s, func(a, b light) int { return cmp.Compare(bright(a), bright(b)) })
	from, to := int(lo*float64(len(s))), int(math.Ceil(hi*float64(len(s))))
	return s[from:max(to, from+1)]
}

func (s samples) mean() light {
	var out light
	for _, c := range s {
		for i := range 3 {
			out[i] += c[i] / float64(len(s))
		}
	}
	return out
}

func mean(xs []float64) float64 {
	sum := 0.0
	for _, x := range xs {
		sum += x
	}
	return sum / float64(max(1, len(xs)))
}

// median sorts what it is given.
func median(xs []float64) float64 {
	if len(xs) == 0 {
		return 0
	}
	slices.Sort(xs)
	if n := len(xs); n%2 == 0 {
		return (xs[n/2-1] + xs[n/2]) / 2
	}
	return xs[len(xs)/2]
}
