package print

import (
	"os"
	"testing"
	"time"

	"quietwater/model/household"
	"quietwater/model/page"
)

func TestShowPage(t *testing.T) {
	now := time.Date(2026, 11, 28, 10, 0, 0, 0, time.FixedZone("", 3600))
	r := household.Demo(now)
	st := household.Derive(r, now)
	for _, m := range st.Members {
		a := page.Asked{Since: now.AddDate(0, -6, 0), Questions: []string{"Why do my ankles swell in the evening?", "How much may I drink when it is hot?"}, Packs: r.Book.Packs}
		d := Doctor{Result: m.Result, Asked: a, Words: []ChartWords{speak(t, "en"), speak(t, "es")}, Paper: A4, More: true}
		start := time.Now()
		pdf, left, err := DoctorPage(d)
		if err != nil {
			t.Fatal(err)
		}
		t.Log(m.Person.Name, left, len(pdf), time.Since(start))
		os.WriteFile("/tmp/page-"+m.Person.Name+".pdf", pdf, 0o600)
	}
}
