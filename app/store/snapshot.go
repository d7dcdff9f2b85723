package store

import (
	"cmp"
	"context"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"time"
)

// Snapshot is a whole copy of a book, made while nothing was half done.
type Snapshot struct {
	Path    string
	Time    time.Time // UTC
	Size    int64
	Persons int // live
	Entries int // live
	Err     error
	writes  int64
}

const snapshotTime = "20060102T150405.000Z"

// Snapshot copies the book into the folder backups beside it, reads the copy
// back, and then drops old ones that are no longer needed.
func (b *Book) Snapshot(ctx context.Context) (Snapshot, error) {
	b.mu.Lock()
	defer b.mu.Unlock()
	if err := b.usable(ctx); err != nil {
		return Snapshot{}, err
	}
	if b.ReadOnlyReason != nil {
		return Snapshot{}, fmt.Errorf("%w: %w", ErrNoSnapshot, b.ReadOnlyReason)
	}
	return b.snapshot(ctx)
}

func (b *Book) snapshot(ctx context.Context) (Snapshot, error) {
	s, err := b.copyOut(ctx)
	if err != nil {
		return Snapshot{}, fmt.Errorf("%w: %w", ErrNoSnapshot, classify(err))
	}
	thinOut(b.opts.Path, s)
	return s, nil
}

// copyOut gives the copy its name only when it is whole and on the disk, so
// that a file under a snapshot's name is always good.
func (b *Book) copyOut(ctx context.Context) (Snapshot, error) {
	dir := BackupsDir(b.opts.Path)
	if err := makeFolder(dir); err != nil {
		return Snapshot{}, err
	}
	temp, err := tempFile(dir, b.opts.Path)
	if err != nil {
		return Snapshot{}, err
	}
	defer removeTemp(temp)
	if err := b.copyInto(ctx, temp); err != nil {
		return Snapshot{}, err
	}
	if err := b.sound(temp); err != nil {
		return Snapshot{}, err
	}
	final := b.freeName(dir)
	if err := os.Rename(temp, final); err != nil {
		return Snapshot{}, err
	}
	if err := syncFolder(dir); err != nil {
		return Snapshot{}, err
	}
	s, _ := parseSnapshot(final)
	s.look()
	return s, s.Err
}

// copyInto fills the empty file to with a copy, counts what it holds and waits
// until it is on the disk.
func (b *Book) copyInto(ctx context.Context, to string) error {
	if err := b.vacuumInto(ctx, to); err != nil {
		return err
	}
	if err := b.sameCounts(to); err != nil {
		return err
	}
	return syncFile(to)
}

// vacuumInto writes a copy. A connection that is for queries only would refuse
// even that; mode=ro keeps its own file from being written all the same.
func (b *Book) vacuumInto(ctx context.Context, to string) error {
	c, err := b.db.Conn(ctx)
	if err != nil {
		return err
	}
	defer c.Close()
	var only int
	if err := c.QueryRowContext(ctx, `PRAGMA query_only`).Scan(&only); err != nil {
		return err
	}
	if only == 0 {
		_, err = c.ExecContext(ctx, `VACUUM INTO ?`, to)
		return err
	}
	if _, err := c.ExecContext(ctx, `PRAGMA query_only = 0`); err != nil {
		return err
	}
	_, err = c.ExecContext(ctx, `VACUUM INTO ?`, to)
	_, back := c.ExecContext(context.WithoutCancel(ctx), `PRAGMA query_only = 1`)
	return errors.Join(err, back)
}

// CopyTo makes a whole and private copy of the book under a new name of any
// folder, and counts what it holds. Whoever is to rely on it has it examined by
// [CheckFile], which holds up no save. It also copies a book that is open for
// reading only, and rebuilds every page of it.
func (b *Book) CopyTo(ctx context.Context, to string) error {
	b.mu.Lock()
	defer b.mu.Unlock()
	if err := b.usable(ctx); err != nil {
		return err
	}
	f, err := os.OpenFile(to, os.O_CREATE|os.O_EXCL|os.O_WRONLY, privateFile)
	if err == nil {
		err = f.Close()
	}
	if errors.Is(err, fs.ErrExist) {
		return fmt.Errorf("%s: %w", to, ErrExists)
	}
	if err == nil {
		if err = b.copyInto(ctx, to); err != nil {
			removeTemp(to)
		}
	}
	return classify(err)
}

// freeName is a name by the time that no file has yet.
func (b *Book) freeName(dir string) string {
	for t := b.opts.Now().UTC(); ; t = t.Add(time.Millisecond) {
		name := filepath.Join(dir, stem(b.opts.Path)+"-"+t.Format(snapshotTime)+".db")
		if !exists(name) {
			return name
		}
	}
}

// sound reopens a fresh copy and has SQLite check it.
func (b *Book) sound(path string) error {
	db := openDB(path, true, b.opts.durability)
	defer db.Close()
	flaws, err := checkFile(db)
	if err == nil && len(flaws) > 0 {
		err = fmt.Errorf("%w: %v", ErrDamaged, flaws)
	}
	return err
}

// sameCounts reopens a fresh copy and counts every table.
func (b *Book) sameCounts(path string) error {
	db := openDB(path, true, b.opts.durability)
	defer db.Close()
	here, err := countAll(b.db)
	if err != nil {
		return err
	}
	there, err := countAll(db)
	if err == nil && here != there {
		err = fmt.Errorf("%w: the copy holds %s instead of %s", ErrDamaged, there, here)
	}
	return err
}

func countAll(q querier) (string, error) {
	var names []string
	err := each(q, `SELECT name FROM sqlite_schema WHERE type = 'table' ORDER BY name`, func(scan scanner) error {
		var n string
		err := scan(&n)
		names = append(names, n)
		return err
	})
	var out []string
	for _, name := range names {
		var n int
		if err == nil {
			err = q.QueryRow(`SELECT count(*) FROM "` + strings.ReplaceAll(name, `"`, `""`) + `"`).Scan(&n)
		}
		out = append(out, fmt.Sprintf("%s %d", name, n))
	}
	return strings.Join(out, ", "), err
}

// Snapshots lists the snapshots of the book at path, newest first, with what
// they hold. Err tells that one cannot be read.
func Snapshots(path string) ([]Snapshot, error) {
	out, err := snapshotNames(path)
	for i := range out {
		out[i].look()
	}
	return out, err
}

func snapshotNames(path string) ([]Snapshot, error) {
	dir := BackupsDir(path)
	files, err := os.ReadDir(dir)
	if err != nil && !errors.Is(err, os.ErrNotExist) {
		return nil, classify(err)
	}
	var out []Snapshot
	for _, f := range files {
		s, ok := parseSnapshot(filepath.Join(dir, f.Name()))
		if ok && strings.HasPrefix(f.Name(), stem(path)+"-") && len(f.Name()) == len(stem(path))+len("-.db")+len(snapshotTime) {
			out = append(out, s)
		}
	}
	slices.SortFunc(out, func(a, b Snapshot) int { return cmp.Or(b.Time.Compare(a.Time), cmp.Compare(a.Path, b.Path)) })
	return out, nil
}

func parseSnapshot(path string) (Snapshot, bool) {
	name := strings.TrimSuffix(filepath.Base(path), ".db")
	if len(name) < len(snapshotTime) {
		return Snapshot{}, false
	}
	t, err := time.Parse(snapshotTime, name[len(name)-len(snapshotTime):])
	return Snapshot{Path: path, Time: t}, err == nil && filepath.Ext(path) == ".db"
}

// look counts what a snapshot holds.
func (s *Snapshot) look() {
	s.Size = sizeOf(s.Path)
	if _, s.Err = readHeader(s.Path); s.Err != nil {
		return
	}
	db := openDB(s.Path, true, safe)
	defer db.Close()
	s.Err = classify(db.QueryRow(`SELECT
		(SELECT count(*) FROM person WHERE deleted_at IS NULL),
		(SELECT count(*) FROM entry WHERE deleted_at IS NULL),
		(SELECT writes FROM meta)`).Scan(&s.Persons, &s.Entries, &s.writes))
}

// changedSinceSnapshot compares the count of transactions with that of the
// newest snapshot, so that a program that was killed catches up later.
func (b *Book) changedSinceSnapshot() bool {
	var writes int64
	if err := b.db.QueryRow(`SELECT writes FROM meta`).Scan(&writes); err != nil {
		return true
	}
	names, err := snapshotNames(b.opts.Path)
	if err != nil || len(names) == 0 {
		return writes > 0
	}
	newest := names[0]
	newest.look()
	return newest.Err != nil || newest.writes != writes
}

// thinOut deletes the snapshots that keep does not name, but never the one just
// made: with a clock set back it would look old. One that stays because it could
// not be deleted does no harm.
func thinOut(path string, made Snapshot) {
	all, err := snapshotNames(path)
	if err != nil {
		return
	}
	var times []time.Time
	for _, s := range all {
		times = append(times, s.Time)
	}
	kept := keep(times)
	for _, s := range all {
		if !kept[s.Time] && s.Path != made.Path {
			os.Remove(s.Path)
		}
	}
}

// keep chooses from times, newest first: the last 7 and the newest of each of
// the last 7 days that have one (a book may be closed seven times in a day),
// then the newest of each of 8 weeks, of each of 24 months, and of every year.
func keep(times []time.Time) map[time.Time]bool {
	out := map[time.Time]bool{}
	rest := times
	for i, day, days := 0, "", 0; len(rest) > 0; i++ {
		if d := rest[0].Format(time.DateOnly); d != day {
			if days++; days > 7 && i >= 7 {
				break
			}
			day = d
			out[rest[0]] = true
		} else if i < 7 {
			out[rest[0]] = true
		}
		rest = rest[1:]
	}
	for _, rule := range []struct {
		most int
		name func(time.Time) string
	}{
		{8, func(t time.Time) string { y, w := t.ISOWeek(); return fmt.Sprint(y, "-", w) }},
		{24, func(t time.Time) string { return t.Format("2006-01") }},
		{len(times), func(t time.Time) string { return t.Format("2006") }},
	} {
		last, n := "", 0
		for len(rest) > 0 {
			name := rule.name(rest[0])
			if name != last {
				if n == rule.most {
					break
				}
				last = name
				n++
				out[rest[0]] = true
			}
			rest = rest[1:]
		}
	}
	return out
}

// OpenSnapshot opens a snapshot, or any book, to look at it. Neither it nor
// its folder is changed.
func OpenSnapshot(ctx context.Context, path string, opts Options) (*Book, error) {
	opts.Path, opts.ReadOnly = path, true
	return Open(ctx, opts)
}

// Why a book was set aside, as its new name says.
const (
	asDamaged  = "damaged"
	asReplaced = "replaced"
)

func freeAside(path, why string) string {
	for n := 1; ; n++ {
		ext := filepath.Ext(path)
		to := fmt.Sprintf("%s-%s-%d%s", strings.TrimSuffix(path, ext), why, n, ext)
		if !slices.ContainsFunc(append(companions(to), to), exists) {
			return to
		}
	}
}

// moveCompanions takes along what SQLite kept beside path, and drops it where
// it is empty.
func moveCompanions(path, to string) error {
	var errs []error
	for i, f := range companions(path) {
		switch {
		case !exists(f):
		case sizeOf(f) == 0:
			errs = append(errs, os.Remove(f))
		default:
			errs = append(errs, os.Rename(f, companions(to)[i]))
		}
	}
	return errors.Join(errs...)
}

// GoOnFrom puts a checked copy of a snapshot where a damaged or lost book was;
// the snapshot stays. What has the name path keeps all it holds, and what SQLite
// kept beside it, under another name, which is returned; "" when nothing had it.
func GoOnFrom(ctx context.Context, snapshot, path string) (was string, err error) {
	path, err = filepath.Abs(path)
	if err != nil {
		return "", err
	}
	rep, err := CheckFile(ctx, snapshot)
	if err != nil {
		return "", err
	}
	if !rep.OK() {
		return "", &Trouble{Path: snapshot, Err: ErrDamaged, Flaws: rep.Flaws}
	}
	if err := makeFolder(filepath.Dir(path)); err != nil {
		return "", classify(err)
	}
	temp, err := tempFile(filepath.Dir(path), path)
	if err != nil {
		return "", classify(err)
	}
	defer removeTemp(temp)
	if err := copyFile(snapshot, temp); err != nil {
		return "", classify(err)
	}
	if rep, err := CheckFile(ctx, temp); err != nil || !rep.OK() {
		return "", errors.Join(err, fmt.Errorf("%w: the copy of %s: %v", ErrDamaged, snapshot, rep.Flaws))
	}
	return adopt(temp, path, asDamaged)
}

// StandIns lists the snapshots that could stand in for a book, the newest first,
// and reads them until one is whole, so that what is offered first can be
// trusted. One whose time is still to come was made while the clock was wrong,
// and stands last.
func StandIns(path string, now time.Time) []Snapshot {
	all, _ := Snapshots(path)
	now = now.Add(time.Minute) // two within one moment have times of their own
	toCome := slices.IndexFunc(all, func(s Snapshot) bool { return !s.Time.After(now) })
	if toCome > 0 {
		all = slices.Concat(all[toCome:], all[:toCome])
	}
	for i := range all {
		if all[i].Err != nil {
			continue
		}
		rep, err := CheckFile(context.Background(), all[i].Path) // also for a caller who gave up
		if err == nil && rep.OK() {
			break
		}
		all[i].Err = cmp.Or(err, fmt.Errorf("%w: %v", ErrDamaged, rep.Flaws))
	}
	return all
}
