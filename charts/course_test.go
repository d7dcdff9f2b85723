package charts

import (
	"bytes"
	"fmt"
	"image"
	"image/color"
	"image/png"
	"math"
	"math/rand/v2"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/wcharczuk/go-chart/v2"

	"quietwater/model"
	"quietwater/model/finding"
	"quietwater/model/numbers"
	"quietwater/model/renal"
	"quietwater/model/timeline"
)

// sheets makes a person's numbers of rows when,creatinine in umol/L,egfr,acr with its unit; "" leaves one out, and a
// fifth cell says ill, or names a condition with its start or end.
func sheets(t testing.TB, rows ...string) *numbers.Numbers {
	t.Helper()
	table := []string{",profile,birth-date,1950-03-10,", ",profile,sex,female,"}
	for _, r := range rows {
		c := append(strings.Split(r, ","), "", "", "", "")
		for i, what := range []string{"creatinine", "egfr", "acr"} {
			if c[i+1] == "" {
				continue
			}
			value, unit, _ := strings.Cut(c[i+1], " ")
			if unit == "" {
				unit = []string{"umol/L", "mL/min/{1.73_m2}", "mg/mmol"}[i]
			}
			table = append(table, strings.Join([]string{c[0], "lab", what, value, unit}, ","))
		}
		switch c[4] {
		case "":
		case "ill":
			table = append(table, c[0]+",lab,ill-then,yes,")
		default: // a condition that starts or ends: dialysis start
			what, value, _ := strings.Cut(c[4], " ")
			table = append(table, c[0]+",condition,"+what+","+value+",")
		}
	}
	var in []model.Row
	for i, line := range table {
		c := strings.Split(line, ",")
		in = append(in, model.Row{Number: i + 1, Person: "Ana", When: c[0], Kind: c[1], What: c[2], Value: c[3], Unit: c[4]})
	}
	n := 0
	reader := model.Reader{Zone: time.UTC, NewID: func() model.ID { n++; return model.ID(fmt.Sprintf("%05d", n)) }}
	book, refused := reader.Read(in)
	for _, f := range refused {
		t.Fatalf("row %d: %v", f.Row, f.Problem)
	}
	model.SortEntries(book.Entries)
	now := courseEnd
	out := numbers.Of(book.Entries, model.FactsAt(book.Entries, book.Entries[0].Person, now), now)
	return &out
}

var (
	courseStart = time.Date(2020, 1, 1, 0, 0, 0, 0, time.UTC)
	courseEnd   = time.Date(2026, 6, 30, 0, 0, 0, 0, time.UTC)
)

func monthly(t testing.TB, years int) *numbers.Numbers {
	var rows []string
	for m := range 12 * years {
		day := courseEnd.AddDate(0, m-12*years, 0).Format(time.DateOnly)
		rows = append(rows, fmt.Sprintf("%s,%d,%d,%d", day, 80+m*120/(12*years)+m%5, 68-m*40/(12*years), 1+m*40/(12*years)))
	}
	return sheets(t, rows...)
}

type courseCase struct {
	name     string
	n        *numbers.Numbers
	from, to time.Time
}

func courses(t testing.TB) []courseCase {
	return []courseCase{
		{"none", sheets(t), courseStart, courseEnd},
		{"one", sheets(t, "2025-03-01,105,,4.2"), courseStart, courseEnd},
		{"two", sheets(t, "2024-03-01,105,,4.2", "2026-03-01,150,,<3"), courseStart, courseEnd},
		{"flat", sheets(t, "2022-03-01,105,,9", "2023-03-01,105,,9", "2024-03-01,105,,9", "2025-03-01,105,,9"), courseStart, courseEnd},
		{"five-years", sheets(t, "2021-03-01,82,70,1.2", "2021-11-01,90,60,<3", "2022-04-01,95,57,5.2", "2022-09-20,210,,12,ill", "2023-01-10,104,,9.8",
			"2023-09-10,112,44,140 mg/g", "2024-05-10,118,,22", "2025-02-10,126,,31", "2025-12-10,141,33,44", "2026-05-10,,<15,"), courseStart, courseEnd},
		{"no-albumin", sheets(t, "2025-03-01,105,,", "2026-03-01,150,,"), courseStart, courseEnd},
		{"thirty-years", monthly(t, 30), courseEnd.AddDate(-30, 0, 0), courseEnd},
		{"year", monthly(t, 1), courseEnd.AddDate(-1, 0, 0), courseEnd},
		{"limits", sheets(t, "2024-02-01,,>60,<3 mg/g", "2024-08-01,,>90,0 mg/g", "2025-06-01,,58,>2200 mg/g", "2026-02-01,,<15,950 mg/g"), courseStart, courseEnd},
		{"urine-old", sheets(t, "2023-06-10,90,,50 mg/g", "2026-06-10,150"), courseStart, courseEnd},
		{"wandering", sheets(t, "2022-01-10,60,,10 mg/g", "2022-07-10,,,100 mg/g", "2023-01-10,95", "2023-07-10,,,500 mg/g", "2024-01-10,130", "2024-03-10,,,20 mg/g",
			"2024-07-10,80", "2025-01-10,,,90 mg/g", "2025-07-10,150", "2026-05-10,300,,700 mg/g"), courseStart, courseEnd},
		{"little", sheets(t, "2023-03-01,200", "2023-06-01,,,,dialysis start", "2023-07-01,700", "2024-03-01,,,,dialysis end", "2024-05-01,130,,20", "2025-05-01,140,,,amputation start", "2026-02-01,140,,30"), courseStart, courseEnd},
		{"child-like", sheets(t, "2024-05-01,,140", "2025-12-01,,195", "2026-03-01,,160"), courseStart, courseEnd},
		{"waves", wavering(t), courseEnd.AddDate(-10, 0, 0), courseEnd},
		{"pregnant", sheets(t, "2024-05-01,60,,2", "2025-12-01,,,,pregnancy start", "2026-03-01,45,,2"), courseStart, courseEnd},
		{"low", sheets(t, "2024-05-10,50,,1", "2025-05-10,51,,1.2", "2026-05-10,51,,1.1"), courseStart, courseEnd},
	}
}

// wavering has its highest and lowest results neither first nor last, and a laboratory that reckons otherwise.
func wavering(t testing.TB) *numbers.Numbers {
	var rows []string
	for m := range 120 {
		v := math.Sin(float64(m) / 12)
		rows = append(rows, fmt.Sprintf("%s,%.0f,%.0f,%.1f", courseEnd.AddDate(0, m-120, 0).Format(time.DateOnly), 110-40*v, 60+20*v, 20+19*v))
	}
	return sheets(t, rows...)
}

func byName(t testing.TB, name string) *numbers.Numbers {
	all := courses(t)
	return all[slices.IndexFunc(all, func(c courseCase) bool { return c.name == name })].n
}

func courseMarks() []timeline.Mark {
	at := func(y int, m time.Month) model.When { return model.OnDay(time.Date(y, m, 10, 0, 0, 0, 0, time.UTC)) }
	return []timeline.Mark{
		{When: at(2023, 9), Urgency: finding.Soon, Days: 14, HowSoon: model.T("urgency.soon.when", "n", 14), Answered: true},
		{When: at(2025, 12), Urgency: finding.Soon, Days: 14, HowSoon: model.T("urgency.soon.when", "n", 14)},
	}
}

// drawnCourses are the three charts of laboratory sheets.
var drawnCourses = map[string]func(c courseCase, w Words, l Look, width int) Sized{
	"egfr": func(c courseCase, w Words, l Look, width int) Sized {
		return EGFR(c.n, courseMarks(), c.from, c.to, w, l, width)
	},
	"acr": func(c courseCase, w Words, l Look, width int) Sized {
		return ACR(c.n, nil, c.from, c.to, w, l, width)
	},
	"grid": func(c courseCase, w Words, l Look, width int) Sized { return Grid(c.n, w, l, width) },
}

// TestLookAtCourses writes pictures for people where the environment asks for them.
func TestLookAtCourses(t *testing.T) {
	dir := os.Getenv("LOOK_AT")
	if dir == "" {
		t.Skip("LOOK_AT names no folder")
	}
	for id, drawn := range drawnCourses {
		for name, l := range looks(t) {
			for _, c := range courses(t) {
				for _, lang := range []string{"en", "es"} {
					for _, size := range []float64{20, 40} {
						l.Size = size
						img, err := Image(drawn(c, spoken(lines(t, lang)), l, 1000), l.Fonts, 1)
						if err != nil {
							t.Fatal(err)
						}
						var b bytes.Buffer
						if err := png.Encode(&b, img); err != nil {
							t.Fatal(err)
						}
						file := fmt.Sprintf("%s-%s-%s-%s-%v.png", id, c.name, name, lang, size)
						if err := os.WriteFile(filepath.Join(dir, file), b.Bytes(), 0o644); err != nil {
							t.Fatal(err)
						}
					}
				}
			}
		}
	}
}

// TestCoursesKeepWordsApartAndInside: no word is cut by the edge, lies over another or over a sign, or is run
// through by a line, in any look, size, language and width.
func TestCoursesKeepWordsApartAndInside(t *testing.T) {
	if testing.Short() {
		t.Skip("every dressing takes minutes under the race detector")
	}
	texts := map[string]spoken{"en": lines(t, "en"), "es": lines(t, "es")}
	for id, drawn := range drawnCourses {
		for name, l := range looks(t) {
			if name == "dark" {
				continue // it is laid out as the light one is
			}
			for _, c := range courses(t) {
				for lang, words := range texts {
					for _, size := range []float64{20, 25, 40} {
						for _, width := range []int{320, 700, 1000, 1400} {
							if size == 25 && width != 700 {
								continue
							}
							l.Size = size
							s := drawn(c, words, l, width)
							if (width >= 1000 && size < 40 || width >= 700 && size == 20) && s.Width != width {
								t.Errorf("%s %s: asked for %d wide, is %d", id, c.name, width, s.Width)
							}
							t.Run(fmt.Sprint(id, " ", c.name, " ", name, " ", lang, " ", size, " ", width), func(t *testing.T) {
								readable(t, watch(t, s, l), image.Rect(0, 0, s.Width, s.Height))
							})
						}
					}
				}
			}
		}
	}
}

func readable(t *testing.T, w *witness, paper image.Rectangle) {
	t.Helper()
	if len(w.words) == 0 {
		t.Error("nothing is said")
	}
	for i, a := range w.words {
		if !a.at.In(paper) || strings.ContainsAny(a.what, "⟦{?") {
			t.Errorf("%q at %v of %v", a.what, a.at, paper)
		}
		for _, b := range w.words[i+1:] {
			if a.at.Overlaps(b.at) {
				t.Errorf("%q at %v lies over %q at %v", a.what, a.at, b.what, b.at)
			}
		}
		box := box4{a.at.Min.X, a.at.Min.Y, a.at.Max.X, a.at.Max.Y}
		for _, s := range w.shapes {
			small := s.at.Dx() < int(w.l.Size) && s.at.Dy() < int(w.l.Size)
			if small && s.at.Inset(-1).Overlaps(a.at) && !covered(w, a, s.order) {
				t.Errorf("%q at %v lies over a sign at %v", a.what, a.at, s.at)
			}
		}
		for _, l := range w.strokedLines {
			if box.crossed([4]int{l.at.Min.X, l.at.Min.Y, l.at.Max.X, l.at.Max.Y}) && !covered(w, a, l.order) {
				t.Errorf("a line from %v to %v runs through %q at %v", l.at.Min, l.at.Max, a.what, a.at)
			}
		}
	}
	for _, s := range w.shapes {
		if !s.at.In(paper) && !s.at.Empty() {
			t.Errorf("a %s at %v is outside %v", s.what, s.at, paper)
		}
	}
}

// covered reports that paper was laid between what was drawn and the words.
func covered(w *witness, words drawn, order int) bool {
	return slices.ContainsFunc(w.shapes, func(s drawn) bool {
		return s.what == "fill" && s.order > order && s.order < words.order && words.at.In(s.at.Inset(-2))
	})
}

func TestCoursesGolden(t *testing.T) {
	for id, drawn := range drawnCourses {
		for name, l := range looks(t) {
			for _, c := range courses(t)[:5] {
				file := filepath.Join("testdata", id+"-"+c.name+"-"+name+".svg")
				words := spoken(lines(t, "en"))
				got := render(t, drawn(c, words, l, 1000), SVG(l.Fonts, id))
				if *update {
					if err := os.WriteFile(file, got, 0o644); err != nil {
						t.Fatal(err)
					}
				}
				if want, err := os.ReadFile(file); err != nil || !bytes.Equal(got, want) {
					t.Errorf("the chart differs from %s (%v); look at it, then run with -update", file, err)
				}
			}
		}
	}
}

// TestCoursesSayWhatTheyShow holds the sentences for who cannot see the pictures.
func TestCoursesSayWhatTheyShow(t *testing.T) {
	cs := courses(t)
	for _, c := range []struct {
		got  model.Msg
		want string
	}{
		{DescribeEGFR(cs[0].n, courseStart, courseEnd), "No filtering is known"},
		{DescribeEGFR(cs[1].n, courseStart, courseEnd), "One result: about 48 on 1 March 2025. The newest is in stage G3a, mild to moderate loss."},
		{DescribeEGFR(cs[4].n, courseStart, courseEnd), "1 of them was taken during an illness."},
		{DescribeEGFR(cs[4].n, courseStart, courseEnd), "Falls by about 6.5 a year over 8 results"},
		{DescribeEGFR(cs[4].n, courseStart, courseStart.AddDate(1, 0, 0)), "No filtering is known"},
		{DescribeEGFR(byName(t, "pregnant"), courseStart, courseEnd), "2 results: about 91 on 1 May 2024, about 97 on 1 March 2026. Some were taken on dialysis or in pregnancy, when eGFR tells little."},
		{DescribeGrid(byName(t, "pregnant")), "G1 with A1, low risk. In pregnancy these numbers are not valid"},
		{DescribeACR(cs[2].n, courseStart, courseEnd), "2 results: 4.2 mg/mmol on 1 March 2024, <3 mg/mmol on 1 March 2026. The newest is in stage A1, little albumin in the urine."},
		{DescribeACR(cs[0].n, courseStart, courseEnd), "No ACR is known"},
		{DescribeGrid(cs[0].n), "A place needs an eGFR"},
		{DescribeGrid(cs[1].n), "On 1 March 2025: G3a with A2, high risk."},
		{DescribeGrid(cs[2].n), "On 1 March 2026: G3b with A1, high risk. On 1 March 2024 it was G3a with A2, high risk."},
		{DescribeGrid(cs[5].n), "On 1 March 2026: row G3b, albumin not known."},
	} {
		if got := spoken(lines(t, "en")).T(c.got); !strings.Contains(got, c.want) {
			t.Errorf("%q, want %q in it", got, c.want)
		}
	}
}

// courseOf is what was laid out.
func courseOf(s Sized) *course  { return s.Drawable.(chart.Chart).Series[0].(courseSeries).course }
func gridOf(s Sized) *gridChart { return s.Drawable.(chart.Chart).Series[0].(gridSeries).gridChart }

// TestBandsAreTheGuidelines holds the edges of the bands against the tables of KDIGO 2012 (table 5: eGFR 90,
// 60, 45, 30, 15; ACR 30 and 300 mg/g, 3 and 30 mg/mmol).
func TestBandsAreTheGuidelines(t *testing.T) {
	l, words := looks(t)["light"], spoken(lines(t, "en"))
	draw := func(rows ...string) (filtering, albumin *course) {
		n := sheets(t, rows...)
		return courseOf(EGFR(n, nil, courseStart, courseEnd, words, l, 1000)), courseOf(ACR(n, nil, courseStart, courseEnd, words, l, 1000))
	}
	for _, c := range []struct {
		row  string
		g, a string // edges from below, with names
	}{
		{"2025-03-01,,110,4 mg/mmol", "0 G5, 15 G4, 30 G3b, 45 G3a, 60 G2, 90 G1", "0.3 A1, 3 A2, 30 A3"},
		{"2025-03-01,,50,40 mg/g", "0 G5, 15 G4, 30 G3b, 45 G3a", "3 A1, 30 A2, 300 A3"},
	} {
		filtering, albumin := draw(c.row)
		said := func(k *course) string {
			var all []string
			for i, b := range k.bands {
				all = append(all, fmt.Sprintf("%.4g %s", b.from, strings.Fields(b.name)[0]))
				if i > 0 && b.from != k.bands[i-1].to {
					t.Errorf("%s: a gap below %s", c.row, b.name)
				}
			}
			return strings.Join(all, ", ")
		}
		if g, a := said(filtering), said(albumin); g != c.g || a != c.a {
			t.Errorf("%s: %s; %s, want %s; %s", c.row, g, a, c.g, c.a)
		}
	}
	// A result at the edge stands on the edge, and its band is the one it is judged by.
	filtering, albumin := draw("2025-03-01,,60,300 mg/g")
	if y := filtering.y(60); y != filtering.yOf(filtering.points[0]) || albumin.y(300) != albumin.yOf(albumin.points[0]) {
		t.Error("a result at an edge does not stand on it")
	}
}

// TestACRUnits: the picture is in the unit of the newest result; others stand where 8.84 puts them (creatinine
// weighs 113.12 g/mol, so 1 mg/mmol is 8.84 mg/g) and keep their own number.
func TestACRUnits(t *testing.T) {
	l, words := looks(t)["light"], spoken(lines(t, "en"))
	for _, c := range []struct {
		newest string
		at     float64 // where 88.4 mg/g or 10 mg/mmol stand
		unit   string
	}{{"2026-03-01,,,5 mg/mmol", 10, "mg/mmol"}, {"2026-03-01,,,5 mg/g", 88.4, "mg/g"}} {
		k := courseOf(ACR(sheets(t, "2024-03-01,,,88.4 mg/g", "2025-03-01,,,10 mg/mmol", c.newest), nil, courseStart, courseEnd, words, l, 1000))
		for i, label := range []string{"88.4", "10"} {
			if p := k.points[i]; math.Abs(p.y-c.at) > 1e-9 || !strings.HasPrefix(p.label, label) {
				t.Errorf("in %s: %q stands at %g, want %g", c.unit, p.label, p.y, c.at)
			}
		}
		other := map[string]string{"mg/mmol": "88.4\u00a0mg/g", "mg/g": "10\u00a0mg/mmol"}[c.unit]
		said := strings.Join(saidBy(t, Sized{k.chart(400), k.width, 400}, l), "|")
		if !strings.Contains(said, other) || !strings.Contains(said, "ACR in "+c.unit) || !strings.Contains(said, "converted") {
			t.Errorf("in %s: %s", c.unit, said)
		}
	}
	pcr := numbers.Albumin{Result: numbers.Result{When: model.OnDay(courseEnd.AddDate(0, -1, 0)), Value: model.Value{Code: "pcr", Number: 50, Unit: "mg/mmol"}}, FromPCR: true}
	s := ACR(&numbers.Numbers{Albumin: []numbers.Albumin{pcr}}, nil, courseStart, courseEnd, words, l, 1000)
	if k := courseOf(s); len(k.points) != 0 || !strings.Contains(strings.Join(saidBy(t, s, l), " "), "1 result of all protein") {
		t.Errorf("protein is drawn: %v", k.points)
	}
}

func saidBy(t *testing.T, s Sized, l Look) (all []string) {
	w := watch(t, Sized{s.Drawable, s.Width, s.Drawable.(chart.Chart).Height}, l)
	for _, d := range w.words {
		all = append(all, d.what)
	}
	return all
}

// TestCoursesBreakTheLine: never drawn over more than fifteen months, nor to a result of an illness, a limit,
// or the laboratory's other number.
func TestCoursesBreakTheLine(t *testing.T) {
	first := time.Date(2022, 1, 10, 0, 0, 0, 0, time.UTC)
	day := func(n int) string { return first.AddDate(0, 0, n).Format(time.DateOnly) }
	for _, c := range []struct {
		name string
		rows []string
		want string // how many results each piece joins
	}{
		{"yearly and late", []string{day(0) + ",100", day(460) + ",100"}, "2"},
		{"a day more", []string{day(0) + ",100", day(461) + ",100"}, "1 1"},
		{"an illness between", []string{day(0) + ",100", day(100) + ",200,,,ill", day(200) + ",100"}, "2"},
		{"an illness does not bridge", []string{day(0) + ",100", day(300) + ",200,,,ill", day(600) + ",100"}, "1 1"},
		{"a limit", []string{day(0) + ",100", day(100) + ",,<15", day(200) + ",100"}, "2"},
		{"dialysis", []string{day(0) + ",200", day(50) + ",,,,dialysis start", day(100) + ",700", day(150) + ",,,,dialysis end", day(200) + ",150", day(300) + ",150"}, "3"},
		{"pregnancy", []string{day(0) + ",60", day(50) + ",,,,pregnancy start", day(100) + ",50"}, "1"},
		{"the laboratory's own", []string{day(0) + ",100,90", day(100) + ",100,20"}, "2"},
	} {
		l := looks(t)["light"]
		k := courseOf(EGFR(sheets(t, c.rows...), nil, courseStart, courseEnd, spoken(lines(t, "en")), l, 1000))
		var got []string
		for _, piece := range k.lines() {
			got = append(got, fmt.Sprint(len(piece)))
		}
		if s := strings.Join(got, " "); s != c.want {
			t.Errorf("%s: joined %s, want %s", c.name, s, c.want)
		}
	}
}

// TestTheNewestIsAlwaysTold, however many there are.
func TestTheNewestIsAlwaysTold(t *testing.T) {
	l, words := looks(t)["light"], spoken(lines(t, "en"))
	for _, c := range courses(t) {
		g, ok := c.n.Newest()
		if !ok {
			continue
		}
		for _, width := range []int{320, 1000} {
			want := renal.ShownEGFR(g.Value)
			if g.Bound != 0 {
				want = string(g.Bound) + want
			}
			if said := saidBy(t, EGFR(c.n, courseMarks(), c.from, c.to, words, l, width), l); !slices.Contains(said, want) {
				t.Errorf("%s at %d: %s is not said: %q", c.name, width, want, said)
			}
		}
	}
}

// TestGridIsTheGuidelines counts the waves of every cell against figure 9 of KDIGO 2012, typed in here once
// more, and tells the four steps apart in grey.
func TestGridIsTheGuidelines(t *testing.T) {
	l, words := looks(t)["light"], spoken(lines(t, "en"))
	want := []string{"low some high", "low some high", "some high very", "high very very", "very very very", "very very very"}
	g := gridOf(Grid(sheets(t), words, l, 1000))
	for i, row := range g.rows {
		var got []string
		for _, cell := range row.cells {
			got = append(got, strings.Fields(cell[0])[0])
		}
		if s := strings.Join(got, " "); s != want[i] {
			t.Errorf("G row %d: %s, want %s", i+1, s, want[i])
		}
	}
	for name, l := range looks(t) {
		last := -9.0
		for waves := range 4 {
			img := sketchOn(t, l, func(r chart.Renderer) {
				b := brush{r, l, l.ruler()}
				b.fill(l.Paper, 0, 0, 40, 40)
				b.water(waves, 0, 40, 38, 8)
			})
			far := 0.0
			ground := color.GrayModel.Convert(l.Paper).(color.Gray).Y
			for y := range 40 {
				for x := range 40 {
					far += math.Abs(float64(color.GrayModel.Convert(img.At(x, y)).(color.Gray).Y)-float64(ground)) / 1600
				}
			}
			if far < last+5 {
				t.Errorf("%s: %d waves (%.1f) cannot be told from one less (%.1f)", name, waves, far, last)
			}
			last = far
		}
	}
}

// TestTheWayNeverRunsOverItself: of any way, no two pieces lie on each other, all of it stays beside the
// words, and the newest place is the framed one.
func TestTheWayNeverRunsOverItself(t *testing.T) {
	if testing.Short() {
		t.Skip("every dressing takes minutes under the race detector")
	}
	l, words := looks(t)["light"], spoken(lines(t, "es"))
	rnd := rand.New(rand.NewPCG(5, 6))
	for range 300 {
		var n numbers.Numbers
		for i := range 1 + rnd.IntN(9) {
			n.Path = append(n.Path, numbers.Place{When: model.OnDay(courseStart.AddDate(0, i, 0)), G: renal.G(1 + rnd.IntN(6)), A: renal.A(rnd.IntN(4))})
		}
		l.Size = []float64{20, 40}[rnd.IntN(2)]
		s := Grid(&n, words, l, []int{320, 700, 1000}[rnd.IntN(3)])
		readable(t, watch(t, s, l), image.Rect(0, 0, s.Width, s.Height))
		g := gridOf(s)
		var pieces []image.Rectangle
		for i := 1; i < len(g.path); i++ {
			x0, y0 := g.stop(i - 1)
			x1, y1 := g.stop(i)
			for _, p := range []image.Rectangle{image.Rect(x0, y0, x1, y0), image.Rect(x1, y0, x1, y1)} {
				if p.Min != p.Max {
					pieces = append(pieces, p)
				}
			}
		}
		for i, a := range pieces {
			for _, b := range pieces[i+1:] {
				flat := a.Min.Y == a.Max.Y && b.Min.Y == b.Max.Y && a.Min.Y == b.Min.Y && a.Min.X < b.Max.X && b.Min.X < a.Max.X
				steep := a.Min.X == a.Max.X && b.Min.X == b.Max.X && a.Min.X == b.Min.X && a.Min.Y < b.Max.Y && b.Min.Y < a.Max.Y
				if flat || steep {
					t.Fatalf("%v: %v and %v lie on each other", n.Path, a, b)
				}
			}
		}
		if t.Failed() {
			t.Fatalf("the way %v", n.Path)
		}
	}
}

func TestCoursesTakeAnything(t *testing.T) {
	l, words := looks(t)["light"], spoken(lines(t, "en"))
	at := model.OnDay(courseStart.AddDate(1, 0, 0))
	odd := &numbers.Numbers{}
	for _, v := range []float64{math.NaN(), math.Inf(1), math.Inf(-1), -5, 0, 1e6, 0.001} {
		r := numbers.Result{When: at, Value: model.Value{Code: "acr", Number: v, Unit: "mg/g"}}
		odd.GFR = append(odd.GFR, numbers.GFR{When: at, Value: v, Cystatin: v, Reported: &r}, numbers.GFR{Value: v})
		odd.Albumin = append(odd.Albumin, numbers.Albumin{Result: r}, numbers.Albumin{})
		odd.Path = append(odd.Path, numbers.Place{When: at, G: renal.G3a, A: renal.A2}, numbers.Place{G: renal.G5})
	}
	odd.TrendOf = odd.GFR
	odd.Trend = renal.Trend{PerYear: math.NaN(), Low: math.Inf(-1), High: math.Inf(1), N: 3}
	five := courses(t)[4]
	for name, c := range map[string]courseCase{
		"nothing":   {n: &numbers.Numbers{}},
		"odd":       {n: odd, from: courseStart, to: courseEnd},
		"no days":   {n: five.n},
		"one day":   {n: five.n, from: at.Time(), to: at.Time()},
		"backwards": {n: five.n, from: courseEnd, to: courseStart},
		"centuries": {n: five.n, from: time.Date(1800, 1, 1, 0, 0, 0, 0, time.UTC), to: time.Date(9000, 1, 1, 0, 0, 0, 0, time.UTC)},
	} {
		for id, drawn := range drawnCourses {
			for _, width := range []int{-5, 0, 1, 700} {
				for _, size := range []float64{0, math.NaN(), 20} {
					l := l
					l.Size = size
					s := drawn(c, words, l, width)
					if s.Height > 5000 || s.Width > 5000 {
						t.Errorf("%s %s: %d by %d", id, name, s.Width, s.Height)
					}
					w := watch(t, s, l.sane())
					for _, d := range w.words {
						if strings.Contains(d.what, "NaN") || strings.Contains(d.what, "Inf") {
							t.Errorf("%s %s says %q", id, name, d.what)
						}
					}
					t.Run(fmt.Sprint(id, " ", name, " ", width, " ", size), func(t *testing.T) { readable(t, w, image.Rect(0, 0, s.Width, s.Height)) })
				}
			}
		}
		for _, m := range []model.Msg{DescribeEGFR(c.n, c.from, c.to), DescribeACR(c.n, c.from, c.to), DescribeGrid(c.n)} {
			if said := words.T(m); strings.Contains(said, "NaN") || strings.Contains(said, "{{") {
				t.Errorf("%s: %q", name, said)
			}
		}
	}
}

func TestCoursesCanBeSeen(t *testing.T) {
	for name, l := range looks(t) {
		for id, drawn := range drawnCourses {
			for _, c := range courses(t) {
				w := watch(t, drawn(c, spoken(lines(t, "en")), l, 1000), l)
				for _, ground := range []color.RGBA{l.Paper, l.Soft} {
					for k := range w.strokes {
						if r := contrast(color.RGBA{k.R, k.G, k.B, k.A}, ground); r < 3 {
							t.Errorf("%s %s %s: stroke %v on %v has a contrast of %.2f, want 3", id, c.name, name, k, ground, r)
						}
					}
					for k := range w.inks {
						if r := contrast(color.RGBA{k.R, k.G, k.B, k.A}, ground); r < 4.5 {
							t.Errorf("%s %s %s: words in %v on %v have a contrast of %.2f, want 4.5", id, c.name, name, k, ground, r)
						}
					}
				}
			}
		}
	}
}

// TestSignsAndBandsAreWhole: no sign hangs out of the plot, and every band that can be seen is named.
func TestSignsAndBandsAreWhole(t *testing.T) {
	words := spoken(lines(t, "es"))
	for _, l := range looks(t) {
		for _, c := range courses(t) {
			for _, size := range []float64{20, 40} {
				for _, width := range []int{320, 700, 1400} {
					l.Size = size
					for id, s := range map[string]Sized{"egfr": EGFR(c.n, nil, c.from, c.to, words, l, width), "acr": ACR(c.n, nil, c.from, c.to, words, l, width)} {
						k := courseOf(s)
						long := int(2 * math.Ceil(0.26*size))
						for _, p := range k.points {
							if y := k.yOf(p); p.shape == atMost && y+long > k.axisAt || p.shape == atLeast && y-long < k.top || y < k.top || y > k.axisAt {
								t.Errorf("%s %s %v %d: a sign at %d leaves %d to %d", id, c.name, size, width, y, k.top, k.axisAt)
							}
						}
						for i, b := range k.bands {
							high := float64(k.tall) * k.part(b)
							if need := float64(len(k.bandLines[i]) * lead(l.small())); k.part(b) <= least || need > high+1 {
								t.Errorf("%s %s %v %d: %q needs %.0f of %.0f", id, c.name, size, width, k.bandLines[i], need, high)
							}
						}
					}
				}
			}
		}
	}
}

// TestThirtyYearsStaySmall: also as SVG.
func TestThirtyYearsStaySmall(t *testing.T) {
	l := looks(t)["light"]
	for id, drawn := range drawnCourses {
		if n := len(render(t, drawn(courses(t)[6], spoken(lines(t, "en")), l, 1400), SVG(l.Fonts, ""))); n >= 200_000 {
			t.Errorf("%s: %d bytes, want under 200,000", id, n)
		}
	}
}

// TestTrendWords: the doubt is always said, and no fall is hidden behind a doubt.
func TestTrendWords(t *testing.T) {
	for _, c := range []struct {
		of   renal.Trend
		want string
	}{
		{renal.Trend{PerYear: -2, Low: -3.04, High: -1, N: 8}, "Falls by about 2 a year over 8 results, somewhere between −3 and −1."},
		{renal.Trend{PerYear: 1.24, Low: 0.5, High: 2, N: 4}, "Rises by about 1.2 a year over 4 results, somewhere between +0.5 and +2."},
		{renal.Trend{PerYear: -4, Low: -9, High: 1, N: 3}, "About −4 a year over 3 results. They are too few or too scattered to be sure: it may be anything between −9 and +1."},
		{renal.Trend{PerYear: -0.02, Low: -0.03, High: -0.01, N: 5}, "Falls by about 0 a year over 5 results, somewhere between 0 and 0."},
	} {
		if got := spoken(lines(t, "en")).T(TrendWords(c.of)); got != c.want {
			t.Errorf("%+v: %q, want %q", c.of, got, c.want)
		}
	}
}

// TestWordsOfStagesAndRisks: every one has words in every language, in short lines.
func TestWordsOfStagesAndRisks(t *testing.T) {
	for _, lang := range []string{"en", "es"} {
		texts := lines(t, lang)
		var keys []string
		for g := renal.G1; g <= renal.G5; g++ {
			keys = append(keys, "stage."+g.String())
		}
		for a := renal.A1; a <= renal.A3; a++ {
			keys = append(keys, "stage."+a.String())
		}
		for r := renal.Low; r <= renal.VeryHigh; r++ {
			keys = append(keys, RiskWord(r).Key)
		}
		for _, k := range keys {
			if texts[k] == "" {
				t.Errorf("%s: no words for %s", lang, k)
			}
		}
	}
}

// TestMarksAreThoseOfTheChart: a finding stands on a chart if it is about it, and no to-do does.
func TestMarksAreThoseOfTheChart(t *testing.T) {
	at := func(n int) model.When { return model.OnDay(courseStart.AddDate(0, 0, n)) }
	f := func(n int, about ...string) finding.Finding {
		return finding.Finding{Since: at(n), About: about, Urgency: finding.Soon, Days: 14}
	}
	due := f(4, "egfr")
	due.Due = new(finding.Span)
	answered := f(1, "slope")
	answered.Answer = new(finding.AnswerRecord)
	r := finding.Result{Open: []finding.Finding{f(3, "acr"), f(2, "protein", "egfr"), due}, Answered: []finding.Finding{answered}}
	got := marksAbout(r, "egfr", "slope")
	if len(got) != 2 || got[0].When != at(1) || !got[0].Answered || got[1].When != at(2) || got[1].Answered {
		t.Errorf("%+v", got)
	}
}

// BenchmarkCourses draws thirty years of monthly sheets.
func BenchmarkCourses(b *testing.B) {
	l, words := looks(b)["light"], spoken(lines(b, "en"))
	c := courses(b)[6]
	for id, drawn := range drawnCourses {
		b.Run(id, func(b *testing.B) {
			for b.Loop() {
				if _, err := Image(drawn(c, words, l, 1000), l.Fonts, 1); err != nil {
					b.Fatal(err)
				}
			}
		})
	}
}
