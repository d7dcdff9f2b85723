package kit

import (
	"image/color"
	"testing"

	"github.com/lucasb-eyer/go-colorful"
)

// dichromats turn linear sRGB into what somebody sees who lacks one kind of
// cone (Machado, Oliveira, Fernandes 2009, IEEE Trans Vis Comput Graph
// 15:1291-1298, severity 1; the numbers from memory, each row adds up to 1 as it
// must).
var dichromats = map[string][3][3]float64{
	"all cones": {{1, 0, 0}, {0, 1, 0}, {0, 0, 1}},
	"no red":    {{0.152286, 1.052583, -0.204868}, {0.114503, 0.786281, 0.099216}, {-0.003882, -0.048116, 1.051998}},
	"no green":  {{0.367322, 0.860646, -0.227968}, {0.280085, 0.672501, 0.047413}, {-0.011820, 0.042940, 0.968881}},
	"no blue":   {{1.255528, -0.076749, -0.178779}, {-0.078411, 0.930809, 0.147602}, {0.004733, 0.691367, 0.303900}},
}

func seenBy(m [3][3]float64, c color.NRGBA) colorful.Color {
	made, _ := colorful.MakeColor(c)
	r, g, b := made.LinearRgb()
	row := func(i int) float64 { return m[i][0]*r + m[i][1]*g + m[i][2]*b }
	return colorful.LinearRgb(row(0), row(1), row(2)).Clamped()
}

// The colours that tell one urgency from another are told apart by everybody: a
// CIE 1976 difference of at least 40 (needs R10). Those are amber beside the
// gauge, beside words and beside the page, and the ink of an emergency's card
// beside the page. Ink and water tell nothing apart: how full a gauge is is seen
// by its height.
func TestColoursForEveryEye(t *testing.T) {
	for _, ink := range Inks() {
		p := Look{Ink: ink}.Palette()
		for eye, m := range dichromats {
			for i, row := range m {
				if sum := row[0] + row[1] + row[2]; sum < 0.9999 || sum > 1.0001 {
					t.Errorf("%s: row %d adds up to %v: white is not white", eye, i, sum)
				}
			}
			for name, pair := range map[string][2]color.NRGBA{"amber and water": {p.Amber, p.Water}, "amber and ink": {p.Amber, p.Ink},
				"amber and page": {p.Amber, p.Paper}, "ink and page": {p.Ink, p.Paper}} {
				if d := 100 * seenBy(m, pair[0]).DistanceLab(seenBy(m, pair[1])); d < 40 {
					t.Errorf("look %v, %s: %s are %.1f apart", ink, eye, name, d)
				}
			}
		}
	}
}
