package backup

import (
	"archive/zip"
	"bytes"
	"crypto/sha256"
	"database/sql"
	"encoding/hex"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"math/rand/v2"
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"testing"

	"filippo.io/age"

	"quietwater/app/store"
)

// bad is a household that waits to be harmed: a backup, and a book of which no
// byte may change.
type bad struct {
	t             *testing.T
	book, dir     string
	before        string
	sealed, plain []byte
	sealedF, zipF string
}

func newBad(t *testing.T) *bad {
	b := demoBook(t, filepath.Join(t.TempDir(), "household.book"), 1)
	h := &bad{t: t, book: b.Path(), dir: t.TempDir()}
	h.sealedF, h.zipF = filepath.Join(h.dir, "b.zip.age"), filepath.Join(h.dir, "b.zip")
	for _, to := range []string{h.sealedF, h.zipF} {
		pass := secret
		if to == h.zipF {
			pass = ""
		}
		_, err := Write(ctx, b, to, fast(pass))
		check(t, err)
	}
	check(t, b.Close(ctx))
	var err error
	h.sealed, err = os.ReadFile(h.sealedF)
	check(t, err)
	h.plain, err = os.ReadFile(h.zipF)
	check(t, err)
	h.before = lying(t, filepath.Dir(h.book)) + told(t, h.book)
	return h
}

// restore tries a file, and sees to it that nothing changed anywhere when it is
// refused: neither the book nor the place of the new one.
func (h *bad) restore(what string, content []byte, pass string) error {
	h.t.Helper()
	from := filepath.Join(h.dir, "bad")
	check(h.t, os.WriteFile(from, content, 0o600))
	place := filepath.Join(h.dir, "place")
	defer os.RemoveAll(place)
	_, err := Restore(ctx, from, filepath.Join(place, "new.book"), fast(pass))
	if err == nil {
		if told(h.t, filepath.Join(place, "new.book")) != told(h.t, h.book) {
			h.t.Errorf("%s: restored, and it is something else", what)
		}
		return nil
	}
	var step *StepError
	if !errors.As(err, &step) || Tell(err).IsZero() {
		h.t.Errorf("%s: no step or no words: %v", what, err)
	}
	if left := lying(h.t, place); left != "" {
		h.t.Errorf("%s: left behind\n%s", what, left)
	}
	return err
}

func (h *bad) unchanged() {
	h.t.Helper()
	if lying(h.t, filepath.Dir(h.book))+told(h.t, h.book) != h.before {
		h.t.Error("the book changed")
	}
}

func TestNotABackup(t *testing.T) {
	h := newBad(t)
	age5 := func(content string) []byte {
		var out bytes.Buffer
		w, err := seal(&out, fast(secret))
		check(t, err)
		_, err = io.WriteString(w, content)
		check(t, errors.Join(err, w.Close()))
		return out.Bytes()
	}
	forKey := func() []byte {
		id, err := age.GenerateX25519Identity()
		check(t, err)
		var out bytes.Buffer
		w, err := age.Encrypt(&out, id.Recipient())
		check(t, err)
		w.Write(h.plain)
		check(t, w.Close())
		return out.Bytes()
	}
	work := func(n string) []byte {
		return regexp.MustCompile(`(?m)^(-> scrypt \S+) \d+$`).ReplaceAll(h.sealed, []byte("$1 "+n))
	}
	bookBytes, err := os.ReadFile(h.book)
	check(t, err)
	for _, c := range []struct {
		name    string
		content []byte
		pass    string
		want    error
	}{
		{"wrong passphrase", h.sealed, "quiet water runs deep", ErrPassphrase},
		{"no passphrase", h.sealed, "", ErrNeedsPassphrase},
		{"empty", nil, secret, ErrForeign},
		{"a letter", []byte("Dear Rosa,\n" + strings.Repeat("how are you? ", 100)), secret, ErrForeign},
		{"the book itself", bookBytes, secret, ErrForeign},
		{"only age's first line", h.sealed[:len(ageIntro)], secret, ErrForeign},
		{"a letter in age", age5("Dear Rosa"), secret, ErrForeign},
		{"nothing in age", age5(""), secret, ErrForeign},
		{"half an archive in age", age5(string(h.plain[:len(h.plain)/2])), secret, ErrDamaged},
		{"encrypted for a key", forKey(), secret, ErrForeign},
		{"work factor 23", work("23"), secret, ErrTooMuch},
		{"work factor 30", work("30"), secret, ErrTooMuch},
		{"work factor beyond numbers", work("99999999999999999999"), secret, ErrTooMuch},
		{"work factor 0", work("0"), secret, ErrDamaged},
		{"another work factor", work("4"), secret, ErrPassphrase},
		{"something behind it", append(bytes.Clone(h.sealed), 0), secret, ErrDamaged},
		{"something behind the archive", append(bytes.Clone(h.plain), 0), "", ErrDamaged},
		{"a passphrase for nothing", h.plain, secret, nil},
	} {
		if err := h.restore(c.name, c.content, c.pass); !errors.Is(err, c.want) || (err == nil) != (c.want == nil) {
			t.Errorf("%s: %v, want %v", c.name, err, c.want)
		}
	}
	if _, err := Prepare(ctx, h.dir, h.book, fast("")); !errors.Is(err, ErrForeign) && !errors.Is(err, os.ErrInvalid) {
		t.Errorf("a folder: %v", err)
	}
	if _, err := Prepare(ctx, filepath.Join(h.dir, "nowhere"), h.book, fast("")); !errors.Is(err, os.ErrNotExist) || Tell(err).IsZero() {
		t.Errorf("no file: %v", err)
	}
	h.unchanged()
}

// TestFlippedBits flips one bit of a backup at 200 places, of the encrypted one
// and of the plain one: refused, or whole.
func TestFlippedBits(t *testing.T) {
	h := newBad(t)
	r := rand.New(rand.NewPCG(31, 1))
	harmless := 0
	for n := range 200 {
		for _, content := range [][]byte{h.sealed, h.plain} {
			at := r.IntN(len(content))
			if n < 50 { // the first lines, and the directory at the end, are small
				at = r.IntN(300)
				if n%2 > 0 {
					at = len(content) - 1 - at
				}
			}
			flipped := bytes.Clone(content)
			flipped[at] ^= 1 << r.IntN(8)
			pass := secret
			if &content[0] == &h.plain[0] {
				pass = ""
			}
			err := h.restore(fmt.Sprintf("byte %d of %d", at, len(content)), flipped, pass)
			if err == nil && pass != "" {
				t.Errorf("a bit flipped in byte %d was not seen", at)
			}
			if err == nil {
				harmless++ // a date in the archive's directory
			}
		}
	}
	if harmless > 40 {
		t.Errorf("%d flips were not seen in the plain archive", harmless)
	}
	h.unchanged()
}

// TestCut cuts a backup at 100 lengths.
func TestCut(t *testing.T) {
	h := newBad(t)
	r := rand.New(rand.NewPCG(32, 1))
	for n := range 100 {
		for _, content := range [][]byte{h.sealed, h.plain} {
			length := r.IntN(len(content))
			if n < 30 {
				length = len(content) - 1 - n*n
			}
			pass := secret
			if &content[0] == &h.plain[0] {
				pass = ""
			}
			if err := h.restore(fmt.Sprint("cut at ", length), content[:length], pass); err == nil {
				t.Errorf("cut at %d of %d: taken", length, len(content))
			}
		}
	}
	h.unchanged()
}

// entry is a file of an archive made by hand.
type entry struct {
	name    string
	content []byte
	deflate bool
}

// entries are those of a good backup.
func (h *bad) entries() (out []entry) {
	z, err := zip.NewReader(bytes.NewReader(h.plain), int64(len(h.plain)))
	check(h.t, err)
	for _, f := range z.File {
		r, err := f.Open()
		check(h.t, err)
		content, err := io.ReadAll(r)
		check(h.t, err)
		out = append(out, entry{f.Name, content, false})
	}
	return out
}

func zipped(t testing.TB, list []entry) []byte {
	var out bytes.Buffer
	z := zip.NewWriter(&out)
	for _, e := range list {
		h := &zip.FileHeader{Name: e.name, Method: zip.Store}
		if e.deflate {
			h.Method = zip.Deflate
		}
		w, err := z.CreateHeader(h)
		check(t, err)
		if !strings.HasSuffix(e.name, "/") { // a folder
			_, err = w.Write(e.content)
			check(t, err)
		}
	}
	check(t, z.Close())
	return out.Bytes()
}

// relisted changes the files of a good backup and has its list say so.
func (h *bad) relisted(change func([]entry, *manifest) []entry) []byte {
	list := h.entries()
	var m manifest
	check(h.t, json.Unmarshal(list[1].content, &m))
	list = change(list, &m)
	m.Files, m.Counts.Pictures = nil, 0
	for _, e := range list {
		if e.name == manifestName {
			continue
		}
		sum := sha256.Sum256(e.content)
		m.Files = append(m.Files, listed{e.name, int64(len(e.content)), hex.EncodeToString(sum[:])})
		if strings.HasPrefix(e.name, pictureDir) {
			m.Counts.Pictures++
		}
	}
	for i := range list {
		if list[i].name == manifestName {
			var err error
			list[i].content, err = json.Marshal(m)
			check(h.t, err)
		}
	}
	return zipped(h.t, list)
}

// withBook is a backup whose book was worked on behind our back.
func (h *bad) withBook(statements ...string) []byte {
	return h.relisted(func(list []entry, m *manifest) []entry {
		path := filepath.Join(h.dir, "worked-on.book")
		defer os.Remove(path)
		check(h.t, os.WriteFile(path, list[2].content, 0o600))
		db, err := sql.Open("sqlite3", path)
		check(h.t, err)
		for _, s := range statements {
			_, err := db.Exec(s)
			check(h.t, err)
		}
		check(h.t, db.Close())
		list[2].content, err = os.ReadFile(path)
		check(h.t, err)
		return list
	})
}

func TestHostileArchives(t *testing.T) {
	h := newBad(t)
	add := func(name string) []byte {
		return h.relisted(func(list []entry, _ *manifest) []entry { return append(list, entry{name: name, content: []byte("x")}) })
	}
	if err := h.restore("a good one, made by hand", h.relisted(func(list []entry, _ *manifest) []entry { return list }), ""); err != nil {
		t.Fatal(err)
	}
	cases := map[string]struct {
		content []byte
		want    error
	}{
		"deflated bomb": {h.relisted(func(list []entry, _ *manifest) []entry {
			return append(list, entry{pictureDir + "p/e-0123456789abcdef.png", make([]byte, 50<<20), true})
		}), ErrForeign},
		"things on top of each other": {onTop(t, h.plain), ErrTooMuch},
		"a picture too many":          {zipped(t, append(h.entries(), entry{name: pictureDir + "p/e-0123456789abcdef.png", content: []byte("x")})), ErrDamaged},
		"a picture too few":           {zipped(t, h.entries()[:len(h.entries())-1]), ErrDamaged},
		"twice the same":              {zipped(t, append(h.entries(), h.entries()[3])), ErrForeign},
		"another page than listed": {zipped(t, func() []entry {
			list := h.entries()
			list[0].content = bytes.ReplaceAll(list[0].content, []byte("SQLite"), []byte("SQLyte"))
			return list
		}()), ErrDamaged},
		"no list":                     {zipped(t, append(h.entries()[:1], h.entries()[2:]...)), ErrForeign},
		"no book":                     {h.relisted(func(list []entry, _ *manifest) []entry { return append(list[:2], list[3:]...) }), ErrDamaged},
		"a list that is none":         {zipped(t, []entry{{name: manifestName, content: []byte(strings.Repeat("[", 20_000))}}), ErrDamaged},
		"another program's list":      {h.relisted(func(list []entry, m *manifest) []entry { m.Format = "other"; return list }), ErrForeign},
		"a later form":                {h.relisted(func(list []entry, m *manifest) []entry { m.Version = 2; return list }), store.ErrNewer},
		"other counts":                {h.relisted(func(list []entry, m *manifest) []entry { m.Counts.Entries["vital"]++; return list }), ErrDamaged},
		"another household's name":    {h.relisted(func(list []entry, m *manifest) []entry { m.Counts.Book = "other"; return list }), ErrDamaged},
		"a letter for a book":         {h.relisted(func(list []entry, _ *manifest) []entry { list[2].content = []byte("Dear Rosa"); return list }), ErrDamaged},
		"a trigger in the book":       {h.withBook(`CREATE TRIGGER t AFTER INSERT ON entry BEGIN DELETE FROM entry; END`), ErrDamaged},
		"a view in the book":          {h.withBook(`CREATE VIEW v AS SELECT * FROM entry`), ErrDamaged},
		"a changed value in the book": {h.withBook(`UPDATE person SET name = 'Nobody'`), ErrDamaged},
		"a lost row in the book":      {h.withBook(`DELETE FROM setting`), ErrDamaged},
		"a newer book": {h.relisted(func(list []entry, m *manifest) []entry {
			m.Counts.Schema = 99
			return list
		}), ErrDamaged},
	}
	for _, name := range []string{"../x", "../../x", "/etc/x", `C:\x`, `..\x`, "pictures/../../x-0123456789abcdef.png", "pictures/p/../e-0123456789abcdef.png",
		"pictures/./e-0123456789abcdef.png", "pictures/p/e-0123456789abcdef.png/", "pictures/p/e-0123456789abcdef.exe", "book.lock", "pictures/", "",
		"pictures/p/e\x00-0123456789abcdef.png", "README.TXT", "pictures/P/E-0123456789abcdef.png"} {
		cases["name "+name] = struct {
			content []byte
			want    error
		}{add(name), ErrForeign}
	}
	for name, c := range cases {
		if err := h.restore(name, c.content, ""); !errors.Is(err, c.want) {
			t.Errorf("%s: %v, want %v", name, err, c.want)
		}
	}
	h.unchanged()
}

// A book that a later program wrote is refused as such.
func TestNewerBook(t *testing.T) {
	h := newBad(t)
	content := h.withBook(`INSERT INTO migration VALUES(99, '2030-01-01T00:00:00Z', 'later')`, `PRAGMA user_version = 99`)
	z := h.entriesOf(content)
	var m manifest
	check(t, json.Unmarshal(z[1].content, &m))
	m.Counts.Schema = 99
	z[1].content, _ = json.Marshal(m)
	if err := h.restore("a newer book", zipped(t, z), ""); !errors.Is(err, store.ErrNewer) {
		t.Error(err)
	}
	h.unchanged()
}

func (h *bad) entriesOf(content []byte) []entry {
	other := *h
	other.plain = content
	return other.entries()
}

// onTop lets every entry of an archive's directory point at the book, which is
// how a small archive can hold very much without compressing anything.
func onTop(t testing.TB, plain []byte) []byte {
	z, err := zip.NewReader(bytes.NewReader(plain), int64(len(plain)))
	check(t, err)
	var out bytes.Buffer
	w := zip.NewWriter(&out)
	for _, f := range z.File {
		if strings.HasPrefix(f.Name, pictureDir) {
			f.FileHeader.CompressedSize64, f.FileHeader.UncompressedSize64 = 60<<20, 60<<20
		}
		raw, err := w.CreateRaw(&f.FileHeader)
		check(t, err)
		if f.Name == bookName {
			r, err := f.OpenRaw()
			check(t, err)
			_, err = io.Copy(raw, r)
			check(t, err)
		}
	}
	check(t, w.Close())
	return out.Bytes()
}

// FuzzRestore feeds the reader of archives anything: never a panic, and what is
// refused leaves nothing.
func FuzzRestore(f *testing.F) {
	var out bytes.Buffer
	m := manifest{Format: format, Version: formatVersion, Made: now, Counts: Counts{Pictures: 1}}
	parts := []part{bytesPart(readmeName, []byte("a page")), bytesPart(bookName, []byte("a book")), bytesPart(pictureDir+"p/e-0123456789abcdef.png", []byte("\x89PNG"))}
	for _, p := range parts {
		m.Files = append(m.Files, p.listed)
	}
	check(f, pack(ctx, &out, m, parts))
	good := out.Bytes()
	f.Add(good, 0, []byte(nil))
	f.Add(good, len(good)-200, []byte("PK\x01\x02"))
	f.Add(good, 20, []byte("\xff\xff\xff\xff"))
	f.Add([]byte("PK\x05\x06"), 0, []byte(nil))
	f.Fuzz(func(t *testing.T, content []byte, at int, patch []byte) {
		if at >= 0 && at < len(content) { // so that a large good archive need not be found anew
			content = append(append(bytes.Clone(content[:at]), patch...), content[min(len(content), at+len(patch)):]...)
		}
		r := bytes.NewReader(content)
		a, err := readArchive(r, int64(len(content)))
		if err != nil {
			return
		}
		into := t.TempDir()
		if _, err := a.takeOut(ctx, filepath.Join(into, "in"), true); err != nil && Tell(err).IsZero() {
			t.Errorf("no words for %v", err)
		}
		for _, entry := range mustRead(t, into) {
			if entry != "in" {
				t.Errorf("%q was written outside", entry)
			}
		}
	})
}

func mustRead(t testing.TB, dir string) (names []string) {
	list, err := os.ReadDir(dir)
	check(t, err)
	for _, e := range list {
		names = append(names, e.Name())
	}
	return names
}
