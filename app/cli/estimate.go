package cli

import (
	"bufio"
	"bytes"
	"cmp"
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"maps"
	"reflect"
	"slices"
	"strings"

	"quietwater/i18n"
	"quietwater/model"
	"quietwater/model/renal"
)

// caseJSON is one line of what is asked. A number keeps the digits it was
// written with.
type caseJSON struct {
	Age             *float64      `json:"age"`
	Sex             string        `json:"sex"`
	Height          *quantityJSON `json:"height"`
	Weight          *quantityJSON `json:"weight"`
	Creatinine      *quantityJSON `json:"creatinine"`
	CystatinC       *quantityJSON `json:"cystatin-c"`
	ACR             *quantityJSON `json:"acr"`
	PCR             *quantityJSON `json:"pcr"`
	Albumin         *quantityJSON `json:"albumin"`
	Phosphate       *quantityJSON `json:"phosphate"`
	Bicarbonate     *quantityJSON `json:"bicarbonate"`
	Calcium         *quantityJSON `json:"calcium"`
	UrineCreatinine *quantityJSON `json:"urine-creatinine"`
	UrineVolume     *quantityJSON `json:"urine-volume"`
	UrineHours      *quantityJSON `json:"urine-hours"`
	EGFR            *quantityJSON `json:"egfr"`
	StripProtein    string        `json:"strip-protein"`
	Diabetes        *bool         `json:"diabetes"`
	HighPressure    *bool         `json:"high-blood-pressure"`
	Region          string        `json:"region"`
	Dialysis        bool          `json:"dialysis"`
	Transplant      bool          `json:"transplant"`
	Pregnant        bool          `json:"pregnant"`
	Amputation      bool          `json:"amputation"`
}

// quantityJSON is a number with a UCUM unit, or a bare number where only one
// unit is possible.
type quantityJSON struct {
	Value json.Number
	Unit  string
}

// UnmarshalJSON takes {"value":97,"unit":"umol/L"} or 24.
func (q *quantityJSON) UnmarshalJSON(b []byte) error {
	if bytes.HasPrefix(bytes.TrimSpace(b), []byte("{")) {
		var o struct {
			Value *json.Number `json:"value"`
			Unit  string       `json:"unit"`
		}
		if err := json.Unmarshal(b, &o); err != nil {
			return err
		}
		if o.Value == nil {
			return errors.New("an object without a value")
		}
		q.Value, q.Unit = *o.Value, o.Unit
		return nil
	}
	return json.Unmarshal(b, &q.Value)
}

// value makes a catalogue value of it; nothing is judged here, since each
// estimate refuses for itself what it cannot use.
func (q *quantityJSON) value(c model.Code) model.Value {
	if q == nil {
		return model.Value{}
	}
	n, err := q.Value.Float64()
	if err != nil {
		return model.Value{}
	}
	unit := q.Unit
	if it, ok := model.Find(model.Lab, c); ok && unit == "" && len(it.Units) == 1 {
		unit = it.Units[0].UCUM // there is nothing to mistake it for
	}
	return model.Value{Code: c, Number: n, Typed: model.FormatNumber(n), Unit: unit}
}

type resultJSON struct {
	Name    renal.Name `json:"name"`
	Value   any        `json:"value"`
	Unit    string     `json:"unit"`
	Source  string     `json:"source"`
	Caution string     `json:"caution,omitempty"`
}

type notComputed struct {
	Name renal.Name `json:"name"`
	Why  string     `json:"why"`
}

type estimateJSON struct {
	Results []resultJSON  `json:"results"`
	Refused []notComputed `json:"refused"`
	Error   string        `json:"error,omitempty"` // why the line could not be read
}

func estimate(_ context.Context, w World, args []string) int {
	c := newCommand(w, "estimate", "estimate [--lang TAG] < cases.jsonl\n\nOne JSON object a line in, one answer a line out.")
	lang := c.String("lang", "", "language `TAG` of the reasons, as es; of es,en the first")
	if code, done := c.parse(args); done {
		return code
	}
	words, err := c.words(*lang)
	if err != nil {
		return c.wrong("--lang: %v", err)
	}
	enc := json.NewEncoder(w.Stdout)
	enc.SetEscapeHTML(false)
	code := OK
	in := bufio.NewReader(w.Stdin)
	for n := 1; ; n++ {
		line, err := in.ReadString('\n')
		if strings.TrimSpace(line) != "" {
			answer, bad := answerCase(words, line)
			if bad != nil {
				code = c.refuse("line %d: %v", n, bad)
				answer.Error = bad.Error()
			}
			for _, key := range unknownKeys(line) {
				fmt.Fprintf(w.Stderr, "quietwater estimate: line %d: %q means nothing here\n", n, key)
			}
			if err := enc.Encode(answer); err != nil {
				return c.refuse("writing the answer: %v", err)
			}
		}
		if errors.Is(err, io.EOF) {
			return code
		}
		if err != nil {
			return c.refuse("reading line %d: %v", n, err)
		}
	}
}

func answerCase(words *i18n.Pair, line string) (estimateJSON, error) {
	out := estimateJSON{Results: []resultJSON{}, Refused: []notComputed{}}
	var j caseJSON
	if err := json.Unmarshal([]byte(line), &j); err != nil {
		if wrong := (*json.UnmarshalTypeError)(nil); errors.As(err, &wrong) {
			return out, fmt.Errorf("not a case: %s cannot be read as %s", cmp.Or(wrong.Field, "the line"), wrong.Value)
		}
		return out, fmt.Errorf("not a case in JSON: %w", err)
	}
	grade := model.NoGrade
	if j.StripProtein != "" {
		g, ok := model.ParseGrade(j.StripProtein)
		if !ok {
			return out, fmt.Errorf("strip-protein %q is no grade", j.StripProtein)
		}
		grade = g
	}
	results, refused := renal.Estimate(j.toCase(grade))
	for _, r := range results {
		source, _ := model.FindSource(r.Cite.Source)
		row := resultJSON{Name: r.Name, Value: r.Value, Unit: r.Unit, Source: source.Citation, Caution: words.T(r.Caution)}
		if r.Word != "" {
			row.Value = r.Word
		}
		out.Results = append(out.Results, row)
	}
	for _, r := range refused {
		out.Refused = append(out.Refused, notComputed{r.Name, words.T(r.Why)})
	}
	return out, nil
}

func (j caseJSON) toCase(strip model.Grade) renal.Case {
	c := renal.Case{
		Age: -1, Sex: renal.Sex(j.Sex), Height: j.Height.value("height"), Weight: j.Weight.value("weight"),
		Creatinine: j.Creatinine.value("creatinine"), CystatinC: j.CystatinC.value("cystatin-c"),
		ACR: j.ACR.value("acr"), PCR: j.PCR.value("pcr"), Albumin: j.Albumin.value("albumin"),
		Phosphate: j.Phosphate.value("phosphate"), Bicarbonate: j.Bicarbonate.value("bicarbonate"), Calcium: j.Calcium.value("calcium"),
		UrineCreatinine: j.UrineCreatinine.value("urine-creatinine"), UrineVolume: j.UrineVolume.value("urine-volume"),
		UrineHours: j.UrineHours.value("urine-hours"), EGFR: j.EGFR.value("egfr"), StripProtein: strip, Region: j.Region, Diabetes: j.Diabetes, HighPressure: j.HighPressure,
		Dialysis: j.Dialysis, Transplant: j.Transplant, Pregnant: j.Pregnant, Amputation: j.Amputation,
	}
	if j.Age != nil {
		c.Age = *j.Age
	}
	return c
}

// unknownKeys names what a line holds that no estimate looks at: a misspelled
// name would else be missing without a word.
func unknownKeys(line string) []string {
	var given map[string]json.RawMessage
	if json.Unmarshal([]byte(line), &given) != nil {
		return nil
	}
	for _, key := range caseKeys {
		delete(given, key)
	}
	return slices.Sorted(maps.Keys(given))
}

// caseKeys are the names caseJSON reads.
var caseKeys = func() (keys []string) {
	for _, f := range reflect.VisibleFields(reflect.TypeFor[caseJSON]()) {
		keys = append(keys, f.Tag.Get("json"))
	}
	return keys
}()
