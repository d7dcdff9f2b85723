package household

import (
	_ "embed"
	"encoding/csv"
	"fmt"
	"strconv"
	"strings"
	"time"

	"quietwater/model"
	"quietwater/model/strip"
)

// demoText is the invented household: plain-table rows told from today. Its
// head says how to read it.
//
//go:embed demo.txt
var demoText string

// Demo is an invented household as it would look at the time now. It is made
// of nothing but now, so that two runs show the same.
func Demo(now time.Time) Records {
	// Tests see to it that nothing is refused. Where a zone has skipped a whole
	// day a row may be; then the household is shown without it.
	book, _ := readDemo(now)
	day := now.AddDate(0, 0, -9)
	made := KeepBackup(Backup{At: day, Path: "/media/home/BLUE-STICK/quietwater-" + day.Format(time.DateOnly) + ".zip.age", Encrypted: true,
		Persons: len(book.Persons), Entries: len(book.Entries)})
	return Records{Book: book, Settings: map[string]string{SetWelcomed: "yes", SetBackup: made.Settings[SetBackup]}}
}

func readDemo(now time.Time) (model.Book, []model.Refusal) {
	n := 0
	reader := model.Reader{Zone: now.Location(), Now: now, NewID: func() model.ID {
		n++
		return model.ID(fmt.Sprintf("%032x", n))
	}}
	book, refused := reader.Read(demoRows(now))
	for i, e := range book.Entries {
		book.Entries[i].Origin = model.ByHand
		if _, untimed := e.Value("seconds-after-dip"); e.Kind == model.Strip && !untimed {
			book.Entries[i].Origin = model.ReadAtTone
		}
	}
	return book, refused
}

func demoRows(now time.Time) []model.Row {
	r := csv.NewReader(strings.NewReader(demoText))
	r.Comment = '#'
	r.FieldsPerRecord = -1
	lines, err := r.ReadAll()
	if err != nil {
		panic(err) // our own text, read by every test
	}
	kinds := strip.Generic()
	var rows []model.Row
	for i, cells := range lines {
		cells = append(cells, "", "", "")
		row := model.Row{Number: i + 1, Person: cells[0], Kind: cells[2], What: cells[3],
			Value: cells[4], Unit: cells[5], Note: cells[6]}
		for _, when := range demoTimes(cells[1], now) {
			row.When = when
			rows = append(rows, demoParts(row, kinds, now)...)
		}
	}
	return rows
}

// demoParts takes a row that names several things apart.
func demoParts(row model.Row, kinds []strip.Kind, now time.Time) []model.Row {
	if k, ok := strip.FindKind(kinds, row.What); ok && row.Kind == string(model.Strip) {
		return demoPads(row, k)
	}
	whats, values, units := strings.Fields(row.What), strings.Fields(row.Value), strings.Fields(row.Unit)
	if len(whats) == 1 {
		it, _ := model.ItemFor(model.Kind(row.Kind), model.Code(row.What))
		if days, err := strconv.Atoi(row.Value); err == nil && (it.Takes == model.Day || it.Takes == model.DayOrMonth) {
			row.Value = demoDay(days, now)
		}
		return []model.Row{row}
	}
	var rows []model.Row
	for i, what := range whats {
		row.What, row.Value = what, values[i]
		if len(units) > 0 {
			row.Unit = units[i]
		}
		rows = append(rows, row)
	}
	return rows
}

// demoPads spells a strip out that is told as its kind and the values of its
// pads, with the pack in the note.
func demoPads(row model.Row, k strip.Kind) []model.Row {
	pack := row
	pack.What, pack.Value, pack.Note = "pack", row.Note, ""
	rows := []model.Row{pack}
	for i, value := range strings.Fields(row.Value) {
		pad := pack
		pad.What, pad.Value = string(k.Chart.Rows[i].Pad), value
		if _, graded := model.ParseGrade(value); !graded {
			pad.Unit = k.Chart.Rows[i].Unit
		}
		rows = append(rows, pad)
	}
	return rows
}

// demoTimes lists the times that a when cell stands for, as the plain table
// writes them.
func demoTimes(cell string, now time.Time) []string {
	if hours, ok := strings.CutSuffix(cell, "h"); ok {
		n, _ := strconv.Atoi(hours)
		return []string{now.Truncate(time.Minute).Add(time.Duration(n) * time.Hour).Format(time.RFC3339)}
	}
	days, clock, timed := strings.Cut(cell, " ")
	span, step, _ := strings.Cut(days, "/")
	first, last, _ := strings.Cut(span, "..")
	from, err := strconv.Atoi(first)
	if err != nil {
		return []string{cell}
	}
	to, every := from, 1
	if n, err := strconv.Atoi(last); err == nil {
		to = n
	}
	if n, err := strconv.Atoi(step); err == nil {
		every = n
	}
	var out []string
	for n := from; n <= to; n += every {
		when := demoDay(n, now)
		if timed {
			when += " " + clock
		}
		out = append(out, when)
	}
	return out
}

// demoDay is the calendar day n days after today. It is counted where no clock
// is ever put forward.
func demoDay(n int, now time.Time) string {
	y, m, d := now.Date()
	return time.Date(y, m, d+n, 0, 0, 0, 0, time.UTC).Format("2006-01-02")
}
