package ui

import "testing"

func TestOpens(t *testing.T) {
	d := open(t, newBook(demoBook()))
	t.Log(d.text())
	t.Log(d.ids())
}
