package timeline

import (
	"slices"
	"time"
)

// Zoom is how much time is seen at once.
type Zoom string

// From a day to all there is.
const (
	OneDay  Zoom = "day"
	Week    Zoom = "week"
	Month   Zoom = "month"
	Quarter Zoom = "quarter"
	Year    Zoom = "year"
	All     Zoom = "all"
)

// Zooms lists them, the closest first.
func Zooms() []Zoom { return []Zoom{OneDay, Week, Month, Quarter, Year, All} }

// View is the stretch of time that is shown: as far as now, or about a middle.
type View struct {
	Zoom   Zoom
	Middle time.Time // zero: it ends a little after now
}

// days is how long a zoom is. All is as long as the records, and at least a
// quarter, so that one entry is no stretch of its own.
func (z Zoom) days(first, now time.Time) int {
	switch z {
	case OneDay:
		return 1
	case Week:
		return 7
	case Month:
		return 31
	case Year:
		return 366
	case All:
		if n := int(now.Sub(first).Hours()/24) + 2; !first.IsZero() && n > 92 {
			return n
		}
	}
	return 92
}

// ahead is how many days past now a view reaches, so that to-dos show.
func (z Zoom) ahead() int {
	switch z {
	case OneDay:
		return 0
	case Week:
		return 1
	}
	return 7
}

// Window is the days shown, both included: from the start of the first to the
// start of the last. first is when the records begin.
func (v View) Window(first, now time.Time) (from, to time.Time) {
	n := v.Zoom.days(first, now)
	to = midnight(now, v.Zoom.ahead())
	if v.Middle.IsZero() {
		return midnight(to, 1-n-v.Zoom.ahead()), to // as much before now as the zoom says
	}
	if end := midnight(v.Middle.In(now.Location()), n/2); end.Before(to) {
		to = end
	}
	return midnight(to, 1-n), to
}

// midnight is the start of the day so many days after that of t.
func midnight(t time.Time, days int) time.Time {
	y, m, d := t.Date()
	return time.Date(y, m, d+days, 0, 0, 0, 0, t.Location())
}

// AtEnd reports a view that reaches as far as there is anything to come.
func (v View) AtEnd(first, now time.Time) bool {
	_, to := v.Window(first, now)
	return !to.Before(midnight(now, v.Zoom.ahead()))
}

// AtStart reports a view before which nothing is recorded.
func (v View) AtStart(first, now time.Time) bool {
	from, _ := v.Window(first, now)
	return v.Zoom == All || first.IsZero() || from.Before(first)
}

// Pan moves a view by parts of its length, back in time where they are
// negative; never past now, nor before the records.
func (v View) Pan(parts float64, first, now time.Time) View {
	_, to := v.Window(first, now)
	n := v.Zoom.days(first, now)
	by := int(parts * float64(n))
	switch {
	case by == 0 && parts < 0:
		by = -1
	case by == 0:
		by = 1
	}
	if v.Zoom == All || by < 0 && v.AtStart(first, now) {
		return v
	}
	return v.about(midnight(to, by-n/2), first, now)
}

// Around shows a moment in the middle.
func (v View) Around(t, first, now time.Time) View { return v.about(t, first, now) }

func (v View) about(middle, first, now time.Time) View {
	if v.Middle = middle; v.AtEnd(first, now) {
		v.Middle = time.Time{}
	}
	return v
}

// Closer and Wider zoom by one step about the middle; a view that reaches as
// far as now still does.
func (v View) Closer(first, now time.Time) View { return v.To(-1, first, now) }

// Wider is the other way.
func (v View) Wider(first, now time.Time) View { return v.To(1, first, now) }

// To zooms by so many steps.
func (v View) To(steps int, first, now time.Time) View {
	return v.Zoomed(v.Zoom.beside(steps), first, now)
}

func (z Zoom) beside(steps int) Zoom {
	all := Zooms()
	i := max(slices.Index(all, z), 0)
	return all[min(max(i+steps, 0), len(all)-1)]
}

// ToAbout zooms by so many steps and leaves a moment that is shown in its place,
// to half a day, for views begin with a day; its own day stays in view. Near now it is as close to it as a view
// that reaches no further can be.
func (v View) ToAbout(steps int, t, first, now time.Time) View {
	from, to := v.Window(first, now)
	part := float64(t.Sub(from)) / float64(midnight(to, 1).Sub(from))
	out := View{Zoom: v.Zoom.beside(steps)}
	if out.Zoom == All {
		return out
	}
	n := out.Zoom.days(first, now)
	begin := midnight(t.In(now.Location()).Add(12*time.Hour-time.Duration(part*float64(n)*24*float64(time.Hour))), 0)
	if last := midnight(t.In(now.Location()), 0); begin.After(last) {
		begin = last
	}
	if least := midnight(t.In(now.Location()), 1-n); begin.Before(least) {
		begin = least
	}
	return out.about(midnight(begin, n-1-n/2), first, now)
}

// Zoomed shows as much as a zoom says, about the same middle.
func (v View) Zoomed(z Zoom, first, now time.Time) View {
	v.Zoom = z
	if v.Middle.IsZero() {
		return v
	}
	return v.about(v.Middle, first, now)
}
