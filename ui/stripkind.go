package ui

import (
	"image"
	"slices"
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
	units  map[string]*kit.Choice // of the pads whose numbers may be in several
	// A chart that was just learnt: its rows as photographed, each with just as
	// many blocks; and what comes before and after this page.
	pictures []image.Image
	back     func()
	then     func(strip.Kind)
}

type rowForm struct{ unit, read, late, blocks string }

func newKindForm(kind strip.Kind) *kindForm {
	f := &kindForm{kind: kind, name: kind.Name}
	for _, r := range kind.Chart.Rows {
		var values []string
		for _, b := range r.Blocks {
			if b.Value != "" {
				values = append(values, b.Value)
			}
		}
		f.rows = append(f.rows, rowForm{r.Unit, positive(r.ReadS), positive(r.LateS), strings.Join(values, "; ")})
	}
	return f
}

// editKind shows a strip kind. A generic one stays as it is; what is saved is
// the household's own copy.
func (w *Window) editKind(kind strip.Kind) func() view {
	f := newKindForm(kind)
	f.back, f.then = w.goBack, func(strip.Kind) { w.close() }
	return func() view {
		v := w.kindView(f)
		v.body = append(v.body, w.kindPictures(kind)...)
		return v
	}
}

func positive(n int) string {
	if n == 0 {
		return ""
	}
	return strconv.Itoa(n)
}

func (w *Window) kindView(f *kindForm) view {
	k := w.kit
	f.fields, f.units = map[string]*kit.Field{}, map[string]*kit.Choice{}
	ask := func(id, label string, width int, text string, changed func(string)) fyne.CanvasObject {
		f.fields[id] = k.Field(kit.Ask{ID: id, Label: model.T(label), Width: width}, text, changed)
		return f.fields[id]
	}
	body := []fyne.CanvasObject{k.Both(model.T("supplies.kinds-help")),
		ask("kind-name", "supplies.kind-name", 0, f.name, func(s string) { f.name = s })}
	for i, r := range f.kind.Chart.Rows {
		id := string(r.Pad)
		row := &f.rows[i]
		head := []fyne.CanvasObject{k.Strong(padTitle(r.Pad))}
		if f.pictures != nil {
			head = append(head, k.Photograph(rowLines, f.pictures[i]))
		}
		body = append(body, k.Card(append(head,
			ask(id+"-blocks", "supplies.pad-blocks", 40, row.blocks, func(s string) { row.blocks = s }),
			w.unitChoice(f, id, r, row),
			ask(id+"-read", "supplies.pad-read", 5, row.read, func(s string) { row.read = s }),
			ask(id+"-late", "supplies.pad-late", 5, row.late, func(s string) { row.late = s }))...))
	}
	label := model.T("do.save")
	if f.pictures == nil && !w.isOwn(f.kind) {
		label = model.T("supplies.copy-kind")
	}
	return view{title: model.T("screen.supplies"), body: body, back: w.backTo(f.back),
		main: w.unlessReadOnly(&action{"save", label, func() { w.saveKind(f) }})}
}

// unitChoice offers the units a pad's numbers may be printed in.
func (w *Window) unitChoice(f *kindForm, id string, r strip.Row, row *rowForm) fyne.CanvasObject {
	it, _ := model.Find(model.Strip, r.Pad)
	if len(it.Units) < 2 {
		return w.kit.Small(kit.Said(w.words.Unit(r.Unit)))
	}
	var options []kit.Option
	for _, u := range it.Units {
		options = append(options, kit.Option{ID: u.UCUM, Label: kit.Said(w.words.Unit(u.UCUM))})
	}
	f.units[id] = w.kit.ShortChoice(id+"-unit", model.T("supplies.pad-unit"), options, row.unit, func(u string) { row.unit = u })
	return f.units[id]
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
		if n := len(f.kind.Chart.Rows[i].Blocks); f.pictures != nil && why.IsZero() && len(r.Blocks) != n {
			why = model.T("learn.values-count", "n", n)
		}
		form.check(f.fields[id+"-blocks"], why)
		if unit := f.units[id]; unit != nil {
			form.check(unit, unless(r.Unit != "" || !hasNumbers(r.Blocks), "supplies.unit-missing"))
		}
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
		f.then(kind)
	}
}

// hasNumbers reports blocks whose print means nothing without its unit.
func hasNumbers(blocks []strip.Block) bool {
	return slices.ContainsFunc(blocks, func(b strip.Block) bool {
		_, number := model.ParseNumber(b.Value)
		return number
	})
}

// kindPictures says whether photographs can be read by a kind, and offers what
// can be done about that.
func (w *Window) kindPictures(kind strip.Kind) []fyne.CanvasObject {
	k := w.kit
	said, ways := model.T("learn.chart-unknown"), []fyne.CanvasObject{}
	if kind.CheckLayout() == nil {
		said = model.T("learn.known")
		ways = append(ways, k.Button("try", model.T("learn.try"), func() { w.open(w.tryKind(kind)) }))
	}
	if w.house.ReadOnly().IsZero() {
		ways = append(ways, k.Button("learn-chart", model.T("learn.chart"), func() { w.leaving(func() { w.turn(w.learnChart(kind)) }) }))
		if w.isOwn(kind) && kind.CheckChart() == nil {
			if len(kind.Strip.Pads) == 0 {
				said = model.T("learn.strip-unknown")
			}
			ways = append(ways, k.Button("learn-strip", model.T("learn.strip"), func() { w.leaving(func() { w.turn(w.learnStrip(kind)) }) }))
		}
	}
	ways = append(ways, k.Button("write-kind", model.T("learn.write"), func() {
		path, err := w.house.WriteKind(kind)
		if err != nil {
			w.fail(err)
			return
		}
		w.say(model.T("learn.written", "path", path), false)
		w.redraw()
	}))
	if w.isOwn(kind) && w.house.ReadOnly().IsZero() && !slices.ContainsFunc(w.house.State().Packs, func(p household.PackState) bool { return p.Pack.StripKind == kind.ID }) {
		ways = append(ways, k.Button("delete-kind", model.T("do.delete"), func() { w.askDeleteKind(kind) }))
	}
	return []fyne.CanvasObject{k.BothSection(model.T("learn.photographs")), k.Both(said), k.Row(ways...)}
}

func (w *Window) askDeleteKind(kind strip.Kind) {
	w.kit.Confirm(w.win.Canvas(), kit.Question{Title: model.T("learn.delete-kind"), Body: model.T("learn.delete-kind-note"),
		Keep: model.T("do.keep"), Do: model.T("do.delete"), Danger: true, Then: func() {
			if w.keep(household.Changes{RemoveKinds: []string{kind.ID}}) {
				w.say(model.T("done.deleted"), true)
				w.close()
			}
		}})
}

// readKindFile takes a strip kind in from a file: as a copy to be looked over
// before it is saved.
func (w *Window) readKindFile() func() view {
	in := &arrival{}
	take := func(path string) {
		kind, err := w.house.ReadKind(path)
		if err != nil {
			in.failed = tell(err)
			w.redraw()
			return
		}
		kind.ID = "" // whatever it was called elsewhere, here it is new
		w.turn(w.editKind(kind))
	}
	return func() view {
		k := w.kit
		var body []fyne.CanvasObject
		if !in.failed.IsZero() {
			body = append(body, k.Notice(kit.NoticeCare, in.failed))
		}
		body = append(body, k.Both(model.T("learn.file-how")))
		return view{title: model.T("screen.supplies"), body: append(body, in.byName(w, model.T("learn.file-help"), model.T("learn.read-file"), take)...),
			back: w.backTo(w.goBack), dropped: take}
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
		b := strip.Block{Value: text, RGB: like.RGB}
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
	for i := range out { // with another number of blocks it is not known where they are
		if out[i].Rect = (strip.Block{}).Rect; len(out) == len(r.Blocks) {
			out[i].Rect = r.Blocks[i].Rect
			out[i].RGB = r.Blocks[i].RGB
		}
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
