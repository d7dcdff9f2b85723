package ui

import (
	"testing"
	"time"

	"fyne.io/fyne/v2"

	"quietwater/model"
	"quietwater/ui/kit"
)

// hurried opens the program for somebody whose presses follow each other as
// fast as the book's clock says.
func hurried(t *testing.T) *desk {
	d := open(t, newBook(demoBook()))
	d.w.mono = func() time.Duration { return d.book.mono }
	d.book.pass(time.Minute)
	return d
}

// click presses the mouse at the middle of a control, or at a place that is
// given, on whatever is there.
func (d *desk) click(id string) fyne.Position {
	d.t.Helper()
	n := d.node(id)
	at := fyne.NewPos(n.Box.X+n.Box.W/2, n.Box.Y+n.Box.H/2)
	d.clickAt(at)
	return at
}

func (d *desk) clickAt(at fyne.Position) string {
	d.t.Helper()
	hit, id := fyne.Tappable(nil), ""
	kit.Walk(d.top(), nil, func(n *kit.Node) bool {
		if t, ok := n.Object.(fyne.Tappable); ok && n.Box.Holds(at.X, at.Y) && n.Clip.Holds(at.X, at.Y) {
			if m, ok := n.Object.(named); ok {
				hit, id = t, m.Name()
			}
		}
		return true
	})
	if hit != nil {
		hit.Tapped(&fyne.PointEvent{AbsolutePosition: at})
		d.settle()
	}
	return id
}

func (d *desk) top() fyne.CanvasObject {
	if o := d.win.Canvas().Overlays().Top(); o != nil {
		return o
	}
	return d.win.Canvas().Content()
}

func (d *desk) node(id string) (found *kit.Node) {
	d.t.Helper()
	kit.Walk(d.top(), nil, func(n *kit.Node) bool {
		if m, ok := n.Object.(named); ok && m.Name() == id && found == nil {
			found = n
		}
		return true
	})
	if found == nil {
		d.t.Fatalf("there is no %q; on the screen: %v", id, d.ids())
	}
	return found
}

// hold lets a key that is down repeat: it does not go down anew.
func (d *desk) hold(name fyne.KeyName) {
	ev := &fyne.KeyEvent{Name: name}
	if f := d.win.Canvas().Focused(); f != nil {
		f.TypedKey(ev)
	} else {
		d.win.Canvas().OnTypedKey()(ev)
	}
	d.settle()
}

// writing opens the page for a note, with one written.
func (d *desk) writing() {
	p := d.book.records().Book.Persons[0]
	d.w.open(d.w.note(p))
	d.settle()
	d.fill("note", "rang the practice")
	d.book.pass(time.Minute)
}

func TestDoubleClickStaysOnThePage(t *testing.T) {
	d := hurried(t)
	d.writing()
	at := d.click("save")
	d.shows("screen.today")
	d.book.pass(180 * time.Millisecond)
	if id := d.clickAt(at); id == "" {
		t.Fatal("nothing lies under the second click, so that it shows nothing")
	}
	if d.w.task != nil {
		t.Fatalf("the second half of a double click led on, to %v %v", d.w.task != nil, d.ids())
	}
	// A deliberate one there, later, is heeded.
	d.book.pass(600 * time.Millisecond)
	d.clickAt(at)
	if d.w.task == nil {
		t.Fatal("a tap that came later was swallowed")
	}
}

func TestATapElsewhereIsMeant(t *testing.T) {
	d := hurried(t)
	d.writing()
	d.click("save")
	d.book.pass(180 * time.Millisecond)
	d.click("add-drink")
	if d.w.task == nil {
		t.Fatal("a tap at another place was swallowed")
	}
}

func TestHeldKeyStaysOnThePage(t *testing.T) {
	for _, key := range []fyne.KeyName{fyne.KeyReturn, fyne.KeySpace} {
		d := hurried(t)
		d.writing()
		d.to("save")
		d.press(key)
		if d.w.task != nil {
			t.Fatal("nothing was saved")
		}
		d.to("add-drink") // whatever comes to have the keyboard
		for range 40 {    // repeats begin after what is a deliberate press by its time
			d.book.pass(30 * time.Millisecond)
			d.hold(key)
		}
		if d.w.task != nil {
			t.Fatalf("%s held down led on", key)
		}
		d.press(key)
		if d.w.task == nil {
			t.Fatalf("%s pressed anew was swallowed", key)
		}
	}
}

func TestKeyPressedTwice(t *testing.T) {
	for _, c := range []struct {
		name string
		then func(*desk)
		on   bool
	}{
		{"at once", func(d *desk) {}, false},
		{"later", func(d *desk) { d.book.pass(600 * time.Millisecond) }, true},
		{"after Tab", func(d *desk) { d.win.Canvas().FocusNext(); d.to("add-drink") }, true},
	} {
		d := hurried(t)
		d.writing()
		d.to("save")
		d.press(fyne.KeyReturn)
		d.w.focusNext = "add-drink"
		d.w.redraw()
		d.w.echoes.Came(false) // as though the page had opened with it
		c.then(d)
		d.press(fyne.KeyReturn)
		if on := d.w.task != nil; on != c.on {
			t.Errorf("Return twice, %s: led on %v", c.name, on)
		}
	}
}

// Another key is another press: Escape asks, and Return may answer at once.
func TestAnotherKeyIsMeant(t *testing.T) {
	d := hurried(t)
	d.writing()
	d.press(fyne.KeyEscape)
	if d.win.Canvas().Overlays().Top() == nil {
		t.Fatal("leaving did not ask")
	}
	d.press(fyne.KeyEscape)
	if d.win.Canvas().Overlays().Top() == nil {
		t.Fatal("Escape pressed twice answered what it asked")
	}
	d.press(fyne.KeyReturn)
	if d.win.Canvas().Overlays().Top() != nil || d.w.task == nil {
		t.Fatal("the answer was swallowed")
	}
}

// A question over the page is another page, and so is what it uncovers.
func TestDoubleClickAndAQuestion(t *testing.T) {
	d := hurried(t)
	said := 0
	ask := func() {
		d.w.kit.Confirm(d.win.Canvas(), kit.Question{Title: model.T("leave.title"), Body: model.T("leave.note"),
			Keep: model.T("leave.stay"), Do: model.T("leave.go"), Then: func() { said++ }})
		d.settle()
	}
	ask()
	at := d.click("confirm")
	if said != 0 {
		d.book.pass(time.Second)
	}
	ask()
	d.clickAt(at)
	if said != 1 {
		t.Fatalf("the question was answered %d times by one double click", said)
	}
	d.book.pass(time.Second)
	d.clickAt(at)
	if said != 2 {
		t.Fatal("the answer that came later was swallowed")
	}
}

// Nothing of a running test waits: the clock may be stopped the moment it has
// come up. The dip can be told as soon as anybody can have read the page.
func TestTheClockIsNeverSlow(t *testing.T) {
	d := hurried(t)
	d.w.open(d.w.practice(d.book.records().Book.Persons[0]))
	d.settle()
	d.tap("next")
	d.book.pass(time.Second)
	at := d.click("next") // the paper is ready
	d.clickAt(at)
	if !d.has("dip") {
		t.Fatal("a double click on what comes before the dip started the clock", d.ids())
	}
	d.book.pass(600 * time.Millisecond)
	if d.clickAt(at); !d.has("stop") {
		t.Fatal("the dip was swallowed")
	}
	d.w.echoes.Came(true)
	d.click("stop")
	if d.win.Canvas().Overlays().Top() == nil {
		t.Fatal("the clock could not be stopped at once")
	}
}
