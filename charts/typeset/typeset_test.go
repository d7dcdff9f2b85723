package typeset

import (
	"math"
	"os"
	"reflect"
	"regexp"
	"strconv"
	"strings"
	"sync"
	"testing"

	"github.com/go-text/typesetting/font"
	"golang.org/x/image/font/gofont/goregular"

	"quietwater/assets"
)

func ours(t testing.TB) *Font {
	t.Helper()
	f, err := Parse(assets.FontRegular)
	if err != nil {
		t.Fatal(err)
	}
	return f
}

var glyphOf = regexp.MustCompile(`^(\d+)(?:@(-?\d+),(-?\d+))?\+(-?\d+)$`)

// Outside truth: HarfBuzz's own answers for words in every script we speak.
func TestLinesAreAsHarfBuzzSetsThem(t *testing.T) {
	f := ours(t)
	data, err := os.ReadFile("testdata/harfbuzz.txt")
	if err != nil {
		t.Fatal(err)
	}
	lines := 0
	for _, row := range strings.Split(strings.TrimSpace(string(data)), "\n") {
		if strings.HasPrefix(row, "#") {
			continue
		}
		word, want, ok := strings.Cut(row, "\t")
		if !ok {
			t.Fatalf("%q has no tab", row)
		}
		lines++
		checkLine(t, f, word, strings.Split(strings.Trim(want, "[]"), "|"))
	}
	if lines < 1000 {
		t.Errorf("only %d lines", lines)
	}
}

func checkLine(t *testing.T, f *Font, word string, want []string) {
	t.Helper()
	got := f.Set(word)
	if len(got.Glyphs) != len(want) {
		t.Errorf("%s: %d glyphs, HarfBuzz sets %d", word, len(got.Glyphs), len(want))
		return
	}
	x := 0
	for i, w := range want {
		m := glyphOf.FindStringSubmatch(w)
		if m == nil {
			t.Fatalf("%s: cannot read %q", word, w)
		}
		n := func(i int) int { v, _ := strconv.Atoi(m[i]); return v }
		g := got.Glyphs[i]
		if !near(g.X, x+n(2)) || !near(g.Y, -n(3)) || !reflect.DeepEqual(g.Outline, f.outline(font.GID(n(1)))) {
			t.Errorf("%s: glyph %d stands at %.0f, %.0f, HarfBuzz sets %s at %d", word, i, 1000*g.X, 1000*g.Y, w, x)
			return
		}
		x += n(4)
	}
	if !near(got.Advance, x) {
		t.Errorf("%s is %.0f long, HarfBuzz's %d", word, 1000*got.Advance, x)
	}
}

func near(ems float64, units int) bool { return math.Abs(1000*ems-float64(units)) < 0.6 }

func TestClean(t *testing.T) {
	for _, c := range [][2]string{
		{"a\tb\nc", "a b c"}, {"a\x00\x1b\u202eb", "ab"}, {"a\xffb", "a\ufffdb"}, {"\ufffe", "\ufffd"},
		{"र्\u200dय", "र्\u200dय"}, {"\u200bx", "x"},
	} {
		if got := Clean(c[0]); got != c[1] {
			t.Errorf("%q became %q, want %q", c[0], got, c[1])
		}
	}
}

func TestWhatAFontLacks(t *testing.T) {
	f, err := Parse(goregular.TTF)
	if err != nil {
		t.Fatal(err)
	}
	if a, b := f.Set("1\u202f000"), f.Set("1 000"); !reflect.DeepEqual(a, b) {
		t.Error("a narrow space the font lacks is not a plain one")
	}
	if box := f.Set("क"); len(box.Glyphs) != 1 || len(box.Glyphs[0].Outline) == 0 {
		t.Error("a letter the font lacks shows nothing")
	}
	if l := f.Set(""); l.Advance != 0 || len(l.Glyphs) != 0 {
		t.Errorf("nothing is set as %+v", l)
	}
	for _, bad := range [][]byte{nil, {}, []byte("no font"), goregular.TTF[:2000]} {
		if _, err := Parse(bad); err == nil {
			t.Errorf("%d bytes of no font are accepted", len(bad))
		}
	}
}

func TestJoins(t *testing.T) {
	for text, want := range map[string]bool{"Niere": false, "尿蛋白": false, "Ниере ₂ ấ": false, "eGFR घटा": true} {
		if Joins(text) != want {
			t.Errorf("Joins(%q) is %v", text, !want)
		}
	}
}

// Charts are drawn beside the window: a font must bear being asked by many at once.
func TestManyMayAsk(t *testing.T) {
	f := ours(t)
	want := f.Set("शक्ति 12").Advance
	var wg sync.WaitGroup
	for i := range 8 {
		wg.Go(func() {
			for j := range 200 {
				f.Set(strings.Repeat("अ", i) + strconv.Itoa(j))
				if got := f.Set("शक्ति 12").Advance; got != want {
					t.Errorf("%g, want %g", got, want)
				}
			}
		})
	}
	wg.Wait()
}

func FuzzSet(z *testing.F) {
	f := ours(z)
	for _, s := range []string{"", "AV", "क्षत्रिय", "\u200d\u094d", "尿", "a\u0301\u0301", "\xff", "שלום 12 عربي"} {
		z.Add(s)
	}
	z.Fuzz(func(t *testing.T, s string) {
		l := f.Set(s)
		if math.IsNaN(l.Advance) || math.IsInf(l.Advance, 0) {
			t.Errorf("%q is %g long", s, l.Advance)
		}
	})
}
