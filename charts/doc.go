// Package charts owns how a chart is drawn: go-chart lays out ranges, axes, ticks and series, and the
// renderers here put the strokes and words on a pixel image or into SVG, with our own typeface, in the
// same places. It refuses to know what the numbers mean, who is looking, what day it is, and where the
// typeface comes from.
//
// # Units
//
// go-chart speaks in whole logical pixels, y downwards. A stroke or circle at (x, y) has its middle in
// the middle of that pixel; a fill at (x, y) has its edge on the pixel's upper left corner. Type is
// measured in points at the chart's DPI: with chart.Chart.DPI = 72 a font size is in logical pixels.
//
// # Bold
//
// go-chart chooses type by a *truetype.Font, of a library we do not draw with. Set Style.Font (or
// Chart.Font) to Bold for the bold weight; anything else, nil too, means regular. Set Chart.Font to
// Regular, which spares go-chart the parsing of a typeface of its own.
//
// # What cannot be drawn
//
// A value that is not a number or infinite comes out of go-chart as an absurd coordinate on some
// machines (amd64) and as zero on others (arm64). An absurd coordinate breaks the line there; the zero
// cannot be told from a real one, so leave such values out of a series. Negative sizes, widths and
// radii draw nothing.
//
// # Goroutines
//
// A renderer belongs to one goroutine, as one chart.Render call uses it. Fonts, and the providers made
// from them, may be shared by any number: a font
// remembers the lines it has set, in ems, so that they serve every size and every renderer.
package charts
