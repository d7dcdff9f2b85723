package renal

import (
	"encoding/csv"
	"math"
	"os"
	"slices"
	"strconv"
	"testing"
)

// TestStagesOfAStudy runs CKD-EPI 2021 over all 6,524 people with a creatinine
// of testdata/flchain.csv (see its README). The counts, least, greatest, mean
// and middle were computed apart from this program, in two languages.
func TestStagesOfAStudy(t *testing.T) {
	f, err := os.Open("testdata/flchain.csv")
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	rows, err := csv.NewReader(f).ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	var all []float64
	raw, rounded := map[string]int{}, map[string]int{}
	shown := 0
	for i, r := range rows[1:] {
		if r[6] == "" || r[6] == "NA" {
			continue
		}
		age, err1 := strconv.ParseFloat(r[0], 64)
		mgdL, err2 := strconv.ParseFloat(r[6], 64)
		if err1 != nil || err2 != nil {
			t.Fatalf("row %d: %q", i+2, r)
		}
		sex := map[string]Sex{"F": Female, "M": Male}[r[1]]
		egfr, why := CreatinineEGFR(mgdL, int(age), sex)
		if !why.IsZero() {
			t.Fatalf("row %d: %v", i+2, why)
		}
		all = append(all, egfr)
		raw[GOf(egfr).String()]++
		rounded[GOf(math.Round(egfr)).String()]++
		if s, _ := strconv.ParseFloat(ShownEGFR(egfr), 64); GOf(s) != GOf(egfr) {
			shown++
		}
	}
	want := map[string][2]int{"G1": {507, 567}, "G2": {4263, 4254}, "G3a": {1295, 1268}, "G3b": {356, 342}, "G4": {81, 72}, "G5": {22, 21}}
	for g, n := range want {
		if raw[g] != n[0] || rounded[g] != n[1] {
			t.Errorf("%s: %d, rounded first %d; want %v", g, raw[g], rounded[g], n)
		}
	}
	if len(all) != 6524 || shown != 0 {
		t.Errorf("%d people, %d of whom would see a number of another stage", len(all), shown)
	}
	slices.Sort(all)
	var sum float64
	for _, x := range all {
		sum += x
	}
	middle := (all[len(all)/2-1] + all[len(all)/2]) / 2
	for _, c := range []struct{ got, want float64 }{{all[0], 4.57}, {all[len(all)-1], 117.60}, {sum / float64(len(all)), 68.75}, {middle, 68.77}} {
		if math.Abs(c.got-c.want) > 0.005 {
			t.Errorf("%.3f, want %.2f", c.got, c.want)
		}
	}
}
