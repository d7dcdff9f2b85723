// Package kit owns how Quietwater looks and feels: the three looks, and every
// widget a screen is made of, so that no screen deals with sizes, colours or
// two languages itself. It refuses to know what the words mean: findings,
// strips and books belong to others.
//
// The rules its widgets keep, each with a checker in kittest:
//
//   - A text is never cut and a page never scrolls sideways: everything wraps.
//   - Everything that can be tapped is at least 44 units high and wide, can be
//     reached with Tab and worked with the keyboard, and shows a ring then.
//   - A colour is never the only signal: beside it stand a word and a shape.
//   - Words come in as [model.Msg] and go out in the household's one or two
//     languages; only what people typed themselves is a string.
//   - A page has one main button, bottom right.
//
// Contrast and sizes follow WCAG 2.2 (1.4.3, 1.4.11, 2.5.5) and EN 301 549
// 5.1.4; one unit is one pixel on an ordinary screen.
package kit
