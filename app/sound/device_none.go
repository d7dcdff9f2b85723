//go:build !cgo && !windows && !darwin

package sound

import "fmt"

// theDevice has nothing to open: on this system the sound library needs cgo.
func theDevice() (device, error) {
	return nil, fmt.Errorf("%w: this build has no sound", ErrSilent)
}
