package backup

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"io"
	"os"
	"regexp"
	"strconv"
	"strings"

	"filippo.io/age"
	"golang.org/x/text/unicode/norm"

	"quietwater/model"
)

// The work of turning a passphrase into a key: 2^18 is age's own choice, about
// a second and 256 MiB; of files from elsewhere 2^22 is taken, some 15 seconds
// and 4 GiB (age's default limit).
const mostWork = 22

// CheckPassphrase refuses, as ErrShort, what is too short to keep anybody out.
// There are no rules about which characters it has.
func CheckPassphrase(p string) error {
	if model.ShortPassphrase(typed(p)) {
		return ErrShort
	}
	return nil
}

// typed is the passphrase as most keyboards write it: an accent may come as a
// character of its own, and the same word must open the file everywhere.
func typed(p string) string { return norm.NFC.String(p) }

const (
	ageIntro = "age-encryption.org/v1\n"
	zipIntro = "PK\x03\x04"
)

// seal gives a writer that encrypts into w, or w itself without a passphrase.
// Only Close tells whether everything arrived.
func seal(w io.Writer, o Options) (io.WriteCloser, error) {
	if o.Passphrase == "" {
		return nopCloser{w}, nil
	}
	r, err := age.NewScryptRecipient(typed(o.Passphrase))
	if err != nil {
		return nil, err
	}
	if o.Work > 0 {
		r.SetWorkFactor(o.Work)
	}
	return age.Encrypt(w, r)
}

type nopCloser struct{ io.Writer }

func (nopCloser) Close() error { return nil }

// opened is a backup file that can be read at any place.
type opened struct {
	io.ReaderAt
	file      *os.File
	fileSize  int64
	size      int64 // of the archive
	encrypted bool
}

func (f *opened) Close() error { return f.file.Close() }

// open opens a backup and reads all of it once: a file that was cut or changed
// anywhere is ErrDamaged before anything is taken out of it.
func open(ctx context.Context, path, passphrase string) (*opened, error) {
	f, err := os.Open(path)
	if err != nil {
		return nil, err
	}
	o, err := openFile(ctx, f, passphrase)
	if err != nil {
		f.Close()
		return nil, err
	}
	return o, nil
}

func openFile(ctx context.Context, f *os.File, passphrase string) (*opened, error) {
	st, err := f.Stat()
	if err != nil {
		return nil, err
	}
	if !st.Mode().IsRegular() {
		return nil, fmt.Errorf("%w: no plain file", ErrForeign)
	}
	head := make([]byte, len(ageIntro))
	n, err := f.ReadAt(head, 0)
	if err != nil && err != io.EOF {
		return nil, err
	}
	o := &opened{ReaderAt: f, file: f, fileSize: st.Size(), size: st.Size()}
	switch {
	case string(head[:n]) == ageIntro:
		o.encrypted = true
		if passphrase == "" {
			return nil, ErrNeedsPassphrase
		}
		o.ReaderAt, o.size, err = unseal(f, st.Size(), passphrase)
		if err != nil {
			return nil, err
		}
		if n, _ := o.ReadAt(head[:len(zipIntro)], 0); string(head[:n]) != zipIntro {
			return nil, fmt.Errorf("%w: no zip inside", ErrForeign)
		}
	case !bytes.HasPrefix(head[:n], []byte(zipIntro)):
		return nil, fmt.Errorf("%w: neither age nor zip", ErrForeign)
	}
	if _, err := io.Copy(io.Discard, reader(ctx, io.NewSectionReader(o, 0, o.size))); err != nil {
		return nil, damagedUnlessSystem(err)
	}
	return o, nil
}

// Encrypted reports whether a file needs a passphrase.
func Encrypted(path string) (bool, error) {
	f, err := os.Open(path)
	if err != nil {
		return false, failed(Opening, err)
	}
	defer f.Close()
	head := make([]byte, len(ageIntro))
	n, err := f.ReadAt(head, 0)
	if err == io.EOF {
		err = nil
	}
	return string(head[:n]) == ageIntro, failed(Opening, err)
}

// Begins reports a file that begins as a backup does, with a passphrase or
// without; what cannot be opened is none.
func Begins(path string) bool {
	f, err := os.Open(path)
	if err != nil {
		return false
	}
	defer f.Close()
	head := make([]byte, len(ageIntro))
	n, _ := f.ReadAt(head, 0)
	return string(head[:n]) == ageIntro || strings.HasPrefix(string(head[:n]), zipIntro)
}

// workLine is the line of an age header that says how much work a passphrase
// takes.
var workLine = regexp.MustCompile(`(?m)^-> scrypt [A-Za-z0-9+/]+ ([0-9]+)$`)

func unseal(f io.ReaderAt, size int64, passphrase string) (io.ReaderAt, int64, error) {
	head := make([]byte, 512)
	n, err := f.ReadAt(head, 0)
	if err != nil && err != io.EOF {
		return nil, 0, err
	}
	work := workLine.FindSubmatch(head[:n])
	if work == nil {
		if bytes.HasPrefix(head[len(ageIntro):n], []byte("-> scrypt")) {
			return nil, 0, fmt.Errorf("%w: its first lines", ErrDamaged)
		}
		return nil, 0, fmt.Errorf("%w: not encrypted with a passphrase", ErrForeign)
	}
	if w, err := strconv.Atoi(string(work[1])); err != nil || w > mostWork {
		return nil, 0, fmt.Errorf("%w: work factor %s", ErrTooMuch, work[1])
	}
	var ids []age.Identity
	for _, p := range passphrases(passphrase) {
		id, err := age.NewScryptIdentity(p)
		if err != nil {
			return nil, 0, err
		}
		id.SetMaxWorkFactor(mostWork)
		ids = append(ids, id)
	}
	r, plain, err := age.DecryptReaderAt(f, size, ids...)
	if none := (*age.NoIdentityMatchError)(nil); errors.As(err, &none) {
		return nil, 0, fmt.Errorf("%w: %w", ErrPassphrase, err)
	}
	if err != nil {
		return nil, 0, damagedUnlessSystem(err)
	}
	return r, plain, nil
}

// passphrases are the ways to spell what was typed: as most keyboards do, and,
// for a file that another tool encrypted, as it came.
func passphrases(p string) []string {
	if t := typed(p); t != p {
		return []string{t, p}
	}
	return []string{p}
}

// damagedUnlessSystem tells what speaks against the file from what speaks of
// the moment: a caller who gave up, a stick that was pulled out.
func damagedUnlessSystem(err error) error {
	var pe *os.PathError
	if errors.Is(err, context.Canceled) || errors.Is(err, context.DeadlineExceeded) || errors.As(err, &pe) {
		return err
	}
	return fmt.Errorf("%w: %w", ErrDamaged, err)
}

// reader stops when the caller gives up.
func reader(ctx context.Context, r io.Reader) io.Reader { return patient{ctx, r} }

type patient struct {
	ctx context.Context
	r   io.Reader
}

func (p patient) Read(b []byte) (int, error) {
	if err := p.ctx.Err(); err != nil {
		return 0, err
	}
	return p.r.Read(b)
}
