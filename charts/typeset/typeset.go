// Package typeset owns how a line of text becomes shapes: which glyphs of a typeface stand where, and
// their outlines. Letters that change with their neighbours (Devanagari), marks set above others and
// pairs drawn closer are all the work of go-text's port of HarfBuzz, the shaper the window uses too.
//
// It refuses to know colours, sizes and where the line is drawn. Lengths are in ems, y downwards, so
// that one line serves every size.
package typeset

import (
	"bytes"
	"fmt"
	"math"
	"strings"
	"sync"
	"unicode"

	"github.com/go-text/typesetting/font"
	"github.com/go-text/typesetting/font/opentype"
	"github.com/go-text/typesetting/shaping"
	"golang.org/x/image/math/fixed"
)

// Font is one weight of a typeface. Any number of goroutines may share it.
type Font struct {
	CapHeight float64 // of capitals and figures, above the baseline
	Ascent    float64 // of the tallest sign of the typeface, above the baseline
	Descent   float64 // of the deepest, below the baseline; not negative

	mu       sync.Mutex // guards what follows: neither the shaper nor a face may be shared
	face     *font.Face
	upem     float64
	shaper   shaping.HarfbuzzShaper
	segments shaping.Segmenter
	glyphs   map[font.GID][]Curve
	lines    map[string]Line
}

// Line is text that was set. It must not be changed: it may be handed out again.
type Line struct {
	Advance float64 // from the start of the line to where more text would follow
	Glyphs  []Glyph
}

// Glyph is an outline and where it stands in its line.
type Glyph struct {
	X, Y    float64
	Outline []Curve
}

// Op is what a Curve does, from the point where the last one ended.
type Op uint8

// Move and Straight go to P[0]; Quad and Cube are Bézier curves to P[1] or P[2], control points first.
const (
	Move Op = iota
	Straight
	Quad
	Cube
)

// Curve is one piece of an outline.
type Curve struct {
	Op Op
	P  [3]Point
}

// Point is in ems from the glyph's place on the baseline.
type Point struct{ X, Y float64 }

// Parse reads TrueType or OpenType data, which must not be changed afterwards.
func Parse(data []byte) (*Font, error) {
	face, err := font.ParseTTF(bytes.NewReader(data))
	if err != nil {
		return nil, fmt.Errorf("typeset: %w", err)
	}
	f := &Font{face: face, upem: float64(face.Upem()), glyphs: map[font.GID][]Curve{}, lines: map[string]Line{}}
	if m, ok := face.FontHExtents(); ok {
		f.Ascent, f.Descent = float64(m.Ascender)/f.upem, math.Abs(float64(m.Descender))/f.upem
	}
	f.CapHeight = float64(face.LineMetric(font.CapHeight)) / f.upem
	if f.CapHeight <= 0 {
		f.CapHeight = 0.7 // old fonts do not say; a usual proportion
	}
	return f, nil
}

// keptLines is how many lines are remembered: more than a picture of many years has.
const keptLines = 4096

// Set sets text as one line, from left to right. White space other than spaces becomes a space, control
// and invisible formatting characters go, broken bytes become the replacement character. A sign the
// font lacks is shown as the font's empty box, a missing kind of space as a plain space.
func (f *Font) Set(text string) Line {
	f.mu.Lock()
	defer f.mu.Unlock()
	if l, ok := f.lines[text]; ok {
		return l
	}
	if len(f.lines) >= keptLines {
		clear(f.lines)
	}
	l := f.set([]rune(strings.Map(f.known, Clean(text))))
	f.lines[text] = l
	return l
}

func (f *Font) known(r rune) rune {
	if r != ' ' && unicode.Is(unicode.Zs, r) {
		if _, ok := f.face.NominalGlyph(r); !ok {
			return ' '
		}
	}
	return r
}

// only is the one face there is for every sign.
type only struct{ face *font.Face }

func (o only) ResolveFace(rune) *font.Face { return o.face }

func (f *Font) set(text []rune) Line {
	var l Line
	whole := shaping.Input{Text: text, RunEnd: len(text), Face: f.face, Size: fixed.I(int(f.upem))} // the answers are font units
	for _, run := range f.segments.Split(whole, only{f.face}) {
		for _, g := range f.shaper.Shape(run).Glyphs {
			l.Glyphs = append(l.Glyphs, Glyph{l.Advance + f.ems(g.XOffset), -f.ems(g.YOffset), f.outline(g.GlyphID)})
			l.Advance += f.ems(g.Advance)
		}
	}
	return l
}

func (f *Font) ems(v fixed.Int26_6) float64 { return float64(v) / 64 / f.upem }

func (f *Font) outline(id font.GID) []Curve {
	if o, ok := f.glyphs[id]; ok {
		return o
	}
	var out []Curve
	if o, ok := f.face.GlyphData(id).(font.GlyphOutline); ok {
		for _, s := range o.Segments {
			c := Curve{Op: ops[s.Op]}
			for i, p := range s.ArgsSlice() {
				c.P[i] = Point{float64(p.X) / f.upem, -float64(p.Y) / f.upem}
			}
			out = append(out, c)
		}
	}
	f.glyphs[id] = out
	return out
}

var ops = map[opentype.SegmentOp]Op{
	opentype.SegmentOpMoveTo: Move, opentype.SegmentOpLineTo: Straight, opentype.SegmentOpQuadTo: Quad, opentype.SegmentOpCubeTo: Cube,
}

// Clean leaves what can stand in one line, as Set describes. The joiners that tell Devanagari which
// letters to join stay.
func Clean(s string) string {
	return strings.Map(func(r rune) rune {
		switch {
		case r == '\t' || r == '\n' || r == '\r' || r == '\u2028' || r == '\u2029':
			return ' '
		case r == '\u200c' || r == '\u200d':
			return r
		case unicode.IsControl(r), unicode.Is(unicode.Cf, r):
			return -1
		case r == 0xFFFE, r == 0xFFFF:
			return unicode.ReplacementChar
		}
		return r
	}, s)
}

// Joins reports whether text has letters that only stand right when they are shaped, and that a program
// putting one sign after the other would spoil: those of the Indic scripts we speak.
func Joins(text string) bool {
	return strings.ContainsFunc(text, func(r rune) bool { return unicode.Is(unicode.Devanagari, r) })
}
