package assets

import (
	"bytes"
	"encoding/xml"
	"fmt"
	"image"
	"image/draw"
	"image/png"
	"io"
	"reflect"
	"strings"
	"testing"

	"golang.org/x/image/font"
	"golang.org/x/image/font/sfnt"
	"golang.org/x/image/math/fixed"
	"golang.org/x/image/vector"
)

// sample holds a text of every language the typeface is to carry and every sign our texts use.
const sample = "ABCDEFGHIJKLMNOPQRSTUVWXYZ abcdefghijklmnopqrstuvwxyz 0123456789" +
	"!\"#$%&'()*+,-./:;<=>?@[\\]^_`{|}~" +
	"¿¡áéíóúüñÁÉÍÓÚÜÑªº«»" + // Spanish
	"àâæçèêëîïôœùûÿßäöãõåøşğıłżźćńčřšžőű" +
	"ăâđêôơưắằẳẵặấầẩẫậếềểễệốồổỗộớờởỡợứừửữựỳỵỷỹ" + // Vietnamese
	"αβγδεζηθικλμνξοπρσςτυφχψωάέήίόύώϊϋΐΰΑΩ" + // Greek
	"абвгдеёжзийклмнопрстуфхцчшщъыьэюяіїєґў" + // Cyrillic
	"अआइईउऊएऐओऔकखगघचछजझटठडढणतथदधनपफबभमयरलवशषसहािीुूृेैोौ्ंँः़।०१२३४५६७८९₹" + // Devanagari
	"≥≤≈≠→←↑↓−×÷±µ²³½¼¾°✓✗•·…–—‘’“”„€£№⁺⁻₀₂" +
	"■□▲△▼▶◀◆○●☐☑☒⚠\u00a0\u2009\u202f\ufffd"

func weights(t *testing.T) map[string]*sfnt.Font {
	t.Helper()
	fonts := map[string]*sfnt.Font{}
	for name, data := range map[string][]byte{"regular": FontRegular, "bold": FontBold} {
		if len(data) > 1_200_000 {
			t.Errorf("%s: %d bytes, more than 1.2 MB", name, len(data))
		}
		f, err := sfnt.Parse(data)
		if err != nil {
			t.Fatalf("%s: %v", name, err)
		}
		fonts[name] = f
	}
	return fonts
}

func TestEveryRuneHasAGlyph(t *testing.T) {
	for name, f := range weights(t) {
		for _, r := range sample {
			if g, err := f.GlyphIndex(nil, r); err != nil || g == 0 {
				t.Errorf("%s: no glyph for %q (%U): %v", name, r, r, err)
			}
		}
	}
}

// han is Chinese with the last characters of GB 2312's two levels, and its punctuation.
const han = "肾脏试纸尿蛋白潜血血压体重今天给医生打电话座齄、。，：；？！（）《》"

// The Chinese typeface is the other with more in it: same letters, same line.
func TestHanIsTheSameTypeface(t *testing.T) {
	base := weights(t)
	for name, data := range map[string][]byte{"regular": HanRegular, "bold": HanBold} {
		if len(data) > 2_500_000 {
			t.Errorf("%s: %d bytes, more than 2.5 MB", name, len(data))
		}
		f, err := sfnt.Parse(data)
		if err != nil {
			t.Fatalf("%s: %v", name, err)
		}
		for _, r := range sample + han {
			if g, err := f.GlyphIndex(nil, r); err != nil || g == 0 {
				t.Errorf("%s: no glyph for %q (%U): %v", name, r, r, err)
			}
		}
		em := fixed.I(1000)
		a, _ := base[name].Metrics(nil, em, font.HintingNone)
		b, _ := f.Metrics(nil, em, font.HintingNone)
		if a != b {
			t.Errorf("%s: lines of %+v beside lines of %+v", name, b, a)
		}
		for _, r := range sample {
			ga, _ := base[name].GlyphIndex(nil, r)
			gb, _ := f.GlyphIndex(nil, r)
			wa, _ := base[name].GlyphAdvance(nil, ga, em, font.HintingNone)
			wb, _ := f.GlyphAdvance(nil, gb, em, font.HintingNone)
			if wa != wb {
				t.Errorf("%s: %q is %v wide, %v in the other", name, r, wb, wa)
			}
		}
	}
}

// Letters and figures that people with low vision or low numeracy mix up (needs R15).
func TestLookAlikesDiffer(t *testing.T) {
	outline := func(f *sfnt.Font, r rune) sfnt.Segments {
		var b sfnt.Buffer
		g, err := f.GlyphIndex(&b, r)
		if err != nil {
			t.Fatal(err)
		}
		s, err := f.LoadGlyph(&b, g, fixed.I(1000), nil)
		if err != nil {
			t.Fatal(err)
		}
		return append(sfnt.Segments(nil), s...)
	}
	for name, f := range weights(t) {
		for _, set := range []string{"Il1|", "O0o", "5S", "8B", "2Z", "−-–—", "≤≥<>", "✓✗"} {
			runes := []rune(set)
			for i, a := range runes {
				for _, b := range runes[i+1:] {
					if reflect.DeepEqual(outline(f, a), outline(f, b)) {
						t.Errorf("%s: %q and %q look the same", name, a, b)
					}
				}
			}
		}
	}
}

// A sign beside a number must be as heavy as the number, so no sign may be shared by the weights.
func TestBoldIsBolder(t *testing.T) {
	fonts := weights(t)
	for _, r := range "A0ñЖλ≥≤−→✓✗☑" {
		thin, thick := ink(t, fonts["regular"], r), ink(t, fonts["bold"], r)
		if thick < thin*1.1 {
			t.Errorf("%q: ink %.0f in bold, %.0f in regular", r, thick, thin)
		}
	}
}

func TestKerning(t *testing.T) {
	for name, f := range weights(t) {
		for _, pair := range []string{"AV", "To"} {
			a, _ := f.GlyphIndex(nil, rune(pair[0]))
			b, _ := f.GlyphIndex(nil, rune(pair[1]))
			k, err := f.Kern(nil, a, b, fixed.I(1000), font.HintingNone)
			if err != nil || k >= 0 {
				t.Errorf("%s: %q is not drawn together: %v, %v", name, pair, k, err)
			}
		}
	}
}

func TestLicence(t *testing.T) {
	for _, want := range []string{"Copyright 2015 Google", "SIL OPEN FONT LICENSE Version 1.1", "OTHER DEALINGS IN THE FONT SOFTWARE."} {
		if !strings.Contains(FontLicence, want) {
			t.Errorf("OFL.txt lacks %q", want)
		}
	}
}

// Every licence has a name and a text, and every letter of them can be shown.
func TestLicences(t *testing.T) {
	regular := weights(t)["regular"]
	if len(Licences()) < 20 {
		t.Errorf("only %d licences", len(Licences()))
	}
	for _, l := range Licences() {
		if l.Name == "" || len(l.Text) < 50 || strings.Contains(l.Text, "\n"+LicenceMark) {
			t.Errorf("%q has no text of its own: %.40q", l.Name, l.Text)
		}
		for _, r := range strings.ReplaceAll(l.Name+l.Text, "\n", " ") {
			if g, err := regular.GlyphIndex(nil, r); err != nil || g == 0 {
				t.Errorf("%s: no glyph for %q (%U): %v", l.Name, r, r, err)
			}
		}
	}
}

func TestIcon(t *testing.T) {
	c, err := png.DecodeConfig(bytes.NewReader(IconPNG))
	if err != nil || c.Width != 512 || c.Height != 512 {
		t.Errorf("icon.png: %d by %d, %v", c.Width, c.Height, err)
	}
	if !bytes.Contains(IconSVG, []byte(`viewBox="0 0 512 512"`)) {
		t.Error("icon.svg is not drawn on 512 by 512")
	}
}

func TestDrawingsDiffer(t *testing.T) {
	const size = 24 // the smallest size they are shown at
	images := map[string]*image.Alpha{}
	for _, n := range []string{Today, Timeline, Numbers, Supplies, Doctor, Household, Help} {
		images[n] = render(t, n, Picture(n), size)
	}
	for i := range Leaves {
		images[fmt.Sprint("leaf ", i)] = render(t, fmt.Sprint("leaf ", i), Leaf(i), size)
	}
	if len(images) != 7+Leaves {
		t.Fatal("names collide")
	}
	for a, p := range images {
		if c := coverage(p.Pix); c < 0.08 || c > 0.6 {
			t.Errorf("%s covers %.2f of its field", a, c)
		}
		for b, q := range images {
			if a >= b {
				continue
			}
			d := make([]byte, len(p.Pix))
			for i := range d {
				d[i] = max(p.Pix[i], q.Pix[i]) - min(p.Pix[i], q.Pix[i])
			}
			if c := coverage(d); c < 0.04 {
				t.Errorf("%s and %s differ in %.3f of the field only", a, b, c)
			}
		}
	}
}

func TestLeafTakesAnyNumber(t *testing.T) {
	for _, c := range [][2]int{{8, 0}, {-1, 7}, {-8, 0}, {1 << 40, 0}} {
		if !bytes.Equal(Leaf(c[0]), Leaf(c[1])) {
			t.Errorf("Leaf(%d) is not Leaf(%d)", c[0], c[1])
		}
	}
	if Picture("nothing") != nil || Picture("../icon") != nil {
		t.Error("a picture nobody drew")
	}
}

// render draws one of our SVGs, and fails if it is more than a single filled outline of straight
// lines: the toolkit recolours fills only and drops elements it does not know.
func render(t *testing.T, name string, svg []byte, size int) *image.Alpha {
	t.Helper()
	img := image.NewAlpha(image.Rect(0, 0, size, size))
	v := vector.NewRasterizer(size, size)
	d := xml.NewDecoder(bytes.NewReader(svg))
	paths := 0
	for {
		tok, err := d.Token()
		if err == io.EOF {
			break
		}
		if err != nil {
			t.Fatalf("%s: %v", name, err)
		}
		e, ok := tok.(xml.StartElement)
		if !ok || e.Name.Local == "svg" {
			continue
		}
		if e.Name.Local != "path" || len(e.Attr) != 2 || e.Attr[0].Value != "#16242E" {
			t.Fatalf("%s: more than one path filled with ink: %v", name, e)
		}
		paths++
		for _, contour := range strings.Split(strings.TrimSuffix(e.Attr[1].Value, "Z"), "Z") {
			for i, p := range strings.Split(strings.TrimPrefix(contour, "M"), "L") {
				var x, y float32
				if _, err := fmt.Sscanf(p, "%g %g", &x, &y); err != nil {
					t.Fatalf("%s: %q: %v", name, p, err)
				}
				if x < 0 || y < 0 || x > 24 || y > 24 {
					t.Fatalf("%s leaves its field at %g %g", name, x, y)
				}
				k := float32(size) / 24
				if i == 0 {
					v.MoveTo(x*k, y*k)
				} else {
					v.LineTo(x*k, y*k)
				}
			}
			v.ClosePath()
		}
	}
	if paths != 1 {
		t.Fatalf("%s: %d paths", name, paths)
	}
	v.Draw(img, img.Bounds(), image.Opaque, image.Point{})
	return img
}

func coverage(pix []byte) float64 {
	sum := 0
	for _, p := range pix {
		sum += int(p)
	}
	return float64(sum) / float64(len(pix)*255)
}

// ink is the area a glyph covers, in pixels at 100 pixels an em.
func ink(t *testing.T, f *sfnt.Font, r rune) float64 {
	t.Helper()
	var b sfnt.Buffer
	g, err := f.GlyphIndex(&b, r)
	if err != nil {
		t.Fatal(err)
	}
	segments, err := f.LoadGlyph(&b, g, fixed.I(100), nil)
	if err != nil {
		t.Fatal(err)
	}
	const size = 200
	v := vector.NewRasterizer(size, size)
	at := func(p fixed.Point26_6) (float32, float32) { return float32(p.X)/64 + 20, float32(p.Y)/64 + 150 }
	for _, s := range segments {
		x, y := at(s.Args[0])
		switch s.Op {
		case sfnt.SegmentOpMoveTo:
			v.ClosePath()
			v.MoveTo(x, y)
		case sfnt.SegmentOpLineTo:
			v.LineTo(x, y)
		case sfnt.SegmentOpQuadTo:
			x2, y2 := at(s.Args[1])
			v.QuadTo(x, y, x2, y2)
		}
	}
	v.ClosePath()
	img := image.NewAlpha(image.Rect(0, 0, size, size))
	v.DrawOp = draw.Src
	v.Draw(img, img.Bounds(), image.Opaque, image.Point{})
	return coverage(img.Pix) * size * size
}
