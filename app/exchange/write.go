package exchange

import (
	"bufio"
	"fmt"
	"io"
	"strings"
	"unicode/utf8"

	"quietwater/model"
)

// formula holds the characters with which a spreadsheet begins something it
// would run (OWASP ASVS 1.2.10, CWE-1236).
const formula = "=+-@\t\r"

// WriteTable writes rows as a plain table: UTF-8 without a byte-order mark,
// commas, CR LF after every record (RFC 4180). Cells a spreadsheet would run
// get an apostrophe, which [ReadTable] takes away. It writes nothing that
// ReadTable would refuse as text: a NUL or invalid UTF-8 is an error.
func WriteTable(w io.Writer, rows []model.Row) error {
	b := bufio.NewWriter(w)
	writeRecord(b, Columns())
	for i, r := range rows {
		cells := []string{r.Person, r.When, r.Kind, r.What, r.Value, r.Unit, r.Note}
		for j, c := range cells {
			if strings.ContainsRune(c, 0) || !utf8.ValidString(c) {
				return fmt.Errorf("row %d, %s: a NUL or invalid UTF-8 cannot stand in the table", i+1, Columns()[j])
			}
			cells[j] = guard(c)
		}
		writeRecord(b, cells)
	}
	if err := b.Flush(); err != nil {
		return fmt.Errorf("writing the table: %w", err)
	}
	return nil
}

// writeRecord leaves errors to the writer's Flush. encoding/csv would not do:
// it changes line ends inside cells when it writes CR LF.
func writeRecord(b *bufio.Writer, cells []string) {
	for i, c := range cells {
		if i > 0 {
			b.WriteByte(',')
		}
		if strings.ContainsAny(c, ",;\"\r\n") {
			c = `"` + strings.ReplaceAll(c, `"`, `""`) + `"`
		}
		b.WriteString(c)
	}
	b.WriteString("\r\n")
}

// guard puts an apostrophe before what a spreadsheet would run, and before an
// apostrophe, so that unguard gives the text back. A plain negative number is
// left a number.
func guard(cell string) string {
	if cell == "" || !strings.Contains("'"+formula, cell[:1]) {
		return cell
	}
	if _, number := model.ParseNumber(cell); number {
		return cell
	}
	return "'" + cell
}

// unguard takes one apostrophe away before a character that guard guards.
func unguard(cell string) string {
	if len(cell) > 1 && cell[0] == '\'' && strings.Contains("'"+formula, cell[1:2]) {
		return cell[1:]
	}
	return cell
}
