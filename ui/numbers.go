package ui

import (
	"image"
	"math"
	"slices"
	"strings"
	"time"

	"fyne.io/fyne/v2"

	"quietwater/charts"
	"quietwater/i18n"
	"quietwater/model"
	"quietwater/model/finding"
	"quietwater/model/household"
	"quietwater/model/numbers"
	"quietwater/model/renal"
	"quietwater/ui/kit"
)

// numbersPage shows what the laboratory sheets of one person say together.
func (w *Window) numbersPage() view {
	k := w.kit
	st := w.house.State()
	m, ok := w.member()
	if !ok {
		return view{title: model.T("screen.numbers"), body: []fyne.CanvasObject{k.Both(model.T("today.nobody"))},
			main: w.unlessReadOnly(&action{"add-person", model.T("today.add-person"), func() { w.open(w.editPerson(model.Person{})) }})}
	}
	n := &m.Result.History.Numbers
	var body []fyne.CanvasObject
	if len(st.Members) > 1 {
		body = append(body, w.whose(st, m.Person.ID))
	}
	for _, f := range m.Result.Open {
		if restsOnLab(f) {
			body = append(body, w.safe.FindingRow("finding-"+f.Rule, int(f.Urgency), f.HowSoon(), f.Title, func() { w.open(w.oneFinding(f)) }))
		}
	}
	if len(n.Latest) == 0 {
		body = append(body, k.Card(k.Both(model.T("kidney.empty")), k.Both(model.T("kidney.empty-what"))))
	} else {
		body = append(body, w.filteringCard(m, n)...)
		body = append(body, w.albuminCard(n))
		body = append(body, w.numberCharts(m)...)
		body = append(body, w.changeWords(n)...)
		body = append(body, w.riskWords(m, n)...)
		body = append(body, w.lists(n)...)
		body = append(body, w.nextTest(m, n)...)
		body = append(body, w.results(m, n)...)
	}
	return view{title: model.T("screen.numbers"), whose: &m.Person, body: body,
		main: w.unlessReadOnly(&action{"enter-sheet", w.sheetButton(m.Person), func() { w.enterSheet(m.Person) }})}
}

// restsOnLab reports a finding about laboratory results.
func restsOnLab(f finding.Finding) bool {
	return slices.ContainsFunc(f.Evidence, func(e finding.Evidence) bool { return e.Kind == model.Lab })
}

// filteringCard is the newest eGFR: the number with its doubt, the stage in
// plain words first, whether it is confirmed, and what makes it say less.
func (w *Window) filteringCard(m household.Member, n *numbers.Numbers) []fyne.CanvasObject {
	k := w.kit
	g, ok := n.Newest()
	if !ok {
		return []fyne.CanvasObject{k.BothSection(model.T("kidney.filtering")), k.Card(k.Both(model.T("kidney.no-egfr")))}
	}
	notValid := w.notValid(m)
	var card []fyne.CanvasObject
	if !notValid.IsZero() {
		card = append(card, k.Notice(kit.NoticeCare, notValid))
	}
	shown := model.Quantity{Typed: renal.ShownEGFR(g.Best()), UCUM: "mL/min/{1.73_m2}"}
	about := "kidney.about"
	if g.Bound != 0 {
		shown.Typed, about = g.Reported.Value.Text(), "kidney.limit"
	}
	card = append(card, k.Step(model.T(about, "value", shown)), k.BothSmall(model.T("kidney.when-how", "when", g.When, "how", howWords(g))))
	if notValid.IsZero() && g.Bound == 0 {
		card = append(card, k.Both(model.T("kidney.doubt", "low", whole(0.7*g.Best()), "high", whole(1.3*g.Best()))))
	}
	switch {
	case g.Gross():
		for _, c := range n.Conflicts {
			if c.Key == numbers.Gross {
				card = append(card, k.Notice(kit.NoticeCare, c))
			}
		}
	case g.Reported != nil && g.Name != "":
		card = append(card, k.Both(model.T("kidney.laboratory-wrote", "value", quantityOf(g.Reported.Value))))
	}
	if s := g.Stage(); s != 0 && !m.Result.History.On(model.Condition, "dialysis") {
		card = append(card, k.BothStrong(model.T("kidney.stage", "words", model.T("stage."+s.String()), "stage", s.String())), k.Both(confirmedWords(n.Filter)))
	}
	for _, c := range n.Cautions {
		if c.Key != notValid.Key {
			card = append(card, k.BothSmall(c))
		}
	}
	return []fyne.CanvasObject{k.BothSection(model.T("kidney.filtering")), k.Card(card...)}
}

// notValid is the condition under which eGFR is shown only with a warning.
func (w *Window) notValid(m household.Member) model.Msg {
	for _, c := range []model.Code{"dialysis", "pregnancy", "amputation"} {
		if m.Result.History.On(model.Condition, c) {
			return model.T("numbers.caution." + string(c))
		}
	}
	return model.Msg{}
}

// howWords says by what the number was worked out.
func howWords(g numbers.GFR) model.Msg {
	switch {
	case g.Name == "":
		return model.T("kidney.how-reported")
	case g.Cystatin > 0:
		return model.T("kidney.how-both")
	case g.Name == renal.NameU25Creatinine:
		return model.T("kidney.how-child")
	}
	return model.T("kidney.how-creatinine")
}

func whole(x float64) int { return int(math.Round(x)) }

func quantityOf(v model.Value) model.Quantity {
	return model.Quantity{Typed: v.Text(), UCUM: v.Unit}
}

func confirmedWords(c numbers.Confirmation) model.Msg {
	switch {
	case !c.Abnormal:
		return model.T("kidney.not-below-60")
	case c.Yes:
		return model.T("kidney.confirmed-filter")
	}
	return model.T("kidney.not-confirmed")
}

// albuminCard is the newest urine result, or the advice to ask for one.
func (w *Window) albuminCard(n *numbers.Numbers) fyne.CanvasObject {
	k := w.kit
	a, ok := n.NewestAlbumin()
	if !ok {
		return k.Column(k.BothSection(model.T("kidney.albumin")), k.Card(k.Both(model.T("numbers.missing.acr"))))
	}
	card := []fyne.CanvasObject{k.Step(model.T("lab.value", "value", quantityOf(a.Value))), k.BothSmall(model.T("kidney.acr-when", "when", a.When,
		"what", model.T("name.lab."+string(a.Value.Code))))}
	if a.Stage != 0 {
		confirmed := model.T("kidney.leak-not-raised")
		if n.Leak.Abnormal {
			confirmed = model.T("kidney.not-confirmed")
		}
		if n.Leak.Yes {
			confirmed = model.T("kidney.confirmed-leak")
		}
		card = append(card, k.BothStrong(model.T("kidney.stage", "words", model.T("stage."+a.Stage.String()), "stage", a.Stage.String())), k.Both(confirmed))
	} else {
		card = append(card, k.Both(model.T("kidney.acr-open")))
	}
	if a.FromPCR {
		card = append(card, k.BothSmall(model.T("renal.caution.from-pcr")))
	}
	return k.Column(k.BothSection(model.T("kidney.albumin")), k.Card(card...))
}

// numberSpans are how much time the two courses show; 0 is all of it.
var numberSpans = []struct {
	id    string
	years int
}{{"2-years", 2}, {"5-years", 5}, {"all", 0}}

// numberCharts are the grid and the two courses.
func (w *Window) numberCharts(m household.Member) []fyne.CanvasObject {
	k := w.kit
	n := &m.Result.History.Numbers
	to := w.house.Now()
	from := to.AddDate(-w.yearsBack, 0, 0)
	if w.yearsBack == 0 {
		from = w.firstSheet(n, to)
	}
	var options []kit.Option
	chosen := ""
	for _, s := range numberSpans {
		options = append(options, kit.Option{ID: s.id, Label: model.T("kidney.span-" + s.id)})
		if s.years == w.yearsBack {
			chosen = s.id
		}
	}
	choice := k.AtOnce().ShortChoice("years", model.T("kidney.span"), options, chosen, func(id string) {
		for _, s := range numberSpans {
			if s.id == id {
				w.yearsBack = s.years
			}
		}
		w.redraw()
	})
	titled := func(id string) []fyne.CanvasObject {
		i := slices.IndexFunc(charts.All(), func(s charts.Spec) bool { return s.ID == id })
		s := charts.All()[i]
		return []fyne.CanvasObject{k.BothSection(s.Title), w.chart(s, m.Result, from, to)}
	}
	var out []fyne.CanvasObject
	if _, ok := n.Here(); ok {
		grid := titled("grid")
		out = append(out, grid[0], k.BothSmall(model.T("kidney.grid-help")), grid[1])
	}
	return slices.Concat(out, []fyne.CanvasObject{choice}, titled("egfr"), titled("acr"))
}

// firstSheet is where the courses begin when all is shown: a year at least.
func (w *Window) firstSheet(n *numbers.Numbers, to time.Time) time.Time {
	from := to.AddDate(-1, 0, 0)
	if len(n.GFR) > 0 && n.GFR[0].When.Time().Before(from) {
		from = n.GFR[0].When.Time()
	}
	if len(n.Albumin) > 0 && n.Albumin[0].When.Time().Before(from) {
		from = n.Albumin[0].When.Time()
	}
	return from.AddDate(0, -1, 0)
}

// chart shows one of the list of charts, laid out for the width of the page
// first, to know its height.
func (w *Window) chart(s charts.Spec, r finding.Result, from, to time.Time) fyne.CanvasObject {
	look := w.chartLook()
	height := s.Draw(r, from, to, w.words, look, w.pageWidth()).Height
	return w.kit.ChartView(kit.AskChart{
		ID: s.ID, Alt: s.Describe(r, from, to), Height: float32(height) / max(w.look.Scale, 1),
		Save: func() {
			whose, since := model.Person{}, from
			if m, ok := w.house.State().Member(r.History.Person.ID); ok {
				whose = m.Person
			}
			if s.ID == "grid" { // a place, and no course
				since = time.Time{}
			}
			w.saveChart(s.ID, s.Title, w.captions(s.Title, whose, since, to), func(l charts.Look, width int) charts.Sized { return s.Draw(r, from, to, w.words, l, width) })
		},
		Draw: func(width, high int, scale float32) image.Image {
			return onPaper(s.Draw(r, from, to, w.words, look, int(float32(width)/scale)), width, high, scale, look)
		},
	})
}

// changeWords say how the filtering moves, with the doubt in the same size.
func (w *Window) changeWords(n *numbers.Numbers) []fyne.CanvasObject {
	k := w.kit
	out := []fyne.CanvasObject{k.BothSection(model.T("kidney.change"))}
	if !n.NoTrend.IsZero() {
		return append(out, k.Both(n.NoTrend))
	}
	out = append(out, k.Both(charts.TrendWords(n.Trend)))
	if n.Trend.Driven {
		out = append(out, k.Both(model.T("kidney.driven", "robust", model.Quantity{Typed: strings.Replace(model.FormatNumber(math.Round(n.Trend.Robust*10)/10), "-", "−", 1)})))
	}
	return append(out, k.BothSmall(model.T("kidney.change-rests", "n", n.Trend.N, "from", n.TrendOf[0].When, "to", n.TrendOf[len(n.TrendOf)-1].When)))
}

// riskWords give the risk as people of a hundred, only where it holds; where
// only the region is missing it is asked for here.
func (w *Window) riskWords(m household.Member, n *numbers.Numbers) []fyne.CanvasObject {
	k := w.kit
	out := []fyne.CanvasObject{k.BothSection(model.T("kidney.risk"))}
	if !n.NoRisk.IsZero() {
		out = append(out, k.Both(n.NoRisk))
	} else {
		five, two := ofHundred(n.Failure.Four.Five), ofHundred(n.Failure.Four.Two)
		out = append(out, k.BothStrong(model.T("kidney.risk-five", "people", five)), k.Both(model.T("kidney.risk-two", "people", two)),
			k.BothSmall(model.T("kidney.risk-caution")))
	}
	if w.house.ReadOnly().IsZero() && (n.NoRisk.Key == "renal.refused.region" || m.Facts.Region != "" && n.NoRisk.IsZero()) {
		out = append(out, k.BothSmall(model.T("kidney.region-why")), k.AtOnce().ShortChoice("region", model.T("kidney.region"), []kit.Option{
			{ID: renal.NorthAmerica, Label: model.T("word.north-america")}, {ID: renal.Elsewhere, Label: model.T("word.other")}}, m.Facts.Region,
			func(id string) { w.saveProfile(m.Person, model.Value{Code: "risk-region", Word: id}) }))
	}
	return out
}

// ofHundred is a risk as people of a hundred, or of a thousand below one in a
// hundred.
func ofHundred(risk float64) model.Msg {
	switch n := math.Round(100 * risk); {
	case 1000*risk < 1:
		return model.T("kidney.fewer-than-one")
	case n < 1:
		return model.T("kidney.of-thousand", "n", int(math.Round(1000*risk)))
	default:
		return model.T("kidney.of-hundred", "n", int(min(n, 99)))
	}
}

func (w *Window) saveProfile(p model.Person, v model.Value) {
	e := model.Entry{ID: w.house.NewID(), Person: p.ID, Kind: model.Profile, When: model.At(w.house.Now()), Author: w.author(), Values: []model.Value{v}}
	if w.save(household.Changes{Entries: []model.Entry{e}}) {
		w.redraw()
	}
}

// lists name the results that do not agree, and what would help.
func (w *Window) lists(n *numbers.Numbers) []fyne.CanvasObject {
	k := w.kit
	var out []fyne.CanvasObject
	// The gravest stands beside the number it is about.
	conflicts := slices.DeleteFunc(slices.Clone(n.Conflicts), func(c model.Msg) bool { return c.Key == numbers.Gross })
	if len(conflicts) > 0 {
		out = append(out, k.BothSection(model.T("kidney.conflicts")))
		for _, c := range conflicts {
			out = append(out, k.Notice(kit.NoticeCare, c))
		}
	}
	if len(n.Missing) > 0 {
		out = append(out, k.BothSection(model.T("kidney.missing")))
		for _, c := range n.Missing {
			out = append(out, k.Both(c))
		}
	}
	return out
}

// nextTest says when blood and urine are due again, and by whose interval; the
// doctor's own can be entered here. While a result calls for a doctor the same
// day, no interval has the first word.
func (w *Window) nextTest(m household.Member, n *numbers.Numbers) []fyne.CanvasObject {
	k := w.kit
	out := []fyne.CanvasObject{k.BothSection(model.T("kidney.next"))}
	if slices.ContainsFunc(m.Result.Open, func(f finding.Finding) bool { return restsOnLab(f) && (f.Urgency >= finding.Today || f.Old) }) {
		out = append(out, k.Notice(kit.NoticeCare, model.T("kidney.next-first")))
	}
	every := model.Quantity{Typed: model.FormatNumber(math.Round(n.EveryMonths*10) / 10), UCUM: "mo"}
	switch {
	case n.NextTest.IsZero():
		out = append(out, k.Both(model.T("kidney.next-none")))
	case n.ByDoctor:
		out = append(out, k.Both(model.T("kidney.next-doctor", "when", model.OnDay(n.NextTest), "every", every)))
	default:
		out = append(out, k.Both(model.T("kidney.next-grid", "when", model.OnDay(n.NextTest), "every", every)))
	}
	if w.house.ReadOnly().IsZero() {
		out = append(out, k.Row(k.Button("interval", model.T("kidney.interval"), func() { w.open(w.intervalPage(m.Person, m.Facts.LabMonths)) })))
	}
	return out
}

// intervalPage takes the months between tests that the doctor has set.
func (w *Window) intervalPage(p model.Person, months float64) func() view {
	typed := ""
	if months > 0 {
		typed = w.words.Number(model.FormatNumber(months))
	}
	return func() view {
		field := w.kit.Field(kit.Ask{ID: "months", Label: model.T("kidney.months"), Help: model.T("kidney.months-help"), Width: 5}, typed, func(s string) { typed = s })
		return view{title: model.T("screen.numbers"), whose: &p, body: []fyne.CanvasObject{field}, back: w.backTo(w.goBack), focus: field.Focusable(),
			main: w.unlessReadOnly(&action{"save", model.T("do.save-for", "name", w.called(p)), func() {
				it, _ := model.Find(model.Profile, "lab-interval")
				text := strings.TrimSpace(typed)
				if text == "" {
					text = "0"
				}
				plain, bad := i18n.ParseNumberFor(it, "mo", text)
				var why model.Msg
				if bad != nil {
					why = bad.Why
				} else if _, ps := model.ParseValue(it, plain, "mo", ""); len(ps) > 0 {
					why = ps[0].Why
				}
				form := checked{w: w}
				form.check(field, why)
				if form.bad() {
					return
				}
				x, _ := model.ParseNumber(plain)
				e := model.Entry{ID: w.house.NewID(), Person: p.ID, Kind: model.Profile, When: model.At(w.house.Now()), Author: w.author(),
					Values: []model.Value{{Code: "lab-interval", Number: x, Typed: plain, Unit: "mo"}}}
				if w.save(household.Changes{Entries: []model.Entry{e}}) {
					w.close()
				}
			}})}
	}
}

// results list the newest of every kind of result with the one before it; each
// opens to all of them. What no rule judges says so.
func (w *Window) results(m household.Member, n *numbers.Numbers) []fyne.CanvasObject {
	k := w.kit
	var items []kit.ListItem
	for _, r := range n.Latest {
		line := w.words.Value(model.Lab, r.Value) + markOf(r.Value) + " · " + w.words.Date(r.When)
		all := m.Result.History.Of(model.Lab, r.Value.Code)
		if len(all) > 1 {
			before := all[len(all)-2]
			line += "\n" + w.words.T(model.T("kidney.was", "value", quantityOf(before.Value), "when", before.When))
		}
		if !finding.Judged(r.Value.Code) {
			line += "\n" + w.words.T(model.T("kidney.not-judged"))
		}
		items = append(items, kit.ListItem{ID: "result-" + string(r.Value.Code), Title: model.T("guided.pads", "pads", model.T("name.lab."+string(r.Value.Code))),
			Note: kit.Said(line), Open: func() { w.open(func() view { return w.resultPage(m.Person, r.Value.Code) }) }})
	}
	return []fyne.CanvasObject{k.BothSection(model.T("kidney.results")), k.List(items...),
		k.Row(k.Button("earlier-sheets", model.T("lab.earlier"), func() { w.open(func() view { return w.earlierSheets(m.Person) }) }))}
}

// markOf is the sheet's own mark beside a value.
func markOf(v model.Value) string {
	if v.Note == "" {
		return ""
	}
	return " [" + v.Note + "]"
}

// resultPage lists all results of one kind, newest first.
func (w *Window) resultPage(p model.Person, c model.Code) view {
	k := w.kit
	body := []fyne.CanvasObject{k.BothSection(model.T("guided.pads", "pads", model.T("name.lab."+string(c))))}
	if !finding.Judged(c) {
		body = append(body, k.Notice(kit.NoticeInfo, model.T("kidney.not-judged-why")))
	}
	if m, ok := w.house.State().Member(p.ID); ok {
		for _, e := range slices.Backward(m.Result.History.Of(model.Lab, c)) {
			body = append(body, k.Tight(k.Strong(kit.Said(w.words.Value(model.Lab, e.Value)+markOf(e.Value))), k.Text(kit.Said(w.words.Date(e.When)))))
		}
	}
	return view{title: model.T("screen.numbers"), whose: &p, body: body, back: w.backTo(w.goBack)}
}
