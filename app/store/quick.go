package store

import (
	"context"
	"database/sql"
	"database/sql/driver"
	"encoding/binary"
	"errors"
	"io"
	"math"
	"strings"
)

// between stands between the texts of a row, and in none of them (see fits).
const between = "\x00"

var (
	quickEntries = "SELECT n, sum, " + inOnePiece(entries.columns, new(entryRow).fields()) + " FROM entry ORDER BY n"
	quickValues  = "SELECT entry, num, confidence, " + inOnePiece(strings.Split(valueColumns, ", "), new(valueRow).fields()) + " FROM value ORDER BY entry, pos"
)

// errOdd sends to the plain way.
var errOdd = errors.New("not as this program writes it")

// inOnePiece joins the texts among the columns. One that is missing and may not
// be leaves a text too few.
func inOnePiece(columns []string, fields []any) string {
	texts := "concat_ws(char(0)"
	for i, f := range fields {
		switch f.(type) {
		case *string:
			texts += ", " + columns[i]
		case *nullable:
			texts += ", coalesce(" + columns[i] + ", '')"
		}
	}
	return texts + ")"
}

// takeApart gives each text among the fields its own.
func takeApart(piece string, fields []any) error {
	more := true
	next := func() (text string) {
		text, piece, more = strings.Cut(piece, between)
		return text
	}
	for _, f := range fields {
		switch f := f.(type) {
		case *string:
			*f = next()
		case *nullable:
			*f = nullable(next())
		}
	}
	if more {
		return errOdd
	}
	return nil
}

// eachRaw runs f for every row of a query, as the driver gives it.
func eachRaw(c *sql.Conn, query string, f func(row []driver.Value) error) error {
	return c.Raw(func(conn any) error {
		rows, err := conn.(driver.QueryerContext).QueryContext(context.Background(), query, nil)
		if err != nil {
			return err
		}
		defer rows.Close()
		row := make([]driver.Value, len(rows.Columns()))
		for {
			if err := rows.Next(row); err == io.EOF {
				return nil
			} else if err != nil {
				return err
			}
			if err := f(row); err != nil {
				return err
			}
		}
	})
}

// wholeEntries are all entries of a book; every one of their checksums holds.
type wholeEntries struct {
	rows  []entryRow
	total int64 // of the checksums
}

// readQuickly reads the entries, which are nearly all of a book. SQLite hands a
// row over by the piece, and each piece costs; so all texts of a row come as one,
// past the layer that would turn any type into any other, and values that many
// entries have are taken apart once, and shared. It gives all or nothing: nil
// where anything is not just as this program writes it, a checksum above all; then
// the plain way of [rowsIn] reads again and names it. The transaction is the
// caller's.
func readQuickly(c *sql.Conn) *wholeEntries {
	values, err := quickLists(c)
	if err != nil {
		return nil
	}
	var many int
	if err := c.QueryRowContext(context.Background(), `SELECT count(*) FROM entry`).Scan(&many); err != nil {
		return nil
	}
	all := &wholeEntries{rows: make([]entryRow, many)}
	sums := make([]int64, many)
	// While SQLite looks for the next rows, those that are there are summed up.
	const some = 256
	there, whole := make(chan int, many/some+1), make(chan bool)
	go func() {
		i, ok := 0, true
		for n := range there {
			for ; i < n; i++ {
				ok = ok && sumOf(&all.rows[i]) == sums[i]
			}
		}
		whole <- ok
	}()
	i := 0
	err = eachRaw(c, quickEntries, func(row []driver.Value) error {
		n, ok1 := row[0].(int64)
		sum, ok2 := row[1].(int64)
		piece, ok3 := row[2].(string)
		if !ok1 || !ok2 || !ok3 || i == many {
			return errOdd
		}
		if err := takeApart(piece, all.rows[i].fields()); err != nil {
			return err
		}
		all.rows[i].Values = values.of(n)
		sums[i] = sum
		all.total += sum
		if i++; i%some == 0 {
			there <- i
		}
		return nil
	})
	there <- i
	close(there)
	if !<-whole || err != nil || i < many {
		return nil
	}
	return all
}

// sharedLists are the values of each entry that has any, in the order of
// entries. Equal lists are one.
type sharedLists struct {
	entry  []int64
	values [][]valueRow
}

// of takes the values of entry n; entries must be asked for in order.
func (l *sharedLists) of(n int64) []valueRow {
	for len(l.entry) > 0 && l.entry[0] < n {
		l.entry, l.values = l.entry[1:], l.values[1:]
	}
	if len(l.entry) == 0 || l.entry[0] != n {
		return []valueRow{}
	}
	return l.values[0]
}

// numbered is a value that was not taken apart yet.
type numbered struct {
	num        float64
	isNum      bool
	confidence float64
	texts      string
}

func (v numbered) apart() (valueRow, error) {
	var r valueRow
	err := takeApart(v.texts, r.fields())
	if r.Confidence = v.confidence; v.isNum {
		r.Num = &v.num
	}
	return r, err
}

// appendKey is what tells a value from others.
func (v numbered) appendKey(key []byte) []byte {
	key = binary.BigEndian.AppendUint64(appendText(key, v.texts), math.Float64bits(v.confidence))
	if !v.isNum {
		return append(key, 0)
	}
	return binary.BigEndian.AppendUint64(append(key, 1), math.Float64bits(v.num))
}

func quickLists(c *sql.Conn) (*sharedLists, error) {
	all, known := &sharedLists{}, map[string][]valueRow{}
	var list []numbered // of the entry that is read
	var key []byte      // of all of it
	endOfEntry := func() error {
		rows, had := known[string(key)]
		for i := 0; !had && i < len(list); i++ {
			r, err := list[i].apart()
			if err != nil {
				return err
			}
			rows = append(rows, r)
		}
		known[string(key)] = rows
		all.values = append(all.values, rows)
		list, key = list[:0], key[:0]
		return nil
	}
	err := eachRaw(c, quickValues, func(row []driver.Value) error {
		n, ok1 := row[0].(int64)
		num, isNum := row[1].(float64)
		confidence, ok2 := row[2].(float64)
		texts, ok3 := row[3].(string)
		if !ok1 || !ok2 || !ok3 || !isNum && row[1] != nil {
			return errOdd
		}
		if last := len(all.entry) - 1; last < 0 || all.entry[last] != n {
			if last >= 0 {
				if err := endOfEntry(); err != nil {
					return err
				}
			}
			all.entry = append(all.entry, n)
		}
		v := numbered{num, isNum, confidence, texts}
		list, key = append(list, v), v.appendKey(key)
		return nil
	})
	if err == nil && len(list) > 0 {
		err = endOfEntry()
	}
	return all, err
}
