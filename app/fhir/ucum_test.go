package fhir

import (
	"fmt"
	"math"
	"os"
	"slices"
	"strconv"
	"strings"
	"testing"

	"quietwater/model"
)

// asked lists every unit of ours, every other way of writing one that we
// understand, and every pair of units of one item that the catalogue converts.
func asked() []string {
	var out []string
	add := func(s string) {
		if !slices.Contains(out, s) {
			out = append(out, s)
		}
	}
	for _, it := range model.Items() {
		for _, u := range it.Units {
			if u.UCUM == "" {
				continue
			}
			add(u.UCUM)
			if u.Factor != 0 && u.UCUM != it.Units[0].UCUM && it.Units[0].Factor != 0 {
				add(u.UCUM + "\t" + it.Units[0].UCUM)
			}
		}
	}
	for _, c := range codes {
		for _, u := range c.units {
			add(u)
			if small := strings.ReplaceAll(u, "L", "l"); small != u {
				add(small + "\t" + u)
			}
		}
	}
	for other, ours := range sameUnits {
		add(other + "\t" + ours)
	}
	add(score)
	slices.Sort(out)
	return out
}

// TestUCUM holds units against the verdicts of an independent library, written
// down in testdata/ucum.tsv (testdata/ucum.js asks it): all are units of UCUM,
// what we take for the same unit is the same, and where two units of an item
// are of one dimension the catalogue's factor is UCUM's. Mass against amount
// of substance is not UCUM's to say.
func TestUCUM(t *testing.T) {
	file, err := os.ReadFile("testdata/ucum.tsv")
	if err != nil {
		t.Fatal(err)
	}
	said := map[string]string{}
	for line := range strings.Lines(string(file)) {
		cells := strings.Split(strings.TrimSuffix(line, "\n"), "\t")
		said[strings.TrimSuffix(cells[0]+"\t"+cells[1], "\t")] = cells[2]
	}
	if os.Getenv("UCUM_ASK") != "" { // the list to ask the library with
		fmt.Println(strings.Join(asked(), "\n"))
	}
	factors := 0
	for _, q := range asked() {
		from, to, pair := strings.Cut(q, "\t")
		verdict, known := said[q]
		switch {
		case !known:
			t.Errorf("the library was never asked about %q", q)
		case !pair && verdict != "valid":
			t.Errorf("%q is no unit of UCUM: %s", from, verdict)
		case pair && (sameUnits[from] == to || strings.EqualFold(from, to)):
			if verdict != "1" {
				t.Errorf("%q is not %q: %s", from, to, verdict)
			}
		case pair:
			want, err := strconv.ParseFloat(verdict, 64)
			if err != nil {
				continue
			}
			for _, it := range model.Items() {
				if len(it.Units) == 0 || it.Units[0].UCUM != to {
					continue
				}
				if u, ok := it.Unit(from); ok {
					factors++
					if got, _ := it.In(model.Value{Number: 1, Unit: from}, to); math.Abs(got/want-1) > 1e-6 {
						t.Errorf("%s: 1 %s is %v %s, in UCUM %v", it.Code, u.UCUM, got, to, want)
					}
				}
			}
		}
	}
	if factors < 10 {
		t.Errorf("only %d factors were compared", factors)
	}
}
