package cli

import (
	"context"
	"fmt"
	"io"

	"quietwater/assets"
)

// version says which program this is, and under which licences all that is in
// it may be passed on.
func version(_ context.Context, w World, args []string) int {
	c := newCommand(w, "version", "version [--licences]")
	all := c.Bool("licences", false, "also the licences of everything in the program")
	if code, done := c.parse(args); done {
		return code
	}
	fmt.Fprintf(w.Stdout, "quietwater %s\n", w.Version)
	if *all {
		if _, err := io.WriteString(w.Stdout, "\n"+assets.LicenceFile()); err != nil {
			return c.refuse("writing the answer: %v", err)
		}
	}
	return OK
}
