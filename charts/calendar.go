package charts

import (
	"time"

	"github.com/wcharczuk/go-chart/v2"

	"quietwater/model"
)

// calendar is a range of days for go-chart, counted from its first, with ticks of its own: given to the
// axis as ticks they would become the range.
type calendar struct {
	chart.ContinuousRange
	first, last time.Time // the start of the first day, the end of the last
	ticks       []chart.Tick
	clock       func(time.Time) string // names an hour, where few days are shown; nil: days only
}

// newCalendar covers the days of from and to; the order does not matter.
func newCalendar(from, to time.Time) *calendar {
	if to.Before(from) {
		from, to = to, from
	}
	c := &calendar{first: model.OnDay(from).Time()}
	y, m, d := to.In(from.Location()).Date()
	c.last = model.OnDay(time.Date(y, m, d+1, 12, 0, 0, 0, from.Location())).Time()
	c.Min, c.Max = 0, c.day(c.last)
	return c
}

// GetTicks makes calendar a chart.TicksProvider.
func (c *calendar) GetTicks(chart.Renderer, chart.Style, chart.ValueFormatter) []chart.Tick {
	return c.ticks
}

// dated reports whether any day was named.
func (c *calendar) dated() bool { return c.first.Year() > 1 }

// day is the distance of an instant from the start of the first day. It goes by seconds, as a
// time.Duration would end after 292 years.
func (c *calendar) day(t time.Time) float64 { return float64(t.Unix()-c.first.Unix()) / (24 * 60 * 60) }

// of is the place of an entry; one without a time of day stands at its noon.
func (c *calendar) of(w model.When) float64 {
	if w.DayOnly() {
		return c.day(w.DayIn(c.first.Location())) + 0.5
	}
	return c.day(w.Time())
}

func (c *calendar) covers(w model.When) bool {
	d := c.of(w)
	return !w.IsZero() && d >= 0 && d <= c.day(c.last)
}

// spread lays the days out over a width, with so much of it free at both ends.
func (c *calendar) spread(width, inset int) {
	perPixel := c.day(c.last) / float64(max(width-2*inset, 1))
	c.Min, c.Max = -float64(inset)*perPixel, c.day(c.last)+float64(inset)*perPixel
	c.Domain = width
}

// steps are the distances ticks may have, finest first.
var steps = []struct{ days, months int }{
	{days: 1}, {days: 2}, {days: 7}, {days: 14},
	{months: 1}, {months: 2}, {months: 3}, {months: 6}, {months: 12}, {months: 24}, {months: 60}, {months: 120}, {months: 1200},
}

// mark chooses the finest ticks whose words stand apart and inside the width. Where that leaves one, the
// first and the last day say more, if both have room.
func (c *calendar) mark(say func(model.When) string, m ruler, size float64) {
	c.ticks = nil
	if !c.dated() {
		return
	}
	if c.clock != nil && c.day(c.last) <= 2.1 && c.markHours(say, m, size) {
		return
	}
	for _, s := range steps {
		if c.day(c.last)/float64(max(s.days, 30*s.months)) > float64(c.Domain)/(2*size)+2 {
			continue // no room, whatever the words
		}
		var days []time.Time
		for t := c.start(s.months); t.Before(c.last); t = c.next(t, s.days, s.months) {
			if !t.Before(c.first) {
				days = append(days, t)
			}
		}
		ticks, ok := c.label(days, say, m, size)
		if ok && len(ticks) > 1 {
			c.ticks = ticks
			return
		}
		if ok && c.ticks == nil {
			c.ticks = ticks
		}
	}
	ends := []time.Time{c.first, model.OnDay(c.last.Add(-time.Hour)).Time()}
	if ticks, ok := c.label(ends, say, m, size); ok && len(ticks) > 1 {
		c.ticks = ticks
	}
}

// markHours marks the hours of a day or two, the first tick of each day by its date.
func (c *calendar) markHours(say func(model.When) string, m ruler, size float64) bool {
	for _, hours := range []int{3, 6, 12} {
		var at []time.Time
		for t := c.first; t.Before(c.last); t = t.Add(time.Duration(hours) * time.Hour) {
			at = append(at, t)
		}
		ticks, ok := c.label(at, func(w model.When) string {
			if t := w.Time(); t.Hour() != 0 {
				return c.clock(t)
			}
			return say(w)
		}, m, size)
		if ok && len(ticks) > 2 {
			c.ticks = ticks
			return true
		}
	}
	return false
}

// label writes the days whose words lie inside the width; ok is false where two come too close.
func (c *calendar) label(days []time.Time, say func(model.When) string, m ruler, size float64) (ticks []chart.Tick, ok bool) {
	end := -c.Domain
	for _, t := range days {
		text := say(model.At(t))
		w, x := m.width(text, size), c.Translate(c.day(t))
		if x-w/2 < 0 || x+(w+1)/2 > c.Domain {
			continue
		}
		if x-w/2 < end+int(0.8*size) {
			return nil, false
		}
		end = x + (w+1)/2
		ticks = append(ticks, chart.Tick{Value: c.day(t), Label: text})
	}
	return ticks, len(ticks) > 0
}

// start is the first day, or the first of a month that the step counts from.
func (c *calendar) start(months int) time.Time {
	if months == 0 {
		return c.first
	}
	count := c.first.Year()*12 + int(c.first.Month()) - 1
	count -= count % months
	return c.dayOf(count/12, time.Month(count%12+1), 1)
}

func (c *calendar) next(t time.Time, days, months int) time.Time {
	y, m, d := t.Date()
	return c.dayOf(y, m+time.Month(months), d+days)
}

// dayOf goes by noon, since not every day has a midnight.
func (c *calendar) dayOf(y int, m time.Month, d int) time.Time {
	return model.OnDay(time.Date(y, m, d, 12, 0, 0, 0, c.first.Location())).Time()
}

// cluster is a run of places too close to be told apart, and where it is drawn.
type cluster struct {
	from, to int // indices, to not included
	at       int
}

// group gathers sorted places so that what is drawn for each cluster, room wide, keeps clear of the next.
// A cluster is drawn in its middle, or as near to it as the next one lets it, never outside its run.
func group(places []int, room int) []cluster {
	var out []cluster
	for i := 0; i < len(places); {
		j := i + 1
		for j < len(places) && places[j]-places[i] < room {
			j++
		}
		at := (places[i] + places[j-1]) / 2
		if j < len(places) {
			at = min(at, places[j]-room)
		}
		out = append(out, cluster{i, j, at})
		i = j
	}
	return out
}
