package model

import (
	"strings"
	"unicode/utf8"
)

// LeastPassphrase is how many characters a passphrase needs that locks a file.
// Whoever has the file may try as many as they like, so length is all that keeps
// them out. NIST SP 800-63B asks for at least 8, in its fourth revision for 15
// where nothing else protects, and for no rules about which characters; ten is
// our own choice between the two.
const LeastPassphrase = 10

// ShortPassphrase reports one that is too short to keep anybody out. Spaces at
// its ends do not count.
func ShortPassphrase(p string) bool {
	return utf8.RuneCountInString(strings.TrimSpace(p)) < LeastPassphrase
}
