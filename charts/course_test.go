package charts

import (
	"bytes"
	"fmt"
	"image"
	"image/png"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"quietwater/model"
	"quietwater/model/finding"
	"quietwater/model/numbers"
	"quietwater/model/timeline"
)

// sheets makes a person's numbers of rows when,creatinine in umol/L,egfr,acr with its unit; "" leaves one out, and a
// fifth cell says ill.
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
		if c[4] != "" {
			table = append(table, c[0]+",lab,ill-then,yes,")
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
	}
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

// TestCoursesKeepWordsApartAndInside: no word is cut by the edge or lies over another, in any look, size,
// language and width.
func TestCoursesKeepWordsApartAndInside(t *testing.T) {
	for id, drawn := range drawnCourses {
		for name, l := range looks(t) {
			for _, c := range courses(t) {
				for _, lang := range []string{"en", "es"} {
					for _, size := range []float64{20, 25, 40} {
						for _, width := range []int{-1, 320, 700, 1000, 1400} {
							l.Size = size
							s := drawn(c, spoken(lines(t, lang)), l, width)
							w := watch(t, s, l)
							paper := image.Rect(0, 0, s.Width, s.Height)
							for i, a := range w.words {
								if !a.at.In(paper) || strings.ContainsAny(a.what, "⟦{") {
									t.Errorf("%s %s %s %s %v %d: %q at %v of %v", id, c.name, name, lang, size, width, a.what, a.at, paper)
								}
								for _, b := range w.words[i+1:] {
									if a.at.Overlaps(b.at) {
										t.Errorf("%s %s %s %s %v %d: %q at %v lies over %q at %v", id, c.name, name, lang, size, width, a.what, a.at, b.what, b.at)
									}
								}
							}
							if len(w.words) == 0 {
								t.Errorf("%s %s says nothing", id, c.name)
							}
						}
					}
				}
			}
		}
	}
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
		{DescribeEGFR(cs[1].n, courseStart, courseEnd), "One result: about 48 on 1 March 2025."},
		{DescribeEGFR(cs[4].n, courseStart, courseEnd), "10 results: about "},
		{DescribeEGFR(cs[4].n, courseStart, courseStart.AddDate(1, 0, 0)), "No filtering is known"},
		{DescribeACR(cs[2].n, courseStart, courseEnd), "2 results: 4.2 mg/mmol on 1 March 2024, <3 mg/mmol on 1 March 2026."},
		{DescribeACR(cs[0].n, courseStart, courseEnd), "No ACR is known"},
		{DescribeGrid(cs[0].n), "A place needs an eGFR"},
		{DescribeGrid(cs[1].n), "On 1 March 2025: G3a with A2, high risk."},
		{DescribeGrid(cs[2].n), "On 1 March 2026: G3b with A1, high risk. It began on 1 March 2024 with G3a with A2, high risk."},
		{DescribeGrid(cs[5].n), "On 1 March 2026: row G3b, albumin not known."},
	} {
		if got := spoken(lines(t, "en")).T(c.got); !strings.Contains(got, c.want) {
			t.Errorf("%q, want %q in it", got, c.want)
		}
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
