// Package assets owns the bytes the program carries with it: its typeface, its icon, the pictures of
// the rail and the leaf marks people choose for themselves. It refuses to know who draws them, and where.
package assets

import (
	"embed"
	"strconv"
	"strings"
)

// The one typeface, in its two weights: TrueType, Latin with Vietnamese, Greek, Cyrillic, Devanagari,
// and the signs our texts use. HanRegular and HanBold are the same letters with the Chinese of GB 2312:
// apart, because the window reads all outlines of a file before the first word, which takes 20 ms for
// these and 2 for the others. FontLicence is the licence of all four (SIL Open Font License 1.1) with
// the copyright lines, which must be shown to whoever receives the fonts.
var (
	//go:embed fonts/QuietwaterSans-Regular.ttf
	FontRegular []byte
	//go:embed fonts/QuietwaterSans-Bold.ttf
	FontBold []byte
	//go:embed fonts/QuietwaterHan-Regular.ttf
	HanRegular []byte
	//go:embed fonts/QuietwaterHan-Bold.ttf
	HanBold []byte
	//go:embed fonts/OFL.txt
	FontLicence string
)

// CodeNotices is what the licences of the published codes in our files ask to be shown.
//
//go:embed licences/codes.txt
var CodeNotices string

// licences is what .ci/pack writes: a head, then a part for each thing that is built into the program.
//
//go:embed licences/all.txt
var licences string

// LicenceMark begins the line that names the thing whose licences follow.
const LicenceMark = "==== "

// Licence is what one thing in the program may be passed on under: its name, with the version where it
// is a module of Go, and the texts as its authors wrote them.
type Licence struct{ Name, Text string }

// LicenceFile is all of them in one text, for a package or a terminal.
func LicenceFile() string { return licences }

// Licences are those of everything in the program.
func Licences() []Licence {
	var out []Licence
	for _, part := range strings.Split("\n"+licences, "\n"+LicenceMark)[1:] {
		name, text, _ := strings.Cut(part, "\n")
		out = append(out, Licence{name, strings.Trim(text, "\n")})
	}
	return out
}

// The program's icon: 512 pixels square, and the drawing it is rendered from.
var (
	//go:embed icon.png
	IconPNG []byte
	//go:embed icon.svg
	IconSVG []byte
)

// Names of the rail pictures, one for each screen.
const (
	Today     = "today"
	Timeline  = "timeline"
	Numbers   = "numbers"
	Supplies  = "supplies"
	Doctor    = "doctor"
	Household = "household"
	Help      = "help"
)

// Leaves is how many leaf marks there are.
const Leaves = 8

//go:embed pictures/*.svg leaves
var drawings embed.FS

// Picture returns the rail picture of that name as SVG, or nil if there is none. It is one filled
// outline of one colour in a field of 24 by 24, so that a theme can recolour it.
func Picture(name string) []byte {
	return drawing("pictures/" + name)
}

// Leaf returns the i-th leaf mark as SVG, drawn like a rail picture: plain, ribs, dots, stripes,
// cross-hatch, half, ring, waves. Any i is good; marks repeat after Leaves.
func Leaf(i int) []byte {
	i %= Leaves
	if i < 0 {
		i += Leaves
	}
	return drawing("leaves/" + strconv.Itoa(i))
}

func drawing(name string) []byte {
	b, err := drawings.ReadFile(name + ".svg")
	if err != nil {
		return nil
	}
	return b
}
