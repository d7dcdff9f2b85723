package exchange

import (
	"bytes"
	"encoding/csv"
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"reflect"
	"regexp"
	"slices"
	"strings"
	"testing"

	"quietwater/model"
)

const header = "person,when,kind,what,value,unit,note\n"

// read takes a text apart and gives rows without numbers.
func read(t testing.TB, text string) ([]model.Row, []model.Refusal) {
	t.Helper()
	rows, refused, err := ReadTable(strings.NewReader(text))
	if err != nil {
		t.Fatalf("%q: %v", text, err)
	}
	return rows, refused
}

func bare(rows []model.Row) []model.Row {
	out := slices.Clone(rows)
	for i := range out {
		out[i].Number = 0
	}
	return out
}

func write(t testing.TB, rows []model.Row) string {
	t.Helper()
	var b bytes.Buffer
	if err := WriteTable(&b, rows); err != nil {
		t.Fatal(err)
	}
	return b.String()
}

var weight = model.Row{Person: "Rosa", When: "2026-05-01", Kind: "vital", What: "weight", Value: "61.5", Unit: "kg", Note: "after breakfast"}

func TestDialectsThatAreFine(t *testing.T) {
	for name, text := range map[string]string{
		"plain":                     header + "Rosa,2026-05-01,vital,weight,61.5,kg,after breakfast\n",
		"no line end at the end":    header + "Rosa,2026-05-01,vital,weight,61.5,kg,after breakfast",
		"byte-order mark":           "\ufeff" + header + "Rosa,2026-05-01,vital,weight,61.5,kg,after breakfast\n",
		"CR LF":                     strings.ReplaceAll(header+"Rosa,2026-05-01,vital,weight,61.5,kg,after breakfast\n", "\n", "\r\n"),
		"quoted":                    header + `"Rosa","2026-05-01","vital","weight","61.5","kg","after breakfast"` + "\n",
		"quoted header and mark":    "\ufeff" + `"person","when","kind","what","value","unit","note"` + "\n" + "Rosa,2026-05-01,vital,weight,61.5,kg,after breakfast\n",
		"blank lines":               "\n\r\n" + header + "\n\nRosa,2026-05-01,vital,weight,61.5,kg,after breakfast\n\r\n\n",
		"other order":               "note,unit,value,what,kind,when,person\nafter breakfast,kg,61.5,weight,vital,2026-05-01,Rosa\n",
		"semicolon":                 "person;when;kind;what;value;unit;note\nRosa;2026-05-01;vital;weight;61.5;kg;after breakfast\n",
		"semicolon, decimal comma":  "person;when;kind;what;value;unit;note\nRosa;2026-05-01;vital;weight;61,5;kg;after breakfast\n",
		"columns that are not ours": "id,person,when,kind,what,value,unit,note,,\n7,Rosa,2026-05-01,vital,weight,61.5,kg,after breakfast,x,y\n",
	} {
		rows, refused := read(t, text)
		want := weight
		want.Number = 1
		if len(refused) > 0 || !reflect.DeepEqual(rows, []model.Row{want}) {
			t.Errorf("%s: %+v %+v", name, rows, refused)
		}
	}
}

func TestFilesThatAreRefused(t *testing.T) {
	row := "Rosa,2026-05-01,vital,weight,61.5,kg,x\n"
	utf16 := func(order string) string {
		var b strings.Builder
		for _, c := range []byte(header + row) {
			if order == "le" {
				b.Write([]byte{c, 0})
			} else {
				b.Write([]byte{0, c})
			}
		}
		return b.String()
	}
	for _, c := range []struct{ name, text, key string }{
		{"nothing", "", "problem.file-empty"},
		{"a mark only", "\ufeff\r\n\n", "problem.file-empty"},
		{"unclosed quote", header + row + "Rosa,2026-05-01,vital,weight,61.5,kg,\"x\n" + row, "problem.file-unclosed-quote"},
		{"unclosed quote in the header", "\"person,when\n" + row, "problem.file-unclosed-quote"},
		{"quote that closes rows later", header + "Rosa,2026-05-01,vital,weight,61.5,kg,\"x\n" + row + "Rosa,2026-05-02,vital,weight,61.5,kg,\"y\"\n", "problem.file-stray-quote"},
		{"NUL", header + "Ro\x00sa,2026-05-01,vital,weight,61.5,kg,x\n", "problem.file-nul"},
		{"UTF-16, little end", utf16("le"), "problem.file-utf16"},
		{"UTF-16, big end", utf16("be"), "problem.file-utf16"},
		{"UTF-16, little end, mark", "\xff\xfe" + utf16("le"), "problem.file-utf16"},
		{"UTF-16, big end, mark", "\xfe\xff" + utf16("be"), "problem.file-utf16"},
		{"Latin-1", header + "Jos\xe9,2026-05-01,vital,weight,61.5,kg,x\n", "problem.file-not-utf8"},
		{"no header", row, "problem.file-column-missing"},
		{"missing column", "person,when,kind,what,value,unit\n", "problem.file-column-missing"},
		{"header in other words", "Person,When,Kind,What,Value,Unit,Note\n", "problem.file-column-missing"},
		{"tabs", strings.ReplaceAll(header, ",", "\t"), "problem.file-column-missing"},
		{"doubled column", "person,when,kind,what,value,unit,note,value\n", "problem.file-column-twice"},
		{"65 columns", "person,when,kind,what,value,unit,note" + strings.Repeat(",", 58) + "\n", "problem.file-too-many-columns"},
		{"too many rows", header + strings.Repeat("x\n", MaxRows+1), "problem.file-too-many-rows"},
		{"too big", header + strings.Repeat("x", MaxBytes), "problem.file-too-big"},
	} {
		_, _, err := ReadTable(strings.NewReader(c.text))
		var fe *FileError
		if !errors.As(err, &fe) || fe.Why.Key != c.key {
			t.Errorf("%s: got %v, want %s", c.name, err, c.key)
		}
	}
}

// The limits themselves are inside.
func TestFilesAtTheLimits(t *testing.T) {
	names := "person,when,kind,what,value,unit,note"
	if _, refused := read(t, names+strings.Repeat(",", 57)+"\n"); refused != nil {
		t.Error("64 columns:", refused)
	}
	rows, refused := read(t, header+strings.Repeat("x\n", MaxRows))
	if len(rows) != 0 || len(refused) != MaxRows {
		t.Errorf("%d rows: %d good, %d refused", MaxRows, len(rows), len(refused))
	}
	full := header + "\"" + strings.Repeat("x", MaxBytes-len(header)-2) + "\""
	if _, refused = read(t, full); len(refused) != 1 || len(full) != MaxBytes {
		t.Error("64 MiB:", len(full), len(refused))
	}
	// A million separators on one line must not become a million strings.
	rec := records{text: strings.Repeat(",", 1<<20), sep: ','}
	if r, err := rec.next(); err != nil || len(r.cells) > MaxColumns+1 {
		t.Error("strings for", len(r.cells), "fields", err)
	}
	if _, refused = read(t, header+strings.Repeat(",", 1<<20)); refused[0].Why.Args["got"] != 1<<20+1 {
		t.Error("fields are miscounted:", refused[0].Why.Args)
	}
}

func TestFileErrorsTellTheLine(t *testing.T) {
	for text, want := range map[string]int{
		header + "a,b\nc,\x00\n":                           3,
		header + "\"a\nb\",c\n\xff":                        4,
		header + "\n\n\"a\r\nb\",x,x,x,x,x,x\r\nc,\"d\n\n": 6,
	} {
		_, _, err := ReadTable(strings.NewReader(text))
		var fe *FileError
		if !errors.As(err, &fe) || fe.Why.Args["line"] != want {
			t.Errorf("%q: got %v, want line %d", text, err, want)
		}
	}
}

type brokenReader struct{}

func (brokenReader) Read([]byte) (int, error) { return 0, io.ErrUnexpectedEOF }

func TestBrokenDisk(t *testing.T) {
	if _, _, err := ReadTable(brokenReader{}); !errors.Is(err, io.ErrUnexpectedEOF) {
		t.Error(err)
	}
	got := importFrom(brokenReader{}, model.Book{})
	if got.FileRefused == nil || got.FileRefused.Key != "problem.file-unreadable" {
		t.Errorf("%+v", got)
	}
}

func TestRowsThatAreRefused(t *testing.T) {
	good := "Rosa,2026-05-01,vital,weight,61.5,kg,x\n"
	long := strings.Repeat("ñ", MaxCell/2)
	for _, c := range []struct {
		name, text string
		want       []string // "row field key"
	}{
		{"too few fields", good + "Rosa,2026-05-01,vital\n" + good, []string{"2  problem.row-fields"}},
		{"too many fields", "Rosa,2026-05-01,vital,weight,61.5,kg,x,y\n" + good, []string{"1  problem.row-fields"}},
		{"group separator that is a comma", "Rosa,2026-05-01,fluid,drink,1,500,mL,x\n", []string{"1  problem.row-fields"}},
		{"one empty quoted field", good + "\"\"\n", []string{"2  problem.row-fields"}},
		{"blank lines are not counted", "\n" + good + "\n\n\nx\n", []string{"2  problem.row-fields"}},
		{"a quote inside a field", "Rosa,2026-05-01,vital,weight,61.5,kg,5\" more\n" + good, []string{"1  problem.row-quote"}},
		{"text after a quoted field", "Rosa,2026-05-01,vital,weight,61.5,kg,\"x\"y\n" + good, []string{"1  problem.row-quote"}},
		{"a cell of 64 KiB", "Rosa,2026-05-01,note,text," + long + ",,\n", nil},
		{"a cell of 64 KiB behind its guard", "Rosa,2026-05-01,note,text,'=" + strings.Repeat("x", MaxCell-1) + ",,\n", nil},
		{"a cell of more", "Rosa,2026-05-01,note,text," + long + "x,,\n" + good, []string{"1 value problem.too-long"}},
	} {
		_, refused := read(t, header+c.text)
		var got []string
		for _, r := range refused {
			got = append(got, fmt.Sprint(r.Row, " ", r.Field, " ", r.Why.Key))
		}
		if !slices.Equal(got, c.want) {
			t.Errorf("%s: got %q, want %q", c.name, got, c.want)
		}
	}
}

func TestIgnoredColumnsAreNamed(t *testing.T) {
	got := importText("id,person,when,kind,what,value,unit,note,\n7,Rosa,2026-05-01,vital,weight,61.5,kg,,z\n", model.Book{})
	if got.Accepted != 1 || !slices.Equal(got.Ignored, []string{"id", ""}) {
		t.Errorf("%+v", got)
	}
}

// Reliability plan, section 6, after OWASP ASVS 1.2.10 and CWE-1236.
func TestFormulaGuard(t *testing.T) {
	for text, want := range map[string]string{
		"":           "",
		"plain":      "plain",
		"=1+1":       "'=1+1",
		"+34 600":    "'+34 600",
		"-x":         "'-x",
		"-5":         "-5",
		"-5.25":      "-5.25",
		"-5+2":       "'-5+2",
		"@SUM":       "'@SUM",
		"\tx":        "'\tx",
		"\rx":        "'\rx",
		"'":          "''",
		"'quoted'":   "''quoted'",
		"'=x":        "''=x",
		"2+":         "2+",
		"a=b":        "a=b",
		"\nx":        "\nx",
		"-":          "'-",
		"=":          "'=",
		"ñ":          "ñ",
		"’x":         "’x",
		"--5":        "'--5",
		"''''":       "'''''",
		" =leading ": " =leading ",
	} {
		if got := guard(text); got != want {
			t.Errorf("guard(%q) = %q, want %q", text, got, want)
		}
		if got := unguard(guard(text)); got != text {
			t.Errorf("%q comes back as %q", text, got)
		}
	}
	for cell, want := range map[string]string{"'tis": "'tis", "'5": "'5", "'-5": "-5", "''": "'", "'": "'"} {
		if got := unguard(cell); got != want {
			t.Errorf("unguard(%q) = %q, want %q", cell, got, want)
		}
	}
}

func TestWriteIsRFC4180(t *testing.T) {
	rows := []model.Row{{Person: "Rosa, mother", When: "2026-05-01", Kind: "note", What: "text", Value: "she said \"no\"\r\nand left", Note: "=x"}}
	want := "person,when,kind,what,value,unit,note\r\n\"Rosa, mother\",2026-05-01,note,text,\"she said \"\"no\"\"\r\nand left\",,'=x\r\n"
	if got := write(t, []model.Row{{Note: "a\rb"}}); !strings.HasSuffix(got, ",,,,,,\"a\rb\"\r\n") {
		t.Errorf("a carriage return stands bare: %q", got)
	}
	if got := write(t, rows); got != want {
		t.Errorf("got %q", got)
	}
	recs, err := csv.NewReader(strings.NewReader(want)).ReadAll()
	if err != nil || len(recs) != 2 || len(recs[1]) != 7 {
		t.Error("encoding/csv reads it otherwise:", recs, err)
	}
	for _, bad := range []string{"a\x00", "\xff"} {
		if err := WriteTable(io.Discard, []model.Row{{Note: bad}}); err == nil {
			t.Errorf("%q was written", bad)
		}
	}
	if err := WriteTable(fullDisk{}, rows); err == nil {
		t.Error("a full disk was not noticed")
	}
}

type fullDisk struct{}

func (fullDisk) Write([]byte) (int, error) { return 0, errors.New("no space left") }

// Every key this package can say has a sentence in each language we write.
func TestSentencesAreThere(t *testing.T) {
	keys := map[string]bool{}
	for _, f := range []string{"table.go", "exchange.go"} {
		src, err := os.ReadFile(f)
		if err != nil {
			t.Fatal(err)
		}
		for _, k := range regexp.MustCompile(`problem\.(file|row)-[a-z0-9-]+`).FindAllString(string(src), -1) {
			keys[k] = true
		}
	}
	if len(keys) < 14 {
		t.Errorf("only %d keys found", len(keys))
	}
	files, _ := filepath.Glob("../../i18n/text/*/table.toml")
	if len(files) < 2 {
		t.Fatal("no texts found")
	}
	for _, f := range files {
		text, err := os.ReadFile(f)
		if err != nil {
			t.Fatal(err)
		}
		for k := range keys {
			if !strings.Contains(string(text), `"`+k+`" = "`) {
				t.Errorf("%s: no %s", f, k)
			}
		}
	}
}

// oracle reads by the standard library, which agrees with us wherever it
// reads at all and no CR is in the way.
func oracle(text string, sep rune) ([][]string, error) {
	r := csv.NewReader(strings.NewReader(text))
	r.FieldsPerRecord, r.Comma = -1, sep
	return r.ReadAll()
}

func FuzzRecords(f *testing.F) {
	for _, s := range []string{header, "a,b\n\"c\nd\",e\n", "a;b\n;\n\n\"\"\"\";c", "a\"b,c\n", "\"a\"b\n", "\"", ",\n,", "\"a\n\"b,c"} {
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, text string) {
		if strings.ContainsAny(text, "\r") {
			return
		}
		sep := separator(text)
		rs := records{text: text, line: 1, sep: sep}
		var got [][]string
		faults := 0
		var err error
		for err == nil {
			var r record
			if r, err = rs.next(); err == nil {
				if r.stray {
					faults++
				}
				if r.count > MaxColumns {
					return
				}
				got = append(got, r.cells)
			}
		}
		if err != io.EOF {
			faults++
		}
		want, wantErr := oracle(text, rune(sep))
		if (faults > 0) != (wantErr != nil) {
			t.Fatalf("%q: %d faults, standard library says %v", text, faults, wantErr)
		}
		if wantErr == nil && !reflect.DeepEqual(got, want) {
			t.Fatalf("%q: got %q, want %q", text, got, want)
		}
	})
}

// Law: what is read writes back, and reads to the same rows.
func FuzzReadTable(f *testing.F) {
	f.Add([]byte(header + "Rosa,2026-05-01,vital,weight,61.5,kg,\"a\r\nb\"\n"))
	f.Add([]byte("person;when;kind;what;value;unit;note\nRosa;2026-05-01;vital;weight;61,5;kg;'=x\n"))
	f.Add([]byte("note,x,person,when,kind,what,value,unit\n''a,b,c,d,e,f,\"g\"\"\",h\nz\n"))
	f.Add([]byte(header + "\"a\"b,,,,,,\n\"\n\""))
	f.Fuzz(func(t *testing.T, data []byte) {
		rows, _, err := ReadTable(bytes.NewReader(data))
		if err != nil {
			if fe := (*FileError)(nil); !errors.As(err, &fe) {
				t.Fatalf("%v is no FileError", err)
			}
			return
		}
		again, refused := read(t, write(t, rows))
		if len(refused) > 0 || !slices.Equal(bare(rows), bare(again)) {
			t.Fatalf("%q: %+v came back as %+v, refused %+v", data, rows, again, refused)
		}
	})
}
