package kit

import (
	"strconv"
	"time"

	"fyne.io/fyne/v2/container"

	"quietwater/model"
)

// Countdown shows the seconds left to the next pad so large that they can be
// read standing at the wash basin, and which pad comes next.
type Countdown struct {
	group
	k      *Kit
	digits *Text
	word   *Text
	next   *Text
	note   *Text
}

// Countdown makes one; it shows nothing until Set.
func (k *Kit) Countdown() *Countdown {
	c := &Countdown{k: k}
	c.digits, c.word, c.next, c.note = newText(), newText(), newText(), newText()
	c.note.Hide()
	c.hold(c, container.New(beside{gap: gapCard, top: true}, c.digits, k.Tight(c.word, c.next, c.note)))
	return c
}

// Tell sets a line beside the digits, where large type has room for it; the zero
// message takes it away.
func (c *Countdown) Tell(m model.Msg) {
	k := c.k
	c.note.setRuns([]run{{k.t(m), k.px(sizeSection), true, k.pal.Ink}, {k.t2(m), k.px(sizeText), false, k.pal.Muted}})
	if m.IsZero() {
		c.note.Hide()
	} else {
		c.note.Show()
	}
	c.note.Refresh()
	c.Refresh()
}

// Set shows the time left, rounded up so that 0 means now, and the next pad's
// name; with the zero message nothing is said of what comes next. Call it from the toolkit's own goroutine.
func (c *Countdown) Set(left time.Duration, pad model.Msg) {
	k := c.k
	s := int(max((left+time.Second-1)/time.Second, 0))
	shown, unit := strconv.Itoa(s), model.T("kit.seconds", "n", s)
	if s >= 100 {
		shown, unit = strconv.Itoa(s/60)+":"+twoDigits(s%60), model.T("kit.minutes-seconds")
	}
	c.digits.setRuns([]run{{shown, max(k.px(sizeCountdown), sizeRoomy), true, k.pal.Ink}})
	// As wide as the widest two figures, so that the words beside stand still.
	wide := "00"
	if s >= 100 {
		wide = "0:00"
	}
	c.digits.least = max(c.digits.least, c.digits.runs[0].measure(wide).Width+2)
	c.word.setRuns([]run{{k.t(unit), k.px(sizeSection), false, k.pal.Muted}, {k.t2(unit), k.px(sizeSection), false, k.pal.Muted}})
	next := model.Msg{}
	c.next.Hide()
	if !pad.IsZero() {
		next = model.T("kit.next-pad", "pad", pad)
		c.next.Show()
	}
	c.next.setRuns([]run{{k.t(next), k.px(sizeStep), true, k.pal.Ink}, {k.t2(next), k.px(sizeStep), false, k.pal.Muted}})
	for _, t := range []*Text{c.digits, c.word, c.next} {
		t.Refresh()
	}
	c.Refresh()
}
