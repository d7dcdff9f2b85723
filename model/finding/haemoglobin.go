package finding

import (
	"slices"

	"quietwater/model"
)

// haemoglobin: kidneys that fail make less of what makes red blood. The first
// low result is told, and the first that is much lower; not each one after.
var haemoglobin = &Rule{
	ID:        "haemoglobin",
	Urgencies: []Urgency{Soon},
	Reads:     []model.Code{"haemoglobin", "dialysis", "transplant"},
	Judges:    []model.Code{"haemoglobin"},
	About:     []string{"haemoglobin"},
	Limits: []Limit{
		limit("up to", haemoglobinLow, "g/L", "nice-ng203", "anaemia: investigate at 110 g/L or less"),
		ours("visit within", 30, "d"),
		ours("sooner below", haemoglobinLower, "g/L"),
		ours("then within", 14, "d"),
	},
	Cites:    []model.Cite{{Source: "nice-ng203", At: "anaemia: investigate at 110 g/L or less"}},
	Variants: []string{"lower"},
	Eval:     evalHaemoglobin,
}

// Haemoglobin in g/L.
const (
	haemoglobinLow   = 110.0
	haemoglobinLower = 100.0
)

func evalHaemoglobin(r *Rule, h *History) []Finding {
	all := h.results("haemoglobin")
	var fs []Finding
	told := -1 // the result that is told of already
	for _, level := range []struct {
		variant string
		days    int
		is      func(result) bool
	}{
		{"lower", 14, func(b result) bool { return b.below(haemoglobinLower) }},
		{"", 30, func(b result) bool { return b.atMost(haemoglobinLow) }},
	} {
		i := slices.IndexFunc(all, level.is)
		if i < 0 || i == told {
			continue
		}
		b := all[i]
		f := h.New(r, Soon, level.variant, []Evidence{b.Evidence}, "read", readHaemoglobin(b, all[len(all)-1]),
			"whom", h.whom(b.When)).InDays(level.days)
		if h.stillSo(all, level.is) || h.answerTo(f) != nil {
			fs, told = append(fs, f), i
		}
	}
	return h.standing(fs)
}

// stillSo reports that a result which stands is as asked.
func (h *History) stillSo(all []result, is func(result) bool) bool {
	for i, r := range all {
		if is(r) && h.stands(r, all[i+1:]) {
			return true
		}
	}
	return false
}

// readHaemoglobin names the first low result, and the newest where it is another.
func readHaemoglobin(first, newest result) model.Msg {
	if first.Entry == newest.Entry {
		return model.T("finding.read.haemoglobin", "value", first.shown(), "first", first.When)
	}
	return model.T("finding.read.haemoglobin-since", "value", first.shown(), "first", first.When,
		"last", newest.When, "newest", newest.shown())
}
