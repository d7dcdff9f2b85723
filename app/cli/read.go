package cli

import (
	"bufio"
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"math"
	"os"
	"path/filepath"
	"time"

	"quietwater/app/picture"
	"quietwater/i18n"
	"quietwater/model"
	"quietwater/model/photo"
	"quietwater/model/strip"
)

// readJSON is the answer to one photograph. why speaks to a person, reason is
// for scripts; left tells why a pad was not proposed.
type readJSON struct {
	File   string             `json:"file"`
	Status string             `json:"status"`
	Why    string             `json:"why,omitempty"`
	Reason string             `json:"reason,omitempty"`
	Pads   map[string]padJSON `json:"pads"`
	Left   map[string]string  `json:"left,omitempty"`
	MS     int64              `json:"ms"`
}

type padJSON struct {
	Block      int     `json:"block"`
	Value      string  `json:"value"`
	Between    *int    `json:"between,omitempty"` // the neighbour the colour leans to
	Confidence float64 `json:"confidence"`
}

// marksJSON is one line of --marks, in pixels of the upright photograph.
type marksJSON struct {
	File  string `json:"file"`
	Marks *struct {
		Corners [4][2]float64 `json:"chart_corners"`
		Ends    [2][2]float64 `json:"strip_ends"`
	} `json:"marks"`
}

func readPhotos(_ context.Context, w World, args []string) int {
	c := newCommand(w, "read", "read --strip KIND.json [--marks FILE.jsonl] [--lang TAG] PHOTO…")
	layout := c.String("strip", "", "the strip-kind `FILE` that says where blocks and pads are")
	marked := c.String("marks", "", "where chart and strip are, a photograph a line, a `FILE`")
	lang := c.String("lang", "", "language `TAG` of the reasons")
	if code, done := c.parseSome(args); done {
		return code
	}
	switch {
	case *layout == "":
		return c.wrong("--strip is missing")
	case c.NArg() == 0:
		return c.wrong("no photograph was named")
	}
	words, err := c.words(*lang)
	if err != nil {
		return c.wrong("--lang: %v", err)
	}
	f, code := c.open(*layout)
	if f == nil {
		return code
	}
	kind, err := strip.ReadLayout(f)
	f.Close()
	if err != nil {
		return c.refuse("%s: %v", *layout, err)
	}
	marks := map[string]photo.Marks{}
	if *marked != "" {
		f, code := c.open(*marked)
		if f == nil {
			return code
		}
		err := readMarks(f, marks)
		f.Close()
		if err != nil {
			return c.refuse("%s: %v", *marked, err)
		}
	}
	for _, path := range c.Args() {
		answer, err := readOne(words, &kind, marks, path, w.Now)
		if err != nil {
			code = c.noPicture(words, path, err)
			continue
		}
		if n := c.printLine(answer); n != OK {
			return n
		}
	}
	return code
}

// noPicture says why a file could not be opened as a picture.
func (c *command) noPicture(words *i18n.Pair, path string, err error) int {
	var told model.Told
	if errors.Is(err, os.ErrNotExist) || !errors.As(err, &told) {
		return c.noFile(path, err)
	}
	return c.refuse("%s: %s", path, words.T(told.Tell()))
}

func (c *command) printLine(v any) int {
	b, err := json.Marshal(v)
	if err == nil {
		_, err = fmt.Fprintf(c.w.Stdout, "%s\n", b)
	}
	if err != nil {
		return c.refuse("%v", err)
	}
	return OK
}

func readMarks(f *os.File, into map[string]photo.Marks) error {
	s := bufio.NewScanner(f)
	for n := 1; s.Scan(); n++ {
		var line marksJSON
		if len(s.Bytes()) == 0 {
			continue
		}
		if err := json.Unmarshal(s.Bytes(), &line); err != nil {
			return fmt.Errorf("line %d: %w", n, err)
		}
		if line.Marks == nil {
			continue
		}
		var m photo.Marks
		for i, p := range line.Marks.Corners {
			m.Corners[i] = photo.Point{X: p[0], Y: p[1]}
		}
		for i, p := range line.Marks.Ends {
			m.Ends[i] = photo.Point{X: p[0], Y: p[1]}
		}
		into[filepath.Base(line.File)] = m
	}
	return s.Err()
}

func readOne(words *i18n.Pair, k *strip.Kind, marks map[string]photo.Marks, path string, now func() time.Time) (readJSON, error) {
	began := now()
	file, err := picture.Open(path, began.Location())
	if err != nil {
		return readJSON{}, err
	}
	p := photo.New(file.Image, file.Turn)
	var r photo.Reading
	if m, ok := marks[filepath.Base(path)]; ok {
		r = photo.ReadMarked(p, k, m.Scaled(p.Scale))
	} else {
		r = photo.Read(p, k)
	}
	out := readJSON{File: filepath.Base(path), Status: r.Status(), Reason: string(r.Why), Pads: map[string]padJSON{}, MS: now().Sub(began).Milliseconds()}
	if r.Why != "" {
		out.Why = words.T(r.Why.Msg())
		return out, nil
	}
	for _, pad := range r.Pads {
		if pad.Block < 0 {
			if out.Left == nil {
				out.Left = map[string]string{}
			}
			out.Left[string(pad.Code)] = words.T(pad.Why.Msg())
			continue
		}
		row, _ := k.Row(pad.Code)
		one := padJSON{Block: pad.Block, Value: row.Blocks[pad.Block].Value, Confidence: math.Round(1000*pad.Confidence) / 1000}
		if pad.Next >= 0 {
			one.Between = &pad.Next
		}
		out.Pads[string(pad.Code)] = one
	}
	return out, nil
}
