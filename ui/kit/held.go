package kit

import (
	"fmt"
	"strconv"

	"fyne.io/fyne/v2"
)

// Held is what people have typed and chosen on a page, by the names of its
// fields: the page is as it was while this is. Left out is what acts at once
// ([Kit.AtOnce]), which no leaving can lose.
func Held(root fyne.CanvasObject) map[string]string {
	out := map[string]string{}
	Walk(root, nil, func(n *Node) bool {
		if h, ok := n.Object.(holder); ok {
			if name, value := h.held(); name != "" {
				out[name] = value
			}
		}
		return true
	})
	return out
}

// holder is a field that somebody fills in; without a name it holds nothing
// that could be lost.
type holder interface{ held() (name, value string) }

func (e *Entry) held() (name, value string) {
	if e.once {
		return "", ""
	}
	return e.id, e.Text
}

func (r *Row) held() (name, value string) {
	if r.k.once || r.mark != markRadio && r.mark != markCheck {
		return "", ""
	}
	return r.id, strconv.FormatBool(r.on)
}

func (s *Select) held() (name, value string) { return s.head.id, s.chosen }

func (m *Marker) held() (name, value string) { return m.id, fmt.Sprint(m.at) }

// CarryOver fills half-filled dates and times of a page into those of the same
// page drawn anew: a screen keeps only whole ones.
func CarryOver(from, to fyne.CanvasObject) {
	left := map[string][]string{}
	Walk(from, nil, func(n *Node) bool {
		if f, ok := n.Object.(boxed); ok {
			if id, boxes, half := f.boxes(); half {
				left[id] = boxes
			}
		}
		return true
	})
	Walk(to, nil, func(n *Node) bool {
		if f, ok := n.Object.(boxed); ok {
			if id, _, _ := f.boxes(); left[id] != nil {
				f.fill(left[id])
			}
		}
		return true
	})
}

// boxed is a field of several boxes, which mean nothing before all are filled.
type boxed interface {
	boxes() (id string, texts []string, half bool)
	fill(texts []string)
}

func (f *DateField) boxes() (id string, texts []string, half bool) {
	_, wrong := f.Value()
	return f.ask.ID, []string{f.day.Text(), f.month.Selected(), f.year.Text()}, wrong != nil && !f.Empty()
}

func (f *DateField) fill(texts []string) {
	f.day.SetText(texts[0])
	if n, err := strconv.Atoi(texts[1]); err == nil {
		f.month.take(n - 1)
	}
	f.year.SetText(texts[2])
}

func (f *TimeField) boxes() (id string, texts []string, half bool) {
	_, _, wrong := f.Value()
	return f.id, []string{f.hour.Text(), f.minute.Text()}, wrong != nil && !f.Empty()
}

func (f *TimeField) fill(texts []string) {
	f.hour.SetText(texts[0])
	f.minute.SetText(texts[1])
}
