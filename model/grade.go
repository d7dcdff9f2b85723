package model

// Grade is the word printed on a colour chart for how much of something the
// pad shows.
type Grade int8

// The grades of the plain table. Pos counts as 1+, Unclear ("could not tell")
// is kept and never judged.
const (
	NoGrade Grade = iota
	Neg
	Trace
	Plus1
	Plus2
	Plus3
	Plus4
	Pos
	Unclear
)

var gradeWords = [...]string{"", "neg", "trace", "1+", "2+", "3+", "4+", "pos", "unclear"}

// Grades lists every grade in the order of the plain table.
func Grades() []Grade {
	return []Grade{Neg, Trace, Plus1, Plus2, Plus3, Plus4, Pos, Unclear}
}

// String gives the word of the plain table, "" for NoGrade.
func (g Grade) String() string {
	if g < 0 || int(g) >= len(gradeWords) {
		return ""
	}
	return gradeWords[g]
}

// ParseGrade reads a word of the plain table; ok is false for any other.
func ParseGrade(s string) (g Grade, ok bool) {
	for i, w := range gradeWords {
		if i > 0 && w == s {
			return Grade(i), true
		}
	}
	return NoGrade, false
}

// Judged reports whether the grade says anything at all.
func (g Grade) Judged() bool { return g >= Neg && g <= Pos }

// Rank orders grades from neg (0) over trace (1) and 1+ (2) to 4+ (5); Pos
// ranks as 1+. Grades that are not judged rank below neg.
func (g Grade) Rank() int {
	switch {
	case !g.Judged():
		return -1
	case g == Pos:
		return Plus1.Rank()
	}
	return int(g - Neg)
}

// AtLeast reports whether g is judged and ranks at least as high as limit.
func (g Grade) AtLeast(limit Grade) bool { return g.Judged() && g.Rank() >= limit.Rank() }
