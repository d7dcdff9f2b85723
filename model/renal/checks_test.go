package renal

import (
	"encoding/csv"
	"math"
	"os"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"testing"
	"time"

	"quietwater/model"
)

// check is one row of checks.csv: what other people's publications or programs
// give for the same input.
type check struct {
	t      *testing.T
	line   int
	in     map[string]string
	want   string
	within float64
	source string
}

func (c check) num(key string) float64 {
	x, err := strconv.ParseFloat(c.in[key], 64)
	if err != nil {
		c.t.Fatalf("row %d: %s is %q", c.line, key, c.in[key])
	}
	return x
}

func (c check) sex() Sex            { return Sex(c.in["sex"]) }
func (c check) years() int          { return int(c.num("age")) }
func (c check) is(what string) bool { return c.in[what] == "1" }

// mgdL is the creatinine of the row, converted by the catalogue.
func (c check) mgdL() float64 {
	it, _ := model.Find(model.Lab, "creatinine")
	x, ok := it.In(c.value("creatinine", c.in["unit"]), "mg/dL")
	if !ok {
		c.t.Fatalf("row %d: creatinine in %q", c.line, c.in["unit"])
	}
	return x
}

func (c check) value(key, unit string) model.Value {
	return model.Value{Code: model.Code(key), Number: c.num(key), Typed: c.in[key], Unit: unit}
}

// gives compares one number; sheets round, so the row's tolerance decides.
func (c check) gives(got float64, why model.Msg, want string) {
	c.t.Helper()
	w, err := strconv.ParseFloat(want, 64)
	if err != nil {
		c.t.Fatalf("row %d: expected %q", c.line, want)
	}
	if !why.IsZero() || math.Abs(got-w) > c.within+1e-9 {
		c.t.Errorf("row %d: %v, %v; want %v ± %v (%s)", c.line, got, why, w, c.within, c.source)
	}
}

func (c check) says(got, want string) {
	c.t.Helper()
	if got != want {
		c.t.Errorf("row %d: %s, want %s (%s)", c.line, got, want, c.source)
	}
}

// topics says how a row of each topic is checked. Topics of other packages
// stand in elsewhere.
var topics = map[string]func(c check){
	"egfr.ckdepi2021.cr": func(c check) {
		got, why := CreatinineEGFR(c.mgdL(), c.years(), c.sex())
		c.gives(got, why, c.want)
	},
	"egfr.ckdepi2021.cr.rounded": func(c check) {
		got, why := CreatinineEGFR(c.mgdL(), c.years(), c.sex())
		if !why.IsZero() {
			c.t.Error(why)
		}
		c.says(ShownEGFR(got), c.want)
	},
	"egfr.ckdepi2021.cr.refuse": func(c check) {
		_, refused := Estimate(Case{Age: c.num("age"), Sex: c.sex(), Creatinine: c.value("creatinine", c.in["unit"])})
		i := slices.IndexFunc(refused, func(r Refusal) bool { return r.Name == NameCreatinine2021 })
		want := map[string]string{"not-applicable(age<18)": "renal.refused.adult-only", "implausible-unit?(looks like umol/L)": "problem.did-you-mean"}[c.want]
		if i < 0 || want == "" || refused[i].Why.Key != want {
			c.t.Errorf("row %d: %v, want %s", c.line, refused, c.want)
		}
	},
	"egfr.ckdepi2021.crcys": func(c check) {
		got, why := CreatinineCystatinEGFR(c.mgdL(), c.num("cystatin"), c.years(), c.sex())
		c.gives(got, why, c.want)
	},
	"egfr.ckdepi2012.cys": func(c check) {
		got, why := CystatinEGFR(c.num("cystatin"), c.years(), c.sex())
		c.gives(got, why, c.want)
	},
	"egfr.schwartz2009": func(c check) {
		got, why := BedsideChildEGFR(c.num("creatinine"), c.num("height_cm"), 10)
		c.gives(got, why, c.want)
	},
	"egfr.u25": func(c check) {
		cr, w1 := U25Creatinine(c.mgdL(), c.num("height_cm"), c.num("age"), c.sex())
		cys, w2 := U25Cystatin(c.num("cystatin"), c.num("age"), c.sex())
		want := map[string]string{}
		for part := range strings.SplitSeq(c.want, ";") {
			k, v, _ := strings.Cut(part, "=")
			want[k] = v
		}
		c.gives(cr, w1, want["cr"])
		c.gives(cys, w2, want["cys"])
		c.gives((cr+cys)/2, model.Msg{}, want["avg"])
	},
	"egfr.u25.cr": func(c check) {
		got, why := U25Creatinine(c.mgdL(), c.num("height_cm"), c.num("age"), c.sex())
		c.gives(got, why, c.want)
	},
	"egfr.u25.cys": func(c check) {
		got, why := U25Cystatin(c.num("cystatin"), c.num("age"), c.sex())
		c.gives(got, why, c.want)
	},
	"crcl.cockcroft": func(c check) {
		got, why := CockcroftGault(c.mgdL(), c.num("weight_kg"), c.years(), c.sex())
		c.gives(got, why, c.want)
	},
	"crcl.measured": func(c check) {
		got, why := MeasuredClearance(c.num("urine_creatinine_mg_dL"), c.num("volume_mL"), c.num("minutes")/60, c.num("serum_creatinine_mg_dL"))
		c.gives(got, why, c.want)
	},
	"bsa.dubois": func(c check) {
		got, why := DuBois(c.num("height_cm"), c.num("weight_kg"))
		c.gives(got, why, c.want)
	},
	"bsa.mosteller": func(c check) {
		got, why := Mosteller(c.num("height_cm"), c.num("weight_kg"))
		c.gives(got, why, c.want)
	},
	"egfr.deindexed": func(c check) {
		bsa, _ := DuBois(c.num("height_cm"), c.num("weight_kg"))
		got, why := DeIndexed(c.num("egfr"), bsa)
		c.gives(got, why, c.want)
	},
	"kdigo.g": func(c check) { c.says(GOf(c.num("egfr")).String(), c.want) },
	"kdigo.a": func(c check) {
		a, _ := AOf(c.value("acr", c.in["unit"]))
		c.says(a.String(), strings.TrimSuffix(c.want, " (accept A2)"))
	},
	"kdigo.a.from_pcr": func(c check) {
		a, _ := AOfPCR(c.value("pcr", c.in["unit"]))
		c.says(a.String(), c.want)
	},
	"kdigo.risk": func(c check) { c.says(RiskOf(c.cell()).String(), c.want) },
	"kdigo.monitor": func(c check) {
		// Where 2012 and 2024 differ, decision 4 takes the newer; "+" is a least.
		want := map[string]string{"1 if CKD": "1", "2 (2012) or 3 (2024)": "3", "4+": "4"}
		w, other := want[c.want]
		if !other {
			w = c.want
		}
		c.says(strconv.Itoa(ChecksPerYear(c.cell())), w)
	},
	"egfr.change20":            func(c check) { c.flags(Fell(c.num("previous"), c.num("current")) > 0.20) },
	"egfr.change30.after_drug": func(c check) { c.flags(Fell(c.num("previous"), c.num("current")) > 0.30) },
	"acr.doubling": func(c check) {
		twice, why := Doubled(c.value("previous", "mg/g"), c.value("current", "mg/g"))
		if !why.IsZero() {
			c.t.Errorf("row %d: %v", c.line, why)
		}
		c.flags(twice)
	},
	"egfr.slope": func(c check) {
		var ps []Point
		for part := range strings.SplitSeq(c.in["points"], "|") {
			y, e, _ := strings.Cut(part, "y:")
			years, _ := strconv.ParseFloat(y, 64)
			egfr, _ := strconv.ParseFloat(e, 64)
			ps = append(ps, Point{years, egfr})
		}
		trend, why := TrendOf(ps)
		slope, rapid, _ := strings.Cut(c.want, " per year; ")
		c.gives(trend.PerYear, why, slope)
		if trend.Rapid != (rapid == "rapid") {
			c.t.Errorf("row %d: rapid %v, want %s", c.line, trend.Rapid, rapid)
		}
	},
	"ckd.chronicity": func(c check) {
		var rs []Abnormal
		for part := range strings.SplitSeq(c.in["values"], "|") {
			v, d, _ := strings.Cut(part, "@")
			egfr, _ := strconv.ParseFloat(v, 64)
			when, _ := model.ParseWhen(d, time.UTC)
			rs = append(rs, Abnormal{when, GOf(egfr) >= G3a})
		}
		yes, days := Confirmed(rs, time.UTC)
		if yes || days != 41 {
			c.t.Errorf("row %d: %v after %d days", c.line, yes, days)
		}
	},
	"aki.creatinine": func(c check) {
		gap := map[string]time.Duration{"within 48 h": 48 * time.Hour, "within 7 days": 7 * 24 * time.Hour}[c.in["window"]]
		then := time.Date(2026, 3, 1, 8, 0, 0, 0, time.UTC)
		base := Creatinine{model.At(then), c.num("baseline_mg_dL")}
		injury, _ := InjuryOf(Creatinine{model.At(then.Add(gap)), c.num("current_mg_dL")}, []Creatinine{base}, -1, 0, time.UTC)
		c.says([]string{"none", "stage 1", "stage 2", "stage 3"}[injury.Stage], c.want)
	},
	"aki.urine_output": func(c check) {
		stage, why := InjuryByUrine(c.num("volume_mL"), c.num("weight_kg"), c.num("hours"))
		got, _, _ := strings.Cut(c.want, " (")
		if !why.IsZero() {
			c.t.Errorf("row %d: %v", c.line, why)
		}
		c.says([]string{"none", "stage 1", "stage 2", "stage 3"}[stage], got)
	},
	"kfre4.percent": func(c check) {
		r, why := FailureRisk4(c.num("age"), c.sex(), c.num("egfr"), c.num("acr_mg_g"), c.region())
		c.risks(r, why)
	},
	"kfre8.percent": func(c check) {
		r, why := FailureRisk8(c.num("age"), c.sex(), c.num("egfr"), c.num("acr_mg_g"), c.num("albumin_g_dL"), c.num("phosphate_mg_dL"),
			c.num("bicarbonate"), c.num("calcium_mg_dL"), c.region())
		c.risks(r, why)
	},
	"kfre.refuse": func(c check) {
		k := Case{Age: c.num("age"), Sex: c.sex(), EGFR: c.value("egfr", perSurface), Region: "other"}
		if c.in["acr"] == "missing" {
			k.StripProtein, _ = model.ParseGrade(c.in["strip_protein"])
		} else {
			k.ACR = model.Value{Code: "acr", Number: c.num("acr_mg_g"), Unit: "mg/g"}
		}
		results, _ := Estimate(k)
		if slices.ContainsFunc(results, func(r Result) bool { return strings.HasPrefix(string(r.Name), "failure-risk") }) {
			c.t.Errorf("row %d: %v, want %s", c.line, results, c.want)
		}
	},
	"pcr2acr": func(c check) {
		got, why := ACRFromPCR(c.num("pcr_mg_g"), c.sex(), c.is("diabetes"), c.is("hypertension"))
		c.gives(got, why, c.want)
	},
	"dip2acr": func(c check) {
		g, _ := model.ParseGrade(c.in["strip_protein"])
		got, why := ACRFromStrip(g, c.sex(), c.is("diabetes"), c.is("hypertension"))
		c.gives(got, why, c.want)
	},
}

// elsewhere are topics other packages hold themselves to.
var elsewhere = regexp.MustCompile(`^(unit|strip|bp|weight)\.|^potassium$`)

func (c check) cell() (G, A) {
	g := G(slices.Index(gNames[:], c.in["g"]))
	a := A(slices.Index(aNames[:], c.in["a"]))
	return g, a
}

func (c check) region() string {
	return map[string]string{"NA": NorthAmerica, "non-NA": Elsewhere}[c.in["region"]]
}

func (c check) risks(r Risks, why model.Msg) {
	c.t.Helper()
	for part := range strings.SplitSeq(c.want, ";") {
		span, percent, _ := strings.Cut(part, "=")
		c.gives(100*map[string]float64{"2y": r.Two, "5y": r.Five}[span], why, percent)
	}
}

func (c check) flags(got bool) {
	c.t.Helper()
	if want := c.want == "flag"; got != want {
		c.t.Errorf("row %d: flag %v, want %s (%s)", c.line, got, c.want, c.source)
	}
}

// TestAgainstPublishedChecks goes through every row of checks.csv: the numbers
// of publications, of public programs and of computations made apart from this
// one; the last column names the source.
func TestAgainstPublishedChecks(t *testing.T) {
	f, err := os.Open("../testdata/checks.csv")
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	rows, err := csv.NewReader(f).ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	done := map[string]int{}
	for i, r := range rows[1:] {
		topic := r[0]
		run, ours := topics[topic]
		if !ours {
			if !elsewhere.MatchString(topic) {
				t.Errorf("row %d: nobody checks %s", i+2, topic)
			}
			continue
		}
		done[topic]++
		c := check{t: t, line: i + 2, in: map[string]string{}, want: r[2], source: r[4]}
		for part := range strings.SplitSeq(r[1], ";") {
			k, v, _ := strings.Cut(part, "=")
			c.in[k] = v
		}
		if r[3] != "" {
			c.within, err = strconv.ParseFloat(r[3], 64)
			if err != nil {
				t.Fatalf("row %d: tolerance %q", i+2, r[3])
			}
		}
		run(c)
	}
	for topic := range topics {
		if done[topic] == 0 {
			t.Errorf("no row of checks.csv is about %s", topic)
		}
	}
}
