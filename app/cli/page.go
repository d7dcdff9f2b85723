package cli

import (
	"context"
	"io"
	"slices"
	"strconv"
	"strings"

	"quietwater/app/print"
	"quietwater/i18n"
	"quietwater/model"
	"quietwater/model/finding"
	"quietwater/model/page"
	"quietwater/model/strip"
)

// doctorPage writes the page for the doctor of one person of a plain table.
func doctorPage(_ context.Context, w World, args []string) int {
	c := newCommand(w, "page", "page --table FILE --person NAME --lang es,en --out FILE")
	table := c.String("table", "", "the plain table (CSV) it is made from, a `FILE`")
	person := c.String("person", "", "whom it is about, a `NAME` in the table")
	lang := c.String("lang", "", "the doctor's language `TAG`; of es,en a second side in English")
	at := c.String("at", "", "as of `TIME`, later rows ignored; without it now")
	out := c.String("out", "", "the PDF to write, a `FILE`; one that is there is not overwritten")
	months := c.Int("months", 6, "from how many `MONTHS` back things are told")
	letter := c.Bool("letter", false, "paper of Letter size instead of A4")
	more := c.Bool("more", false, "charts and tables on sides after the first")
	var asks []string
	c.Func("ask", "a question of the person's own, a `TEXT`; at most "+strconv.Itoa(page.Asks), func(s string) error {
		asks = append(asks, s)
		return nil
	})
	if code, done := c.parse(args); done {
		return code
	}
	for _, must := range []struct{ name, value string }{{"table", *table}, {"person", *person}, {"out", *out}} {
		if must.value == "" {
			return c.wrong("--%s is missing", must.name)
		}
	}
	if *months < 1 || len(asks) > page.Asks {
		return c.wrong("--months or --ask makes no sense")
	}
	tongues, err := c.tongues(*lang)
	if err != nil {
		return c.wrong("--lang: %v", err)
	}
	now, err := c.moment(*at)
	if err != nil {
		return c.wrong("--at: %v", err)
	}
	got, code, ok := c.readTable(*table, tongues[0], now)
	if !ok {
		return code
	}
	i := slices.IndexFunc(got.Book.Persons, func(p model.Person) bool { return p.Name == *person })
	if i < 0 {
		return c.refuse("no row that could be read is about %q", *person)
	}
	d := print.Doctor{Paper: print.A4, More: *more,
		Result: finding.Run(finding.Input{Book: got.Book, Kinds: strip.Generic(), Now: now}, got.Book.Persons[i]),
		Asked:  page.Asked{Since: now.AddDate(0, -*months, 0), Questions: asks, Packs: got.Book.Packs}}
	if *letter {
		d.Paper = print.Letter
	}
	for _, t := range tongues {
		d.Words = append(d.Words, t)
	}
	pdf, left, err := print.DoctorPage(d)
	if err != nil {
		return c.refuse("%v", err)
	}
	if bad := c.writeFile(*out, func(to io.Writer) error { _, err := to.Write(pdf); return err }); bad != OK {
		return bad
	}
	return max(code, c.print(pageJSON{*out, left}))
}

// pageJSON says where the page lies and how many lines found no room on its
// first side.
type pageJSON struct {
	File string `json:"file"`
	Left int    `json:"left"`
}

// tongues are the languages of a list such as es,en, each by itself.
func (c *command) tongues(list string) ([]*i18n.Pair, error) {
	if list == "" {
		list = i18n.Nearest(c.w.Language)
	}
	var out []*i18n.Pair
	for _, tag := range strings.Split(list, ",") {
		p, err := i18n.New(tag, "")
		if err != nil {
			return nil, err
		}
		out = append(out, p)
	}
	return out, nil
}
