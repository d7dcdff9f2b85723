package kit

import (
	"bytes"
	"fmt"
	"image/color"

	"fyne.io/fyne/v2"

	"quietwater/model"
)

// Words turns messages into the household's languages; *i18n.Pair does. T2 is
// "" where there is no second language.
type Words interface {
	T(model.Msg) string
	T2(model.Msg) string
}

// Kit makes the widgets of one window, in one look and one or two languages.
// When either changes, make another Kit and build the screen anew.
type Kit struct {
	words Words
	look  Look
	pal   Palette
	one   bool // say everything in the first language only
	once  bool // what is chosen or typed acts at once: nothing of it is left to be saved

	echoes *Echoes
}

// New makes a Kit.
func New(w Words, l Look) *Kit { return &Kit{words: w, look: l, pal: l.Palette()} }

// Look tells the look the Kit draws in.
func (k *Kit) Look() Look { return k.look }

// Palette tells its colours, for pictures drawn by others.
func (k *Kit) Palette() Palette { return k.pal }

// First is the same Kit speaking the first language only, for where saying
// everything twice would bury it.
func (k *Kit) First() *Kit {
	c := *k
	c.one = true
	return &c
}

// AtOnce is the same Kit for what acts as soon as it is chosen or typed, such as
// the text size or a search: leaving the page loses nothing of it, see [Held].
func (k *Kit) AtOnce() *Kit {
	c := *k
	c.once = true
	return &c
}

func (k *Kit) inverted() *Kit {
	c := *k
	c.pal = k.pal.inverted()
	return &c
}

// Said is a message holding what a person typed, such as a name, shown as it is.
func Said(text string) model.Msg { return model.T("kit.said", "text", text) }

func (k *Kit) t(m model.Msg) string {
	if m.IsZero() {
		return ""
	}
	return k.words.T(m)
}

// t2 is the second language, "" where it would only repeat the first.
func (k *Kit) t2(m model.Msg) string {
	if k.one || m.IsZero() {
		return ""
	}
	if s := k.words.T2(m); s != k.words.T(m) {
		return s
	}
	return ""
}

func (k *Kit) px(units float32) float32 { return units * k.look.scale() }

// tint gives a drawing of one ink, as those in assets, another colour. The
// name carries the colour because the toolkit remembers pictures by name.
func tint(name string, svg []byte, c color.NRGBA) fyne.Resource {
	code := fmt.Sprintf("#%02X%02X%02X", c.R, c.G, c.B)
	return fyne.NewStaticResource(name+code+".svg", bytes.ReplaceAll(svg, []byte("#16242E"), []byte(code)))
}
