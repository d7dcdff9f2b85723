package household

import (
	_ "embed"
	"encoding/csv"
	"fmt"
	"strconv"
	"strings"
	"time"

	"quietwater/model"
)

// demoText is the invented household: plain-table rows whose time is a number
// of days before today and a time of day ("-3 07:40"), or the days alone.
//
//go:embed demo.txt
var demoText string

// Demo is an invented household as it would look at the time now. It is made
// of nothing but now, so that two runs show the same.
func Demo(now time.Time) Records {
	n := 0
	reader := model.Reader{Zone: now.Location(), NewID: func() model.ID {
		n++
		return model.ID(fmt.Sprintf("%032x", n))
	}}
	book, refused := reader.Read(demoRows(now))
	if len(refused) > 0 {
		panic(fmt.Sprintf("demo row %d: %s", refused[0].Row, refused[0].Why.Key)) // our own text: a test would have said so
	}
	return Records{Book: book, Settings: map[string]string{SetWelcomed: "yes"}}
}

func demoRows(now time.Time) []model.Row {
	r := csv.NewReader(strings.NewReader(demoText))
	r.Comment = '#'
	r.FieldsPerRecord = -1
	r.TrimLeadingSpace = true
	lines, err := r.ReadAll()
	if err != nil {
		panic(err) // our own text
	}
	var rows []model.Row
	for i, cells := range lines {
		cells = append(cells, "", "", "")
		row := model.Row{Number: i + 1, Person: cells[0], When: demoTime(cells[1], now), Kind: cells[2], What: cells[3],
			Value: cells[4], Unit: cells[5], Note: cells[6]}
		if it, ok := model.ItemFor(model.Kind(row.Kind), model.Code(row.What)); ok && it.Takes == model.Day || ok && it.Takes == model.DayOrMonth {
			if !strings.Contains(strings.TrimPrefix(row.Value, "-"), "-") {
				row.Value = demoTime(row.Value, now)
			}
		}
		rows = append(rows, row)
	}
	return rows
}

// demoTime turns "-3 07:40" into the local time three days ago at 07:40, and
// "-3" into that day. A time that would lie ahead is taken an hour before now.
func demoTime(s string, now time.Time) string {
	if s == "" {
		return ""
	}
	days, clock, timed := strings.Cut(s, " ")
	n, err := strconv.Atoi(days)
	if err != nil {
		return s
	}
	day := now.AddDate(0, 0, n)
	if !timed {
		return day.Format("2006-01-02")
	}
	when, err := time.ParseInLocation("2006-01-02 15:04", day.Format("2006-01-02")+" "+clock, now.Location())
	if err != nil {
		panic(err) // our own text
	}
	if when.After(now) {
		when = now.Add(-time.Hour)
	}
	return when.Format(time.RFC3339)
}
