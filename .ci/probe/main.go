// Command probe answers questions about the window of a running program for
// the scripts that act as a person would. The program, started with QW_PROBE
// naming a file, appends a block of JSON lines to that file after each redraw:
//
//	{"frame":7,"screen":"today"}
//	{"screen":"today","id":"start-test","text":"Start a strip test","x":20,"y":90,"w":300,"h":56}
//	{"screen":"today","text":"Nothing recorded yet","x":20,"y":160,"w":300,"h":20,"label":true}
//
// Only the newest block counts. x, y, w and h are pixels from the upper left
// corner of the window. "label" marks what cannot be tapped; "disabled" what
// cannot be tapped now; "hidden" what is there but scrolled or covered away.
//
// Usage:
//
//	probe list FILE              all things of the newest block, for people
//	probe frame FILE             its number and screen
//	probe find FILE WHAT [NTH]   the tappable named WHAT: x y w h state id text
//	probe see FILE WHAT          the same among labels too
//
// WHAT is an id or a text. A whole id wins over a whole text, a whole text over
// the beginning of one, that over any part of one; upper and lower case do not
// matter. When several things are equally good, NTH (from 1) must choose.
// Exit: 0 found, 1 not there, 2 several and no NTH, 3 no block or wrong usage.
package main

import (
	"bufio"
	"bytes"
	"encoding/json"
	"fmt"
	"io"
	"os"
	"strconv"
	"strings"
)

type thing struct {
	Frame    *int    `json:"frame"` // set only in the line that begins a block
	Screen   string  `json:"screen"`
	Focus    string  `json:"focus"` // of a block: what has the keyboard
	ID       string  `json:"id"`
	Text     string  `json:"text"`
	X        float64 `json:"x"`
	Y        float64 `json:"y"`
	W        float64 `json:"w"`
	H        float64 `json:"h"`
	Label    bool    `json:"label"`
	Disabled bool    `json:"disabled"`
	Hidden   bool    `json:"hidden"`
}

func (t thing) state() string {
	switch {
	case t.Disabled:
		return "disabled"
	case t.Hidden:
		return "hidden"
	case t.Label:
		return "label"
	}
	return "ready"
}

func (t thing) line() string {
	one := strings.Join(strings.Fields(t.Text), " ")
	id := t.ID
	if id == "" {
		id = "-"
	}
	return fmt.Sprintf("%.0f %.0f %.0f %.0f %s %s %s", t.X, t.Y, t.W, t.H, t.state(), id, one)
}

func main() {
	if len(os.Args) < 3 {
		quit(3, "usage: probe list|frame|focus|find|see FILE [WHAT [NTH]]")
	}
	head, things, err := newest(os.Args[2])
	if err != nil {
		quit(3, "probe: %v", err)
	}
	switch verb := os.Args[1]; verb {
	case "frame":
		fmt.Println(*head.Frame, head.Screen)
	case "focus":
		fmt.Println(head.Focus)
	case "list":
		fmt.Printf("frame %d, screen %s\n", *head.Frame, head.Screen)
		for _, t := range things {
			fmt.Println(t.line())
		}
	case "find", "see":
		if len(os.Args) < 4 || strings.TrimSpace(os.Args[3]) == "" {
			quit(3, "probe %s: say what", verb)
		}
		hits := match(things, os.Args[3], verb == "see")
		if len(hits) == 0 {
			os.Exit(1)
		}
		nth := 1
		if len(os.Args) > 4 {
			nth, err = strconv.Atoi(os.Args[4])
			if err != nil || nth < 1 {
				quit(3, "probe: NTH must be 1 or more, not %q", os.Args[4])
			}
			if nth > len(hits) {
				os.Exit(1)
			}
		} else if verb == "find" && len(hits) > 1 {
			for _, t := range hits {
				fmt.Fprintln(os.Stderr, t.line())
			}
			quit(2, "probe: %d things answer to %q", len(hits), os.Args[3])
		}
		fmt.Println(hits[nth-1].line())
	default:
		quit(3, "probe: no such verb: %s", verb)
	}
}

func quit(code int, format string, args ...any) {
	fmt.Fprintf(os.Stderr, format+"\n", args...)
	os.Exit(code)
}

// newest returns the last block of the file. A last line without its newline
// is still being written and is left out.
func newest(name string) (head thing, things []thing, err error) {
	data, err := tail(name)
	if err != nil {
		return head, nil, err
	}
	if end := bytes.LastIndexByte(data, '\n'); end >= 0 {
		data = data[:end]
	} else {
		data = nil
	}
	lines := bufio.NewScanner(bytes.NewReader(data))
	lines.Buffer(nil, len(data)+1)
	for lines.Scan() {
		var t thing
		if err := json.Unmarshal(lines.Bytes(), &t); err != nil {
			if head.Frame == nil {
				continue // the cut first line of a long file
			}
			return head, nil, fmt.Errorf("%s: %v in %s", name, err, lines.Text())
		}
		switch {
		case t.Frame != nil:
			head, things = t, nil
		case head.Frame != nil:
			things = append(things, t)
		}
	}
	if head.Frame == nil {
		return head, nil, fmt.Errorf("%s: no block in it yet", name)
	}
	return head, things, lines.Err()
}

// tail reads the end of a file: a block is far below 2 MB, a long walk is not.
func tail(name string) ([]byte, error) {
	f, err := os.Open(name)
	if err != nil {
		return nil, err
	}
	defer f.Close()
	const most = 2 << 20
	if info, err := f.Stat(); err == nil && info.Size() > most {
		if _, err := f.Seek(-most, io.SeekEnd); err != nil {
			return nil, err
		}
	}
	return io.ReadAll(f)
}

func match(things []thing, what string, labels bool) []thing {
	fold := func(s string) string { return strings.ToLower(strings.Join(strings.Fields(s), " ")) }
	want := fold(what)
	grades := []func(thing) bool{
		func(t thing) bool { return strings.EqualFold(t.ID, what) },
		func(t thing) bool { return fold(t.Text) == want },
		func(t thing) bool { return strings.HasPrefix(fold(t.Text), want) },
		func(t thing) bool { return strings.Contains(fold(t.Text), want) },
	}
	for _, good := range grades {
		var hits []thing
		for _, t := range things {
			if (labels || !t.Label) && good(t) {
				hits = append(hits, t)
			}
		}
		if len(hits) > 0 {
			return hits
		}
	}
	return nil
}
