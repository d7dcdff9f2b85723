package sheet

import (
	"fmt"
	"strings"
	"testing"

	"quietwater/model"
)

func TestSameDays(t *testing.T) {
	of := func(e model.Entry, id, person string) model.Entry {
		e.ID, e.Person = model.ID(id), model.ID(person)
		return e
	}
	book := []model.Entry{
		of(earlier(10, "Bridge", "potassium", "4.4", "mmol/L"), "b1", "ana"),
		of(earlier(10, "", "potassium", "6.1", "mmol/L"), "b2", "ben"),
	}
	book[0].When, book[1].When = model.At(now.AddDate(0, 0, -10)), model.OnDay(now.AddDate(0, 0, -10))
	weight := model.Entry{ID: "w", Person: "ana", Kind: model.Vital, When: book[1].When, Values: []model.Value{{Code: "weight", Number: 60, Typed: "60", Unit: "kg"}}}
	for _, c := range []struct {
		name   string
		coming []model.Entry
		want   string
	}{
		{"another number of a day that has one", []model.Entry{of(earlier(10, "", "potassium", "5.1", "mmol/L"), "c", "ana")}, "c 5.1 beside 4.4"},
		{"the same number", []model.Entry{of(earlier(10, "", "potassium", "4.4", "mmol/L"), "c", "ana")}, "c 4.4 beside 4.4"},
		{"another day", []model.Entry{of(earlier(11, "", "potassium", "5.1", "mmol/L"), "c", "ana")}, ""},
		{"another name", []model.Entry{of(earlier(10, "", "sodium", "140", "mmol/L"), "c", "ana")}, ""},
		{"somebody else's", []model.Entry{of(earlier(10, "", "potassium", "5.1", "mmol/L"), "c", "cleo")}, ""},
		{"twice in what is coming", []model.Entry{of(earlier(3, "", "creatinine", "90", "umol/L"), "c", "ana"), of(earlier(3, "", "creatinine", "150", "umol/L"), "d", "ana")}, "d 150 beside 90"},
		{"the laboratory's name is no result", []model.Entry{of(earlier(10, "Bridge", "sodium", "140", "mmol/L"), "c", "ana"), of(earlier(10, "Bridge", "urea", "7", "mmol/L"), "d", "ana")}, ""},
		{"a weight may be taken twice a day", []model.Entry{weight, weight}, ""},
	} {
		var got []string
		for _, s := range SameDays(book, c.coming, now.Location()) {
			there := []string{}
			for _, v := range s.There {
				there = append(there, v.Text())
			}
			got = append(got, fmt.Sprintf("%s %s beside %s", s.Coming.ID, s.Value.Text(), strings.Join(there, ",")))
		}
		if out := strings.Join(got, "; "); out != c.want {
			t.Errorf("%s: %q, want %q", c.name, out, c.want)
		}
	}
}
