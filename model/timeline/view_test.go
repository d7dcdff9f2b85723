package timeline

import (
	"math/rand/v2"
	"testing"
	"time"
)

// TestView holds random walks against what any view must be.
func TestView(t *testing.T) {
	zone, err := time.LoadLocation("Europe/Madrid")
	if err != nil {
		t.Fatal(err)
	}
	now := time.Date(2026, 3, 29, 14, 0, 0, 0, zone) // a day of 23 hours
	r := rand.New(rand.NewPCG(3, 4))
	for i := range 300 {
		first := now.AddDate(-r.IntN(12), 0, -r.IntN(300)-1)
		if i%7 == 0 {
			first = time.Time{}
		}
		v := View{Zoom: Quarter}
		for range 40 {
			switch r.IntN(5) {
			case 0:
				v = v.Pan(-0.5, first, now)
			case 1:
				v = v.Pan(0.5, first, now)
			case 2:
				v = v.Closer(first, now)
			case 3:
				v = v.Wider(first, now)
			case 4:
				v = v.Around(now.AddDate(0, 0, -r.IntN(3000)), first, now)
			}
			from, to := v.Window(first, now)
			if !from.Before(to) && v.Zoom != OneDay || to.Before(from) {
				t.Fatalf("%+v: %v to %v", v, from, to)
			}
			if to.After(midnight(now, v.Zoom.ahead())) {
				t.Fatalf("%+v reaches %v", v, to)
			}
			if h, m, _ := from.Clock(); h+m != 0 {
				t.Fatalf("%+v begins at %v", v, from)
			}
		}
	}
}

// TestZoomLeavesAMomentInItsPlace: what was under the pointer stays there.
func TestZoomLeavesAMomentInItsPlace(t *testing.T) {
	zone, err := time.LoadLocation("Europe/Madrid")
	if err != nil {
		t.Fatal(err)
	}
	now := time.Date(2026, 3, 29, 14, 0, 0, 0, zone)
	first := now.AddDate(-8, 0, 0)
	r := rand.New(rand.NewPCG(5, 6))
	place := func(v View, at time.Time) (part, days float64) {
		from, to := v.Window(first, now)
		all := midnight(to, 1).Sub(from)
		return float64(at.Sub(from)) / float64(all), all.Hours() / 24
	}
	free := 0
	for range 3000 {
		v := View{Zoom: Zooms()[r.IntN(len(Zooms()))]}
		if v.Zoom != All {
			v = v.Around(now.AddDate(0, 0, -r.IntN(2000)), first, now)
		}
		from, to := v.Window(first, now)
		at := from.Add(time.Duration(r.Float64() * float64(midnight(to, 1).Sub(from))))
		steps := 2*r.IntN(2) - 1
		got := v.ToAbout(steps, at, first, now)
		if got.Zoom != v.To(steps, first, now).Zoom {
			t.Fatalf("%+v by %d gives %+v", v, steps, got)
		}
		was, _ := place(v, at)
		is, days := place(got, at)
		if !at.After(now) && (is < 0 || is >= 1) {
			t.Fatalf("%+v by %d about %v: it is out of view at %.2f", v, steps, at, is)
		}
		if got.Zoom == All || got.Middle.IsZero() {
			continue // there is no more, or no later, to show
		}
		free++
		if off := (is - was) * days; off > 1 || off < -1 {
			if got.Zoom != OneDay {
				t.Fatalf("%+v by %d about %v moves it by %.2f days", v, steps, at, off)
			}
		}
	}
	if free < 1000 {
		t.Fatalf("only %d views could move freely", free)
	}
}

func TestViewMoves(t *testing.T) {
	now := time.Date(2026, 3, 2, 8, 0, 0, 0, time.UTC)
	first := now.AddDate(-2, 0, 0)
	day := func(m time.Month, d int) time.Time { return time.Date(2026, m, d, 0, 0, 0, 0, time.UTC) }
	v := View{Zoom: Week}
	check := func(what string, v View, wantFrom, wantTo time.Time) {
		t.Helper()
		if from, to := v.Window(first, now); !from.Equal(wantFrom) || !to.Equal(wantTo) {
			t.Errorf("%s: %v to %v, want %v to %v", what, from, to, wantFrom, wantTo)
		}
	}
	check("the newest week", v, day(2, 24), day(3, 3))
	check("half a week back", v.Pan(-0.5, first, now), day(2, 22), day(2, 28))
	check("and forth again", v.Pan(-0.5, first, now).Pan(0.5, first, now), day(2, 24), day(3, 3))
	check("a day", View{Zoom: OneDay}, day(3, 2), day(3, 2))
	check("the day before", View{Zoom: OneDay}.Pan(-0.5, first, now), day(3, 1), day(3, 1))
	check("a moment", v.Around(day(1, 15), first, now), day(1, 12), day(1, 18))
	check("closer about it", v.Around(day(1, 15), first, now).Closer(first, now), day(1, 15), day(1, 15))
	for zoom, want := range map[Zoom]bool{Week: false, Year: false, All: true} {
		if got := (View{Zoom: zoom}).AtStart(first, now); got != want {
			t.Errorf("%s at the start: %v", zoom, got)
		}
	}
	if !(View{Zoom: Quarter}).AtStart(now.AddDate(0, 0, -20), now) || !(View{Zoom: Week}).AtStart(time.Time{}, now) {
		t.Error("nothing is earlier, and it is not the start")
	}
	if from, to := (View{Zoom: All}).Window(first, now); from.After(first) || to.Before(now) {
		t.Errorf("all is %v to %v", from, to)
	}
	if v := (View{Zoom: All}).Pan(-0.5, first, now); !v.AtEnd(first, now) {
		t.Error("all can be moved")
	}
	if v := (View{Zoom: OneDay}).Closer(first, now); v.Zoom != OneDay {
		t.Error("closer than a day")
	}
	if v := (View{Zoom: All}).Wider(first, now); v.Zoom != All {
		t.Error("wider than all")
	}
	old := View{Zoom: Year}
	for range 20 {
		old = old.Pan(-0.5, first, now)
	}
	if from, _ := old.Window(first, now); from.Before(first.AddDate(-1, 0, 0)) {
		t.Errorf("panned to %v, the records begin %v", from, first)
	}
}
