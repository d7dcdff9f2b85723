// Package model owns the nouns of a household book: persons, dated entries
// with coded values, packs of strips, and the catalogue that says what may be
// recorded and in which units.
//
// It refuses to know about screens, files, databases, languages and clocks:
// words for people leave it as [Msg] keys, and time and randomness are passed
// in by the caller.
package model
