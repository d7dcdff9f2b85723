package cli

import (
	"context"
	"fmt"
	"slices"
	"time"

	"quietwater/app/exchange"
	"quietwater/i18n"
	"quietwater/model"
	"quietwater/model/finding"
	"quietwater/model/strip"
)

type foundJSON struct {
	ID       string         `json:"id"`
	Person   string         `json:"person"`
	Urgency  string         `json:"urgency"`
	Within   *string        `json:"within"`
	Due      *spanJSON      `json:"due"`
	Title    string         `json:"title"`
	Why      string         `json:"why"`
	Do       string         `json:"do"`
	Change   string         `json:"change"`
	Sources  []sourceJSON   `json:"sources"`
	Evidence []evidenceJSON `json:"evidence"`
	About    []string       `json:"about"`
}

type spanJSON struct {
	From string `json:"from"`
	To   string `json:"to"`
}

type sourceJSON struct {
	ID       string `json:"id"`
	Citation string `json:"citation"`
}

type evidenceJSON struct {
	When  string `json:"when"`
	Kind  string `json:"kind"`
	What  string `json:"what"`
	Value string `json:"value"`
	Unit  string `json:"unit"`
}

func findings(_ context.Context, w World, args []string) int {
	c := newCommand(w, "findings", "findings --table FILE.csv [--person NAME] [--at TIME] [--lang TAG]")
	table := c.String("table", "", "the plain table (CSV) to judge, a `FILE`")
	person := c.String("person", "", "only what is about `NAME`; without it everybody")
	at := c.String("at", "", "judge as of `TIME` and ignore later rows; without it now")
	lang := c.String("lang", "", "language `TAG` of the texts, as es; of es,en the first")
	if code, done := c.parse(args); done {
		return code
	}
	if *table == "" {
		return c.wrong("--table is missing")
	}
	words, err := c.words(*lang)
	if err != nil {
		return c.wrong("--lang: %v", err)
	}
	now, err := c.moment(*at)
	if err != nil {
		return c.wrong("--at: %v", err)
	}
	got, code, ok := c.readTable(*table, words, now)
	if !ok {
		return code
	}
	people := got.Book.Persons
	if *person != "" {
		people = slices.DeleteFunc(slices.Clone(people), func(p model.Person) bool { return p.Name != *person })
		if len(people) == 0 {
			return c.refuse("no row that could be read is about %q", *person)
		}
	}
	return max(code, c.print(judge(words, got.Book, people, now)))
}

// readTable reads a plain table to judge it at now, and names the rows it
// refuses, which make the code Refused. ok is false where there is nothing to
// judge.
func (c *command) readTable(path string, words *i18n.Pair, now time.Time) (got exchange.Result, code int, ok bool) {
	f, code := c.open(path)
	if f == nil {
		return got, code, false
	}
	defer f.Close()
	got = exchange.Import(f, model.Book{}, now.Location(), time.Time{}, c.newID, knownRule)
	if got.FileRefused != nil {
		return got, c.refuse("%s", words.T(*got.FileRefused)), false
	}
	for _, r := range refusals(words, got.Refused) {
		fmt.Fprintln(c.w.Stderr, r)
		code = Refused
	}
	return got, code, true
}

func knownRule(id string) bool {
	_, ok := finding.FindRule(id)
	return ok
}

// judge runs the rules for people and lists all open findings, most urgent
// first whoever they belong to.
func judge(words *i18n.Pair, book model.Book, people []model.Person, now time.Time) []foundJSON {
	in := finding.Input{Book: book, Kinds: strip.Generic(), Now: now}
	var all []finding.Finding
	names := map[model.ID]string{}
	for _, p := range people {
		names[p.ID] = p.Name
		all = append(all, finding.Run(in, p).Open...)
	}
	slices.SortStableFunc(all, func(a, b finding.Finding) int { return int(b.Urgency) - int(a.Urgency) })
	out := make([]foundJSON, 0, len(all))
	for _, f := range all {
		out = append(out, found(words, f, names[f.Person]))
	}
	return out
}

func found(words *i18n.Pair, f finding.Finding, name string) foundJSON {
	j := foundJSON{ID: f.Rule, Person: name, Urgency: f.Urgency.String(), Title: words.T(f.Title), Why: words.T(f.Why),
		Do: words.T(f.Do), Change: words.T(f.Change), About: f.About, Sources: []sourceJSON{}, Evidence: []evidenceJSON{}}
	if within := f.Within(); within != "" {
		j.Within = &within
	}
	if f.Due != nil {
		j.Due = &spanJSON{f.Due.From.Format(time.RFC3339), f.Due.To.Format(time.RFC3339)}
	}
	for _, id := range f.Sources {
		s, _ := model.FindSource(id)
		j.Sources = append(j.Sources, sourceJSON{string(id), s.Citation})
	}
	for _, e := range f.Evidence {
		v := evidenceJSON{e.When.String(), string(e.Kind), string(e.Value.Code), e.Value.Text(), ""}
		if e.Value.IsNumber() {
			v.Unit = e.Value.Unit
		}
		j.Evidence = append(j.Evidence, v)
	}
	return j
}
