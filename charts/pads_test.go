package charts

import (
	"bytes"
	"fmt"
	"image"
	"image/color"
	"image/draw"
	"image/png"
	"math"
	"math/rand/v2"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/BurntSushi/toml"
	"github.com/wcharczuk/go-chart/v2"
	"github.com/wcharczuk/go-chart/v2/drawing"

	"quietwater/assets"
	"quietwater/i18n"
	"quietwater/model"
	"quietwater/model/finding"
	"quietwater/model/strip"
	"quietwater/model/timeline"
)

func rgb(v uint32) color.RGBA { return color.RGBA{uint8(v >> 16), uint8(v >> 8), uint8(v), 0xff} }

// looks are the colours of our pages.
func looks(t testing.TB) map[string]Look {
	t.Helper()
	fonts, err := ParseFonts(assets.HanRegular, assets.HanBold)
	if err != nil {
		t.Fatal(err)
	}
	all := map[string]Look{
		"light":    {Paper: rgb(0xFBFAF6), Ink: rgb(0x16242E), Muted: rgb(0x44555F), Line: rgb(0x73848E), Water: rgb(0x0A4F70), Soft: rgb(0xDCEAF1), Amber: rgb(0xE69F00)},
		"dark":     {Paper: rgb(0x10191F), Ink: rgb(0xF2F5F4), Muted: rgb(0xB9C6CC), Line: rgb(0x8496A0), Water: rgb(0x8CC7E8), Soft: rgb(0x1F3B4A), Amber: rgb(0xF0B429)},
		"contrast": {Paper: rgb(0xFFFFFF), Ink: rgb(0), Muted: rgb(0), Line: rgb(0), Water: rgb(0), Soft: rgb(0xFFFFFF), Amber: rgb(0xE69F00), Contrast: true},
	}
	for name, l := range all {
		l.Fonts, l.Size = fonts, 20
		all[name] = l
	}
	return all
}

// english is the words of the golden files: our own texts, and names that do not change with others'.
func english(t testing.TB) spoken {
	s := spoken{}
	for k, v := range lines(t, "en") {
		if strings.HasPrefix(k, "chart.") {
			s[k] = v
		}
	}
	for k, v := range map[string]string{
		"name.strip.leukocytes": "white blood cells (leukocytes)", "name.strip.nitrite": "nitrite",
		"name.strip.protein": "protein", "name.strip.ph": "acidity (pH)", "name.strip.blood": "blood",
		"name.strip.specific-gravity": "concentration (specific gravity)", "name.strip.ketones": "ketones",
		"name.strip.glucose": "sugar (glucose)",
		"grade.neg":          "neg (negative)", "grade.trace": "trace", "grade.1plus": "1+ (one plus)",
		"grade.2plus": "2+", "grade.3plus": "3+", "grade.4plus": "4+", "grade.pos": "pos (positive)",
		"urgency.note.when": "Good to know", "urgency.retest.when": "Test again", "urgency.mention.when": "Tell your doctor at the next visit",
		"urgency.soon.when": "See a doctor within {{.n}} days: ring now", "urgency.today.when": "Call today, nights and weekends too",
		"urgency.emergency.when": "Get help now",
	} {
		s[k] = v
	}
	return s
}

// lines is the flat table of texts of one language, a plural form taken for all.
func lines(t testing.TB, lang string) map[string]string {
	t.Helper()
	out := map[string]string{}
	files, err := filepath.Glob("../i18n/text/" + lang + "/*.toml")
	if err != nil || files == nil {
		t.Fatalf("no texts: %v", err)
	}
	for _, f := range files {
		if b := filepath.Base(f); b != "charts.toml" && b != "urgency.toml" && b != "names.toml" && b != "numbers.toml" {
			continue
		}
		var m map[string]any
		if _, err := toml.DecodeFile(f, &m); err != nil {
			t.Fatalf("%s: %v", f, err)
		}
		for k, v := range m {
			switch v := v.(type) {
			case string:
				out[k] = v
			case map[string]any:
				out[k], _ = v["other"].(string)
				out[k+"#one"], _ = v["one"].(string)
			}
		}
	}
	return out
}

// spoken says the texts of one language the plainest way.
type spoken map[string]string

func (s spoken) T(m model.Msg) string {
	text, ok := s[m.Key]
	if one := s[m.Key+"#one"]; one != "" && m.Args["n"] == 1 {
		text = one
	}
	if !ok {
		return "?" + m.Key
	}
	for k, v := range m.Args {
		text = strings.ReplaceAll(text, "{{."+k+"}}", s.arg(v))
	}
	return text
}

func (s spoken) arg(v any) string {
	switch v := v.(type) {
	case model.Msg:
		return s.T(v)
	case []model.Msg:
		var all []string
		for _, m := range v {
			all = append(all, s.T(m))
		}
		return strings.Join(all, ", ")
	case model.Code:
		return s.Name(model.Strip, v)
	case model.Grade:
		return s.Grade(v)
	case model.When:
		return s.Date(v)
	case model.Quantity:
		return strings.TrimSpace(v.Typed + " " + s.Unit(v.UCUM))
	}
	return fmt.Sprint(v)
}

func (s spoken) Name(k model.Kind, c model.Code) string {
	n := s["name."+string(k)+"."+string(c)]
	if n == "" {
		return string(c)
	}
	return strings.ToUpper(n[:1]) + n[1:]
}
func (s spoken) Value(k model.Kind, v model.Value) string {
	if k == model.Symptom {
		return s.T(model.T("severity." + v.Text()))
	}
	return v.Text()
}
func (s spoken) Grade(g model.Grade) string {
	return s["grade."+strings.ReplaceAll(g.String(), "+", "plus")]
}
func (s spoken) Number(typed string) string { return typed }
func (s spoken) Unit(ucum string) string    { return strings.Trim(ucum, "{}[]SGpH") }
func (s spoken) Date(w model.When) string   { return w.Time().Format("2 January 2006") }
func (s spoken) Clock(t time.Time) string   { return t.Format("15:04") }
func (s spoken) DateShort(w model.When) string {
	if w.IsZero() {
		return "no date"
	}
	return w.Time().Format("2 Jan 2006")
}

// The household's languages say what charts need said.
var _ Words = (*i18n.Pair)(nil)

var start = time.Date(2024, 3, 4, 0, 0, 0, 0, time.UTC)

// readings is a book of n tests over so many days, always the same one: all pads, every grade, doubts,
// readings that were not judged, a pause, and findings of every urgency.
func readings(n, days int) timeline.Picture {
	rnd := rand.New(rand.NewPCG(7, uint64(n)))
	p := timeline.Picture{From: start, To: start.AddDate(0, 0, days-1)}
	for _, code := range []model.Code{model.Leukocytes, model.Nitrite, model.Protein, model.PH, model.Blood, model.SpecificGravity, model.Ketones, model.Glucose} {
		p.Lanes = append(p.Lanes, timeline.Lane{Pad: code})
	}
	for i := range n {
		day := float64(days) * (float64(i) + 0.5) / float64(n)
		if n > 20 && day > float64(days)*0.4 && day < float64(days)*0.55 {
			continue
		}
		when := model.At(start.Add(time.Duration(day * 24 * float64(time.Hour))))
		for k := range p.Lanes {
			l := &p.Lanes[k]
			c := timeline.Cell{When: when, Standing: strip.Counts, Value: model.Value{Code: l.Pad}}
			switch l.Pad {
			case model.PH:
				c.Value.Number = 5 + 0.5*float64(rnd.IntN(7))
			case model.SpecificGravity:
				c.Value.Number = float64(1000+5*rnd.IntN(7)) / 1000
				c.Value.Typed = fmt.Sprintf("%.3f", c.Value.Number)
			case model.Nitrite:
				c.Grade = []model.Grade{model.Neg, model.Neg, model.Pos}[rnd.IntN(3)]
				c.Value.Grade = c.Grade
			case model.Glucose:
				c.Value.Number = []float64{0, 50, 100, 250, 500}[rnd.IntN(5)]
				c.Grade, _ = model.UsualGrade(l.Pad, c.Value)
			default:
				c.Grade = model.Grade(1 + min(i+k, rnd.IntN(6)))
				c.Value.Grade = c.Grade
			}
			switch rnd.IntN(9) {
			case 0:
				c.Standing = strip.NotJudged
			case 1:
				c.Standing = strip.Standing(1 + rnd.IntN(2))
			}
			l.Cells = append(l.Cells, c)
		}
	}
	for i, u := range finding.Urgencies() {
		if n > 0 && i < n*3 {
			f := finding.Finding{Urgency: u, Days: 2}
			p.Marks = append(p.Marks, timeline.Mark{When: model.OnDay(start.AddDate(0, 0, days*(i+1)/8)), Urgency: u, Days: 2, Title: model.T("x"), HowSoon: f.HowSoon(), Answered: u == finding.Mention})
		}
	}
	return p
}

// tracked adds what stands under the pads, always the same: numbers that lie close, far apart and alone,
// pairs, amounts against a limit, symptoms, and what lasted.
func tracked(p timeline.Picture, days int) timeline.Picture {
	rnd := rand.New(rand.NewPCG(11, uint64(days)))
	at := func(day float64) model.When { return model.At(start.Add(time.Duration(day * 24 * float64(time.Hour)))) }
	number := func(kind model.Kind, code model.Code, unit string, joined, every, lo, hi float64) {
		t := timeline.Track{Kind: kind, Code: code, Unit: unit, Joined: joined}
		for d := every / 2; d < float64(days); d += every * (0.5 + rnd.Float64()) {
			n := math.Round(lo + (hi-lo)*rnd.Float64())
			pt := timeline.Point{When: at(d), Lo: n, Hi: n, Typed: model.FormatNumber(n)}
			if code == timeline.Pressure {
				pt.Lo = n - 50
				pt.Typed = model.FormatNumber(pt.Hi) + "/" + model.FormatNumber(pt.Lo)
			}
			t.Points = append(t.Points, pt)
		}
		if kind == model.Fluid {
			t.Limit = 1500
		}
		p.Tracks = append(p.Tracks, t)
	}
	number(model.Lab, "egfr", "mL/min/{1.73_m2}", 400, 40, 20, 70)
	number(model.Lab, "acr", "mg/g", 400, 90, 20, 900)
	number(model.Vital, timeline.Pressure, "mm[Hg]", 10, 2, 110, 180)
	number(model.Vital, "weight", "kg", 20, 1, 70, 76)
	number(model.Fluid, "drink", "mL", 0, 1, 400, 2100)
	number(model.Vital, "temperature", "Cel", 10, float64(days), 36, 40)
	for _, code := range []model.Code{"ankle-swelling", "passing-none"} {
		t := timeline.Track{Kind: model.Symptom, Code: code}
		for d := 3.0; d < float64(days); d += float64(days) / 12 {
			n := float64(rnd.IntN(4))
			t.Points = append(t.Points, timeline.Point{When: at(d), Lo: n, Hi: n, Typed: model.FormatNumber(n)})
		}
		p.Tracks = append(p.Tracks, t)
	}
	d := float64(days)
	p.Tracks = append(p.Tracks,
		timeline.Track{Kind: model.Medicine, Code: "diuretic", Spans: []timeline.Span{{To: at(d / 5)}, {From: at(d / 3), To: at(d / 2)}, {From: at(0.9 * d), To: at(d - 1), Open: true}}},
		timeline.Track{Kind: model.Condition, Code: "diabetes", Spans: []timeline.Span{{From: at(-400), To: at(d - 1), Open: true}}})
	p.Chosen = at(d / 3)
	return p
}

func flat(n, days int) timeline.Picture {
	p := readings(n, days)
	for i := range p.Lanes {
		for j := range p.Lanes[i].Cells {
			c := p.Lanes[i].Cells[0]
			c.When, c.Standing = p.Lanes[i].Cells[j].When, strip.Counts
			p.Lanes[i].Cells[j] = c
		}
	}
	return p
}

var pictures = []struct {
	name string
	of   timeline.Picture
}{
	{"none", timeline.Picture{From: start, To: start.AddDate(0, 3, 0)}},
	{"one", readings(1, 30)},
	{"two", readings(2, 60)},
	{"flat", flat(30, 120)},
	{"month", readings(9, 31)},
	{"few", readings(30, 90)},
	{"year", readings(400, 365)},
	{"five-years", readings(5*365, 5*365)},
	{"courses", tracked(readings(9, 60), 60)},
	{"courses-only", tracked(readings(0, 400), 400)},
	{"courses-ten-years", tracked(readings(40, 3650), 3650)},
}

// TestLookAtPads writes pictures for people where the environment asks for them, the light ones in grey too.
func TestLookAtPads(t *testing.T) {
	dir := os.Getenv("LOOK_AT")
	if dir == "" {
		t.Skip("LOOK_AT names no folder")
	}
	save := func(name string, img image.Image) {
		var b bytes.Buffer
		if err := png.Encode(&b, img); err != nil {
			t.Fatal(err)
		}
		if err := os.WriteFile(filepath.Join(dir, name+".png"), b.Bytes(), 0o644); err != nil {
			t.Fatal(err)
		}
	}
	for name, l := range looks(t) {
		for _, c := range pictures {
			for _, lang := range []string{"en", "es"} {
				for _, size := range []float64{20, 40} {
					for _, width := range []int{700, 1000} {
						l.Size = size
						img, err := Image(Pads(c.of, spoken(lines(t, lang)), l, width), l.Fonts, 1)
						if err != nil {
							t.Fatal(err)
						}
						file := fmt.Sprintf("%s-%s-%s-%v-%d", c.name, name, lang, size, width)
						save(file, img)
						grey := image.NewGray(img.Rect)
						draw.Draw(grey, grey.Rect, img, image.Point{}, draw.Src)
						if name == "light" {
							save(file+"-grey", grey)
						}
					}
				}
			}
		}
	}
}

// witness notes what a chart draws, and where.
type witness struct {
	chart.Renderer
	l             Look
	size, width   float64
	ink, stroke   drawing.Color
	path          image.Rectangle
	began         bool
	words, shapes []drawn
	strokes, inks map[drawing.Color]bool
	pen           image.Point
	trail         []box4  // straight pieces of the path
	strokedLines  []drawn // straight pieces of lines, x0 y0 x1 y1
	order         int
}

type drawn struct {
	what  string
	at    image.Rectangle
	order int // what was drawn before has less
}

func (w *witness) SetFontColor(c drawing.Color)   { w.ink = c; w.Renderer.SetFontColor(c) }
func (w *witness) SetFontSize(s float64)          { w.size = s; w.Renderer.SetFontSize(s) }
func (w *witness) SetStrokeColor(c drawing.Color) { w.stroke = c; w.Renderer.SetStrokeColor(c) }
func (w *witness) SetStrokeWidth(v float64)       { w.width = v; w.Renderer.SetStrokeWidth(v) }
func (w *witness) MoveTo(x, y int) {
	w.to(x, y, 0)
	w.pen = image.Pt(x, y)
	w.Renderer.MoveTo(x, y)
}
func (w *witness) LineTo(x, y int) {
	w.to(x, y, 0)
	w.trail = append(w.trail, box4{w.pen.X, w.pen.Y, x, y})
	w.pen = image.Pt(x, y)
	w.Renderer.LineTo(x, y)
}
func (w *witness) QuadCurveTo(cx, cy, x, y int) {
	w.to(cx, cy, 0)
	w.to(x, y, 0)
	w.trail = append(w.trail, box4{w.pen.X, w.pen.Y, cx, cy}, box4{cx, cy, x, y})
	w.pen = image.Pt(x, y)
	w.Renderer.QuadCurveTo(cx, cy, x, y)
}
func (w *witness) Circle(r float64, x, y int) {
	w.to(x, y, int(math.Ceil(r)))
	w.Renderer.Circle(r, x, y)
}
func (w *witness) Fill()       { w.done("fill", false); w.Renderer.Fill() }
func (w *witness) Stroke()     { w.done("stroke", true); w.Renderer.Stroke() }
func (w *witness) FillStroke() { w.done("shape", true); w.Renderer.FillStroke() }

func (w *witness) to(x, y, r int) {
	box := image.Rect(x-r, y-r, x+r, y+r)
	if !w.began {
		w.path, w.began = box, true
		return
	}
	// image.Rectangle.Union forgets empty boxes, which points are.
	w.path.Min.X, w.path.Min.Y = min(w.path.Min.X, box.Min.X), min(w.path.Min.Y, box.Min.Y)
	w.path.Max.X, w.path.Max.Y = max(w.path.Max.X, box.Max.X), max(w.path.Max.Y, box.Max.Y)
}

func (w *witness) done(what string, stroked bool) {
	if w.began {
		w.order++
		w.shapes = append(w.shapes, drawn{what, w.path, w.order})
		for _, l := range w.trail {
			if stroked && w.stroke.A > 0 && w.width > 0 {
				w.strokedLines = append(w.strokedLines, drawn{what, image.Rectangle{image.Pt(l.x0, l.y0), image.Pt(l.x1, l.y1)}, w.order})
			}
		}
		w.trail = w.trail[:0]
		if stroked && w.stroke.A > 0 && w.width > 0 {
			w.strokes[w.stroke] = true
		}
	}
	w.began = false
}

func (w *witness) Text(body string, x, y int) {
	e := w.l.Fonts.Extent(body, w.size, false)
	w.order++
	w.words = append(w.words, drawn{body, image.Rect(x, y-int(e.CapHeight), x+int(e.Advance), y+int(e.Descent)), w.order})
	w.inks[w.ink] = true
	if w.size < 0.85*w.l.Size-1e-9 {
		w.words = append(w.words, drawn{"TOO SMALL " + body, image.Rect(-9, 0, 0, 9), w.order})
	}
	w.Renderer.Text(body, x, y)
}

func watch(t *testing.T, s Sized, l Look) *witness {
	t.Helper()
	w := &witness{l: l, strokes: map[drawing.Color]bool{}, inks: map[drawing.Color]bool{}}
	var b bytes.Buffer
	if err := s.Render(func(x, y int) (chart.Renderer, error) {
		if x != s.Width || y != s.Height {
			t.Errorf("the chart is %d by %d, and says %d by %d", x, y, s.Width, s.Height)
		}
		r, err := SVG(l.Fonts, "")(x, y)
		w.Renderer = r
		return w, err
	}, &b); err != nil {
		t.Fatal(err)
	}
	wellFormed(t, b.Bytes())
	if _, err := Image(s, l.Fonts, 1); err != nil {
		t.Fatal(err)
	}
	return w
}

func contrast(a, b color.RGBA) float64 {
	light := func(c color.RGBA) float64 {
		f := func(v uint8) float64 {
			s := float64(v) / 255
			if s <= 0.04045 {
				return s / 12.92
			}
			return math.Pow((s+0.055)/1.055, 2.4)
		}
		return 0.2126*f(c.R) + 0.7152*f(c.G) + 0.0722*f(c.B)
	}
	x, y := light(a), light(b)
	return (max(x, y) + 0.05) / (min(x, y) + 0.05)
}

func TestPadsKeepEverythingApartAndInside(t *testing.T) {
	if testing.Short() {
		t.Skip("every dressing takes minutes under the race detector")
	}
	texts := map[string]spoken{"en": lines(t, "en"), "es": lines(t, "es")}
	for name, l := range looks(t) {
		for _, c := range pictures {
			for lang, words := range texts {
				for _, size := range []float64{20, 25, 40} {
					for _, width := range []int{-1, 320, 700, 1000, 2000} {
						l.Size = size
						s := Pads(c.of, words, l, width)
						if width >= 700 && s.Width != width && size < 40 {
							t.Errorf("%s: asked for %d wide, is %d", c.name, width, s.Width)
						}
						if left := s.Drawable.(chart.Chart).Background.Padding.Left; width >= 700 && size < 40 && left*100 > 35*width {
							t.Errorf("%s: the names take %d of %d", c.name, left, width)
						}
						t.Run(fmt.Sprint(name, " ", c.name, " ", lang, " ", size, " ", width), func(t *testing.T) {
							apart(t, watch(t, s, l), image.Rect(0, 0, s.Width, s.Height))
						})
					}
				}
			}
		}
	}
}

func apart(t *testing.T, w *witness, paper image.Rectangle) {
	t.Helper()
	for i, a := range w.words {
		if strings.ContainsAny(a.what, "…⟦?") && !strings.HasSuffix(a.what, "?") {
			t.Errorf("cut or missing words: %q", a.what)
		}
		if !a.at.In(paper) {
			t.Errorf("%q at %v is outside %v", a.what, a.at, paper)
		}
		for _, b := range w.words[i+1:] {
			if a.at.Overlaps(b.at) {
				t.Errorf("%q at %v and %q at %v overlap", a.what, a.at, b.what, b.at)
			}
		}
		for _, s := range w.shapes {
			if grown := s.at.Inset(-1); a.at.Overlaps(grown) && !a.at.In(s.at) {
				t.Errorf("%q at %v is crossed by a %s at %v", a.what, a.at, s.what, s.at)
			}
		}
	}
	for _, s := range w.shapes {
		if !s.at.In(paper) && !s.at.Empty() {
			t.Errorf("a %s at %v is outside %v", s.what, s.at, paper)
		}
	}
}

func TestPadsCanBeSeen(t *testing.T) {
	for name, l := range looks(t) {
		w := watch(t, Pads(readings(9, 31), english(t), l, 1000), l)
		for _, ground := range []color.RGBA{l.Paper, l.Soft} {
			for c := range w.strokes {
				if r := contrast(color.RGBA{c.R, c.G, c.B, c.A}, ground); r < 3 {
					t.Errorf("%s: stroke %v on %v has a contrast of %.2f, want 3", name, c, ground, r)
				}
			}
			for c := range w.inks {
				if r := contrast(color.RGBA{c.R, c.G, c.B, c.A}, ground); r < 4.5 {
					t.Errorf("%s: words in %v on %v have a contrast of %.2f, want 4.5", name, c, ground, r)
				}
			}
		}
	}
}

// In grey every grade is darker (in the dark look lighter) than the one below, and every standing differs.
func TestPadsKeepTheirOrderInGrey(t *testing.T) {
	for name, l := range looks(t) {
		far := func(g model.Grade, s strip.Standing) float64 {
			sketch := func(r chart.Renderer) {
				c := &padChart{look: l, m: l.ruler()}
				b := brush{r, l, c.m}
				b.fill(l.Paper, 0, 0, 40, 40)
				if s == strip.NotJudged {
					padSeries{c}.drawNotJudged(b, 5, 5, 30)
				} else {
					padSeries{c}.drawCell(b, timeline.Cell{Grade: g, Standing: s}, 5, 5, 30)
				}
			}
			img := sketchOn(t, l, sketch)
			var sum float64
			ground := color.GrayModel.Convert(l.Paper).(color.Gray).Y
			for y := range 40 {
				for x := range 40 {
					sum += math.Abs(float64(color.GrayModel.Convert(img.At(x, y)).(color.Gray).Y) - float64(ground))
				}
			}
			return sum / 900 // of the cell
		}
		for _, s := range []strip.Standing{strip.Counts, strip.Doubtful} {
			last := -1.0
			for g := model.Neg; g <= model.Plus4; g++ {
				v := far(g, s)
				if v < last+5 {
					t.Errorf("%s: %v (%.1f) cannot be told from the grade below (%.1f)", name, g, v, last)
				}
				last = v
			}
		}
		if math.Abs(far(model.Neg, strip.Counts)-far(model.Neg, strip.NotJudged)) < 2 {
			t.Errorf("%s: an empty cell looks like one not judged", name)
		}
	}
}

func sketchOn(t *testing.T, l Look, s sketch) *image.RGBA {
	t.Helper()
	r, err := Raster(l.Fonts, 1)(40, 40)
	if err != nil {
		t.Fatal(err)
	}
	s(r)
	var got collector
	if err := r.Save(&got); err != nil {
		t.Fatal(err)
	}
	return got.img
}

func TestPadsChooseWhatIsShown(t *testing.T) {
	at := func(d int) model.When { return model.OnDay(start.AddDate(0, 0, d)) }
	cell := func(d int, g model.Grade, s strip.Standing) timeline.Cell {
		return timeline.Cell{When: at(d), Grade: g, Standing: s, Value: model.Value{Code: model.Protein, Grade: g}}
	}
	gravity := func(d int, v float64, typed string) timeline.Cell {
		return timeline.Cell{When: at(d), Standing: strip.Counts, Value: model.Value{Code: model.SpecificGravity, Number: v, Typed: typed}}
	}
	unit := func(n float64, u string) timeline.Cell {
		return timeline.Cell{When: at(1), Standing: strip.Counts, Grade: model.Plus1, Value: model.Value{Code: model.Protein, Number: n, Unit: u}}
	}
	other := unit(0.3, "g/L")
	other.When = at(20)
	for _, c := range []struct {
		name  string
		days  int
		cells []timeline.Cell
		want  []string
		not   []string
	}{
		{"close together the highest wins", 365, []timeline.Cell{cell(1, model.Trace, strip.Counts), cell(2, model.Plus3, strip.Counts), cell(3, model.Neg, strip.Counts)}, []string{"3+", "3"}, []string{"trace", "neg"}},
		{"a doubtful one wins with its doubt", 365, []timeline.Cell{cell(1, model.Plus1, strip.Counts), cell(2, model.Plus3, strip.RetestOnly)}, []string{"3+\u00a0?", "2"}, []string{"1+"}},
		{"equal grades show the surer one", 365, []timeline.Cell{cell(1, model.Plus1, strip.Doubtful), cell(2, model.Plus1, strip.Counts)}, []string{"1+"}, []string{"1+\u00a0?"}},
		{"what was not judged gives way", 365, []timeline.Cell{cell(1, model.Plus4, strip.NotJudged), cell(2, model.Neg, strip.Counts)}, []string{"neg"}, []string{"4+", "judged"}},
		{"alone it says so", 31, []timeline.Cell{cell(1, model.Plus4, strip.NotJudged)}, []string{"not", "judged"}, []string{"4+"}},
		{"unclear is not judged", 31, []timeline.Cell{cell(1, model.Unclear, strip.NotJudged)}, []string{"not", "judged"}, nil},
		{"numbers show both ends", 365, []timeline.Cell{gravity(1, 1.01, "1.010"), gravity(2, 1.03, "1.030"), gravity(3, 1.02, "1.020")}, []string{"1.030", "1.010"}, []string{"1.020"}},
		{"far apart each stands alone", 31, []timeline.Cell{cell(1, model.Trace, strip.Counts), cell(15, model.Plus2, strip.Counts)}, []string{"trace", "2+"}, []string{"Tests"}},
		{"two units are both named", 31, []timeline.Cell{unit(30, "mg/dL"), other}, []string{"30", "mg/dL", "0.3", "g/L"}, nil},
		{"outside is left out", 31, []timeline.Cell{cell(400, model.Plus4, strip.Counts), cell(-1, model.Plus3, strip.Counts)}, nil, []string{"4+", "3+", "protein"}},
	} {
		t.Run(c.name, func(t *testing.T) {
			l := looks(t)["light"]
			p := timeline.Picture{From: start, To: start.AddDate(0, 0, c.days-1), Lanes: []timeline.Lane{{Pad: c.cells[0].Value.Code, Cells: c.cells}}}
			w := watch(t, Pads(p, english(t), l, 700), l)
			var said []string
			for _, d := range w.words {
				said = append(said, d.what)
			}
			for _, s := range c.want {
				if !slices.Contains(said, s) {
					t.Errorf("%q is not shown: %q", s, said)
				}
			}
			for _, s := range c.not {
				if slices.Contains(said, s) {
					t.Errorf("%q is shown: %q", s, said)
				}
			}
		})
	}
}

// A line is never drawn over a pause of more than 14 days.
func TestPadsBreakTheLineAtAPause(t *testing.T) {
	l := looks(t)["light"]
	for _, c := range []struct {
		pause int
		whole bool
	}{{14, true}, {15, false}} {
		p := timeline.Picture{From: start, To: start.AddDate(0, 0, 60), Lanes: []timeline.Lane{{Pad: model.PH}}}
		for _, d := range []int{10, 10 + c.pause} {
			p.Lanes[0].Cells = append(p.Lanes[0].Cells, timeline.Cell{
				When: model.OnDay(start.AddDate(0, 0, d)), Standing: strip.Counts, Value: model.Value{Code: model.PH, Number: 6}})
		}
		s := Pads(p, english(t), l, 1000)
		img, err := Image(s, l.Fonts, 1)
		if err != nil {
			t.Fatal(err)
		}
		longest := 0
		for y := range s.Height {
			run := 0
			for x := range s.Width {
				if img.RGBAAt(x, y) == l.Water {
					run++
					longest = max(longest, run)
				} else {
					run = 0
				}
			}
		}
		if whole := longest > 50; whole != c.whole {
			t.Errorf("a pause of %d days: joined is %v, want %v (%d)", c.pause, whole, c.whole, longest)
		}
	}
}

func TestPadsTakeAnything(t *testing.T) {
	l := looks(t)["light"]
	odd := timeline.Cell{When: model.OnDay(start), Standing: strip.Counts, Value: model.Value{Code: model.PH, Number: math.NaN()}}
	huge := timeline.Cell{When: model.OnDay(start), Standing: strip.Counts, Value: model.Value{Code: "unheard-of", Number: math.MaxFloat64, Typed: strings.Repeat("9", 80)}}
	tiny := huge
	tiny.Value.Number = -math.MaxFloat64
	for name, p := range map[string]timeline.Picture{
		"zero":        {},
		"backwards":   {From: start.AddDate(1, 0, 0), To: start},
		"no days":     {Lanes: readings(3, 30).Lanes, Marks: readings(3, 30).Marks},
		"one day":     {From: start, To: start, Lanes: readings(3, 1).Lanes, Marks: readings(3, 1).Marks},
		"odd numbers": {From: start, To: start, Lanes: []timeline.Lane{{Pad: model.PH, Cells: []timeline.Cell{odd}}, {Pad: "unheard-of", Cells: []timeline.Cell{huge, tiny}}}},
		"undated":     {From: start, To: start, Lanes: []timeline.Lane{{Pad: model.PH, Cells: []timeline.Cell{{}}}}, Marks: []timeline.Mark{{Urgency: 99}, {When: model.OnDay(start), Urgency: 99}, {When: model.OnDay(start), Urgency: -5}}},
		"centuries":   {From: time.Date(1800, 1, 1, 0, 0, 0, 0, time.UTC), To: time.Date(9000, 1, 1, 0, 0, 0, 0, time.UTC), Lanes: readings(3, 30).Lanes},
		"empty lane":  {From: start, To: start, Lanes: []timeline.Lane{{Pad: model.PH}}},
	} {
		t.Run(name, func(t *testing.T) {
			for _, width := range []int{-5, 0, 1, 700} {
				for _, size := range []float64{0, -1, math.NaN(), 20} {
					l := l
					l.Size = size
					s := Pads(p, english(t), l, width)
					w := watch(t, s, l.sane())
					apart(t, w, image.Rect(0, 0, s.Width, s.Height))
				}
			}
			_ = Describe(p)
		})
	}
	if _, err := Image(Pads(readings(3, 30), english(t), Look{}, 700), Fonts{}, 1); err == nil {
		t.Error("no typeface, and no word about it")
	}
}

func TestDescribe(t *testing.T) {
	for _, c := range []struct {
		of   timeline.Picture
		want string
	}{
		{timeline.Picture{From: start, To: start.AddDate(0, 1, 0)}, "No strip readings from 4 March 2024 to 4 April 2024."},
		{timeline.Picture{From: start, To: start.AddDate(0, 0, 1).Add(-time.Second)}, "No strip readings on 4 March 2024."},
		{readings(1, 1), "1 strip test on 4 March 2024. White blood cells (leukocytes): highest "},
		{readings(1, 30), "1 strip test from 4 March 2024 to 2 April 2024. White blood cells (leukocytes): highest "},
		{readings(9, 31), ", 6 findings."},
	} {
		if got := english(t).T(Describe(c.of)); !strings.Contains(got, c.want) || strings.Contains(got, "{{") || strings.Contains(got, "?") {
			t.Errorf("got %q, want %q in it", got, c.want)
		}
	}
}

// TestChartsWhole names what a chart lacks: texts in a language, an id of its own, a golden file in each
// look that is small.
func TestChartsWhole(t *testing.T) {
	used := map[string]bool{}
	files, _ := filepath.Glob("*.go")
	for _, f := range files {
		b, err := os.ReadFile(f)
		if err != nil || strings.HasSuffix(f, "_test.go") {
			continue
		}
		for _, k := range regexp.MustCompile(`"(chart\.[a-z0-9.-]+)"`).FindAllSubmatch(b, -1) {
			used[string(k[1])] = true
		}
	}
	places := regexp.MustCompile(`\{\{\.\w+\}\}`)
	first := lines(t, "en")
	folders, _ := filepath.Glob("../i18n/text/*")
	for _, dir := range folders {
		lang := filepath.Base(dir)
		texts := lines(t, lang)
		for k := range used {
			a, b := places.FindAllString(first[k], -1), places.FindAllString(texts[k], -1)
			slices.Sort(a)
			slices.Sort(b)
			if texts[k] == "" || !slices.Equal(a, b) {
				t.Errorf("%s: the text of %q is %q, with placeholders %v, want %v", lang, k, texts[k], b, a)
			}
		}
		for k := range texts {
			if k = strings.TrimSuffix(k, "#one"); strings.HasPrefix(k, "chart.") && !used[k] {
				t.Errorf("%s: nothing says %q", lang, k)
			}
		}
	}
	ids := map[string]bool{}
	for _, s := range All() {
		if s.ID == "" || ids[s.ID] || first[s.Title.Key] == "" || s.Draw == nil || s.Describe == nil {
			t.Errorf("chart %q lacks an id of its own, a title, or what draws or describes it", s.ID)
		}
		ids[s.ID] = true
		for name := range looks(t) {
			for _, data := range []string{"none", "one", "two", "flat", "five-years"} {
				info, err := os.Stat(filepath.Join("testdata", s.ID+"-"+data+"-"+name+".svg"))
				if err != nil {
					t.Errorf("chart %q: %v", s.ID, err)
				} else if info.Size() >= 200_000 {
					t.Errorf("chart %q: %s has %d bytes, want under 200,000", s.ID, info.Name(), info.Size())
				}
			}
		}
	}
}

func TestPadsGolden(t *testing.T) {
	for name, l := range looks(t) {
		for _, c := range pictures {
			if c.name == "month" || c.name == "few" || c.name == "year" {
				continue
			}
			file := filepath.Join("testdata", "pads-"+c.name+"-"+name+".svg")
			words := english(t)
			got := render(t, Pads(c.of, words, l, 1000), SVG(l.Fonts, words.T(model.T("chart.pads.title"))))
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

// The floor is filling an image of the same size with one colour.
func BenchmarkPads(b *testing.B) {
	l, words := looks(b)["light"], english(b)
	for _, c := range pictures {
		s := Pads(c.of, words, l, 1000)
		b.Run(c.name+"/lay-out", func(b *testing.B) {
			for range b.N {
				Pads(c.of, words, l, 1000)
			}
		})
		b.Run(c.name+"/draw", func(b *testing.B) {
			for range b.N {
				if _, err := Image(s, l.Fonts, 1); err != nil {
					b.Fatal(err)
				}
			}
		})
		b.Run(c.name+"/floor", func(b *testing.B) {
			for range b.N {
				img := image.NewRGBA(image.Rect(0, 0, s.Width, s.Height))
				draw.Draw(img, img.Rect, image.NewUniform(l.Paper), image.Point{}, draw.Src)
			}
		})
	}
}

// TestMarksSayWhatTheListSays: under a gauge stand the words of the finding itself; of several, those of the
// most urgent that nobody has answered.
func TestMarksSayWhatTheListSays(t *testing.T) {
	mark := func(u finding.Urgency, days int, answered bool) timeline.Mark {
		f := finding.Finding{Urgency: u, Days: days}
		return timeline.Mark{When: model.OnDay(start.AddDate(0, 0, 3)), Urgency: u, Days: days, HowSoon: f.HowSoon(), Answered: answered}
	}
	for _, c := range []struct {
		name, want string
		marks      []timeline.Mark
	}{
		{"one visit", "See a doctor within 2 days: ring now", []timeline.Mark{mark(finding.Soon, 2, false)}},
		{"the earlier visit", "See a doctor within 2 days: ring now 2 findings", []timeline.Mark{mark(finding.Soon, 14, false), mark(finding.Soon, 2, false)}},
		{"today before a visit", "Call today, nights and weekends too 2 findings", []timeline.Mark{mark(finding.Today, 0, false), mark(finding.Soon, 2, false)}},
		{"answered", "Answered", []timeline.Mark{mark(finding.Emergency, 0, true)}},
		{"an answered alarm does not silence an open visit", "See a doctor within 7 days: ring now 2 findings", []timeline.Mark{mark(finding.Emergency, 0, true), mark(finding.Soon, 7, false)}},
	} {
		p := readings(1, 30)
		p.Marks = c.marks
		l := looks(t)["light"]
		l.Size = 20
		var said []string
		for _, w := range watch(t, Pads(p, spoken(lines(t, "en")), l, 1000), l).words {
			said = append(said, w.what)
		}
		if all := strings.Join(said, " "); !strings.Contains(all, c.want) {
			t.Errorf("%s: %q does not say %q", c.name, all, c.want)
		}
	}
}

func TestParted(t *testing.T) {
	for name, want := range map[string][2]string{
		"Acidity (pH)": {"Acidity", "(pH)"}, "neg（阴性）": {"neg", "（阴性）"}, "1+ (one plus)": {"1+", "(one plus)"},
		"Weight": {"Weight", ""}, "(pH)": {"(pH)", ""}, "": {"", ""},
	} {
		if plain, exact := parted(name); plain != want[0] || exact != want[1] {
			t.Errorf("%q is %q and %q", name, plain, exact)
		}
	}
}

// TestPhotographsHaveTheirFrames: each photograph, or the newest of those in
// one place, has a frame inside the picture, clear of the others, and a tap on
// it names its test.
func TestPhotographsHaveTheirFrames(t *testing.T) {
	for name, look := range looks(t) {
		for _, n := range []int{1, 2, 7, 60} {
			for _, size := range []float64{20, 40} {
				look.Size = size
				p := readings(12, 90)
				for i := range n {
					p.Photos = append(p.Photos, timeline.Photo{When: model.At(p.From.AddDate(0, 0, i*89/max(n-1, 1)).Add(8 * time.Hour)), Entry: model.ID(fmt.Sprint(i))})
				}
				w := english(t)
				c := Pads(p, w, look, 900)
				framed := PadsPhotos(p, w, look, 900)
				if len(framed) == 0 || len(framed) > n || framed[len(framed)-1].Entry != model.ID(fmt.Sprint(n-1)) {
					t.Fatalf("%s: %d photographs in frames %v", name, n, framed)
				}
				for i, f := range framed {
					if !f.Frame.In(image.Rect(0, 0, c.Width, c.Height)) || f.Frame.Dx() < 40 || f.Frame.Dy() < 40 {
						t.Errorf("%s: the frame %v in %d by %d", name, f.Frame, c.Width, c.Height)
					}
					if i > 0 && f.Frame.Overlaps(framed[i-1].Frame) {
						t.Errorf("%s: %v lies over %v", name, f.Frame, framed[i-1].Frame)
					}
					middle := f.Frame.Min.Add(f.Frame.Size().Div(2))
					if at, ok := PadsAt(p, w, look, 900, middle.X, middle.Y); !ok || at.Photo != f.Entry {
						t.Errorf("%s: a tap on %s finds %q", name, f.Entry, at.Photo)
					}
				}
			}
		}
	}
	if PadsPhotos(readings(12, 90), english(t), looks(t)["light"], 900) != nil {
		t.Error("frames without photographs")
	}
}
