package finding_test

import (
	"strings"
	"testing"
	"time"

	"quietwater/model/finding"
)

// TestCouldNotTellIsNeverQuiet: whatever of the newest test could not be told,
// the quiet sentence is not said, even after all that was asked is answered.
func TestCouldNotTellIsNeverQuiet(t *testing.T) {
	const (
		box  = ",pack,kind-of-strip,albumin-creatinine,,Box\n"
		ten  = ",pack,kind-of-strip,ten-pads,,Box\n"
		old  = ten + ",pack,use-by,2026-01-01,,Box\n"
		test = "2027-03-01T08:00:00+01:00,strip,"
		ours = test + "pack,Box\n"
		lab  = "2027-02-01,lab,acr,5,mg/g\n"
	)
	for name, c := range map[string]struct {
		rows string
		want finding.Quiet
	}{
		"all told":                      {test + "protein,neg", finding.OnlyStrips},
		"one pad could not be told":     {test + "protein,neg\n" + test + "glucose,unclear", finding.Unjudged},
		"acidity could not be told":     {test + "protein,neg\n" + test + "ph,unclear", finding.Unjudged},
		"read late":                     {ten + ours + test + "protein,neg\n" + test + "seconds-after-dip,300", finding.Unjudged},
		"read early":                    {ten + ours + test + "protein,neg\n" + test + "seconds-after-dip,5", finding.Unjudged},
		"past its date":                 {old + ours + test + "protein,neg", finding.Unjudged},
		"too watery":                    {test + "protein,neg\n" + test + "specific-gravity,1.005", finding.Unjudged},
		"blood near menstruation":       {test + "blood,2+\n" + test + "menstruating,yes", finding.Unjudged},
		"blood after exercise":          {test + "blood,2+\n" + test + "after-exercise,yes", finding.Unjudged},
		"albumin, creatinine not told":  {box + ours + test + "albumin,30\n" + test + "creatinine,unclear", finding.Unjudged},
		"albumin alone":                 {box + ours + test + "albumin,10", finding.Unjudged},
		"much albumin alone":            {box + ours + test + "albumin,150", finding.Unjudged},
		"much, creatinine not told":     {box + ours + test + "albumin,150\n" + test + "creatinine,unclear", finding.Unjudged},
		"both pads":                     {box + ours + test + "albumin,10\n" + test + "creatinine,100", finding.OnlyStrips},
		"no pad was read":               {test + "first-morning,yes", finding.Unjudged},
		"could not be told, then again": {strings.ReplaceAll(test, "T08", "T07") + "protein,unclear\n" + test + "protein,neg", finding.OnlyStrips},
		"all told, and a laboratory":    {lab + test + "protein,neg", finding.Silent},
		"a year ago, not told":          {strings.ReplaceAll(test, "2027", "2026") + "protein,unclear", finding.OldRecord},
	} {
		var tc testCase
		tc.now = time.Date(2027, 3, 1, 12, 0, 0, 0, time.FixedZone("", 3600))
		for i, l := range strings.Split(c.rows, "\n") {
			tc.rows = append(tc.rows, caseRow(t, name, l, i+1))
		}
		res := judge(t, name, tc)
		for _, f := range res.Open {
			tc.rows = append(tc.rows, caseRow(t, name, "2027-03-01T11:00:00+01:00,answer,"+f.Rule+",done", len(tc.rows)+1))
		}
		if res = judge(t, name, tc); res.QuietState() != c.want {
			t.Errorf("%s: quiet state %d, want %d; open:%s", name, res.QuietState(), c.want, describe(res.Open))
		}
	}
}
