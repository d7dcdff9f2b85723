package print

import (
	"bytes"
	"compress/zlib"
	"encoding/xml"
	"io"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"testing"

	"quietwater/i18n"
	"quietwater/model"
	"quietwater/model/strip"
)

func speak(t testing.TB, tag string) *i18n.Pair {
	t.Helper()
	p, err := i18n.New(tag, "")
	if err != nil {
		t.Fatal(err)
	}
	return p
}

// pagesOf counts the page objects, which the library leaves readable.
func pagesOf(pdf []byte) int { return len(regexp.MustCompile(`/Type /Page\b`).FindAll(pdf, -1)) }

// sizesOf lists the sizes of type a PDF sets, in points.
func sizesOf(t testing.TB, pdf []byte) []float64 {
	t.Helper()
	var out []float64
	for _, m := range regexp.MustCompile(`(?s)stream\n(.*?)\nendstream`).FindAllSubmatch(pdf, -1) {
		r, err := zlib.NewReader(bytes.NewReader(m[1]))
		if err != nil {
			continue // not a compressed stream
		}
		text, _ := io.ReadAll(r)
		for _, f := range regexp.MustCompile(`/F\w+ ([\d.]+) Tf`).FindAllSubmatch(text, -1) {
			size, _ := strconv.ParseFloat(string(f[1]), 64)
			out = append(out, size)
		}
	}
	return out
}

func TestOnePageOfEachKindInEveryLanguage(t *testing.T) {
	for _, lang := range i18n.Languages() {
		for _, k := range strip.Generic() {
			t.Run(lang.Tag+"/"+k.ID, func(t *testing.T) {
				w := speak(t, lang.Tag)
				pdf, err := TallySheet(w, k, "Rosa Quintana", "Bathroom tub")
				if err != nil {
					t.Fatal(err)
				}
				if n := pagesOf(pdf); n != 1 {
					t.Errorf("%d pages", n)
				}
				sizes := sizesOf(t, pdf)
				if len(sizes) < 3 || slices.Min(sizes) < 12 {
					t.Errorf("sizes of type: %v", sizes)
				}
				everythingIsThere(t, w, k, wordsOn(t, pdf))
			})
		}
	}
}

// word is a word on paper with the box around it, in points.
type word struct {
	XMin float64 `xml:"xMin,attr"`
	XMax float64 `xml:"xMax,attr"`
	YMin float64 `xml:"yMin,attr"`
	YMax float64 `xml:"yMax,attr"`
	Text string  `xml:",chardata"`
}

// wordsOn reads the first page with poppler where it is installed.
func wordsOn(t *testing.T, pdf []byte) []word {
	t.Helper()
	tool, err := exec.LookPath("pdftotext")
	if err != nil {
		t.Skip("pdftotext is not installed; pages and sizes were checked without it")
	}
	path := filepath.Join(t.TempDir(), "sheet.pdf")
	if err := os.WriteFile(path, pdf, 0o600); err != nil {
		t.Fatal(err)
	}
	out, err := exec.Command(tool, "-bbox", path, "-").Output()
	if err != nil {
		t.Fatal(err)
	}
	var page struct {
		Words []word `xml:"body>doc>page>word"`
	}
	if err := xml.Unmarshal(out, &page); err != nil {
		t.Fatal(err)
	}
	return page.Words
}

func everythingIsThere(t *testing.T, w Words, k strip.Kind, on []word) {
	t.Helper()
	var texts []string
	for _, o := range on {
		texts = append(texts, o.Text)
	}
	all := " " + strings.Join(texts, " ") + " "
	want := []string{"Rosa Quintana", "Bathroom tub"}
	for _, key := range []string{"sheet.title", "sheet.person", "sheet.dipped", "sheet.pack", "sheet.note", "sheet.pad", "sheet.read-at", "sheet.tick"} {
		want = append(want, w.T(model.T(key)))
	}
	for _, r := range k.Chart.Rows {
		want = append(want, w.T(model.T("sheet.seconds", "n", r.ReadS)))
		want = append(want, strings.Fields(w.Name(model.Strip, r.Pad)+" "+w.Unit(r.Unit))...)
		for _, b := range r.Blocks {
			want = append(want, b.Value)
		}
	}
	for _, it := range model.ItemsOf(model.Strip) {
		if it.Takes == model.Flag {
			want = append(want, strings.Fields(w.Name(it.Kind, it.Code))...)
		}
	}
	for _, s := range want {
		s = strings.Join(strings.Fields(s), " ") // poppler parts words at a no-break space too
		if !strings.Contains(all, " "+s+" ") && !strings.Contains(all, " "+s+",") {
			t.Errorf("%q is not on the page:%s", s, all)
		}
	}
	wellPlaced(t, on)
}

// wellPlaced: no word runs into a margin or another word.
func wellPlaced(t *testing.T, on []word) {
	t.Helper()
	const point = 25.4 / 72
	for i, o := range on {
		if o.XMin*point < wideMargin-0.5 || o.XMax*point > A4.Wide-wideMargin+0.5 || o.YMax*point > A4.High-wideMargin+0.5 {
			t.Errorf("%q runs into the margin: %+v", o.Text, o)
		}
		for _, p := range on[:i] {
			if o.XMin < p.XMax-0.2 && p.XMin < o.XMax-0.2 && o.YMin+3 < p.YMax && p.YMin+3 < o.YMax {
				t.Errorf("%q and %q lie over each other", p.Text, o.Text)
			}
		}
	}
}

// TestTimesNobodyEntered: the words that stand for them keep to their column.
func TestTimesNobodyEntered(t *testing.T) {
	k := strip.Generic()[0]
	k.Chart.Rows = slices.Clone(k.Chart.Rows)
	for i := range k.Chart.Rows {
		k.Chart.Rows[i].ReadS = 0
	}
	for _, lang := range i18n.Languages() {
		t.Run(lang.Tag, func(t *testing.T) {
			pdf, err := TallySheet(speak(t, lang.Tag), k, "Rosa Quintana", "")
			if err != nil {
				t.Fatal(err)
			}
			wellPlaced(t, wordsOn(t, pdf))
			left := (wideMargin + padColumn + timeColumn) * 72 / 25.4
			for _, o := range wordsOn(t, pdf) {
				if o.XMin > (wideMargin+padColumn)*72/25.4-1 && o.XMin < left && o.XMax > left && o.YMin > 300 && o.YMax < 600 {
					t.Errorf("%q runs into the boxes", o.Text)
				}
			}
		})
	}
}

// TestEveryValueStandsAboveItsBox reads where the page draws its boxes.
func TestEveryValueStandsAboveItsBox(t *testing.T) {
	for _, k := range strip.Generic() {
		s := newSheet(speak(t, "es"))
		s.pdf.SetCompression(false)
		s.setFont("", bodyPt)
		n := 0
		for _, r := range k.Chart.Rows {
			s.row(r, rowMin)
			n += len(r.Blocks)
		}
		var out bytes.Buffer
		if err := s.pdf.Output(&out); err != nil {
			t.Fatal(err)
		}
		boxes := regexp.MustCompile(`([\d.]+) ([\d.]+) [\d.]+ -[\d.]+ re S`).FindAllStringSubmatch(out.String(), -1)
		if len(boxes) != n {
			t.Errorf("%s: %d boxes for %d values", k.ID, len(boxes), n)
		}
		on := wordsOn(t, out.Bytes())
		for _, b := range boxes {
			x, _ := strconv.ParseFloat(b[1], 64)
			y, _ := strconv.ParseFloat(b[2], 64)
			middle, top := x+box*72/25.4/2, A4.High*72/25.4-y
			if !slices.ContainsFunc(on, func(o word) bool {
				return abs((o.XMin+o.XMax)/2-middle) < 2 && top-o.YMax > -4 && top-o.YMax < 12
			}) {
				t.Errorf("%s: nothing stands above the box at %.0f, %.0f", k.ID, middle, top)
			}
		}
	}
}

func abs(f float64) float64 { return max(f, -f) }

func TestSheetForAnyKindAndName(t *testing.T) {
	ten := strip.Generic()[0]
	for _, k := range strip.Generic() {
		if len(k.Chart.Rows) > len(ten.Chart.Rows) {
			ten = k
		}
	}
	many := ten
	many.Chart.Rows = slices.Concat(ten.Chart.Rows, ten.Chart.Rows, ten.Chart.Rows)
	for i := range many.Chart.Rows {
		many.Chart.Rows[i].ReadS = 0 // the leaflet's times were not entered
	}
	crowded := ten
	crowded.Chart.Rows = []strip.Row{{Pad: model.Protein, Unit: "mg/dL", ReadS: 60, Blocks: slices.Repeat(ten.Chart.Rows[0].Blocks, 4)}}
	long := strings.Repeat("Quintana ", 30)
	for _, c := range []struct {
		name, who, pack string
		kind            strip.Kind
		pages           int
	}{
		{"thirty pads", "Rosa", "", many, 3},
		{"no pads", "", "", strip.Kind{}, 1},
		{"twenty blocks", "Rosa", "", crowded, 1},
		{"long names", long, long, ten, 1},
		{"a mark without its letter", "\u0901", "\u094d", ten, 1},
		{"characters of many scripts", "Роза 日本 👩‍⚕️ \u202e\x00 א", "a\nb\tc", ten, 1},
	} {
		for _, lang := range i18n.Languages() {
			pdf, err := TallySheet(speak(t, lang.Tag), c.kind, c.who, c.pack)
			if err != nil {
				t.Errorf("%s: %v", c.name, err)
				continue
			}
			if n := pagesOf(pdf); n != c.pages {
				t.Errorf("%s in %s: %d pages, want %d", c.name, lang.Tag, n, c.pages)
			}
		}
	}
}
