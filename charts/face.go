package charts

import (
	"errors"
	"fmt"

	"github.com/golang/freetype/truetype"

	"quietwater/charts/typeset"
	"quietwater/i18n"
)

// Names for the two weights in go-chart's styles. They are only compared, never read: handed to one of
// go-chart's own renderers they draw no words.
var (
	Regular = new(truetype.Font)
	Bold    = new(truetype.Font)
)

// Fonts is the typeface charts are drawn with. Regular is needed; without Bold, regular stands in.
type Fonts struct {
	Regular, Bold *typeset.Font
	// Chinese, if there is one, gives the typeface of texts with Chinese characters: it is large, so it
	// is asked for only when there is one.
	Chinese func() Fonts
}

// ParseFonts reads the two weights from TrueType or OpenType data. An empty bold is allowed.
// The data must not be changed afterwards.
func ParseFonts(regular, bold []byte) (Fonts, error) {
	var f Fonts
	var err error
	if f.Regular, err = typeset.Parse(regular); err != nil {
		return Fonts{}, fmt.Errorf("charts: regular font: %w", err)
	}
	if len(bold) == 0 {
		return f, nil
	}
	if f.Bold, err = typeset.Parse(bold); err != nil {
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
	t := f.pick(text, bold)
	return Extent{size * t.Set(text).Advance, size * t.CapHeight, size * t.Ascent, size * t.Descent}
}

const maxSize = 2000

func drawableSize(size float64) bool { return size > 0 && size <= maxSize }

// set sets a line of text in the weight and typeface that have its letters.
func (f Fonts) set(text string, bold bool) typeset.Line { return f.pick(text, bold).Set(text) }

func (f Fonts) pick(text string, bold bool) *typeset.Font {
	if f.Chinese != nil && i18n.Chinese(text) {
		f = f.Chinese()
	}
	if bold && f.Bold != nil {
		return f.Bold
	}
	return f.Regular
}
