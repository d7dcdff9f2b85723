// Package strip owns urine test strips: what a kind of strip prints and when
// each pad is read, how long a pack stays good, the guided test as a state
// machine fed with the time, and the verdict whether a reading can be trusted.
//
// It refuses to know what a reading means for the person: that is finding's.
package strip

import (
	"embed"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"slices"

	"quietwater/model"
)

// Kind is one kind of strip with its printed colour chart. The file form is
// open: a layout in millimetres (chart origin at the top left of the card,
// strip origin at the top left of the pad end), with unit, read times and
// grades where the leaflet gives them.
type Kind struct {
	Format int    `json:"format"`
	ID     string `json:"id"`
	Name   string `json:"name,omitempty"` // the household's own name for it
	Chart  Chart  `json:"chart"`
	Strip  Shape  `json:"strip"`
}

// Chart is the printed card.
type Chart struct {
	WidthMM  float64    `json:"w_mm"`
	HeightMM float64    `json:"h_mm"`
	Paper    RGB        `json:"paper_rgb"`
	Outline  bool       `json:"outline"`
	Title    *Title     `json:"title,omitempty"`
	LabelCol [2]float64 `json:"label_col_mm"`
	Rows     []Row      `json:"rows"`
}

// RGB is a nominal sRGB colour.
type RGB [3]uint8

// Title is the printed headline of a card.
type Title struct {
	Text string     `json:"text"`
	Rect [4]float64 `json:"rect_mm"`
	RGB  RGB        `json:"rgb"`
}

// Row is one line of the chart: a pad and its colour blocks in printed order.
type Row struct {
	Pad    model.Code `json:"pad"`
	Unit   string     `json:"unit,omitempty"`   // UCUM of the printed numbers
	ReadS  int        `json:"read-s,omitempty"` // seconds after the dip; 0 when the leaflet's time was not entered
	LateS  int        `json:"late-s,omitempty"` // last second it may be read; 0: see Window
	Blocks []Block    `json:"blocks"`
}

// Block is one colour block: the text printed beside it and, where the pad is
// graded, the grade it stands for.
type Block struct {
	Value string     `json:"value"`
	Grade string     `json:"grade,omitempty"`
	RGB   RGB        `json:"rgb"`
	Rect  [4]float64 `json:"rect_mm"`
}

// Shape is the strip itself.
type Shape struct {
	WidthMM  float64    `json:"w_mm"`
	LengthMM float64    `json:"len_mm"`
	Pads     []PadPlace `json:"pads"`
}

// PadPlace is where a pad sits along the strip, from the pad end.
type PadPlace struct {
	Pad      model.Code `json:"pad"`
	CenterMM float64    `json:"center_mm"`
	SizeMM   float64    `json:"size_mm"`
}

//go:embed kinds/*.json
var generic embed.FS

// GenericIDs are the strip kinds every household starts with.
func GenericIDs() []string {
	return []string{"ten-pads", "protein-gravity-creatinine", "albumin-creatinine"}
}

// Generic returns fresh copies of the kinds every household starts with. Their
// block values and times are common practice, to be held against the leaflet.
func Generic() []Kind {
	var out []Kind
	for _, id := range GenericIDs() {
		f, err := generic.Open("kinds/" + id + ".json")
		if err != nil {
			panic(err) // an embedded file is missing: a programmer's error, caught by a test
		}
		k, err := ReadKind(f)
		if err != nil {
			panic(err)
		}
		out = append(out, k)
	}
	return out
}

// FindKind looks a kind up by id.
func FindKind(kinds []Kind, id string) (Kind, bool) {
	i := slices.IndexFunc(kinds, func(k Kind) bool { return k.ID == id })
	if i < 0 {
		return Kind{}, false
	}
	return kinds[i], true
}

const maxKindFile = 1 << 20

// ReadKind reads a strip-kind file and refuses one that could not be used
// safely.
func ReadKind(r io.Reader) (Kind, error) {
	k, err := decodeKind(r)
	if err != nil {
		return k, err
	}
	return k, k.Check()
}

// ReadLayout reads a strip-kind file only to read photographs by it: its pads
// may be ones we do not know, but it has to say where everything is printed.
func ReadLayout(r io.Reader) (Kind, error) {
	k, err := decodeKind(r)
	if err != nil {
		return k, err
	}
	return k, k.CheckLayout()
}

func decodeKind(r io.Reader) (Kind, error) {
	var k Kind
	b, err := io.ReadAll(io.LimitReader(r, maxKindFile+1))
	if err != nil {
		return k, fmt.Errorf("reading strip kind: %w", err)
	}
	if len(b) > maxKindFile {
		return k, errors.New("reading strip kind: file is larger than 1 MiB")
	}
	if err := json.Unmarshal(b, &k); err != nil {
		return k, fmt.Errorf("reading strip kind: %w", err)
	}
	return k, nil
}

// Bytes writes the file form that ReadKind reads back.
func (k Kind) Bytes() ([]byte, error) { return json.MarshalIndent(k, "", " ") }

// Check reports the first thing that makes the kind unusable: no pads, an
// unknown or doubled pad, fewer than two blocks, a unit or grade we do not
// know, a grade for a pad that is read as a number, times out of order.
func (k Kind) Check() error {
	if k.Format != 1 {
		return fmt.Errorf("strip kind %q: format %d is not known", k.ID, k.Format)
	}
	if k.ID == "" {
		return errors.New("strip kind: needs an id")
	}
	if err := k.checkRows(); err != nil {
		return err
	}
	for _, r := range k.Chart.Rows {
		if err := r.check(); err != nil {
			return fmt.Errorf("strip kind %q: %w", k.ID, err)
		}
	}
	return nil
}

// checkRows reports a chart that cannot be one, whatever its pads are.
func (k Kind) checkRows() error {
	if len(k.Chart.Rows) == 0 || len(k.Chart.Rows) > 20 {
		return fmt.Errorf("strip kind %q: needs 1 to 20 pads", k.ID)
	}
	seen := map[model.Code]bool{}
	for _, r := range k.Chart.Rows {
		if len(r.Blocks) < 2 || len(r.Blocks) > 15 {
			return fmt.Errorf("strip kind %q: pad %q needs 2 to 15 blocks", k.ID, r.Pad)
		}
		if seen[r.Pad] {
			return fmt.Errorf("strip kind %q: pad %q stands twice", k.ID, r.Pad)
		}
		seen[r.Pad] = true
	}
	return nil
}

// CheckChart reports the first thing that keeps a chart from being found in a
// photograph: it has no size, or a block is not on it. Lengths are in
// millimetres, or in any unit that chart and strip share.
func (k Kind) CheckChart() error {
	if !lengths(k.Chart.WidthMM, k.Chart.HeightMM) {
		return fmt.Errorf("strip kind %q: its chart has no size", k.ID)
	}
	if err := k.checkRows(); err != nil {
		return err
	}
	for _, r := range k.Chart.Rows {
		for i, b := range r.Blocks {
			x, y, w, h := b.Rect[0], b.Rect[1], b.Rect[2], b.Rect[3]
			if !lengths(w, h) || !(x >= 0 && y >= 0 && x+w <= k.Chart.WidthMM+1e-6 && y+h <= k.Chart.HeightMM+1e-6) {
				return fmt.Errorf("strip kind %q: row %q: block %d is not on the chart", k.ID, r.Pad, i)
			}
		}
	}
	return nil
}

// lengths reports whether each is one.
func lengths(xs ...float64) bool {
	return !slices.ContainsFunc(xs, func(x float64) bool { return !(x > 0 && x < 10_000) })
}

// CheckLayout reports the first thing that keeps a photograph from being read
// by the kind: what [Kind.CheckChart] says, a strip without a size, a pad off
// the strip, without a row or before another.
func (k Kind) CheckLayout() error {
	if err := k.CheckChart(); err != nil {
		return err
	}
	off := func(format string, args ...any) error {
		return fmt.Errorf("strip kind %q: "+format, append([]any{k.ID}, args...)...)
	}
	if !lengths(k.Strip.WidthMM, k.Strip.LengthMM) {
		return off("the strip has no size")
	}
	if len(k.Strip.Pads) == 0 {
		return off("the strip has no pads")
	}
	rows := map[model.Code]bool{}
	for _, r := range k.Chart.Rows {
		rows[r.Pad] = true
	}
	end := 0.0
	for _, p := range k.Strip.Pads {
		if !rows[p.Pad] {
			return off("pad %q has no row, or stands twice", p.Pad)
		}
		rows[p.Pad] = false
		if !lengths(p.SizeMM) || p.CenterMM-p.SizeMM/2 < end-1e-6 || p.CenterMM+p.SizeMM/2 > k.Strip.LengthMM+1e-6 {
			return off("pad %q is not on the strip, or upon another", p.Pad)
		}
		end = p.CenterMM + p.SizeMM/2
	}
	return nil
}

func (r Row) check() error {
	it, ok := model.Find(model.Strip, r.Pad)
	if !ok || !slices.ContainsFunc(model.Analytes(), func(a model.Item) bool { return a.Code == r.Pad }) {
		return fmt.Errorf("pad %q is not known", r.Pad)
	}
	if _, ok := it.Unit(r.Unit); r.Unit != "" && !ok {
		return fmt.Errorf("pad %q: unit %q is not known", r.Pad, r.Unit)
	}
	if r.ReadS < 0 || r.ReadS > 600 || r.LateS != 0 && r.LateS < r.ReadS || r.LateS > 1200 {
		return fmt.Errorf("pad %q: read times are out of order", r.Pad)
	}
	for _, b := range r.Blocks {
		if b.Value == "" || len(b.Value) > 40 {
			return fmt.Errorf("pad %q: a block has no printed value", r.Pad)
		}
		if _, ok := model.ParseGrade(b.Grade); b.Grade != "" && (!ok || it.Takes == model.Number) {
			return fmt.Errorf("pad %q: grade %q is not known", r.Pad, b.Grade)
		}
	}
	return nil
}

// Row finds the chart row of a pad.
func (k Kind) Row(pad model.Code) (Row, bool) {
	i := slices.IndexFunc(k.Chart.Rows, func(r Row) bool { return r.Pad == pad })
	if i < 0 {
		return Row{}, false
	}
	return k.Chart.Rows[i], true
}

// Value is what matching the pad to block i records: its grade where it has
// one, else its printed number in the row's unit. A block that says neither,
// or a number whose unit was not entered and could be several (0.3 of protein
// is nothing in mg/dL and 1+ in g/L), could not be told; its print
// stays in the note.
func (r Row) Value(i int) model.Value {
	b := r.Blocks[i]
	v := model.Value{Code: r.Pad}
	for _, word := range []string{b.Grade, b.Value} {
		if g, ok := model.ParseGrade(word); ok {
			v.Grade = g
			return v
		}
	}
	it, _ := model.Find(model.Strip, r.Pad)
	u, known := it.Unit(r.Unit)
	sure := known && (r.Unit != "" || len(it.Units) == 1)
	if n, ok := model.ParseNumber(b.Value); ok && sure {
		v.Number, v.Typed, v.Unit = n, b.Value, u.UCUM
		return v
	}
	v.Grade, v.Note = model.Unclear, b.Value
	return v
}

// rounding allows for a block that is printed in two units, one of them
// rounded: ketones of 7.8 mmol/L are the block of 80 mg/dL. Neighbouring
// blocks lie much further apart.
const rounding = 0.98

// Grade grades a value by this chart's own blocks: the highest block not above
// it, in whatever order they are printed. Numbers fall back to the usual
// blocks where the chart has no grades.
func (r Row) Grade(v model.Value) (model.Grade, bool) {
	if v.Grade != model.NoGrade {
		return v.Grade, true
	}
	it, _ := model.Find(model.Strip, r.Pad)
	n, ok := it.In(v, r.Unit)
	if !ok {
		return model.UsualGrade(r.Pad, v)
	}
	best, top := model.NoGrade, 0.0
	for _, b := range r.Blocks {
		g, graded := model.ParseGrade(b.Grade)
		limit, number := model.ParseNumber(b.Value)
		if b.Value == "neg" {
			limit, number = 0, true
		}
		if graded && number && n >= limit*rounding && (best == model.NoGrade || limit > top) {
			best, top = g, limit
		}
	}
	if best == model.NoGrade {
		return model.UsualGrade(r.Pad, v)
	}
	return best, true
}

// Timing says what is wrong with reading the pad so many seconds after the dip:
// [Early], [Late], or "" where it is in time. Where no times are known,
// [LateUnknownKind] is the last second.
func (r Row) Timing(seconds float64) Reason {
	from, to, timed := r.Window()
	if !timed {
		from, to = 0, LateUnknownKind
	}
	switch {
	case seconds > float64(to):
		return Late
	case seconds < float64(from):
		return Early
	}
	return ""
}

// Window is the span in which a pad may be read, in seconds after the dip:
// from 5 s before its read time to the leaflet's last second, else 20 s after
// (our own choice, clinical decisions "Late"). A last second alone closes the
// window but opens it at the dip. ok is false when neither is known.
func (r Row) Window() (from, to int, ok bool) {
	if r.ReadS == 0 && r.LateS == 0 {
		return 0, 0, false
	}
	to = r.LateS
	if to == 0 {
		to = r.ReadS + 20
	}
	return max(0, r.ReadS-5), to, true
}
