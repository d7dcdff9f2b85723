package store

import (
	"context"
	"crypto/rand"
	"database/sql"
	"encoding/binary"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"sync"
	"sync/atomic"
	"time"

	"github.com/gofrs/flock"

	"quietwater/model"
)

// Options say how to open a book. Only Path is needed.
type Options struct {
	Path string
	// Now is the clock; nil means the system's.
	Now func() time.Time
	// Rand gives a new book its identity; nil means the system's randomness.
	Rand io.Reader
	// Zone is where days without a time begin; nil means UTC.
	Zone *time.Location
	// ReadOnly opens any book without lock, change or new file beside it.
	ReadOnly bool
	// Fresh allows a new book where snapshots of a lost one lie.
	Fresh bool
	// Version of the program, kept with each migration.
	Version string

	steps []string
	durability
	copiesFor string // the book beside which private copies lie; "" takes the system's folder for such
}

func (o Options) whole() (Options, error) {
	abs, err := filepath.Abs(o.Path)
	if o.Path == "" || err != nil {
		return o, errors.Join(errors.New("a book needs a path"), err)
	}
	o.Path = abs
	if o.Now == nil {
		o.Now = time.Now
	}
	if o.Rand == nil {
		o.Rand = rand.Reader
	}
	if o.Zone == nil {
		o.Zone = time.UTC
	}
	if o.steps == nil {
		o.steps = steps
	}
	if o.durability == (durability{}) {
		o.durability = safe
	}
	return o, nil
}

// Book is one household's book, open. Its methods may be called from any
// goroutine.
type Book struct {
	// ReadOnlyReason is nil when the book can be written, else ErrReadOnly
	// (as asked), ErrNewer, ErrReadOnlyFolder or ErrDiskFull (not even the
	// lock could be made).
	ReadOnlyReason error

	opts Options
	db   *sql.DB
	lock *flock.Flock
	temp string // folder of a private copy, removed at the end

	// others are the identities that are the same person, for the pictures that
	// lie under them.
	others atomic.Pointer[map[model.ID][]model.ID]

	mu sync.Mutex
	// read at the start while checking; the first Load need not read again.
	first *records
}

// Path is where the book lies.
func (b *Book) Path() string { return b.opts.Path }

func (b *Book) now() string { return b.opts.Now().UTC().Format("2006-01-02T15:04:05.000Z") }

// Open opens a book, or makes a new one, and checks every row of it before
// anybody sees it. A book that cannot be trusted is left as it is and comes
// back as a [Trouble] with the snapshots that could take its place.
func Open(ctx context.Context, opts Options) (*Book, error) {
	o, err := opts.whole()
	if err != nil {
		return nil, err
	}
	if err := ctx.Err(); err != nil {
		return nil, err
	}
	if o.ReadOnly {
		return openReadOnly(ctx, o, ErrReadOnly)
	}
	b, err := openWritable(ctx, o)
	for _, reason := range []error{ErrReadOnlyFolder, ErrDiskFull} {
		if errors.Is(err, reason) && sizeOf(o.Path) > 0 {
			return openReadOnly(ctx, o, reason)
		}
	}
	return b, err
}

func openWritable(ctx context.Context, o Options) (*Book, error) {
	if err := makeFolder(filepath.Dir(o.Path)); err != nil {
		return nil, classify(err)
	}
	lock, err := takeLock(o.Path)
	if err != nil {
		return nil, err
	}
	b := &Book{opts: o, lock: lock}
	if err := b.start(ctx); err != nil {
		b.release()
		return nil, err
	}
	return b, nil
}

// start is the ladder from a path to a checked book; the lock is held.
func (b *Book) start(ctx context.Context) error {
	path := b.opts.Path
	sweep(path)
	if err := classify(tryWriting(path)); err != nil && !errors.Is(err, ErrDiskFull) {
		return err // on a full disk the first save says so, and reading needs no room
	}
	if err := recoverJournal(path); err != nil {
		return b.trouble(err)
	}
	isNew, err := b.prepareFile()
	if err != nil {
		return err
	}
	version, err := readHeader(path)
	if err != nil && !isNew {
		return b.trouble(err)
	}
	if version > len(b.opts.steps) {
		b.ReadOnlyReason = ErrNewer
	}
	b.db = openDB(path, b.ReadOnlyReason != nil, b.opts.durability)
	if b.ReadOnlyReason == nil {
		if err := readBack(b.db, b.opts.durability); err != nil {
			return b.trouble(err)
		}
		if err := b.migrate(ctx, version, isNew); err != nil {
			return b.trouble(err)
		}
	}
	return b.examine(ctx)
}

// tryWriting finds out before anybody types something whether the folder and
// the file take it; SQLite would find out at the first save.
func tryWriting(path string) error {
	temp, err := tempFile(filepath.Dir(path), path)
	if err != nil {
		return err
	}
	if err := os.Remove(temp); err != nil || !exists(path) {
		return err
	}
	os.Chmod(path, privateFile) // a copy from elsewhere may be open to all; refused on some drives, and no harm
	f, err := os.OpenFile(path, os.O_RDWR, 0)
	if err != nil {
		return err
	}
	return f.Close()
}

// recoverJournal lets SQLite finish or take back what a crash interrupted,
// so that the header read next is the true one.
func recoverJournal(path string) error {
	if sizeOf(path+"-journal") == 0 && sizeOf(path+"-wal") == 0 || !exists(path) {
		return nil
	}
	db := sql.OpenDB(connector{dsn: fileURI(path) + "?mode=rw&_busy_timeout=5000&_synchronous=FULL"})
	defer db.Close()
	var n int
	return db.QueryRow(`SELECT count(*) FROM sqlite_schema`).Scan(&n)
}

// prepareFile makes sure that there is a private file. isNew is true for a
// book that was never written.
func (b *Book) prepareFile() (isNew bool, err error) {
	path := b.opts.Path
	st, err := os.Stat(path)
	switch {
	case err == nil && st.Size() > 0:
		return false, nil
	case err == nil || errors.Is(err, fs.ErrNotExist):
		lost := ErrMissing
		if err == nil {
			lost = ErrDamaged
		}
		if snaps := StandIns(path, b.opts.Now()); len(snaps) > 0 && !b.opts.Fresh {
			return false, &Trouble{Path: path, Err: lost, Snapshots: snaps}
		}
	default:
		return false, classify(err)
	}
	f, err := os.OpenFile(path, os.O_RDWR|os.O_CREATE, privateFile)
	if err != nil {
		return false, classify(err)
	}
	return true, classify(errors.Join(f.Sync(), f.Close(), syncFolder(filepath.Dir(path))))
}

// readHeader looks at the first 100 bytes of a SQLite file without SQLite, so
// that a file which is not ours is not even opened.
func readHeader(path string) (version int, err error) {
	f, err := os.Open(path)
	if err != nil {
		return 0, err
	}
	defer f.Close()
	var h [100]byte
	if _, err := io.ReadFull(f, h[:]); err != nil || string(h[:16]) != "SQLite format 3\x00" {
		return 0, errForeign
	}
	if binary.BigEndian.Uint32(h[68:]) != applicationID {
		return 0, ErrNotABook
	}
	return int(int32(binary.BigEndian.Uint32(h[60:]))), nil
}

// errForeign: not even a SQLite file. With snapshots beside it, it was a book.
var errForeign = fmt.Errorf("%w: no SQLite file", ErrNotABook)

// trouble turns an error of the ladder into one that carries the way back.
func (b *Book) trouble(err error) error {
	err = classify(err)
	if t := (*Trouble)(nil); errors.As(err, &t) {
		return err
	}
	if !errors.Is(err, ErrDamaged) && !errors.Is(err, ErrNotABook) {
		return err
	}
	snaps := StandIns(b.opts.Path, b.opts.Now())
	if errors.Is(err, errForeign) && len(snaps) > 0 {
		err = fmt.Errorf("%w: no SQLite file", ErrDamaged)
	}
	return &Trouble{Path: b.opts.Path, Err: err, Snapshots: snaps}
}

// migrate brings the book to this program's version, keeping a snapshot of
// what it was before.
func (b *Book) migrate(ctx context.Context, version int, isNew bool) error {
	if version == len(b.opts.steps) {
		return nil
	}
	if version < 1 && !isNew {
		return fmt.Errorf("%w: version %d", ErrDamaged, version)
	}
	if !isNew {
		if err := b.whole(version); err != nil {
			return err
		}
		if _, err := b.snapshot(ctx); err != nil {
			return err
		}
	}
	return b.stepFrom(ctx, version)
}

func (b *Book) stepFrom(ctx context.Context, version int) error {
	for v := version + 1; v <= len(b.opts.steps); v++ {
		if err := b.step(ctx, v); err != nil {
			return fmt.Errorf("bringing the book to version %d: %w", v, notSaved(err))
		}
	}
	return nil
}

// whole checks what a migration relies on: sound pages, and the version that
// the header names.
func (b *Book) whole(version int) error {
	flaws, err := checkFile(b.db)
	if err != nil {
		return err
	}
	var newest int
	if len(flaws) == 0 {
		if err := b.db.QueryRow(`SELECT max(version) FROM migration`).Scan(&newest); err != nil {
			return err
		}
		if newest != version {
			flaws = append(flaws, versionFlaw(version, newest))
		}
	}
	if len(flaws) == 0 {
		return nil
	}
	return &Trouble{Path: b.opts.Path, Err: ErrDamaged, Flaws: flaws, Snapshots: StandIns(b.opts.Path, b.opts.Now())}
}

// examine reads and checks everything, and keeps what it read for Load.
func (b *Book) examine(ctx context.Context) error {
	rep, recs, err := examine(ctx, b.db, b.opts.steps)
	if err != nil {
		return b.trouble(err)
	}
	if b.ReadOnlyReason == ErrNewer && !rep.OK() && rep.onlyUnread() {
		return fmt.Errorf("%w, and this one cannot read it: %v", ErrNewer, rep.Flaws)
	}
	if !rep.OK() {
		return &Trouble{Path: b.opts.Path, Err: ErrDamaged, Flaws: rep.Flaws, Snapshots: StandIns(b.opts.Path, b.opts.Now())}
	}
	b.first = recs
	return nil
}

// openReadOnly opens a book without leaving a trace beside it. A book that a
// crash left in the middle of a save is mended in a private copy.
func openReadOnly(ctx context.Context, o Options, reason error) (*Book, error) {
	b := &Book{opts: o, ReadOnlyReason: reason}
	if err := b.startReading(ctx); err != nil {
		b.release()
		return nil, err
	}
	return b, nil
}

func (b *Book) startReading(ctx context.Context) error {
	version, err := b.connectForReading(ctx)
	if err != nil {
		return b.trouble(err)
	}
	if version > len(b.opts.steps) {
		b.ReadOnlyReason = ErrNewer
	}
	return b.examine(ctx)
}

func (b *Book) connectForReading(ctx context.Context) (version int, err error) {
	path := b.opts.Path
	if interrupted(path) {
		if path, err = b.privateCopy(); err != nil {
			return 0, err
		}
		if err := recoverJournal(path); err != nil {
			return 0, err
		}
	}
	if version, err = readHeader(path); err != nil {
		return 0, err
	}
	if version > 0 && version < len(b.opts.steps) {
		if path, err = b.migratedCopy(ctx, path, version); err != nil {
			return 0, err
		}
	}
	b.db = openDB(path, true, b.opts.durability)
	return version, nil
}

// migratedCopy brings a private copy of an older book to this version, since
// the book itself may not be touched.
func (b *Book) migratedCopy(ctx context.Context, path string, version int) (string, error) {
	if b.temp == "" {
		var err error
		if path, err = b.privateCopy(); err != nil {
			return "", err
		}
	}
	copied := &Book{opts: b.opts, db: openDB(path, false, b.opts.durability)}
	defer copied.db.Close()
	if err := copied.whole(version); err != nil {
		return "", err
	}
	return path, copied.stepFrom(ctx, version)
}

// interrupted: a journal with content lies beside the book and nobody is
// writing, or the book is in write-ahead mode, which cannot be read without
// making files.
func interrupted(path string) bool {
	if sizeOf(path+"-wal") > 0 || writeAhead(path) {
		return true
	}
	if sizeOf(path+"-journal") == 0 {
		return false
	}
	db := sql.OpenDB(connector{dsn: fileURI(path) + "?mode=ro&_busy_timeout=5000"})
	defer db.Close()
	var n int
	return db.QueryRow(`SELECT count(*) FROM sqlite_schema`).Scan(&n) != nil
}

func writeAhead(path string) bool {
	f, err := os.Open(path)
	if err != nil {
		return false
	}
	defer f.Close()
	var h [20]byte
	_, err = io.ReadFull(f, h[:])
	return err == nil && string(h[:15]) == "SQLite format 3" && (h[18] == 2 || h[19] == 2)
}

func (b *Book) privateCopy() (string, error) {
	in, pattern := "", "quietwater-*"
	if own := b.opts.copiesFor; own != "" {
		in, pattern = filepath.Dir(own), "."+stem(own)+"-*.tmp" // swept away with the next start, should this program die
	}
	dir, err := os.MkdirTemp(in, pattern) // 0700
	if err != nil {
		return "", err
	}
	b.temp = dir
	to := filepath.Join(dir, "book.db")
	for _, suffix := range []string{"", "-journal", "-wal"} {
		if !exists(b.opts.Path + suffix) {
			continue
		}
		if err := copyFile(b.opts.Path+suffix, to+suffix); err != nil {
			return "", err
		}
	}
	return to, nil
}

// release lets go of everything without a last snapshot.
func (b *Book) release() error {
	var errs []error
	if b.db != nil {
		errs = append(errs, b.db.Close())
	}
	if b.temp != "" {
		errs = append(errs, os.RemoveAll(b.temp))
	}
	if b.lock != nil {
		errs = append(errs, b.lock.Unlock())
	}
	b.db, b.lock, b.temp = nil, nil, ""
	return errors.Join(errs...)
}

// Close makes a snapshot when something was written since the last one, and
// lets go of the book in any case. An ErrNoSnapshot means that only the copy
// failed.
func (b *Book) Close(ctx context.Context) error {
	b.mu.Lock()
	defer b.mu.Unlock()
	if b.db == nil {
		return nil
	}
	var err error
	if b.ReadOnlyReason == nil && b.changedSinceSnapshot() {
		_, err = b.snapshot(ctx)
	}
	return errors.Join(err, b.release())
}

func newBookID(r io.Reader) (string, error) {
	id, err := model.NewID(r)
	return string(id), err
}
