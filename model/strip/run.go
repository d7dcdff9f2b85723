package strip

import (
	"cmp"
	"fmt"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"time"

	"quietwater/model"
)

// Times of the guided test, in seconds. The photo moment is common practice;
// ten seconds ahead is needs R24.
const (
	PhotoAtS = 60
	AheadS   = 10
)

// Largest disagreement between the two clocks (needs R23 allows an error of
// 1 s), and largest delay of an announcement, that a run survives. Beyond it
// the computer slept or somebody set its clock, and no reading time is known
// any more.
const (
	maxDrift = time.Second
	maxDelay = 5 * time.Second
)

// Tick is one look at both clocks: a monotonic one that counts from anywhere,
// and the one on the wall.
type Tick struct {
	Mono time.Duration
	Wall time.Time
}

// Moment is something to say during a run: pads to be read at once, or ten
// seconds ahead of it, or the moment for the photograph.
type Moment struct {
	AtS   int
	Pads  []model.Code // in chart order
	Ahead bool
	Photo bool
}

func (m Moment) at() time.Duration { return time.Duration(m.AtS) * time.Second }

// Plan lists the moments of a kind of strip in time order. A kind without
// read times gets only the photo moment.
func Plan(k Kind) []Moment {
	due := map[int][]model.Code{}
	for _, r := range k.Chart.Rows {
		if r.ReadS > 0 {
			due[r.ReadS] = append(due[r.ReadS], r.Pad)
		}
	}
	if _, read := due[PhotoAtS]; !read {
		due[PhotoAtS] = nil
	}
	var out []Moment
	for at, pads := range due {
		if ahead := at - AheadS; ahead > 0 {
			out = append(out, Moment{AtS: ahead, Pads: pads, Ahead: true, Photo: at == PhotoAtS})
		}
		out = append(out, Moment{AtS: at, Pads: pads, Photo: at == PhotoAtS})
	}
	slices.SortFunc(out, func(a, b Moment) int {
		if a.AtS != b.AtS {
			return cmp.Compare(a.AtS, b.AtS)
		}
		if a.Ahead == b.Ahead {
			return 0
		}
		if b.Ahead { // what must be read now is said before what comes next
			return -1
		}
		return 1
	})
	return out
}

// Run is one guided timing, from the dip to the last pad.
type Run struct {
	plan   []Moment
	dip    Tick
	next   int
	broken bool
}

// NewRun starts the clock at the moment of dipping.
func NewRun(k Kind, dip Tick) *Run { return &Run{plan: Plan(k), dip: dip} }

// Status is what the screen shows at one tick.
type Status struct {
	Elapsed time.Duration
	Fired   []Moment // passed since the last tick, in order
	Next    Moment   // the next thing to read; zero when Done or Broken
	Left    time.Duration
	Done    bool
	Broken  bool // the clocks disagree or the computer slept: nothing was timed
}

// Advance moves the run on to t. Once broken, a run stays broken; once done,
// nothing that happens to the clocks undoes it.
func (r *Run) Advance(t Tick) Status {
	mono := t.Mono - r.dip.Mono
	// Round drops the monotonic reading, by which Sub would else count.
	wall := t.Wall.Round(0).Sub(r.dip.Wall.Round(0))
	s := Status{Elapsed: max(0, mono)}
	if r.next < len(r.plan) && (wall-mono).Abs() > maxDrift {
		r.broken = true
	}
	for !r.broken && r.next < len(r.plan) {
		m := r.plan[r.next]
		late := mono - m.at()
		if late < 0 {
			break
		}
		if !m.Ahead && late > maxDelay {
			r.broken = true
			break
		}
		s.Fired = append(s.Fired, m)
		r.next++
	}
	if s.Broken = r.broken; s.Broken {
		return s
	}
	for _, m := range r.plan[r.next:] {
		if !m.Ahead {
			s.Next, s.Left = m, m.at()-mono
			return s
		}
	}
	s.Done = true
	return s
}

// Draft is a guided test as far as it has come. It is kept when the person
// leaves or the computer stops, and has no time limit (needs R21, R27).
type Draft struct {
	Person    model.ID
	Pack      model.ID
	StripKind string
	Insisted  bool // a stale pack, used all the same
	Answers   map[model.Code]string
	Dipped    time.Time                  // zero before the dip
	Timed     bool                       // every pad was announced at its time
	How       model.Origin               // how the pads were read; ByHand until asked
	Seconds   int                        // after the dip, for a photo or a late reading
	Values    map[model.Code]model.Value // of pads, and their own reading times
	Blocks    map[model.Code]int         // which block was picked, by its place on the chart
	Proposals map[model.Code]Proposal    // what a photograph was read as
	Step      int                        // the screen's own step, to come back to
}

// Proposal is what a photograph was read as at one pad.
type Proposal struct {
	Block      int    // of its row, from 0
	Printed    string // beside that block
	Confidence float64
}

// note keeps a proposal with a value that differs from it, in no language.
func (p Proposal) note() string { return fmt.Sprintf("photo|%.2f|%s", p.Confidence, p.Printed) }

// earlierNote is how proposals were kept before, in English.
var earlierNote = regexp.MustCompile(`^photo: (.+), confidence ([01]\.[0-9]{2})$`)

// ProposalIn reads a proposal back from a value's note: what was printed beside
// the block, and the confidence. ok is false for any other note.
func ProposalIn(note string) (p Proposal, ok bool) {
	var confidence string
	if m := earlierNote.FindStringSubmatch(note); m != nil {
		p.Printed, confidence = m[1], m[2]
	} else if parts := strings.SplitN(note, "|", 3); len(parts) == 3 && parts[0] == "photo" {
		p.Printed, confidence = parts[2], parts[1]
	}
	p.Block = -1
	var err error
	p.Confidence, err = strconv.ParseFloat(confidence, 64)
	return p, err == nil && p.Printed != ""
}

// Entry makes the strip entry of a draft. Pads nobody looked at are left out;
// "could not tell" is kept as it is.
func (d Draft) Entry(id model.ID, author string) model.Entry {
	e := model.Entry{ID: id, Person: d.Person, Kind: model.Strip, When: model.At(d.Dipped),
		Author: author, Pack: d.Pack, Origin: d.How}
	for _, it := range model.ItemsOf(model.Strip) {
		if pad, timed := model.TimedPad(it.Code); timed {
			if _, read := d.Values[pad]; !read {
				continue // a time without a reading
			}
		}
		if v, ok := d.Values[it.Code]; ok {
			v.Code = it.Code
			// What was chosen against the picture is kept with both.
			if p, read := d.Proposals[it.Code]; read && v.Confidence == 0 && p.Block != d.Blocks[it.Code] {
				v.Note = p.note()
			}
			e.Values = append(e.Values, v)
		}
		if a := d.Answers[it.Code]; a != "" {
			e.Values = append(e.Values, model.Value{Code: it.Code, Word: a})
		}
		if it.Code == model.AfterDip && d.How != model.ReadAtTone && d.Seconds > 0 {
			e.Values = append(e.Values, model.Value{Code: it.Code, Number: float64(d.Seconds), Unit: "s"})
		}
	}
	return e
}
