package strip

import (
	"encoding/json"
	"fmt"
	"reflect"
	"slices"
	"strings"
	"testing"
	"time"

	"quietwater/model"
)

func (m Moment) words() string {
	s := fmt.Sprint(m.AtS)
	if m.Ahead {
		s += " soon"
	}
	for _, p := range m.Pads {
		s += " " + string(p)
	}
	if m.Photo {
		s += " photo"
	}
	return s
}

var plans = map[string][]string{
	"ten-pads": {
		"20 soon bilirubin glucose",
		"30 bilirubin glucose",
		"30 soon ketones",
		"35 soon specific-gravity",
		"40 ketones",
		"45 specific-gravity",
		"50 soon nitrite urobilinogen protein ph blood photo",
		"60 nitrite urobilinogen protein ph blood photo",
		"110 soon leukocytes",
		"120 leukocytes",
	},
	"protein-gravity-creatinine": {
		"35 soon specific-gravity",
		"45 specific-gravity",
		"50 soon protein creatinine photo",
		"60 protein creatinine photo",
	},
	"albumin-creatinine": {
		"50 soon albumin creatinine photo",
		"60 albumin creatinine photo",
	},
}

// TestPlan: each pad is announced 10 s ahead and again at its time (needs
// R24), the photograph at 60 s (common practice).
func TestPlan(t *testing.T) {
	for _, k := range Generic() {
		var got []string
		for _, m := range Plan(k) {
			got = append(got, m.words())
		}
		if !slices.Equal(got, plans[k.ID]) {
			t.Errorf("%s:\n%s\nwant:\n%s", k.ID, strings.Join(got, "\n"), strings.Join(plans[k.ID], "\n"))
		}
		checkPlan(t, k)
	}
	bare, _ := layout(t, "A")
	if p := Plan(bare); len(p) != 2 || p[0].words() != "50 soon photo" || p[1].words() != "60 photo" {
		t.Errorf("a kind without times is planned as %v", p)
	}
}

// checkPlan: moments in time order, every timed pad once ahead (where ten
// seconds are left) and once at its time, one photograph.
func checkPlan(t *testing.T, k Kind) {
	plan := Plan(k)
	said := map[string]int{}
	for i, m := range plan {
		if i > 0 && (m.AtS < plan[i-1].AtS || m.AtS == plan[i-1].AtS && plan[i-1].Ahead) {
			t.Fatalf("%s: %q after %q", k.ID, m.words(), plan[i-1].words())
		}
		for _, p := range m.Pads {
			said[fmt.Sprint(p, " ", m.AtS, " ", m.Ahead)]++
		}
		if m.Photo {
			said[fmt.Sprint("photo", " ", m.AtS, " ", m.Ahead)]++
		}
	}
	want := map[string]int{"photo 50 true": 1, "photo 60 false": 1}
	for _, r := range k.Chart.Rows {
		if r.ReadS > 0 {
			want[fmt.Sprint(r.Pad, " ", r.ReadS, " ", false)] = 1
		}
		if r.ReadS > AheadS {
			want[fmt.Sprint(r.Pad, " ", r.ReadS-AheadS, " ", true)] = 1
		}
	}
	if !reflect.DeepEqual(said, want) {
		t.Fatalf("%s announces %v, want %v", k.ID, said, want)
	}
}

// machine is a computer with a true time and two clocks that may go wrong.
type machine struct {
	now        time.Duration // true time since the dip
	asleep     time.Duration // how much of it the monotonic clock missed
	set        time.Duration // how much the wall clock was set on
	wall, mono time.Duration // where the clocks stood at the dip
	zone       *time.Location
}

var dipped = time.Date(2027, 1, 20, 8, 0, 0, 0, time.UTC)

func (m *machine) tick() Tick {
	zone := m.zone
	if zone == nil {
		zone = time.UTC
	}
	return Tick{Mono: m.mono + m.now - m.asleep, Wall: dipped.Add(m.wall + m.now + m.set).In(zone)}
}

// said is one announcement and the true time of it.
type said struct {
	Moment
	at time.Duration
}

// drive runs a kind for total with ticks every step; change may disturb the
// machine before each tick. It returns what was announced and the last status.
func drive(k Kind, m *machine, step, total time.Duration, change func(m *machine)) ([]said, Status) {
	r := NewRun(k, m.tick())
	var all []said
	var last Status
	for m.now < total {
		m.now += step
		if change != nil {
			change(m)
		}
		last = r.Advance(m.tick())
		for _, f := range last.Fired {
			all = append(all, said{f, m.now})
		}
	}
	return all, last
}

// once returns a change that happens at true time at.
func once(at time.Duration, do func(m *machine)) func(m *machine) {
	done := false
	return func(m *machine) {
		if !done && m.now >= at {
			done = true
			do(m)
		}
	}
}

func words(all []said) []string {
	var out []string
	for _, s := range all {
		out = append(out, s.words())
	}
	return out
}

// TestRunAnnouncesThePlan for ticks from 0.05 to 0.9 s, on a machine that has
// been up for long, in the night the clocks change: every moment, in order,
// within one tick.
func TestRunAnnouncesThePlan(t *testing.T) {
	berlin := zone(t, "Europe/Berlin")
	// One minute before the clocks go back, and forward, in Berlin.
	back := time.Date(2027, 10, 31, 0, 59, 0, 0, time.UTC).Sub(dipped)
	forward := time.Date(2027, 3, 28, 0, 59, 0, 0, time.UTC).Sub(dipped)
	for _, k := range Generic() {
		for _, step := range []time.Duration{50 * time.Millisecond, 333 * time.Millisecond, 900 * time.Millisecond} {
			for _, m := range []machine{{}, {mono: 900 * time.Hour}, {zone: berlin, wall: back}, {zone: berlin, wall: forward}} {
				all, last := drive(k, &m, step, 125*time.Second, nil)
				if got := words(all); !slices.Equal(got, plans[k.ID]) || !last.Done || last.Broken {
					t.Errorf("%s, tick %s: said %q, done %v, broken %v", k.ID, step, got, last.Done, last.Broken)
				}
				for _, s := range all {
					if late := s.at - s.Moment.at(); late < 0 || late >= step {
						t.Errorf("%s, tick %s: %q came %s late", k.ID, step, s.words(), late)
					}
				}
			}
		}
	}
}

// TestClocks: each disturbance breaks the run for good, or leaves it whole.
func TestClocks(t *testing.T) {
	set := func(d time.Duration) func(*machine) {
		return once(37*time.Second, func(m *machine) { m.set += d })
	}
	sleep := func(d time.Duration) func(*machine) {
		return once(37*time.Second, func(m *machine) { m.now += d; m.asleep += d })
	}
	stall := func(at, d time.Duration) func(*machine) {
		return once(at, func(m *machine) { m.now += d })
	}
	for _, c := range []struct {
		name   string
		change func(m *machine)
		broken bool
	}{
		{"nothing", nil, false},
		{"wall clock an hour on", set(time.Hour), true},
		{"wall clock an hour back", set(-time.Hour), true},
		{"wall clock 1.1 s on", set(1100 * time.Millisecond), true},
		{"wall clock 1.1 s back", set(-1100 * time.Millisecond), true},
		{"wall clock put right by half a second", set(500 * time.Millisecond), false},
		{"suspended for an hour", sleep(time.Hour), true},
		{"suspended for 2 s", sleep(2 * time.Second), true},
		{"suspended for 0.4 s", sleep(400 * time.Millisecond), false},
		{"set on and back again", func(m *machine) {
			if m.set = 0; m.now > 37*time.Second && m.now < 38*time.Second {
				m.set = time.Hour
			}
		}, true},
		{"monotonic clock restarts", once(37*time.Second, func(m *machine) { m.asleep += 900 * time.Hour }), true},
		{"stalled over a tone for more than 5 s", stall(44900*time.Millisecond, 5200*time.Millisecond), true},
		{"stalled over a tone for less than 5 s", stall(44900*time.Millisecond, 4*time.Second), false},
		{"stalled for long where nothing is due", stall(61*time.Second, 45*time.Second), false},
		{"stalled from end to end", stall(time.Second, 10*time.Minute), true},
	} {
		m := machine{}
		all, last := drive(kind(t, "ten-pads"), &m, 100*time.Millisecond, 130*time.Second, c.change)
		if last.Broken != c.broken || last.Done == c.broken {
			t.Errorf("%s: broken %v, done %v", c.name, last.Broken, last.Done)
		}
		plan := plans["ten-pads"]
		if got := words(all); !slices.Equal(got, plan[:len(got)]) || !c.broken && len(got) != len(plan) {
			t.Errorf("%s: said %q", c.name, got)
		}
		if c.broken && (last.Next.AtS != 0 || last.Left != 0) {
			t.Errorf("%s: a broken run still counts down to %q", c.name, last.Next.words())
		}
	}
}

// TestTimerError: whatever share of a second the computer sleeps, a run that
// still calls itself good is at most 1 s off in 120 s (needs R23).
func TestTimerError(t *testing.T) {
	good, broken := 0, 0
	for missed := time.Duration(0); missed <= 3*time.Second; missed += 50 * time.Millisecond {
		m := machine{}
		r := NewRun(kind(t, "ten-pads"), m.tick())
		m.now, m.asleep = 25*time.Second, missed
		for m.now <= 121*time.Second {
			s := r.Advance(m.tick())
			if s.Broken {
				broken++
				break
			}
			if s.Done {
				good++
				break
			}
			if off := (m.now - s.Elapsed).Abs(); off > time.Second {
				t.Fatalf("slept %s: the timer is %s off and says nothing", missed, off)
			}
			m.now += 200 * time.Millisecond
		}
	}
	if good == 0 || broken == 0 {
		t.Errorf("%d good and %d broken runs show nothing", good, broken)
	}
}

func TestStatusCountsDown(t *testing.T) {
	m := machine{}
	r := NewRun(kind(t, "ten-pads"), m.tick())
	for _, c := range []struct {
		at   time.Duration
		next string
		left time.Duration
		done bool
	}{
		{0, "30 bilirubin glucose", 30 * time.Second, false},
		{25 * time.Second, "30 bilirubin glucose", 5 * time.Second, false},
		{30 * time.Second, "40 ketones", 10 * time.Second, false},
		{44 * time.Second, "45 specific-gravity", time.Second, false},
		{46 * time.Second, "60 nitrite urobilinogen protein ph blood photo", 14 * time.Second, false},
		{61 * time.Second, "120 leukocytes", 59 * time.Second, false},
		{120 * time.Second, "0", 0, true},
	} {
		m.now = c.at
		s := r.Advance(m.tick())
		if s.Next.words() != c.next || s.Left != c.left || s.Done != c.done || s.Broken || s.Elapsed != c.at {
			t.Errorf("at %s: next %q in %s, done %v, broken %v", c.at, s.Next.words(), s.Left, s.Done, s.Broken)
		}
	}
}

// TestDoneStaysDone: entering the readings has no time limit (needs R21), so
// nothing that happens to the clocks after the last pad spoils the test.
func TestDoneStaysDone(t *testing.T) {
	m := machine{}
	r := NewRun(kind(t, "albumin-creatinine"), m.tick())
	for m.now <= time.Minute {
		r.Advance(m.tick())
		m.now += 500 * time.Millisecond
	}
	for name, after := range map[string]machine{
		"a second later":      {now: m.now + time.Second},
		"a day later":         {now: 24 * time.Hour},
		"suspended":           {now: 9 * time.Hour, asleep: 8 * time.Hour},
		"wall clock back":     {now: m.now, set: -time.Hour},
		"a restarted clock":   {now: m.now, asleep: 900 * time.Hour},
		"the same look again": m,
	} {
		if s := r.Advance(after.tick()); !s.Done || s.Broken || s.Elapsed < 0 || len(s.Fired) > 0 || s.Next.AtS != 0 || s.Left != 0 {
			t.Errorf("%s: %+v", name, s)
		}
	}
}

func draft() Draft {
	return Draft{
		Person: "anna", Pack: "tub", StripKind: "ten-pads", Insisted: true, Step: 4,
		Dipped:  time.Date(2027, 1, 20, 7, 31, 12, 345e6, time.FixedZone("", 3600)),
		How:     model.ReadAtTone,
		Answers: map[model.Code]string{"first-morning": "yes", "cap-left-off": "unsure", "menstruating": ""},
		Values: map[model.Code]model.Value{
			"protein":          {Grade: model.Plus1},
			"glucose":          {Code: "glucose", Grade: model.Unclear, Note: "hidden by glare"},
			"specific-gravity": {Number: 1.010, Typed: "1.010", Unit: "{SG}"},
			"blood":            {Code: "blood", Grade: model.Neg, Confidence: 0.82},
		},
	}
}

func TestDraftEntry(t *testing.T) {
	at := func(how model.Origin, seconds int) Draft {
		d := draft()
		d.How, d.Seconds = how, seconds
		return d
	}
	for _, c := range []struct {
		name    string
		draft   Draft
		seconds string // "" when none are kept
	}{
		{"read at the tones", at(model.ReadAtTone, 0), ""},
		{"read at the tones, photo time left over", at(model.ReadAtTone, 62), ""},
		{"photo", at(model.FromPhoto, 62), "62"},
		{"late", at(model.ReadLater, 400), "400"},
		{"by hand, time not known", at(model.ByHand, 0), ""},
	} {
		e := c.draft.Entry("e1", "Ben")
		if e.ID != "e1" || e.Author != "Ben" || e.Person != "anna" || e.Pack != "tub" || e.Kind != model.Strip ||
			e.Origin != c.draft.How || !e.When.Time().Equal(c.draft.Dipped) {
			t.Errorf("%s: %+v", c.name, e)
		}
		var got []string
		for _, v := range e.Values {
			got = append(got, fmt.Sprint(v.Code, "=", v.Text()))
		}
		want := []string{"protein=1+", "blood=neg", "specific-gravity=1.010", "glucose=unclear"}
		if c.seconds != "" {
			want = append(want, "seconds-after-dip="+c.seconds)
		}
		want = append(want, "first-morning=yes", "cap-left-off=unsure")
		if !slices.Equal(got, want) {
			t.Errorf("%s: values %q, want %q", c.name, got, want)
		}
		if v, _ := e.Value("glucose"); v.Note != "hidden by glare" {
			t.Errorf("%s: the note of what could not be told is lost", c.name)
		}
		if ps := e.Validate(dipped.Add(time.Hour)); ps != nil {
			t.Errorf("%s: cannot be saved: %v", c.name, ps)
		}
	}
}

// TestDraftKeepsOwnTimes: a pad's own time goes into the entry with its reading,
// and not without one.
func TestDraftKeepsOwnTimes(t *testing.T) {
	d := draft()
	three := model.Value{Code: model.OwnTime(model.Protein), Number: 3, Typed: "3", Unit: "min"}
	d.Values[three.Code] = three
	d.Values[model.OwnTime(model.Nitrite)] = model.Value{Number: 90, Typed: "90", Unit: "s"}
	e := d.Entry("e1", "Ben")
	if got, ok := e.Value(three.Code); !ok || got != three {
		t.Errorf("protein's own time is %+v %v", got, ok)
	}
	if got, ok := e.Value(model.OwnTime(model.Nitrite)); ok {
		t.Errorf("a pad nobody read has the time %+v", got)
	}
	if ps := e.Validate(dipped.Add(time.Hour)); ps != nil {
		t.Errorf("cannot be saved: %v", ps)
	}
	k := kind(t, "ten-pads")
	if p, _ := Judge(e, Circumstances{Kind: &k}).Pad(model.Protein); !slices.Equal(p.Reasons, []Reason{Late}) {
		t.Errorf("judged %v", p.Reasons)
	}
}

// TestDraftKeepsForADay: a draft put away, read back and entered 24 h later
// (needs R21, R27) makes the same entry, dated at the dip.
func TestDraftKeepsForADay(t *testing.T) {
	for _, d := range []Draft{{}, {Person: "anna", Step: 1}, draft()} {
		b, err := json.Marshal(d)
		if err != nil {
			t.Fatal(err)
		}
		var back Draft
		if err := json.Unmarshal(b, &back); err != nil {
			t.Fatal(err)
		}
		if !back.Dipped.Equal(d.Dipped) {
			t.Errorf("dipped at %s came back as %s", d.Dipped, back.Dipped)
		}
		if got, want := back.Entry("e", "Ben"), d.Entry("e", "Ben"); !reflect.DeepEqual(got, want) {
			t.Errorf("entry of a draft that was put away:\n%+v\nwant\n%+v", got, want)
		}
		if ps := draft().Entry("e", "Ben").Validate(draft().Dipped.Add(24 * time.Hour)); ps != nil {
			t.Errorf("a day later it cannot be saved: %v", ps)
		}
		back.Dipped = d.Dipped // a fixed zone has no comparable identity
		if !reflect.DeepEqual(back, d) {
			t.Errorf("draft came back as\n%+v\nwas\n%+v", back, d)
		}
	}
}

// TestProposalIn: what a photograph said is read back from a note of now and of
// earlier versions, and from no other.
func TestProposalIn(t *testing.T) {
	for note, want := range map[string]Proposal{
		Proposal{Block: 4, Printed: "300", Confidence: 0.934}.note():  {-1, "300", 0.93},
		Proposal{Block: 0, Printed: "a|b, c", Confidence: 0.5}.note(): {-1, "a|b, c", 0.5},
		"photo: 300, confidence 0.93":                                 {-1, "300", 0.93},
		"photo: trace, confidence 1.00":                               {-1, "trace", 1},
		"photo: was taken too late":                                   {},
		"photo|soon|":                                                 {},
		"photo|soon|300":                                              {},
		"300":                                                         {},
		"":                                                            {},
	} {
		got, ok := ProposalIn(note)
		if known := want != (Proposal{}); ok != known || known && got != want {
			t.Errorf("%q: %+v %v, want %+v", note, got, ok, want)
		}
	}
}
