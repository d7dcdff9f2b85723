package store

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"quietwater/model"
)

// The marks that everything of somebody who is to be forgotten carries: a name,
// identities, and what was typed.
const (
	goneName = "Xaveriusneedle"
	goneID   = "f00dneedle"
	goneWord = "secretneedle"
)

// lived is a book in which three people were written down in turn, changed,
// deleted and taken back for a while, with all that can name one of them. What
// is of the one to be forgotten has "needle" in it, and nothing else has.
func lived(t *testing.T, path string, seed uint64, rounds int) *Book {
	t.Helper()
	r, b := seeded(seed), openAt(t, path)
	people := []model.ID{"0beef", goneID, "0cafe"}
	word := func(p model.ID, n int) string {
		if p == goneID {
			return fmt.Sprintf("%s %d %s", goneWord, n, strings.Repeat("needle ", r.IntN(40)))
		}
		return fmt.Sprintf("plain %d %s", n, strings.Repeat("straw ", r.IntN(40)))
	}
	mark := func(p model.ID) string {
		if p == goneID {
			return "needle"
		}
		return "straw"
	}
	mustPut(t, b, SavePerson(model.Person{ID: "0beef", Name: "Rosa"}), SavePerson(model.Person{ID: goneID, Name: "Oldneedle"}), SavePerson(model.Person{ID: "0cafe", Name: "Emil"}))
	mustPut(t, b, SavePerson(model.Person{ID: goneID, Name: goneName}))
	var have []model.Entry
	for n := range rounds {
		p := people[r.IntN(3)]
		switch k := r.IntN(12); {
		case k < 6 || len(have) == 0:
			e := someEntry(r, p, "")
			e.ID, e.Author = model.ID(fmt.Sprintf("%s%d", mark(p), n)), "Ada"
			e.Values = []model.Value{{Code: "text", Word: word(p, n), Note: word(p, n)}}
			have = append(have, e)
			mustPut(t, b, SaveEntry(e))
		case k < 9:
			i := r.IntN(len(have))
			have[i].Values[0].Word = word(have[i].Person, n)
			mustPut(t, b, SaveEntry(have[i]))
		case k < 10:
			i := r.IntN(len(have))
			mustPut(t, b, DeleteEntry(have[i].ID))
			have = slices.Delete(have, i, i+1)
		case k < 11:
			pack := model.Pack{ID: model.ID(fmt.Sprintf("%spack%d", mark(p), n)), Label: word(p, n), Person: p}
			mustPut(t, b, SavePack(pack))
			if r.IntN(2) == 0 {
				mustPut(t, b, DeletePack(pack.ID))
			}
		default: // settings that name a person in their key, or in what they say
			mustPut(t, b, Set("asks/"+string(p), word(p, n)))
			mustPut(t, b, Set("weeks", fmt.Sprintf(`{"0beef":"2027-01-0%d",%q:"2027-02-0%d"}`, n%9+1, goneID, n%9+1)))
			mustPut(t, b, Set("draft/strip", fmt.Sprintf(`{"Person":%q,"Answers":{"x":%q}}`, p, word(p, n))))
			mustPut(t, b, Set("draft/shown", fmt.Sprintf("%q", p)))
			mustPut(t, b, Set("draft/sheet", fmt.Sprintf(`[{"Draft":{"Person":%q},"Day":%q},{"Draft":{"Person":"0cafe"},"Day":"d"}]`, goneID, goneWord)))
		}
		if n%7 == 3 {
			if last, err := b.LastUndo(ctx); err == nil && last.Token > 2 && r.IntN(2) == 0 {
				_, err := b.Undo(ctx, "Ada", last.Token)
				check(t, err)
				have = nil // which still stand is not followed up
			}
		}
	}
	for _, p := range people {
		if p != goneID {
			check(t, b.KeepPicture(PictureKey{Person: p, Entry: "e1"}, jpegs[0]))
		}
	}
	check(t, b.KeepPicture(PictureKey{Person: goneID, Entry: "needle1"}, []byte("\xff\xd8"+goneWord)))
	check(t, b.KeepPicture(PictureKey{Person: goneID, Entry: "needle1", Whole: true}, []byte("\xff\xd8 whole "+goneWord)))
	return b
}

// knows lists the files below a folder that have "needle" in their bytes or
// their name: a search without any knowledge of what the files are.
func knows(t *testing.T, dir string) (out []string) {
	t.Helper()
	check(t, filepath.WalkDir(dir, func(path string, d fs.DirEntry, err error) error {
		if err != nil {
			return err
		}
		name, _ := filepath.Rel(dir, path)
		found := strings.Contains(name, "needle")
		if d.Type().IsRegular() {
			content, err := os.ReadFile(path)
			if err != nil {
				return err
			}
			if n := bytes.Count(content, []byte("needle")); n > 0 {
				found = true
				name += fmt.Sprintf(" (%d times)", n)
			}
		}
		if found {
			out = append(out, name)
		}
		return nil
	}))
	return out
}

// TestForgottenForGood searches every byte beside the book.
func TestForgottenForGood(t *testing.T) {
	for seed := range uint64(map[bool]int{true: 40, false: 4}[soak()]) {
		dir := t.TempDir()
		path := filepath.Join(dir, "household.book")
		b := lived(t, path, seed, 400)
		mustPut(t, b, DeletePerson(goneID))
		if who, err := b.Removed(ctx); err != nil || len(who) != 1 || who[0].Name != goneName {
			t.Errorf("removed: %v, %v", who, err)
		}
		snap, err := b.Snapshot(ctx)
		check(t, err)
		aside := filepath.Join(dir, "household-replaced-1.book")
		check(t, os.WriteFile(aside, fileBytes(path), privateFile))
		spoilt := filepath.Join(dir, "household-damaged-2.book")
		check(t, os.WriteFile(spoilt, []byte("no book"), privateFile))
		strange := filepath.Join(dir, "household-replaced-by-me.book")
		check(t, os.WriteFile(strange, nil, privateFile))
		before, err := b.Knowing(ctx, goneID)
		check(t, err)
		if len(knows(t, dir)) < 4 { // book, snapshot, aside, pictures
			t.Fatal("the search finds nothing where there is something")
		}

		still, err := b.Forget(ctx, goneID)
		check(t, err)
		if left := knows(t, dir); len(left) != 2 || !strings.HasPrefix(left[0], "backups/") || !strings.HasPrefix(left[1], "household-replaced-1.book") {
			t.Errorf("seed %d, with the book open: %v", seed, left)
		}
		for _, list := range [][]Snapshot{before, still} {
			var paths []string
			for _, s := range list {
				paths = append(paths, s.Path)
			}
			if slices.Sort(paths); !slices.Equal(paths, []string{snap.Path, spoilt, aside}) {
				t.Errorf("seed %d: copies that know: %v", seed, paths)
			}
		}
		check(t, b.DropSnapshots(ctx, still))
		if left := knows(t, dir); len(left) > 0 {
			t.Errorf("seed %d, after dropping copies: %v", seed, left)
		}
		have, extras, err := b.Load(ctx)
		check(t, err)
		if len(have.Persons) != 2 || !strings.Contains(extras.Settings["weeks"], "0beef") || !strings.Contains(extras.Settings["draft/sheet"], "0cafe") {
			t.Errorf("seed %d: of the others is left %+v, %v", seed, have.Persons, extras.Settings)
		}
		if pictures, err := PictureFiles(path); err != nil || len(pictures) != 2 {
			t.Errorf("seed %d: pictures of the others: %v, %v", seed, pictures, err)
		}
		mustClose(t, b)
		if left := knows(t, dir); len(left) > 0 {
			t.Errorf("seed %d, after closing: %v", seed, left)
		}
		if snaps, _ := Snapshots(path); len(snaps) == 0 || !exists(strange) {
			t.Errorf("seed %d: no safe copy is left, or one too many went", seed)
		}
		mustClose(t, openAt(t, path))
	}
}

// TestForgetIsWhole: somebody who could not be forgotten keeps all, pictures too.
func TestForgetIsWhole(t *testing.T) {
	path := filepath.Join(t.TempDir(), "household.book")
	b := lived(t, path, 9, 60)
	want := dump(t, b)
	stop, cancel := context.WithCancel(ctx)
	cancel()
	if _, err := b.Forget(stop, goneID); !errors.Is(err, ErrNotSaved) {
		t.Errorf("error %v", err)
	}
	if _, err := b.db.Exec(`CREATE TRIGGER no BEFORE UPDATE ON meta BEGIN SELECT RAISE(ABORT, 'not now'); END`); err != nil {
		t.Fatal(err)
	}
	if _, err := b.Forget(ctx, goneID); err == nil {
		t.Error("forgotten against all odds")
	}
	sameText(t, "after a failure", dump(t, b), want)
	if _, _, err := b.Picture(PictureKey{Person: goneID, Entry: "needle1"}); err != nil {
		t.Error(err)
	}
}

// TestForgetDies is a program that dies after the save and before the pictures
// are gone: the next start sweeps them away.
func TestForgetDies(t *testing.T) {
	dir := t.TempDir()
	path := filepath.Join(dir, "household.book")
	b := lived(t, path, 9, 20)
	_, err := b.hidePictures([]string{goneID})
	check(t, err)
	check(t, b.release())
	b = openAt(t, path)
	if left := knows(t, dir); len(left) != 1 || !strings.HasPrefix(left[0], "household.book") {
		t.Errorf("left: %v", left)
	}
	_, err = b.Forget(ctx, goneID) // pictures or not
	check(t, err)
	if left := knows(t, dir); len(left) > 0 {
		t.Errorf("left: %v", left)
	}
}

func TestWithout(t *testing.T) {
	for value, want := range map[string]string{
		`{"a":1.50,"me":2}`:     `{"a":1.50}`,
		`{"me":{"x":1}}`:        `{}`,
		`{"Person":"me","x":1}`: ``,
		`[{"Draft":{"Person":"me"}},{"Draft":{"Person":"you"}}]`: `[{"Draft":{"Person":"you"}}]`,
		`["me","you",null]`:              `["you",null]`,
		`{"x":{"Person":"me"},"y":null}`: ``,
		`say "me"`:                       ``,
	} {
		if got, changed := without(value, "me"); got != want || !changed {
			t.Errorf("%s without me is %s (%v), not %s", value, got, changed, want)
		}
	}
	for _, value := range []string{`{"a":"meow"}`, `me`, ``, `{"b":1,"a":2}`} {
		if got, changed := without(value, "me"); got != value || changed {
			t.Errorf("%q became %q", value, got)
		}
	}
}
