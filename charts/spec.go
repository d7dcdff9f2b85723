package charts

import (
	"image/color"
	"slices"
	"time"

	"github.com/wcharczuk/go-chart/v2"

	"quietwater/model"
	"quietwater/model/finding"
	"quietwater/model/timeline"
)

// Words is what a chart needs said; *i18n.Pair says it.
type Words interface {
	T(model.Msg) string
	Name(model.Kind, model.Code) string
	Grade(model.Grade) string
	Value(model.Kind, model.Value) string
	Number(typed string) string
	Unit(ucum string) string
	DateShort(model.When) string
	Clock(time.Time) string
}

// Look is how the page around a chart looks. Lengths are in units, which are logical pixels at 100 %.
//
// Paper is the ground; Ink, Muted and Line are strokes and words on it (Line only strokes); Water is the
// strong colour of data; Soft fills bands; Amber fills what is for today and for an emergency. Looks are
// equal when they draw the same.
type Look struct {
	Paper, Ink, Muted, Line, Water, Soft, Amber color.RGBA

	Fonts    Fonts
	Size     float64 // of text: 20 at 100 %, 40 at 200 %
	Contrast bool    // high contrast: thicker strokes, lines instead of bands
}

// small is the least size of words.
func (l Look) small() float64 { return 0.85 * l.Size }

// units is a length that grows with the text, in whole logical pixels.
func (l Look) units(ems float64) int { return int(ems*l.Size + 0.5) }

// thin and thick are the widths of strokes.
func (l Look) thin() float64 {
	if l.Contrast {
		return 3 * l.Size / 20
	}
	return l.Size / 20
}

func (l Look) thick() float64 { return max(l.thin(), 2*l.Size/20) }

// sane makes a look that can be laid out of any.
func (l Look) sane() Look {
	if !(l.Size >= 1 && l.Size <= 400) {
		l.Size = 20
	}
	return l
}

// Sized is a chart laid out: Image and Render draw it, at this many logical pixels. The height follows
// from what there is to show, and the width may be more than was asked for, where less would cut words.
type Sized struct {
	Drawable
	Width, Height int
}

// Captioned is a chart with lines under it that say whose it is and from when,
// for where it leaves the page that says so.
func Captioned(s Sized, l Look, lines ...string) Sized {
	c, ok := s.Drawable.(chart.Chart)
	if !ok {
		return s
	}
	l = l.sane()
	m, size, pad := l.ruler(), l.small(), l.units(0.6)
	var broken []string
	for _, line := range lines {
		broken = append(broken, m.wrap(line, size, s.Width-2*pad)...)
	}
	more := lead(size)*len(broken) + pad
	y := s.Height
	s.Height += more
	c.Height += more
	c.Background.Padding.Bottom += more
	c.Elements = append(slices.Clone(c.Elements), func(r chart.Renderer, _ chart.Box, _ chart.Style) {
		b := brush{r, l, m}
		b.words(l.Ink, size, broken, pad, y+m.capHeight(size), false)
	})
	s.Drawable = c
	return s
}

// Spec is one chart, of one person's records between two days, both included.
type Spec struct {
	ID       string
	Title    model.Msg
	Draw     func(r finding.Result, from, to time.Time, w Words, l Look, width int) Sized
	Describe func(r finding.Result, from, to time.Time) model.Msg // what there is to see, for who cannot
}

// All lists the charts.
func All() []Spec {
	return []Spec{
		{
			ID: "pads", Title: model.T("chart.pads.title"),
			Draw: func(r finding.Result, from, to time.Time, w Words, l Look, width int) Sized {
				return Pads(timeline.Pads(r, from, to), w, l, width)
			},
			Describe: func(r finding.Result, from, to time.Time) model.Msg { return Describe(timeline.Pads(r, from, to)) },
		},
		egfrSpec(),
		acrSpec(),
		gridSpec(),
	}
}
