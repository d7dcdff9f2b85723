package kit

import (
	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/canvas"
	"fyne.io/fyne/v2/container"

	"quietwater/model"
)

type buttonRole int

const (
	plainButton buttonRole = iota
	mainButton
	linkButton
)

// Button is a thing to press: its words wrap, the second language stands
// under the first.
type Button struct {
	control
	role buttonRole
	text *Text
	line *canvas.Rectangle // under the words of a link
	pic  *canvas.Image
	svg  []byte
	name string
}

// Button makes an ordinary button. id names it for scripts, in every language
// alike.
func (k *Kit) Button(id string, m model.Msg, tapped func()) *Button {
	return k.button(id, m, plainButton, "", nil, tapped)
}

// MainButton makes the one button a page is about.
func (k *Kit) MainButton(id string, m model.Msg, tapped func()) *Button {
	return k.button(id, m, mainButton, "", nil, tapped)
}

// TextLink makes underlined words to follow: sources, "why is this asked".
func (k *Kit) TextLink(id string, m model.Msg, tapped func()) *Button {
	return k.button(id, m, linkButton, "", nil, tapped)
}

// PictureButton makes an ordinary button with a drawing of package assets at
// its left; name tells drawings apart.
func (k *Kit) PictureButton(id string, m model.Msg, name string, svg []byte, tapped func()) *Button {
	return k.button(id, m, plainButton, name, svg, tapped)
}

func (k *Kit) button(id string, m model.Msg, role buttonRole, name string, svg []byte, tapped func()) *Button {
	b := &Button{role: role, name: name, svg: svg}
	b.k, b.id, b.label, b.act = k, id, k.t(m), tapped
	b.text = newText(run{k.t(m), k.px(sizeText), role != linkButton, k.pal.Ink}, run{k.t2(m), k.px(sizeSmall), false, k.pal.Muted})
	content := fyne.CanvasObject(b.text)
	switch {
	case svg != nil:
		b.pic = canvas.NewImageFromResource(tint(name, svg, k.pal.Ink))
		b.pic.FillMode = canvas.ImageFillContain
		b.pic.SetMinSize(fyne.NewSquareSize(k.px(28)))
		content = container.New(beside{gap: 12}, b.pic, b.text)
	case role == linkButton:
		b.line = canvas.NewRectangle(k.pal.Water)
		b.line.SetMinSize(fyne.NewSize(0, 2))
		content = container.New(atMost{b.text.natural()}, container.New(column{0}, b.text, b.line))
	default:
		b.text.align = fyne.TextAlignCenter
	}
	b.paint = b.colours
	padX := float32(20)
	if role == linkButton {
		padX = 0
	}
	b.start(b, content, padX, 8)
	return b
}

// natural keeps words on one line up to a width a finger of text can be read in.
func (b *Button) natural() float32 {
	return min(b.control.natural(), b.k.px(sizeText)*22)
}

// IsMain reports whether this is the button the page is about.
func (b *Button) IsMain() bool { return b.role == mainButton }

// colours sets the state: the main button is filled with water, others are
// outlined. What cannot be pressed loses its fill and its ink, not its words.
func (b *Button) colours() {
	p := b.k.pal
	first, second := p.Ink, p.Muted
	fill, line, width := p.Card, p.Line, p.Border
	switch {
	case b.Disabled():
		first, fill = p.Muted, p.Paper
	case b.role == mainButton:
		first, second, fill, line = p.OnWater, p.OnWater, p.Water, p.Water
	case b.role == linkButton:
		first = p.Water
	}
	b.body.FillColor, b.body.StrokeColor, b.body.StrokeWidth = fill, line, width
	if b.role == linkButton {
		b.body.FillColor, b.body.StrokeWidth = clear, 0
		b.line.FillColor = first
	}
	if b.hovered && !b.Disabled() {
		b.body.StrokeColor, b.body.StrokeWidth = p.Ink, 3
		if b.role == plainButton {
			b.body.FillColor = p.Soft
		}
	}
	b.text.recolour(first, second)
	if b.pic != nil {
		b.pic.Resource = tint(b.name, b.svg, first)
	}
}
