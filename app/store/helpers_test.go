package store

import (
	"bytes"
	"context"
	"encoding/json"
	"flag"
	"fmt"
	"maps"
	"math/rand/v2"
	"os"
	"path/filepath"
	"slices"
	"testing"
	"time"

	"quietwater/model"
)

// TestMain is also the program that the fault tests kill: see child.
func TestMain(m *testing.M) {
	if job := os.Getenv("QW_STORE_CHILD"); job != "" {
		child(job)
		os.Exit(0)
	}
	flag.Parse()
	// A kill does not lose what the system already holds, so a disk in memory
	// tests the same and does not wear the other. Soak and benchmarks take
	// the real one.
	if !soak() && flag.Lookup("test.bench").Value.String() == "" {
		os.Setenv("TMPDIR", memory())
	}
	os.Exit(m.Run())
}

// memory is a folder in memory where there is one.
func memory() string {
	if st, err := os.Stat("/dev/shm"); err == nil && st.IsDir() {
		return "/dev/shm"
	}
	return os.TempDir()
}

// soak tells the fault tests to run in their full length.
func soak() bool { return os.Getenv("QW_SOAK") != "" }

var (
	ctx  = context.Background()
	rome = time.FixedZone("", 3600)
	noon = time.Date(2027, 3, 1, 12, 0, 0, 0, rome)
)

func seeded(n uint64) *rand.Rand { return rand.New(rand.NewPCG(n, 7)) }

// source is a deterministic io.Reader.
func source(n uint64) *rand.ChaCha8 { return rand.NewChaCha8([32]byte{byte(n), byte(n >> 8)}) }

// clock goes one second further at every look.
func clock() func() time.Time {
	t := noon
	return func() time.Time { t = t.Add(time.Second); return t }
}

func optionsFor(path string) Options {
	return Options{Path: path, Now: clock(), Rand: source(1), Zone: rome, Version: "test"}
}

func openAt(t testing.TB, path string) *Book {
	t.Helper()
	b, err := Open(ctx, optionsFor(path))
	if err != nil {
		t.Fatalf("opening: %v", err)
	}
	t.Cleanup(func() { b.release() })
	return b
}

func openNew(t testing.TB) *Book {
	t.Helper()
	return openAt(t, filepath.Join(t.TempDir(), "household", "book.db"))
}

func mustPut(t testing.TB, b *Book, changes ...Change) Token {
	t.Helper()
	token, err := b.Put(ctx, "Ada", changes)
	if err != nil {
		t.Fatalf("saving: %v", err)
	}
	return token
}

func mustClose(t testing.TB, b *Book) {
	t.Helper()
	if err := b.Close(ctx); err != nil {
		t.Fatalf("closing: %v", err)
	}
}

func check(t testing.TB, err error) {
	t.Helper()
	if err != nil {
		t.Fatal(err)
	}
}

// dump is every row of a book with its stamps, deleted ones too, as text.
func dump(t testing.TB, b *Book) []string {
	t.Helper()
	rep, r, err := examineRows(b.db)
	check(t, err)
	if !rep.OK() {
		t.Fatalf("flaws: %v", rep.Flaws)
	}
	var out []string
	add := func(x row) {
		text, err := toJSON(x)
		check(t, err)
		out = append(out, x.table().name+" "+text)
	}
	for _, x := range r.persons {
		add(x)
	}
	for _, x := range r.packs {
		add(x)
	}
	for _, x := range r.kinds {
		add(x)
	}
	for _, x := range r.settings {
		add(x)
	}
	for _, x := range r.entries {
		add(x)
	}
	slices.Sort(out)
	return out
}

func sameText(t testing.TB, what string, have, want []string) {
	t.Helper()
	if slices.Equal(have, want) {
		return
	}
	for _, l := range want {
		if !slices.Contains(have, l) {
			t.Errorf("%s: missing %s", what, l)
		}
	}
	for _, l := range have {
		if !slices.Contains(want, l) {
			t.Errorf("%s: not wanted %s", what, l)
		}
	}
	t.FailNow()
}

// describe is the content of a loaded book as comparable text.
func describe(b model.Book) []string {
	var out []string
	line := func(x any) {
		text, err := json.Marshal(x)
		if err != nil {
			panic(err)
		}
		out = append(out, fmt.Sprintf("%T %s", x, text))
	}
	for _, p := range b.Persons {
		line(fromPerson(p))
	}
	for _, p := range b.Packs {
		line(fromPack(p))
	}
	for _, e := range b.Entries {
		line(fromEntry(e))
	}
	slices.Sort(out)
	return out
}

func contentOf(t testing.TB, b *Book) []string {
	t.Helper()
	book, _, err := b.Load(ctx)
	check(t, err)
	return describe(book)
}

func someID(r *rand.Rand) model.ID {
	id, err := model.NewID(readerOf{r})
	if err != nil {
		panic(err)
	}
	return id
}

type readerOf struct{ *rand.Rand }

func (r readerOf) Read(p []byte) (int, error) {
	for i := range p {
		p[i] = byte(r.Uint32())
	}
	return len(p), nil
}

func pick[T any](r *rand.Rand, list ...T) T { return list[r.IntN(len(list))] }

// words hold what a careless program would spoil.
var words = []string{"", "after lunch", "Größe: süß", "尿蛋白 2+", "it's \"quoted\"; --", "two\nlines\r\n", "=SUM(A1)", "👵🏽", "\u0301", "1.10"}

func someValue(r *rand.Rand, code model.Code) model.Value {
	v := model.Value{Code: code, Note: pick(r, words...)}
	switch r.IntN(3) {
	case 0:
		v.Grade = pick(r, model.Grades()...)
		v.Confidence = r.Float64()
	case 1:
		v.Word = pick(r, "yes", "no", "unsure", "start", "2027-02", "尿", " ")
	default:
		v.Number = pick(r, 0, 1.1, -3, 1e-9, 123456789.123456789, r.NormFloat64(), 1/3.0)
		v.Typed = pick(r, "", "1.10", "0.0", "97")
		v.Unit = pick(r, "", "mg/dL", "mL/min/{1.73_m2}")
	}
	return v
}

func someWhen(r *rand.Rand) model.When {
	t := noon.Add(-time.Duration(r.Int64N(int64(10 * 365 * 24 * time.Hour))))
	switch r.IntN(8) {
	case 0:
		return model.When{}
	case 1:
		return model.OnDay(t)
	}
	return model.At(t.In(time.FixedZone("", pick(r, 0, 3600, 7200, -12600, 20700))))
}

func someEntry(r *rand.Rand, person, pack model.ID) model.Entry {
	e := model.Entry{ID: someID(r), Person: person, Kind: pick(r, model.Kinds()...), When: someWhen(r),
		Author: pick(r, "", "Ada", "Bruno"), Origin: pick(r, model.ByHand, model.FromPhoto, model.ReadAtTone)}
	if r.IntN(3) == 0 {
		e.Pack = pack
	}
	for i := range r.IntN(6) {
		e.Values = append(e.Values, someValue(r, model.Code(fmt.Sprintf("code-%d", i))))
	}
	return e
}

func somePack(r *rand.Rand, person model.ID) model.Pack {
	return model.Pack{ID: someID(r), Label: pick(r, words...), Person: pick(r, "", person), StripKind: "ten-pads",
		Lot: pick(r, words...), UseBy: model.OnDay(noon.AddDate(0, r.IntN(20), 0)), UseByText: "2028-01",
		OpenedOn: pick(r, model.When{}, model.OnDay(noon)), DaysOpen: r.IntN(100), Strips: r.IntN(101),
		Price: pick(r, "", "12.90"), Currency: "EUR", Sealed: pick(r, model.Tub, model.Single, "")}
}

// someBook is a household of any content.
func someBook(r *rand.Rand, n int) model.Book {
	var b model.Book
	for i := range 1 + r.IntN(3) {
		b.Persons = append(b.Persons, model.Person{ID: someID(r), Name: pick(r, words...), Mark: i})
	}
	who := func() model.ID { return pick(r, b.Persons...).ID }
	for range 1 + r.IntN(3) {
		b.Packs = append(b.Packs, somePack(r, who()))
	}
	for range n {
		b.Entries = append(b.Entries, someEntry(r, who(), pick(r, b.Packs...).ID))
	}
	return b
}

// changesOf saves a whole book, entries first: a save may hold its records in
// any order.
func changesOf(b model.Book) []Change {
	var out []Change
	for _, e := range b.Entries {
		out = append(out, SaveEntry(e))
	}
	for _, p := range b.Packs {
		out = append(out, SavePack(p))
	}
	for _, p := range b.Persons {
		out = append(out, SavePerson(p))
	}
	return out
}

// yearsBook is what two people record over years: about 15 entries a day, as
// vitals, drinks, symptoms, laboratory days and a strip test every third day.
func yearsBook(years int) model.Book { return daysBook(years * 365) }

func daysBook(days int) model.Book {
	r := seeded(uint64(days))
	b := model.Book{Persons: []model.Person{{ID: someID(r), Name: "Ada"}, {ID: someID(r), Name: "Bruno", Mark: 1}}}
	b.Packs = append(b.Packs, somePack(r, ""))
	number := func(code string, lo, hi float64, unit string) model.Value {
		n := float64(int(lo + r.Float64()*(hi-lo)))
		return model.Value{Code: model.Code(code), Number: n, Typed: model.FormatNumber(n), Unit: unit}
	}
	for day := range days {
		for _, p := range b.Persons {
			at := func(hour int) model.When {
				return model.At(noon.AddDate(0, 0, -day).Add(time.Duration(hour-12)*time.Hour + time.Duration(r.IntN(3600))*time.Second))
			}
			add := func(k model.Kind, w model.When, vs ...model.Value) {
				b.Entries = append(b.Entries, model.Entry{ID: someID(r), Person: p.ID, Kind: k, When: w, Values: vs, Author: "Ada"})
			}
			add(model.Vital, at(8), number("systolic", 110, 170, "mm[Hg]"), number("diastolic", 60, 95, "mm[Hg]"), number("pulse", 50, 90, "/min"))
			add(model.Vital, at(8), number("weight", 60, 90, "kg"))
			for i := range 11 {
				add(model.Fluid, at(8+i), number("drink", 100, 300, "mL"))
			}
			add(model.Symptom, at(20), model.Value{Code: "swelling", Word: pick(r, "no", "no", "yes"), Note: "a little at the ankles in the evening"})
			if day%3 == 0 {
				add(model.Strip, at(7), model.Value{Code: model.Protein, Grade: pick(r, model.Grades()...)}, model.Value{Code: model.Blood, Grade: model.Neg},
					model.Value{Code: model.PH, Number: 6, Typed: "6", Unit: "[pH]"}, model.Value{Code: model.Glucose, Grade: model.Neg},
					number("seconds-after-dip", 50, 70, "s"))
				b.Entries[len(b.Entries)-1].Pack = b.Packs[0].ID
			}
			if day%90 == 0 {
				add(model.Lab, at(9), number("creatinine", 80, 130, "umol/L"), number("acr", 10, 400, "mg/g"))
			}
		}
	}
	return b
}

// truth says what a book must hold after any number of saves of the workload
// that the fault tests run, so that a killed writer can be held to it.
type truth struct {
	persons map[model.ID]model.Person
	packs   map[model.ID]model.Pack
	entries map[model.ID]model.Entry
	ids     []model.ID // of entries ever made, in order
	before  []func()   // what undo restores, newest last
	step    int
}

func newTruth() *truth {
	return &truth{persons: map[model.ID]model.Person{}, packs: map[model.ID]model.Pack{}, entries: map[model.ID]model.Entry{}}
}

// next does one step and tells what to save; nil means undo.
func (w *truth) next() []Change {
	r := seeded(uint64(w.step) + 1000)
	w.step++
	if w.step == 1 {
		b := someBook(r, 0)
		for _, p := range b.Persons {
			w.persons[p.ID] = p
		}
		for _, p := range b.Packs {
			w.packs[p.ID] = p
		}
		return changesOf(b)
	}
	n := r.IntN(20)
	switch {
	case n == 0 && len(w.before) > 0:
		w.before[len(w.before)-1]()
		w.before = w.before[:len(w.before)-1]
		return nil
	case n <= 3 && len(w.entries) > 0:
		e := w.entries[w.some(r)]
		e.Values = append(slices.Clone(e.Values), someValue(r, "later"))
		return w.put(e)
	case n == 4 && len(w.entries) > 0:
		id := w.some(r)
		w.keep(id)
		delete(w.entries, id)
		return []Change{DeleteEntry(id), Set("draft/strip", fmt.Sprint(w.step))}
	}
	persons := slices.Sorted(maps.Keys(w.persons))
	packs := slices.Sorted(maps.Keys(w.packs))
	e := someEntry(r, pick(r, persons...), pick(r, packs...))
	w.ids = append(w.ids, e.ID)
	return w.put(e)
}

func (w *truth) put(e model.Entry) []Change {
	w.keep(e.ID)
	w.entries[e.ID] = e
	return []Change{SaveEntry(e), Set("draft/strip", fmt.Sprint(w.step))}
}

func (w *truth) keep(id model.ID) {
	old, was := w.entries[id]
	w.before = append(w.before, func() {
		if delete(w.entries, id); was {
			w.entries[id] = old
		}
	})
}

// some picks one of the newest entries that are there.
func (w *truth) some(r *rand.Rand) model.ID {
	for i := r.IntN(10); ; i++ {
		id := w.ids[((len(w.ids)-1-i)%len(w.ids)+len(w.ids))%len(w.ids)]
		if _, ok := w.entries[id]; ok {
			return id
		}
	}
}

func (w *truth) advance(to int) {
	for w.step < to {
		w.next()
	}
}

// again is what a book holds after n saves.
func again(n int) *truth {
	w := newTruth()
	w.advance(n)
	return w
}

func (w *truth) book() model.Book {
	return model.Book{Persons: slices.Collect(maps.Values(w.persons)), Packs: slices.Collect(maps.Values(w.packs)),
		Entries: slices.Collect(maps.Values(w.entries))}
}

// do saves the next step in a book.
func (w *truth) do(b *Book) error {
	changes := w.next()
	if changes != nil {
		_, err := b.Put(ctx, "Ada", changes)
		return err
	}
	last, err := b.LastUndo(ctx)
	if err == nil {
		_, err = b.Undo(ctx, "Ada", last.Token)
	}
	return err
}

// writesOf is how many saves a book has seen.
func writesOf(t testing.TB, b *Book) int {
	t.Helper()
	var n int
	check(t, b.db.QueryRow(`SELECT writes FROM meta`).Scan(&n))
	return n
}

// fileBytes reads a file, nil when it is not there.
func fileBytes(path string) []byte {
	data, _ := os.ReadFile(path)
	return bytes.Clone(data)
}
