package print

import (
	"slices"
	"strings"
	"testing"
	"time"

	"quietwater/i18n"
	"quietwater/model"
	"quietwater/model/household"
)

func TestRecoverySheet(t *testing.T) {
	made := time.Date(2027, 3, 1, 12, 0, 0, 0, time.UTC)
	for _, lang := range i18n.Languages() {
		for _, encrypted := range []bool{true, false} {
			w := speak(t, lang.Tag)
			b := household.Backup{At: made, Path: "/media/home/A stick with a name that is far too long for one line of this paper/quietwater-2027-03-01.zip", Encrypted: encrypted,
				Persons: 2, Entries: 120456, Pictures: 3}
			if encrypted {
				b.Path += ".age"
			}
			pdf, err := RecoverySheet(w, b, model.At(made))
			if err != nil {
				t.Fatal(err)
			}
			if n := pagesOf(pdf); n != 1 {
				t.Errorf("%s: %d pages", lang.Tag, n)
			}
			if sizes := sizesOf(t, pdf); len(sizes) < 2 || slices.Min(sizes) < 12 {
				t.Errorf("%s: sizes of type: %v", lang.Tag, sizes)
			}
			var all []string
			for _, o := range wordsOn(t, pdf) {
				all = append(all, o.Text)
			}
			text := strings.Join(all, " ")
			for word, want := range map[string]bool{"quietwater-2027-03-01.zip": true, "age --decrypt --output backup.zip": encrypted, "README.txt": true} {
				if strings.Contains(text, word) != want {
					t.Errorf("%s, encrypted %v: %q: %v", lang.Tag, encrypted, word, !want)
				}
			}
		}
	}
}
