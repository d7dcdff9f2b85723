// Package fhir carries a household book out as a bundle of HL7 FHIR R4 and
// takes in what a laboratory's portal gives out in the same dialect.
//
// It owns which of our words is which published code, and the shape of the
// resources. It refuses to know SQL and screens, fetches nothing a file points
// to, and guesses neither a code nor a unit.
package fhir

import (
	"crypto/sha256"
	"encoding/hex"
	"fmt"
	"regexp"
	"strings"

	"quietwater/model"
)

// The systems of codes a file of ours names. Ours are URNs: they lead nowhere.
const (
	loinc     = "http://loinc.org"
	ucum      = "http://unitsofmeasure.org"
	bcp47     = "urn:ietf:bcp:47"
	sysWhat   = "urn:quietwater:what"  // "kind/what" of the plain table, or "kind" of a whole event
	sysValue  = "urn:quietwater:value" // a grade or word of the plain table
	sysPerson = "urn:quietwater:person"
	sysPack   = "urn:quietwater:pack"
	sysEntry  = "urn:quietwater:entry"
	hl7       = "http://terminology.hl7.org/CodeSystem/"
)

// What FHIR has no place for stands in extensions.
const (
	extWhen  = "urn:quietwater:when"  // a time whose offset FHIR does not write (beyond 14 hours), or the day that stands for a start nobody knows
	extTyped = "urn:quietwater:typed" // a number as it was typed, where FHIR writes it otherwise
	extNote  = "urn:quietwater:note"  // the note of a component
	extOf    = "urn:quietwater:of"    // which of start and end a note is of
)

// score stands for the unit of a symptom, which has none in the plain table.
const score = "{score}"

// ownCode is the place of the plain table as a code of our own.
func ownCode(k model.Kind, c model.Code) string { return string(k) + "/" + string(c) }

// urn names a resource by what it is made of, so that the same book gives the
// same names (a name-based UUID of version 8, RFC 9562).
func urn(parts ...string) string {
	sum := sha256.Sum256([]byte(strings.Join(parts, "\x00")))
	b := sum[:16]
	b[6], b[8] = b[6]&0x0f|0x80, b[8]&0x3f|0x80
	h := hex.EncodeToString(b)
	return fmt.Sprintf("%s-%s-%s-%s-%s", h[:8], h[8:12], h[12:16], h[16:20], h[20:])
}

// fhirTime is what a dateTime of R4 may be of what we keep: it writes offsets
// up to 14 hours.
var fhirTime = regexp.MustCompile(`^\d{4}-\d\d-\d\d(T\d\d:\d\d:\d\d(\.\d+)?(Z|[+-](0\d|1[0-3]):[0-5]\d|[+-]14:00))?$`)

// decimal is how FHIR writes a number; like JSON, without leading zeros.
var decimal = regexp.MustCompile(`^-?(0|[1-9][0-9]*)(\.[0-9]+)?$`)

// plainDecimal takes the leading zeros of a typed number away.
func plainDecimal(typed string) string {
	sign := ""
	if strings.HasPrefix(typed, "-") {
		sign, typed = "-", typed[1:]
	}
	for len(typed) > 1 && typed[0] == '0' && typed[1] != '.' {
		typed = typed[1:]
	}
	return sign + typed
}
