package fhir

import (
	"bytes"
	"compress/gzip"
	"encoding/json"
	"fmt"
	"os"
	"slices"
	"strings"
	"testing"

	"github.com/santhosh-tekuri/jsonschema/v6"

	"quietwater/app/exchange/booktest"
	"quietwater/model"
	"quietwater/model/household"
)

// schema is HL7's JSON schema of R4, as testdata/README.md says.
func schema(t testing.TB) *jsonschema.Schema {
	t.Helper()
	packed, err := os.ReadFile("testdata/fhir.schema.json.gz")
	if err != nil {
		t.Fatal(err)
	}
	plain, err := gzip.NewReader(bytes.NewReader(packed))
	if err != nil {
		t.Fatal(err)
	}
	doc, err := jsonschema.UnmarshalJSON(plain)
	if err != nil {
		t.Fatal(err)
	}
	c := jsonschema.NewCompiler()
	if err := c.AddResource("http://hl7.org/fhir/json-schema/4.0", doc); err != nil {
		t.Fatal(err)
	}
	s, err := c.Compile("http://hl7.org/fhir/json-schema/4.0")
	if err != nil {
		t.Fatal(err)
	}
	return s
}

func valid(s *jsonschema.Schema, text string) error {
	doc, err := jsonschema.UnmarshalJSON(strings.NewReader(text))
	if err != nil {
		return err
	}
	return s.Validate(doc)
}

// required is what R4's StructureDefinitions (profiles-resources.json, 4.0.1)
// ask of the resources we write, beyond what the JSON schema holds to: elements
// with a minimum of one, and codes of required value sets.
var required = []struct {
	resource, path string
	words          []string // the required value set, nil for any
	optional       bool     // the element may be missing; if there, of the set
}{
	{"Bundle", "type", []string{"document", "message", "transaction", "transaction-response", "batch", "batch-response", "history", "searchset", "collection"}, false},
	{"Observation", "status", []string{"registered", "preliminary", "final", "amended", "corrected", "cancelled", "entered-in-error", "unknown"}, false},
	{"Observation", "code", nil, false},
	{"Observation", "component.code", nil, false},
	{"DiagnosticReport", "status", []string{"registered", "partial", "preliminary", "final", "amended", "corrected", "appended", "cancelled", "entered-in-error", "unknown"}, false},
	{"DiagnosticReport", "code", nil, false},
	{"Condition", "subject.reference", nil, false},
	{"Condition", "clinicalStatus.coding.code", []string{"active", "recurrence", "relapse", "inactive", "remission", "resolved"}, true},
	{"MedicationStatement", "status", []string{"active", "completed", "entered-in-error", "intended", "stopped", "on-hold", "unknown", "not-taken"}, false},
	{"MedicationStatement", "subject.reference", nil, false},
	{"MedicationStatement", "medicationCodeableConcept", nil, false},
	{"Device", "deviceName.name", nil, false},
	{"Device", "deviceName.type", []string{"udi-label-name", "user-friendly-name", "patient-reported-name", "manufacturer-name", "model-name", "other"}, false},
	{"Device", "property.type", nil, false},
	{"Patient", "gender", []string{"male", "female", "other", "unknown"}, true},
	{"Patient", "communication.language", nil, false},
	// Types: datatypes of the same release.
	{"Observation", "valueQuantity.comparator", []string{"<", "<=", ">=", ">"}, true},
	{"Observation", "note.text", nil, false},
}

// elements finds what lies at a path, through lists; missing says that a parent
// is there without it.
func elements(n node, path string) (found []any, missing bool) {
	head, rest, deeper := strings.Cut(path, ".")
	v, ok := n[head]
	if !ok {
		return nil, true
	}
	all, isList := v.([]any)
	if !isList {
		all = []any{v}
	}
	if !deeper {
		return all, false
	}
	for _, v := range all {
		if child, ok := v.(node); ok {
			f, m := elements(child, rest)
			found, missing = append(found, f...), missing || m
		}
	}
	return found, missing
}

// flaws are the breaches of [required] in one resource, and of the invariants
// of R4 that our resources could break.
func flaws(n node) (out []string) {
	kind := n.text("resourceType")
	say := func(format string, args ...any) { out = append(out, kind+": "+fmt.Sprintf(format, args...)) }
	for _, r := range required {
		if r.resource != kind {
			continue
		}
		parent, _, nested := strings.Cut(r.path, ".")
		found, missing := elements(n, r.path)
		if missing && !r.optional && (!nested || n.has(parent) || r.path == "subject.reference") {
			say("%s is missing", r.path)
		}
		for _, v := range found {
			if s, _ := v.(string); r.words != nil && !slices.Contains(r.words, s) {
				say("%s is %v", r.path, v)
			}
		}
	}
	status := ""
	for _, c := range n.object("clinicalStatus").list("coding") {
		status = c.text("code")
	}
	if kind == "Condition" && n.has("abatementDateTime") && !slices.Contains([]string{"inactive", "resolved", "remission"}, status) {
		say("con-4: abated, and %s", status)
	}
	if p := n.object("effectivePeriod"); p.text("start") != "" && p.text("end") != "" && p.text("start")[:10] > p.text("end")[:10] {
		say("per-1: %v", p)
	}
	for _, c := range n.list("component") {
		if fmt.Sprint(c["code"]) == fmt.Sprint(n["code"]) {
			say("obs-7: the code of a component is its own")
		}
	}
	return out
}

// whole checks a bundle as a whole: each resource, that names are given once
// (bdl-7), and that what is referred to is there.
func whole(t testing.TB, text string) (out []string) {
	names := map[string]bool{}
	var refs []string
	var walk func(v any)
	walk = func(v any) {
		switch v := v.(type) {
		case node:
			if r := v.text("reference"); r != "" {
				refs = append(refs, r)
			}
			for _, child := range v {
				walk(child)
			}
		case []any:
			for _, child := range v {
				walk(child)
			}
		}
	}
	err := parse(strings.NewReader(text), func(url string, n node) {
		if names[url] || url == "" {
			out = append(out, "bdl-7: "+url)
		}
		names[url] = true
		out = append(out, flaws(n)...)
		walk(n)
	})
	if err != nil {
		t.Fatal(err)
	}
	for _, r := range refs {
		if !names[r] {
			out = append(out, "nothing is called "+r)
		}
	}
	return out
}

// What we write is R4, by HL7's own schema and by what the schema leaves out.
func TestWritesR4(t *testing.T) {
	s := schema(t)
	books := []model.Book{{}, household.Demo(noon).Book}
	for seed := range uint64(150) {
		books = append(books, booktest.New(seed).Book())
	}
	seen := map[string]bool{}
	for i, b := range books {
		text := bundle(t, b)
		if err := valid(s, text); err != nil {
			t.Fatalf("book %d: %v\n%s", i, err, text)
		}
		for _, flaw := range whole(t, text) {
			t.Errorf("book %d: %s", i, flaw)
		}
		parse(strings.NewReader(text), func(_ string, n node) { seen[n.text("resourceType")] = true })
	}
	for _, kind := range []string{"Patient", "Observation", "DiagnosticReport", "Condition", "MedicationStatement", "Device"} {
		if !seen[kind] {
			t.Errorf("no %s was checked", kind)
		}
	}
}

// The checks themselves can fail.
func TestR4CanFail(t *testing.T) {
	s := schema(t)
	good := `{"resourceType":"Observation","status":"final","code":{"text":"x"}}`
	if err := valid(s, good); err != nil {
		t.Fatal(err)
	}
	for _, bad := range []string{
		`{"resourceType":"Observation","status":"done","code":{"text":"x"}}`,
		`{"resourceType":"Observation","status":"final"}`,
		`{"resourceType":"Observation","status":"final","code":{"text":"x"},"effectiveDateTime":"2026-01-02 08:00"}`,
		`{"resourceType":"Observation","status":"final","code":{"text":"x"},"mood":1}`,
		`{"resourceType":"Spoon"}`,
	} {
		if valid(s, bad) == nil {
			t.Errorf("the schema takes %s", bad)
		}
	}
	for _, bad := range []string{
		`{"resourceType":"Observation","code":{"text":"x"}}`,
		`{"resourceType":"Observation","status":"final","code":{"text":"x"},"component":[{"valueString":"a"}]}`,
		`{"resourceType":"Observation","status":"final","code":{"text":"x"},"component":[{"code":{"text":"x"}}]}`,
		`{"resourceType":"Condition","clinicalStatus":{"coding":[{"code":"active"}]},"subject":{"reference":"a"},"abatementDateTime":"2026-01-02"}`,
		`{"resourceType":"Condition"}`, `{"resourceType":"MedicationStatement","status":"active","subject":{"reference":"a"}}`,
		`{"resourceType":"Device","deviceName":[{"name":"a"}]}`, `{"resourceType":"Patient","gender":"f"}`,
	} {
		var n node
		if err := json.Unmarshal([]byte(bad), &n); err != nil {
			t.Fatal(err)
		}
		// As the reader would give it: nested objects as nodes.
		parse(strings.NewReader(`{"resourceType":"Bundle","entry":[{"resource":`+bad+`}]}`), func(_ string, m node) { n = m })
		if len(flaws(n)) == 0 {
			t.Errorf("nothing is wrong with %s", bad)
		}
	}
}
