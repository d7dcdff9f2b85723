package finding

import (
	"slices"
	"time"

	"quietwater/model"
)

// potassium: too much and too little both disturb the heart, the sooner the
// faster it came or the sicker the person.
var potassium = &Rule{
	ID:        "potassium",
	Urgencies: []Urgency{Soon, Today, Emergency},
	Reads: []model.Code{"potassium", "creatinine", "vomiting", "diarrhoea", "weakness", "passing-less", "chest-pain",
		"dialysis", "transplant", "acei-or-arb", "diuretic", "nsaid"},
	Judges: []model.Code{"potassium"},
	About:  []string{"potassium"},
	Limits: []Limit{
		limit("high from", potassiumHigh, "mmol/L", "ukka2023", "severity: mild from 5.5"),
		limit("within", 3, "d", "ukka2023", "community: unexpected result, repeat within 3 days"),
		limit("the same day from", potassiumHigher, "mmol/L", "ukka2023", "severity: moderate from 6.0"),
		limit("emergency from", potassiumHighest, "mmol/L", "ukka2023", "severity: severe from 6.5"),
		limit("the same day after a rise of more than", potassiumRise, "mmol/L", "ukka2023", "community: rapid rise"),
		ours("a rise within", 24, "h"),
		{"low below", potassiumLow, "mmol/L", model.Cite{Source: model.CommonPractice}},
		{"the same day below", potassiumLower, "mmol/L", model.Cite{Source: model.CommonPractice}},
		{"emergency below", potassiumLowest, "mmol/L", model.Cite{Source: model.CommonPractice}},
		ours("vomiting, diarrhoea, new weakness from", 1, "severity"),
		ours("passing less from", 2, "severity"),
		ours("weakness with low potassium from", 2, "severity"),
		ours("chest pain with low potassium from", 1, "severity"),
		ours("symptoms until before", 72, "h"),
		ours("and until after", 7, "d"),
		ours("creatinine rise within", 7, "d"),
	},
	Cites: []model.Cite{{Source: "ukka2023", At: "hyperkalaemia in the community"}, {Source: "viera2015", At: "abstract: severe or with symptoms is urgent"},
		{Source: model.OurChoice}},
	Variants: []string{"unwell", "rise", "high", "high-unwell", "very-high", "low", "lower", "low-unwell", "very-low"},
	Eval:     evalPotassium,
}

// Potassium in mmol/L: where it calls for somebody.
const (
	potassiumHigh    = 5.5
	potassiumHigher  = 6.0
	potassiumHighest = 6.5
	potassiumRise    = 0.5
	potassiumLow     = 3.5
	potassiumLower   = 3.0
	potassiumLowest  = 2.5
)

func evalPotassium(r *Rule, h *History) []Finding {
	all := h.results("potassium")
	if !slices.ContainsFunc(all, bands["potassium"].calls) {
		return nil
	}
	injuries := h.injuries()
	return h.perResult(r, all, func(k result) (Finding, bool) {
		ev := []Evidence{k.Evidence}
		args := []any{"when", k.When, "value", k.shown(), "whom", h.whom(k.When)}
		ill, besides := h.unwell(k.When, injuries)
		faint := append(h.symptomWith(k.When, "chest-pain", from(1)), h.symptomWith(k.When, "weakness", from(2))...)
		earlier, rose := h.potassiumBefore(k, all)
		var f Finding
		switch {
		case k.atLeast(potassiumHighest):
			f = h.New(r, Emergency, "very-high", ev, args...)
		case k.below(potassiumLowest):
			f = h.New(r, Emergency, "very-low", ev, args...)
		case k.atLeast(potassiumHigher) && len(ill) > 0:
			f = h.New(r, Emergency, "high-unwell", append(ev, ill...), append(args, "besides", besides)...)
		case k.below(potassiumLow) && len(faint) > 0:
			f = h.New(r, Emergency, "low-unwell", append(ev, faint...), append(args, "besides", names(faint))...)
		case k.atLeast(potassiumHigher):
			f = h.New(r, Today, "high", ev, args...)
		case k.below(potassiumLower):
			f = h.New(r, Today, "lower", ev, args...)
		case k.atLeast(potassiumHigh) && len(ill) > 0:
			f = h.New(r, Today, "unwell", append(ev, ill...), append(args, "besides", besides)...)
		case k.atLeast(potassiumHigh) && rose:
			f = h.New(r, Today, "rise", append(ev, earlier.Evidence), append(args, "first", earlier.When, "before", earlier.shown())...)
		case k.atLeast(potassiumHigh):
			f = h.New(r, Soon, "", ev, args...).InDays(3)
		case k.below(potassiumLow):
			f = h.New(r, Soon, "low", ev, args...).InDays(3)
		default:
			return Finding{}, false
		}
		return h.tell(h.atUnit(f, k.When), k.When, tellMedicines...), true
	})
}

// unwell finds what makes high potassium more pressing: illness that loses
// fluid, new weakness, less urine, or a creatinine that rose.
func (h *History) unwell(at model.When, injuries []injury) (ev []Evidence, besides []model.Msg) {
	ev = append(h.symptomWith(at, "vomiting", from(1)), h.symptomWith(at, "diarrhoea", from(1))...)
	ev = append(ev, h.symptomWith(at, "weakness", h.isNew)...)
	if !h.onAt(model.Condition, "dialysis", at) { // there little urine is usual
		ev = append(ev, h.symptomWith(at, "passing-less", from(2))...)
	}
	besides = names(ev)
	for _, i := range injuries {
		if model.Within(at, i.When, 7*day, h.Zone) {
			return append(ev, i.Evidence), append(besides, model.T("finding.potassium.creatinine"))
		}
	}
	return ev, besides
}

// isNew reports a symptom that is new, or has newly reached 2.
func (h *History) isNew(e Evidence) bool {
	n := e.Value.Number
	return n >= 1 && h.newly(e, 1) || n >= 2 && h.newly(e, 2)
}

func names(es []Evidence) []model.Msg {
	var out []model.Msg
	for _, e := range es {
		out = append(out, model.T("name."+string(e.Kind)+"."+string(e.Value.Code)))
	}
	return out
}

// potassiumBefore finds the lowest result within a day before k from which it
// rose by more than 0.5.
func (h *History) potassiumBefore(k result, all []result) (lowest result, rose bool) {
	for _, o := range all {
		if h.isLater(k.When, o.When) || !model.Within(o.When, k.When, 24*time.Hour, h.Zone) || !k.higherBy(o, potassiumRise) {
			continue
		}
		if !rose || o.x < lowest.x {
			lowest, rose = o, true
		}
	}
	return lowest, rose
}

// higherBy reports that r lies more than d above o for certain.
func (r result) higherBy(o result, d float64) bool {
	rise := result{x: round(r.x-o.x+100, 1e6) - 100}
	if r.bound == '<' || o.bound == '>' {
		return false
	}
	if r.bound != 0 || o.bound != 0 {
		rise.bound = '>'
	}
	return rise.above(d)
}
