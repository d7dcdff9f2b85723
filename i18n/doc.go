// Package i18n owns the words: it turns a model.Msg, a date, a number, a grade
// or a unit into a sentence of one language, and of a second one beneath it.
// Every folder of text is a language; its files say all that is said in it.
//
// It refuses to know why something is said, and where on a screen or a page.
package i18n
