package main

import (
	"context"
	"os"
	"path/filepath"

	"quietwater/model"
	"quietwater/ui"
)

// Removed lists who was removed and can still be brought back.
func (h *home) Removed() []model.Person {
	out, err := h.Session.Removed(context.Background())
	if err != nil {
		return nil // the page is then without them; whatever is tried next says why
	}
	return out
}

// CopiesOf lists the safe copies that hold a person, and the books set aside.
func (h *home) CopiesOf(p model.ID) ([]ui.SafeCopy, error) {
	copies, err := h.Session.Knowing(context.Background(), p)
	if err != nil {
		return nil, err
	}
	var out []ui.SafeCopy
	for _, c := range copies {
		out = append(out, ui.SafeCopy{When: model.At(c.Time.In(h.Now().Location())), Entries: c.Entries, Unreadable: c.Err != nil})
	}
	return out, nil
}

// Erase takes a person out of the book for good.
func (h *home) Erase(p model.ID, copies bool) error {
	return h.Session.Forget(context.Background(), p, copies)
}

// Papers is the folder of papers beside the book, once there is something in it.
func (h *home) Papers() string {
	if h.Path() == "" {
		return ""
	}
	dir := filepath.Join(h.dir, sheets)
	if list, err := os.ReadDir(dir); err != nil || len(list) == 0 {
		return ""
	}
	return dir
}

// sheets is the folder beside the book for papers.
const sheets = "sheets"

// papers is a folder beside the book, or for the invented household one of the
// system that goes when the program ends.
func (h *home) papers() (string, error) {
	if h.Path() == "" {
		return h.run.passing()
	}
	dir := filepath.Join(h.dir, sheets)
	return dir, os.MkdirAll(dir, 0o700)
}

// passing is a private folder (0700) for what goes when the program ends.
func (r *running) passing() (string, error) {
	r.temped.Lock()
	defer r.temped.Unlock()
	if r.temp != "" {
		return r.temp, nil
	}
	dir, err := os.MkdirTemp("", "quietwater-")
	if err == nil {
		r.temp = dir
	}
	return dir, err
}

// sweep removes it.
func (r *running) sweep() {
	r.temped.Lock()
	defer r.temped.Unlock()
	if r.temp != "" {
		os.RemoveAll(r.temp)
	}
}
