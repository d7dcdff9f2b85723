package exchange

import (
	"bytes"
	"errors"
	"fmt"
	"io"
	"slices"
	"strings"
	"unicode/utf8"

	"quietwater/model"
)

// Limits of the plain table (reliability plan, section 6). A larger file is
// refused before it is taken apart.
const (
	MaxBytes   = 64 << 20
	MaxRows    = 1_000_000
	MaxColumns = 64
	MaxCell    = model.MaxText // bytes, quotes and guard taken away
)

// Columns are the names the header must have, each once, in any order.
func Columns() []string {
	return []string{"person", "when", "kind", "what", "value", "unit", "note"}
}

// FileError says why a file as a whole is refused.
type FileError struct{ Why model.Msg }

func (e *FileError) Error() string { return fmt.Sprintf("%s %v", e.Why.Key, e.Why.Args) }

func refuseFile(key string, args ...any) error { return &FileError{model.T(key, args...)} }

// refusalOf is the sentence for an error of ReadTable.
func refusalOf(err error) model.Msg {
	if fe := (*FileError)(nil); errors.As(err, &fe) {
		return fe.Why
	}
	return model.T("problem.file-unreadable")
}

// ReadTable reads the plain table: RFC 4180 in UTF-8, separated by the comma
// or semicolon its header uses. Rows it cannot take apart are refused with an
// empty Field; rows and refusals are numbered together from 1. Columns that
// are not ours are passed over. The error is a [*FileError] where the file as
// a whole cannot be trusted, else an error of r.
func ReadTable(r io.Reader) ([]model.Row, []model.Refusal, error) {
	t, err := readTable(r)
	return t.rows, t.refused, err
}

type table struct {
	rows    []model.Row
	refused []model.Refusal
	ignored []string
}

func readTable(r io.Reader) (table, error) {
	text, err := readText(r)
	if err != nil {
		return table{}, err
	}
	rec := records{text: text, line: 1, sep: separator(text)}
	head, err := rec.next()
	if err == io.EOF {
		return table{}, refuseFile("problem.file-empty")
	}
	if err != nil {
		return table{}, err
	}
	cols, ignored, err := readHeader(head)
	if err != nil {
		return table{}, err
	}
	t := table{ignored: ignored}
	for n := 1; ; n++ {
		got, err := rec.next()
		if err == io.EOF {
			return t, nil
		}
		if err == nil && n > MaxRows {
			err = refuseFile("problem.file-too-many-rows", "limit", MaxRows)
		}
		if err != nil {
			return table{}, err
		}
		if p, bad := got.problem(head.count, cols); bad {
			t.refused = append(t.refused, model.Refusal{Row: n, Problem: p})
			continue
		}
		row := cols.row(n, got.cells)
		switch pointed := decimalPoint(row); {
		case pointed == row.Value:
		case rec.sep == ';':
			row.Value = pointed
		case len(pointed)-strings.IndexByte(pointed, '.') == len(".000"): // 1,500 may be a thousand and a half
		default:
			why := model.T("problem.decimal-comma", "value", short(row.Value))
			t.refused = append(t.refused, model.Refusal{Row: n, Problem: model.Problem{Field: "value", Why: why}})
			continue
		}
		t.rows = append(t.rows, row)
	}
}

// readText takes the whole file as text, or says why it is none.
func readText(r io.Reader) (string, error) {
	b, err := io.ReadAll(io.LimitReader(r, MaxBytes+1))
	switch {
	case err != nil:
		return "", fmt.Errorf("reading the table: %w", err)
	case len(b) > MaxBytes:
		return "", refuseFile("problem.file-too-big", "limit", MaxBytes>>20)
	case bytes.HasPrefix(b, []byte("\xff\xfe")), bytes.HasPrefix(b, []byte("\xfe\xff")),
		len(b) >= 4 && (b[0] == 0 && b[2] == 0 || b[1] == 0 && b[3] == 0):
		return "", refuseFile("problem.file-utf16")
	}
	if i := bytes.IndexByte(b, 0); i >= 0 {
		return "", refuseFile("problem.file-nul", "line", lineAt(b, i))
	}
	if !utf8.Valid(b) {
		return "", refuseFile("problem.file-not-utf8", "line", lineAt(b, firstInvalid(b)))
	}
	return strings.TrimPrefix(string(b), "\ufeff"), nil
}

func lineAt(b []byte, i int) int { return 1 + bytes.Count(b[:i], []byte("\n")) }

func firstInvalid(b []byte) int {
	i := 0
	for i < len(b) {
		r, n := utf8.DecodeRune(b[i:])
		if r == utf8.RuneError && n == 1 {
			break
		}
		i += n
	}
	return i
}

// separator is the first comma or semicolon of the header outside quotes.
func separator(text string) byte {
	quoted := false
	for i := 0; i < len(text); i++ {
		switch c := text[i]; {
		case c == '"':
			quoted = !quoted
		case !quoted && (c == ',' || c == ';'):
			return c
		}
	}
	return ','
}

// columns says at which place in a record each of [Columns] stands.
type columns [7]int

func readHeader(head record) (columns, []string, error) {
	var cols columns
	switch {
	case head.count > MaxColumns:
		return cols, nil, refuseFile("problem.file-too-many-columns", "limit", MaxColumns)
	case head.stray:
		return cols, nil, refuseFile("problem.file-stray-quote", "line", head.line)
	}
	var missing, ignored []string
	for i, name := range Columns() {
		cols[i] = slices.Index(head.cells, name)
		if cols[i] < 0 {
			missing = append(missing, name)
		}
	}
	if missing != nil {
		return cols, nil, refuseFile("problem.file-column-missing", "columns", strings.Join(missing, ", "))
	}
	for i, name := range head.cells {
		if name != "" && slices.Index(head.cells, name) != i {
			return cols, nil, refuseFile("problem.file-column-twice", "column", short(name))
		}
		if !slices.Contains(Columns(), name) {
			ignored = append(ignored, short(name))
		}
	}
	return cols, ignored, nil
}

func short(name string) string {
	if r := []rune(name); len(r) > 40 {
		return string(r[:39]) + "…"
	}
	return name
}

// name is ours for the column at a place, "" where it is not ours.
func (cols columns) name(place int) string {
	if i := slices.Index(cols[:], place); i >= 0 {
		return Columns()[i]
	}
	return ""
}

func (cols columns) row(n int, cells []string) model.Row {
	at := func(i int) string { return unguard(cells[cols[i]]) }
	return model.Row{Number: n, Person: at(0), When: at(1), Kind: at(2), What: at(3), Value: at(4), Unit: at(5), Note: at(6)}
}

// decimalPoint turns the one comma of a number into a point, and leaves every
// other value as it is.
func decimalPoint(row model.Row) string {
	it, ok := model.ItemFor(model.Kind(row.Kind), model.Code(row.What))
	if !ok || it.Takes != model.Number && it.Takes != model.GradeOrNumber {
		return row.Value
	}
	whole, part, comma := strings.Cut(row.Value, ",")
	if pointed := whole + "." + part; comma && !strings.Contains(whole, ".") {
		if _, ok := model.ParseNumber(pointed); ok {
			return pointed
		}
	}
	return row.Value
}

// record is one row of the file taken apart.
type record struct {
	cells []string // at most MaxColumns+1 of them
	count int
	line  int  // where it starts
	stray bool // a quote stands where RFC 4180 has none
}

func (r record) problem(want int, cols columns) (model.Problem, bool) {
	switch {
	case r.stray:
		return model.Problem{Why: model.T("problem.row-quote")}, true
	case r.count != want:
		return model.Problem{Why: model.T("problem.row-fields", "want", want, "got", r.count)}, true
	}
	for i, c := range r.cells {
		if len(unguard(c)) > MaxCell {
			return model.Problem{Field: cols.name(i), Why: model.T("problem.too-long", "limit", MaxCell)}, true
		}
	}
	return model.Problem{}, false
}

// records takes a text apart. encoding/csv would not do: it changes CR LF
// inside a quoted cell to LF, so a note would not come back as it was written,
// and it ends at the first stray quote, where we refuse only the row.
type records struct {
	text string
	line int
	sep  byte
}

// next gives the next record that is not a blank line, or io.EOF.
func (rs *records) next() (record, error) {
	for {
		rest := strings.TrimPrefix(rs.text, "\r")
		if rest == "" {
			return record{}, io.EOF
		}
		if rest[0] != '\n' {
			break
		}
		rs.text = rest[1:]
		rs.line++
	}
	r := record{line: rs.line}
	for {
		cell, last, err := rs.cell(&r)
		if err != nil {
			return r, err
		}
		if r.count++; r.count <= MaxColumns+1 {
			r.cells = append(r.cells, cell)
		}
		if last {
			return r, nil
		}
	}
}

// cell takes one cell and the separator or line end after it.
func (rs *records) cell(r *record) (cell string, last bool, err error) {
	quoted := strings.HasPrefix(rs.text, `"`)
	if quoted {
		if cell, err = rs.quoted(r); err != nil {
			return "", false, err
		}
	}
	end := strings.IndexAny(rs.text, string(rs.sep)+"\n")
	rest := rs.text
	if end < 0 {
		rs.text, last = "", true
	} else {
		rs.text, rest, last = rs.text[end+1:], rs.text[:end], rs.text[end] == '\n'
	}
	if last {
		rest = strings.TrimSuffix(rest, "\r")
		rs.line++
	}
	switch {
	case !quoted:
		r.stray = r.stray || strings.Contains(rest, `"`)
		return rest, last, nil
	case rest != "" && strings.Contains(cell, "\n"):
		// Quotes are paired wrongly, and rows may hide inside this cell.
		return "", false, refuseFile("problem.file-stray-quote", "line", r.line)
	}
	r.stray = r.stray || rest != ""
	return cell, last, nil
}

// quoted takes a quoted cell up to its closing quote.
func (rs *records) quoted(r *record) (string, error) {
	var b strings.Builder
	text := rs.text[1:]
	for {
		i := strings.IndexByte(text, '"')
		if i < 0 {
			return "", refuseFile("problem.file-unclosed-quote", "line", r.line)
		}
		b.WriteString(text[:i])
		if text = text[i+1:]; !strings.HasPrefix(text, `"`) {
			break
		}
		b.WriteByte('"')
		text = text[1:]
	}
	rs.text = text
	rs.line += strings.Count(b.String(), "\n")
	return b.String(), nil
}
