package fhir

import (
	"encoding/csv"
	"os"
	"slices"
	"strings"
	"testing"

	"quietwater/model"
)

// elsewhere are codes of our table that codes.csv does not name, or names from
// memory, with where each was confirmed.
var elsewhere = map[string]string{
	"33914-3": "the row of 77147-7 names it; R4's example f205 uses it for MDRD",
	"11502-2": "R4's value set c80-doc-typecodes: Laboratory report",
	"33863-2": "a national R4 guide's list of display names (Cystatin C, Serum or Plasma)",
	"22664-7": "a national R4 profile: Urea [Moles/volume] in Serum or Plasma, bound to mmol/L",
	"34366-5": "public value sets of urine protein: Protein/Creatinine [Ratio] in Urine",
	"59261-8": "public lists that bind it to mmol/mol, as IFCC; the name is from memory",
	"14683-7": "a national R4 order catalogue: Creatinine [Moles/volume] in Urine",
}

func seenCodes(t *testing.T) map[string][]string {
	t.Helper()
	f, err := os.Open("testdata/codes.csv")
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	rows, err := csv.NewReader(f).ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	out := map[string][]string{}
	for _, r := range rows[1:] {
		out[r[1]] = r
	}
	return out
}

// Every code was seen in something published, under the name we give it, and
// with a unit it is published with.
func TestCodesAreSeen(t *testing.T) {
	seen := seenCodes(t)
	all := append(slices.Clone(codes), code{loinc: stripPanel, name: stripName}, code{loinc: pressurePanel, name: pressureName}, code{loinc: labReport, name: labName})
	for _, c := range all {
		row, ok := seen[c.loinc]
		memory := ok && (strings.Contains(row[5], "MEMORY") || strings.Contains(row[5], "from memory"))
		if (!ok || memory) && elsewhere[c.loinc] == "" {
			t.Errorf("%s %s: seen nowhere", c.loinc, c.name)
		}
		if !ok {
			continue
		}
		if name := strings.TrimSpace(strings.Split(row[2], " (")[0]); !strings.HasPrefix(c.name, name) && c.what != "egfr" && !strings.HasPrefix(row[2], "...") {
			t.Errorf("%s is %q, published as %q", c.loinc, c.name, row[2])
		}
		if row[4] == "" && len(c.units) > 0 {
			t.Errorf("%s has the units %v, and is published without any", c.loinc, c.units)
		}
		if row[4] != "" && !slices.ContainsFunc(strings.Split(row[4], " or "), func(u string) bool { return slices.Contains(c.units, u) }) {
			t.Errorf("%s has the units %v, published with %s", c.loinc, c.units, row[4])
		}
	}
}

// Everything that can be recorded has a published code in each of its forms or
// is named as having none: a new item of the catalogue comes up here.
func TestEveryItemHasACode(t *testing.T) {
	for _, it := range model.Items() {
		at := ownCode(it.Kind, it.Code)
		coded := slices.ContainsFunc(codes, func(c code) bool { return !c.readOnly && c.kind == it.Kind && c.what == it.Code })
		none := slices.Contains(unpublished, string(it.Kind)) || slices.Contains(unpublished, at)
		if coded == none {
			t.Errorf("%s: give it a line in codes, or name it in unpublished, and not both", at)
		}
		if coded && it.LOINC != "" && !slices.ContainsFunc(codes, func(c code) bool { return c.loinc == it.LOINC && c.kind == it.Kind && c.what == it.Code }) {
			t.Errorf("%s: the catalogue says %s, and codes does not", at, it.LOINC)
		}
	}
	for _, u := range unpublished {
		kind, what, one := strings.Cut(u, "/")
		if _, ok := model.Find(model.Kind(kind), model.Code(what)); one && !ok || !slices.Contains(model.Kinds(), model.Kind(kind)) {
			t.Errorf("unpublished names %s, which is gone", u)
		}
	}
}

// A code leads to one place, its units are units of that place, and no value
// has two codes to choose from.
func TestCodesAgree(t *testing.T) {
	loincs := map[string]bool{}
	forms := map[string]bool{}
	for _, c := range codes {
		if loincs[c.loinc] {
			t.Errorf("%s stands twice", c.loinc)
		}
		loincs[c.loinc] = true
		it, ok := model.Find(c.kind, c.what)
		if !ok {
			t.Errorf("%s leads nowhere: %s", c.loinc, ownCode(c.kind, c.what))
			continue
		}
		if len(c.units) == 0 && it.Takes != model.GradeWord && it.Takes != model.GradeOrNumber {
			t.Errorf("%s: %s takes no grade", c.loinc, it.Code)
		}
		for _, u := range c.units {
			if _, ok := it.Unit(u); !ok && !(len(it.Units) == 1 && it.Units[0].UCUM == "") {
				t.Errorf("%s: %s is no unit of %s", c.loinc, u, it.Code)
			}
			if form := ownCode(c.kind, c.what) + " " + u; !c.readOnly && forms[form] && form != "lab/acr mg/g" && form != "lab/pcr mg/g" {
				t.Errorf("%s could be written in two ways", form)
			} else {
				forms[form] = forms[form] || !c.readOnly
			}
		}
	}
}
