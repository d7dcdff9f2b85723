package ui

import (
	"testing"

	"fyne.io/fyne/v2"
)

func TestWeightByKeyboard(t *testing.T) {
	d := open(t, newBook(demoBook()))
	d.key("write-down")
	d.tap("add-weight")
	if got := d.focused(); got != "weight" {
		t.Fatalf("the keyboard is at %q", got)
	}
	d.press(fyne.KeyReturn)
}
