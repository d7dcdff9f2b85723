package finding

import (
	"quietwater/model"
	"quietwater/model/strip"
)

// infectionPads finds the pads of a test that point to germs: nitrite, or
// leukocytes of 1+ and more.
func infectionPads(t Test) []Evidence {
	var out []Evidence
	for _, c := range []model.Code{model.Nitrite, model.Leukocytes} {
		if p, ok := t.Verdict.Pad(c); ok && p.Standing > strip.NotJudged && p.Grade.AtLeast(model.Plus1) {
			out = append(out, t.Evidence(c)...)
		}
	}
	return out
}

// risingSigns are those that say an infection may have left the bladder.
func (h *History) risingSigns(at model.When) []Evidence {
	ev := append(h.fever(at, SymptomSpan), h.cold(at, SymptomSpan)...)
	return append(ev, h.each(at, SymptomSpan, 1, "shivering", "flank-pain", "vomiting")...)
}
