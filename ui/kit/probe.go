package kit

import (
	"encoding/json"
	"io"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/canvas"
)

// ProbeLine is one thing on the screen, for scripts that act as a person
// would; .ci/probe reads it. X, Y, W and H are pixels at scale 1 from the
// upper left corner of the window.
type ProbeLine struct {
	Screen   string  `json:"screen"`
	ID       string  `json:"id,omitempty"`
	Text     string  `json:"text"`
	X        float32 `json:"x"`
	Y        float32 `json:"y"`
	W        float32 `json:"w"`
	H        float32 `json:"h"`
	Label    bool    `json:"label,omitempty"`    // cannot be tapped
	Disabled bool    `json:"disabled,omitempty"` // cannot be tapped now
	Hidden   bool    `json:"hidden,omitempty"`   // scrolled away
}

// Probe lists what stands on a canvas: everything to tap or type into, and
// every text. Under a question or another overlay only the overlay is listed.
func Probe(c fyne.Canvas, screen string) []ProbeLine {
	var out []ProbeLine
	add := func(n *Node, l ProbeLine) {
		l.Screen = screen
		l.X, l.Y, l.W, l.H = n.Box.X, n.Box.Y, n.Box.W, n.Box.H
		l.Hidden = !n.Clip.Holds(l.X+l.W/2, l.Y+l.H/2)
		out = append(out, l)
	}
	Walk(top(c), nil, func(n *Node) bool {
		if target, ok := Target(n.Object); ok {
			add(n, ProbeLine{ID: target.ID, Text: target.Label, Disabled: target.Disabled})
		}
		switch o := n.Object.(type) {
		case *Text:
			for _, r := range o.runs {
				add(n, ProbeLine{Text: r.text, Label: true})
			}
			return false
		case *canvas.Text:
			if o.Text != "" {
				add(n, ProbeLine{Text: o.Text, Label: true})
			}
		case *Entry:
			if o.Text != "" {
				add(n, ProbeLine{Text: o.Text, Label: true})
			}
		case *ChartView:
			add(n, ProbeLine{ID: o.id, Text: o.alt, Label: true})
		}
		return true
	})
	return out
}

// Targeted is what Target tells of a thing to tap or type into.
type Targeted struct {
	ID, Label string
	Disabled  bool
}

// Target reports whether o can be tapped or typed into.
func Target(o fyne.CanvasObject) (Targeted, bool) {
	_, taps := o.(fyne.Tappable)
	_, types := o.(fyne.Focusable)
	if !taps && !types {
		return Targeted{}, false
	}
	var t Targeted
	if n, ok := o.(interface{ Name() string }); ok {
		t.ID = n.Name()
	}
	if a, ok := o.(fyne.Accessible); ok {
		t.Label = a.AccessibilityLabel()
	}
	if d, ok := o.(fyne.Disableable); ok {
		t.Disabled = d.Disabled()
	}
	return t, true
}

// Focused names what has the keyboard; "" for nothing, or what has no name.
func Focused(c fyne.Canvas) string {
	if n, ok := c.Focused().(interface{ Name() string }); ok {
		return n.Name()
	}
	return ""
}

// WriteProbe appends one block: a line with the frame's number and what has the
// keyboard, then a line for each thing. The block goes out in one write, so that a reader never
// takes half a screen for a whole one.
func WriteProbe(w io.Writer, frame int, screen, focus string, lines []ProbeLine) error {
	head, err := json.Marshal(struct {
		Frame  int    `json:"frame"`
		Screen string `json:"screen"`
		Focus  string `json:"focus,omitempty"`
	}{frame, screen, focus})
	if err != nil {
		return err
	}
	block := append(head, '\n')
	for _, l := range lines {
		b, err := json.Marshal(l)
		if err != nil {
			return err
		}
		block = append(append(block, b...), '\n')
	}
	_, err = w.Write(block)
	return err
}
