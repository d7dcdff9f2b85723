package print

import (
	"bytes"
	"flag"
	"fmt"
	"math/rand/v2"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strings"
	"testing"
	"time"

	"quietwater/charts/typeset"
	"quietwater/i18n"
	"quietwater/model/finding"
	"quietwater/model/household"
	"quietwater/model/page"
)

var pagesTo = flag.String("pages", "", "a folder to write the pages of the README to")

// TestPagesForTheREADME writes them where -pages says; see .ci/pictures.sh.
func TestPagesForTheREADME(t *testing.T) {
	if *pagesTo == "" {
		t.Skip("no folder was named")
	}
	for _, tags := range []string{"en", "es+en", "zh+en", "ru"} {
		var words []ChartWords
		for _, tag := range strings.Split(tags, "+") {
			words = append(words, speak(t, tag))
		}
		for _, d := range demoPages(words...) {
			if d.Result.History.Person.Name != "Rosa" {
				continue
			}
			pdf, _ := mustPage(t, d)
			if err := os.WriteFile(filepath.Join(*pagesTo, "doctor-"+tags+".pdf"), pdf, 0o600); err != nil {
				t.Fatal(err)
			}
		}
	}
}

var pageDay = time.Date(2026, 11, 28, 10, 0, 0, 0, time.FixedZone("", 3600))

// demoPages are what is asked for of each of the invented household.
func demoPages(words ...ChartWords) []Doctor { return pagesFor(household.Demo(pageDay), words...) }

func pagesFor(r household.Records, words ...ChartWords) []Doctor {
	var out []Doctor
	for _, m := range household.Derive(r, pageDay).Members {
		out = append(out, Doctor{Result: m.Result, Words: words, Paper: A4, Asked: page.Asked{Since: pageDay.AddDate(0, -6, 0),
			Questions: []string{"Why do my ankles swell in the evening?", "¿Cuánto puedo beber cuando hace calor?"}, Packs: r.Book.Packs}})
	}
	return out
}

func mustPage(t testing.TB, d Doctor) ([]byte, int) {
	t.Helper()
	pdf, left, err := DoctorPage(d)
	if err != nil {
		t.Fatal(err)
	}
	return pdf, left
}

// TestOneSide: one side a language, in type nobody needs a glass for, small
// enough to send, nothing over anything else, and every word of what stands on
// it copies out.
func TestOneSide(t *testing.T) {
	for _, lang := range i18n.Languages() {
		t.Run(lang.Tag, func(t *testing.T) {
			w := speak(t, lang.Tag)
			for _, d := range demoPages(w) {
				for _, paper := range []Paper{A4, Letter} {
					d.Paper = paper
					pdf, left := mustPage(t, d)
					if n := pagesOf(pdf); n != 1 {
						t.Errorf("%d pages", n)
					}
					if sizes := sizesOf(t, pdf); len(sizes) < 3 || slices.Min(sizes) < 12 {
						t.Errorf("sizes of type: %v", sizes)
					}
					if len(pdf) > 500_000 {
						t.Errorf("%d bytes", len(pdf))
					}
					within(t, paper, wordsOn(t, pdf))
					if paper == A4 {
						copiesOut(t, w, d, left, pdf)
					}
				}
			}
		})
	}
}

// within: no word runs out of the margins or over another.
func within(t *testing.T, paper Paper, on []word) {
	t.Helper()
	const point = 25.4 / 72
	for i, o := range on {
		if o.XMin*point < narrowMargin-0.5 || o.XMax*point > paper.Wide-narrowMargin+0.5 || o.YMin*point < narrowMargin-1 || o.YMax*point > paper.High-narrowMargin+1 {
			t.Errorf("%q runs into the margin: %+v", o.Text, o)
		}
		for _, p := range on[:i] {
			if o.XMin < p.XMax-0.2 && p.XMin < o.XMax-0.2 && o.YMin+4 < p.YMax && p.YMin+4 < o.YMax {
				t.Errorf("%q and %q lie over each other", p.Text, o.Text)
			}
		}
	}
}

// copiesOut holds what poppler reads against what the page was to say: all of
// it but the lines that found no room, which are counted.
func copiesOut(t *testing.T, w *i18n.Pair, d Doctor, left int, pdf []byte) {
	t.Helper()
	bare := func(s string) string { return strings.Join(strings.Fields(s), "") } // lines break anywhere in Chinese
	text := bare(textOf(t, pdf))
	missing := 0
	for _, s := range page.Of(d.Result, d.Asked).Sections {
		for _, l := range s.Lines {
			for _, f := range l.Facts {
				if said := w.T(f); !strings.Contains(text, bare(typeset.Clean(said))) {
					missing++
					break
				}
			}
			if l.Own != "" && !strings.Contains(text, bare(l.Own)) {
				t.Errorf("the question %q is not on the page", l.Own)
			}
		}
	}
	if missing > left {
		t.Errorf("%s: %d lines cannot be read from the page, %d were left out", d.Result.History.Person.Name, missing, left)
	}
}

func textOf(t *testing.T, pdf []byte) string {
	t.Helper()
	tool, err := exec.LookPath("pdftotext")
	if err != nil {
		t.Skip("pdftotext is not installed")
	}
	path := filepath.Join(t.TempDir(), "page.pdf")
	if err := os.WriteFile(path, pdf, 0o600); err != nil {
		t.Fatal(err)
	}
	out, err := exec.Command(tool, "-layout", path, "-").Output()
	if err != nil {
		t.Fatal(err)
	}
	return string(out)
}

// TestFontsAreInThePDF asks poppler whether every font is embedded and cut
// down to what is used.
func TestFontsAreInThePDF(t *testing.T) {
	tool, err := exec.LookPath("pdffonts")
	if err != nil {
		t.Skip("pdffonts is not installed")
	}
	d := demoPages(speak(t, "zh"), speak(t, "hi"))[0]
	d.More = true
	pdf, _ := mustPage(t, d)
	path := filepath.Join(t.TempDir(), "page.pdf")
	if err := os.WriteFile(path, pdf, 0o600); err != nil {
		t.Fatal(err)
	}
	out, err := exec.Command(tool, path).Output()
	if err != nil {
		t.Fatal(err)
	}
	lines := strings.Split(strings.TrimSpace(string(out)), "\n")[2:]
	if len(lines) == 0 {
		t.Fatalf("no fonts:\n%s", out)
	}
	for _, l := range lines {
		f := strings.Fields(l)
		if n := len(f); f[n-5] != "yes" || f[n-3] != "yes" { // emb sub uni object ID
			t.Errorf("not embedded, or without its characters: %s", l)
		}
	}
}

// TestSidesAfterTheFirst: at most MoreSides, in the doctor's language, and the
// copy in another language comes last.
func TestSidesAfterTheFirst(t *testing.T) {
	for _, d := range demoPages(speak(t, "en"), speak(t, "ru")) {
		d.More = true
		pdf, left := mustPage(t, d)
		n := pagesOf(pdf)
		if n < 4 || n > 2+MoreSides {
			t.Errorf("%d sides", n)
		}
		text := textOf(t, pdf)
		sides := strings.Split(strings.TrimRight(text, "\f\n"), "\f")
		if !strings.Contains(sides[0], "For the doctor") || !strings.Contains(sides[1], "side 2") || !strings.Contains(sides[len(sides)-1], speak(t, "ru").T(page.Of(d.Result, d.Asked).Foot)[:20]) {
			t.Errorf("the sides stand in another order:\n%s", text)
		}
		if left > 0 {
			for _, s := range fittedAway(t, d) {
				if !strings.Contains(strings.Join(strings.Fields(text), ""), strings.Join(strings.Fields(s), "")) {
					t.Errorf("%q found no room, and stands nowhere else", s)
				}
			}
		}
	}
}

// fittedAway are the first words of the lines that the first side leaves out.
func fittedAway(t *testing.T, d Doctor) (out []string) {
	s := newSheetOn(d.Words[0], d.Paper, narrowMargin)
	for _, r := range s.side(page.Of(d.Result, d.Asked), pageDay) {
		if !r.heading {
			out = append(out, r.lines[0])
		}
	}
	return out
}

// TestFitted: whatever is asked for, no line is lost or doubled, what is kept
// fits, and nothing gives way to what matters less where both would fit alone.
func TestFitted(t *testing.T) {
	r := rand.New(rand.NewPCG(7, 8))
	for range 2000 {
		var rows []row
		lines := 0
		for section := range r.IntN(6) {
			rows = append(rows, row{heading: true, lines: []string{"h"}})
			for range r.IntN(8) {
				lines++
				rows = append(rows, row{label: fmt.Sprint(section, "/", lines), lines: make([]string, 1+r.IntN(4)), rank: page.Rank(r.IntN(5))})
			}
		}
		room := r.Float64() * 200
		keep, rest := fitted(rows, room)
		if countLines(keep)+countLines(rest) != lines {
			t.Fatalf("%d and %d of %d lines", countLines(keep), countLines(rest), lines)
		}
		sum, seen := 0.0, map[string]bool{}
		for _, x := range keep {
			sum += x.high()
		}
		if sum > room+1e-9 {
			t.Fatalf("%.1f mm in %.1f", sum, room)
		}
		for _, x := range slices.Concat(keep, rest) {
			if !x.heading && seen[x.label] {
				t.Fatalf("%s twice", x.label)
			}
			seen[x.label] = true
		}
		for _, gone := range rest {
			for _, kept := range keep { // of one section: a line alone needs its heading's room too
				sameSection := strings.Split(gone.label, "/")[0] == strings.Split(kept.label, "/")[0]
				if !gone.heading && !kept.heading && sameSection && gone.rank < kept.rank && gone.high() <= kept.high() {
					t.Fatalf("a line of rank %d gave way to one of %d", gone.rank, kept.rank)
				}
			}
		}
	}
}

// TestHardPages: names and notes of any kind and length do not break the page.
func TestHardPages(t *testing.T) {
	long := strings.Repeat("Extraordinarily ", 40)
	for _, q := range []string{long, strings.Repeat("x", 5000), "Роза 日本 👩‍⚕️ \u202e\x00 א", "\u0901", "a\nb\tc", "क्या मैं नमक खा सकता हूँ?"} {
		for _, lang := range []string{"en", "hi", "zh"} {
			r := household.Demo(pageDay)
			for i := range r.Book.Persons {
				r.Book.Persons[i].Name = q
			}
			d := pagesFor(r, speak(t, lang))[0]
			d.Asked.Questions = []string{q, q, q}
			pdf, _ := mustPage(t, d)
			if n := pagesOf(pdf); n != 1 {
				t.Errorf("%.20q in %s: %d pages", q, lang, n)
			}
		}
	}
}

// TestEmptyPage: nobody's page says so and is a page.
func TestEmptyPage(t *testing.T) {
	d := demoPages(speak(t, "en"))[0]
	d.Result = finding.Run(finding.Input{Now: pageDay}, d.Result.History.Person)
	d.More = true
	pdf, left := mustPage(t, d)
	if n := pagesOf(pdf); left != 0 || n < 1 || !bytes.HasPrefix(pdf, []byte("%PDF")) {
		t.Errorf("%d pages, %d left", n, left)
	}
}
