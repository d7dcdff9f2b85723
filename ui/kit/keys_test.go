package kit_test

import (
	"bytes"
	"encoding/json"
	"image"
	"slices"
	"strings"
	"sync"
	"testing"
	"time"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/canvas"
	"fyne.io/fyne/v2/driver/desktop"
	"fyne.io/fyne/v2/test"

	"quietwater/model"
	"quietwater/ui/kit"
	"quietwater/ui/kit/kittest"
)

var light = kit.Look{Scale: 1}

// press sends keys to whatever has the keyboard, or to the window.
func press(w fyne.Window, names ...fyne.KeyName) {
	for _, n := range names {
		if n == fyne.KeyTab {
			w.Canvas().FocusNext()
			continue
		}
		ev := &fyne.KeyEvent{Name: n}
		if f := w.Canvas().Focused(); f != nil {
			f.TypedKey(ev)
		} else if f := w.Canvas().OnTypedKey(); f != nil {
			f(ev)
		}
	}
	kittest.Settle(w.Canvas())
}

func focused(w fyne.Window) string {
	if n, ok := w.Canvas().Focused().(interface{ Name() string }); ok {
		return n.Name()
	}
	return ""
}

func line(t *testing.T, w fyne.Window, id string) kit.ProbeLine {
	t.Helper()
	for _, l := range kit.Probe(w.Canvas(), "story") {
		if l.ID == id {
			return l
		}
	}
	t.Fatalf("there is no %q on the screen", id)
	return kit.ProbeLine{}
}

func sees(w fyne.Window, text string) bool {
	return slices.ContainsFunc(kit.Probe(w.Canvas(), ""), func(l kit.ProbeLine) bool { return strings.Contains(l.Text, text) })
}

func start(t *testing.T, build func(k *kit.Kit) []fyne.CanvasObject) fyne.Window {
	t.Helper()
	dress(t, light)
	k := kit.New(english(t), light)
	w := show(t, light, framed(k, build(k)...))
	kit.Keys(w.Canvas(), nil)
	return w
}

func TestButtonByKeyboard(t *testing.T) {
	taps := 0
	var b *kit.Button
	w := start(t, func(k *kit.Kit) []fyne.CanvasObject {
		b = k.Button("do-it", m("story.weigh"), func() { taps++ })
		return []fyne.CanvasObject{b}
	})
	press(w, fyne.KeyTab, fyne.KeyTab)
	if focused(w) != "do-it" {
		t.Fatalf("Tab came to %q", focused(w))
	}
	press(w, fyne.KeySpace, fyne.KeyReturn, fyne.KeyEnter, fyne.KeyA)
	test.Tap(b)
	if taps != 4 {
		t.Errorf("pressed %d times, want 4: Space, Return, Enter, tap", taps)
	}
	b.Disable()
	test.Tap(b)
	press(w, fyne.KeySpace)
	if taps != 4 || !line(t, w, "do-it").Disabled {
		t.Error("a disabled button can be pressed")
	}
}

// TestRing: what has the keyboard shows it, and nothing else does.
func TestRing(t *testing.T) {
	p := light.Palette()
	w := start(t, func(k *kit.Kit) []fyne.CanvasObject {
		return []fyne.CanvasObject{k.Field(kit.Ask{ID: "name", Label: m("story.note")}, "", nil), k.Check("tick", m("story.ask"), false, nil),
			k.SwatchRow("protein", m("story.pads"), blocks, -1, nil), k.TextLink("link", m("story.link"), nothing)}
	})
	rings := func() (n int) {
		for _, node := range kittest.Nodes(w.Canvas()) {
			if r, ok := node.Object.(*canvas.Rectangle); ok && r.StrokeColor == p.Focus && r.StrokeWidth >= 3 {
				n++
			}
		}
		return n
	}
	if rings() != 0 {
		t.Error("a ring without the keyboard")
	}
	for range 12 {
		press(w, fyne.KeyTab)
		if rings() != 1 {
			t.Errorf("%q has the keyboard and %d rings", focused(w), rings())
		}
	}
}

func TestChoiceByKeyboard(t *testing.T) {
	var said []string
	var c *kit.Choice
	w := start(t, func(k *kit.Kit) []fyne.CanvasObject {
		c = k.Choice("first", m("story.ask"), []kit.Option{{ID: "yes", Label: m("do.yes")}, {ID: "no", Label: m("do.no")}, {ID: "unsure", Label: m("do.unsure")}}, "",
			func(s string) { said = append(said, s) })
		return []fyne.CanvasObject{c}
	})
	if c.Selected() != "" {
		t.Error("something is answered before anybody did")
	}
	press(w, fyne.KeyTab, fyne.KeyTab, fyne.KeySpace, fyne.KeyDown, fyne.KeyDown, fyne.KeyDown, fyne.KeyUp)
	if want := []string{"yes", "no", "unsure", "no"}; !slices.Equal(said, want) || c.Selected() != "no" || focused(w) != "first-no" {
		t.Errorf("said %v, selected %q at %q", said, c.Selected(), focused(w))
	}
	c.SetProblem(m("story.problem"))
	if !sees(w, "Did you mean 97") || c.Selected() != "no" {
		t.Error("the problem is not shown, or the answer is lost")
	}
}

func TestCheckByKeyboard(t *testing.T) {
	on := false
	w := start(t, func(k *kit.Kit) []fyne.CanvasObject {
		return []fyne.CanvasObject{k.Check("tick", m("story.ask"), false, func(b bool) { on = b })}
	})
	press(w, fyne.KeyTab, fyne.KeyTab, fyne.KeySpace)
	if !on {
		t.Error("Space does not tick")
	}
	press(w, fyne.KeyReturn)
	if on {
		t.Error("Return does not take the tick away")
	}
}

func TestSelectByKeyboard(t *testing.T) {
	got := ""
	w := start(t, func(k *kit.Kit) []fyne.CanvasObject {
		return []fyne.CanvasObject{k.Select("pack", m("story.pack"), []kit.Option{{ID: "a", Label: m("do.yes")}, {ID: "b", Label: m("do.no")}}, "", func(s string) { got = s })}
	})
	press(w, fyne.KeyTab, fyne.KeyTab, fyne.KeyDown, fyne.KeyDown)
	if focused(w) != "pack-b" {
		t.Fatalf("the keyboard is at %q", focused(w))
	}
	press(w, fyne.KeyEscape)
	if focused(w) != "pack" || got != "" || sees(w, "Not sure") {
		t.Errorf("Escape left it at %q with %q", focused(w), got)
	}
	press(w, fyne.KeySpace, fyne.KeyTab, fyne.KeyTab, fyne.KeyReturn)
	if got != "b" || focused(w) != "pack" || line(t, w, "pack").Text != "No" {
		t.Errorf("chose %q, keyboard at %q, shows %q", got, focused(w), line(t, w, "pack").Text)
	}
}

func TestListByKeyboard(t *testing.T) {
	opened := ""
	w := start(t, func(k *kit.Kit) []fyne.CanvasObject {
		return []fyne.CanvasObject{k.List(
			kit.ListItem{ID: "one", Title: m("story.pack"), Open: func() { opened = "one" }},
			kit.ListItem{ID: "two", Title: m("story.pad"), Open: func() { opened = "two" }})}
	})
	press(w, fyne.KeyTab, fyne.KeyTab, fyne.KeyDown, fyne.KeySpace)
	if opened != "two" {
		t.Errorf("opened %q", opened)
	}
}

func TestSwatchesByKeyboard(t *testing.T) {
	picked := -1
	var s *kit.Swatches
	w := start(t, func(k *kit.Kit) []fyne.CanvasObject {
		s = k.SwatchRow("protein", m("story.pads"), blocks, -1, func(i int) { picked = i })
		return []fyne.CanvasObject{s}
	})
	press(w, fyne.KeyTab, fyne.KeyTab)
	if picked != -1 || s.Selected() != -1 {
		t.Fatalf("Tab alone picked %d", picked)
	}
	press(w, fyne.KeySpace, fyne.KeyRight, fyne.KeyRight)
	if picked != 2 || s.Selected() != 2 || focused(w) != "protein-2" || !sees(w, "✓ Chosen") {
		t.Errorf("picked %d, keyboard at %q", picked, focused(w))
	}
	press(w, fyne.KeyEnd)
	if picked != kit.CouldNotTell || s.Selected() != kit.CouldNotTell || focused(w) != "protein-unclear" {
		t.Errorf("picked %d for what could not be told, keyboard at %q", picked, focused(w))
	}
	press(w, fyne.KeyLeft)
	if last := len(blocks) - 1; picked != last || s.Selected() != last {
		t.Errorf("picked %d back from what could not be told", picked)
	}
	// R09 and R12: each block has its printed value, and the page says what
	// the squares are for.
	for _, b := range blocks {
		if !sees(w, b.Value) {
			t.Errorf("block %q is not named", b.Value)
		}
	}
	if !sees(w, "printed chart in your hand") {
		t.Error("nothing says that the screen is not for matching")
	}
}

func TestFieldKeepsWhatWasTyped(t *testing.T) {
	var f *kit.NumberField
	heard := ""
	w := start(t, func(k *kit.Kit) []fyne.CanvasObject {
		f = k.NumberField(kit.Ask{ID: "creatinine", Label: m("story.creat")}, "", []kit.Option{{ID: "umol/L", Label: m("story.umol")}, {ID: "mg/dL", Label: m("story.mg")}}, "",
			func(typed, unit string) { heard = typed + " " + unit })
		return []fyne.CanvasObject{f}
	})
	if f.Unit() != "" {
		t.Error("a unit is chosen before anybody did")
	}
	press(w, fyne.KeyTab, fyne.KeyTab)
	test.Type(w.Canvas().Focused(), "1,10")
	press(w, fyne.KeyTab, fyne.KeySpace)
	f.SetProblem(m("story.problem"))
	kittest.Settle(w.Canvas())
	if f.Text() != "1,10" || f.Unit() != "umol/L" || heard != "1,10 umol/L" || !sees(w, "Did you mean 97") {
		t.Errorf("typed %q %q, heard %q", f.Text(), f.Unit(), heard)
	}
	box, why := line(t, w, "creatinine"), kit.ProbeLine{}
	for _, l := range kit.Probe(w.Canvas(), "") {
		if strings.Contains(l.Text, "Did you mean") {
			why = l
		}
	}
	if why.Y < box.Y+box.H {
		t.Error("the problem does not stand after the field")
	}
	f.SetProblem(model.Msg{})
	if sees(w, "Did you mean 97") {
		t.Error("the problem stays")
	}
}

func TestDateField(t *testing.T) {
	dress(t, light)
	k := kit.New(english(t), light)
	zone := time.FixedZone("", 2*3600)
	now := time.Date(2026, 3, 1, 7, 0, 0, 0, zone)
	for _, c := range []struct{ day, month, year, want, problem string }{
		{"6", "8", "2018", "2018-08-06", ""},
		{"29", "2", "2024", "2024-02-29", ""},
		{"29", "2", "2023", "", "kit.date-impossible"},
		{"31", "4", "2024", "", "kit.date-impossible"},
		{"0", "4", "2024", "", "kit.date-impossible"},
		{"366", "1", "2023", "", "kit.date-impossible"}, // 1 January of the next year, were it counted on
		{"3/4", "4", "2024", "", "kit.date-impossible"},
		{"6", "", "2018", "", "kit.date-incomplete"},
		{"6", "8", "", "", "kit.date-incomplete"},
		{"6", "8", "18", "", "kit.date-year"},
		{"6", "8", "20l8", "", "kit.date-year"},
		{"", "2", "2028", "2028-02-29", ""}, // a month on a pack is its last day
	} {
		f := k.DateField(kit.AskDate{ID: "when", Label: m("story.when"), Today: now, MonthOnly: c.day == ""})
		w := show(t, light, f)
		fill(t, w, "when-day", c.day)
		fill(t, w, "when-year", c.year)
		if c.month != "" {
			test.Tap(find(t, w, "when-month").(fyne.Tappable))
			test.Tap(find(t, w, "when-month-"+c.month).(fyne.Tappable))
		}
		got, problem := f.Value()
		why := ""
		if problem != nil {
			why = problem.Why.Key
		}
		if got.String() != c.want || why != c.problem {
			t.Errorf("%s %s %s: %q, problem %q; want %q, %q", c.day, c.month, c.year, got, why, c.want, c.problem)
		}
	}
	f := k.DateField(kit.AskDate{ID: "when", Label: m("story.when"), Today: now, Recent: true})
	w := show(t, light, f)
	if !f.Empty() {
		t.Error("a date nobody gave is filled in")
	}
	test.Tap(find(t, w, "when-yesterday").(fyne.Tappable))
	if focused(w) != "when-yesterday" {
		t.Errorf("a tap on yesterday takes the keyboard to %q", focused(w))
	}
	if got, _ := f.Value(); got.String() != "2026-02-28" {
		t.Errorf("the day before 1 March is %v", got)
	}
	pre := k.DateField(kit.AskDate{ID: "when", Label: m("story.when"), Today: now, Value: model.OnDay(now)})
	if got, p := pre.Value(); p != nil || got.String() != "2026-03-01" {
		t.Errorf("prefilled with 1 March it says %v %v", got, p)
	}
}

func TestTimeField(t *testing.T) {
	dress(t, light)
	k := kit.New(english(t), light)
	for _, c := range []struct {
		hour, minute string
		ok           bool
	}{{"7", "40", true}, {"00", "00", true}, {"23", "59", true}, {"24", "00", false}, {"7", "60", false}, {"7", "", false}, {"-1", "0", false}, {"7.5", "0", false}} {
		f := k.TimeField(kit.AskTime{ID: "time", Label: m("story.time"), Hour: -1})
		w := show(t, light, f)
		fill(t, w, "time-hour", c.hour)
		fill(t, w, "time-minute", c.minute)
		if _, _, p := f.Value(); (p == nil) != c.ok {
			t.Errorf("%s:%s: %v", c.hour, c.minute, p)
		}
	}
}

func find(t *testing.T, w fyne.Window, id string) (found fyne.CanvasObject) {
	t.Helper()
	kit.Walk(w.Canvas().Content(), nil, func(n *kit.Node) bool {
		if x, ok := kit.Target(n.Object); ok && x.ID == id {
			found = n.Object
		}
		return true
	})
	if found == nil {
		t.Fatalf("there is no %q", id)
	}
	return found
}

func fill(t *testing.T, w fyne.Window, id, text string) {
	t.Helper()
	find(t, w, id).(*kit.Entry).SetText(text)
}

// TestPageKeys: Escape is back wherever the keyboard is, paging scrolls, and
// Tab never leaves the keyboard on something out of view.
func TestPageKeys(t *testing.T) {
	dress(t, light)
	k := kit.New(long(t), light)
	backs := 0
	var many []fyne.CanvasObject
	for range 30 {
		many = append(many, k.Field(kit.Ask{ID: "field", Label: m("story.note")}, "", nil))
	}
	p := k.Page(kit.PageParts{Title: m("story.title"), Content: many, Back: k.Button("back", m("do.back"), func() { backs++ }), Main: k.MainButton("next", m("do.next"), nothing)})
	w := show(t, light, p)
	kit.Keys(w.Canvas(), nil)
	press(w, fyne.KeyPageDown)
	if p.Offset() < 200 {
		t.Errorf("Page Down scrolled to %.0f", p.Offset())
	}
	press(w, fyne.KeyHome)
	if p.Offset() != 0 {
		t.Errorf("Home scrolled to %.0f", p.Offset())
	}
	press(w, fyne.KeyEscape)
	for range 40 {
		press(w, fyne.KeyTab)
		for _, l := range kit.Probe(w.Canvas(), "") {
			if o, ok := w.Canvas().Focused().(fyne.CanvasObject); ok && l.Hidden && l.ID == focused(w) {
				if pos := fyne.CurrentApp().Driver().AbsolutePositionForObject(o); pos.Y == l.Y {
					t.Fatalf("the keyboard is at %v, out of view", l)
				}
			}
		}
	}
	press(w, fyne.KeyEscape)
	if backs != 2 {
		t.Errorf("Escape went back %d times, want 2", backs)
	}
}

func TestConfirmByKeyboard(t *testing.T) {
	done, kept := 0, 0
	w := start(t, func(k *kit.Kit) []fyne.CanvasObject {
		return []fyne.CanvasObject{k.Button("x", m("story.del"), nothing)}
	})
	k := kit.New(english(t), light)
	q := kit.Question{Title: m("story.del-q"), Body: m("story.del-b"), Keep: m("do.keep"), Do: m("story.del"), Danger: true, Then: func() { done++ }, Kept: func() { kept++ }}
	press(w, fyne.KeyTab, fyne.KeyTab)
	k.Confirm(w.Canvas(), q)
	if focused(w) != "keep" {
		t.Errorf("the keyboard is at %q", focused(w))
	}
	press(w, fyne.KeyEscape)
	if kept != 1 || done != 0 || w.Canvas().Overlays().Top() != nil || focused(w) != "x" {
		t.Errorf("Escape: kept %d, done %d, keyboard at %q", kept, done, focused(w))
	}
	k.Confirm(w.Canvas(), q)
	w.Canvas().Unfocus()
	press(w, fyne.KeyEscape)
	if kept != 2 {
		t.Error("Escape is lost when nothing has the keyboard")
	}
	k.Confirm(w.Canvas(), q)
	press(w, fyne.KeyTab, fyne.KeyReturn)
	if done != 1 || kept != 2 {
		t.Errorf("Tab and Return: done %d, kept %d", done, kept)
	}
}

func TestSavedBarStays(t *testing.T) {
	dress(t, light)
	k := kit.New(english(t), light)
	undone := false
	p := pages["words"](k)
	w := show(t, light, p)
	p.SetBar(k.SavedBar(m("story.saved"), func() { undone = true }, func() { p.SetBar(nil) }))
	kittest.Settle(w.Canvas())
	for _, trouble := range kittest.Check(w.Canvas()) {
		t.Error(trouble)
	}
	test.Tap(find(t, w, "undo").(fyne.Tappable))
	if !undone || !sees(w, "72.5") {
		t.Error("undo was not heard, or the bar went by itself")
	}
	test.Tap(find(t, w, "close-notice").(fyne.Tappable))
	if sees(w, "72.5") {
		t.Error("the bar cannot be closed")
	}
}

func TestCountdown(t *testing.T) {
	dress(t, light)
	k := kit.New(english(t), light)
	c := k.Countdown()
	w := show(t, light, c)
	for _, row := range []struct {
		left time.Duration
		want string
	}{{60 * time.Second, "60"}, {59*time.Second + time.Millisecond, "60"}, {time.Second, "1"}, {0, "0"}, {-time.Second, "0"}, {2 * time.Minute, "2:00"}, {100 * time.Second, "1:40"}} {
		c.Set(row.left, m("story.pad"))
		size := float32(0)
		for _, n := range kittest.Nodes(w.Canvas()) {
			if x, ok := n.Object.(*canvas.Text); ok && x.Text == row.want {
				size = x.TextSize
			}
		}
		if row.left == time.Second != slices.ContainsFunc(kit.Probe(w.Canvas(), ""), func(l kit.ProbeLine) bool { return l.Text == "second" }) {
			t.Errorf("%v left is counted in the wrong words", row.left)
		}
		if size < 92 || !sees(w, "Next: Blood") {
			t.Errorf("%v left: %q stands there %v units high", row.left, row.want, size)
		}
	}
}

func TestChartIsDrawnBesideTheWindow(t *testing.T) {
	dress(t, light)
	k := kit.New(english(t), light)
	var mu sync.Mutex
	var asked []image.Point
	drawn, draw := make(chan bool, 10), make(chan bool, 10)
	v := k.ChartView(kit.AskChart{ID: "weight", Alt: m("story.alt"), Height: 200,
		Draw: func(w, h int, scale float32) image.Image {
			mu.Lock()
			asked = append(asked, image.Pt(w, h))
			mu.Unlock()
			<-draw
			defer func() { drawn <- true }()
			return wave(w, h, scale)
		},
		Words: func() []model.Msg { return []model.Msg{m("story.f-src")} }})
	w := show(t, light, v)
	w.Canvas().Capture() // the window is painted while the chart is not
	w.Canvas().Capture()
	draw <- true
	<-drawn
	w.Canvas().Capture()
	w.Canvas().Capture()
	mu.Lock()
	if len(asked) != 1 {
		t.Errorf("drawn %d times for one size: %v", len(asked), asked)
	}
	mu.Unlock()
	v.Redraw()
	w.Canvas().Capture()
	draw <- true
	<-drawn
	if !sees(w, "from 73.1 down") {
		t.Error("what the chart shows is not said in words")
	}
	if sees(w, "guideline") {
		t.Error("the long words are there unasked")
	}
	test.Tap(find(t, w, "weight-words").(fyne.Tappable))
	if !sees(w, "guideline") || focused(w) != "weight-words-away" {
		t.Error("the chart cannot be read as words")
	}
}

// TestTwoLanguages: the second stands under the first, and is left out where
// it would only repeat it or was not asked for.
func TestTwoLanguages(t *testing.T) {
	dress(t, light)
	k := kit.New(long(t), light)
	count := func(o fyne.CanvasObject) (n int) {
		w := show(t, light, o)
		for _, l := range kit.Probe(w.Canvas(), "") {
			if l.Label {
				n++
			}
		}
		return n
	}
	if n := count(k.Both(m("story.f-do"))); n != 2 {
		t.Errorf("Both says it %d times", n)
	}
	if n := count(k.Text(m("story.f-do"))); n != 1 {
		t.Errorf("Text says it %d times", n)
	}
	if n := count(k.First().Button("x", m("story.f-do"), nothing)); n != 1 {
		t.Errorf("First says it %d times", n)
	}
	if n := count(k.Both(kit.Said("Rosa"))); n != 1 {
		t.Errorf("a name is said %d times", n)
	}
}

// TestProbe reads back what scripts are told, through the form they read.
func TestProbe(t *testing.T) {
	w := start(t, func(k *kit.Kit) []fyne.CanvasObject {
		off := k.Button("off", m("story.knows"), nothing)
		off.Disable()
		far := k.Column()
		for range 40 {
			far.Add(k.Text(m("story.para")))
		}
		return []fyne.CanvasObject{off, k.Field(kit.Ask{ID: "name", Label: m("story.note")}, "Ana", nil), far, k.Button("far", m("story.called"), nothing)}
	})
	var out bytes.Buffer
	w.Canvas().Focus(nil)
	if got := kit.Focused(w.Canvas()); got != "" {
		t.Errorf("nothing has the keyboard, and it is called %q", got)
	}
	if err := kit.WriteProbe(&out, 7, "story", "next", kit.Probe(w.Canvas(), "story")); err != nil {
		t.Fatal(err)
	}
	lines := strings.Split(strings.TrimSpace(out.String()), "\n")
	if lines[0] != `{"frame":7,"screen":"story","focus":"next"}` {
		t.Errorf("the block begins with %s", lines[0])
	}
	got := map[string]kit.ProbeLine{}
	labels := map[string]bool{}
	for _, l := range lines[1:] {
		var p kit.ProbeLine
		if err := json.Unmarshal([]byte(l), &p); err != nil || p.Screen != "story" {
			t.Fatalf("%s: %v", l, err)
		}
		if p.Label {
			labels[p.Text] = true
		} else {
			got[p.ID] = p
		}
	}
	if p := got["start-test"]; p.Text != "Start a strip test" || p.Hidden || p.W < 100 || p.Y < 700 || p.X+p.W > 1280 {
		t.Errorf("main button: %+v", p)
	}
	if p := got["off"]; !p.Disabled {
		t.Errorf("disabled button: %+v", p)
	}
	if p := got["far"]; !p.Hidden || p.Y < 800 {
		t.Errorf("button far below: %+v", p)
	}
	if p := got["name"]; p.Text != "What did the doctor say?" || !labels["Ana"] {
		t.Errorf("field: %+v", p)
	}
	// A tap on the middle of what the probe names reaches it.
	pos := got["start-test"]
	if o := find(t, w, "start-test"); fyne.CurrentApp().Driver().AbsolutePositionForObject(o) != fyne.NewPos(pos.X, pos.Y) {
		t.Errorf("the toolkit has it elsewhere than %v", pos)
	}
}

// TestCouldNotTellInLargeType: it stands in view, before the blocks, and the
// keys go through the answers as they stand.
func TestCouldNotTellInLargeType(t *testing.T) {
	look := kit.Look{Scale: 2}
	dress(t, look)
	k := kit.New(long(t), look)
	picked := -1
	w := show(t, look, framed(k, k.SwatchRow("protein", m("story.pads"), blocks, -1, func(i int) { picked = i })))
	w.Resize(fyne.Size{Width: 1280, Height: 800})
	kittest.Settle(w.Canvas())
	tell, first := line(t, w, "protein-unclear"), line(t, w, "protein-0")
	if tell.Y+tell.H > first.Y || tell.Hidden {
		t.Errorf("it stands at %.0f, hidden: %v; the blocks at %.0f", tell.Y, tell.Hidden, first.Y)
	}
	w.Canvas().Focus(find(t, w, "protein-0").(fyne.Focusable))
	for _, step := range []struct {
		key  fyne.KeyName
		want int
	}{{fyne.KeyRight, 1}, {fyne.KeyLeft, 0}, {fyne.KeyLeft, kit.CouldNotTell}, {fyne.KeyRight, 0}, {fyne.KeyEnd, len(blocks) - 1}, {fyne.KeyHome, kit.CouldNotTell}} {
		press(w, step.key)
		if picked != step.want {
			t.Errorf("%s chose %d, not %d", step.key, picked, step.want)
		}
	}
}

// TestSwatchesOnOneLine: up to seven blocks stand beside each other in the
// largest type and two languages, each with its unit.
func TestSwatchesOnOneLine(t *testing.T) {
	seven := slices.Clone(blocks)
	for i, v := range []string{"3000", "≥ 20000"} {
		seven = append(seven, kit.Swatch{Value: v, Unit: "mg/dL", Grade: m("story.much"), RGB: [3]uint8{20, 60, 90}, Step: len(blocks) + i})
	}
	for _, scale := range kit.Scales() {
		look := kit.Look{Scale: scale}
		dress(t, look)
		k := kit.New(long(t), look)
		p := framed(k, k.SwatchRow("protein", m("story.pads"), seven, 2, nil))
		w := show(t, look, p)
		for _, size := range []fyne.Size{{Width: 1280, Height: 800}, {Width: 960, Height: 640}, {Width: 1280, Height: 800}} {
			w.Resize(size)
			p.ScrollTo(0)
			kittest.Settle(w.Canvas())
			first := line(t, w, "protein-0")
			for _, id := range []string{"protein-1", "protein-4", "protein-6"} {
				if l := line(t, w, id); l.Y != first.Y || l.W < 44 || l.X+l.W > size.Width {
					t.Errorf("%.0f %% in %v: %s is at %.0f,%.0f, %.0f wide; the first is at %.0f", scale*100, size, id, l.X, l.Y, l.W, first.Y)
				}
			}
			squares := map[float32]bool{}
			for _, n := range kittest.Nodes(w.Canvas()) {
				if _, ok := n.Object.(*canvas.Raster); ok {
					squares[n.Box.Y] = true
					if size.Height == 800 && n.Box.Cut(n.Clip).H < n.Box.H-0.5 {
						t.Errorf("%.0f %%: of the square at %v only %v is seen", scale*100, n.Box, n.Clip)
					}
				}
			}
			if len(squares) != 1 {
				t.Errorf("%.0f %% in %v: the squares stand at heights %v", scale*100, size, squares)
			}
			for _, trouble := range kittest.Check(w.Canvas()) {
				t.Errorf("%.0f %% in %v: %v", scale*100, size, trouble)
			}
		}
		if !sees(w, "mg/dL") {
			t.Error("the unit is not shown")
		}
	}
}

// TestHoverIsNoChoice: what the pointer is on does not look chosen.
func TestHoverIsNoChoice(t *testing.T) {
	for _, ink := range kit.Inks() {
		look := kit.Look{Scale: 1, Ink: ink}
		dress(t, look)
		k := kit.New(english(t), look)
		w := show(t, look, k.Choice("first", m("story.ask"), []kit.Option{{ID: "yes", Label: m("do.yes")}, {ID: "no", Label: m("do.no")}}, "yes", nil))
		body := func(id string) *canvas.Rectangle {
			return find(t, w, id).(*kit.Row).Parts()[1].(*canvas.Rectangle)
		}
		before := *body("first-no")
		find(t, w, "first-no").(*kit.Row).MouseIn(nil)
		chosen, hovered := body("first-yes"), body("first-no")
		if hovered.FillColor != before.FillColor || hovered.StrokeWidth <= before.StrokeWidth || hovered.StrokeWidth >= chosen.StrokeWidth {
			t.Errorf("%s: under the pointer %v %.1f, before %v %.1f, chosen %v %.1f", inkNames[ink], hovered.FillColor, hovered.StrokeWidth,
				before.FillColor, before.StrokeWidth, chosen.FillColor, chosen.StrokeWidth)
		}
	}
}

// TestFixedStays: what is fixed is whole and in its place however far the page
// is scrolled, in the largest type and two languages.
func TestFixedStays(t *testing.T) {
	for _, next := range []model.Msg{{}, m("story.pad")} {
		look := kit.Look{Scale: 2}
		dress(t, look)
		k := kit.New(long(t), look)
		c := k.Countdown()
		c.Set(42*time.Second, next)
		var many []fyne.CanvasObject
		for range 10 {
			many = append(many, k.Both(m("story.para")))
		}
		p := k.Page(kit.PageParts{Title: m("story.title"), Fixed: c, Content: many, Back: k.Button("back", m("do.back"), nothing)})
		w := show(t, look, p)
		for _, y := range []float32{0, 300} {
			p.ScrollTo(y)
			kittest.Settle(w.Canvas())
			for _, n := range kittest.Nodes(w.Canvas()) {
				if n.Object == fyne.CanvasObject(c) {
					if cut := n.Box.Cut(n.Clip); cut.H < n.Box.H-0.5 || cut.W < n.Box.W-0.5 || n.Box.H < 200 {
						t.Errorf("scrolled by %.0f, next %q: of %v only %v is seen", y, next.Key, n.Box, cut)
					}
				}
			}
			for _, trouble := range kittest.Check(w.Canvas()) {
				t.Error(trouble)
			}
		}
	}
}

// TestBarLeavesRoom: a bar never takes more than its share, and all of it can
// be come to.
func TestBarLeavesRoom(t *testing.T) {
	look := kit.Look{Scale: 2}
	dress(t, look)
	k := kit.New(long(t), look)
	p := pages["words"](k)
	w := show(t, look, p)
	p.SetBar(k.Notice(kit.NoticeFailed, m("story.not-saved"), k.Button("close-notice", m("do.close"), func() { p.SetBar(nil) })))
	for _, size := range []fyne.Size{{Width: 1280, Height: 800}, {Width: 960, Height: 640}} {
		w.Resize(size)
		kittest.Settle(w.Canvas())
		for _, trouble := range kittest.Check(w.Canvas()) {
			t.Errorf("%v: %v", size, trouble)
		}
		shut := find(t, w, "close-notice")
		w.Canvas().Focus(shut.(fyne.Focusable))
		kittest.Settle(w.Canvas())
		for _, n := range kittest.Nodes(w.Canvas()) {
			if n.Object == shut && (n.Box.Cut(n.Clip).H < n.Box.H-0.5 || n.Clip.H > size.Height*0.4+1) {
				t.Errorf("%v: the button is at %v, the bar at %v", size, n.Box, n.Clip)
			}
		}
	}
}

// TestClickOnHalfABox: the page stands still until the mouse button is up.
func TestClickOnHalfABox(t *testing.T) {
	dress(t, light)
	k := kit.New(english(t), light)
	far := k.Column()
	for range 40 {
		far.Add(k.Text(m("story.para")))
	}
	p := framed(k, far, k.Field(kit.Ask{ID: "name", Label: m("story.note")}, "", nil))
	w := show(t, light, p)
	kittest.Settle(w.Canvas())
	box := find(t, w, "name").(*kit.Entry)
	box.MouseDown(&desktop.MouseEvent{Button: desktop.MouseButtonPrimary})
	if p.Offset() != 0 || focused(w) != "name" {
		t.Errorf("with the button down the page is at %.0f and the keyboard at %q", p.Offset(), focused(w))
	}
	box.MouseUp(&desktop.MouseEvent{Button: desktop.MouseButtonPrimary})
	if p.Offset() == 0 || focused(w) != "name" {
		t.Errorf("after the click the page is at %.0f and the keyboard at %q", p.Offset(), focused(w))
	}
	p.ScrollTo(0)
	w.Canvas().Unfocus()
	w.Canvas().Focus(box)
	if p.Offset() == 0 {
		t.Error("the keyboard went to a box out of view")
	}
}

// TestWheelOverABox: the page moves under the wheel also where a box lies, and
// nothing else of the box is taken away from the mouse.
func TestWheelOverABox(t *testing.T) {
	dress(t, light)
	k := kit.New(english(t), light)
	far := k.Column()
	for range 40 {
		far.Add(k.Text(m("story.para")))
	}
	p := framed(k, k.Field(kit.Ask{ID: "note", Label: m("story.note"), Lines: 3}, "", nil), far)
	w := show(t, light, p)
	kittest.Settle(w.Canvas())
	box := find(t, w, "note")
	middle := fyne.CurrentApp().Driver().AbsolutePositionForObject(box).AddXY(box.Size().Width/2, box.Size().Height/2)
	var wheel fyne.Scrollable
	var mouse desktop.Mouseable
	for _, n := range kittest.Nodes(w.Canvas()) { // what lies on top comes last
		if o := n.Object; n.Box.X <= middle.X && middle.X < n.Box.X+n.Box.W && n.Box.Y <= middle.Y && middle.Y < n.Box.Y+n.Box.H {
			if s, ok := o.(fyne.Scrollable); ok {
				wheel = s
			}
			if s, ok := o.(desktop.Mouseable); ok {
				mouse = s
			}
		}
	}
	wheel.Scrolled(&fyne.ScrollEvent{Scrolled: fyne.NewDelta(0, -120)})
	if p.Offset() == 0 {
		t.Errorf("the wheel over a box moves nothing: %T has it", wheel)
	}
	if mouse != desktop.Mouseable(box.(*kit.Entry)) {
		t.Errorf("%T has the mouse, not the box", mouse)
	}
}

// TestLeafWithoutAName has no letter on it, since there is none to show.
func TestLeafWithoutAName(t *testing.T) {
	dress(t, light)
	k := kit.New(english(t), light)
	for name, want := range map[string]string{"": "", "  ": "", "rosa": "R", " Águeda": "Á"} {
		w := show(t, light, k.Leaf(1, name))
		got, plates := "", 0
		for _, n := range kittest.Nodes(w.Canvas()) {
			switch o := n.Object.(type) {
			case *canvas.Text:
				got += o.Text
			case *canvas.Circle:
				plates++
			}
		}
		if got != want || (plates > 0) != (want != "") {
			t.Errorf("%q: %q on %d plates, want %q", name, got, plates, want)
		}
	}
}

// TestTideMarkIsSeen: the mark is drawn whole at the top of a card however tall
// the card is, and a card that cannot wait has the heavier frame.
func TestTideMarkIsSeen(t *testing.T) {
	for _, ink := range kit.Inks() {
		for _, scale := range []float32{1, 2} {
			look := kit.Look{Scale: scale, Ink: ink}
			dress(t, look)
			k := kit.New(long(t), look)
			frame := map[int]float32{}
			for urgency := range kit.TideSteps + 1 {
				card := k.FindingCard(finding(urgency, "story.book"))
				w := show(t, look, framed(k, card))
				kittest.Settle(w.Canvas())
				for _, n := range kittest.Nodes(w.Canvas()) {
					switch o := n.Object.(type) {
					case *canvas.Raster:
						at := fyne.CurrentApp().Driver().AbsolutePositionForObject(card)
						if n.Box.H != 96*scale || n.Box.Y-at.Y > 40 {
							t.Errorf("%.0f %%: the mark of %d is %.0f high, %.0f under the edge", scale*100, urgency, n.Box.H, n.Box.Y-at.Y)
						}
					case *canvas.Rectangle:
						if n.Parent.Object == fyne.CanvasObject(card) || n.Parent.Parent != nil && n.Parent.Parent.Object == fyne.CanvasObject(card) && urgency >= kit.UrgencyToday {
							frame[urgency] = max(frame[urgency], o.StrokeWidth)
						}
					}
				}
			}
			if frame[3] < 3 || frame[3] <= frame[2] || frame[4] < frame[3] || frame[5] < frame[3] {
				t.Errorf("%s: the frames are %v", inkNames[ink], frame)
			}
		}
	}
}
