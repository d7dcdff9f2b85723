package kit

import (
	"testing"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/canvas"
	"fyne.io/fyne/v2/test"
)

// Words are set from the small typeface, Chinese from the large one, whatever
// the household's language: a name may be Chinese in a German house.
func TestTypeface(t *testing.T) {
	test.NewTempApp(t)
	for _, tt := range []struct {
		text string
		bold bool
		want *fyne.StaticResource
	}{
		{"Kidney", false, fontRegular},
		{"Почки किडनी", true, fontBold},
		{"王小明", false, hanRegular},
		{"Rosa：3", true, hanBold},
	} {
		words := newText(run{text: tt.text, size: sizeText, bold: tt.bold})
		words.wrap(400)
		if got := words.lines[0].(*canvas.Text).FontSource; got != tt.want {
			t.Errorf("%q is set from %v", tt.text, got.Name())
		}
	}
	for chinese, want := range map[bool]fyne.Resource{false: fontRegular, true: hanRegular} {
		if got := NewTheme(Look{Chinese: chinese}).Font(fyne.TextStyle{}); got != want {
			t.Errorf("Chinese %v: a field is typed in %v", chinese, got.Name())
		}
	}
}

// Chinese breaks between its characters, not before its full stop, and a
// column for it need not hold a whole sentence.
func TestChineseLines(t *testing.T) {
	test.NewTempApp(t)
	r := run{text: "请问医生它的意思。", size: 20}
	for _, line := range r.broken(85) {
		if w := r.measure(line).Width; w > 85 {
			t.Errorf("%q is %v wide", line, w)
		}
		if first := []rune(line)[0]; first == '。' {
			t.Errorf("a line begins with a full stop: %q", line)
		}
	}
	if least := r.least(); least > 4*r.size {
		t.Errorf("a column of %v at least, want at most four characters", least)
	}
}
