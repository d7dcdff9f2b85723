package ui

import (
	"slices"
	"testing"

	"quietwater/model/finding"
	"quietwater/model/household"
)

// TestOthersAlarms: somebody else's finding stands above one's own only when
// it is more urgent, and is never left out.
func TestOthersAlarms(t *testing.T) {
	r := household.Demo(morning)
	d := open(t, newBook(r))
	st := d.book.State()
	for _, m := range st.Members {
		louder, others := d.w.others(st, m)
		own := finding.Note
		if len(m.Result.Open) > 0 {
			own = m.Result.Open[0].Urgency
		}
		var above, below int
		for _, o := range st.Members {
			if o.Person.ID == m.Person.ID || len(o.Result.Open) == 0 || o.Result.Open[0].Urgency < finding.Soon {
				continue
			}
			if o.Result.Open[0].Urgency > own {
				above++
			} else {
				below++
			}
		}
		if len(louder) != above || len(others) != below {
			t.Errorf("%s: %d above and %d below, want %d and %d", m.Person.Name, len(louder), len(others), above, below)
		}
	}
	alarmed := slices.ContainsFunc(st.Members, func(m household.Member) bool {
		return len(m.Result.Open) > 0 && m.Result.Open[0].Urgency >= finding.Soon
	})
	if !alarmed {
		t.Error("nobody in the invented household needs a doctor: nothing was tried")
	}
}
