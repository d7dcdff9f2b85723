package kit

import (
	"image/color"
	"strings"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/canvas"
	"fyne.io/fyne/v2/widget"

	"quietwater/i18n"
	"quietwater/model"
)

// run is a piece of text set in one manner: as a rule one language.
type run struct {
	text   string
	size   float32
	bold   bool
	colour color.Color
}

func (r run) font() fyne.Resource {
	return typeface(r.bold, i18n.Chinese(r.text))
}

func (r run) measure(s string) fyne.Size {
	size, _ := fyne.CurrentApp().Driver().RenderedTextSize(s, r.size, fyne.TextStyle{Bold: r.bold}, r.font())
	return size
}

// leading is 1.5 of the size in paragraphs (WCAG 1.4.8); large words stand closer.
func (r run) leading() float32 {
	if r.size >= sizeSection && r.bold {
		return r.size * 1.3
	}
	return r.size * 1.5
}

// longest word that is kept whole, and the widest line, in sizes of the letter:
// 40 sizes are about 80 characters of our font (WCAG 1.4.8).
const (
	wordLimit = 12
	lineLimit = 40
)

// Text is words that wrap, one language under the other.
type Text struct {
	widget.BaseWidget
	runs   []run
	align  fyne.TextAlign
	lines  []fyne.CanvasObject
	width  float32 // the lines are broken for it
	height float32
	least  float32 // width of the longest word
}

func newText(runs ...run) *Text {
	t := &Text{}
	t.setRuns(runs)
	t.ExtendBaseWidget(t)
	return t
}

func (t *Text) setRuns(runs []run) {
	t.runs, t.width, t.height, t.least = nil, -1, 0, 0
	for _, r := range runs {
		if strings.TrimSpace(r.text) == "" {
			continue
		}
		t.runs = append(t.runs, r)
		t.least = max(t.least, r.least())
	}
}

// least is the narrowest column the text can stand in: its longest word's, and
// for Chinese, which could break after every sign, no more than four signs'.
func (r run) least() float32 {
	least, whole := float32(0), float32(0)
	for _, w := range i18n.Words(r.text) {
		wide := r.measure(w.Text).Width + 1
		if w.Glued {
			wide = max(wide, min(whole+wide, r.size*4))
		}
		whole = wide
		least = max(least, min(wide, r.size*wordLimit))
	}
	return least
}

// String is the words in the first language.
func (t *Text) String() string {
	if len(t.runs) == 0 {
		return ""
	}
	return t.runs[0].text
}

func (t *Text) natural() float32 {
	w := float32(0)
	for _, r := range t.runs {
		for _, line := range strings.Split(r.text, "\n") {
			w = max(w, min(r.measure(line).Width+2, r.size*lineLimit))
		}
	}
	return w
}

// recolour changes all runs to colours by their place.
func (t *Text) recolour(colours ...color.Color) {
	for i := range t.runs {
		t.runs[i].colour = colours[min(i, len(colours)-1)]
	}
	t.width = -1
	t.Refresh()
}

// wrap breaks the runs for a width and places the lines.
func (t *Text) wrap(width float32) {
	if width == t.width {
		return
	}
	t.width = width
	t.lines = nil
	y := float32(0)
	for i, r := range t.runs {
		if i > 0 {
			y += r.size * 0.2
		}
		for _, s := range r.broken(min(width, r.size*lineLimit)) {
			m := r.measure(s)
			o := canvas.NewText(s, r.colour)
			o.TextSize, o.TextStyle.Bold, o.FontSource, o.Alignment = r.size, r.bold, r.font(), t.align
			w := min(width, max(m.Width, r.size*lineLimit))
			step := max(r.leading(), m.Height)
			o.Move(fyne.NewPos(0, y+(step-m.Height)/2))
			if t.align == fyne.TextAlignCenter {
				w = width
			}
			o.Resize(fyne.NewSize(w, m.Height))
			t.lines = append(t.lines, o)
			y += step
		}
	}
	t.height = y
}

// broken cuts the text into lines no wider than width, between words; one that
// is too long by itself after a hyphen or slash, or as a last resort anywhere.
func (r run) broken(width float32) []string {
	var out []string
	for _, para := range strings.Split(r.text, "\n") {
		line := ""
		for _, word := range i18n.Words(para) {
			if try := word.After(line); r.measure(try).Width <= width {
				line = try
				continue
			}
			if line != "" {
				out = append(out, line)
			}
			line = word.Text
			for r.measure(line).Width > width {
				head := i18n.Beginning(line, func(part string) bool { return r.measure(part).Width <= width })
				if head == line {
					break
				}
				out = append(out, head)
				line = line[len(head):]
			}
		}
		if line != "" || para == "" {
			out = append(out, line)
		}
	}
	return out
}

// Parts are the lines; see [Walk].
func (t *Text) Parts() []fyne.CanvasObject { return t.lines }

// AccessibilityLabel is all its words.
func (t *Text) AccessibilityLabel() string {
	var all []string
	for _, r := range t.runs {
		all = append(all, r.text)
	}
	return strings.Join(all, "\n")
}

// AccessibilityRole of text.
func (t *Text) AccessibilityRole() fyne.AccessibleRole { return fyne.AccessibleRoleText }

// CreateRenderer is for the toolkit.
func (t *Text) CreateRenderer() fyne.WidgetRenderer { return &textRenderer{t} }

type textRenderer struct{ t *Text }

func (r *textRenderer) Destroy() {}

func (r *textRenderer) Layout(s fyne.Size) { r.t.wrap(s.Width) }

func (r *textRenderer) MinSize() fyne.Size {
	if len(r.t.runs) == 0 {
		return fyne.Size{}
	}
	if w := r.t.Size().Width; w > 0 {
		r.t.wrap(w)
	} else {
		r.t.wrap(r.t.natural())
	}
	return fyne.NewSize(r.t.least, r.t.height)
}

func (r *textRenderer) Objects() []fyne.CanvasObject { return r.t.lines }

func (r *textRenderer) Refresh() {
	if w := r.t.Size().Width; w > 0 {
		r.t.wrap(w)
	}
	canvas.Refresh(r.t)
}

// first is a message in the first language, both in the two.
func (k *Kit) first(m model.Msg, size float32, bold bool, c color.Color) *Text {
	return newText(run{k.t(m), k.px(size), bold, c})
}

func (k *Kit) both(m model.Msg, size, second float32, bold bool) *Text {
	return newText(run{k.t(m), k.px(size), bold, k.pal.Ink}, run{k.t2(m), k.px(second), false, k.pal.Muted})
}

// Title names the page.
func (k *Kit) Title(m model.Msg) *Text { return k.first(m, sizeTitle, true, k.pal.Ink) }

// Section heads a part of a page.
func (k *Kit) Section(m model.Msg) *Text { return k.first(m, sizeSection, true, k.pal.Ink) }

// Text is a paragraph in the first language.
func (k *Kit) Text(m model.Msg) *Text { return k.first(m, sizeText, false, k.pal.Ink) }

// Strong is a paragraph in bold.
func (k *Kit) Strong(m model.Msg) *Text { return k.first(m, sizeText, true, k.pal.Ink) }

// Small is a second text: dates, sources, hints.
func (k *Kit) Small(m model.Msg) *Text { return k.first(m, sizeSmall, false, k.pal.Muted) }

// Both is a paragraph in the first language and under it in the second; for
// whatever keeps a person safe.
func (k *Kit) Both(m model.Msg) *Text { return k.both(m, sizeText, sizeText, false) }

// BothSmall is Small in both languages.
func (k *Kit) BothSmall(m model.Msg) *Text {
	return newText(run{k.t(m), k.px(sizeSmall), false, k.pal.Muted}, run{k.t2(m), k.px(sizeSmall), false, k.pal.Muted})
}

// BothStrong is Strong with the second language under it.
func (k *Kit) BothStrong(m model.Msg) *Text { return k.both(m, sizeText, sizeText, true) }

// BothSection is Section with the second language under it.
func (k *Kit) BothSection(m model.Msg) *Text { return k.both(m, sizeSection, sizeText, true) }

// Second is a paragraph in the second language alone, for where something else
// stands between it and the first; it is empty where there is none.
func (k *Kit) Second(m model.Msg) *Text {
	return newText(run{k.t2(m), k.px(sizeText), false, k.pal.Muted})
}

// Step is what to do now in the guided test, read standing at 1 m.
func (k *Kit) Step(m model.Msg) *Text { return k.both(m, sizeStep, sizeStep, true) }
