package kit

import (
	"image/color"
	"strings"
	"unicode/utf8"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/canvas"
	"fyne.io/fyne/v2/container"

	"quietwater/assets"
	"quietwater/model"
)

func (k *Kit) frame(fill, stroke color.Color, width float32) *canvas.Rectangle {
	r := canvas.NewRectangle(fill)
	r.StrokeColor, r.StrokeWidth, r.CornerRadius = stroke, width, corner
	return r
}

// Card puts one thing on a sheet of its own.
func (k *Kit) Card(children ...fyne.CanvasObject) *fyne.Container {
	return container.New(inset{gapCard, gapCard}, k.frame(k.pal.Card, k.pal.Line, k.pal.Border), k.Column(children...))
}

// Band is a soft ground across the page, for an aside that is no thing of its own.
func (k *Kit) Band(children ...fyne.CanvasObject) *fyne.Container {
	line := clear
	if k.look.Ink == HighContrast {
		line = k.pal.Line
	}
	return container.New(inset{gapCard, gap}, k.frame(k.pal.Soft, line, k.pal.Border), k.Column(children...))
}

// NoticeKind is how much a notice matters.
type NoticeKind int

// A notice tells something, asks for care, or says that something failed. None
// of them is a finding about a person.
const (
	NoticeInfo NoticeKind = iota
	NoticeCare
	NoticeFailed
)

var notices = [...]struct{ sign, word string }{
	NoticeInfo:   {"●", "kit.notice.info"},
	NoticeCare:   {"▲", "kit.notice.care"},
	NoticeFailed: {"■", "kit.notice.failed"},
}

// Notice tells of something on this page: a shape, a word, what happened and
// what to do; actions stand under it.
func (k *Kit) Notice(kind NoticeKind, m model.Msg, actions ...fyne.CanvasObject) *fyne.Container {
	n := notices[kind]
	sign := newText(run{n.sign, k.px(sizeSection), true, k.pal.Ink})
	say := k.Tight(k.Strong(model.T(n.word)), k.Both(m))
	if len(actions) > 0 {
		say.Add(k.Row(actions...))
	}
	return container.New(inset{gapCard, gap},
		k.frame(k.pal.Soft, k.pal.Ink, max(k.pal.Border, 2)),
		container.New(beside{gap: gap, stretch: true}, sign, say))
}

// SavedBar says what was done and lets it be undone. It stays until somebody
// closes it; undo may be nil, and dismiss where it stands in the page itself.
func (k *Kit) SavedBar(m model.Msg, undo, dismiss func()) *fyne.Container {
	row := k.Row(k.BothStrong(m))
	if undo != nil {
		row.Add(k.Button("undo", model.T("do.undo"), undo))
	}
	if dismiss != nil {
		row.Add(k.Button("close-notice", model.T("do.close"), dismiss))
	}
	return container.New(inset{gapCard, gapSmall}, k.frame(k.pal.Soft, k.pal.Water, max(k.pal.Border, 2)), row)
}

// PersonMark is a person's leaf with the initial on it, and the name beside.
func (k *Kit) PersonMark(leaf int, name string) *fyne.Container {
	return container.New(beside{gap: 12}, k.Leaf(leaf, name), newText(run{name, k.px(sizeText), true, k.pal.Ink}))
}

// Leaf is the mark alone, where the name stands elsewhere; without a name there
// is no initial.
func (k *Kit) Leaf(leaf int, name string) *fyne.Container {
	pic := canvas.NewImageFromResource(tint("leaf"+string(rune('0'+max(leaf, 0)%assets.Leaves)), assets.Leaf(leaf), k.pal.Water))
	pic.FillMode = canvas.ImageFillContain
	pic.SetMinSize(fyne.NewSquareSize(k.px(44)))
	name = strings.TrimSpace(name)
	if name == "" {
		return container.New(leafLayout{k.px(30)}, pic)
	}
	plate := canvas.NewCircle(k.pal.Card)
	plate.StrokeColor, plate.StrokeWidth = k.pal.Water, 2
	first, _ := utf8.DecodeRuneInString(name)
	letter := newText(run{strings.ToUpper(string(first)), k.px(sizeSmall), true, k.pal.Ink})
	letter.align = fyne.TextAlignCenter
	return container.New(leafLayout{k.px(30)}, pic, plate, letter)
}

// leafLayout sets the plate with the initial on the leaf's lower right.
type leafLayout struct{ plate float32 }

func (l leafLayout) Layout(objs []fyne.CanvasObject, s fyne.Size) {
	pic := objs[0].MinSize()
	objs[0].Resize(pic)
	objs[0].Move(fyne.NewPos(0, 0))
	if len(objs) == 1 {
		return
	}
	at := fyne.NewPos(pic.Width-l.plate*0.6, pic.Height-l.plate*0.9)
	objs[1].Resize(fyne.NewSquareSize(l.plate))
	objs[1].Move(at)
	h := heightAt(objs[2], l.plate)
	objs[2].Resize(fyne.NewSize(l.plate, h))
	objs[2].Move(fyne.NewPos(at.X, at.Y+(l.plate-h)/2))
}

func (l leafLayout) MinSize(objs []fyne.CanvasObject) fyne.Size {
	return objs[0].MinSize().AddWidthHeight(l.plate*0.4, l.plate*0.1)
}
