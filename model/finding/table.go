package finding

import (
	"fmt"
	"strings"

	"quietwater/model"
)

// Table lists every rule with what it may say, its numbers and their sources,
// as a Markdown table for readers who do not program.
func Table() string {
	var b strings.Builder
	b.WriteString("| Rule | May say | Limits (source) | Rests on |\n|---|---|---|---|\n")
	for _, r := range Rules() {
		var says, limits, cites []string
		for _, u := range r.Urgencies {
			says = append(says, u.String())
		}
		for _, l := range r.Limits {
			limits = append(limits, fmt.Sprintf("%s %s (%s)", l.Name, amount(l), cited(l.Cite)))
		}
		for _, c := range r.Cites {
			cites = append(cites, cited(c))
		}
		fmt.Fprintf(&b, "| `%s` | %s | %s | %s |\n", r.ID, strings.Join(says, ", "), strings.Join(limits, "; "), strings.Join(cites, "; "))
	}
	return b.String()
}

// amount writes a limit's number; a grade is written as its word alone.
func amount(l Limit) string {
	if _, ok := model.ParseGrade(l.Unit); ok {
		return l.Unit
	}
	return strings.TrimSpace(model.FormatNumber(l.Value) + " " + l.Unit)
}

func cited(c model.Cite) string {
	if c.At == "" {
		return string(c.Source)
	}
	return string(c.Source) + ", " + c.At
}
