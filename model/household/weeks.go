package household

import (
	"encoding/json"
	"maps"

	"quietwater/model"
)

// Week is the day on which a person's week of blood pressure began; ok is false
// where none is going on.
func (r Records) Week(p model.ID) (start model.When, ok bool) {
	start, err := model.ParseDay(r.weeks()[p], false)
	return start, err == nil
}

func (r Records) weeks() map[model.ID]string {
	weeks := map[model.ID]string{}
	_ = json.Unmarshal([]byte(r.Settings[SetWeeks]), &weeks) // what cannot be read any more is none
	return weeks
}

// KeepWeek is the change that begins a person's week on a day, or with the zero
// day ends it.
func (r Records) KeepWeek(p model.ID, start model.When) Changes {
	weeks := maps.Clone(r.weeks())
	if weeks[p] = start.String(); start.IsZero() {
		delete(weeks, p)
	}
	return kept(SetWeeks, weeks)
}
