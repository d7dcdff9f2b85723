package photo

import (
	"math"
	"math/rand/v2"
	"testing"

	"quietwater/model"
	"quietwater/model/strip"
)

// cardAt is where the corners of the public charts are in their own pictures,
// as a hand marked them.
var cardAt = map[string][4]Point{
	"A": {{246, 46}, {1220, 66}, {1190, 1107}, {241, 1096}},
	"B": {{65, 66}, {1543, 100}, {1509, 1047}, {66, 1032}},
	"C": {{69, 87}, {1441, 119}, {1413, 905}, {72, 891}},
}

func jittered(r *rand.Rand, at [4]Point, by float64) [4]Point {
	for i := range at {
		at[i] = at[i].plus(Point{by * r.NormFloat64(), by * r.NormFloat64()})
	}
	return at
}

// learntCard learns the chart of a kind and checks that every row has as many
// blocks as it has.
func learntCard(t *testing.T, p *Picture, corners [4]Point, k strip.Kind) (strip.Kind, bool) {
	t.Helper()
	c, why := LearnCard(p, corners)
	if why != "" || len(c.Rows) != len(k.Chart.Rows) {
		t.Logf("%s: %q, %d rows of %d", k.ID, why, len(c.Rows), len(k.Chart.Rows))
		return k, false
	}
	var pads []model.Code
	ok := true
	for i, r := range k.Chart.Rows {
		if len(c.Rows[i]) != len(r.Blocks) {
			t.Logf("%s: row %d has %d blocks, %d were found", k.ID, i, len(r.Blocks), len(c.Rows[i]))
			c.SetCount(i, len(r.Blocks)) // as a person would
			ok = false
		}
		pads = append(pads, r.Pad)
	}
	out := k
	out.Chart, out.Strip = c.Chart(pads), strip.Shape{}
	for i, r := range k.Chart.Rows {
		for j, b := range r.Blocks {
			got := middleOf(out.Chart.Rows[i].Blocks[j].Rect)
			want := middleOf(b.Rect)
			if off := (Point{got.X/c.W - want.X/k.Chart.WidthMM, got.Y/c.H - want.Y/k.Chart.HeightMM}).length(); off > 0.035 {
				t.Errorf("%s: block %d of row %d was found %.3f of the card away", k.ID, j, i, off)
			}
		}
	}
	return out, ok
}

func TestLearnPublicCharts(t *testing.T) {
	kinds := map[string]strip.Kind{}
	for id, at := range cardAt {
		p := New(decoded(t, "chart_only_"+id+".jpg"), 1)
		for i := range uint64(6) {
			k, ok := learntCard(t, p, jittered(rand.New(rand.NewPCG(i, 3)), at, 4*float64(i)/5), *publicKind(t, id))
			if !ok {
				t.Errorf("chart %s, marked the %dth time, is not as printed", id, i)
			}
			if i == 0 {
				kinds[id] = k
			}
		}
		k := kinds[id]
		got, why := FindChart(p, &k)
		if why != "" {
			t.Errorf("chart %s is not found again in its own picture: %s", id, why)
		}
		for i, c := range got {
			if off := c.minus(at[i]).length(); off > 6 {
				t.Errorf("chart %s is found again %.1f pixels away", id, off)
			}
		}
	}
	// One picture teaches where the pads are; all others are read with that.
	teacher := map[string]string{"A": "p001.jpg", "B": "p017.jpg", "C": "p016.jpg"}
	shots := publicShots(t)
	for _, s := range shots {
		if s.File != teacher[s.Layout] {
			continue
		}
		k := kinds[s.Layout]
		b, why := LearnStrip(New(decoded(t, s.File), Orientation(s.Exif)), &k, *s.marks, len(k.Chart.Rows))
		if why != "" {
			t.Fatal(s.File, why)
		}
		kinds[s.Layout] = b.Kind(b.Order())
		if err := kinds[s.Layout].CheckLayout(); err != nil {
			t.Error(err)
		}
		for i, p := range kinds[s.Layout].Strip.Pads {
			if want := publicKind(t, s.Layout).Strip.Pads[i].Pad; p.Pad != want {
				t.Errorf("pad %d of %s was taken for %s, it is %s", i, s.Layout, p.Pad, want)
			}
		}
	}
	var a tally
	for _, s := range shots {
		k := kinds[s.Layout]
		a.shot(t, s, Read(New(decoded(t, s.File), Orientation(s.Exif)), &k))
	}
	t.Log(a)
	if a.share(a.exact) < 94.9 || a.share(a.lenient) < 98 || a.near != a.given || a.refused > 2 || a.sureRight < a.sure {
		t.Error("with learnt kinds: ", a)
	}
}

// Our own kinds: the chart from one picture, the strip from a second, and a
// third is read.
func TestLearnOwnCharts(t *testing.T) {
	var a tally
	whole, strips, pads := 0, 0, 0
	n := max(2, *many/2)
	for i := range n {
		r := rand.New(rand.NewPCG(uint64(i), 123))
		kind := anyKind(t, r, i)
		alone := newScene(r, kind, 0.3)
		alone.laid.Strip.Pads = nil
		k, ok := learntCard(t, New(alone.photo(r), 1), jittered(r, alone.corners(), 0.6*alone.scale), kind)
		if ok {
			whole++
		} else if len(k.Strip.Pads) > 0 {
			continue // its rows have to be marked by hand
		}
		s := newScene(r, kind, 0.3)
		v := s.view()
		ends := [2]Point{v.at(s.pose.end), v.at(s.pose.at(kind.Strip.LengthMM, 0))}
		b, why := LearnStrip(New(s.photo(r), 1), &k, Marks{jittered(r, s.corners(), 0.6*s.scale), ends}, len(kind.Strip.Pads))
		if why != "" {
			t.Logf("strip %d: %s", i, why)
			continue
		}
		strips++
		unit := k.Chart.HeightMM / kind.Chart.HeightMM
		for j, m := range b.Middles {
			if off := math.Abs(m/unit - kind.Strip.Pads[j].CenterMM); off > 1.5 {
				t.Logf("strip %d: pad %d was found %.1f mm away", i, j, off)
				pads++
			}
		}
		var order []model.Code
		for _, p := range kind.Strip.Pads {
			order = append(order, p.Pad)
		}
		if got := b.Order(); got[0] != order[0] {
			t.Errorf("strip %d is taken the wrong way round", i)
		}
		k = b.Kind(order)
		read := newScene(r, kind, 1)
		got := Read(New(read.photo(r), 1), &k)
		a.photos++
		if got.Why != "" {
			a.refused++
			t.Logf("picture %d: %s", i, got.Why)
			continue
		}
		for j, p := range got.Pads {
			a.count(p, int(math.Round(read.frac[j])), read.frac[j])
		}
	}
	t.Logf("%d charts: %d learnt whole, %d strips learnt, %d pads far off; %v", n, whole, strips, pads, a)
	if 10*whole < 9*n || 10*strips < 9*n || pads > 0 || a.share(a.lenient) < 97 || a.far > 0 || a.sureRight < a.sure {
		t.Error("our own kinds were learnt badly")
	}
}

// What a person may correct: how many blocks there are, where a row lies, rows
// that are none.
func TestCorrectCard(t *testing.T) {
	c, why := LearnCard(New(decoded(t, "chart_only_A.jpg"), 1), cardAt["A"])
	if why != "" {
		t.Fatal(why)
	}
	had := c.Rows[3]
	for _, n := range []int{5, 6, 1, 6} {
		if c.SetCount(3, n); len(c.Rows[3]) != n {
			t.Errorf("%d blocks were asked for, there are %d", n, len(c.Rows[3]))
		}
	}
	for i, b := range c.Rows[3] {
		if off := middleOf(b).minus(middleOf(had[i])).length(); off > 1 {
			t.Errorf("block %d came back %.1f mm away", i, off)
		}
	}
	// The first of the nitrite row is nearly white: taking it away and asking
	// for it again puts it back in front.
	first := c.Rows[1][0]
	c.Rows[1] = c.Rows[1][1:]
	if c.SetCount(1, 4); middleOf(c.Rows[1][0]).minus(middleOf(first)).length() > 1 {
		t.Errorf("the pale block came back at %v, it was at %v", c.Rows[1][0], first)
	}
	c.AddRow()
	n := len(c.Rows) - 1
	a, b := c.Ends(2)
	if c.Between(n, 5, a, b); middleOf(c.Rows[n][4]).minus(middleOf(c.Rows[2][4])).length() > 0.5 {
		t.Errorf("a row marked over another lies at %v, that at %v", c.Rows[n][4], c.Rows[2][4])
	}
	if c.RemoveRow(n); len(c.Rows) != n {
		t.Errorf("%d rows are left of %d", len(c.Rows), n)
	}
	for row := range c.Rows {
		if m := c.RowImage(row); m.Rect.Dx() < 2*m.Rect.Dy() {
			t.Errorf("row %d is shown as %v", row, m.Rect)
		}
	}
}

func TestLearnNothing(t *testing.T) {
	p := New(decoded(t, "chart_only_A.jpg"), 1)
	at := cardAt["A"]
	for name, c := range map[string][4]Point{
		"mirrored":     {at[1], at[0], at[3], at[2]},
		"crossed":      {at[0], at[2], at[1], at[3]},
		"a point":      {at[0], at[0], at[0], at[0]},
		"the table":    {{1300, 100}, {1580, 100}, {1580, 700}, {1300, 700}},
		"the headline": {{250, 50}, {1210, 66}, {1210, 150}, {250, 140}},
	} {
		if _, why := LearnCard(p, c); why != NoBlocks {
			t.Errorf("%s: %q", name, why)
		}
	}
	card, _ := LearnCard(p, at)
	k := card.kind(make([]model.Code, len(card.Rows)))
	k.Chart = card.Chart(make([]model.Code, len(card.Rows)))
	for name, ends := range map[string][2]Point{"the table": {{1400, 200}, {1400, 900}}, "a point": {{1400, 200}, {1400, 200}}, "outside": {{1400, 200}, {2400, 900}}} {
		if _, why := LearnStrip(p, &k, Marks{at, ends}, 10); why != NoPads {
			t.Errorf("%s: %q", name, why)
		}
	}
}

func (s *scene) corners() [4]Point {
	w, h, v := s.shown.Chart.WidthMM, s.shown.Chart.HeightMM, s.view()
	return [4]Point{v.at(Point{}), v.at(Point{w, 0}), v.at(Point{w, h}), v.at(Point{0, h})}
}
