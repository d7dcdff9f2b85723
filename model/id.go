package model

import (
	"encoding/hex"
	"fmt"
	"io"
)

// ID is a random identity of 128 bits in hexadecimal. Two copies of a book
// can be merged later because identities never depend on order or machine.
type ID string

// NewID reads 16 bytes of randomness from r.
func NewID(r io.Reader) (ID, error) {
	var b [16]byte
	if _, err := io.ReadFull(r, b[:]); err != nil {
		return "", fmt.Errorf("drawing an identity: %w", err)
	}
	return ID(hex.EncodeToString(b[:])), nil
}
