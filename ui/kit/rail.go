package kit

import (
	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/canvas"
	"fyne.io/fyne/v2/container"

	"quietwater/model"
)

// RailItem is one page of the window's rail: a picture of package assets and
// its name. here marks the page that is open, by ground and by a dot.
func (k *Kit) RailItem(id string, m model.Msg, name string, svg []byte, here bool, tapped func()) *Row {
	pic := canvas.NewImageFromResource(tint(name, svg, k.pal.Ink))
	pic.FillMode = canvas.ImageFillContain
	pic.SetMinSize(fyne.NewSquareSize(k.px(30)))
	dot := canvas.NewRectangle(clear)
	if here {
		dot.FillColor = k.pal.Water
	}
	dot.SetMinSize(fyne.NewSize(6, k.px(30)))
	r := k.row(id, m, model.Msg{}, markNone, here, container.New(beside{gap: 8}, dot, pic))
	r.act = tapped
	return r
}

// Rail is the column of pages at the left of the window.
func (k *Kit) Rail(items ...fyne.CanvasObject) fyne.CanvasObject {
	line := canvas.NewRectangle(k.pal.Line)
	line.SetMinSize(fyne.NewSize(max(k.pal.Border, 1), 0))
	column := container.New(inset{gapSmall, gapCard}, container.New(column{gapSmall}, items...))
	scroll := container.NewVScroll(column)
	scroll.SetMinSize(fyne.NewSize(column.MinSize().Width+k.px(70), 0))
	return container.NewBorder(nil, nil, nil, line, container.NewStack(canvas.NewRectangle(k.pal.Paper), scroll))
}

// LeafChoice is one of the leaves a person can be known by.
func (k *Kit) LeafChoice(leaf int, name string, label model.Msg, on bool, tapped func()) *Row {
	r := k.row("leaf-"+string(rune('0'+leaf)), label, model.Msg{}, markRadio, on, k.Leaf(leaf, name))
	r.act = tapped
	return r
}
