package store

import (
	"cmp"
	"slices"
	"strings"
	"time"

	"quietwater/model"
	"quietwater/model/merge"
)

// tell puts into words what the steps make of the rows of a book.
func (p *mergePlan) tell(recs, after *records, o Options) error {
	before, _, err := recs.live(o)
	if err != nil {
		return err
	}
	book, extras, err := after.live(o)
	if err != nil {
		return err
	}
	c := &p.coming
	added, going, who := map[string]bool{}, map[string]bool{}, after.who()
	people := map[string]*merge.Brought{}
	for _, person := range book.Persons {
		known := slices.ContainsFunc(before.Persons, func(q model.Person) bool { return who(string(q.ID)) == string(person.ID) })
		people[string(person.ID)] = &merge.Brought{Person: person, New: !known}
	}
	fresh := map[int64]bool{}
	for _, s := range p.steps {
		c.Learned += len(s.learn)
		whose, outlived := &merge.Brought{}, false
		for _, v := range s.keep {
			r, err := v.(*versionRow).decode()
			if err != nil {
				return err
			}
			fresh[sumOf(r)] = true
			outlived = outlived || r.stamps().Deleted != ""
		}
		if e, ok := s.standing().(*entryRow); ok && people[who(e.Person)] != nil {
			whose = people[who(e.Person)]
		}
		was, is := alive(s.old), alive(s.standing())
		switch {
		case s.table == sames, s.table == persons && is && !was && !isNew(people[s.key]): // or only another identity of somebody
		case s.table == settings:
			if s.new != nil && (was || is) && (was != is || content(s.old) != content(s.new)) {
				c.Settings++
			}
		case is && outlived:
			c.Kept++
		case is && !was:
			c.Added++
			whose.Added++
			added[s.key] = s.table == entries
		case was && !is:
			c.Deleted++
			whose.Deleted++
			going[s.key] = s.table == entries
		case was && s.new != nil && content(s.old) != content(s.new):
			c.Changed++
			whose.Changed++
		}
	}
	for _, b := range people {
		if b.New || b.Added+b.Changed+b.Deleted > 0 {
			c.People = append(c.People, *b)
		}
	}
	slices.SortFunc(c.People, func(a, b merge.Brought) int {
		return cmp.Or(cmp.Compare(a.Person.Name, b.Person.Name), cmp.Compare(a.Person.ID, b.Person.ID))
	})
	c.Entries, c.Going = newestOf(book.Entries, added), newestOf(before.Entries, going)
	c.Twofold = extras.Twofold
	for i, t := range c.Twofold {
		c.Twofold[i].New = slices.ContainsFunc(t.Forms, func(f merge.Form) bool { return fresh[f.Sum] })
	}
	c.Alike = after.alike(book, o.Now())
	return nil
}

// newestOf are the entries with those identities, newest first.
func newestOf(entries []model.Entry, ids map[string]bool) (out []model.Entry) {
	for _, e := range slices.Backward(entries) {
		if ids[string(e.ID)] {
			out = append(out, e)
		}
	}
	return out
}

func isNew(b *merge.Brought) bool { return b != nil && b.New }

func alive(r row) bool { return r != nil && r.stamps().Deleted == "" }

// content is the checksum of what a row says, whenever it was written.
func content(r row) int64 {
	c := copyOf(r)
	*c.stamps() = stamp{}
	return sumOf(c)
}

// after are the rows as the steps leave them.
func (r *records) after(steps []mergeStep) *records {
	changed, drop := map[ref]row{}, map[string]bool{}
	out := &records{}
	for _, s := range steps {
		if s.new != nil {
			changed[s.ref] = s.new
			out.add(s.new)
		}
		for _, v := range s.keep {
			out.add(v)
		}
		for _, v := range s.drop {
			drop[v.key()] = true
		}
	}
	r.each(func(x row) {
		if _, again := changed[ref{x.table(), x.key()}]; !again && (x.table() != versions || !drop[x.key()]) {
			out.add(x)
		}
	})
	return out
}

// alike are the persons whose name is the same and whose birth dates do not
// differ. Nobody but the household knows whether they are one.
func (r *records) alike(b model.Book, now time.Time) (out []merge.Alike) {
	rows := map[string]*personRow{}
	for _, p := range r.persons {
		rows[p.ID] = p
	}
	birth := func(p model.Person) model.When { return model.FactsAt(b.Entries, p.ID, now).Birth }
	for i, p := range b.Persons {
		for _, q := range b.Persons[i+1:] {
			if !sameName(p.Name, q.Name) {
				continue
			}
			first, second := p, q
			if earlier, _ := inOrder(rows[string(p.ID)], rows[string(q.ID)]); earlier.ID == string(q.ID) {
				first, second = q, p
			}
			a := merge.Alike{First: first, Second: second, FirstBirth: birth(first), SecondBirth: birth(second)}
			if a.FirstBirth.IsZero() || a.SecondBirth.IsZero() || a.FirstBirth.Compare(a.SecondBirth) == 0 {
				out = append(out, a)
			}
		}
	}
	return out
}

func sameName(a, b string) bool { return strings.EqualFold(strings.TrimSpace(a), strings.TrimSpace(b)) }

// twofold lists what stands in more than one form. Two that say the same, and
// were only written at different times, are one.
func (r *records) twofold(zone *time.Location, gone func(string) bool, who func(string) string) (out []merge.Twofold) {
	if len(r.versions) == 0 {
		return nil
	}
	open := map[ref][]row{}
	for _, v := range r.versions {
		if x, err := v.decode(); err == nil {
			at := ref{x.table(), x.key()}
			open[at] = append(open[at], x)
		}
	}
	r.each(func(x row) {
		others := open[ref{x.table(), x.key()}]
		if len(others) == 0 || !alive(x) || x.table() == sames || gone(x.owner()) {
			return
		}
		seen := map[int64]bool{content(x): true}
		t := merge.Twofold{What: merge.What(x.table().name), Key: x.key(), Forms: []merge.Form{formOf(x, zone, who)}}
		slices.SortFunc(others, func(a, b row) int {
			return cmp.Or(cmp.Compare(b.stamps().Changed, a.stamps().Changed), cmp.Compare(sumOf(b), sumOf(a)))
		})
		for _, o := range others {
			if c := content(o); alive(o) && !seen[c] {
				seen[c] = true
				t.Forms = append(t.Forms, formOf(o, zone, who))
			}
		}
		if len(t.Forms) > 1 {
			out = append(out, t)
		}
	})
	slices.SortFunc(out, func(a, b merge.Twofold) int { return cmp.Or(cmp.Compare(a.What, b.What), cmp.Compare(a.Key, b.Key)) })
	return out
}

// formOf is a row as somebody chooses it. What cannot be read any more shows
// as nothing.
func formOf(r row, zone *time.Location, who func(string) string) merge.Form {
	f := merge.Form{Sum: sumOf(r)}
	f.Changed, _ = time.Parse(stampForm, r.stamps().Changed)
	switch r := r.(type) {
	case *entryRow:
		e, _ := r.model(zone, newShared())
		e.Person = model.ID(who(r.Person))
		f.Entry = &e
	case *packRow:
		p, _ := r.model(zone)
		p.Person = model.ID(who(string(r.Person)))
		f.Pack = &p
	case *personRow:
		p := r.model()
		f.Person = &p
	case *kindRow:
		f.Text = r.JSON
	case *settingRow:
		f.Text = r.Value
	}
	return f
}
