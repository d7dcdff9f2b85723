package exchange

import (
	"fmt"
	"io"
	"reflect"
	"slices"
	"strings"
	"testing"
	"time"

	"quietwater/app/exchange/booktest"
	"quietwater/model"
)

var (
	madrid, _ = time.LoadLocation("Europe/Madrid")
	noon      = time.Date(2026, 11, 25, 12, 0, 0, 0, madrid)
)

func importFrom(r io.Reader, existing model.Book) Result {
	known := func(id string) bool { return id == "dilute-sample" }
	return Import(r, existing, madrid, noon, booktest.IDs(), known)
}

func importText(text string, existing model.Book) Result {
	return importFrom(strings.NewReader(text), existing)
}

// outcome is "ok" or the refusals as "row field key", one after the other.
func outcome(r Result) string {
	if r.FileRefused != nil {
		return "file " + r.FileRefused.Key
	}
	var out []string
	for _, p := range r.Refused {
		out = append(out, fmt.Sprintf("%d %s %s", p.Row, p.Field, strings.TrimPrefix(p.Why.Key, "problem.")))
	}
	if len(out) == 0 {
		return "ok"
	}
	return strings.Join(out, "; ")
}

// Each sentence of the design's section 4 with rows that keep to it and rows
// that do not. Rows leave the person out; it is Rosa but for the last group.
func TestEverySentence(t *testing.T) {
	for _, group := range []struct {
		sentence string
		rows     []string // cells from "when" on, several rows joined by \n
		want     []string
	}{
		{"when may be empty for profile and pack only", []string{
			",profile,height,162,,", ",pack,strips,50,,Box A", ",vital,weight,61,,", ",note,text,hello,,", "2026-01-01,profile,height,162,,"},
			[]string{"ok", "ok", "1 when when-missing", "1 when when-missing", "ok"}},
		{"when is RFC 3339 with offset, a day, or a local minute", []string{
			"2026-05-01T07:30:00+02:00,vital,weight,61,,", "2026-05-01T07:30:00Z,vital,weight,61,,", "2026-05-01T07:30:00.25-05:00,vital,weight,61,,",
			"2026-05-01,vital,weight,61,,", "2026-05-01 07:30,vital,weight,61,,",
			"2026-05-01T07:30:00,vital,weight,61,,", "2026-05-01T07:30,vital,weight,61,,", "2026-05-01 7:30,vital,weight,61,,",
			"2026-05-01T07:30:00 +02:00,vital,weight,61,,", "2026-5-1,vital,weight,61,,", "2026-02-29,vital,weight,61,,", "2026-05,vital,weight,61,,",
			" 2026-05-01,vital,weight,61,,", "20260501,vital,weight,61,,", "2026-05-01T25:00:00Z,vital,weight,61,,", "2026-05-01T07:30:00+25:00,vital,weight,61,,"},
			[]string{"ok", "ok", "ok", "ok", "ok",
				"1 when when-form", "1 when when-form", "1 when when-form", "1 when when-form", "1 when when-form", "1 when when-form", "1 when when-form",
				"1 when when-form", "1 when when-form", "1 when when-form", "1 when when-form"}},
		{"never guess the order of day and month", []string{
			"01/05/2026,vital,weight,61,,", "13/05/2026,vital,weight,61,,", "05-01-2026,vital,weight,61,,", "1.5.2026,vital,weight,61,,", "1 May 2026,vital,weight,61,,", "26-05-01,vital,weight,61,,"},
			[]string{"1 when when-form", "1 when when-form", "1 when when-form", "1 when when-form", "1 when when-form", "1 when when-form"}},
		{"nothing is dated after now", []string{
			"2026-11-25,vital,weight,61,,", "2026-11-25 12:04,vital,weight,61,,", "2026-11-25T13:00:00+02:00,vital,weight,61,,",
			"2026-11-26,vital,weight,61,,", "2026-11-25 12:06,vital,weight,61,,", "2226-01-01,vital,weight,61,,",
			",profile,birth-date,2027-01-01,,", ",pack,opened-on,2027-01-01,,Box A", ",pack,use-by,2027-01,,Box A"},
			[]string{"ok", "ok", "ok", "1 when in-the-future", "1 when in-the-future", "1 when in-the-future",
				"1 value in-the-future", "1 value in-the-future", "ok"}},
		{"a number is a plain decimal with a point", []string{
			"2026-05-01,vital,weight,61.50,,", "2026-05-01,vital,weight,061,,", "2026-05-01,vital,weight,6.15e1,,", "2026-05-01,vital,weight,6E1,,",
			"2026-05-01,fluid,drink,\"1,500\",,", "2026-05-01,fluid,drink,1 500,,", "2026-05-01,fluid,drink,1'500,,", "2026-05-01,fluid,drink,1_500,,",
			"2026-05-01,vital,weight,\"61,5\",,", "2026-05-01,vital,weight,+61,,", "2026-05-01,vital,weight,61.,,", "2026-05-01,vital,weight,.5,,",
			"2026-05-01,vital,weight,0x3d,,", "2026-05-01,vital,weight,NaN,,", "2026-05-01,vital,weight,Inf,,", "2026-05-01,vital,weight,61 kg,,",
			"2026-05-01,vital,weight,<61,,", "2026-05-01,vital,weight,６１,,", "2026-05-01,vital,weight,6.1.5,,", "2026-05-01,vital,weight,,,"},
			[]string{"ok", "ok", "1 value not-a-number", "1 value not-a-number", "1 value not-a-number", "1 value not-a-number", "1 value not-a-number", "1 value not-a-number",
				"1 value decimal-comma", "1 value not-a-number", "1 value not-a-number", "1 value not-a-number", "1 value not-a-number", "1 value not-a-number", "1 value not-a-number",
				"1 value not-a-number", "1 value not-a-number", "1 value not-a-number", "1 value not-a-number", "1 value value-missing"}},
		{"unit is UCUM, empty means the default", []string{
			"2026-05-01,vital,weight,61,kg,", "2026-05-01,vital,weight,61,,", "2026-05-01,vital,weight,134,[lb_av],", "2026-05-01,vital,temperature,98.6,[degF],",
			"2026-05-01,vital,weight,61,lbs,", "2026-05-01,vital,weight,61,KG,", "2026-05-01,vital,systolic,13,kPa,", "2026-05-01,symptom,nausea,2,mg,", "2026-05-01,condition,diabetes,start,kg,"},
			[]string{"ok", "ok", "ok", "ok", "1 unit unit-unknown", "1 unit unit-unknown", "1 unit unit-unknown", "1 unit unit-unknown", "1 unit unit-not-wanted"}},
		{"a laboratory value needs its unit", []string{
			"2026-05-01,lab,creatinine,97,umol/L,", "2026-05-01,lab,creatinine,97,,", "2026-05-01,lab,egfr,54,,", "2026-05-01,lab,hba1c,7,,",
			"2026-05-01,lab,urine-hours,24,,", "2026-05-01,lab,urine-hours,24,h,", "2026-05-01,lab,rbc-hpf,3,,", "2026-05-01,lab,creatinine,97,µmol/L,"},
			[]string{"ok", "1 unit unit-missing", "1 unit unit-missing", "1 unit unit-missing", "ok", "ok", "ok", "1 unit unit-unknown"}},
		{"a unit slip is asked about", []string{
			"2026-05-01,lab,creatinine,97,mg/dL,", "2026-05-01,lab,creatinine,1.1,umol/L,", "2026-05-01,lab,creatinine,17.9,mg/dL,", "2026-05-01,lab,creatinine,26,umol/L,",
			"2026-05-01,lab,creatinine,20,mg/dL,", "2026-05-01,lab,creatinine,20,umol/L,", "2026-05-01,lab,haemoglobin,13,g/L,", "2026-05-01,lab,haemoglobin,130,g/dL,",
			"2026-05-01,lab,glucose,100,mmol/L,", "2026-05-01,lab,calcium,9.6,mmol/L,", "2026-05-01,lab,albumin,4,g/L,", "2026-05-01,vital,temperature,98.6,Cel,", "2026-05-01,vital,weight,900,kg,"},
			[]string{"1 value did-you-mean", "1 value did-you-mean", "ok", "ok", "1 value out-of-range", "1 value out-of-range", "1 value did-you-mean", "1 value did-you-mean",
				"1 value did-you-mean", "1 value did-you-mean", "1 value did-you-mean", "1 value did-you-mean", "1 value out-of-range"}},
		{"grades", []string{
			"2026-05-01,strip,protein,neg,,", "2026-05-01,strip,protein,trace,,", "2026-05-01,strip,protein,1+,,", "2026-05-01,strip,protein,4+,,", "2026-05-01,strip,nitrite,pos,,", "2026-05-01,strip,nitrite,unclear,,",
			"2026-05-01,strip,protein,5+,,", "2026-05-01,strip,protein,+,,", "2026-05-01,strip,protein,++,,", "2026-05-01,strip,protein,Neg,,", "2026-05-01,strip,protein,negative,,", "2026-05-01,strip,nitrite,1.5,,",
			"2026-05-01,strip,ph,1+,,", "2026-05-01,strip,specific-gravity,neg,,", "2026-05-01,strip,protein,1+,mg/dL,", "2026-05-01,lab,creatinine,1+,mg/dL,"},
			[]string{"ok", "ok", "ok", "ok", "ok", "ok",
				"1 value not-grade-or-number", "1 value not-grade-or-number", "1 value not-grade-or-number", "1 value not-grade-or-number", "1 value not-grade-or-number", "1 value not-a-grade",
				"1 value not-a-number", "1 value not-a-number", "1 unit unit-not-wanted", "1 value not-a-number"}},
		{"a pad may carry a number with unit", []string{
			"2026-05-01,strip,protein,30,mg/dL,", "2026-05-01,strip,protein,0.3,g/L,", "2026-05-01,strip,protein,30,,", "2026-05-01,strip,albumin,80,,", "2026-05-01,strip,glucose,5.5,mmol/L,", "2026-05-01,strip,protein,30,mmol/L,", "2026-05-01,strip,ph,6.5,,", "2026-05-01,strip,ph,65,,", "2026-05-01,strip,specific-gravity,1.015,,", "2026-05-01,strip,specific-gravity,1015,,"},
			[]string{"ok", "ok", "ok", "ok", "ok", "1 unit unit-unknown", "ok", "1 value out-of-range", "ok", "1 value out-of-range"}},
		{"flags, spans and listed words", []string{
			"2026-05-01,strip,menstruating,yes,,", "2026-05-01,strip,menstruating,unsure,,", "2026-05-01,strip,menstruating,Yes,,", "2026-05-01,strip,menstruating,1,,",
			"2026-05-01,medicine,metformin,start,,", "2026-05-01,medicine,metformin,stop,,", "2026-05-01,medicine,metformin,yes,,",
			",profile,sex,female,,", ",profile,sex,f,,", ",profile,risk-region,other,,", ",profile,risk-region,europe,,", ",pack,sealed,single,,Box A", ",pack,sealed,bottle,,Box A"},
			[]string{"ok", "ok", "1 value not-one-of", "1 value not-one-of", "ok", "1 value not-one-of", "1 value not-one-of",
				"ok", "1 value not-one-of", "ok", "1 value not-one-of", "ok", "1 value not-one-of"}},
		{"dates and languages", []string{
			",profile,birth-date,1948-03-09,,", ",profile,birth-date,09/03/1948,,", ",profile,birth-date,1948-03,,", ",profile,language,es-419,,", ",profile,language,español,,",
			",pack,use-by,2027-02,,Box A", ",pack,use-by,2027-02-28,,Box A", ",pack,use-by,02/2027,,Box A", ",pack,use-by,2027-13,,Box A", ",pack,opened-on,2026-10,,Box A"},
			[]string{"ok", "1 value not-a-date", "1 value not-a-date", "ok", "1 value not-a-language", "ok", "ok", "1 value not-a-date", "1 value not-a-date", "1 value not-a-date"}},
		{"symptoms go from 0 to 3", []string{
			"2026-05-01,symptom,nausea,0,,", "2026-05-01,symptom,nausea,3,,", "2026-05-01,symptom,nausea,4,,", "2026-05-01,symptom,nausea,-1,,", "2026-05-01,symptom,nausea,1.5,,", "2026-05-01,symptom,nausea,mild,,"},
			[]string{"ok", "ok", "1 value out-of-range", "1 value out-of-range", "1 value not-whole", "1 value not-a-number"}},
		{"unknown kind or what is refused", []string{
			"2026-05-01,vitals,weight,61,,", "2026-05-01,,weight,61,,", "2026-05-01,vital,mass,61,,", "2026-05-01,lab,weight,61,kg,", "2026-05-01,Vital,weight,61,,"},
			[]string{"1 kind kind-unknown", "1 kind kind-unknown", "1 what what-unknown", "1 what what-unknown", "1 kind kind-unknown"}},
		{"answers name a finding", []string{
			"2026-05-01,answer,dilute-sample,called,,Dr Vega: test again", "2026-05-01,answer,dilute-sample,doctor-knows,,", "2026-05-01,answer,dilute-sample,done,,", "2026-05-01,answer,dilute-sample,ok,,", "2026-05-01,answer,no-such-finding,done,,", "2026-05-01,answer,dilute-sample,,,"},
			[]string{"ok", "ok", "ok", "1 value not-one-of", "1 what what-unknown", "1 value value-missing"}},
		{"a what given twice in one event is refused", []string{
			"2026-05-01,strip,protein,neg,,\n2026-05-01,strip,protein,1+,,",
			"2026-05-01 07:30,vital,weight,61,,\n2026-05-01 07:30,vital,weight,62,,",
			"2026-05-01T07:30:00+02:00,vital,weight,61,,\n2026-05-01 07:30,vital,weight,61,,",
			"2026-05-01 07:30,vital,weight,61,,\n2026-05-01 07:31,vital,weight,62,,",
			",pack,strips,50,,Box A\n,pack,strips,100,,Box A", ",pack,sealed,tub,,Box A\n,pack,sealed,single,,Box A", ",pack,strips,50,,Box A\n,pack,strips,100,,Box B",
			"2026-05-01,fluid,drink,200,,\n2026-05-01,fluid,drink,200,,"},
			[]string{"2 what twice", "2 what twice", "2 what twice", "ok", "2 what twice", "2 what twice", "ok", "ok"}},
		{"pressures in their order", []string{
			"2026-05-01 07:30,vital,systolic,142,,\n2026-05-01 07:30,vital,diastolic,88,,", "2026-05-01 07:30,vital,systolic,88,,\n2026-05-01 07:30,vital,diastolic,142,,", "2026-05-01 07:30,vital,diastolic,88,,\n2026-05-01 07:31,vital,systolic,80,,"},
			[]string{"ok", "1 value pressure-order; 2 value pressure-order", "ok"}},
		{"a pack's label stands in its note", []string{
			",pack,strips,50,,Box A", ",pack,strips,50,,", ",pack,strips,50,," + strings.Repeat("x", 201)},
			[]string{"ok", "1 note pack-label-missing", "1 note too-long"}},
		{"free text", []string{
			"2026-05-01,note,text,\"a \"\"word\"\"\r\nand more\",,", "2026-05-01,note,text,1+,,", "2026-05-01,note,text,,,", "2026-05-01,note,text,x,mg,", "2026-05-01,strip,pack," + strings.Repeat("x", 201) + ",,"},
			[]string{"ok", "ok", "1 value value-missing", "1 unit unit-not-wanted", "1 value too-long"}},
	} {
		if len(group.rows) != len(group.want) {
			t.Fatalf("%s: %d rows, %d outcomes", group.sentence, len(group.rows), len(group.want))
		}
		for i, rows := range group.rows {
			text := header
			for _, r := range strings.SplitAfter(rows, "\n") {
				if strings.HasPrefix(r, "and more") {
					text += r
					continue
				}
				text += "Rosa," + r
			}
			got := importText(text+"\n", model.Book{})
			if outcome(got) != group.want[i] {
				t.Errorf("%s: %q: got %s, want %s", group.sentence, rows, outcome(got), group.want[i])
			}
			if n := strings.Count(outcome(got), ";") + 1; outcome(got) != "ok" && got.Accepted != got.Rows-n {
				t.Errorf("%s: %q: %d of %d accepted", group.sentence, rows, got.Accepted, got.Rows)
			}
		}
	}
}

func TestPersons(t *testing.T) {
	for row, want := range map[string]string{
		",2026-05-01,vital,weight,61,,":                            "1 person person-missing",
		",,pack,strips,50,,Box A":                                  "ok",
		"Rosa,,pack,strips,50,,Box A":                              "ok",
		strings.Repeat("x", 201) + ",2026-05-01,vital,weight,61,,": "1 person too-long",
	} {
		if got := outcome(importText(header+row+"\n", model.Book{})); got != want {
			t.Errorf("%q: got %s, want %s", row, got, want)
		}
	}
	rosa := model.Person{ID: "0a", Name: "Rosa"}
	got := importText(header+"Rosa,2026-05-01,vital,weight,61,,\nTomás,2026-05-01,vital,weight,70,,\n", model.Book{Persons: []model.Person{rosa}})
	if len(got.Book.Persons) != 1 || got.Book.Persons[0].Name != "Tomás" || got.Book.Entries[0].Person != "0a" {
		t.Errorf("%+v", got.Book)
	}
}

// A decimal comma belongs to files with semicolons, and only to numbers.
func TestDecimalComma(t *testing.T) {
	head := strings.ReplaceAll(header, ",", ";")
	for row, want := range map[string]string{
		"Rosa;2026-05-01;vital;weight;61,5;;":             "61.5",
		"Rosa;2026-05-01;vital;weight;61.5;;":             "61.5",
		"Rosa;2026-05-01;vital;weight;61;;":               "61",
		"Rosa;2026-05-01;strip;protein;0,3;g/L;":          "0.3",
		"Rosa;2026-05-01;strip;specific-gravity;1,015;;":  "1.015",
		"Rosa;2026-05-01;note;text;61,5;;":                "61,5",
		"Rosa;;pack;kind-of-strip;2,5;;Box A":             "",
		"Rosa;2026-05-01;vital;weight;1.061,5;;":          "1 value not-a-number",
		"Rosa;2026-05-01;vital;weight;1,061,5;;":          "1 value not-a-number",
		"Rosa;2026-05-01;vital;weight;61,;;":              "1 value not-a-number",
		"Rosa;2026-05-01;vital;weight;,5;;":               "1 value not-a-number",
		"Rosa;2026-05-01;lab;creatinine;1,1;mg/dL;a, b,c": "1.1",
	} {
		got := importText(head+row+"\n", model.Book{})
		switch text := outcome(got); {
		case strings.Contains(want, " "):
			if text != want {
				t.Errorf("%q: got %s, want %s", row, text, want)
			}
		case text != "ok":
			t.Errorf("%q: %s", row, text)
		case want == "":
			if got.Book.Packs[0].StripKind != "2,5" {
				t.Errorf("%q: %+v", row, got.Book.Packs)
			}
		case got.Book.Entries[0].Values[0].Text() != want:
			t.Errorf("%q: got %q", row, got.Book.Entries[0].Values[0].Text())
		}
	}
}

// The design's table of kinds and whats, word for word, each with a value
// that is taken and one that is not.
func TestEveryWhat(t *testing.T) {
	words := func(s string) []string { return strings.Fields(s) }
	for _, c := range []struct {
		kind       string
		whats      []string
		good, bad  string // value,unit
		needsLabel bool
	}{
		{"profile", words("birth-date"), "1948-03-09,", "yes,", false},
		{"profile", words("sex"), "male,", "unsure,", false},
		{"profile", words("height"), "162,cm", "1.62,cm", false},
		{"profile", words("language second-language"), "es,", "Spanish please,", false},
		{"profile", words("fluid-limit"), "1500,mL/d", "15,mL/d", false},
		{"profile", words("risk-region"), "north-america,", "usa,", false},
		{"condition", words("diabetes high-blood-pressure heart-failure kidney-disease transplant dialysis single-kidney pregnancy urinary-catheter amputation stones acute-illness"), "start,", "yes,", false},
		{"medicine", words("sglt2-inhibitor acei-or-arb diuretic metformin nsaid anticoagulant insulin vitamin-c"), "end,", "500,mg", false},
		{"strip", words("leukocytes urobilinogen protein blood ketones bilirubin glucose creatinine albumin"), "2+,", "much,", false},
		{"strip", words("leukocytes urobilinogen protein blood ketones bilirubin glucose creatinine albumin"), "15,", "15,furlong", false},
		{"strip", words("nitrite"), "pos,", "3,", false},
		{"strip", words("ph"), "6.5,[pH]", "15,[pH]", false},
		{"strip", words("specific-gravity"), "1.020,", "0.9,", false},
		{"strip", words("pack"), "Box A,", "Box A,{count}", false},
		{"strip", words("seconds-after-dip"), "60,s", "-1,s", false},
		{"strip", words("first-morning after-exercise menstruating feverish drank-a-lot cap-left-off"), "unsure,", "maybe,", false},
		{"lab", words("creatinine"), "97,umol/L", "97,", false},
		{"lab", words("cystatin-c"), "1.1,mg/L", "1.1,", false},
		{"lab", words("egfr"), "54,mL/min/{1.73_m2}", "54,mL/min", false},
		{"lab", words("acr pcr"), "30,mg/mmol", "30,g/L", false},
		{"lab", words("urea"), "7.5,mmol/L", "7.5,g/L", false},
		{"lab", words("potassium"), "4.5,mmol/L", "45,mmol/L", false},
		{"lab", words("sodium"), "140,mmol/L", "14,mmol/L", false},
		{"lab", words("bicarbonate"), "24,meq/L", "240,meq/L", false},
		{"lab", words("calcium"), "2.4,mmol/L", "2.4,mg/dL", false},
		{"lab", words("phosphate"), "1.1,mmol/L", "110,mmol/L", false},
		{"lab", words("albumin"), "38,g/L", "380,g/L", false},
		{"lab", words("haemoglobin"), "12.5,g/dL", "12.5,g/L", false},
		{"lab", words("hba1c"), "48,mmol/mol", "4.8,mmol/mol", false},
		{"lab", words("glucose"), "5.5,mmol/L", "5.5,mg/dL", false},
		{"lab", words("urine-creatinine"), "8,mmol/L", "8,", false},
		{"lab", words("urine-volume"), "1800,mL", "1800,L", false},
		{"lab", words("urine-hours"), "24,", "240,", false},
		{"lab", words("urine-protein"), "0.5,g/(24.h)", "0.5,g", false},
		{"lab", words("rbc-hpf"), "3,", "3,/uL", false},
		{"vital", words("weight"), "61.5,kg", "0,kg", false},
		{"vital", words("systolic"), "142,mm[Hg]", "42,mm[Hg]", false},
		{"vital", words("diastolic"), "88,mm[Hg]", "8,mm[Hg]", false},
		{"vital", words("pulse"), "71,/min", "7,/min", false},
		{"vital", words("temperature"), "37.9,Cel", "379,Cel", false},
		{"symptom", words(`foamy-urine passing-more passing-less passing-none night-urination painful-urination
			visible-blood blood-clots dark-urine ankle-swelling face-swelling breathlessness breathless-at-rest chest-pain
			tiredness poor-focus itching nausea vomiting diarrhoea poor-appetite cramps flank-pain fever shivering confusion
			headache vision-trouble belly-pain yellow-eyes thirst fast-breathing dizziness weakness cloudy-fluid collapse fit
			face-arm-speech drowsiness`), "2,", "4,", false},
		{"fluid", words("drink"), "200,mL", "200,L", false},
		{"fluid", words("urine"), "0,mL", "-5,mL", false},
		{"fluid", words("urine-hours"), "8,h", "8,min", false},
		{"pack", words("use-by"), "2027-02,", "soon,", true},
		{"pack", words("opened-on"), "2026-10-01,", "yesterday,", true},
		{"pack", words("days-after-opening strips"), "90,", "0,", true},
		{"pack", words("sealed"), "tub,", "box,", true},
		{"pack", words("kind-of-strip"), "generic-10,", "generic-10,{count}", true},
		{"answer", words("dilute-sample"), "doctor-knows,", "ok,", false},
		{"note", words("text"), "a word,", ",", false},
		// Ours, beyond the design.
		{"strip", words("took-vitamin-c"), "yes,", "1,", false},
		{"pack", words("lot currency"), "AB12,", ",", true},
		{"pack", words("price"), "9.90,", "cheap,", true},
	} {
		for _, what := range c.whats {
			label := ""
			if c.needsLabel {
				label = "Box A"
			}
			row := func(v string) string {
				return header + strings.Join([]string{"Rosa", "2026-05-01", c.kind, what, v, label}, ",") + "\n"
			}
			if got := importText(row(c.good), model.Book{}); outcome(got) != "ok" {
				t.Errorf("%s %s %s: %s", c.kind, what, c.good, outcome(got))
			}
			if got := importText(row(c.bad), model.Book{}); !strings.HasPrefix(outcome(got), "1 value ") && !strings.HasPrefix(outcome(got), "1 unit ") {
				t.Errorf("%s %s %s: %s", c.kind, what, c.bad, outcome(got))
			}
		}
	}
}

// Defaults for an empty unit, as the design lists them.
func TestDefaultUnits(t *testing.T) {
	for item, want := range map[string]string{
		"strip protein": "mg/dL", "strip glucose": "mg/dL", "strip ketones": "mg/dL", "strip creatinine": "mg/dL", "strip albumin": "mg/L",
		"profile height": "cm", "profile fluid-limit": "mL/d", "vital weight": "kg", "vital systolic": "mm[Hg]", "vital diastolic": "mm[Hg]",
		"vital pulse": "/min", "vital temperature": "Cel", "fluid drink": "mL", "fluid urine": "mL",
	} {
		kind, what, _ := strings.Cut(item, " ")
		value := map[string]string{"fluid-limit": "1500", "height": "162", "temperature": "37"}[what]
		if value == "" {
			value = "100"
		}
		got := importText(header+"Rosa,2026-05-01,"+kind+","+what+","+value+",,\n", model.Book{})
		if outcome(got) != "ok" || got.Book.Rows()[0].Unit != want {
			t.Errorf("%s: %s %+v", item, outcome(got), got.Book.Rows())
		}
	}
}

func TestGrouping(t *testing.T) {
	got := importText(header+
		"Rosa,2026-05-01 07:30,strip,protein,1+,,\n"+
		"Tomás,2026-05-01 07:30,strip,protein,neg,,\n"+
		"Rosa,2026-05-01 07:30,vital,systolic,142,,\n"+
		"Rosa,2026-05-01 07:30,strip,blood,neg,,\n"+
		"Rosa,2026-05-01 07:30,vital,diastolic,88,,\n"+
		"Rosa,2026-05-01,strip,protein,trace,,\n"+
		"Rosa,2026-05-01 07:30,lab,potassium,4.5,mmol/L,\n"+
		"Rosa,2026-05-01 07:30,lab,sodium,140,mmol/L,\n"+
		"Rosa,2026-05-01 07:30,strip,pack,Box A,,\n"+
		",,pack,strips,50,,Box A\n", model.Book{})
	if outcome(got) != "ok" || got.Rows != 10 || got.Accepted != 10 {
		t.Fatal(outcome(got))
	}
	var sizes []string
	for _, e := range got.Book.Entries {
		sizes = append(sizes, fmt.Sprint(e.Kind, " ", len(e.Values)))
	}
	if want := []string{"strip 2", "strip 1", "vital 2", "strip 1", "lab 1", "lab 1"}; !slices.Equal(sizes, want) {
		t.Errorf("got %v, want %v", sizes, want)
	}
	if e := got.Book.Entries[0]; e.Pack == "" || e.Pack != got.Book.Packs[0].ID {
		t.Errorf("the test is not tied to its pack: %+v", e)
	}
}

// Reading a table into the book it came from refuses every row and adds
// nothing; what is new in it is taken.
func TestReadingTwiceChangesNothing(t *testing.T) {
	text := header +
		"Rosa,2026-05-01 07:30,vital,weight,61,,\n" +
		"Rosa,2026-05-01,fluid,drink,200,,tea\n" +
		"Rosa,2026-05-01,fluid,drink,200,,tea\n" +
		"Rosa,2026-05-01,lab,creatinine,97,umol/L,\n" +
		"Rosa,,profile,sex,female,,\n" +
		",,pack,strips,50,,Box A\n"
	first := importText(text, model.Book{})
	if outcome(first) != "ok" {
		t.Fatal(outcome(first))
	}
	again := importText(text+"Rosa,2026-05-01,fluid,drink,200,,tea\nRosa,2026-05-02,fluid,drink,200,,tea\n", first.Book)
	if again.Rows != 8 || again.Accepted != 2 || len(again.Book.Entries) != 2 || len(again.Book.Packs) != 0 || len(again.Book.Persons) != 0 {
		t.Errorf("%s: %+v", outcome(again), again.Book)
	}
	for _, r := range again.Refused {
		if r.Why.Key != "problem.already-there" {
			t.Error(r)
		}
	}
}

func TestARefusedPackValueIsNotTaken(t *testing.T) {
	got := importText(header+",,pack,use-by,2026-12,,Box A\n,,pack,use-by,2030-12,,Box A\n", model.Book{})
	if len(got.Book.Packs) != 1 || got.Book.Packs[0].UseByText != "2026-12" {
		t.Errorf("%+v", got.Book.Packs)
	}
}

func TestRefusalsComeInOrder(t *testing.T) {
	got := importText(header+"Rosa,x,vital,weight,61,,\nx\nRosa,2026-05-01,vital,weight,61,,\nRosa,2026-05-01,vital,weight,62,,\ny,z\n", model.Book{})
	if want := "1 when when-form; 2  row-fields; 4 what twice; 5  row-fields"; outcome(got) != want || got.Rows != 5 || got.Accepted != 1 {
		t.Errorf("%d %d %s", got.Rows, got.Accepted, outcome(got))
	}
}

func TestARefusedFileGivesNothing(t *testing.T) {
	got := importText(header+"Rosa,2026-05-01,vital,weight,61,,\n\"", model.Book{})
	if got.FileRefused == nil || !reflect.DeepEqual(got, Result{FileRefused: got.FileRefused}) {
		t.Errorf("%+v", got)
	}
}

// A table read again after it was put right says what is there and what is not:
// half a pressure that was saved is no reason to call the other half known.
func TestWhatIsThereOtherwise(t *testing.T) {
	rows := func(dia string) string {
		return header + "Rosa,2026-05-01 07:30,vital,systolic,142,,\nRosa,2026-05-01 07:30,vital,diastolic," + dia + ",,\n"
	}
	both := importText(rows("150"), model.Book{})
	if got := outcome(both); got != "1 value pressure-order; 2 value pressure-order" || len(both.Book.Entries) != 0 {
		t.Fatal(got, both.Book.Entries)
	}
	first := importText(header+"Rosa,2026-05-01 07:30,vital,systolic,142,,\n", model.Book{})
	if got := outcome(importText(rows("88"), first.Book)); got != "1 when already-there; 2 when other-there" {
		t.Error(got)
	}
	whole := importText(rows("88"), model.Book{}).Book
	if got := outcome(importText(rows("89"), whole)); got != "1 when already-there; 2 when other-there" {
		t.Error(got)
	}
	if got := outcome(importText(rows("88"), whole)); got != "1 when already-there; 2 when already-there" {
		t.Error(got)
	}
}

// A table that names one person may be read as somebody of the household.
func TestImportAs(t *testing.T) {
	ours := importText(header+"Rosa,2026-05-01,vital,weight,61,,\n", model.Book{}).Book
	as := func(whose, text string) Result {
		return ImportAs(whose, strings.NewReader(header+text), ours, madrid, noon, booktest.IDs(), nil)
	}
	one := "R. Example,2026-06-01,vital,weight,62,,\n,,pack,strips,50,,Box A\n"
	if got := as("Rosa", one); len(got.Book.Persons) != 0 || got.Book.Entries[0].Person != ours.Persons[0].ID || !slices.Equal(got.Names, []string{"R. Example"}) || got.Book.Packs[0].Person != "" {
		t.Errorf("%+v", got)
	}
	if got := as("", one); len(got.Book.Persons) != 1 {
		t.Errorf("%+v", got)
	}
	if got := as("Rosa", one+"Anna,2026-06-01,vital,weight,62,,\n"); len(got.Book.Persons) != 2 {
		t.Errorf("two persons were made one: %+v", got)
	}
}
