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
func TestOwnPictures(t *testing.T) { ownPictures(t, 0, 0) }

// So do pads that are unlike their print, as a press alone may be by 5 in the
// whole (ISO 12647-2, from memory), on backs unlike one another.
func TestStrayedPictures(t *testing.T) { ownPictures(t, 1.5, 0.03) }

func ownPictures(t *testing.T, astray, backSD float64) {
	var a tally
	for i := range *many {
		r := rand.New(rand.NewPCG(uint64(i), 77))
		s := newScene(r, anyKind(t, r, i), 1)
		s.astray, s.backSD = astray, backSD
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

// How well colours are measured, apart from what a place between two blocks
// means: what a perfect eye would see by daylight against what we make of the
// picture, both laid on the line through the blocks. A third of the pictures
// have a shadow on them, and no pad lies on a block but by chance.
func TestPlacesBetweenBlocks(t *testing.T) {
	type errors struct{ n, colour, place, bias float64 }
	by := map[string]*errors{}
	for i := range *many {
		r := rand.New(rand.NewPCG(uint64(i), 33))
		s := newScene(r, anyKind(t, r, i), 1)
		if s.shadow = 0; i%3 == 0 {
			s.shadow = 0.45
		}
		for j, p := range s.kind.Strip.Pads {
			row, _ := s.kind.Row(p.Pad)
			s.frac[j] = r.Float64() * float64(len(row.Blocks)-1)
		}
		p := New(s.photo(r), 1)
		got := Read(p, &s.kind)
		if got.Why != "" {
			continue
		}
		colours, rows := measured(p, &s.kind, got)
		for j, pad := range got.Pads {
			if pad.Block < 0 {
				continue
			}
			var printed []Lab
			row, _ := s.kind.Row(pad.Code)
			for _, b := range row.Blocks {
				printed = append(printed, nominal(b.RGB).lab())
			}
			want := s.day[j].lab()
			colour, place := DE2000(colours[j], want), onLine(colours[j], rows[j])-onLine(want, printed)
			for _, k := range []string{"all", s.lamp, map[bool]string{true: "shadow", false: "no shadow"}[s.shadow > 0]} {
				if by[k] == nil {
					by[k] = &errors{}
				}
				e := by[k]
				e.n, e.colour, e.place, e.bias = e.n+1, e.colour+colour*colour, e.place+place*place, e.bias+place
			}
		}
	}
	for _, k := range slices.Sorted(maps.Keys(by)) {
		e := by[k]
		t.Logf("%-9s %4.0f pads: colours off by %.2f (CIEDE2000), places by %.3f of a step (root mean squares), %+.3f in the mean", k, e.n, math.Sqrt(e.colour/e.n), math.Sqrt(e.place/e.n), e.bias/e.n)
	}
	if e := by["all"]; math.Sqrt(e.colour/e.n) > 1.6 || math.Sqrt(e.place/e.n) > 0.11 || math.Abs(e.bias/e.n) > 0.05 {
		t.Error("colours are measured badly")
	}
}

// measured are the colours a reading saw, and those of the rows it held them
// against.
func measured(p *Picture, k *strip.Kind, got Reading) (pads []Lab, rows [][]Lab) {
	f := newFinder(p, inMillimetres(k))
	s := newSeeker(f, f.toned(f.charts()[0]))
	var all []dab
	for i := range s.shape.Pads {
		all = append(all, s.dab(got.Place.pose, i))
	}
	s.mirrored(got.Place.pose, all)
	shade := s.shade(got.Place.pose, all)
	for _, d := range all {
		pads = append(pads, s.inks.of(d.ratio(shade, s.paper)).lab())
	}
	return pads, s.rows
}

// onLine is the place on the line through a row's blocks that is nearest to a
// colour.
func onLine(c Lab, row []Lab) float64 {
	best, at := math.Inf(1), 0.0
	for i := range len(row) - 1 {
		for n := range 51 {
			t := float64(n) / 50
			on := Lab{row[i].L + t*(row[i+1].L-row[i].L), row[i].A + t*(row[i+1].A-row[i].A), row[i].B + t*(row[i+1].B-row[i].B)}
			if d := DE2000(c, on); d < best {
				best, at = d, float64(i)+t
			}
		}
	}
	return at
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

// A strip of another kind is known by its pads, together, being unlike their
// rows, even where each might pass.
func TestForeign(t *testing.T) {
	read := func(off float64) Pad { return Pad{Block: 1, off: off} }
	none := func(why Why, off float64) Pad { return Pad{Block: -1, Why: why, off: off} }
	for _, c := range []struct {
		pads []Pad
		want bool
	}{
		{[]Pad{read(1), read(2), read(3)}, false},
		{[]Pad{read(5), read(6), read(4)}, false},
		{[]Pad{read(7), read(6), read(8)}, true},
		{[]Pad{read(1), read(2), none(NoMatch, 15)}, false},
		{[]Pad{read(3), read(4), none(NoMatch, 15)}, true},
		{[]Pad{read(1), read(2), read(1), read(2), none(NoMatch, 40)}, false},
		{[]Pad{read(7), read(6), none(Glare, 0), none(Glare, 0)}, true},
		{[]Pad{read(1), none(Uneven, 0)}, true},
		{[]Pad{read(1), none(Uneven, 0), none(NoMatch, 15)}, true},
		{[]Pad{read(1), none(Unsure, 4), none(Hidden, 0)}, false},
		{[]Pad{none(Glare, 0), none(Hidden, 0)}, false},
	} {
		if got := foreign(c.pads); got != c.want {
			t.Errorf("%+v: %v", c.pads, got)
		}
	}
}

// A pad is given the nearest block only where that is likelier right than wrong,
// which depends on the light and on how far apart its row's blocks are.
func TestChoose(t *testing.T) {
	row := func(step float64) (out []Lab) {
		for i := range 5 {
			out = append(out, Lab{90 - step*float64(i), 0, 0})
		}
		return out
	}
	for _, c := range []struct {
		name  string
		sigma float64
		row   []Lab
		pad   Lab
		block int
		next  int
		why   Why
	}{
		{"on a block", 4.2, row(12), Lab{66, 0, 0}, 2, -1, ""},
		{"between two", 4.2, row(12), Lab{71, 0, 0}, 2, 1, ""},
		{"blocks too alike", 4.2, row(4), Lab{82, 0, 0}, -1, -1, Alike},
		{"told apart by daylight", 4.2, row(9), Lab{72, 0, 0}, 2, -1, ""},
		{"and not under this lamp", 9, row(9), Lab{72, 0, 0}, -1, -1, Alike},
		{"near two that are no neighbours", 4.2, []Lab{{90, 0, 0}, {60, 40, 0}, {86, 2, 0}}, Lab{88, 1, 0}, -1, -1, Unsure},
		{"of another colour", 4.2, row(12), Lab{66, 60, 0}, -1, -1, NoMatch},
	} {
		s := &seeker{sigma: c.sigma}
		got := s.choose(Pad{Block: -1, Next: -1}, c.pad, c.row)
		if got.Block != c.block || got.Next != c.next || got.Why != c.why || (got.Block >= 0) != (got.Confidence >= 0.5) {
			t.Errorf("%s: %+v", c.name, got)
		}
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
