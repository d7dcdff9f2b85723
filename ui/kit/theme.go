package kit

import (
	"image/color"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/theme"

	"quietwater/assets"
)

var (
	fontRegular = fyne.NewStaticResource("QuietwaterSans-Regular.ttf", assets.FontRegular)
	fontBold    = fyne.NewStaticResource("QuietwaterSans-Bold.ttf", assets.FontBold)
	hanRegular  = fyne.NewStaticResource("QuietwaterHan-Regular.ttf", assets.HanRegular)
	hanBold     = fyne.NewStaticResource("QuietwaterHan-Bold.ttf", assets.HanBold)
)

// typeface is the file a text is set from. The toolkit reads all of a file, so
// the large one is taken only for what needs it.
func typeface(bold, chinese bool) fyne.Resource {
	switch {
	case chinese && bold:
		return hanBold
	case chinese:
		return hanRegular
	case bold:
		return fontBold
	}
	return fontRegular
}

type lookTheme struct {
	look Look
	pal  Palette
}

// NewTheme dresses the toolkit's own widgets (the typing inside a field, the
// scroll bars) in a look. The widgets of kit bring their colours themselves.
func NewTheme(l Look) fyne.Theme { return lookTheme{l, l.Palette()} }

// Color does not depend on the variant: the look says whether it is dark, not
// the computer's settings.
func (t lookTheme) Color(n fyne.ThemeColorName, v fyne.ThemeVariant) color.Color {
	p := t.pal
	switch n {
	case theme.ColorNameBackground:
		return p.Paper
	case theme.ColorNameButton, theme.ColorNameInputBackground, theme.ColorNameDisabledButton,
		theme.ColorNameMenuBackground, theme.ColorNameOverlayBackground:
		return p.Card
	case theme.ColorNameForeground:
		return p.Ink
	case theme.ColorNameDisabled, theme.ColorNamePlaceHolder:
		return p.Muted
	case theme.ColorNamePrimary, theme.ColorNameHyperlink:
		return p.Water
	case theme.ColorNameForegroundOnPrimary:
		return p.OnWater
	case theme.ColorNameFocus:
		return p.Focus
	case theme.ColorNameInputBorder, theme.ColorNameSeparator, theme.ColorNameScrollBar,
		theme.ColorNameInnerWindowBorder, theme.ColorNameInnerWindowBorderInactive:
		return p.Line
	case theme.ColorNameScrollBarBackground, theme.ColorNameHeaderBackground:
		return p.Paper
	case theme.ColorNameSelection:
		if t.look.Ink == HighContrast {
			return hex(0x5A5A5A) // white letters stay 6.9 on it
		}
		return p.Soft
	case theme.ColorNameHover, theme.ColorNamePressed:
		return p.Soft
	// No red, no green: whatever the toolkit calls an error is said in ink.
	case theme.ColorNameError, theme.ColorNameSuccess, theme.ColorNameWarning:
		return p.Ink
	case theme.ColorNameForegroundOnError, theme.ColorNameForegroundOnSuccess, theme.ColorNameForegroundOnWarning:
		return p.Paper
	case theme.ColorNameShadow:
		return color.NRGBA{A: 0x28}
	}
	return theme.DefaultTheme().Color(n, v)
}

func (t lookTheme) Font(s fyne.TextStyle) fyne.Resource {
	if s.Symbol {
		return theme.DefaultTheme().Font(s)
	}
	return typeface(s.Bold, t.look.Chinese)
}

func (t lookTheme) Icon(n fyne.ThemeIconName) fyne.Resource { return theme.DefaultTheme().Icon(n) }

func (t lookTheme) Size(n fyne.ThemeSizeName) float32 {
	s := t.look.scale()
	switch n {
	case theme.SizeNameText:
		return sizeText * s
	case theme.SizeNameCaptionText:
		return sizeSmall * s
	case theme.SizeNameSubHeadingText:
		return sizeSection * s
	case theme.SizeNameHeadingText:
		return sizeTitle * s
	case theme.SizeNameLineSpacing:
		return 4 * s
	case theme.SizeNameInnerPadding:
		return 12
	case theme.SizeNamePadding:
		return 6
	case theme.SizeNameInlineIcon:
		return 24 * s
	case theme.SizeNameInputBorder:
		return max(t.pal.Border, 2)
	case theme.SizeNameInputRadius, theme.SizeNameSelectionRadius, theme.SizeNameButtonRadius:
		return corner
	case theme.SizeNameSeparatorThickness:
		return t.pal.Border
	case theme.SizeNameScrollBar:
		return 18
	case theme.SizeNameScrollBarSmall:
		return 10
	case theme.SizeNameScrollBarRadius:
		return 5
	}
	return theme.DefaultTheme().Size(n)
}
