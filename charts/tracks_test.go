package charts

import (
	"fmt"
	"image"
	"image/draw"
	"testing"
	"time"

	"quietwater/i18n"
	"quietwater/model"
	"quietwater/model/timeline"
)

func laidOut(t *testing.T, p timeline.Picture, width int) *padChart {
	t.Helper()
	return layOut(p, english(t), looks(t)["light"], width)
}

// What is drawn of many years is as much as there are pixels across, and
// nothing high or low is lost.
func TestTracksCostByPixels(t *testing.T) {
	c := laidOut(t, tracked(timeline.Picture{From: start, To: start.AddDate(10, 0, 0)}, 3650), 1000)
	for _, tr := range c.tracks {
		if len(tr.Points) == 0 {
			continue
		}
		all := c.columns(tr)
		if len(all) > c.days.Domain {
			t.Errorf("%s has %d columns on %d pixels", tr.Code, len(all), c.days.Domain)
		}
		lo, hi := all[0].lo, all[0].hi
		n := 0
		for i, k := range all {
			lo, hi = min(lo, k.lo), max(hi, k.hi)
			if i > 0 && all[i-1].x >= k.x {
				t.Fatalf("%s: columns are out of order", tr.Code)
			}
			if tr.Points[k.top].Hi != k.hi || tr.Points[k.bottom].Lo != k.lo {
				t.Fatalf("%s: a column is not where its points are", tr.Code)
			}
			n++
		}
		for _, pt := range tr.Points {
			if pt.Lo < lo || pt.Hi > hi {
				t.Fatalf("%s: %v is not drawn", tr.Code, pt)
			}
		}
	}
}

// A tap on the picture comes to the day that stands there, and to its lane.
func TestPadsAt(t *testing.T) {
	p := tracked(readings(9, 60), 60)
	l, w := looks(t)["light"], english(t)
	c := layOut(p, w, l, 1000)
	for day := range 60 {
		at := start.AddDate(0, 0, day)
		x := c.left + c.days.Translate(c.days.of(model.OnDay(at)))
		if got, ok := PadsAt(p, w, l, 1000, x, 0); !ok || !model.OnDay(got.When).Time().Equal(model.OnDay(at).Time()) {
			t.Errorf("at %v there is %v, %v", at, got, ok)
		}
	}
	x := c.left + c.days.Domain/2
	for _, lane := range c.lanes {
		if got, _ := PadsAt(p, w, l, 1000, x, lane.y+lane.h/2); got.Kind != model.Strip || got.Code != lane.pad {
			t.Errorf("in the lane of %s there is %+v", lane.pad, got)
		}
	}
	for _, track := range c.tracks {
		if got, _ := PadsAt(p, w, l, 1000, x, track.y+track.h/2); got.Kind != track.Kind || got.Code != track.Code {
			t.Errorf("in the lane of %s there is %+v", track.Code, got)
		}
	}
	if got, _ := PadsAt(p, w, l, 1000, x, c.marks.y+c.marks.h/2); !got.Findings || got.Kind != "" {
		t.Errorf("among the findings there is %+v", got)
	}
	for _, x := range []int{-5, 0, c.left - 1, 2000} {
		if got, ok := PadsAt(p, w, l, 1000, x, 0); ok {
			t.Errorf("at %d there is %v", x, got)
		}
	}
}

// A day is marked by its hours, a week by its days.
func TestHours(t *testing.T) {
	l, w := looks(t)["light"], english(t)
	for days, want := range map[int]string{1: "09:00", 7: "6 Mar 2024"} {
		p := tracked(readings(3, days), days)
		c := layOut(p, w, l, 1000)
		found := false
		for _, tick := range c.days.ticks {
			found = found || tick.Label == want
		}
		if !found || len(c.days.ticks) < 4 {
			t.Errorf("%d days are marked by %v, none is %s", days, c.days.ticks, want)
		}
	}
}

func TestTracksDescribed(t *testing.T) {
	w, err := i18n.New("en", "")
	if err != nil {
		t.Fatal(err)
	}
	p := timeline.Picture{From: start, To: start.AddDate(0, 1, 0), Tracks: []timeline.Track{
		{Kind: model.Vital, Code: "weight", Points: []timeline.Point{{When: model.At(start.Add(time.Hour)), Lo: 70, Hi: 70, Typed: "70.0"}, {When: model.At(start.AddDate(0, 0, 3)), Lo: 72, Hi: 72, Typed: "72"}, {When: model.At(start.AddDate(0, 3, 0)), Lo: 99, Hi: 99, Typed: "99"}}},
		{Kind: model.Symptom, Code: "fever", Points: []timeline.Point{{When: model.At(start.AddDate(0, 0, 2)), Lo: 2, Hi: 2, Typed: "2"}}},
		{Kind: model.Symptom, Code: "passing-none", Points: []timeline.Point{{When: model.At(start), Lo: 0, Hi: 0, Typed: "0"}, {When: model.At(start.AddDate(0, 0, 1)), Lo: 2, Hi: 2, Typed: "2"}}},
		{Kind: model.Symptom, Code: "itching", Points: []timeline.Point{{When: model.At(start), Lo: 0, Hi: 0, Typed: "0"}}},
		{Kind: model.Medicine, Code: "diuretic", Spans: []timeline.Span{{From: model.OnDay(start)}}},
	}}
	want := "From 4 March 2024 to 4 April 2024, no strip test: Weight from 70.0 to 72, Fever at most moderate on 6 March 2024, " +
		"Passing no urine: yes, 5 March 2024, Itching: no, 4 March 2024 and Water tablet (diuretic) is marked."
	if got := w.T(Describe(p)); got != want {
		t.Errorf("it says\n%s\nwant\n%s", got, want)
	}
}

// BenchmarkTimeline draws the picture of the timeline of so many years in a
// window of 1280 by 800, and beside it the same ground with nothing on it.
func BenchmarkTimeline(b *testing.B) {
	l, w := looks(b)["light"], english(b)
	for _, years := range []int{1, 10, 30} {
		p := tracked(readings(52*years, 365*years), 365*years)
		b.Run(fmt.Sprintf("%d-years", years), func(b *testing.B) {
			for b.Loop() {
				c := Pads(p, w, l, 880)
				if _, err := Image(c, l.Fonts, 1); err != nil {
					b.Fatal(err)
				}
			}
		})
		c := Pads(p, w, l, 880)
		b.Run(fmt.Sprintf("%d-years-blank", years), func(b *testing.B) {
			for b.Loop() {
				paper := image.NewRGBA(image.Rect(0, 0, c.Width, c.Height))
				draw.Draw(paper, paper.Bounds(), image.NewUniform(l.Paper), image.Point{}, draw.Src)
			}
		})
	}
}
