package print

import (
	"bytes"
	"fmt"
	"path/filepath"

	"quietwater/model"
	"quietwater/model/household"
)

// writeLine is how high a line is that somebody writes on by hand, and
// writeLines how many there are for a passphrase.
const writeLine, writeLines = 14.0, 2

// RecoverySheet is one A4 page that goes with a backup: which file it is, how it
// is opened with this program and with any other, and a line for the passphrase.
// The passphrase itself is never on it: whoever locked the file writes it there.
func RecoverySheet(w Words, b household.Backup, made model.When) ([]byte, error) {
	s := newSheet(w)
	s.pdf.SetTitle(s.say("recovery.title"), true)
	s.setFont("B", titlePt)
	s.para(10, s.say("recovery.title"))
	s.pdf.Ln(1)
	s.setFont("", bodyPt)
	s.para(6.5, s.say("recovery.what"))
	s.pdf.Ln(3)
	s.facts([][2]string{
		{"recovery.file", filepath.Base(b.Path)}, {"recovery.folder", filepath.Dir(b.Path)}, {"recovery.made", w.T(model.T("todo.on", "day", made))},
		{"recovery.holds", s.say("backup.n-entries", "n", b.Entries)}, {"", s.say("backup.n-persons", "n", b.Persons)}, {"", s.say("backup.n-pictures", "n", b.Pictures)},
		{"recovery.kept", ""},
	})
	s.pdf.Ln(4)
	if b.Encrypted {
		s.setFont("B", bodyPt)
		s.para(6.5, s.say("recovery.passphrase"))
		s.setFont("", bodyPt)
		s.rule(0.35)
		for range writeLines {
			s.cell(0, writeLine, "", "B", 1, "LM")
		}
		s.pdf.Ln(5)
	}
	s.para(6.5, s.say("recovery.with"))
	s.pdf.Ln(3)
	if b.Encrypted {
		s.para(6.5, s.say("recovery.without"))
		s.pdf.Ln(1)
		s.para(6.5, `age --decrypt --output backup.zip "`+filepath.Base(b.Path)+`"`)
		s.pdf.Ln(1)
		s.para(6.5, s.say("recovery.then"))
	} else {
		s.para(6.5, s.say("recovery.plain"))
	}
	var out bytes.Buffer
	if err := s.pdf.Output(&out); err != nil {
		return nil, fmt.Errorf("making the recovery sheet: %w", err)
	}
	return out.Bytes(), nil
}

// facts are names and what they stand for; a long path goes on below, and an
// empty one is a line to write on.
func (s *sheet) facts(list [][2]string) {
	label := 0.0
	for _, l := range list {
		if l[0] != "" {
			label = max(label, s.wide(s.say(l[0]))+gap)
		}
	}
	s.rule(0.2)
	for _, l := range list {
		name := ""
		if l[0] != "" {
			name = s.say(l[0])
		}
		if l[1] == "" {
			s.cell(label, 9.5, name, "", 0, "LM")
			s.cell(0, 9.5, "", "B", 1, "LM")
			continue
		}
		for i, part := range s.lines(s.printable(l[1]), s.paper.Wide-2*s.margin-label) {
			if i > 0 {
				name = ""
			}
			s.cell(label, 6.5, name, "", 0, "LM")
			s.cell(0, 6.5, part, "", 1, "LM")
		}
	}
}
