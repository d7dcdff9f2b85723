package picture

import (
	"bytes"
	"encoding/binary"
	"errors"
	"hash/crc32"
	"image"
	"image/color"
	"image/jpeg"
	"image/png"
	"os"
	"path/filepath"
	"runtime"
	"strings"
	"testing"
	"time"

	"github.com/gen2brain/heic"

	"quietwater/model/photo"
)

var madrid = time.FixedZone("Madrid", 3600)

func drawn(w, h int) image.Image {
	m := image.NewRGBA(image.Rect(0, 0, w, h))
	for y := range h {
		for x := range w {
			m.Set(x, y, color.RGBA{uint8(x * 3), uint8(y * 3), 90, 255})
		}
	}
	return m
}

func asJPEG(t testing.TB, m image.Image) []byte {
	var b bytes.Buffer
	if err := jpeg.Encode(&b, m, nil); err != nil {
		t.Fatal(err)
	}
	return b.Bytes()
}

func asPNG(t testing.TB, m image.Image) []byte {
	var b bytes.Buffer
	if err := png.Encode(&b, m); err != nil {
		t.Fatal(err)
	}
	return b.Bytes()
}

// exif is the camera's notes as EXIF 2.32 lays them out (4.6): a first
// directory with the orientation (274) and the place of the second (34665),
// which has the time (36867) and its zone (36881).
func exif(order binary.AppendByteOrder, turn int, taken, zone string) []byte {
	head := "II*\x00"
	if order == binary.AppendByteOrder(binary.BigEndian) {
		head = "MM\x00*"
	}
	b := []byte(head)
	u16 := func(v int) { b = order.AppendUint16(b, uint16(v)) }
	u32 := func(v int) { b = order.AppendUint32(b, uint32(v)) }
	u32(8)
	u16(2)
	u16(274)
	u16(3)
	u32(1)
	u16(turn)
	u16(0)
	u16(34665)
	u16(4)
	u32(1)
	u32(38)
	u32(0)
	taken, zone = taken+"\x00", zone+"\x00"
	u16(2)
	u16(36867)
	u16(2)
	u32(len(taken))
	u32(68)
	u16(36881)
	u16(2)
	u32(len(zone))
	u32(68 + len(taken))
	u32(0)
	return append(append(b, taken...), zone...)
}

func withNotes(file, notes []byte) []byte {
	notes = append([]byte("Exif\x00\x00"), notes...)
	seg := binary.BigEndian.AppendUint16([]byte{0xff, 0xe1}, uint16(len(notes)+2))
	return append(append(append([]byte{}, file[:2]...), append(seg, notes...)...), file[2:]...)
}

func TestNotes(t *testing.T) {
	plain := asJPEG(t, drawn(40, 30))
	at := time.Date(2026, 3, 2, 8, 1, 5, 0, madrid)
	for name, c := range map[string]struct {
		file []byte
		turn photo.Orientation
		want time.Time
	}{
		"no notes":         {plain, 1, time.Time{}},
		"turned":           {withNotes(plain, exif(binary.LittleEndian, 6, "2026:03:02 08:01:05", "+01:00")), 6, at},
		"the other order":  {withNotes(plain, exif(binary.BigEndian, 3, "2026:03:02 08:01:05", "+01:00")), 3, at},
		"no zone":          {withNotes(plain, exif(binary.BigEndian, 8, "2026:03:02 08:01:05", "")), 8, at},
		"another zone":     {withNotes(plain, exif(binary.BigEndian, 2, "2026:03:02 09:01:05", "+02:00")), 2, at},
		"an empty clock":   {withNotes(plain, exif(binary.BigEndian, 1, "0000:00:00 00:00:00", "")), 1, time.Time{}},
		"nonsense":         {withNotes(plain, exif(binary.BigEndian, 77, "yesterday", "noon")), 1, time.Time{}},
		"notes cut short":  {withNotes(plain, exif(binary.BigEndian, 5, "2026:03:02 08:01:05", "+01:00")[:30]), 5, time.Time{}},
		"notes of nothing": {withNotes(plain, []byte("MM\x00*\xff\xff\xff\xff")), 1, time.Time{}},
	} {
		p, err := Decode(c.file, madrid)
		if err != nil || p.Turn != c.turn || !p.Taken.Equal(c.want) {
			t.Errorf("%s: turned %d, taken %v, %v; want %d, %v", name, p.Turn, p.Taken, err, c.turn, c.want)
		}
	}
	for o := 1; o <= 8; o++ {
		if p, err := Decode(withNotes(plain, exif(binary.LittleEndian, o, "", "")), madrid); err != nil || int(p.Turn) != o {
			t.Errorf("orientation %d came as %d, %v", o, p.Turn, err)
		}
	}
}

// The file was made from a picture of ours with heif-enc, its notes say turned
// by a quarter; a HEIC says that a second time in its own words, which alone
// count (ISO/IEC 23008-12, 6.5.10).
func TestHEIC(t *testing.T) {
	if heic.Dynamic() == nil {
		t.Fatal("built so that it loads a library of the system: use the tag nodynamic")
	}
	p, err := Open("testdata/upright.heic", madrid)
	if err != nil {
		t.Fatal(err)
	}
	if b := p.Image.Bounds(); b.Dx() != 90 || b.Dy() != 120 || p.Turn != 1 {
		t.Errorf("%v, turned %d", b, p.Turn)
	}
	if want := time.Date(2026, 3, 2, 8, 1, 5, 0, madrid); !p.Taken.Equal(want) {
		t.Errorf("taken %v", p.Taken)
	}
}

func TestRefused(t *testing.T) {
	file := asJPEG(t, drawn(60, 40))
	whole, err := os.ReadFile("testdata/upright.heic")
	if err != nil {
		t.Fatal(err)
	}
	for name, c := range map[string]struct {
		file []byte
		want string
	}{
		"empty":            {nil, "picture.empty"},
		"words":            {[]byte("Dear doctor, enclosed the picture of the strip."), "picture.not-a-picture"},
		"a document":       {[]byte("%PDF-1.7 and so on"), "picture.other-kind"},
		"a film":           {[]byte("\x00\x00\x00\x18ftypmp42\x00\x00\x00\x00isommp42"), "picture.other-kind"},
		"WebP":             {[]byte("RIFF\x00\x00\x00\x00WEBPVP8 "), "picture.other-kind"},
		"AVIF":             {[]byte("\x00\x00\x00\x1cftypavif\x00\x00\x00\x00mif1avif"), "picture.other-kind"},
		"cut short":        {file[:len(file)/2], "picture.broken"},
		"only its head":    {file[:4], "picture.broken"},
		"a HEIC cut short": {whole[:len(whole)/2], "picture.broken"},
		"a HEIC's head":    {whole[:40], "picture.broken"},
		"a bomb":           {bomb(12_000, 12_000), "picture.too-many-pixels"},
		"a long bomb":      {bomb(20_000, 10), "picture.too-many-pixels"},
		"a huge bomb":      {bomb(60_000, 60_000), "picture.too-many-pixels"},
		"an endless bomb":  {bomb(1<<31-1, 1<<31-1), "picture.broken"},
		"no size":          {bomb(0, 10), "picture.broken"},
		"too many bytes":   {append(bytes.Clone(file), make([]byte, MostBytes)...), "picture.too-large"},
	} {
		_, err := Read(bytes.NewReader(c.file), madrid)
		var told *Error
		if !errors.As(err, &told) || told.Say.Key != c.want {
			t.Errorf("%s: %v, want %s", name, err, c.want)
		}
	}
	if _, err := Open(filepath.Join(t.TempDir(), "gone.jpg"), madrid); !strings.HasPrefix(err.Error(), "picture.unreadable") || !errors.Is(err, os.ErrNotExist) {
		t.Error(err)
	}
}

// TestBombsTakeNoMemory: what says that it is too large is refused before a pixel
// of it is asked for. The control is a picture of 8 megapixels, which takes as
// many bytes and more.
func TestBombsTakeNoMemory(t *testing.T) {
	takes := func(file []byte) uint64 {
		var before, after runtime.MemStats
		runtime.ReadMemStats(&before)
		Decode(file, madrid)
		runtime.ReadMemStats(&after)
		return after.TotalAlloc - before.TotalAlloc
	}
	for _, side := range [][2]uint32{{12_000, 12_000}, {60_000, 60_000}, {20_000, 10}, {10_000, 4_001}} {
		if n := takes(bomb(side[0], side[1])); n > 1<<20 {
			t.Errorf("%v: %d bytes", side, n)
		}
	}
	if n := takes(asPNG(t, image.NewGray(image.Rect(0, 0, 4000, 2000)))); n < 8_000_000 {
		t.Errorf("the control took %d bytes", n)
	}
}

// TestFourInks: pictures from print shops come in four inks.
func TestFourInks(t *testing.T) {
	p, err := Open("testdata/cmyk.jpg", madrid)
	if err != nil {
		t.Fatal(err)
	}
	if _, ok := p.Image.(*image.CMYK); !ok || p.Image.Bounds() != image.Rect(0, 0, 24, 16) {
		t.Errorf("%T %v", p.Image, p.Image.Bounds())
	}
	if got := photo.New(p.Image, p.Turn); got == nil {
		t.Error("nothing to read")
	}
}

// bomb is a PNG that says how large it is and holds nothing.
func bomb(w, h uint32) []byte {
	head := binary.BigEndian.AppendUint32(binary.BigEndian.AppendUint32([]byte("IHDR"), w), h)
	head = append(head, 8, 6, 0, 0, 0)
	b := append([]byte("\x89PNG\r\n\x1a\n"), 0, 0, 0, 13)
	b = append(b, head...)
	return binary.BigEndian.AppendUint32(b, crc32.ChecksumIEEE(head))
}

// What a file is called says nothing.
func TestWrongSuffix(t *testing.T) {
	m := drawn(30, 20)
	heicFile, _ := os.ReadFile("testdata/upright.heic")
	for name, b := range map[string][]byte{"a.png": asJPEG(t, m), "b.jpg": asPNG(t, m), "c.jpeg": heicFile, "d": asPNG(t, m), "e.pdf": asJPEG(t, m)} {
		path := filepath.Join(t.TempDir(), name)
		if err := os.WriteFile(path, b, 0o600); err != nil {
			t.Fatal(err)
		}
		if _, err := Open(path, madrid); err != nil {
			t.Errorf("%s: %v", name, err)
		}
	}
}

// FuzzDecode: a broken file is refused with words; nothing panics. HEIC is
// left out, since its decoder runs in a box of its own and slowly.
func FuzzDecode(f *testing.F) {
	small := asJPEG(f, drawn(20, 10))
	f.Add(small)
	f.Add(withNotes(small, exif(binary.BigEndian, 6, "2026:03:02 08:01:05", "+01:00")))
	f.Add(asPNG(f, drawn(9, 9)))
	f.Add(bomb(300, 200))
	f.Fuzz(func(t *testing.T, b []byte) {
		if kindOf(b) == "heic" {
			return
		}
		p, err := Decode(b, time.UTC)
		var told *Error
		switch {
		case err != nil && !errors.As(err, &told):
			t.Fatal(err)
		case err == nil && (p.Image.Bounds().Empty() || p.Turn < 1 || p.Turn > 8):
			t.Fatal(p.Image.Bounds(), p.Turn)
		}
	})
}
