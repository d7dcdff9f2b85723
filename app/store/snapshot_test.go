package store

import (
	"bytes"
	"errors"
	"os"
	"slices"
	"testing"
	"time"

	"quietwater/model"
)

func TestSnapshotHoldsAll(t *testing.T) {
	b := openNew(t)
	book := someBook(seeded(30), 30)
	mustPut(t, b, changesOf(book)...)
	mustPut(t, b, DeleteEntry(book.Entries[0].ID))
	s, err := b.Snapshot(ctx)
	check(t, err)
	if s.Persons != len(book.Persons) || s.Entries != 29 || s.Size == 0 || s.Time.IsZero() {
		t.Errorf("%+v", s)
	}
	want := dump(t, b)
	mustPut(t, b, SaveEntry(book.Entries[1]))
	c, err := OpenSnapshot(ctx, s.Path, optionsFor(""))
	check(t, err)
	sameText(t, "snapshot", dump(t, c), want)
	mustClose(t, c)
}

func TestCloseSnapshotsOnlyChanges(t *testing.T) {
	count := func(path string) int {
		snaps, err := Snapshots(path)
		check(t, err)
		return len(snaps)
	}
	b := openNew(t)
	path := b.Path()
	mustClose(t, b)
	if n := count(path); n != 0 {
		t.Errorf("%d snapshots of an empty book", n)
	}
	for i := range 3 {
		b = openAt(t, path)
		mustPut(t, b, SavePerson(model.Person{ID: "p", Name: string(rune('a' + i))}))
		mustClose(t, b)
		mustClose(t, openAt(t, path)) // nothing changed
		if n := count(path); n != i+1 {
			t.Errorf("%d snapshots after %d changes", n, i+1)
		}
	}
	b = openAt(t, path)
	mustPut(t, b, Set("draft/x", "half"))
	check(t, b.release()) // killed
	mustClose(t, openAt(t, path))
	if n := count(path); n != 4 {
		t.Errorf("%d snapshots: what a killed program left was not caught up", n)
	}
}

func TestSnapshotsOfTwoBooksStayApart(t *testing.T) {
	dir := t.TempDir()
	for _, name := range []string{"book", "book-2"} {
		b := openAt(t, dir+"/"+name+".db")
		mustPut(t, b, SavePerson(model.Person{ID: "p"}))
		mustClose(t, b)
	}
	for _, name := range []string{"book", "book-2"} {
		if snaps, _ := Snapshots(dir + "/" + name + ".db"); len(snaps) != 1 {
			t.Errorf("%s has %d snapshots", name, len(snaps))
		}
	}
}

func TestSnapshotThatFails(t *testing.T) {
	b := openNew(t)
	mustPut(t, b, SavePerson(model.Person{ID: "p"}))
	check(t, os.WriteFile(BackupsDir(b.Path()), nil, 0o600)) // a file where the folder should be
	if _, err := b.Snapshot(ctx); !errors.Is(err, ErrNoSnapshot) {
		t.Errorf("error %v", err)
	}
	if err := b.Close(ctx); !errors.Is(err, ErrNoSnapshot) {
		t.Errorf("closing: %v", err)
	}
	check(t, os.Remove(BackupsDir(b.Path())))
	mustClose(t, openAt(t, b.Path())) // the lock was let go all the same
}

// TestKeep walks ten years with a snapshot every evening.
func TestKeep(t *testing.T) {
	start := time.Date(2027, 1, 1, 20, 0, 0, 0, time.UTC)
	var have []time.Time
	for day := range 3650 {
		have = slices.Insert(have, 0, start.AddDate(0, 0, day))
		kept := keep(have)
		have = slices.DeleteFunc(have, func(x time.Time) bool { return !kept[x] })
		if !have[0].Equal(start.AddDate(0, 0, day)) {
			t.Fatal("the newest is gone")
		}
	}
	now := have[0]
	count := func(from, to int) (n int) {
		for _, x := range have {
			if age := int(now.Sub(x) / (24 * time.Hour)); age >= from && age < to {
				n++
			}
		}
		return n
	}
	for _, c := range []struct{ from, to, least, most int }{
		{0, 7, 7, 7},      // every day
		{7, 63, 8, 8},     // every week
		{63, 790, 23, 26}, // every month
		{790, 3650, 7, 9}, // every year
		{0, 3650, 44, 50}, // all in all
	} {
		if n := count(c.from, c.to); n < c.least || n > c.most {
			t.Errorf("%d to %d days old: %d", c.from, c.to, n)
		}
	}
	if len(keep(nil)) != 0 {
		t.Error("something of nothing")
	}
}

// TestKeepDays closes a book nine times a day: yesterday's copy, and those of
// the days before, must not be pushed out by today's.
func TestKeepDays(t *testing.T) {
	start := time.Date(2027, 1, 1, 8, 0, 0, 0, time.UTC)
	var have []time.Time
	for n := range 40 * 9 {
		have = slices.Insert(have, 0, start.AddDate(0, 0, n/9).Add(time.Duration(n%9)*time.Hour))
		kept := keep(have)
		have = slices.DeleteFunc(have, func(x time.Time) bool { return !kept[x] })
	}
	days := map[string]bool{}
	for _, x := range have {
		if have[0].Sub(x) < 7*24*time.Hour {
			days[x.Format(time.DateOnly)] = true
			if x.Hour() != 16 && x.Day() != have[0].Day() {
				t.Errorf("%v is not the last of its day", x)
			}
		}
	}
	if len(days) != 7 || len(have) > 7+6+8+2 {
		t.Errorf("%d days of the last week, %d copies: %v", len(days), len(have), have)
	}
}

func TestThinning(t *testing.T) {
	o := optionsFor(t.TempDir() + "/book.db")
	now := noon
	o.Now = func() time.Time { return now }
	b, err := Open(ctx, o)
	check(t, err)
	defer b.release()
	mustPut(t, b, SavePerson(model.Person{ID: "p"}))
	for range 30 {
		now = now.Add(time.Minute)
		_, err := b.Snapshot(ctx)
		check(t, err)
	}
	now = now.AddDate(1, 0, 0)
	for range 2 { // the same moment twice
		_, err = b.Snapshot(ctx)
		check(t, err)
	}
	snaps, err := Snapshots(o.Path)
	check(t, err)
	if len(snaps) != 7 || !snaps[1].Time.Equal(now.UTC()) {
		t.Errorf("%d snapshots: %v", len(snaps), snaps)
	}
}

func TestForget(t *testing.T) {
	b := openNew(t)
	keepMe := someBook(seeded(31), 20)
	gone := model.Person{ID: "f00d", Name: "Xaverius"}
	pack := model.Pack{ID: "gone-pack", Label: "labelofgone", Person: gone.ID}
	shared := model.Pack{ID: "shared-pack", Label: "shared", Person: gone.ID}
	mustPut(t, b, append(changesOf(keepMe), SavePack(shared), SavePack(pack), SavePerson(gone))...)
	e := someEntry(seeded(32), gone.ID, pack.ID)
	e.Values = []model.Value{{Code: "text", Word: "secretneedle"}}
	other := keepMe.Entries[0]
	other.Pack = shared.ID
	mixed := mustPut(t, b, SaveEntry(e), SaveEntry(other), Set("draft/strip/f00d", "secretneedle draft"), Set("seen/f00d", "secretneedle set"), Set("seen/beef", "stays"))
	e.Values[0].Word = "secretneedle again"
	mustPut(t, b, SaveEntry(e))
	mustPut(t, b, DeleteEntry(e.ID))
	snap, err := b.Snapshot(ctx)
	check(t, err)

	still, err := b.Forget(ctx, gone.ID)
	check(t, err)
	if len(still) != 1 || still[0].Path != snap.Path {
		t.Errorf("snapshots that still know: %+v", still)
	}
	keepMe.Entries[0] = other
	shared.Person = ""
	keepMe.Packs = append(keepMe.Packs, shared)
	have, extras, err := b.Load(ctx)
	check(t, err)
	sameText(t, "the others", describe(have), describe(keepMe))
	if len(extras.Settings) != 1 || extras.Settings["seen/beef"] != "stays" {
		t.Errorf("settings %q", extras.Settings)
	}
	if _, err := b.Undo(ctx, "", mixed); !errors.Is(err, ErrOverwritten) {
		t.Errorf("undo of a change that was partly forgotten: %v", err)
	}
	if _, err := b.Forget(ctx, gone.ID); !errors.Is(err, ErrNotFound) {
		t.Errorf("twice: %v", err)
	}
	check(t, b.DropSnapshots(ctx, still))
	if left, err := Snapshots(b.Path()); err != nil || exists(snap.Path) || len(left) != 1 {
		t.Errorf("after dropping: %v, %v", left, err)
	}
	check(t, b.release())
	data := append(fileBytes(b.Path()), fileBytes(b.Path()+"-journal")...)
	for _, s := range []string{"secretneedle", "Xaverius", "f00d", "labelofgone"} {
		if bytes.Contains(data, []byte(s)) {
			t.Errorf("%q is still in the file", s)
		}
	}
	mustClose(t, openAt(t, b.Path()))
}
