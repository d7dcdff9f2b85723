package cli

import (
	"bytes"
	"context"
	"encoding/json"
	"os"
	"path/filepath"
	"strings"
	"testing"
)

// shots is the public set of photographs.
const shots = "../../model/photo/testdata/public/"

func runRead(t *testing.T, args ...string) (lines []readJSON, words string, code int) {
	t.Helper()
	var out, errs bytes.Buffer
	code = Run(context.Background(), world(&out, &errs), append([]string{"read"}, args...))
	for _, l := range strings.Split(strings.TrimSpace(out.String()), "\n") {
		if l == "" {
			continue
		}
		var r readJSON
		if err := json.Unmarshal([]byte(l), &r); err != nil {
			t.Fatalf("%v: %s", err, l)
		}
		lines = append(lines, r)
	}
	return lines, errs.String(), code
}

func TestRead(t *testing.T) {
	words := filepath.Join(t.TempDir(), "letter.jpg")
	if err := os.WriteFile(words, []byte("Dear doctor"), 0o600); err != nil {
		t.Fatal(err)
	}
	got, said, code := runRead(t, "--strip", shots+"layouts/C.json", shots+"p016.jpg", words, shots+"p024.jpg", "gone.jpg")
	if code != Refused || len(got) != 2 || !strings.Contains(said, "letter.jpg: This file is not a picture.") || !strings.Contains(said, "there is no file gone.jpg") {
		t.Fatalf("%d %v %s", code, got, said)
	}
	if r := got[0]; r.File != "p016.jpg" || r.Status != "read" || r.Pads["albumin"].Block != 0 || r.Pads["albumin"].Value != "10" || r.Pads["creatinine"].Value != "100" {
		t.Errorf("%+v", r)
	}
	if r := got[1]; r.Status != "refused" || r.Reason != "other-chart" || !strings.HasPrefix(r.Why, "This looks like the chart of another strip.") || len(r.Pads) != 0 {
		t.Errorf("%+v", r)
	}
	// A picture that is refused is an answer; a pad with a reflection is left out.
	got, said, code = runRead(t, "--strip", shots+"layouts/B.json", "--lang", "es", "--marks", shots+"tasks.jsonl", shots+"p029.jpg", shots+"p005.jpg")
	if code != OK || said != "" || got[0].Status != "partial" || !strings.HasPrefix(got[0].Left["creatinine"], "Hay un reflejo") || got[1].Status != "refused" {
		t.Errorf("%d %+v %s", code, got, said)
	}
}

func TestReadWrongCalls(t *testing.T) {
	odd := filepath.Join(t.TempDir(), "odd.json")
	if err := os.WriteFile(odd, []byte(`{"format":1,"id":"x","chart":{"w_mm":90,"h_mm":50,"rows":[]},"strip":{}}`), 0o600); err != nil {
		t.Fatal(err)
	}
	for _, c := range []struct {
		args []string
		code int
		said string
	}{
		{[]string{shots + "p016.jpg"}, Usage, "--strip is missing"},
		{[]string{"--strip", shots + "layouts/C.json"}, Usage, "no photograph"},
		{[]string{"--strip", "gone.json", "x.jpg"}, Refused, "there is no file gone.json"},
		{[]string{"--strip", odd, "x.jpg"}, Refused, "needs 1 to 20 pads"},
		{[]string{"--strip", shots + "README.md", "x.jpg"}, Refused, "reading strip kind"},
		{[]string{"--strip", shots + "layouts/C.json", "--marks", shots + "README.md", "x.jpg"}, Refused, "line 1"},
		{[]string{"--strip", shots + "layouts/C.json", "--lang", "xx", "x.jpg"}, Usage, "--lang"},
	} {
		if _, said, code := runRead(t, c.args...); code != c.code || !strings.Contains(said, c.said) {
			t.Errorf("%v: %d %s", c.args, code, said)
		}
	}
}
