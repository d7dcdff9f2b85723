package ui

import (
	"strconv"
	"strings"

	"fyne.io/fyne/v2"

	"quietwater/i18n"
	"quietwater/model"
	"quietwater/model/household"
	"quietwater/model/strip"
	"quietwater/ui/kit"
)

// wholeNumber reads a whole number above nought; an empty box is 0.
func wholeNumber(s string) (int, model.Msg) {
	s = strings.TrimSpace(s)
	if s == "" {
		return 0, model.Msg{}
	}
	plain, p := i18n.ParseNumber(s)
	if p != nil {
		return 0, p.Why
	}
	n, err := strconv.Atoi(plain)
	if err != nil || n < 1 || n > 10000 {
		return 0, model.T("problem.whole-number")
	}
	return n, model.Msg{}
}

// priceOf reads a price as a plain number; an empty box is none.
func priceOf(s string) (string, model.Msg) {
	if strings.TrimSpace(s) == "" {
		return "", model.Msg{}
	}
	plain, p := i18n.ParseNumber(strings.TrimSpace(s))
	if p != nil {
		return "", p.Why
	}
	return plain, model.Msg{}
}

// isOwn reports whether a kind is the household's and may be changed.
func (w *Window) isOwn(k strip.Kind) bool {
	_, own := strip.FindKind(w.house.State().Records.OwnKinds, k.ID)
	return own
}

// kindForm is what stands in the boxes while a strip kind is edited.
type kindForm struct {
	kind   strip.Kind
	name   string
	rows   []rowForm
	fields map[string]*kit.Field
}

type rowForm struct{ unit, read, late, blocks string }

// editKind shows a strip kind. A generic one stays as it is; what is saved is
// the household's own copy.
func (w *Window) editKind(kind strip.Kind) func() view {
	f := &kindForm{kind: kind, name: kind.Name}
	for _, r := range kind.Chart.Rows {
		var values []string
		for _, b := range r.Blocks {
			values = append(values, b.Value)
		}
		f.rows = append(f.rows, rowForm{r.Unit, positive(r.ReadS), positive(r.LateS), strings.Join(values, "; ")})
	}
	return func() view { return w.kindView(f) }
}

func positive(n int) string {
	if n == 0 {
		return ""
	}
	return strconv.Itoa(n)
}

func (w *Window) kindView(f *kindForm) view {
	k := w.kit
	f.fields = map[string]*kit.Field{}
	ask := func(id, label string, width int, text string, changed func(string)) fyne.CanvasObject {
		f.fields[id] = k.Field(kit.Ask{ID: id, Label: model.T(label), Width: width}, text, changed)
		return f.fields[id]
	}
	body := []fyne.CanvasObject{k.Both(model.T("supplies.kinds-help")),
		ask("kind-name", "supplies.kind-name", 0, f.name, func(s string) { f.name = s })}
	for i, r := range f.kind.Chart.Rows {
		id := string(r.Pad)
		row := &f.rows[i]
		body = append(body, k.Card(k.Strong(padTitle(r.Pad)),
			ask(id+"-blocks", "supplies.pad-blocks", 40, row.blocks, func(s string) { row.blocks = s }),
			w.unitChoice(id, r, row),
			ask(id+"-read", "supplies.pad-read", 5, row.read, func(s string) { row.read = s }),
			ask(id+"-late", "supplies.pad-late", 5, row.late, func(s string) { row.late = s })))
	}
	label := model.T("do.save")
	if !w.isOwn(f.kind) {
		label = model.T("supplies.copy-kind")
	}
	return view{title: model.T("screen.supplies"), body: body, back: w.backTo(w.close),
		main: w.unlessReadOnly(&action{"save", label, func() { w.saveKind(f) }})}
}

// unitChoice offers the units a pad's numbers may be printed in.
func (w *Window) unitChoice(id string, r strip.Row, row *rowForm) fyne.CanvasObject {
	it, _ := model.Find(model.Strip, r.Pad)
	if len(it.Units) < 2 {
		return w.kit.Small(kit.Said(w.words.Unit(r.Unit)))
	}
	var options []kit.Option
	for _, u := range it.Units {
		options = append(options, kit.Option{ID: u.UCUM, Label: kit.Said(w.words.Unit(u.UCUM))})
	}
	return w.kit.ShortChoice(id+"-unit", model.T("supplies.pad-unit"), options, row.unit, func(u string) { row.unit = u })
}

func (w *Window) saveKind(f *kindForm) {
	kind := f.kind
	kind.Name = strings.TrimSpace(f.name)
	kind.Chart.Rows = append([]strip.Row(nil), kind.Chart.Rows...)
	form := checked{w: w}
	form.check(f.fields["kind-name"], unless(kind.Name != "", "supplies.kind-name-missing"))
	for i := range kind.Chart.Rows {
		r := &kind.Chart.Rows[i]
		id := string(r.Pad)
		var why model.Msg
		r.Unit = f.rows[i].unit
		r.Blocks, why = blocksOf(*r, f.rows[i].blocks)
		form.check(f.fields[id+"-blocks"], why)
		r.ReadS, why = wholeNumber(f.rows[i].read)
		form.check(f.fields[id+"-read"], why)
		r.LateS, why = wholeNumber(f.rows[i].late)
		if why.IsZero() && r.LateS != 0 && r.LateS < r.ReadS {
			why = model.T("supplies.late-before-read")
		}
		form.check(f.fields[id+"-late"], why)
	}
	if form.bad() {
		return
	}
	if !w.isOwn(f.kind) {
		kind.ID = "own-" + string(w.house.NewID())[:12]
	}
	if w.save(household.Changes{Kinds: []strip.Kind{kind}}) {
		w.close()
	}
}

// blocksOf reads printed values with semicolons between, or commas with a
// space. Each must be a grade, a text the chart had, or a number, numbers
// rising. A block that keeps its text keeps its grade and colour; another is
// graded as most charts print it, where that is known.
func blocksOf(r strip.Row, typed string) ([]strip.Block, model.Msg) {
	var out []strip.Block
	last := -1.0
	for i, text := range strings.Split(strings.ReplaceAll(typed, ", ", ";"), ";") {
		text = strings.TrimSpace(text)
		if text == "" {
			continue
		}
		like := r.Blocks[min(i, len(r.Blocks)-1)]
		b := strip.Block{Value: text, RGB: like.RGB, Rect: like.Rect}
		_, graded := model.ParseGrade(text)
		for _, old := range r.Blocks {
			if old.Value == text {
				b, graded = old, graded || old.Grade != ""
			}
		}
		if plain, p := i18n.ParseNumber(text); p == nil {
			n, _ := model.ParseNumber(plain)
			if n <= last {
				return r.Blocks, model.T("supplies.blocks-rise", "value", text)
			}
			b.Value, last = plain, n
		} else if !graded {
			return r.Blocks, model.T("supplies.block-unknown", "value", text)
		}
		if b.Grade == "" {
			b.Grade = usualGrade(r, b.Value)
		}
		out = append(out, b)
	}
	if len(out) < 2 || len(out) > 15 {
		return r.Blocks, model.T("supplies.blocks-count")
	}
	return out, model.Msg{}
}

func usualGrade(r strip.Row, text string) string {
	if g, ok := model.ParseGrade(text); ok {
		return g.String()
	}
	n, ok := model.ParseNumber(text)
	if !ok {
		return ""
	}
	g, _ := model.UsualGrade(r.Pad, model.Value{Code: r.Pad, Number: n, Typed: text, Unit: r.Unit})
	return g.String()
}
