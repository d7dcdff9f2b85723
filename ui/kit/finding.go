package kit

import (
	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/container"

	"quietwater/model"
)

// The steps of urgency that are drawn louder than the rest: from soon with a
// heavy frame, from today with amber too.
const (
	UrgencySoon      = 3
	UrgencyToday     = 4
	UrgencyEmergency = 5
)

// FindingText is all that a finding's card says. Zero messages are left out.
type FindingText struct {
	Urgency int       // 0 note, 1 retest, 2 mention, 3 soon, 4 today, 5 emergency
	HowSoon model.Msg // the urgency in words
	Ring    model.Msg // whom to ring at once, beside it in its field; only for what is urgent
	When    model.Msg // of what was seen
	Title   model.Msg
	Do      model.Msg
	Why     model.Msg
	Change  model.Msg
	Sources model.Msg
	// Call makes whom to ring. From today on it stands right under the title,
	// where no large type pushes it out of view; else under what to do. The Kit handed to all of these has its colours turned
	// over on an emergency's card. May be nil.
	Call func(k *Kit) []fyne.CanvasObject
	// Answer makes the buttons that answer, after what to do: nobody says that
	// they rang before they have read it. May be nil.
	Answer func(k *Kit) []fyne.CanvasObject
	// Help makes what belongs under what to do, such as what to say. May be nil.
	Help func(k *Kit) []fyne.CanvasObject
	// Under makes what stands under the text, above its sources. May be nil.
	Under func(k *Kit) []fyne.CanvasObject
}

// FindingCard shows a finding: the tide mark, how soon, what it is and what to
// do, then why, what would change it, and last the sources. Everything is said
// in both languages.
func (k *Kit) FindingCard(f FindingText) *fyne.Container {
	outer := k
	if f.Urgency >= UrgencyEmergency {
		k = k.inverted()
	}
	say := k.Column(k.heading(f)...)
	add := func(make func(*Kit) []fyne.CanvasObject) {
		if make != nil {
			for _, o := range make(k) {
				say.Add(o)
			}
		}
	}
	urgent := f.Urgency >= UrgencyToday
	if urgent {
		add(f.Call)
	}
	if !f.When.IsZero() {
		say.Add(k.Small(f.When))
	}
	part := func(heading string, m model.Msg) {
		if !m.IsZero() {
			say.Add(k.Tight(k.BothSmall(model.T(heading)), k.Both(m)))
		}
	}
	if !f.Do.IsZero() {
		say.Add(k.BothStrong(f.Do))
	}
	if !urgent {
		add(f.Call)
	}
	add(f.Answer)
	add(f.Help)
	part("finding.why", f.Why)
	part("finding.change", f.Change)
	add(f.Under)
	if !f.Sources.IsZero() {
		say.Add(k.Small(f.Sources))
	}
	ground := k.frame(k.pal.Card, k.pal.Line, k.pal.Border)
	if f.Urgency >= UrgencySoon {
		// Twice the frame of the other cards, in every look.
		ground.StrokeColor, ground.StrokeWidth = outer.pal.Ink, 2*outer.pal.Border
	}
	// At its own height: along the whole of a tall card its level would be out
	// of view, and the mark look empty.
	card := container.New(inset{gapCard, gapCard}, ground,
		container.New(beside{gap: gapCard, top: true}, k.tideMark(f.Urgency, 96), say))
	if f.Urgency >= UrgencyToday {
		return outer.edged(card, outer.pal.Amber, outer.pal.Ink)
	}
	return card
}

// heading is how soon, whom to ring at once, and why. In large type every line
// counts until that is read, so of what is urgent the whole of it comes in one
// language first and then in the other.
func (k *Kit) heading(f FindingText) []fyne.CanvasObject {
	second := ""
	for _, m := range []model.Msg{f.HowSoon, f.Ring} {
		if s := k.t2(m); s != "" && second != "" {
			second += " · " + s
		} else {
			second += s
		}
	}
	if f.Ring.IsZero() || k.look.scale() < 1.5 {
		return []fyne.CanvasObject{k.howSoon(f, second), k.BothSection(f.Title)}
	}
	return []fyne.CanvasObject{k.howSoon(f, ""), k.Section(f.Title),
		newText(run{second, k.px(sizeText), true, k.pal.Ink}, run{k.t2(f.Title), k.px(sizeText), false, k.pal.Ink})}
}

// howSoon is the urgency in words, for the two loud steps in ink on amber, with
// whom to ring and the second language beneath.
func (k *Kit) howSoon(f FindingText, second string) fyne.CanvasObject {
	if f.Urgency < UrgencyToday {
		return k.BothStrong(f.HowSoon)
	}
	t := newText(run{k.t(f.HowSoon), k.px(sizeSection), true, k.pal.OnAmber}, run{k.t(f.Ring), k.px(sizeSection), true, k.pal.OnAmber},
		run{second, k.px(sizeText), false, k.pal.OnAmber})
	return container.New(inset{gap, gapSmall}, k.frame(k.pal.Amber, clear, 0), t)
}

// FindingRow is a finding in a list: the mark small, how soon, and the title;
// open may lead to its card.
func (k *Kit) FindingRow(id string, urgency int, howSoon, title model.Msg, open func()) *Row {
	r := k.row(id, title, howSoon, markGo, false, k.TideMark(urgency))
	r.act = open
	return r
}
