package household

import (
	"encoding/json"

	"quietwater/model"
)

// SetDoctor is the key of how the page for the doctor was last asked for;
// setAsks begins the key of what one person wants to ask there.
const (
	SetDoctor = "page-for-doctor"
	setAsks   = "asks/"
)

// DoctorPage is how the household asks for the page for the doctor.
type DoctorPage struct {
	Months   int    // since how long ago
	Language string // the doctor's, BCP 47; "" for the household's first
	Copy     bool   // the same side in the household's first language too
	Letter   bool   // paper of that size instead of A4
	More     bool   // charts and tables on sides after the first
}

// DoctorPage is how it was asked for the last time; at first six months on A4.
func (r Records) DoctorPage() DoctorPage {
	d := DoctorPage{}
	_ = json.Unmarshal([]byte(r.Settings[SetDoctor]), &d) // what cannot be read any more is nothing
	if d.Months < 1 {
		d.Months = 6
	}
	return d
}

// KeepDoctorPage is the change that keeps it.
func KeepDoctorPage(d DoctorPage) Changes { return kept(SetDoctor, d) }

// Asks are the questions one person wants to ask the doctor.
func (r Records) Asks(person model.ID) []string {
	var asks []string
	_ = json.Unmarshal([]byte(r.Settings[setAsks+string(person)]), &asks)
	return asks
}

// KeepAsks is the change that keeps them.
func KeepAsks(person model.ID, asks []string) Changes { return kept(setAsks+string(person), asks) }
