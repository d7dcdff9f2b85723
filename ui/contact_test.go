package ui

import (
	"flag"
	"fmt"
	"image"
	"image/color"
	"image/png"
	"os"
	"path/filepath"
	"testing"

	"fyne.io/fyne/v2"
	"golang.org/x/image/draw"
	"golang.org/x/image/font"
	"golang.org/x/image/font/basicfont"
	"golang.org/x/image/math/fixed"

	"quietwater/i18n"
	"quietwater/model/household"
)

var contact = flag.String("contact", "", "a folder for contact sheets: every page in every language, at the largest type in high contrast")

// A contact sheet, in pixels.
const (
	thumbWidth, thumbHigh = 512, 320
	caption               = 18
	across, down          = 4, 6
)

// TestContactSheets is for somebody to look at: what no check finds, an eye
// does. It is skipped unless a folder is named.
func TestContactSheets(t *testing.T) {
	if *contact == "" {
		t.Skip("no folder was named")
	}
	r := fullBook()
	all := places(r)
	for _, l := range i18n.Languages() {
		t.Run(l.Tag, func(t *testing.T) {
			set := household.Changes{Settings: map[string]string{household.SetLanguage: l.Tag, household.SetScale: "200", household.SetInk: "contrast"}}
			d := open(t, newBook(r.Apply(set)))
			start := *d.book
			sheet := newContactSheet()
			for i, p := range all {
				d.fresh(start)
				p.open(d)
				d.settle()
				sheet.add(i%(across*down), p.name, d.win.Canvas())
				if last := i == len(all)-1; last || (i+1)%(across*down) == 0 {
					sheet.save(t, filepath.Join(*contact, fmt.Sprintf("%s-%02d.png", l.Tag, i/(across*down)+1)))
					sheet = newContactSheet()
				}
			}
		})
	}
}

type contactSheet struct{ *image.RGBA }

func newContactSheet() contactSheet {
	s := contactSheet{image.NewRGBA(image.Rect(0, 0, across*(thumbWidth+8), down*(thumbHigh+caption+8)))}
	draw.Draw(s, s.Bounds(), image.NewUniform(color.Gray{0x60}), image.Point{}, draw.Src)
	return s
}

func (s contactSheet) add(n int, name string, c fyne.Canvas) {
	at := image.Pt(n%across*(thumbWidth+8)+4, n/across*(thumbHigh+caption+8)+4)
	f := font.Drawer{Dst: s, Src: image.White, Face: basicfont.Face7x13, Dot: fixed.P(at.X, at.Y+caption-5)}
	f.DrawString(name)
	page := c.Capture()
	draw.ApproxBiLinear.Scale(s, image.Rectangle{Max: image.Pt(thumbWidth, thumbHigh)}.Add(at.Add(image.Pt(0, caption))), page, page.Bounds(), draw.Src, nil)
}

func (s contactSheet) save(t *testing.T, path string) {
	t.Helper()
	if err := os.MkdirAll(filepath.Dir(path), 0o755); err != nil {
		t.Fatal(err)
	}
	f, err := os.Create(path)
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	if err := png.Encode(f, s); err != nil {
		t.Fatal(err)
	}
}
