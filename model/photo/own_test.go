package photo

import (
	"flag"
	"maps"
	"math"
	"math/rand/v2"
	"slices"
	"testing"

	"quietwater/model/strip"
)

var many = flag.Int("pictures", 8, "how many pictures of our own are painted and read")

// Our own pictures have other pigments, lamps, cameras and kinds of strip than
// the public ones. Half the kinds are invented.
func TestOwnPictures(t *testing.T) {
	var a tally
	for i := range *many {
		r := rand.New(rand.NewPCG(uint64(i), 77))
		s := newScene(r, anyKind(t, r, i), 1)
		got := Read(New(s.photo(r), 1), &s.kind)
		a.photos++
		if got.Why != "" {
			a.refused++
			t.Logf("picture %d: %s", i, got.Why)
			continue
		}
		if off := got.Place.Ends[0].minus(s.view().at(s.pose.end)).length() / s.scale; off > 2.5 {
			t.Errorf("picture %d: the strip was found %.1f mm away", i, off)
		}
		for j, p := range got.Pads {
			a.count(p, int(math.Round(s.frac[j])), s.frac[j])
			if math.Abs(float64(p.Block)-s.frac[j]) > 0.65 {
				t.Logf("picture %d: pad %d is %.2f, read %d (%s, confidence %.2f, %.1f off)", i, j, s.frac[j], p.Block, p.Why, p.Confidence, p.Distance)
			}
		}
	}
	t.Log(a)
	if a.share(a.lenient) < 97 || a.far > 0 || a.refused > 1+a.photos/10 || float64(a.given) < 0.9*float64(a.pads) {
		t.Error(a)
	}
	if a.sureRight < a.sure {
		t.Errorf("%d proposals called sure were wrong", a.sure-a.sureRight)
	}
}

func anyKind(t testing.TB, r *rand.Rand, i int) strip.Kind {
	if i%2 == 0 {
		return inventedKind(r)
	}
	return *publicKind(t, string("ABC"[i/2%3]))
}

func TestSpoiledPictures(t *testing.T) {
	for _, name := range slices.Sorted(maps.Keys(spoiled)) {
		t.Run(name, func(t *testing.T) {
			why := map[Why]int{}
			for i := range max(1, *many/8) {
				r := rand.New(rand.NewPCG(uint64(i), 55))
				s := newScene(r, anyKind(t, r, i), 0.7)
				spoiled[name](r, s)
				got := Read(New(s.photo(r), 1), &s.kind)
				if why[got.Why]++; got.Why == "" {
					t.Errorf("picture %d was read: %+v", i, got.Pads)
				}
			}
			t.Log(why)
		})
	}
}

// A reflection on or near one pad: what it lies on is left out, a faint one may be
// read through, and no pad is read off by two.
func TestReflectionOnAPad(t *testing.T) {
	read := 0
	for i := range max(6, *many) {
		r := rand.New(rand.NewPCG(uint64(i), 91))
		s := newScene(r, anyKind(t, r, i), 0.6)
		j := r.IntN(len(s.kind.Strip.Pads))
		aside := 5 * r.Float64()
		at := s.pose.at(s.kind.Strip.Pads[j].CenterMM+aside, aside)
		s.glare, s.glareWide = &at, 1.5+2.5*r.Float64()
		got := Read(New(s.photo(r), 1), &s.kind)
		for n, p := range got.Pads {
			far := math.Hypot(s.kind.Strip.Pads[n].CenterMM-s.kind.Strip.Pads[j].CenterMM-aside, aside)
			veil := 3 * math.Exp(-0.5*math.Pow(far/s.glareWide, 2))
			switch {
			case p.Block < 0:
			case veil > 0.25:
				t.Errorf("picture %d: pad %d has %.2f of white added and was read", i, n, veil)
			case math.Abs(float64(p.Block)-s.frac[n]) > 1:
				t.Errorf("picture %d: pad %d is %.2f, read %d", i, n, s.frac[n], p.Block)
			default:
				read++
			}
		}
	}
	if read == 0 {
		t.Error("nothing was read beside the reflections")
	}
}
