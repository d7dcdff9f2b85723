// Package daily owns the short entries of an ordinary day: where on the body a
// symptom is asked for, what stood there the last time, and every doubt that
// must be asked about an entry before it is kept.
//
// It refuses to know what an entry means for anybody (finding does), and how
// it is asked for on a screen.
package daily

import (
	"slices"
	"time"

	"quietwater/model"
)

// Area is a part of the body, or of life, with the symptoms asked for there.
type Area struct {
	ID    string
	Codes []model.Code
}

// Areas lists all symptoms of the catalogue, each once, in the order they are
// asked for.
func Areas() []Area { return areas }

var areas = []Area{
	{"emergency", []model.Code{"breathless-at-rest", "chest-pain", "confusion", "drowsiness", "collapse", "fit", "face-arm-speech"}},
	{"urine", []model.Code{"passing-less", "passing-none", "passing-more", "night-urination", "painful-urination", "foamy-urine",
		"dark-urine", "visible-blood", "blood-clots"}},
	{"swelling", []model.Code{"ankle-swelling", "face-swelling", "breathlessness", "fast-breathing"}},
	{"stomach", []model.Code{"nausea", "vomiting", "diarrhoea", "belly-pain", "poor-appetite", "thirst"}},
	{"fever", []model.Code{"fever", "shivering", "flank-pain", "cloudy-fluid"}},
	{"head", []model.Code{"headache", "dizziness", "vision-trouble", "poor-focus"}},
	{"body", []model.Code{"tiredness", "weakness", "cramps", "itching", "yellow-eyes"}},
}

// StandingDays is how long a symptom is remembered (our choice).
const StandingDays = 7

// Said is what was last recorded of something.
type Said struct {
	Value model.Value
	When  model.When
}

// Standing lists the symptoms that were there when last asked about, at most
// [StandingDays] ago, in the order of [Areas]. entries come in time order.
func Standing(entries []model.Entry, now time.Time) []Said {
	last := map[model.Code]Said{}
	for _, e := range slices.Backward(entries) {
		if !model.Within(e.When, model.At(now), (StandingDays+3)*24*time.Hour, now.Location()) {
			break // a day alone lies up to three from where a zone has it
		}
		if e.Kind != model.Symptom || !model.Within(e.When, model.At(now), StandingDays*24*time.Hour, now.Location()) {
			continue
		}
		for _, v := range e.Values {
			if _, newer := last[v.Code]; !newer {
				last[v.Code] = Said{v, e.When}
			}
		}
	}
	var out []Said
	for _, a := range areas {
		for _, c := range a.Codes {
			if s, ok := last[c]; ok && s.Value.Number > 0 {
				out = append(out, s)
			}
		}
	}
	return out
}
