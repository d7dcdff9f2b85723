package ui

import (
	"image"
	"image/jpeg"
	"os"
	"slices"
	"strings"
	"sync"
	"testing"
	"time"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/canvas"

	"quietwater/model"
	"quietwater/model/household"
	"quietwater/model/photo"
	"quietwater/model/strip"
	"quietwater/ui/kit"
	"quietwater/ui/kit/kittest"
)

// photograph opens one of the public set of photographs; without it there is
// nothing to test.
func photograph(name string, taken time.Time) Photograph {
	f, err := os.Open("../model/photo/testdata/public/" + name)
	if err != nil {
		panic(err)
	}
	defer f.Close()
	m, err := jpeg.Decode(f)
	if err != nil {
		panic(err)
	}
	return Photograph{Picture: photo.New(m, 1), Taken: taken}
}

// readShots are photographs of a strip with ten pads, read once for all pages.
var readShots = sync.OnceValue(func() map[string]*shot {
	out := map[string]*shot{}
	k := strip.Generic()[0]
	for _, name := range []string{"p001.jpg", "p011.jpg"} {
		p := photograph(name, time.Time{}).Picture
		r := photo.Read(p, &k)
		out[name] = &shot{picture: p, opened: Photograph{Picture: p}, reading: r, crops: cropsOf(p, r), seen: r.Evidence(p)}
	}
	return out
})

// toPhoto goes to the page that waits for a picture, the dip a minute ago.
func toPhoto(t *testing.T, b *book) *desk {
	t.Helper()
	return toPhotoOf(t, b, "")
}

// toPhotoOf does so with a strip of a pack.
func toPhotoOf(t *testing.T, b *book, pack model.ID) *desk {
	t.Helper()
	b.shots = map[string]Photograph{}
	d := open(t, b)
	p := b.records().Book.Persons[0]
	d.w.turn(d.w.resume(strip.Draft{Person: p.ID, Pack: pack, StripKind: "ten-pads", Dipped: b.wall, Timed: true, Step: stepHow}))
	b.pass(time.Minute)
	d.tap("how-photo", "next")
	d.shows("photo.how")
	return d
}

// until waits for what is read beside the window's own work.
func (d *desk) until(id string) {
	d.t.Helper()
	for range 500 {
		if d.settle(); d.has(id) {
			return
		}
		time.Sleep(10 * time.Millisecond)
	}
	d.t.Fatalf("%s did not come: %s", id, d.text())
}

func TestPhotoTest(t *testing.T) {
	b := newBook(smallBook())
	d := toPhoto(t, b)
	b.shots["/pictures/strip.jpg"] = photograph("p001.jpg", b.wall.Add(2*time.Second))
	b.pictures = []FoundFile{{"/pictures/strip.jpg", b.wall}}
	d.beat()
	d.settle()
	d.tap("picture-0")
	d.until("take-sure")
	d.shows("photo.when", "after", model.Quantity{Typed: "62", UCUM: "s"})
	// What is proposed is named as the chart prints it, which says 300 and not 3+.
	d.shows("photo.sure", "value", model.T("guided.printed-means",
		"printed", model.Quantity{Typed: "300", UCUM: "mg/dL"}, "value", kitSaid(d, strip.Generic()[0], model.Protein, 4)))
	if draft, _ := d.draft(); len(draft.Values) > 0 {
		t.Fatalf("something was taken that nobody took: %v", draft.Values)
	}
	// A pad chosen by eye first is never overwritten.
	d.tap("eye-protein", "block-1", "next")
	d.shows("photo.differs", "value", kitSaid(d, strip.Generic()[0], model.Protein, 1))
	d.tap("take-sure")
	d.hides("photo.take-sure", "n", 5)
	draft, _ := d.draft()
	if v := draft.Values[model.Protein]; v.Confidence != 0 || draft.Blocks[model.Protein] != 1 {
		t.Errorf("protein is %+v", v)
	}
	if v := draft.Values[model.Glucose]; v.Confidence < photo.SureFrom {
		t.Errorf("glucose is %+v", v)
	}
	// Leukocytes are read at two minutes: what the picture of 62 seconds shows is
	// theirs to take, and not taken with the rest.
	if v, ok := draft.Values[model.Leukocytes]; ok {
		t.Errorf("leukocytes were taken before they were ready: %+v", v)
	}
	d.tap("take-leukocytes")
	if draft, _ = d.draft(); draft.Values[model.Leukocytes].Confidence < photo.SureFrom || draft.Blocks[model.Leukocytes] != 3 {
		t.Errorf("leukocytes are %+v", draft.Values[model.Leukocytes])
	}
	d.tap("next", "leave-rest")
	d.shows("photo.keeps")
	// A last look at what was read otherwise, or not at all; not at what was taken.
	shown := func(pad model.Code, block int) model.Msg {
		r, _ := strip.Generic()[0].Row(pad)
		return printedMeans(r, block, r.Value(block))
	}
	d.shows("photo.review", "seen", shown(model.Protein, 1), "value", shown(model.Protein, 4))
	d.shows("photo.review", "seen", model.T("guided.review-none"), "value", shown(model.Blood, 2))
	d.hides("photo.review", "seen", shown(model.Glucose, 4), "value", shown(model.Glucose, 4))
	d.tap("keep-whole", "save")
	tests := d.tests()
	e := tests[len(tests)-1]
	if b.kept[e.ID] == nil || b.whole[e.ID] != "/pictures/strip.jpg" {
		t.Errorf("of the picture %v is kept, and %q", b.kept[e.ID], b.whole[e.ID])
	}
	if e.Origin != model.FromPhoto {
		t.Errorf("it was read by %q", e.Origin)
	}
	protein, _ := e.Value(model.Protein)
	if p, ok := strip.ProposalIn(protein.Note); protein.Confidence != 0 || !ok || p.Printed != "300" || p.Confidence <= 0 {
		t.Errorf("protein was kept as %+v", protein)
	}
	d.w.turn(d.w.oneEntry(e))
	d.settle()
	d.shows("photo.noted", "value", "300")
	if s, _ := e.Value("seconds-after-dip"); s.Number != 62 {
		t.Errorf("%v s after the dip", s.Number)
	}
	if v, _ := e.Value("leukocytes"); v.Confidence < photo.SureFrom || v.Note != "" {
		t.Errorf("leukocytes were kept as %+v", v)
	}
}

// Going on from a picture passes over no pad unasked: each way of the three does
// what it says, and none fills anything in.
func TestPhotoUnread(t *testing.T) {
	row := func(c model.Code) strip.Row { r, _ := strip.Generic()[0].Row(c); return r }
	for name, c := range map[string]struct {
		do func(*desk)
		// of the pads that were left: how many have a reading, and how many could
		// not be told.
		read, unclear int
	}{
		"left out":              {func(d *desk) { d.tap("leave-rest") }, 0, 0},
		"could not tell":        {func(d *desk) { d.tap("unclear-rest") }, 6, 6},
		"read by eye":           {func(d *desk) { d.tap("by-eye", "seen-own"); d.eyeAll("block-0", 6) }, 6, 0},
		"by eye, all left":      {func(d *desk) { d.tap("by-eye"); d.eyeAll("skip-pad", 6) }, 0, 0},
		"by eye, none told":     {func(d *desk) { d.tap("by-eye"); d.eyeAll("block-unclear", 6) }, 6, 6},
		"by eye, back, left":    {func(d *desk) { d.tap("by-eye", "back", "leave-rest") }, 0, 0},
		"back, a pad, the rest": {func(d *desk) { d.tap("back", "eye-ph", "block-2", "next", "next", "leave-rest") }, 1, 0},
	} {
		t.Run(name, func(t *testing.T) {
			b := newBook(smallBook())
			d := toPhoto(t, b)
			b.shots["/pictures/strip.jpg"] = photograph("p001.jpg", b.wall.Add(2*time.Second))
			d.w.Dropped([]string{"/pictures/strip.jpg"})
			d.until("take-sure")
			d.tap("take-sure")
			before, _ := d.draft()
			d.tap("next")
			var left []model.Code
			for _, r := range strip.Generic()[0].Chart.Rows {
				if _, has := before.Values[r.Pad]; !has {
					left = append(left, r.Pad)
				}
			}
			if len(left) != 6 {
				t.Fatalf("%d are left: %v", len(left), left)
			}
			d.shows("photo.unread")
			d.shows("guided.pads", "pads", padNames(left))
			if draft, _ := d.draft(); len(draft.Values) != len(before.Values) {
				t.Errorf("something was filled in: %v", draft.Values)
			}
			c.do(d)
			d.shows("guided.review")
			read, unclear := 0, 0
			draft, _ := d.draft()
			for _, pad := range left {
				v, has := draft.Values[pad]
				if has {
					read++
				}
				if v.Grade == model.Unclear {
					unclear++
				}
			}
			if read != c.read || unclear != c.unclear {
				t.Errorf("%d are read, %d unclear; want %d and %d", read, unclear, c.read, c.unclear)
			}
			for pad, v := range before.Values { // what was taken from the picture stays
				if draft.Values[pad] != v {
					t.Errorf("%s was %+v and is %+v", pad, v, draft.Values[pad])
				}
			}
			if own, has := draft.Values[model.OwnTime(model.Leukocytes)]; has != (name == "read by eye") || has && own != atItsTime(row(model.Leukocytes)) {
				t.Errorf("leukocytes were seen at %+v %v", own, has)
			}
			// What was left out is named on the page after it as well.
			d.tap("save")
			out := slices.DeleteFunc(left, func(p model.Code) bool { _, has := draft.Values[p]; return has })
			if names := padNames(out); len(out) > 0 {
				d.shows("guided.left-out", "pads", names)
			} else {
				d.hides("guided.left-out", "pads", padNames(left))
			}
		})
	}
	// With nothing left nobody is asked.
	b := newBook(smallBook())
	d := toPhoto(t, b)
	b.shots["/pictures/strip.jpg"] = photograph("p001.jpg", b.wall.Add(2*time.Second))
	d.w.Dropped([]string{"/pictures/strip.jpg"})
	d.until("take-sure")
	d.tap("take-sure", "next", "unclear-rest", "back", "next")
	d.shows("guided.review")
	// Put away and gone on with, the question stands; the picture is asked for
	// again on the way back.
	d.tap("back", "eye-ph", "back")
	d.shows("photo.confirm")
	draft, _ := d.draft()
	draft.Step = stepUnread
	delete(draft.Values, model.PH)
	d.w.turn(d.w.resume(draft))
	d.settle()
	d.shows("guided.pads", "pads", padNames([]model.Code{model.PH}))
	d.tap("back")
	d.shows("photo.how")
}

// eyeAll answers pad after pad in one way.
func (d *desk) eyeAll(id string, n int) {
	d.t.Helper()
	for range n {
		if d.tap(id); id != "skip-pad" {
			d.tap("next")
		}
	}
}

// A picture at 60 seconds comes before leukocytes are ready. The program says so
// before, asks when their colour was seen, and judges what it is told.
func TestPhotoBeforeItsTime(t *testing.T) {
	leukocytes := padNames([]model.Code{model.Leukocytes})
	for name, c := range map[string]struct {
		taken time.Duration // of the picture, after the dip
		taps  []string
		typed string
		own   string
		bad   []strip.Reason
	}{
		"seen on the strip at its time":   {62 * time.Second, []string{"seen-own", "block-2"}, "", "2 min", nil},
		"block first, then when":          {62 * time.Second, []string{"block-2", "seen-own"}, "", "2 min", nil},
		"seen on the picture":             {62 * time.Second, []string{"seen-rest", "block-2"}, "", "", []strip.Reason{strip.Early}},
		"seen at three minutes":           {62 * time.Second, []string{"seen-other", "block-2"}, "3", "3 min", []strip.Reason{strip.Late}},
		"thought again":                   {62 * time.Second, []string{"seen-other", "block-2", "seen-own"}, "", "2 min", nil},
		"could not tell needs no time":    {62 * time.Second, []string{"block-unclear"}, "", "", []strip.Reason{strip.UnclearReason}},
		"a picture at two minutes itself": {121 * time.Second, []string{"block-2"}, "", "", nil},
		"a picture at three minutes":      {181 * time.Second, []string{"seen-rest", "block-2"}, "", "", []strip.Reason{strip.Late}},
	} {
		t.Run(name, func(t *testing.T) {
			b := newBook(smallBook())
			d := toPhotoOf(t, b, b.records().Book.Packs[0].ID)
			draft, _ := d.draft()
			b.shots["/pictures/strip.jpg"] = photograph("p001.jpg", draft.Dipped.Add(c.taken))
			d.w.Dropped([]string{"/pictures/strip.jpg"})
			d.until("eye-leukocytes")
			kind := strip.Generic()[0]
			row, _ := kind.Row(model.Leukocytes)
			switch row.Timing(c.taken.Seconds()) {
			case strip.Early:
				d.shows("photo.early")
				d.shows("photo.early-how", "at", model.Quantity{Typed: "2", UCUM: "min"})
			case strip.Late:
				d.shows("photo.late")
			default:
				d.hides("photo.early")
			}
			d.tap("eye-leukocytes")
			d.tap(c.taps...)
			if c.typed != "" {
				d.tap("next") // it is asked for first
				d.shows("problem.number-missing")
				d.fill(string(model.OwnTime(model.Leukocytes)), c.typed)
			}
			d.tap("next")
			if c.taken < 80*time.Second {
				d.tap("take-nitrite") // which was in time
			}
			d.tap("next", "leave-rest")
			notJudged := d.w.words.T(model.T("timeline.pad-not-judged", "pad", kit.Said("")))
			if says := strings.Contains(d.text(), notJudged); says != (len(c.bad) > 0 && c.bad[0] != strip.UnclearReason) {
				t.Errorf("the review says that something is not judged: %v", says)
			}
			d.tap("save")
			tests := d.tests()
			e := tests[len(tests)-1]
			own, _ := e.Value(model.OwnTime(model.Leukocytes))
			if got := strings.TrimSpace(own.Typed + " " + own.Unit); got != c.own {
				t.Errorf("its own time is %q, want %q", got, c.own)
			}
			pad, _ := strip.Judge(e, strip.Circumstances{Kind: &kind}).Pad(model.Leukocytes)
			if !slices.Equal(pad.Reasons, c.bad) {
				t.Errorf("judged %v, want %v", pad.Reasons, c.bad)
			}
			// The page after it says so too, and blames nobody.
			d.hides("reason.early.why", "pads", leukocytes)
			if slices.Contains(c.bad, strip.Early) {
				d.shows("guided.early-pads", "pads", leukocytes)
			}
			if slices.Contains(c.bad, strip.Late) {
				d.shows("reason.late.why", "pads", leukocytes)
			}
		})
	}
	// Without a word about when, the page is not left.
	b := newBook(smallBook())
	d := toPhoto(t, b)
	b.shots["/pictures/strip.jpg"] = photograph("p001.jpg", b.wall.Add(2*time.Second))
	d.w.Dropped([]string{"/pictures/strip.jpg"})
	d.until("take-sure")
	d.tap("eye-leukocytes", "block-2", "next")
	d.shows("guided.seen-missing")
	// Taken from the picture after all, it was seen there.
	d.tap("seen-own", "next", "take-leukocytes")
	if draft, _ := d.draft(); draft.Values[model.OwnTime(model.Leukocytes)] != (model.Value{}) {
		t.Errorf("kept %+v", draft.Values)
	}
	// It is planned for where paper is made ready, and where the way is chosen.
	d = open(t, newBook(smallBook()))
	d.key("start-test", "next", "next")
	d.shows("guided.photo-early", "pads", leukocytes)
	d = toPhoto(t, newBook(smallBook()))
	d.tap("back")
	d.shows("guided.photo-early", "pads", leukocytes)
}

// What a test was read from is kept with it, and shown again.
func TestPhotoKept(t *testing.T) {
	b := newBook(smallBook())
	d := toPhoto(t, b)
	b.shots["/pictures/strip.jpg"] = photograph("p001.jpg", time.Time{})
	d.w.Dropped([]string{"/pictures/strip.jpg"})
	d.until("take-sure")
	d.tap("take-sure", "next", "leave-rest")
	b.unkept = told{model.T("trouble.disk-full")}
	d.tap("save")
	d.shows("photo.not-kept", "why", b.unkept.(told).say)
	tests := d.tests()
	e := tests[len(tests)-1] // is safe all the same
	d.w.open(d.w.oneEntry(e))
	d.settle()
	d.shows("trouble.disk-full")
	b.unkept = nil
	d.w.open(d.w.oneEntry(e))
	d.settle()
	d.shows("photo.kept-none")
	b.kept, b.whole = map[model.ID]image.Image{e.ID: readShots()["p001.jpg"].seen}, map[model.ID]string{e.ID: "/pictures/whole.jpg"}
	d.w.open(d.w.oneEntry(e))
	d.settle()
	d.shows("photo.kept")
	d.hides("photo.kept-none")
	if d.tap("whole"); len(b.shown) != 1 || b.shown[0] != "/pictures/whole.jpg" {
		t.Errorf("shown: %v", b.shown)
	}
	// Small, it stands in the timeline's list, and is opened only once.
	clear(d.w.thumbnails)
	d.w.shrunk.forget(e.ID)
	shown := func() (m image.Image) {
		for _, n := range kittest.Nodes(d.win.Canvas()) {
			if i, ok := n.Object.(*canvas.Image); ok && i.Image != nil && i.Image.Bounds().Dy() > 30 { // no leaf of a person
				m = i.Image
			}
		}
		return m
	}
	d.w.show("timeline")
	d.settle()
	m := shown()
	if m == nil || m.Bounds().Dy() > thumbnailHigh || m.Bounds().Dx() < thumbnailHigh/4 {
		t.Fatalf("the list shows %v", m)
	}
	// In the picture of the timeline it stands in its frame.
	if at := d.w.small(e.ID); at == nil || at.Bounds().Dy() > thumbnailHigh {
		t.Errorf("the picture of the timeline has %v", at)
	}
	b.kept = nil
	if d.w.redraw(); shown() != m {
		t.Error("a picture that is known was opened again, or is gone")
	}
	// One that comes while the page is drawn anew comes into its place there.
	b.kept = map[model.ID]image.Image{e.ID: readShots()["p001.jpg"].seen}
	clear(d.w.thumbnails)
	d.w.shrunk.forget(e.ID)
	var late func()
	d.w.beside = func(work, then func()) { late = func() { work(); then() } }
	d.w.redraw()
	late2 := late
	d.w.redraw()
	if late2(); shown() == nil {
		t.Error("a picture that came late is not on the page")
	}
	// Read at the tones after all, a test keeps no picture.
	d = toPhoto(t, b)
	b.shots["/pictures/strip.jpg"] = photograph("p001.jpg", time.Time{})
	d.w.Dropped([]string{"/pictures/strip.jpg"})
	d.until("take-sure")
	d.tap("back", "back", "how-tone", "next", "block-0")
	for d.has("next") || d.has("skip-pad") {
		d.onward()
	}
	d.hides("photo.keeps")
}

// A folder of one's own is looked into besides the usual ones, until somebody
// says otherwise.
func TestPhotoFolder(t *testing.T) {
	b := newBook(smallBook())
	d := toPhoto(t, b)
	d.fill("path", "/media/card/")
	d.tap("read-path")
	d.shows("photo.watched", "folder", "/media/card/")
	if got := b.records().Settings[household.SetPictures]; got != "/media/card/" {
		t.Errorf("%q is looked into", got)
	}
	if d.tap("unwatch"); b.records().Settings[household.SetPictures] != "" {
		t.Error("it is still looked into")
	}
	d.shows("photo.how")
}

func kitSaid(d *desk, k strip.Kind, pad model.Code, block int) string {
	row, _ := k.Row(pad)
	return d.w.words.Value(model.Strip, row.Value(block))
}

// What cannot be read says why, and the test goes on.
func TestPhotoRefused(t *testing.T) {
	b := newBook(smallBook())
	d := toPhoto(t, b)
	b.shots["/pictures/other.jpg"] = photograph("p020.jpg", time.Time{})
	d.fill("path", " '/pictures/other.jpg' ")
	d.tap("read-path")
	d.until("path")
	d.shows("photo.why.other-strip")
	d.fill("path", "/pictures/gone.jpg")
	d.tap("read-path")
	d.until("path")
	d.shows("picture.broken")
	d.tap("by-eye")
	d.shows("guided.skip-pad")
}

func TestPhotoClocks(t *testing.T) {
	b := newBook(smallBook())
	d := toPhoto(t, b)
	g := &guided{w: d.w, shot: &shot{}, draft: strip.Draft{Dipped: b.wall}}
	g.setHow(model.FromPhoto)
	for name, c := range map[string]struct {
		p       Photograph
		say     string
		seconds int
	}{
		"says nothing":                      {Photograph{}, "photo.when-unknown", strip.PhotoAtS},
		"a minute later":                    {Photograph{Taken: g.draft.Dipped.Add(61 * time.Second)}, "photo.when", 61},
		"at once":                           {Photograph{Taken: g.draft.Dipped}, "photo.when", 1},
		"before the dip":                    {Photograph{Taken: g.draft.Dipped.Add(-time.Second)}, "photo.when-odd", strip.PhotoAtS},
		"an hour later":                     {Photograph{Taken: g.draft.Dipped.Add(time.Hour)}, "photo.when-odd", strip.PhotoAtS},
		"ten years ago":                     {Photograph{Taken: g.draft.Dipped.AddDate(-10, 0, 0)}, "photo.when-odd", strip.PhotoAtS},
		"an old file":                       {Photograph{Written: g.draft.Dipped.Add(-time.Hour)}, "photo.when-older", strip.PhotoAtS},
		"a new file":                        {Photograph{Written: g.draft.Dipped.Add(time.Minute)}, "photo.when-unknown", strip.PhotoAtS},
		"an old file that the camera dates": {Photograph{Written: g.draft.Dipped.Add(-time.Hour), Taken: g.draft.Dipped.Add(70 * time.Second)}, "photo.when", 70},
	} {
		g.draft.Seconds = 99 // of an earlier picture
		if g.clock(c.p); g.shot.when.Key != c.say || g.draft.Seconds != c.seconds {
			t.Errorf("%s: %s, %d s", name, g.shot.when.Key, g.draft.Seconds)
		}
	}
}

// A picture that arrives while the page is open is offered; those that were
// there before are not.
func TestPhotoArrives(t *testing.T) {
	b := newBook(smallBook())
	b.pictures = []FoundFile{{"/pictures/old.jpg", b.wall}}
	d := toPhoto(t, b)
	d.hides("photo.newest")
	d.beat()
	d.settle()
	d.shows("photo.newest")
	if d.has("take-new") {
		t.Fatal("a picture that was there before is offered")
	}
	b.pictures = []FoundFile{{"/pictures/strip.jpg", b.wall.Add(time.Second)}, {"/pictures/old.jpg", b.wall}}
	for range 12 {
		d.beat()
	}
	d.settle()
	d.shows("photo.come", "file", "strip.jpg")
	// Into empty folders too.
	b = newBook(smallBook())
	d = toPhoto(t, b)
	d.beat()
	b.pictures = []FoundFile{{"/pictures/strip.jpg", b.wall}}
	for range 12 {
		d.beat()
	}
	d.settle()
	d.shows("photo.come", "file", "strip.jpg")
}

// One test never rests on two pictures, nor on a picture when it was read
// otherwise.
func TestPhotoSecond(t *testing.T) {
	b := newBook(smallBook())
	d := toPhoto(t, b)
	b.shots["/pictures/strip.jpg"] = photograph("p001.jpg", b.wall.Add(2*time.Second))
	b.shots["/pictures/more.jpg"] = photograph("p011.jpg", time.Time{})
	d.w.Dropped([]string{"/pictures/strip.jpg"})
	d.until("take-sure")
	d.tap("take-sure", "eye-protein", "block-0", "next", "back")
	if draft, _ := d.draft(); len(draft.Values) < 4 || draft.Seconds != 62 {
		t.Fatalf("taken: %v, %d s", draft.Values, draft.Seconds)
	}
	d.w.Dropped([]string{"/pictures/more.jpg"})
	d.until("take-sure")
	d.shows("photo.when-unknown")
	draft, _ := d.draft()
	if v, ok := draft.Values[model.Protein]; len(draft.Values) != 1 || !ok || v.Confidence != 0 || draft.Seconds != strip.PhotoAtS {
		t.Errorf("after another picture there is %v, %d s", draft.Values, draft.Seconds)
	}
	d.tap("take-sure", "back", "back", "how-tone", "next")
	if draft, _ = d.draft(); len(draft.Values) != 1 || len(draft.Proposals) != 0 {
		t.Errorf("read at the tones, there is %v and %v", draft.Values, draft.Proposals)
	}
}

// What is read while the person looks elsewhere waits until they come back.
func TestPhotoElsewhere(t *testing.T) {
	b := newBook(smallBook())
	d := toPhoto(t, b)
	b.shots["/pictures/strip.jpg"] = photograph("p001.jpg", time.Time{})
	var work, then func()
	d.w.beside = func(w, t func()) { work, then = w, t }
	d.w.Dropped([]string{"/pictures/strip.jpg"})
	d.settle()
	d.shows("photo.reading")
	d.press(fyne.KeyF1)
	d.shows("help.photo.title")
	work()
	then()
	d.settle()
	d.shows("help.photo.title")
	d.w.close()
	d.settle()
	d.shows("photo.confirm")
	// Going back gives a reading up.
	d.tap("back")
	d.w.Dropped([]string{"/pictures/strip.jpg"})
	d.settle()
	d.tap("back")
	work()
	then()
	d.settle()
	d.shows("guided.how")
}

func TestDropped(t *testing.T) {
	b := newBook(smallBook())
	d := open(t, b)
	d.w.Dropped([]string{"/pictures/strip.jpg"})
	d.settle()
	d.shows("photo.dropped-elsewhere")
	d = toPhoto(t, b)
	b.shots["/pictures/strip.jpg"] = photograph("p001.jpg", time.Time{})
	d.w.Dropped([]string{"/pictures/strip.jpg", "/pictures/more.jpg"})
	d.until("take-sure")
	// A draft keeps no picture: gone on with, it waits for one again.
	draft, _ := d.draft()
	d.w.turn(d.w.resume(draft))
	d.settle()
	d.shows("photo.how")
}
