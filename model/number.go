package model

import (
	"math"
	"strconv"
)

// ParseNumber reads a plain decimal number with a point: no exponent, no
// group separator, no sign but a leading minus, no infinities.
func ParseNumber(s string) (float64, bool) {
	if s == "" || len(s) > 40 {
		return 0, false
	}
	digits, points := 0, 0
	for i, r := range s {
		switch {
		case r >= '0' && r <= '9':
			digits++
		case r == '.':
			points++
		case r == '-' && i == 0:
		default:
			return 0, false
		}
	}
	if digits == 0 || points > 1 || s[len(s)-1] == '.' || s[0] == '.' || (s[0] == '-' && s[1] == '.') {
		return 0, false
	}
	f, err := strconv.ParseFloat(s, 64)
	return f, err == nil && !math.IsInf(f, 0)
}

// FormatNumber writes a number the way ParseNumber reads it, with no more
// digits than it needs.
func FormatNumber(f float64) string { return strconv.FormatFloat(f, 'f', -1, 64) }
