package kit

import (
	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/widget"
)

// group is a widget made of others. A struct around a container would not do:
// the toolkit draws containers and widgets, and nothing else.
type group struct {
	widget.BaseWidget
	box *fyne.Container
}

func (g *group) hold(self fyne.Widget, box *fyne.Container) {
	g.box = box
	g.ExtendBaseWidget(self)
}

// Parts are what it is made of; see [Walk].
func (g *group) Parts() []fyne.CanvasObject { return []fyne.CanvasObject{g.box} }

func (g *group) natural() float32 { return natural(g.box) }

// CreateRenderer is for the toolkit.
func (g *group) CreateRenderer() fyne.WidgetRenderer { return &groupRenderer{g} }

type groupRenderer struct{ g *group }

func (r *groupRenderer) Destroy()                     {}
func (r *groupRenderer) Layout(s fyne.Size)           { r.g.box.Resize(s) }
func (r *groupRenderer) MinSize() fyne.Size           { return r.g.box.MinSize() }
func (r *groupRenderer) Objects() []fyne.CanvasObject { return r.g.Parts() }
func (r *groupRenderer) Refresh()                     { r.g.box.Refresh() }
