package finding_test

import (
	"slices"
	"testing"

	"quietwater/model/finding"
)

// TestUnread: what no rule judges is named, what one judges is not, and what is
// older than rules look back is left alone.
func TestUnread(t *testing.T) {
	c := readCase(t, "testdata/unread.txt")
	got := judge(t, "testdata/unread.txt", c).Unread()
	want := []finding.Item{{Kind: "lab", Code: "sodium"}, {Kind: "vital", Code: "pulse"}}
	if !slices.Equal(got, want) {
		t.Errorf("got %v, want %v", got, want)
	}
}
