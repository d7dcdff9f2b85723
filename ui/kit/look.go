package kit

import "image/color"

// Ink is one of the three ways the program is coloured.
type Ink int

// The looks. HighContrast is white on black, because a white screen dazzles
// those who need it most; amber stays for what is urgent.
const (
	Light Ink = iota
	Dark
	HighContrast
)

// Inks lists the three.
func Inks() []Ink { return []Ink{Light, Dark, HighContrast} }

// Scales lists the four text sizes, as factors of the base text of 20 units.
func Scales() []float32 { return []float32{1, 1.25, 1.5, 2} }

// Look is what a household chose: how large and in which colours.
type Look struct {
	Scale float32 // one of Scales; anything below 1 counts as 1
	Ink   Ink
	// Chinese: what is typed into a field may be Chinese. Texts find out by themselves.
	Chinese bool
}

func (l Look) scale() float32 { return max(l.Scale, 1) }

// Text sizes in units at scale 1. With our font a capital letter is 0.714 of
// the size: 20 units are 20 minutes of arc at 600 mm on a 96 dpi screen (ISO
// 9241-303 asks for 16 at least), 34 units 22 minutes at 1 m, 92 units 60.
const (
	sizeSmall     = 17
	sizeText      = 20
	sizeSection   = 24
	sizeTitle     = 30
	sizeStep      = 34
	sizeCountdown = 104
	sizeRoomy     = 160 // of the countdown where the type is small enough to leave room
)

// Spaces in units; they do not grow with the text, so that large type keeps
// its room.
const (
	gapSmall  = 8
	gap       = 16
	gapCard   = 24
	ringWidth = 3
	hoverMore = 1  // how much heavier the frame is under the pointer; what is chosen is heavier still
	ringRoom  = 7  // how far the ring reaches out: some ground, then the ring
	gapTap    = 12 // between things to tap; the ring of one does not touch the next
	target    = 48 // least height and width of a thing to tap
	dangerGap = 32 // between what destroys and anything else
)

// Palette holds the colours of a look. Text is drawn only in Ink, Muted and
// Water on Paper, Card or Soft; in OnWater on Water; in OnAmber on Amber.
type Palette struct {
	Paper, Card, Soft color.NRGBA // grounds: the page, one thing, what is chosen
	Ink, Muted        color.NRGBA // text; second text and second language
	Water, OnWater    color.NRGBA // what acts, and words on it
	Line              color.NRGBA // borders
	Amber, OnAmber    color.NRGBA // only for today and emergency
	Focus             color.NRGBA // only for the ring
	Border            float32     // width of borders in units
}

func hex(v uint32) color.NRGBA {
	return color.NRGBA{R: uint8(v >> 16), G: uint8(v >> 8), B: uint8(v), A: 0xff}
}

// Palette gives the colours of the look.
func (l Look) Palette() Palette {
	switch l.Ink {
	case Dark:
		return Palette{
			Paper: hex(0x10191F), Card: hex(0x18242C), Soft: hex(0x1F3B4A),
			Ink: hex(0xF2F5F4), Muted: hex(0xB9C6CC),
			Water: hex(0x8CC7E8), OnWater: hex(0x10191F), Line: hex(0x8496A0),
			Amber: hex(0xF0B429), OnAmber: hex(0x10191F), Focus: hex(0xFFB38A), Border: 1.5,
		}
	case HighContrast:
		return Palette{
			Paper: hex(0x000000), Card: hex(0x000000), Soft: hex(0x000000),
			Ink: hex(0xFFFFFF), Muted: hex(0xFFFFFF),
			Water: hex(0xFFFFFF), OnWater: hex(0x000000), Line: hex(0xFFFFFF),
			Amber: hex(0xF0B429), OnAmber: hex(0x000000), Focus: hex(0xFFFFFF), Border: 3,
		}
	}
	return Palette{
		Paper: hex(0xFBFAF6), Card: hex(0xFFFFFF), Soft: hex(0xDCEAF1),
		Ink: hex(0x16242E), Muted: hex(0x44555F),
		Water: hex(0x0A4F70), OnWater: hex(0xFFFFFF), Line: hex(0x73848E),
		Amber: hex(0xE69F00), OnAmber: hex(0x16242E), Focus: hex(0xB33A00), Border: 1.5,
	}
}

// inverted is the palette on a card of ink, for an emergency: paper words, and
// a ring and borders of paper, since neither of the others stands out there.
func (p Palette) inverted() Palette {
	p.Paper, p.Ink = p.Ink, p.Paper
	p.Card, p.Soft = p.Paper, p.Paper
	p.Muted, p.Line, p.Focus = p.Ink, p.Ink, p.Ink
	p.Water, p.OnWater = p.Ink, p.Paper
	return p
}

// surround is the grey around colour squares and photographs, the same in
// every look, so that the eye sees them alike (common practice).
var surround = hex(0x8A8A8A)
