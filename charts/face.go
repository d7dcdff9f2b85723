package charts

import (
	"errors"
	"fmt"
	"math"
	"strings"
	"unicode"

	"github.com/golang/freetype/truetype"
	"golang.org/x/image/font"
	"golang.org/x/image/font/opentype"
	"golang.org/x/image/font/sfnt"
	"golang.org/x/image/math/fixed"
)

// Names for the two weights in go-chart's styles. They are only compared, never read: handed to one of
// go-chart's own renderers they draw no words.
var (
	Regular = new(truetype.Font)
	Bold    = new(truetype.Font)
)

// Fonts is the typeface charts are drawn with. Regular is needed; without Bold, regular stands in.
type Fonts struct{ Regular, Bold *opentype.Font }

// ParseFonts reads the two weights from TrueType or OpenType data. An empty bold is allowed.
// The data must not be changed afterwards.
func ParseFonts(regular, bold []byte) (Fonts, error) {
	var f Fonts
	var err error
	if f.Regular, err = opentype.Parse(regular); err != nil {
		return Fonts{}, fmt.Errorf("charts: regular font: %w", err)
	}
	if len(bold) == 0 {
		return f, nil
	}
	if f.Bold, err = opentype.Parse(bold); err != nil {
		return Fonts{}, fmt.Errorf("charts: bold font: %w", err)
	}
	return f, nil
}

var errNoFont = errors.New("charts: no regular font was given")

// Extent is the room a line of text takes, in the unit of the size it was asked with.
type Extent struct {
	Advance   float64 // from the start of the line to where more text would follow
	CapHeight float64 // of capitals and figures, above the baseline
	Ascent    float64 // of the tallest sign of the typeface, above the baseline
	Descent   float64 // of the deepest, below the baseline; not negative
}

// Extent measures a line of text at a size (the em, normally in logical pixels). A size that is not a
// positive number, or above 2000, takes no room.
func (f Fonts) Extent(text string, size float64, bold bool) Extent {
	if f.Regular == nil || !drawableSize(size) {
		return Extent{}
	}
	t := f.faces().pick(bold)
	return Extent{size * t.advance(text), size * t.capHeight, size * t.ascent, size * t.descent}
}

const maxSize = 2000

func drawableSize(size float64) bool { return size > 0 && size <= maxSize }

// faces is the working copy of Fonts that one renderer owns.
type faces struct{ regular, bold *face }

func (f Fonts) faces() faces {
	r := newFace(f.Regular)
	if f.Bold == nil {
		return faces{r, r}
	}
	return faces{r, newFace(f.Bold)}
}

func (f faces) pick(bold bool) *face {
	if bold {
		return f.bold
	}
	return f.regular
}

// face sets lines of text in one font. Lengths are in ems, so it serves every size. We read outlines
// rather than use opentype.Face: its kerning is not scaled to the size, and it cannot turn text.
type face struct {
	font                       *opentype.Font
	buf                        sfnt.Buffer
	perEm                      fixed.Int26_6 // asked as pixels per em, the font answers in its own units
	capHeight, ascent, descent float64
	glyphs                     map[rune]*glyph
	kerns                      map[[2]sfnt.GlyphIndex]float64
}

type glyph struct {
	index   sfnt.GlyphIndex
	advance float64
	outline []curve
}

// curve is one piece of an outline, in ems with y downwards: a move or line to p[0], a quadratic or
// cubic curve to p[1] or p[2].
type curve struct {
	op sfnt.SegmentOp
	p  [3]point
}

func newFace(f *opentype.Font) *face {
	t := &face{
		font: f, perEm: fixed.Int26_6(f.UnitsPerEm()),
		glyphs: map[rune]*glyph{}, kerns: map[[2]sfnt.GlyphIndex]float64{},
	}
	if m, err := f.Metrics(&t.buf, t.perEm, font.HintingNone); err == nil {
		t.capHeight, t.ascent, t.descent = t.ems(m.CapHeight), t.ems(m.Ascent), math.Abs(t.ems(m.Descent))
	}
	if t.capHeight <= 0 {
		t.capHeight = 0.7 // old fonts do not say; a usual proportion
	}
	return t
}

func (t *face) ems(v fixed.Int26_6) float64 { return float64(v) / float64(t.perEm) }

// set walks along a line of text and hands out each glyph with its distance from the start, both in
// ems; it returns the length of the line. A sign the font lacks is shown as the font's empty box, a
// missing kind of space as a plain space.
func (t *face) set(text string, put func(*glyph, float64)) float64 {
	var x float64
	var before *glyph
	for _, r := range cleanText(text) {
		g := t.glyph(r)
		if before != nil {
			x += t.kern(before.index, g.index)
		}
		if put != nil {
			put(g, x)
		}
		x += g.advance
		before = g
	}
	return x
}

func (t *face) advance(text string) float64 { return t.set(text, nil) }

func (t *face) glyph(r rune) *glyph {
	if g, ok := t.glyphs[r]; ok {
		return g
	}
	g := t.load(r)
	t.glyphs[r] = g
	return g
}

func (t *face) load(r rune) *glyph {
	index, err := t.font.GlyphIndex(&t.buf, r)
	if err != nil {
		return &glyph{}
	}
	if index == 0 && r != ' ' && unicode.Is(unicode.Zs, r) {
		return t.glyph(' ')
	}
	g := &glyph{index: index}
	if a, err := t.font.GlyphAdvance(&t.buf, index, t.perEm, font.HintingNone); err == nil {
		g.advance = t.ems(a)
	}
	segments, err := t.font.LoadGlyph(&t.buf, index, t.perEm, nil)
	if err != nil {
		return g
	}
	for _, s := range segments {
		c := curve{op: s.Op}
		for i, a := range s.Args {
			c.p[i] = point{t.ems(a.X), t.ems(a.Y)}
		}
		g.outline = append(g.outline, c)
	}
	return g
}

func (t *face) kern(a, b sfnt.GlyphIndex) float64 {
	pair := [2]sfnt.GlyphIndex{a, b}
	if k, ok := t.kerns[pair]; ok {
		return k
	}
	var ems float64
	if k, err := t.font.Kern(&t.buf, a, b, t.perEm, font.HintingNone); err == nil {
		ems = t.ems(k)
	}
	t.kerns[pair] = ems
	return ems
}

// cleanText leaves what can stand in one line: white space other than spaces becomes a space, control
// and invisible formatting characters go, broken bytes become the replacement character.
func cleanText(s string) string {
	return strings.Map(func(r rune) rune {
		switch {
		case r == '\t' || r == '\n' || r == '\r' || r == '\u2028' || r == '\u2029':
			return ' '
		case unicode.IsControl(r), unicode.Is(unicode.Cf, r):
			return -1
		case r == 0xFFFE, r == 0xFFFF:
			return unicode.ReplacementChar
		}
		return r
	}, s)
}
