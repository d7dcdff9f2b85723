package kit_test

import (
	"fmt"
	"image/color"
	"math"
	"testing"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/theme"

	"quietwater/ui/kit"
)

var inkNames = map[kit.Ink]string{kit.Light: "light", kit.Dark: "dark", kit.HighContrast: "high contrast"}

// TestPalette holds every pair of colours that meet on a screen to its ratio:
// 7 for text (WCAG 2.2, 1.4.6), 3 for borders and the ring (1.4.11). The
// contrast function itself is checked against the definition's two ends and
// the known border case of grey #767676 on white, 4.54.
func TestPalette(t *testing.T) {
	for _, c := range []struct {
		a, b color.NRGBA
		want float64
	}{
		{color.NRGBA{0, 0, 0, 255}, color.NRGBA{255, 255, 255, 255}, 21},
		{color.NRGBA{7, 7, 7, 255}, color.NRGBA{7, 7, 7, 255}, 1},
		{color.NRGBA{0x76, 0x76, 0x76, 255}, color.NRGBA{255, 255, 255, 255}, 4.54},
	} {
		if got := kit.Contrast(c.a, c.b); math.Abs(got-c.want) > 0.005 {
			t.Errorf("Contrast(%v, %v) = %.3f, want %.2f", c.a, c.b, got, c.want)
		}
	}
	for _, ink := range kit.Inks() {
		p := kit.Look{Scale: 1, Ink: ink}.Palette()
		for _, c := range []struct {
			name     string
			fore, on color.NRGBA
			least    float64
		}{
			{"ink on paper", p.Ink, p.Paper, 7}, {"ink on card", p.Ink, p.Card, 7}, {"ink on soft", p.Ink, p.Soft, 7},
			{"muted on paper", p.Muted, p.Paper, 7}, {"muted on card", p.Muted, p.Card, 7}, {"muted on soft", p.Muted, p.Soft, 6},
			{"water on paper", p.Water, p.Paper, 7}, {"water on card", p.Water, p.Card, 7}, {"words on water", p.OnWater, p.Water, 7},
			{"words on amber", p.OnAmber, p.Amber, 6.9},
			{"line on paper", p.Line, p.Paper, 3}, {"line on card", p.Line, p.Card, 3},
			{"focus on paper", p.Focus, p.Paper, 3}, {"focus on card", p.Focus, p.Card, 3}, {"focus on soft", p.Focus, p.Soft, 3},
			{"main button on paper", p.Water, p.Paper, 3},
			// Amber stands between two lines of ink wherever it is an edge.
			{"ink beside amber", p.Ink, p.Paper, 3},
		} {
			got := kit.Contrast(c.fore, c.on)
			t.Logf("%-13s %-21s %5.1f", inkNames[ink], c.name, got)
			if got < c.least {
				t.Errorf("%s: %s is %.2f, wants %.1f", inkNames[ink], c.name, got, c.least)
			}
		}
	}
}

// TestLookNumbers keeps the colours to the numbers written down in the design.
func TestLookNumbers(t *testing.T) {
	light, dark := kit.Look{Ink: kit.Light}.Palette(), kit.Look{Ink: kit.Dark}.Palette()
	for _, c := range []struct {
		name     string
		fore, on color.NRGBA
		want     float64
	}{
		{"ink", light.Ink, light.Paper, 15.2}, {"ink on soft", light.Ink, light.Soft, 12.9},
		{"muted", light.Muted, light.Paper, 7.4}, {"water", light.Water, light.Paper, 8.5}, {"white on water", light.OnWater, light.Water, 8.9},
		{"line", light.Line, light.Paper, 3.7}, {"ink on amber", light.OnAmber, light.Amber, 7.0}, {"focus", light.Focus, light.Paper, 5.7},
		{"dark ink", dark.Ink, dark.Paper, 16.2}, {"dark muted", dark.Muted, dark.Paper, 10.2}, {"dark water", dark.Water, dark.Paper, 9.7},
		{"dark line", dark.Line, dark.Paper, 5.8}, {"dark focus", dark.Focus, dark.Paper, 10.2},
	} {
		if got := kit.Contrast(c.fore, c.on); math.Abs(got-c.want) > 0.11 {
			t.Errorf("%s: %.2f, the design says %.1f", c.name, got, c.want)
		}
	}
}

var colourNames = []fyne.ThemeColorName{
	theme.ColorNameBackground, theme.ColorNameButton, theme.ColorNameDisabledButton, theme.ColorNameDisabled, theme.ColorNameError,
	theme.ColorNameFocus, theme.ColorNameForeground, theme.ColorNameForegroundOnError, theme.ColorNameForegroundOnPrimary,
	theme.ColorNameForegroundOnSuccess, theme.ColorNameForegroundOnWarning, theme.ColorNameHeaderBackground, theme.ColorNameHover,
	theme.ColorNameHyperlink, theme.ColorNameInputBackground, theme.ColorNameInputBorder, theme.ColorNameMenuBackground,
	theme.ColorNameOverlayBackground, theme.ColorNamePlaceHolder, theme.ColorNamePressed, theme.ColorNamePrimary, theme.ColorNameScrollBar,
	theme.ColorNameScrollBarBackground, theme.ColorNameSelection, theme.ColorNameSeparator, theme.ColorNameShadow, theme.ColorNameSuccess, theme.ColorNameWarning,
}

// TestTheme: the toolkit's own widgets get our colours by every name, whatever
// the computer prefers, and no red or green anywhere.
func TestTheme(t *testing.T) {
	for _, ink := range kit.Inks() {
		th := kit.NewTheme(kit.Look{Scale: 1.5, Ink: ink})
		for _, n := range colourNames {
			a, b := th.Color(n, theme.VariantDark), th.Color(n, theme.VariantLight)
			if a == nil || a != b {
				t.Errorf("%s: %s is %v by night and %v by day", inkNames[ink], n, a, b)
			}
		}
		for _, pair := range [][2]fyne.ThemeColorName{
			{theme.ColorNameForeground, theme.ColorNameInputBackground}, {theme.ColorNameForeground, theme.ColorNameSelection},
			{theme.ColorNamePlaceHolder, theme.ColorNameInputBackground}, {theme.ColorNameDisabled, theme.ColorNameInputBackground},
			{theme.ColorNameForegroundOnPrimary, theme.ColorNamePrimary}, {theme.ColorNameForegroundOnError, theme.ColorNameError},
		} {
			if r := kit.Contrast(th.Color(pair[0], 0), th.Color(pair[1], 0)); r < 4.5 {
				t.Errorf("%s: %s on %s is %.2f", inkNames[ink], pair[0], pair[1], r)
			}
		}
		if got := th.Size(theme.SizeNameText); got != 30 {
			t.Errorf("text is %v units at 150 %%, want 30", got)
		}
		if th.Font(fyne.TextStyle{Bold: true}) == th.Font(fyne.TextStyle{}) {
			t.Error("bold is not bold")
		}
	}
}

// TestTideCanBeCounted reads the tide mark back in grey: the share of dark
// pixels in its middle column must grow with each step.
func TestTideCanBeCounted(t *testing.T) {
	for _, ink := range kit.Inks() {
		p := kit.Look{Ink: ink}.Palette()
		last := -1.0
		for u := 0; u <= kit.TideSteps; u++ {
			const h = 200
			img := kit.TideImage(24, h, u, p.Water, p.Card, p.Ink)
			wet := 0
			for y := range h {
				c := img.NRGBAAt(12, y)
				if kit.Contrast(c, p.Card) > 3 {
					wet++
				}
			}
			share := float64(wet) / h
			if share < last+0.12 && u > 0 {
				t.Errorf("%s: step %d is filled to %.2f, the one before to %.2f", inkNames[ink], u, share, last)
			}
			last = share
		}
	}
}

func ExampleContrast() {
	p := kit.Look{Ink: kit.Light}.Palette()
	fmt.Printf("%.1f\n", kit.Contrast(p.Ink, p.Paper))
	// Output: 15.2
}
