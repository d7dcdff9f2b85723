package i18n

import (
	"strings"
	"unicode"

	"github.com/go-text/typesetting/segmenter"
)

// Word is a piece of text that stays on one line. Chinese has no spaces: a
// line may be broken between two words that are Glued, without anything there.
type Word struct {
	Text  string
	Glued bool // no space stands before it
}

// Words cuts text where a line may be broken: at plain spaces, tabs and line
// ends, and inside Chinese by the Unicode line breaking algorithm (UAX #14),
// which keeps full stops and closing brackets with what they follow. A
// no-break space breaks nothing.
func Words(text string) []Word {
	var out []Word
	for _, word := range strings.FieldsFunc(text, func(r rune) bool { return r == ' ' || r == '\n' || r == '\t' }) {
		if !Chinese(word) {
			out = append(out, Word{Text: word})
			continue
		}
		var s segmenter.Segmenter
		s.InitWithString(word)
		for i, lines := 0, s.LineIterator(); lines.Next(); i++ {
			piece := string(lines.Line().Text)
			if i > 0 && strings.HasSuffix(out[len(out)-1].Text, "/") { // a unit stays whole
				out[len(out)-1].Text += piece
				continue
			}
			out = append(out, Word{Text: piece, Glued: i > 0})
		}
	}
	return out
}

// Chinese reports whether text holds Chinese characters or their punctuation:
// it has lines of its own, and a typeface of its own.
func Chinese(text string) bool {
	for _, r := range text {
		if r >= firstHan && isHan(r) { // every text that is measured is asked, and most have none
			return true
		}
	}
	return false
}

const firstHan = 0x2E80 // CJK radicals: nothing below is Chinese

// isHan also takes what stands between the characters: 、。「」 and the wide
// forms of our own signs.
func isHan(r rune) bool {
	return unicode.Is(unicode.Han, r) || r >= 0x3000 && r <= 0x301F || r >= 0xFF01 && r <= 0xFF60
}

// After is line with w behind it.
func (w Word) After(line string) string {
	if line == "" || w.Glued {
		return line + w.Text
	}
	return line + " " + w.Text
}

// Lines breaks text into lines that fit, as far as single words allow it.
func Lines(text string, fits func(line string) bool) []string {
	var out []string
	for _, word := range Words(text) {
		if n := len(out); n > 0 {
			if line := word.After(out[n-1]); fits(line) {
				out[n-1] = line
				continue
			}
		}
		out = append(out, word.Text)
	}
	return out
}

// Beginning is what fits of a word that is too long for a line: after a hyphen
// or a stroke where there is one, else at least one letter. A mark stays with
// its letter.
func Beginning(word string, fits func(part string) bool) string {
	end, good := 0, 0
	for i, r := range word {
		next := i + len(string(r))
		if end > 0 && !unicode.Is(unicode.M, r) && !fits(word[:next]) {
			break
		}
		end = next
		if r == '-' || r == '/' || r == '–' {
			good = next
		}
	}
	if good > 0 && good < len(word) {
		return word[:good]
	}
	return word[:end]
}
