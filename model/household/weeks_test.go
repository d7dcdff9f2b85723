package household

import (
	"testing"
	"time"

	"quietwater/model"
)

func TestWeeks(t *testing.T) {
	r := Records{}
	if _, ok := r.Week("rosa"); ok {
		t.Error("a week that nobody began")
	}
	day := model.OnDay(time.Date(2026, 3, 2, 9, 0, 0, 0, time.UTC))
	r = r.Apply(r.KeepWeek("rosa", day))
	r = r.Apply(r.KeepWeek("emil", model.OnDay(day.Time().AddDate(0, 0, 3))))
	if got, ok := r.Week("rosa"); !ok || got.String() != "2026-03-02" {
		t.Errorf("Rosa's began on %v", got)
	}
	r = r.Apply(r.KeepWeek("rosa", model.When{}))
	if _, ok := r.Week("rosa"); ok {
		t.Error("Rosa's goes on")
	}
	if _, ok := r.Week("emil"); !ok {
		t.Error("Emil's ended with it")
	}
	if _, ok := (Records{Settings: map[string]string{SetWeeks: "{"}}).Week("rosa"); ok {
		t.Error("what cannot be read is a week")
	}
}
