package finding

import (
	"testing"

	"quietwater/model"
	"quietwater/model/strip"
)

// TestLargeKetones: charts print different grades beside 80 mg/dL; the block
// decides.
func TestLargeKetones(t *testing.T) {
	chart := func(unit, two string) *strip.Kind {
		return &strip.Kind{Chart: strip.Chart{Rows: []strip.Row{{Pad: model.Ketones, Unit: unit, Blocks: []strip.Block{
			{Value: "neg", Grade: "neg"}, {Value: two, Grade: "2+"}}}}}}
	}
	two := strip.Pad{Grade: model.Plus2, Value: &model.Value{Code: model.Ketones, Grade: model.Plus2}}
	for _, c := range []struct {
		kind *strip.Kind
		want bool
	}{
		{nil, false},
		{chart("mg/dL", "40"), false},
		{chart("mg/dL", "77"), false},
		{chart("mg/dL", "80"), true},
		{chart("", "80"), true}, // the usual unit is mg/dL
		{chart("mmol/L", "7.8"), true},
		{chart("mmol/L", "8"), true},
		{chart("mmol/L", "4"), false},
		{chart("mmol/L", "7.6"), false},
	} {
		if got := largeKetones(Test{Kind: c.kind}, two); got != c.want {
			t.Errorf("%+v: %v", c.kind, got)
		}
	}
}
