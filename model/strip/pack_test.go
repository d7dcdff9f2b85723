package strip

import (
	"fmt"
	"math/rand/v2"
	"testing"
	"time"
	_ "time/tzdata" // the test must not depend on the machine's zones

	"quietwater/model"
)

func day(t testing.TB, s string) model.When {
	t.Helper()
	if s == "" {
		return model.When{}
	}
	w, err := model.ParseWhen(s, time.UTC)
	if err != nil {
		t.Fatal(err)
	}
	return w
}

func zone(t testing.TB, name string) *time.Location {
	t.Helper()
	z, err := time.LoadLocation(name)
	if err != nil {
		t.Fatal(err)
	}
	return z
}

// TestPrintedMonth: a month-only date runs "after the end of the … month
// shown" (ISO 15223-1, 5.1.4, quoted by two glossaries), from the plain-table
// row to the verdict on its last and first bad day, wherever the house stands.
func TestPrintedMonth(t *testing.T) {
	for _, c := range []struct{ printed, last, bad string }{
		{"2027-02", "2027-02-28", "2027-03-01"},
		{"2028-02", "2028-02-29", "2028-03-01"},
		{"2026-12", "2026-12-31", "2027-01-01"},
		{"2027-04", "2027-04-30", "2027-05-01"},
		{"2027-04-09", "2027-04-09", "2027-04-10"},
	} {
		n := 0
		reader := model.Reader{Zone: time.UTC, NewID: func() model.ID { n++; return model.ID(fmt.Sprint("id", n)) }}
		book, refused := reader.Read([]model.Row{{Number: 1, Person: "Anna", Kind: "pack", What: "use-by", Value: c.printed, Note: "kitchen tub"}})
		if len(refused) > 0 || len(book.Packs) != 1 {
			t.Fatalf("%s: %d packs, refused %v", c.printed, len(book.Packs), refused)
		}
		p := book.Packs[0]
		if got := ShelfOf(p).Until.String(); got != c.last {
			t.Errorf("printed %s: good until %s, want %s", c.printed, got, c.last)
		}
		for _, z := range []*time.Location{time.UTC, zone(t, "Pacific/Kiritimati"), zone(t, "Pacific/Pago_Pago"), zone(t, "Africa/Cairo")} {
			for at, want := range map[string]Freshness{c.last + " 23:59": Fresh, c.bad + " 00:01": Stale, c.bad: Stale, c.last: Fresh} {
				w, err := model.ParseWhen(at, z)
				if err != nil {
					t.Fatal(err)
				}
				v := Judge(model.Entry{Kind: model.Strip, When: w}, Circumstances{Pack: &p, Zone: z})
				if v.Age != want {
					t.Errorf("printed %s: at %s in %s the pack is %v, want %v", c.printed, at, z, v.Age, want)
				}
			}
		}
	}
}

func TestShelf(t *testing.T) {
	for _, c := range []struct {
		name           string
		pack           model.Pack
		useBy, opened  string
		until          string
		opening, assum bool
		day            string
		want           Freshness
	}{
		{"nothing known", model.Pack{}, "", "", "", false, false, "2027-01-01", UnknownAge},
		{"sealed tub, last day", model.Pack{}, "2027-03-31", "", "2027-03-31", false, false, "2027-03-31", Fresh},
		{"sealed tub, one day on", model.Pack{}, "2027-03-31", "", "2027-03-31", false, false, "2027-04-01", Stale},
		{"leaflet says 90, last day", model.Pack{DaysOpen: 90}, "2027-12-31", "2027-01-01", "2027-04-01", true, false, "2027-04-01", Fresh},
		{"leaflet says 90, one day on", model.Pack{DaysOpen: 90}, "2027-12-31", "2027-01-01", "2027-04-01", true, false, "2027-04-02", Stale},
		{"assumed, last day", model.Pack{}, "2027-12-31", "2027-01-01", "2027-01-31", true, true, "2027-01-31", Fresh},
		{"assumed, one day on is only doubtful", model.Pack{}, "2027-12-31", "2027-01-01", "2027-01-31", true, true, "2027-02-01", Questionable},
		{"assumed, last printed day", model.Pack{}, "2027-02-15", "2027-01-01", "2027-01-31", true, true, "2027-02-15", Questionable},
		{"assumed never softens the print", model.Pack{}, "2027-02-15", "2027-01-01", "2027-01-31", true, true, "2027-02-16", Stale},
		{"assumed and no print", model.Pack{}, "", "2027-01-01", "2027-01-31", true, true, "2029-01-01", Questionable},
		{"print before the opening runs out", model.Pack{DaysOpen: 90}, "2027-02-15", "2027-01-01", "2027-02-15", false, false, "2027-02-16", Stale},
		{"both end on one day: the print decides", model.Pack{}, "2027-01-31", "2027-01-01", "2027-01-31", false, false, "2027-02-01", Stale},
		{"sealed singly ignores the opening", model.Pack{Sealed: model.Single, DaysOpen: 10}, "2027-12-31", "2027-01-01", "2027-12-31", false, false, "2027-12-31", Fresh},
		{"sealed singly, no print", model.Pack{Sealed: model.Single}, "", "2027-01-01", "", false, false, "2028-01-01", UnknownAge},
	} {
		c.pack.UseBy, c.pack.OpenedOn = day(t, c.useBy), day(t, c.opened)
		s := ShelfOf(c.pack)
		if s.Until.String() != c.until || s.Opening != c.opening || s.Assumed != c.assum || s.Printed.String() != c.useBy {
			t.Errorf("%s: %+v", c.name, s)
		}
		if got := s.On(day(t, c.day), time.UTC); got != c.want {
			t.Errorf("%s: %v on %s, want %v", c.name, got, c.day, c.want)
		}
	}
}

// usable orders freshness by how far a test may be used.
func usable(f Freshness) int { return map[Freshness]int{Stale: 0, Questionable: 1, Fresh: 2}[f] }

// TestShelfLaws tries random packs: nothing that shortens a pack's life makes
// any day better.
func TestShelfLaws(t *testing.T) {
	r := rand.New(rand.NewPCG(1, 2))
	start := time.Date(2026, 1, 1, 0, 0, 0, 0, time.UTC)
	on := func(n int) model.When { return model.OnDay(start.AddDate(0, 0, n)) }
	for range 5000 {
		p := model.Pack{UseBy: on(r.IntN(200)), OpenedOn: on(r.IntN(100)), DaysOpen: r.IntN(120)}
		d := on(r.IntN(300))
		f := ShelfOf(p).On(d, time.UTC)
		worse := func(law string, q model.Pack, d model.When) {
			if g := ShelfOf(q).On(d, time.UTC); usable(g) > usable(f) {
				t.Fatalf("%s: %v became %v on %s\n%+v\n%+v", law, f, g, d, p, q)
			}
		}
		shorter := p
		if p.DaysOpen > 1 {
			shorter.DaysOpen = 1 + r.IntN(p.DaysOpen-1)
			worse("fewer days after opening", shorter, d)
		}
		earlier := p
		earlier.UseBy = on(max(0, model.DaysBetween(on(0), p.UseBy, time.UTC)-r.IntN(60)))
		worse("earlier use-by", earlier, d)
		sooner := p
		sooner.OpenedOn = model.OnDay(p.OpenedOn.Time().AddDate(0, 0, -r.IntN(60)))
		worse("opened earlier", sooner, d)
		worse("a later day", p, model.OnDay(d.Time().AddDate(0, 0, r.IntN(60))))
		if model.DaysBetween(p.UseBy, d, time.UTC) > 0 && f != Stale {
			t.Fatalf("past the printed date %v: %+v on %s", f, p, d)
		}
		single := p
		single.Sealed = model.Single
		unopened := model.Pack{UseBy: p.UseBy}
		if ShelfOf(single) != ShelfOf(unopened) {
			t.Fatalf("a strip sealed singly aged by opening: %+v", single)
		}
		if p.DaysOpen == 0 {
			told := p
			told.DaysOpen = PresetDaysOpen
			if ShelfOf(told).Until != ShelfOf(p).Until {
				t.Fatalf("assumed and entered %d days end apart: %+v", PresetDaysOpen, p)
			}
			worse("a leaflet that says what was assumed", told, d)
		}
	}
}

// TestPackOfAnotherZone: an opening noted in one zone and a printed day meet
// on calendar days, and the clocks' change costs no day.
func TestPackOfAnotherZone(t *testing.T) {
	berlin := zone(t, "Europe/Berlin")
	p := model.Pack{OpenedOn: model.OnDay(time.Date(2027, 3, 1, 22, 0, 0, 0, berlin)), DaysOpen: 30}
	s := ShelfOf(p)
	for at, want := range map[string]Freshness{"2027-03-31 23:59": Fresh, "2027-04-01 00:01": Stale} {
		w, err := model.ParseWhen(at, berlin)
		if err != nil {
			t.Fatal(err)
		}
		if got := s.On(w, berlin); got != want {
			t.Errorf("%s: %v, want %v", at, got, want)
		}
	}
	for at, want := range map[int]int{1: 30, 27: 4, 28: 3, 29: 2, 31: 0, 32: -1} {
		if got := s.DaysLeft(time.Date(2027, 3, at, 23, 0, 0, 0, berlin)); got != want {
			t.Errorf("%d March: %d days left, want %d", at, got, want)
		}
	}
}

// TestStripsUsedBeforeATubLapses counts, on real shelf days, the tests made
// every so many days after the opening; days divided by interval (arithmetic).
// 90 days are an example of a leaflet.
func TestStripsUsedBeforeATubLapses(t *testing.T) {
	opened := time.Date(2027, 1, 1, 0, 0, 0, 0, time.UTC)
	s := ShelfOf(model.Pack{OpenedOn: model.OnDay(opened), DaysOpen: 90})
	for every, want := range map[int]int{1: 90, 2: 45, 3: 30, 7: 12, 14: 6} {
		used := 0
		for n := every; s.On(model.OnDay(opened.AddDate(0, 0, n)), time.UTC) == Fresh; n += every {
			used++
		}
		if used != want {
			t.Errorf("every %d days: %d strips used, want %d", every, used, want)
		}
	}
}

func TestStock(t *testing.T) {
	test := func(k model.Kind, pack model.ID) model.Entry { return model.Entry{Kind: k, Pack: pack} }
	tests := []model.Entry{test(model.Strip, "a"), test(model.Strip, "a"), test(model.Strip, "b"), test(model.Strip, ""), test(model.Vital, "a")}
	for _, c := range []struct {
		name   string
		pack   model.Pack
		left   int
		counts bool
	}{
		{"two of fifty", model.Pack{ID: "a", Strips: 50}, 48, true},
		{"one of fifty", model.Pack{ID: "b", Strips: 50}, 49, true},
		{"none used", model.Pack{ID: "c", Strips: 25}, 25, true},
		{"just empty", model.Pack{ID: "a", Strips: 2}, 0, true},
		{"more used than the box held", model.Pack{ID: "a", Strips: 1}, 0, true},
		{"count not entered", model.Pack{ID: "a"}, 0, false},
	} {
		if left, ok := Stock(c.pack, tests); left != c.left || ok != c.counts {
			t.Errorf("%s: %d, %v; want %d, %v", c.name, left, ok, c.left, c.counts)
		}
	}
}
