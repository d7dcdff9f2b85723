// Package picture opens photographs: it looks what a file is and how large
// before anything is decoded, decodes JPEG, PNG and HEIC, and reads from the
// camera's notes how the picture lies and when it was taken.
//
// It refuses to know what is in the picture. It takes seconds for a large HEIC
// and belongs off the UI thread.
package picture

import (
	"bytes"
	"encoding/binary"
	"errors"
	"fmt"
	"image"
	"image/jpeg"
	"image/png"
	"io"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"time"

	"github.com/bep/imagemeta"
	"github.com/gen2brain/heic"

	"quietwater/model"
	"quietwater/model/photo"
)

// Limits on what is opened at all; a small file can unfold into gigabytes.
const (
	MostBytes  = 25 << 20
	MostPixels = 40_000_000
	MostSide   = 10_000
	// MostEvidence is what is kept of one with its test.
	MostEvidence = 300_000
)

// Picture is a photograph with the camera's notes.
type Picture struct {
	Image image.Image
	Turn  photo.Orientation // how Image lies
	// Taken is when the camera says the picture was taken, in the machine's zone
	// where the camera names none; zero when it does not say.
	Taken time.Time
}

// Error is a file that is not opened. It speaks to the reader.
type Error struct {
	Say model.Msg
	Err error // beneath it, may be nil
}

func (e *Error) Error() string {
	if e.Err != nil {
		return fmt.Sprintf("%s: %v", e.Say.Key, e.Err)
	}
	return e.Say.Key
}

func (e *Error) Unwrap() error   { return e.Err }
func (e *Error) Tell() model.Msg { return e.Say }

func refuse(key string, err error, args ...any) error {
	return &Error{model.T("picture."+key, args...), err}
}

// Open opens a file. zone is the machine's.
func Open(path string, zone *time.Location) (Picture, error) {
	f, err := os.Open(path)
	if err != nil {
		return Picture{}, refuse("unreadable", err)
	}
	defer f.Close()
	return Read(f, zone)
}

// IsName reports the name of a file that may be opened, in small letters.
func IsName(name string) bool {
	return slices.Contains([]string{".jpg", ".jpeg", ".png", ".heic", ".heif"}, filepath.Ext(name))
}

// Read reads a file's bytes.
func Read(r io.Reader, zone *time.Location) (Picture, error) {
	b, err := within(r)
	if err != nil {
		return Picture{}, err
	}
	return Decode(b, zone)
}

// Whole is a file's bytes as they are, to be kept.
func Whole(path string) ([]byte, error) {
	f, err := os.Open(path)
	if err != nil {
		return nil, refuse("unreadable", err)
	}
	defer f.Close()
	return within(f)
}

// within reads all of a file that is not too large and not empty.
func within(r io.Reader) ([]byte, error) {
	b, err := io.ReadAll(io.LimitReader(r, MostBytes+1))
	switch {
	case err != nil:
		return nil, refuse("unreadable", err)
	case len(b) > MostBytes:
		return nil, refuse("too-large", nil, "limit", MostBytes>>20)
	case len(b) == 0:
		return nil, refuse("empty", nil)
	}
	return b, nil
}

// format is a kind of picture we decode.
type format struct {
	config func(io.Reader) (image.Config, error)
	decode func(io.Reader) (image.Image, error)
	meta   imagemeta.ImageFormat
	turned bool // the decoder sets it upright itself
}

var formats = map[string]format{
	"jpeg": {jpeg.DecodeConfig, jpeg.Decode, imagemeta.JPEG, false},
	"png":  {png.DecodeConfig, png.Decode, imagemeta.PNG, false},
	"heic": {heic.DecodeConfig, heic.Decode, imagemeta.HEIF, true},
}

// Decode decodes a file's bytes, whatever its name says it is.
func Decode(b []byte, zone *time.Location) (p Picture, err error) {
	kind := kindOf(b)
	f, ok := formats[kind]
	if !ok {
		if kind == "" {
			return Picture{}, refuse("not-a-picture", nil)
		}
		return Picture{}, refuse("other-kind", nil, "kind", kind)
	}
	// A decoder that gives up by panicking has met a broken file.
	defer func() {
		if r := recover(); r != nil {
			p, err = Picture{}, refuse("broken", fmt.Errorf("decoder: %v", r))
		}
	}()
	size, err := f.config(bytes.NewReader(b))
	if err != nil {
		return Picture{}, refuse("broken", err)
	}
	if size.Width <= 0 || size.Height <= 0 {
		return Picture{}, refuse("broken", errors.New("no size"))
	}
	if size.Width > MostSide || size.Height > MostSide || size.Width*size.Height > MostPixels {
		return Picture{}, refuse("too-many-pixels", nil, "limit", MostPixels/1_000_000)
	}
	m, err := f.decode(bytes.NewReader(b))
	if err != nil {
		return Picture{}, refuse("broken", err)
	}
	p = Picture{Image: m, Turn: 1}
	p.note(b, f, zone)
	return p, nil
}

// note reads what the camera wrote beside the picture. A camera that wrote
// nonsense is a camera that wrote nothing.
func (p *Picture) note(b []byte, f format, zone *time.Location) {
	var taken, offset string
	_, err := imagemeta.Decode(imagemeta.Options{R: bytes.NewReader(b), ImageFormat: f.meta, Sources: imagemeta.EXIF, Timeout: 2 * time.Second,
		ShouldHandleTag: func(t imagemeta.TagInfo) bool {
			return t.Tag == "Orientation" || t.Tag == "DateTimeOriginal" || t.Tag == "OffsetTimeOriginal"
		},
		HandleTag: func(t imagemeta.TagInfo) error {
			switch t.Tag {
			case "Orientation":
				// The thumbnail may have its own; the picture's comes first.
				if n, ok := t.Value.(uint16); ok && !f.turned && p.Turn == 1 && n >= 1 && n <= 8 && t.Namespace == "IFD0" {
					p.Turn = photo.Orientation(n)
				}
			case "DateTimeOriginal":
				taken = strings.Trim(fmt.Sprint(t.Value), " \x00")
			case "OffsetTimeOriginal":
				offset = strings.Trim(fmt.Sprint(t.Value), " \x00")
			}
			return nil
		}})
	if err != nil && taken == "" {
		return
	}
	if t, err := time.Parse("2006:01:02 15:04:05-07:00", taken+offset); err == nil {
		p.Taken = t
	} else if t, err := time.ParseInLocation("2006:01:02 15:04:05", taken, zone); err == nil {
		p.Taken = t
	}
}

// kindOf tells a file by its first bytes: one of formats, or the name of
// another kind, or "" for what is none we know.
func kindOf(b []byte) string {
	starts := func(s string) bool { return bytes.HasPrefix(b, []byte(s)) }
	switch {
	case starts("\xff\xd8\xff"):
		return "jpeg"
	case starts("\x89PNG\r\n\x1a\n"):
		return "png"
	case starts("GIF8"):
		return "GIF"
	case starts("BM"):
		return "BMP"
	case starts("II*\x00"), starts("MM\x00*"):
		return "TIFF"
	case starts("%PDF"):
		return "PDF"
	case starts("RIFF") && len(b) >= 12 && string(b[8:12]) == "WEBP":
		return "WebP"
	case len(b) >= 12 && string(b[4:8]) == "ftyp":
		return brandOf(b)
	}
	return ""
}

// brandOf reads the brands of a box-built file (ISO/IEC 14496-12, 4.3).
func brandOf(b []byte) string {
	end := min(len(b), int(min(binary.BigEndian.Uint32(b), 256)))
	for at := 8; at+4 <= end; at += 4 {
		switch string(b[at : at+4]) {
		case "heic", "heix", "heim", "heis":
			return "heic"
		case "avif", "avis":
			return "AVIF"
		}
	}
	if string(b[8:12]) == "mif1" {
		return "heic"
	}
	return "video"
}
