package finding_test

import (
	"strings"
	"testing"
	"time"

	"quietwater/model/finding"
)

// A call that nobody answered is never forgotten, and never urgent once the rules
// look back to it no longer (clinical decisions, "First time").
func TestLapsed(t *testing.T) {
	const (
		blood   = "2027-03-01T08:00:00+01:00,symptom,visible-blood,1\n"
		called  = "2027-03-02T08:00:00+01:00,answer,"
		protein = "2027-03-01T08:00:00+01:00,strip,protein,3+\n"
		pain    = "2027-03-01T08:00:00+01:00,symptom,chest-pain,2\n"
		ketones = "2020-01-01,condition,diabetes,start\n2027-03-01T08:00:00+01:00,vital,blood-ketones,1.8,mmol/L\n"
		fever   = "2020-01-01,condition,transplant,start\n2027-03-01T08:00:00+01:00,vital,temperature,38.6,Cel\n"
		little  = "2027-03-01T08:00:00+01:00,fluid,urine,300,mL\n2027-03-01T08:00:00+01:00,fluid,urine-hours,24,h\n"
		heavier = "2020-01-01,condition,heart-failure,start\n2027-02-27T08:00:00+01:00,vital,weight,80,kg\n2027-03-01T08:00:00+01:00,vital,weight,83,kg\n"
	)
	week := ""
	for _, day := range []string{"1", "2", "3", "4"} {
		for _, hour := range []string{"07", "08", "19", "20"} {
			at := "2027-03-0" + day + "T" + hour + ":00:00+01:00,vital,"
			week += at + "systolic,150,mm[Hg]\n" + at + "diastolic,90,mm[Hg]\n"
		}
	}
	for name, c := range map[string]struct {
		rows string
		now  time.Time
		want string // rules, in order
	}{
		"red urine, thirteen days":      {blood, after1March(13), ""},
		"fifteen":                       {blood, after1March(15), "visible-blood"},
		"a year":                        {blood, after1March(365), "visible-blood"},
		"a clear colour later":          {blood + "2027-03-09T08:00:00+01:00,symptom,visible-blood,0\n", after1March(15), "visible-blood"},
		"somebody called":               {blood + called + "visible-blood,called\n", after1March(15), ""},
		"somebody called a month later": {blood + "2027-04-02T08:00:00+02:00,answer,visible-blood,doctor-knows\n", after1March(60), ""},
		"seen again yesterday":          {blood + "2027-03-19T08:00:00+01:00,symptom,visible-blood,1\n", after1March(19), ""},
		"called, and seen again":        {blood + called + "visible-blood,called\n" + "2027-03-10T08:00:00+01:00,symptom,visible-blood,1\n", after1March(30), "visible-blood"},
		"much protein, ninety days":     {protein, after1March(89), ""},
		"much protein, a hundred":       {protein, after1March(100), "protein-high"},
		"much protein, answered":        {protein + called + "protein-high,called\n", after1March(100), ""},
		"a newer strip takes its place": {protein + "2027-05-30T08:00:00+02:00,strip,protein,neg\n", after1March(100), ""},
		"a week of pressure":            {week, after1March(13), ""},
		"a week of pressure, long ago":  {week, after1March(40), "pressure-home-mean"},
		"a newer week, quiet":           {week + strings.NewReplacer("2027-03", "2027-04", "150", "120", "90,mm", "75,mm").Replace(week), after1March(80), ""},
		"pain in the chest, long ago":   {pain, after1March(100), "red-flag-symptom"},
		"ketones, ninety days":          {ketones, after1March(89), ""},
		"ketones, a hundred":            {ketones, after1March(100), "blood-ketones"},
		"ketones, answered":             {ketones + called + "blood-ketones,called\n", after1March(100), ""},
		"ketones, pressure since":       {ketones + strings.NewReplacer("2027-03", "2027-06", "150", "120", "90,mm", "75,mm").Replace(week), after1March(100), "blood-ketones"},
		"a fever after a transplant":    {fever, after1March(100), "transplant-warning"},
		"three kilos, thirteen days":    {heavier, after1March(13), ""},
		"three kilos, long ago":         {heavier, after1March(40), "weight-gain"},
		"little urine, thirteen days":   {little, after1March(13), ""},
		"little urine, long ago":        {little, after1March(40), "urine-little"},
		"little urine, then portions":   {little + "2027-04-08T08:00:00+02:00,fluid,urine,200,mL\n", after1March(40), "urine-little"},
		"two of them":                   {pain + protein, after1March(100), "red-flag-symptom protein-high"},
		"a test never repeated":         {"2027-03-01T08:00:00+01:00,strip,protein,1+\n", after1March(100), "protein-once"},
		"blood, never repeated":         {"2027-03-01T08:00:00+01:00,strip,blood,1+\n", after1March(100), "blood-once"},
		"repeated, and nothing":         {"2027-03-01T08:00:00+01:00,strip,protein,1+\n2027-03-02T08:00:00+01:00,strip,protein,neg\n", after1March(101), ""},
		"watery only":                   {"2027-03-01T08:00:00+01:00,strip,protein,trace\n2027-03-01T08:00:00+01:00,strip,specific-gravity,1.005\n", after1March(100), ""},
	} {
		tc := testCase{now: c.now}
		for i, l := range strings.Split(strings.TrimSpace(c.rows), "\n") {
			tc.rows = append(tc.rows, caseRow(t, name, l, i+1))
		}
		res := judge(t, name, tc)
		var got []string
		for _, f := range res.Lapsed {
			got = append(got, f.Rule)
			if !f.Lapsed || !f.Old || f.Urgency != finding.Mention || f.Answer != nil {
				t.Errorf("%s: %s is %v, lapsed %v, answered %v", name, f.Rule, f.Urgency, f.Lapsed, f.Answer)
			}
		}
		if strings.Join(got, " ") != c.want {
			t.Errorf("%s: lapsed %v, want %s; open:%s", name, got, c.want, describe(res.Open))
		}
		if c.want != "" && res.QuietState() != finding.HasFindings {
			t.Errorf("%s: the quiet sentence may be said (%d)", name, res.QuietState())
		}
	}
}

func after1March(days int) time.Time {
	return time.Date(2027, 3, 1+days, 9, 0, 0, 0, time.FixedZone("", 3600))
}
