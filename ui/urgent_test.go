package ui

import (
	"fmt"
	"strings"
	"testing"
	"time"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/canvas"

	"quietwater/i18n"
	"quietwater/model"
	"quietwater/model/finding"
	"quietwater/model/household"
	"quietwater/model/strip"
	"quietwater/ui/kit"
)

// unread counts the lines of a text on the page that lie outside the window.
// What goes on with something else must say that too.
func (d *desk) unread(text string, and ...string) (out int) {
	d.t.Helper()
	found := false
	kit.Walk(d.top(), nil, func(n *kit.Node) bool {
		t, ok := n.Object.(*kit.Text)
		if !ok || t.String() != text || found {
			return !ok
		}
		found = true
		for _, more := range and {
			if !strings.Contains(t.AccessibilityLabel(), more) {
				d.t.Errorf("%q is not said with %q", more, text)
			}
		}
		for _, o := range t.Parts() {
			p, s := o.Position(), o.Size()
			b := kit.Box{X: n.Box.X + p.X, Y: n.Box.Y + p.Y, W: 1, H: s.Height}
			if b.Cut(n.Clip).H < b.H-0.5 {
				out++
			}
		}
		return false
	})
	if !found {
		d.t.Errorf("%q is not on the page", text)
	}
	return out
}

// urgentRows are emergencies, and the number that is entered for them.
func urgentRows() map[string][]string {
	when := morning.Add(-time.Hour).Format(time.RFC3339)
	return map[string][]string{
		"":          {when + ",symptom,passing-none,1", when + ",symptom,belly-pain,2"},
		"0555 0199": {when + ",vital,systolic,188", when + ",vital,diastolic,124", when + ",symptom,chest-pain,1"},
	}
}

// In the largest type, in every language and look, an emergency says why and
// which number to ring without anybody scrolling; and so it does where several
// live in the house, or more calls than one are open.
func TestAnEmergencyIsReadWithoutScrolling(t *testing.T) {
	type words struct{ first, second string }
	var spoken []words
	for _, l := range i18n.Languages() {
		spoken = append(spoken, words{l.Tag, ""})
	}
	spoken = append(spoken, words{"es", "en"}, words{"de", "ru"}, words{"ru", "de"})
	for _, s := range spoken {
		for _, c := range []struct {
			size fyne.Size
			ink  string
		}{{fyne.NewSize(1280, 800), "light"}, {fyne.NewSize(1024, 700), "contrast"}} {
			for number, rows := range urgentRows() {
				{
					r := rosas(t, rows...).records()
					rosa := r.Book.Persons[0]
					r = r.Apply(household.Changes{Persons: []model.Person{{ID: "0000000000000000000000000000000a", Name: "Emil"}},
						Settings: map[string]string{household.SetLanguage: s.first, household.SetSecond: s.second, household.SetScale: "200",
							household.SetInk: c.ink, household.SetEmergency: number}})
					d := open(t, newBook(r))
					d.size = c.size
					d.w.toTodayOf(rosa)
					d.settle()
					m, _ := d.w.member()
					f := m.Result.Open[0]
					if f.Urgency != finding.Emergency {
						t.Fatal("no emergency", f.Rule)
					}
					what := fmt.Sprintf("%s+%s, %v, number %q", s.first, s.second, c.size, number)
					if n := d.unread(d.w.words.T(f.HowSoon()), d.w.words.T(d.w.ringNow(f.Urgency))); n > 0 {
						t.Errorf("%s: of how soon and whom to ring %d lines lie outside the window", what, n)
					}
					if n := d.unread(d.w.words.T(f.Title)); n > 0 {
						t.Errorf("%s: of why %d lines lie outside the window", what, n)
					}
					// The other language follows; the smallest window has no room for all of it.
					beneath := s.second
					if beneath == "" && d.w.unsure() {
						beneath = "en"
					}
					if beneath == "" || c.size.Width < 1280 {
						continue
					}
					other, _ := i18n.New(beneath, "")
					if n := d.unread(other.T(f.HowSoon()) + " · " + other.T(d.w.ringNow(f.Urgency))); n > 0 {
						t.Errorf("%s: of the same in the second language %d lines lie outside the window", what, n)
					}
				}
			}
		}
	}
}

// What a block of the chart says stands in view with it, in the largest type and
// every language: for its colour alone it must not be chosen. With two languages
// there is room for its value.
func TestBlocksAreReadWithoutScrolling(t *testing.T) {
	spoken := [][2]string{{"es", "en"}, {"de", "es"}, {"ru", "de"}}
	for _, l := range i18n.Languages() {
		spoken = append(spoken, [2]string{l.Tag, ""})
	}
	for _, s := range spoken {
		for _, ink := range []string{"light", "contrast"} {
			d := open(t, newBook(demoBook().Apply(household.Changes{Settings: map[string]string{household.SetLanguage: s[0], household.SetSecond: s[1],
				household.SetScale: "200", household.SetInk: ink}})))
			for _, practice := range []bool{true, false} {
				g := &guided{w: d.w, person: d.book.records().Book.Persons[0], practice: practice, kind: strip.Generic()[0], draft: strip.Draft{Step: stepPads,
					Answers: map[model.Code]string{}, Values: map[model.Code]model.Value{}, Blocks: map[model.Code]int{}}}
				for pad, row := range g.kind.Chart.Rows {
					g.pad = pad
					d.w.turn(g.view)
					d.settle()
					for _, sw := range g.swatches(row) {
						says := []string{sw.Value}
						if s[1] == "" && sw.Unit != "" {
							says = append(says, sw.Unit)
						}
						for _, word := range says {
							if n := d.unread(word); n > 0 {
								t.Errorf("%v, %s, %s: %q lies outside the window", s, ink, row.Pad, word)
							}
						}
					}
				}
			}
		}
	}
}

// Of what the running clock says no line lies outside the window, in the largest
// type and every language: nobody has a hand free to scroll.
func TestTheClockIsReadWithoutScrolling(t *testing.T) {
	for _, l := range i18n.Languages() {
		d := open(t, newBook(demoBook().Apply(household.Changes{Settings: map[string]string{household.SetLanguage: l.Tag, household.SetSecond: "",
			household.SetScale: "200"}})))
		g := &guided{w: d.w, person: d.book.records().Book.Persons[0], practice: true, kind: strip.Generic()[0], draft: strip.Draft{Step: stepReady,
			Answers: map[model.Code]string{}, Values: map[model.Code]model.Value{}, Blocks: map[model.Code]int{}}}
		d.w.open(g.view)
		d.settle()
		d.tap("dip")
		for said := ""; d.has("stop"); d.wait(time.Second) {
			if d.text() == said {
				continue
			}
			said = d.text()
			kit.Walk(d.top(), nil, func(n *kit.Node) bool {
				if c, ok := n.Object.(*canvas.Text); ok && n.Box.Y+n.Box.H > n.Clip.Y+n.Clip.H+8 { // less than what hangs below letters
					t.Errorf("%s: %q lies outside the window", l.Tag, c.Text)
				}
				return true
			})
		}
	}
}
