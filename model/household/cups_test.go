package household

import (
	"slices"
	"testing"
)

func TestCups(t *testing.T) {
	own := []Cup{{ID: "a", Name: "Blue mug", ML: 320}, {ID: "glass", Word: "glass", ML: 180}}
	if got := (Records{}).Apply(KeepCups(own)).Cups(); !slices.Equal(got, own) {
		t.Errorf("kept %v, read %v", own, got)
	}
	if got := (Records{}).Apply(KeepCups(nil)).Cups(); len(got) != 0 {
		t.Errorf("a household without cups has %v", got)
	}
	for text, want := range map[string][]Cup{
		"":            CupWords(),
		"not JSON":    CupWords(),
		`[{"ML":-1}]`: nil,
		`[{"Word":"bucket","ML":100},{"Word":"mug","ML":200}]`: {{Word: "mug", ML: 200}},
		`[{"Name":"Barrel","ML":1501}]`:                        nil,
	} {
		if got := (Records{Settings: map[string]string{SetCups: text}}).Cups(); !slices.Equal(got, want) {
			t.Errorf("%q reads as %v, want %v", text, got, want)
		}
	}
}
