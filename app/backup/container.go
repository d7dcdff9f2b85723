package backup

import (
	"archive/zip"
	"context"
	"crypto/sha256"
	"encoding/binary"
	"encoding/hex"
	"encoding/json"
	"errors"
	"fmt"
	"hash/crc32"
	"io"
	"os"
	"path/filepath"
	"strings"
	"time"

	"quietwater/app/store"
)

// The names in the archive; every other is a picture's.
const (
	readmeName   = "README.txt"
	manifestName = "manifest.json"
	bookName     = "household.book"
	pictureDir   = "pictures/"
)

// The format's name and version, in every manifest.
const (
	format        = "quietwater-backup"
	formatVersion = 1
)

// Limits against files made to fill a disk. Nothing in the archive is
// compressed, and together it may not be longer than the archive, so that a
// small file can never become a large one; what is left to limit is what is
// held in memory, and what one thing may be.
const (
	mostFiles     = 100_000 + 3 // pictures: ten years of 27 a day; the usual 1,000 for archives would be four months of a household of four
	mostManifest  = 32 << 20    // a line of 150 bytes for each
	mostDirectory = 32 << 20
	mostBook      = 4 << 30  // ten years of 30 entries a day are 30 MB
	mostPicture   = 64 << 20 // photographs are refused above 25 MB before they are kept
)

// manifest says what must be in the archive.
type manifest struct {
	Format  string    `json:"format"`
	Version int       `json:"version"`
	Made    time.Time `json:"made"`
	Program string    `json:"program"`
	Counts  Counts    `json:"counts"`
	Files   []listed  `json:"files"` // all but itself
}

type listed struct {
	Name   string `json:"name"`
	Size   int64  `json:"size"`
	SHA256 string `json:"sha256"`
}

// part is one file on its way into the archive.
type part struct {
	listed
	crc  uint32
	open func() (io.ReadCloser, error)
}

func bytesPart(name string, content []byte) part {
	sum := sha256.Sum256(content)
	return part{listed{name, int64(len(content)), hex.EncodeToString(sum[:])}, crc32.ChecksumIEEE(content),
		func() (io.ReadCloser, error) { return io.NopCloser(strings.NewReader(string(content))), nil }}
}

// filePart reads a file once for its sums. They stand before its content in the
// archive, which some tools that open archives want.
func filePart(ctx context.Context, name, path string) (part, [sha256.Size]byte, error) {
	var sum [sha256.Size]byte
	f, err := os.Open(path)
	if err != nil {
		return part{}, sum, err
	}
	defer f.Close()
	sha, crc := sha256.New(), crc32.NewIEEE()
	n, err := io.Copy(io.MultiWriter(sha, crc), reader(ctx, f))
	sha.Sum(sum[:0])
	return part{listed{name, n, hex.EncodeToString(sum[:])}, crc.Sum32(), func() (io.ReadCloser, error) { return os.Open(path) }}, sum, err
}

// pack writes the archive.
func pack(ctx context.Context, w io.Writer, m manifest, parts []part) error {
	list, err := json.MarshalIndent(m, "", " ")
	if err != nil {
		return err
	}
	if len(parts)+1 > mostFiles || len(list) > mostManifest {
		return fmt.Errorf("%w: %d files", ErrTooMuch, len(parts))
	}
	z := zip.NewWriter(w)
	for _, p := range append([]part{parts[0], bytesPart(manifestName, list)}, parts[1:]...) {
		if err := packPart(ctx, z, p, m.Made); err != nil {
			return err
		}
	}
	return z.Close()
}

func packPart(ctx context.Context, z *zip.Writer, p part, made time.Time) error {
	if p.Size > mostOf(p.Name) {
		return fmt.Errorf("%w: %s has %d bytes", ErrTooMuch, p.Name, p.Size)
	}
	h := &zip.FileHeader{Name: p.Name, Method: zip.Store, CRC32: p.crc, CompressedSize64: uint64(p.Size), UncompressedSize64: uint64(p.Size)}
	h.SetMode(0o600)
	//lint:ignore SA1019 CreateRaw writes these two, and not Modified
	h.ModifiedDate = uint16(made.Day() + int(made.Month())<<5 + max(0, made.Year()-1980)<<9) // as MS-DOS wrote them
	//lint:ignore SA1019 as above
	h.ModifiedTime = uint16(made.Second()/2 + made.Minute()<<5 + made.Hour()<<11)
	w, err := z.CreateRaw(h)
	if err != nil {
		return err
	}
	in, err := p.open()
	if err != nil {
		return fmt.Errorf("%w: %w", ErrChanged, err)
	}
	defer in.Close()
	n, err := io.Copy(w, reader(ctx, in))
	if err == nil && n != p.Size {
		err = fmt.Errorf("%w: %s", ErrChanged, p.Name)
	}
	return err
}

func mostOf(name string) int64 {
	switch name {
	case readmeName:
		return 1 << 20
	case manifestName:
		return mostManifest
	case bookName:
		return mostBook
	}
	return mostPicture
}

// archive is an opened archive whose list and names were found good.
type archive struct {
	manifest manifest
	files    map[string]*zip.File
}

// readArchive looks at everything but the contents. It does not trust a word.
func readArchive(r io.ReaderAt, size int64) (*archive, error) {
	if err := checkDirectory(r, size); err != nil {
		return nil, err
	}
	z, err := zip.NewReader(r, size)
	if err != nil {
		return nil, damagedUnlessSystem(err)
	}
	a := &archive{files: map[string]*zip.File{}}
	if len(z.File) > mostFiles {
		return nil, fmt.Errorf("%w: %d files", ErrTooMuch, len(z.File))
	}
	var total uint64
	for _, f := range z.File {
		if err := a.add(f); err != nil {
			return nil, err
		}
		if total += f.UncompressedSize64; total > uint64(size) { // things that lie on top of each other
			return nil, fmt.Errorf("%w: it holds more than it is long", ErrTooMuch)
		}
	}
	return a, a.readManifest()
}

// checkDirectory looks at the end of the archive before the library does, which
// would hold a directory of any length in memory.
func checkDirectory(r io.ReaderAt, size int64) error {
	const endLen, locatorLen, end64Len = 22, 20, 56
	var end [endLen]byte
	if size < endLen {
		return fmt.Errorf("%w: it ends early", ErrDamaged)
	}
	if _, err := r.ReadAt(end[:], size-endLen); err != nil && err != io.EOF {
		return damagedUnlessSystem(err)
	}
	if string(end[:4]) != "PK\x05\x06" || binary.LittleEndian.Uint16(end[20:]) != 0 {
		return fmt.Errorf("%w: it ends early, or another program wrote it", ErrDamaged)
	}
	directory := uint64(binary.LittleEndian.Uint32(end[12:]))
	if directory == 1<<32-1 {
		var end64 [end64Len]byte
		if at := size - endLen - locatorLen - end64Len; at < 0 {
			return fmt.Errorf("%w: its end", ErrDamaged)
		} else if _, err := r.ReadAt(end64[:], at); err != nil && err != io.EOF {
			return damagedUnlessSystem(err)
		}
		if string(end64[:4]) != "PK\x06\x06" {
			return fmt.Errorf("%w: its end", ErrDamaged)
		}
		directory = binary.LittleEndian.Uint64(end64[40:])
	}
	if directory > mostDirectory {
		return fmt.Errorf("%w: a directory of %d bytes", ErrTooMuch, directory)
	}
	return nil
}

func (a *archive) add(f *zip.File) error {
	picture, isPicture := strings.CutPrefix(f.Name, pictureDir)
	known := f.Name == readmeName || f.Name == manifestName || f.Name == bookName || isPicture && store.IsPictureName(picture)
	switch {
	case !known || !filepath.IsLocal(filepath.FromSlash(f.Name)):
		return fmt.Errorf("%w: it holds %q", ErrForeign, f.Name)
	case a.files[f.Name] != nil:
		return fmt.Errorf("%w: %q is there twice", ErrForeign, f.Name)
	case f.Method != zip.Store || f.CompressedSize64 != f.UncompressedSize64 || f.Flags&1 != 0:
		return fmt.Errorf("%w: %q is compressed", ErrForeign, f.Name)
	case f.UncompressedSize64 > uint64(mostOf(f.Name)):
		return fmt.Errorf("%w: %q has %d bytes", ErrTooMuch, f.Name, f.UncompressedSize64)
	}
	a.files[f.Name] = f
	return nil
}

// readManifest reads the list and holds it against the directory.
func (a *archive) readManifest() error {
	f := a.files[manifestName]
	if f == nil {
		return fmt.Errorf("%w: there is no %s in it", ErrForeign, manifestName)
	}
	r, err := f.Open()
	if err != nil {
		return damagedUnlessSystem(err)
	}
	defer r.Close()
	text, err := io.ReadAll(r)
	if err != nil {
		return damagedUnlessSystem(err)
	}
	m := &a.manifest
	if err := json.Unmarshal(text, m); err != nil {
		return fmt.Errorf("%w: %s: %w", ErrDamaged, manifestName, err)
	}
	switch {
	case m.Format != format:
		return fmt.Errorf("%w: a %q", ErrForeign, m.Format)
	case m.Version > formatVersion:
		return fmt.Errorf("%w: version %d of the backup", store.ErrNewer, m.Version)
	case len(m.Files) != len(a.files)-1:
		return fmt.Errorf("%w: %d files instead of %d", ErrDamaged, len(a.files)-1, len(m.Files))
	}
	pictures := 0
	seen := map[string]bool{}
	for _, l := range m.Files {
		f := a.files[l.Name]
		if f == nil || seen[l.Name] || l.Name == manifestName || f.UncompressedSize64 != uint64(l.Size) {
			return fmt.Errorf("%w: %q is not as listed", ErrDamaged, l.Name)
		}
		seen[l.Name] = true
		if strings.HasPrefix(l.Name, pictureDir) {
			pictures++
		}
	}
	if !seen[bookName] || pictures != m.Counts.Pictures {
		return fmt.Errorf("%w: the book, or a picture, is missing", ErrDamaged)
	}
	return nil
}

// takeOut writes what is listed into the folder dir, by its names, and holds
// every byte against the list. Pictures that shall not be kept are only read.
// It gives the number of pictures that were damaged before they came in.
func (a *archive) takeOut(ctx context.Context, dir string, pictures bool) (damaged int, err error) {
	for _, l := range a.manifest.Files {
		picture, isPicture := strings.CutPrefix(l.Name, pictureDir)
		to := ""
		if l.Name == bookName || isPicture && pictures {
			to = filepath.Join(dir, filepath.FromSlash(l.Name))
		}
		sum, err := a.takeOne(ctx, l, to)
		if err != nil {
			return damaged, err
		}
		if isPicture && !store.PictureFits(picture, sum) {
			damaged++
		}
	}
	return damaged, nil
}

func (a *archive) takeOne(ctx context.Context, l listed, to string) (sum [sha256.Size]byte, err error) {
	in, err := a.files[l.Name].Open()
	if err != nil {
		return sum, damagedUnlessSystem(err)
	}
	defer in.Close()
	out := io.WriteCloser(nopCloser{io.Discard})
	if to != "" {
		if err := os.MkdirAll(filepath.Dir(to), 0o700); err != nil {
			return sum, err
		}
		f, err := os.OpenFile(to, os.O_CREATE|os.O_EXCL|os.O_WRONLY, 0o600)
		if err != nil {
			return sum, err
		}
		out = synced{f}
	}
	sha := sha256.New()
	n, err := io.Copy(io.MultiWriter(sha, out), reader(ctx, in))
	if err != nil {
		out.Close()
		return sum, damagedUnlessSystem(err)
	}
	sha.Sum(sum[:0])
	if n != l.Size || hex.EncodeToString(sum[:]) != l.SHA256 {
		err = fmt.Errorf("%w: %q is not as listed", ErrDamaged, l.Name)
	}
	return sum, errors.Join(err, out.Close())
}

// synced is a file that is on the disk once it is closed.
type synced struct{ *os.File }

func (f synced) Close() error { return errors.Join(f.Sync(), f.File.Close()) }

// readme stands in every backup, for whoever opens it without this program.
const readme = `WHAT THIS IS

This is a backup of a household book: what people wrote down at home about
their kidneys (strip tests, blood pressure, weight, drinks, laboratory sheets,
how they felt), and the pictures they kept.

  household.book   the book: a database file in the SQLite format
  pictures/        the pictures, in a folder for each person
  manifest.json    the list of everything in here, with sums (SHA-256) to check
                   that nothing is missing or changed
  README.txt       this page

HOW TO OPEN IT WITH THE PROGRAM

Quietwater, page Household, "Restore from a backup"; or, without a window:

  quietwater restore --from BACKUP --book NEWFILE

HOW TO OPEN IT WITHOUT THE PROGRAM

If you can read this page, the backup is already decrypted. If its name ends in
.age it was encrypted with a passphrase, in the open format age
(https://age-encryption.org/v1); any age tool opens it:

  age --decrypt --output backup.zip BACKUP.zip.age

household.book can be opened with any tool that reads SQLite. The tables person,
entry and value hold what was written down: a value belongs to an entry (value.entry
is entry.n), an entry to a person (entry.person is person.id). Rows with
something in deleted_at had been deleted. Open a copy, and leave this one as it is.

The file holds health records of real people. Please treat it like a letter.
`
