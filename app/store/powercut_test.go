package store

import (
	"bufio"
	"fmt"
	"math/rand/v2"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"testing"
)

// A simulated power cut. A real writer is traced by strace; then the disk is
// rebuilt as it could stand after a cut at any of its system calls. What was
// written and synced is there. What was written and not synced is there or
// not, at random, whole or torn into sectors. A created, removed or renamed
// name is sure only after its folder was synced. This is harsher than real
// disks, apart from those that lie about syncing.

const sector = 512

// diskOp is one thing the writer did.
type diskOp struct {
	kind     string // write, truncate, sync, create, unlink, rename, folder, ack
	name, to string // paths below the book's folder
	off      int64
	data     []byte
	n        int
}

// traceWriter lets a child do most saves under strace.
func traceWriter(t *testing.T, d durability, most int) []diskOp {
	t.Helper()
	dir, err := os.MkdirTemp(memory(), "quietwater-trace-*") // what counts is what it asks of the disk
	check(t, err)
	defer os.RemoveAll(dir)
	trace := filepath.Join(t.TempDir(), "trace")
	c := childCommand("write", filepath.Join(dir, "book.db"), "GOMAXPROCS=1",
		"QW_STORE_DURABILITY="+d.journal+"/"+d.synchronous, "QW_STORE_MOST="+strconv.Itoa(most))
	strace, err := exec.LookPath("strace")
	if err != nil {
		t.Skip("strace is not installed")
	}
	c.Args = append([]string{strace, "-f", "-y", "-xx", "-s", "200000", "-o", trace,
		"-e", "trace=pwrite64,pwritev,write,fsync,fdatasync,ftruncate,fallocate,unlink,unlinkat,openat,rename,renameat,renameat2"}, c.Args...)
	c.Path = strace
	if out, err := c.CombinedOutput(); err != nil {
		if strings.Contains(string(out), "ptrace") {
			t.Skipf("tracing is not permitted here: %s", out)
		}
		t.Fatalf("the traced writer: %v\n%s", err, out)
	}
	return parseTrace(t, trace, dir)
}

var (
	callForm   = regexp.MustCompile(`^(\w+)\((.*)\)\s+= (-?\d+|0x[0-9a-f]+)`)
	resumeForm = regexp.MustCompile(`^<\.\.\. \w+ resumed>(.*)`)
	fdForm     = regexp.MustCompile(`^(\d+)<([^>]*)>(?:\(deleted\))?,? ?(.*)`)
	textForm   = regexp.MustCompile(`"([^"]*)"`)
)

func parseTrace(t *testing.T, file, dir string) (ops []diskOp) {
	f, err := os.Open(file)
	check(t, err)
	defer f.Close()
	begun := map[string]string{} // per thread, a call another thread came between
	lines := bufio.NewScanner(f)
	lines.Buffer(make([]byte, 1<<20), 1<<26)
	for lines.Scan() {
		pid, l, _ := strings.Cut(lines.Text(), " ")
		l = strings.TrimLeft(l, " ")
		if head, cut := strings.CutSuffix(l, " <unfinished ...>"); cut {
			begun[pid] = head
			continue
		}
		if m := resumeForm.FindStringSubmatch(l); m != nil {
			l = begun[pid] + m[1]
		}
		if m := callForm.FindStringSubmatch(l); m != nil && !strings.HasPrefix(m[3], "-") {
			ops = append(ops, parseCall(t, dir, m[1], m[2])...)
		}
	}
	check(t, lines.Err())
	return ops
}

func parseCall(t *testing.T, dir, call, args string) []diskOp {
	var paths []string
	for _, m := range textForm.FindAllStringSubmatch(args, 2) {
		paths = append(paths, unhex(m[1]))
	}
	inside := func(p string) (string, bool) {
		rel, err := filepath.Rel(dir, p)
		return rel, err == nil && filepath.IsLocal(rel) && rel != "." && !strings.HasSuffix(rel, "-shm")
	}
	switch call {
	case "openat":
		if name, ok := inside(paths[0]); ok && strings.Contains(args, "O_CREAT") {
			if strings.Contains(args, "O_TRUNC") {
				t.Fatalf("a call this simulation does not know: %s(%s)", call, args)
			}
			return []diskOp{{kind: "create", name: name}}
		}
		return nil
	case "unlink", "unlinkat":
		if name, ok := inside(paths[0]); ok {
			return []diskOp{{kind: "unlink", name: name}}
		}
		return nil
	case "rename", "renameat", "renameat2":
		from, ok1 := inside(paths[0])
		to, ok2 := inside(paths[1])
		if ok1 && ok2 {
			return []diskOp{{kind: "rename", name: from, to: to}}
		}
		return nil
	}
	m := fdForm.FindStringSubmatch(args)
	if m == nil {
		return nil
	}
	path, rest := m[2], m[3]
	if strings.HasPrefix(path, `\x`) {
		path = unhex(path)
	}
	if call == "write" && m[1] == "1" {
		return parseAcks(paths[0])
	}
	if call == "fsync" || call == "fdatasync" {
		if rel, err := filepath.Rel(dir, path); err == nil && (rel == "." || rel == "backups") {
			return []diskOp{{kind: "folder", name: rel}}
		}
	}
	name, ok := inside(path)
	if !ok {
		return nil
	}
	number := func(s string) int64 {
		n, err := strconv.ParseInt(strings.TrimSpace(s), 10, 64)
		check(t, err)
		return n
	}
	switch call {
	case "pwrite64":
		tail := strings.Split(rest[strings.LastIndexByte(rest, '"')+1:], ",")
		return []diskOp{{kind: "write", name: name, data: []byte(paths[0]), off: number(tail[2])}}
	case "ftruncate":
		return []diskOp{{kind: "truncate", name: name, off: number(rest)}}
	case "fsync", "fdatasync":
		return []diskOp{{kind: "sync", name: name}}
	}
	t.Fatalf("a call this simulation does not know: %s(%.80s)", call, args)
	return nil
}

func parseAcks(said string) (ops []diskOp) {
	for _, line := range strings.Split(said, "\n") {
		if n, err := strconv.Atoi(strings.TrimPrefix(line, "A ")); err == nil {
			ops = append(ops, diskOp{kind: "ack", n: n})
		}
	}
	return ops
}

func unhex(s string) string { // \x41\x42
	out := make([]byte, 0, len(s)/4)
	for i := 0; i+3 < len(s); i += 4 {
		n, err := strconv.ParseUint(s[i+2:i+4], 16, 8)
		if err != nil {
			panic(s)
		}
		out = append(out, byte(n))
	}
	return string(out)
}

// onDisk is one file: what is sure, and what was asked for since.
type onDisk struct {
	sure    []byte
	pending []diskOp
}

func applyOp(b []byte, o diskOp) []byte {
	if o.kind == "truncate" {
		if int64(len(b)) > o.off {
			return b[:o.off]
		}
		return append(b, make([]byte, o.off-int64(len(b)))...)
	}
	if need := o.off + int64(len(o.data)); int64(len(b)) < need {
		b = append(b, make([]byte, need-int64(len(b)))...)
	}
	copy(b[o.off:], o.data)
	return b
}

// afterCut is what the file may hold.
func (f *onDisk) afterCut(r *rand.Rand, torn bool) []byte {
	b := slices.Clone(f.sure)
	for _, o := range f.pending {
		switch n := r.IntN(3); {
		case n == 0:
		case n == 1 || !torn || o.kind == "truncate":
			b = applyOp(b, o)
		default:
			for s := 0; s < len(o.data); {
				at := o.off + int64(s)
				e := min(s+int(sector-at%sector), len(o.data))
				if r.IntN(2) == 0 {
					b = applyOp(b, diskOp{kind: "write", off: at, data: o.data[s:e]})
				}
				s = e
			}
		}
	}
	return b
}

// disk is the kernel's view of all names, and the sure one.
type disk struct {
	now, sure map[string]*onDisk
	acked     int
}

func (d *disk) do(o diskOp) {
	switch o.kind {
	case "create":
		if d.now[o.name] == nil {
			d.now[o.name] = &onDisk{}
		}
	case "unlink":
		delete(d.now, o.name)
	case "rename":
		d.now[o.to] = d.now[o.name]
		delete(d.now, o.name)
	case "folder":
		for name := range d.names() {
			if filepath.Dir(name) != o.name {
				continue
			}
			if delete(d.sure, name); d.now[name] != nil {
				d.sure[name] = d.now[name]
			}
		}
	case "write", "truncate":
		f := d.now[o.name]
		f.pending = append(f.pending, o)
	case "sync":
		f := d.now[o.name]
		for _, p := range f.pending {
			f.sure = applyOp(f.sure, p)
		}
		f.pending = nil
	case "ack":
		d.acked = o.n
	}
}

func (d *disk) names() map[string]bool {
	out := map[string]bool{}
	for k := range d.now {
		out[k] = true
	}
	for k := range d.sure {
		out[k] = true
	}
	return out
}

// cut writes into dir what a power cut may leave.
func (d *disk) cut(t *testing.T, r *rand.Rand, torn bool, dir string) {
	check(t, os.MkdirAll(filepath.Join(dir, "backups"), 0o700))
	names := make([]string, 0, len(d.now))
	for name := range d.names() {
		names = append(names, name)
	}
	slices.Sort(names)
	for _, name := range names {
		f := d.now[name]
		if f != d.sure[name] && r.IntN(2) == 0 {
			f = d.sure[name]
		}
		if f != nil {
			check(t, os.WriteFile(filepath.Join(dir, name), f.afterCut(r, torn), 0o600))
		}
	}
}

// cutResult counts what many cuts did.
type cutResult struct{ cuts, lost, most, refused, wrong int }

// cutMany cuts the power at random calls and opens what is left. Of a loss
// complain is told, nil where losses are expected.
func cutMany(t *testing.T, ops []diskOp, cuts int, torn bool, complain func(string)) (res cutResult) {
	r := rand.New(rand.NewPCG(42, uint64(cuts)))
	at := map[int]int{}
	for range cuts {
		at[r.IntN(len(ops))]++
	}
	d := &disk{now: map[string]*onDisk{}, sure: map[string]*onDisk{}}
	for i, o := range ops {
		d.do(o)
		for range at[i] {
			dir, err := os.MkdirTemp(memory(), "quietwater-cut-*")
			check(t, err)
			d.cut(t, r, torn, dir)
			why := res.look(t, filepath.Join(dir, "book.db"), d.acked)
			if why != "" && complain != nil {
				complain(fmt.Sprintf("cut after call %d (%s %s), %d saves acknowledged: %s", i, o.kind, o.name, d.acked, why))
			}
			check(t, os.RemoveAll(dir))
		}
	}
	return res
}

// look opens a book after a cut and says what is wrong, "" when nothing is.
func (res *cutResult) look(t *testing.T, path string, acked int) string {
	res.cuts++
	b, err := Open(ctx, optionsFor(path))
	if err != nil {
		res.refused++
		return err.Error()
	}
	defer b.release()
	n := writesOf(t, b)
	if n < acked {
		res.lost++
		res.most = max(res.most, acked-n)
		return fmt.Sprintf("%d saves are left", n)
	}
	book, _, err := b.Load(ctx)
	if n > acked+1 || err != nil || !slices.Equal(describe(book), describe(again(n).book())) {
		res.wrong++
		return fmt.Sprintf("%d saves are there, with other content (%v)", n, err)
	}
	snaps, _ := snapshotNames(path)
	for _, s := range snaps {
		if rep, err := CheckFile(ctx, s.Path); err != nil || !rep.OK() {
			res.wrong++
			return fmt.Sprintf("snapshot %s: %v %v", s.Path, rep.Flaws, err)
		}
	}
	return ""
}

func (res cutResult) String() string {
	return fmt.Sprintf("%d cuts, %d lost an acknowledged save (most in one cut: %d), %d not opened, %d with wrong content",
		res.cuts, res.lost, res.most, res.refused, res.wrong)
}

// TestPowerCut holds our settings to every acknowledged save, and shows that
// the simulation would see a loss: the library's defaults must lose.
func TestPowerCut(t *testing.T) {
	cuts, saves := 60, 60
	if soak() {
		cuts, saves = 2000, 300
	}
	ops := traceWriter(t, safe, saves)
	t.Logf("%d system calls for %d saves", len(ops), saves)
	for _, torn := range []bool{false, true} {
		bad := 0
		res := cutMany(t, ops, cuts, torn, func(why string) {
			if bad++; bad <= 5 {
				t.Error(why)
			}
		})
		t.Logf("torn sectors %v: %v", torn, res)
	}
	// The library's default, and our journal without its syncs.
	for _, d := range []durability{{"WAL", "NORMAL"}, {"TRUNCATE", "NORMAL"}, {"TRUNCATE", "OFF"}} {
		res := cutMany(t, traceWriter(t, d, saves), max(cuts/10, 25), false, nil)
		t.Logf("control %v: %v", d, res)
		few := res.cuts < 200 && d == durability{"TRUNCATE", "NORMAL"} // loses in about one of twenty
		if d.journal == "WAL" && res.lost == 0 || res.lost+res.refused+res.wrong == 0 && !few {
			t.Errorf("%v lost nothing: the simulation is broken", d)
		}
	}
}

// TestPowerCutSeesAMissingFolderSync: the simulation must also see a missing sync of
// a folder.
func TestPowerCutSeesAMissingFolderSync(t *testing.T) {
	ops := traceWriter(t, safe, 10)
	careless := slices.DeleteFunc(slices.Clone(ops), func(o diskOp) bool { return o.kind == "folder" })
	if res := cutMany(t, careless, 40, false, nil); res.lost+res.refused == 0 {
		t.Errorf("nothing noticed: %v", res)
	}
	if len(careless) == len(ops) {
		t.Error("the writer synced no folder")
	}
}
