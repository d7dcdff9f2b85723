package kit

import (
	"image/color"
	"math"
)

// luminance is the relative luminance of WCAG 2.2, from 0 (black) to 1.
func luminance(c color.Color) float64 {
	n := color.NRGBAModel.Convert(c).(color.NRGBA)
	f := func(v uint8) float64 {
		s := float64(v) / 255
		if s <= 0.04045 {
			return s / 12.92
		}
		return math.Pow((s+0.055)/1.055, 2.4)
	}
	return 0.2126*f(n.R) + 0.7152*f(n.G) + 0.0722*f(n.B)
}

// Contrast is the ratio of WCAG 2.2 between two opaque colours, from 1 to 21.
func Contrast(a, b color.Color) float64 {
	x, y := luminance(a), luminance(b)
	return (math.Max(x, y) + 0.05) / (math.Min(x, y) + 0.05)
}
