package kit

import (
	"time"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/driver/desktop"
)

// A press that comes this soon after a page has come up, at the place of the press
// that brought it up, is the second half of a double click: nobody can have read
// the page. It is what desktops take for one unless told otherwise (common
// practice). echoNear is how far, in units, a hand slips between the two.
const (
	echoFor  = 500 * time.Millisecond
	echoNear = 24
)

// Echoes keeps the second press of a double click, and the repeats of a key that
// is held down, from what the first press has brought up. A nil one hears nothing.
type Echoes struct {
	clock func() time.Duration
	at    fyne.Position // of the press that was heeded last
	byKey bool
	key   fyne.KeyName // that one's; another key is another press
	down  fyne.KeyName // went down last
	// What follows is about the page that came up after that press.
	came  time.Duration // when it did
	fresh bool          // nothing was pressed on it yet
	held  bool          // no key has gone down since; what comes are repeats
	moved bool          // the keyboard was moved, which takes somebody who looks
}

// NewEchoes makes one for a window; clock never jumps and starts anywhere.
func NewEchoes(clock func() time.Duration) *Echoes {
	return &Echoes{clock: clock, at: fyne.NewPos(-2*echoNear, -2*echoNear)} // nothing was pressed yet
}

// Heeding is the same Kit, whose controls ask e whether a press was meant for them.
func (k *Kit) Heeding(e *Echoes) *Kit {
	c := *k
	c.echoes = e
	return &c
}

// Came says that another page is on the screen now, with the keyboard where it
// belongs. Before a running clock no press is an echo: each is urgent.
func (e *Echoes) Came(urgent bool) {
	if e != nil {
		e.came, e.fresh, e.held, e.moved = e.clock(), !urgent, true, false
	}
}

// echo reports a press that was meant for what stood there before; ev is nil for
// a key. Any other is heeded.
func (e *Echoes) echo(ev *fyne.PointEvent) bool {
	if e == nil {
		return false
	}
	soon := e.clock()-e.came < echoFor
	switch {
	case !e.fresh:
	case ev == nil && (e.held || e.byKey && soon && !e.moved && e.down == e.key):
		return true
	case ev != nil && !e.byKey && soon && near(ev.AbsolutePosition, e.at):
		return true
	}
	e.fresh, e.byKey, e.key = false, ev == nil, e.down
	if ev != nil {
		e.at = ev.AbsolutePosition
	}
	return false
}

func near(a, b fyne.Position) bool {
	dx, dy := a.X-b.X, a.Y-b.Y
	return dx*dx+dy*dy <= echoNear*echoNear
}

// KeyDown says that a key has gone down anew, and does not repeat.
func (e *Echoes) KeyDown(ev *fyne.KeyEvent) {
	if e != nil {
		e.held, e.down = false, ev.Name
	}
}

// focusMoved says that something has got the keyboard.
func (e *Echoes) focusMoved() {
	if e != nil {
		e.moved = true
	}
}

// listen hears of the keys that go down while nothing has the keyboard.
func (e *Echoes) listen(c fyne.Canvas) {
	if d, ok := c.(desktop.Canvas); ok {
		d.SetOnKeyDown(e.KeyDown)
	}
}
