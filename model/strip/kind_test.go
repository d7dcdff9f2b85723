package strip

import (
	"bytes"
	"encoding/json"
	"math"
	"os"
	"path/filepath"
	"reflect"
	"slices"
	"strings"
	"testing"
	"time"

	"quietwater/model"
)

// kind finds a generic kind or fails the test.
func kind(t testing.TB, id string) Kind {
	t.Helper()
	k, ok := FindKind(Generic(), id)
	if !ok {
		t.Fatalf("no generic kind %q", id)
	}
	return k
}

func row(t testing.TB, k Kind, pad model.Code) Row {
	t.Helper()
	r, ok := k.Row(pad)
	if !ok {
		t.Fatalf("kind %s has no pad %s", k.ID, pad)
	}
	return r
}

// How a published value was seen; the rest is common practice or from memory.
const (
	seen     = "seen: "
	quoted   = "quoted by other pages: "
	memory   = "from memory"
	practice = "common practice"
)

// TestReadTimes holds our read times against those found; the household's own
// leaflet goes before all of them.
func TestReadTimes(t *testing.T) {
	for _, c := range []struct {
		kind, pad string
		readS     int
		source    string
	}{
		{"ten-pads", "glucose", 30, seen + "a clinic's instructions; a general reference page"},
		{"ten-pads", "bilirubin", 30, seen + "a clinic's instructions; a general reference page"},
		{"ten-pads", "ketones", 40, seen + "a clinic's instructions; over-timing by seconds raises it"},
		{"ten-pads", "specific-gravity", 45, seen + "a clinic's instructions"},
		{"ten-pads", "urobilinogen", 60, seen + "a clinic's instructions"},
		{"ten-pads", "blood", 60, seen + "a clinic's instructions"},
		{"ten-pads", "nitrite", 60, seen + "a clinic's instructions"},
		{"ten-pads", "protein", 60, memory},
		{"ten-pads", "ph", 60, memory},
		{"ten-pads", "leukocytes", 120, seen + "\"60, leukocytes 120, nothing after 2 min\""},
		{"protein-gravity-creatinine", "protein", 60, memory},
		{"protein-gravity-creatinine", "specific-gravity", 45, seen + "a clinic's instructions"},
		{"protein-gravity-creatinine", "creatinine", 60, memory},
		{"albumin-creatinine", "albumin", 60, memory},
		{"albumin-creatinine", "creatinine", 60, memory},
	} {
		if got := row(t, kind(t, c.kind), model.Code(c.pad)).ReadS; got != c.readS {
			t.Errorf("%s %s is read at %d s, want %d (%s)", c.kind, c.pad, got, c.readS, c.source)
		}
	}
}

// TestBlocks holds the printed blocks against those found, block by block, as
// "value=grade".
func TestBlocks(t *testing.T) {
	const simerville = quoted + "Simerville 2005, Am Fam Physician 71:1153, table of strip grades"
	for _, c := range []struct{ kind, pad, unit, blocks, source string }{
		{"ten-pads", "protein", "mg/dL", "neg=neg 15=trace 30=1+ 100=2+ 300=3+ 2000=4+",
			simerville + "; 4+ is 1000, over 2000 or over 10 000 by source, so the pack decides"},
		{"protein-gravity-creatinine", "protein", "g/L", "neg=neg 0.15=trace 0.3=1+ 1=2+ 3=3+", simerville + ", in g/L"},
		{"ten-pads", "glucose", "mg/dL", "neg=neg 100=trace 250=1+ 500=2+ 1000=3+ 2000=4+",
			quoted + "three tables; 100 is labelled trace"},
		{"ten-pads", "ketones", "mg/dL", "neg=neg 5=trace 15=1+ 40=2+ 80=3+ 160=4+",
			seen + "a paediatric diabetes team: small 15, moderate 40, large 80 to 160; detection limit 5"},
		{"ten-pads", "blood", "/uL", "neg=neg 10=trace 25=1+ 80=2+ 200=3+", memory + "; only the detection limit of 5/uL quoted"},
		{"ten-pads", "leukocytes", "/uL", "neg=neg 15=trace 70=1+ 125=2+ 500=3+", memory + "; only detection limits of 10 to 25/uL quoted"},
		{"ten-pads", "nitrite", "", "neg=neg trace=pos +=pos ++=pos", memory + ": any pink is positive"},
		{"ten-pads", "bilirubin", "", "neg=neg +=1+ ++=2+ +++=3+", memory},
		{"ten-pads", "urobilinogen", "mg/dL", "0.2 1 2 4 8", memory},
		{"ten-pads", "ph", "[pH]", "5 6 6.5 7 7.5 8 8.5", memory},
		{"ten-pads", "specific-gravity", "{SG}", "1.000 1.005 1.010 1.015 1.020 1.025 1.030", quoted + "strip tables: 1.000 to 1.030"},
		{"protein-gravity-creatinine", "specific-gravity", "{SG}", "1.000 1.008 1.015 1.022 1.030", practice + "; ends as quoted by strip tables"},
		{"albumin-creatinine", "albumin", "mg/L", "10 30 80 150", seen + "LOINC 95232-5, term description"},
		{"albumin-creatinine", "creatinine", "mg/dL", "10 50 100 200 300", memory + "; J Clin Lab Anal 1998;12:280 (abstract) reads 30 to 300"},
		{"protein-gravity-creatinine", "creatinine", "g/L", "0.1 0.5 1 2 3", memory + ", in g/L"},
	} {
		r := row(t, kind(t, c.kind), model.Code(c.pad))
		var got []string
		for _, b := range r.Blocks {
			if b.Grade != "" {
				b.Value += "=" + b.Grade
			}
			got = append(got, b.Value)
		}
		if s := strings.Join(got, " "); s != c.blocks || r.Unit != c.unit {
			t.Errorf("%s %s: blocks %q in %q, want %q in %q (%s)", c.kind, c.pad, s, r.Unit, c.blocks, c.unit, c.source)
		}
	}
}

// TestWindow: 5 s before and 20 s after are our own choice.
func TestWindow(t *testing.T) {
	for _, c := range []struct {
		readS, lateS, from, to int
		ok                     bool
	}{
		{0, 0, 0, 0, false},
		{60, 0, 55, 80, true},
		{60, 75, 55, 75, true},
		{60, 60, 55, 60, true},
		{3, 0, 0, 23, true},
		{0, 60, 0, 60, true}, // "do not read after 60 s" and no more is looser than nothing if it is dropped
	} {
		from, to, ok := Row{ReadS: c.readS, LateS: c.lateS}.Window()
		if from != c.from || to != c.to || ok != c.ok {
			t.Errorf("read %d, late %d: window %d to %d, %v; want %d to %d, %v", c.readS, c.lateS, from, to, ok, c.from, c.to, c.ok)
		}
	}
}

// TestPhotoAtOneMinute: many leaflets allow all pads but leukocytes to be read
// at 60 s (common practice), and our kinds say so; the leukocyte pad is then
// too early, not wrong.
func TestPhotoAtOneMinute(t *testing.T) {
	for _, k := range Generic() {
		for _, r := range k.Chart.Rows {
			from, to, ok := r.Window()
			in := from <= PhotoAtS && PhotoAtS <= to
			if !ok || in == (r.Pad == model.Leukocytes) {
				t.Errorf("%s %s: window %d to %d, a photo at %d s is inside: %v", k.ID, r.Pad, from, to, PhotoAtS, in)
			}
		}
	}
}

func TestGenericKinds(t *testing.T) {
	files, err := generic.ReadDir("kinds")
	if err != nil || len(files) != len(GenericIDs()) {
		t.Errorf("%d files for %d generic kinds (%v)", len(files), len(GenericIDs()), err)
	}
	for i, k := range Generic() {
		if k.ID != GenericIDs()[i] {
			t.Errorf("kind %d calls itself %q, want %q", i, k.ID, GenericIDs()[i])
		}
		if err := k.Check(); err != nil {
			t.Error(err)
		}
		if len(k.Strip.Pads) != len(k.Chart.Rows) {
			t.Errorf("%s: %d pads for %d rows", k.ID, len(k.Strip.Pads), len(k.Chart.Rows))
		}
		checkCard(t, k)
		checkStripShape(t, k)
		for _, r := range k.Chart.Rows {
			checkGradesAscend(t, k.ID, r)
		}
	}
	Generic()[0].Chart.Rows[0].Blocks[0].Value = "spoilt"
	if Generic()[0].Chart.Rows[0].Blocks[0].Value == "spoilt" {
		t.Error("Generic hands out shared memory")
	}
}

// checkCard: every block lies on the card, right of the labels and below the
// title, and touches no other.
func checkCard(t *testing.T, k Kind) {
	var taken [][4]float64
	if k.Chart.Title != nil {
		taken = append(taken, k.Chart.Title.Rect)
	}
	for _, r := range k.Chart.Rows {
		for _, b := range r.Blocks {
			x, y, w, h := b.Rect[0], b.Rect[1], b.Rect[2], b.Rect[3]
			if w <= 0 || h <= 0 || x < k.Chart.LabelCol[1] || y < 0 || x+w > k.Chart.WidthMM || y+h > k.Chart.HeightMM {
				t.Errorf("%s %s %s: block %v is off the card or on its labels", k.ID, r.Pad, b.Value, b.Rect)
			}
			for _, o := range taken {
				if x < o[0]+o[2] && o[0] < x+w && y < o[1]+o[3] && o[1] < y+h {
					t.Errorf("%s %s %s: block %v lies on %v", k.ID, r.Pad, b.Value, b.Rect, o)
				}
			}
			taken = append(taken, b.Rect)
		}
	}
}

// checkStripShape: pads stand in chart order on the strip and do not overlap.
func checkStripShape(t *testing.T, k Kind) {
	end := 0.0
	for i, p := range k.Strip.Pads {
		if p.Pad != k.Chart.Rows[i].Pad {
			t.Errorf("%s: pad %d is %s, row says %s", k.ID, i, p.Pad, k.Chart.Rows[i].Pad)
		}
		if p.CenterMM-p.SizeMM/2 < end || p.SizeMM <= 0 || p.SizeMM > k.Strip.WidthMM {
			t.Errorf("%s: pad %s overlaps the one before or the edge", k.ID, p.Pad)
		}
		end = p.CenterMM + p.SizeMM/2
	}
	if end >= k.Strip.LengthMM {
		t.Errorf("%s: pads reach %g mm on a strip of %g mm, nothing is left to hold", k.ID, end, k.Strip.LengthMM)
	}
}

// checkGradesAscend: more of a thing never has a lower grade or a lower number.
func checkGradesAscend(t *testing.T, id string, r Row) {
	rank, number := -2, -1.0
	graded := r.Blocks[0].Grade != ""
	for _, b := range r.Blocks {
		if (b.Grade != "") != graded {
			t.Errorf("%s %s: some blocks are graded and some are not", id, r.Pad)
		}
		if g, ok := model.ParseGrade(b.Grade); ok {
			if g.Rank() < rank || g.Rank() == rank && g != model.Pos {
				t.Errorf("%s %s: grade %s does not rise", id, r.Pad, b.Grade)
			}
			rank = g.Rank()
		}
		if n, ok := model.ParseNumber(b.Value); ok {
			if n <= number {
				t.Errorf("%s %s: number %s does not rise", id, r.Pad, b.Value)
			}
			number = n
		}
	}
}

func layout(t testing.TB, name string) (Kind, []byte) {
	t.Helper()
	b, err := os.ReadFile(filepath.Join("testdata", "layouts", name+".json"))
	if err != nil {
		t.Fatal(err)
	}
	k, err := ReadKind(bytes.NewReader(b))
	if err != nil {
		t.Fatalf("layout %s: %v", name, err)
	}
	return k, b
}

// TestLayoutsAreOurKinds: our kinds add unit, times and grades to the layouts
// that the test photographs were made with, and change nothing else.
func TestLayoutsAreOurKinds(t *testing.T) {
	for name, id := range map[string]string{"A": "ten-pads", "B": "protein-gravity-creatinine", "C": "albumin-creatinine"} {
		plain, _ := layout(t, name)
		ours := kind(t, id)
		ours.ID = name
		for i, r := range ours.Chart.Rows {
			if (r.Unit == "") != (r.Pad == model.Nitrite || r.Pad == model.Bilirubin) {
				t.Errorf("%s %s: unit %q", id, r.Pad, r.Unit)
			}
			r.Unit, r.ReadS, r.LateS = "", 0, 0
			for j := range r.Blocks {
				r.Blocks[j].Grade = ""
			}
			ours.Chart.Rows[i] = r
		}
		if !reflect.DeepEqual(plain, ours) {
			t.Errorf("layout %s and kind %s differ in more than unit, times and grades", name, id)
		}
	}
}

func TestKindRoundTrip(t *testing.T) {
	kinds := Generic()
	for _, name := range []string{"A", "B", "C"} {
		k, _ := layout(t, name)
		k.Name = "the blue box <tub> & \"lid\""
		kinds = append(kinds, k)
	}
	for _, k := range kinds {
		b, err := k.Bytes()
		if err != nil {
			t.Fatal(err)
		}
		if back, err := ReadKind(bytes.NewReader(b)); err != nil || !reflect.DeepEqual(back, k) {
			t.Errorf("%s does not come back as it was written (%v)", k.ID, err)
		}
	}
}

func TestReadKindRefuses(t *testing.T) {
	with := func(change func(k *Kind)) string {
		k := kind(t, "ten-pads")
		change(&k)
		b, err := k.Bytes()
		if err != nil {
			t.Fatal(err)
		}
		return string(b)
	}
	first := func(change func(r *Row)) string { return with(func(k *Kind) { change(&k.Chart.Rows[0]) }) }
	for _, c := range []struct{ name, text, want string }{
		{"empty", "", "unexpected end"},
		{"not JSON", "protein 30 100", "invalid character"},
		{"a list", "[]", "cannot unmarshal"},
		{"colour over 255", `{"format":1,"id":"x","chart":{"paper_rgb":[256,0,0]}}`, "cannot unmarshal"},
		{"too large", with(func(k *Kind) { k.Name = strings.Repeat("x", maxKindFile) }), "1 MiB"},
		{"format", with(func(k *Kind) { k.Format = 2 }), "format 2"},
		{"no id", with(func(k *Kind) { k.ID = "" }), "needs an id"},
		{"no rows", with(func(k *Kind) { k.Chart.Rows = nil }), "1 to 20 pads"},
		{"unknown pad", first(func(r *Row) { r.Pad = "gold" }), `"gold" is not known`},
		{"a circumstance is no pad", first(func(r *Row) { r.Pad = "first-morning" }), "is not known"},
		{"pad twice", with(func(k *Kind) { k.Chart.Rows[1] = k.Chart.Rows[0] }), "stands twice"},
		{"one block", first(func(r *Row) { r.Blocks = r.Blocks[:1] }), "2 to 15 blocks"},
		{"sixteen blocks", first(func(r *Row) { r.Blocks = slices.Repeat(r.Blocks[:1], 16) }), "2 to 15 blocks"},
		{"unknown unit", first(func(r *Row) { r.Unit = "oz" }), `unit "oz"`},
		{"late before read", first(func(r *Row) { r.LateS = r.ReadS - 1 }), "out of order"},
		{"negative time", first(func(r *Row) { r.ReadS = -1 }), "out of order"},
		{"read after ten minutes", first(func(r *Row) { r.ReadS, r.LateS = 601, 0 }), "out of order"},
		{"late after twenty minutes", first(func(r *Row) { r.LateS = 1201 }), "out of order"},
		{"empty value", first(func(r *Row) { r.Blocks[0].Value = "" }), "no printed value"},
		{"unknown grade", first(func(r *Row) { r.Blocks[0].Grade = "5+" }), `grade "5+"`},
		{"grade of specific gravity", with(func(k *Kind) { k.Chart.Rows[6].Blocks[0].Grade = "1+" }), `grade "1+"`},
	} {
		if _, err := ReadKind(strings.NewReader(c.text)); err == nil || !strings.Contains(err.Error(), c.want) {
			t.Errorf("%s: error %v, want one with %q", c.name, err, c.want)
		}
	}
	if _, err := ReadKind(strings.NewReader(with(func(*Kind) {}))); err != nil {
		t.Errorf("unchanged kind is refused: %v", err)
	}
}

// TestValueOfEveryBlock: what a block records can be saved, speaks the print
// and is graded as the chart says.
func TestValueOfEveryBlock(t *testing.T) {
	noon := time.Date(2026, 6, 1, 12, 0, 0, 0, time.UTC)
	for _, k := range Generic() {
		for _, r := range k.Chart.Rows {
			for i, b := range r.Blocks {
				v := r.Value(i)
				e := model.Entry{Kind: model.Strip, When: model.At(noon), Values: []model.Value{v}}
				if ps := e.Validate(noon); ps != nil {
					t.Errorf("%s %s %s cannot be saved: %v", k.ID, r.Pad, b.Value, ps)
				}
				if b.Grade != "" && v.Text() != b.Grade || b.Grade == "" && (v.Text() != b.Value || v.Unit != r.Unit) {
					t.Errorf("%s %s %s records %q in %q", k.ID, r.Pad, b.Value, v.Text(), v.Unit)
				}
				want, graded := model.ParseGrade(b.Grade)
				if g, ok := r.Grade(v); graded && (!ok || g != want) {
					t.Errorf("%s %s %s grades as %s", k.ID, r.Pad, b.Value, g)
				}
				checkTypedNumber(t, k.ID, r, b, want)
			}
		}
	}
}

// checkTypedNumber: the printed number typed by hand, in any unit that
// converts, has the grade of its block; just below it, that of a lower one.
func checkTypedNumber(t *testing.T, id string, r Row, b Block, want model.Grade) {
	n, number := model.ParseNumber(b.Value)
	if !number || want == model.NoGrade {
		return
	}
	it, _ := model.Find(model.Strip, r.Pad)
	for _, u := range it.Units {
		typed, ok := it.In(model.Value{Code: r.Pad, Number: n, Unit: r.Unit}, u.UCUM)
		if !ok {
			continue
		}
		if g, ok := r.Grade(model.Value{Code: r.Pad, Number: typed, Unit: u.UCUM}); !ok || g != want {
			t.Errorf("%s %s: %g %s grades as %q, the block %s says %s", id, r.Pad, typed, u.UCUM, g, b.Value, want)
		}
		if g, _ := r.Grade(model.Value{Code: r.Pad, Number: typed * 0.95, Unit: u.UCUM}); g.Rank() >= want.Rank() {
			t.Errorf("%s %s: %g %s grades as %q, no lower than the block above it", id, r.Pad, typed*0.95, u.UCUM, g)
		}
	}
}

func TestGradeOfTypedNumbers(t *testing.T) {
	ten := kind(t, "ten-pads")
	upsideDown := row(t, ten, model.Protein)
	slices.Reverse(upsideDown.Blocks)
	plain, _ := layout(t, "A")
	for _, c := range []struct {
		name   string
		row    Row
		number float64
		unit   string
		want   model.Grade
	}{
		{"protein between blocks", row(t, ten, model.Protein), 99, "mg/dL", model.Plus2}, // 99 is the print of 100 rounded
		{"protein between blocks", row(t, ten, model.Protein), 60, "mg/dL", model.Plus1},
		{"protein without unit is mg/dL", row(t, ten, model.Protein), 300, "", model.Plus3},
		{"protein from a chart in g/L", row(t, ten, model.Protein), 3, "g/L", model.Plus3},
		{"chart printed from high to low", upsideDown, 30, "mg/dL", model.Plus1},
		{"chart printed from high to low", upsideDown, 2500, "mg/dL", model.Plus4},
		// The SI blocks of the same charts, from memory: rounding must not make
		// a 3+ of ketones (emergency with diabetes) a 2+.
		{"ketones 3.9 mmol/L", row(t, ten, model.Ketones), 3.9, "mmol/L", model.Plus2},
		{"ketones 7.8 mmol/L", row(t, ten, model.Ketones), 7.8, "mmol/L", model.Plus3},
		{"ketones 15.6 mmol/L", row(t, ten, model.Ketones), 15.6, "mmol/L", model.Plus4},
		{"glucose 5.5 mmol/L", row(t, ten, model.Glucose), 5.5, "mmol/L", model.Trace},
		{"glucose 55 mmol/L", row(t, ten, model.Glucose), 55, "mmol/L", model.Plus3},
		{"a chart without grades falls back to the usual blocks", row(t, plain, model.Protein), 100, "mg/dL", model.Plus2},
	} {
		v := model.Value{Code: c.row.Pad, Number: c.number, Unit: c.unit}
		if g, ok := c.row.Grade(v); !ok || g != c.want {
			t.Errorf("%s: %g %s grades as %q, want %q", c.name, c.number, c.unit, g, c.want)
		}
	}
	if g, ok := row(t, ten, model.PH).Grade(model.Value{Code: model.PH, Number: 7}); ok {
		t.Errorf("pH is graded %q", g)
	}
}

// TestBlocksThatSayTooLittle: a number without its unit, or a print that is
// neither word nor number, could not be told; it is never guessed to be low.
func TestBlocksThatSayTooLittle(t *testing.T) {
	for _, c := range []struct {
		layout, pad string
		block       int
		want, note  string
	}{
		{"B", "protein", 0, "neg", ""},
		{"B", "protein", 4, "unclear", "3"}, // g/L on this card; 3 mg/dL would be negative
		{"B", "specific-gravity", 1, "1.008", ""},
		{"A", "ph", 2, "6.5", ""},
		{"A", "blood", 2, "25", ""},
		{"A", "nitrite", 2, "unclear", "+"},
		{"A", "bilirubin", 3, "unclear", "+++"},
		{"C", "albumin", 3, "unclear", "150"},
	} {
		k, _ := layout(t, c.layout)
		v := row(t, k, model.Code(c.pad)).Value(c.block)
		if v.Text() != c.want || v.Note != c.note {
			t.Errorf("layout %s %s block %d records %q with note %q, want %q with %q", c.layout, c.pad, c.block, v.Text(), v.Note, c.want, c.note)
		}
	}
	numbers := Row{Pad: model.Nitrite, Blocks: []Block{{Value: "neg"}, {Value: "0.05"}}}
	if v := numbers.Value(1); v.Grade != model.Unclear || v.Note != "0.05" {
		t.Errorf("a nitrite number without grade records %+v", v)
	}
}

// FuzzReadKind: whatever the file, no panic; what is accepted holds Check,
// comes back as written and can be planned, matched and graded.
func FuzzReadKind(f *testing.F) {
	for _, k := range Generic() {
		b, _ := k.Bytes()
		f.Add(b)
	}
	for _, name := range []string{"A", "B", "C"} {
		_, b := layout(f, name)
		f.Add(b)
	}
	f.Add([]byte(`{"format":1,"id":"x","chart":{"rows":[{"pad":"ph","late-s":5,"blocks":[{"value":"-0"},{"value":"neg"}]}]}}`))
	f.Fuzz(func(t *testing.T, b []byte) {
		k, err := ReadKind(bytes.NewReader(b))
		if err != nil {
			return
		}
		if err := k.Check(); err != nil {
			t.Fatalf("accepted, but %v", err)
		}
		out, err := k.Bytes()
		if err != nil || !json.Valid(out) {
			t.Fatalf("cannot be written: %v", err)
		}
		if back, err := ReadKind(bytes.NewReader(out)); len(out) <= maxKindFile && (err != nil || !reflect.DeepEqual(back, k)) {
			t.Fatalf("does not come back: %v", err)
		}
		for _, r := range k.Chart.Rows {
			if from, to, _ := r.Window(); from < 0 || to < from {
				t.Fatalf("pad %s has window %d to %d", r.Pad, from, to)
			}
			for i := range r.Blocks {
				r.Grade(r.Value(i))
			}
		}
		checkPlan(t, k)
	})
}

// TestCheckLayout: what a photograph could not be read by is refused by name,
// and pads nobody knows are no reason.
func TestCheckLayout(t *testing.T) {
	for _, k := range Generic() {
		if err := k.CheckLayout(); err != nil {
			t.Error(err)
		}
	}
	for name, c := range map[string]struct {
		spoil func(*Kind)
		want  string
	}{
		"an unknown pad":         {func(k *Kind) { k.Chart.Rows[0].Pad, k.Strip.Pads[0].Pad = "lithium", "lithium" }, ""},
		"a row without a pad":    {func(k *Kind) { k.Strip.Pads = k.Strip.Pads[1:] }, ""},
		"no chart":               {func(k *Kind) { k.Chart.WidthMM = 0 }, "has no size"},
		"a size of nothing":      {func(k *Kind) { k.Strip.LengthMM = math.NaN() }, "has no size"},
		"no rows":                {func(k *Kind) { k.Chart.Rows = nil }, "1 to 20"},
		"one block":              {func(k *Kind) { k.Chart.Rows[1].Blocks = k.Chart.Rows[1].Blocks[:1] }, "2 to 15"},
		"a row twice":            {func(k *Kind) { k.Chart.Rows[1].Pad = k.Chart.Rows[0].Pad }, "twice"},
		"a block off the chart":  {func(k *Kind) { k.Chart.Rows[0].Blocks[0].Rect[0] = k.Chart.WidthMM }, "not on the chart"},
		"a block of nothing":     {func(k *Kind) { k.Chart.Rows[0].Blocks[0].Rect = [4]float64{} }, "not on the chart"},
		"a block of no number":   {func(k *Kind) { k.Chart.Rows[0].Blocks[0].Rect[1] = math.NaN() }, "not on the chart"},
		"a pad without a row":    {func(k *Kind) { k.Strip.Pads[0].Pad = "lithium" }, "no row"},
		"a pad twice":            {func(k *Kind) { k.Strip.Pads[1].Pad = k.Strip.Pads[0].Pad }, "twice"},
		"a pad off the strip":    {func(k *Kind) { k.Strip.Pads[1].CenterMM = k.Strip.LengthMM }, "not on the strip"},
		"a pad upon another":     {func(k *Kind) { k.Strip.Pads[1].CenterMM = k.Strip.Pads[0].CenterMM }, "upon another"},
		"pads the other way":     {func(k *Kind) { k.Strip.Pads[0], k.Strip.Pads[1] = k.Strip.Pads[1], k.Strip.Pads[0] }, "upon another"},
		"a pad of no size":       {func(k *Kind) { k.Strip.Pads[0].SizeMM = 0 }, "not on the strip"},
		"a pad before the strip": {func(k *Kind) { k.Strip.Pads[0].CenterMM = 0 }, "not on the strip"},
	} {
		k := Generic()[1]
		c.spoil(&k)
		err := k.CheckLayout()
		if (err == nil) != (c.want == "") || err != nil && !strings.Contains(err.Error(), c.want) {
			t.Errorf("%s: %v, want %q", name, err, c.want)
		}
	}
}
