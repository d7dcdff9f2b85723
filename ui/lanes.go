package ui

import (
	"bytes"
	"image"
	"image/color"
	"image/draw"
	"image/png"
	"maps"
	"slices"
	"strings"
	"sync"
	"time"

	"fyne.io/fyne/v2"

	"quietwater/assets"
	"quietwater/charts"
	"quietwater/model"
	"quietwater/model/finding"
	"quietwater/model/household"
	"quietwater/model/timeline"
	"quietwater/ui/kit"
)

func laneID(k model.Kind, c model.Code) string { return string(k) + "/" + string(c) }

// hidden are the lanes that were put away. Before anybody chose, they are those
// that a household seldom looks at.
func (w *Window) hidden(id string) bool {
	chosen := w.house.State().Records.Settings[household.SetHidden]
	if chosen == "" {
		kind, code, _ := strings.Cut(id, "/")
		return kind == string(model.Lab) && !slices.Contains([]string{"egfr", "acr", "potassium"}, code) || id == laneID(model.Vital, "pulse")
	}
	return slices.Contains(strings.Fields(chosen), id)
}

// noneHidden stands in the setting where all lanes are shown.
const noneHidden = "-"

// lanesPage asks which lanes are shown.
func (w *Window) lanesPage(m household.Member) func() view {
	return func() view {
		k := w.kit
		v := view{title: model.T("timeline.lanes"), whose: &m.Person, back: w.backTo(w.goBack), body: []fyne.CanvasObject{k.Both(model.T("timeline.lanes-how"))}}
		hidden := map[string]bool{noneHidden: true}
		for _, id := range strings.Fields(w.house.State().Records.Settings[household.SetHidden]) { // of the others in the house too
			hidden[id] = true
		}
		for _, it := range model.Items() {
			if id := laneID(it.Kind, it.Code); w.hidden(id) {
				hidden[id] = true
			}
		}
		tick := func(id string, name model.Msg) {
			v.body = append(v.body, k.AtOnce().Check("lane-"+id, name, !hidden[id], func(on bool) {
				if hidden[id] = true; on {
					delete(hidden, id)
				}
				w.keep(household.Changes{Settings: map[string]string{household.SetHidden: strings.Join(slices.Sorted(maps.Keys(hidden)), " ")}})
			}))
		}
		for _, l := range timeline.Pads(m.Result, time.Time{}.AddDate(1, 0, 0), w.house.Now().AddDate(1, 0, 0)).Lanes {
			tick(laneID(model.Strip, l.Pad), padTitle(l.Pad))
		}
		for _, t := range w.tracksOf(m) {
			tick(laneID(t.Kind, t.Code), charts.TrackName(t))
		}
		return v
	}
}

// padChart shows the strip pads of a window of time, drawn beside the window's
// own work. It is laid out for the width of the page first, to know its height.
func (w *Window) padChart(whose model.Person, p timeline.Picture) fyne.CanvasObject {
	look := w.chartLook()
	return w.kit.ChartView(kit.AskChart{
		ID: "pads", Alt: charts.Describe(p), Height: w.padHeight(p),
		Save: func() {
			w.saveChart("timeline", model.T("screen.timeline"), w.captions(model.T("screen.timeline"), whose, p.From, p.To), func(l charts.Look, width int) charts.Sized { return charts.Pads(p, w.words, l, width) })
		},
		Tapped: func(x, y float32) {
			at, ok := w.placeIn(p, x, y)
			if m, known := w.member(); ok && known {
				day, row := tapped(timeline.Days([]finding.Result{m.Result}, p.From, p.To), at)
				w.open(w.oneDay(m, day, row))
			}
		},
		Turned: func(zoom bool, steps, x, y float32) { w.wheelOn(p, zoom, steps, x, y) },
		Draw: func(width, high int, scale float32) image.Image {
			paper, fit := w.drawPads(p, look, width, high, scale)
			if paper == nil {
				return nil
			}
			for _, f := range charts.PadsPhotos(p, w.words, look, int(float32(width)/scale)) {
				kit.Lay(paper, w.small(f.Entry), f.Frame, fit)
			}
			return paper
		},
	})
}

// drawPads draws the lanes without their photographs; nil where that fails. fit
// is how many pixels a unit took.
func (w *Window) drawPads(p timeline.Picture, look charts.Look, width, high int, scale float32) (paper draw.Image, fit float64) {
	c := charts.Pads(p, w.words, look, int(float32(width)/scale))
	return onPaper(c, width, high, scale, look), fitOn(c, width, high, scale)
}

// padHeight is how high the lanes will be, in units at scale 1.
func (w *Window) padHeight(p timeline.Picture) float32 {
	return float32(charts.Pads(p, w.words, w.chartLook(), w.pageWidth()).Height) / max(w.look.Scale, 1)
}

// wheelOn zooms or pans by a turn of the wheel at parts of the picture from its
// upper left corner.
func (w *Window) wheelOn(p timeline.Picture, zoom bool, steps, x, y float32) {
	m, ok := w.member()
	if !ok || w.task != nil { // what changed around a finding stays as it is
		return
	}
	first, now := w.firstOf(m), w.house.Now()
	at, on := w.placeIn(p, x, y)
	switch {
	case zoom && on: // what is under the pointer stays there
		w.see(w.span.ToAbout(map[bool]int{true: -1, false: 1}[steps > 0], at.When, first, now))
	case zoom && steps > 0:
		w.see(w.span.Closer(first, now))
	case zoom:
		w.see(w.span.Wider(first, now))
	case steps > 0:
		w.see(w.span.Pan(-wheelStep, first, now))
	default:
		w.see(w.span.Pan(wheelStep, first, now))
	}
}

// placeIn is what lies at parts of the picture from its upper left corner; ok is
// false beside the plot.
func (w *Window) placeIn(p timeline.Picture, x, y float32) (at charts.Place, ok bool) {
	width, look := w.pageWidth(), w.chartLook()
	c := charts.Pads(p, w.words, look, width)
	return charts.PadsAt(p, w.words, look, width, int(x*float32(max(width, c.Width))), int(y*float32(c.Height)))
}

// pageWidth is how wide a chart will be, as the window is now: to know its
// height before it is drawn.
func (w *Window) pageWidth() int {
	margins, usual := float32(56), float32(1224)
	if w.look.Scale <= railUpTo {
		margins, usual = 360, 880*w.look.Scale
	}
	if width := w.win.Canvas().Size().Width - margins; width > 200 {
		return int(width)
	}
	return int(usual)
}

// onPaper draws a chart into its place: with paper going on below where it is
// lower, a little smaller where it needs more room than was kept for it.
func onPaper(c charts.Sized, width, high int, scale float32, look charts.Look) draw.Image {
	img, err := charts.Image(c, look.Fonts, fitOn(c, width, high, scale))
	if err != nil {
		return nil
	}
	paper := image.NewRGBA(image.Rect(0, 0, width, high))
	draw.Draw(paper, paper.Bounds(), image.NewUniform(look.Paper), image.Point{}, draw.Src)
	draw.Draw(paper, img.Bounds(), img, image.Point{}, draw.Src)
	return paper
}

// fitOn is how many pixels a unit of a chart takes there.
func fitOn(c charts.Sized, width, high int, scale float32) float64 {
	return min(float64(scale), float64(width)/float64(max(c.Width, 1)), float64(high)/float64(max(c.Height, 1)))
}

// savedWidth is how wide a chart is kept, in units: as wide as a page of paper
// takes in type that can still be read.
const savedWidth = 1000

// captions are the lines under a chart that leaves the program: what it is and
// whose, from when to when, and when it was made, in each language shown. Where a
// chart is of no stretch of time, from is zero.
func (w *Window) captions(title model.Msg, whose model.Person, from, to time.Time) []string {
	said := []model.Msg{model.T("screen.of", "screen", title, "name", w.called(whose))}
	if !from.IsZero() {
		said = append(said, model.T("timeline.from-to", "from", model.OnDay(from), "to", model.OnDay(to)))
	}
	said = append(said, model.T("timeline.made", "when", model.OnDay(w.house.Now())))
	var out []string
	for _, tag := range []string{w.words.First(), w.words.Second()} {
		if tag != "" {
			var parts []string
			for _, m := range said {
				parts = append(parts, w.words.In(tag).T(m))
			}
			out = append(out, strings.Join(parts, " · "))
		}
	}
	return out
}

// saveChart keeps a chart as it would look on white paper, as a picture and as
// a drawing, with lines beneath, and opens the picture, which can be printed from
// there.
func (w *Window) saveChart(id string, title model.Msg, lines []string, draw func(charts.Look, int) charts.Sized) {
	look := chartLook(kit.New(w.words, kit.Look{Scale: 1}))
	name := w.words.T(title)
	var path string
	var err error
	w.beside(func() {
		c := charts.Captioned(draw(look, savedWidth), look, lines...)
		var flat, drawn bytes.Buffer
		if err = c.Render(charts.SVG(look.Fonts, name), &drawn); err != nil {
			return
		}
		var img image.Image
		if img, err = charts.Image(c, look.Fonts, 2); err != nil {
			return
		}
		if err = png.Encode(&flat, img); err == nil {
			path, err = w.house.SaveChart(id, flat.Bytes(), drawn.Bytes())
		}
	}, func() {
		if err != nil {
			w.fail(err)
			return
		}
		w.say(model.T("kit.chart-saved", "path", path), false)
		w.bar()
	})
}

// chartLook carries the page's look into a chart.
func (w *Window) chartLook() charts.Look {
	l := chartLook(w.kit)
	l.Size, l.Contrast = 20*float64(max(w.look.Scale, 1)), w.look.Ink == kit.HighContrast
	return l
}

// chartFonts are read once; the large typeface only for the first Chinese text.
var chartFonts = sync.OnceValue(func() charts.Fonts {
	fonts := parsed(assets.FontRegular, assets.FontBold)
	fonts.Chinese = sync.OnceValue(func() charts.Fonts { return parsed(assets.HanRegular, assets.HanBold) })
	return fonts
})

func parsed(regular, bold []byte) charts.Fonts {
	fonts, err := charts.ParseFonts(regular, bold)
	if err != nil {
		panic(err) // the embedded fonts: a programmer's error, caught by a test
	}
	return fonts
}

// chartLook is a kit's colours at its smallest size.
func chartLook(k *kit.Kit) charts.Look {
	p := k.Palette()
	c := func(n color.NRGBA) color.RGBA { return color.RGBA(n) }
	return charts.Look{Paper: c(p.Card), Ink: c(p.Ink), Muted: c(p.Muted), Line: c(p.Line), Water: c(p.Water), Soft: c(p.Soft),
		Amber: c(p.Amber), Fonts: chartFonts(), Size: 20}
}
