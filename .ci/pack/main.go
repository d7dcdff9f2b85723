// Command pack makes the parts of a package that are worked out rather than
// written: for the scripts beside it, run from the top of the repository.
//
//	pack version                the program's version, as app/main.go says it
//	pack licences               the licences of everything that goes into the program
//	pack man PROGRAM DATE       the manual page, out of what PROGRAM says with --help
//	pack desktop COMMAND        the menu entry that starts COMMAND, in all languages
//	pack icons DIR              the icon in the usual sizes, as a desktop looks for them
//	pack ico                    the icon as Windows wants it
//
// All but icons write to standard output. The same input gives the same bytes.
package main

import (
	"bytes"
	"cmp"
	"encoding/binary"
	"errors"
	"fmt"
	"image"
	"image/png"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"strings"

	"golang.org/x/image/draw"

	"quietwater/assets"
	"quietwater/i18n"
	"quietwater/model"
)

func main() {
	out, err := run(os.Args[1:])
	if err == nil {
		_, err = os.Stdout.Write(out)
	}
	if err != nil {
		fmt.Fprintln(os.Stderr, "pack:", err)
		os.Exit(1)
	}
}

func run(args []string) ([]byte, error) {
	verb, args := args[:min(1, len(args))], args[min(1, len(args)):]
	switch call := strings.Join(verb, ""); {
	case call == "version" && len(args) == 0:
		v, err := version()
		return []byte(v + "\n"), err
	case call == "licences" && len(args) == 0:
		return licences()
	case call == "man" && len(args) == 2:
		return manual(args[0], args[1])
	case call == "desktop" && len(args) == 1:
		return desktop(args[0])
	case call == "icons" && len(args) == 1:
		return nil, icons(args[0])
	case call == "ico" && len(args) == 0:
		return ico()
	}
	return nil, errors.New("usage: pack version | licences | man PROGRAM DATE | desktop COMMAND | icons DIR | ico")
}

var versionLine = regexp.MustCompile(`(?m)^const Version = "([0-9]+\.[0-9]+\.[0-9]+)"$`)

func version() (string, error) {
	b, err := os.ReadFile("app/main.go")
	if err != nil {
		return "", err
	}
	m := versionLine.FindSubmatch(b)
	if m == nil {
		return "", errors.New("app/main.go has no line const Version = \"N.N.N\"")
	}
	return string(m[1]), nil
}

// manual is quietwater(1). What the verbs take is asked of the program itself,
// so that the page cannot tell of others.
func manual(program, date string) ([]byte, error) {
	v, err := version()
	if err != nil {
		return nil, err
	}
	said, err := exec.Command(program, "help").Output()
	if err != nil {
		return nil, err
	}
	window, verbs, ok := strings.Cut(string(said), "Without a window:\n")
	if !ok {
		return nil, errors.New("the program's help has no line \"Without a window:\"")
	}
	var b bytes.Buffer
	line := func(format string, a ...any) { fmt.Fprintf(&b, format+"\n", a...) }
	line(`.TH QUIETWATER 1 %s "Quietwater %s" "User Commands"`, date, v)
	line(".nh\n.ad l")
	line(".SH NAME\nquietwater \\- keep watch on kidneys at home")
	line(".SH SYNOPSIS\n.B quietwater\n.RI [ OPTIONS ]\n.br\n.B quietwater\n.I VERB\n.RI [ OPTIONS ]")
	line(".SH DESCRIPTION\n%s", roff(`Times urine strip tests and judges their quality before their meaning, says how soon to call a doctor and why with the published source, keeps the years together for several people in two languages, and never leaves the computer it runs on.`))
	line(".PP\n%s", roff(`Quietwater does not diagnose, does not replace a laboratory or a doctor, and never tells anybody to start, stop or change a medicine or what they drink. If you feel unwell, call your doctor or your emergency number, whatever the program says.`))
	line(".PP\n%s", roff("Without a verb it opens the household's book in a window."))
	line(".SH OPTIONS")
	options(&b, window)
	line(".SH VERBS")
	for _, l := range strings.Split(verbs, "\n") {
		name, what, ok := strings.Cut(strings.TrimPrefix(l, "quietwater "), " ")
		if !strings.HasPrefix(l, "quietwater ") || !ok {
			break
		}
		help, err := exec.Command(program, name, "--help").Output()
		if err != nil {
			return nil, fmt.Errorf("quietwater %s --help: %w", name, err)
		}
		use, rest, _ := strings.Cut(string(help), "\n")
		line(".SS %s\n%s.\n.PP\n.B %s", roff(name), roff(capital(strings.TrimSpace(what))), roff(use))
		options(&b, rest)
	}
	line(".SH EXIT STATUS\n.TP\n0\nAll went well.\n.TP\n1\nData was refused; standard error says what and why.\n.TP\n2\nThe call was wrong.")
	line(".SH FILES\n.TP\n.I ~/.local/share/quietwater/household.book\n%s", roff("The household's book, with its pictures and safe copies beside it ($XDG_DATA_HOME counts). Installing, updating and removing the program never touch it."))
	line(".SH ENVIRONMENT\n.TP\n.BR LC_ALL \", \" LC_MESSAGES \", \" LANG\n%s", roff("The language, until one is chosen on the Household page."))
	line(".SH COPYRIGHT\n%s", roff("Apache License 2.0. The licences of everything in it: Help, Typeface and licences, and quietwater version --licences."))
	return b.Bytes(), nil
}

// optionLine is an option as the program's help writes it: name, blanks, what for.
var optionLine = regexp.MustCompile(`^ {2,}(--\S+(?: [A-Z]+)?) +(.*)$`)

func options(b *bytes.Buffer, help string) {
	for _, l := range strings.Split(help, "\n") {
		if m := optionLine.FindStringSubmatch(l); m != nil {
			fmt.Fprintf(b, ".TP\n.B %s\n%s.\n", roff(m[1]), roff(capital(m[2])))
		}
	}
}

func capital(s string) string { return strings.ToUpper(s[:min(1, len(s))]) + s[min(1, len(s)):] }

// roff keeps what means something to the typesetter from meaning it.
func roff(s string) string {
	s = strings.NewReplacer(`\`, `\e`, "-", `\-`, "…", "...").Replace(s)
	if strings.HasPrefix(s, ".") || strings.HasPrefix(s, "'") {
		s = `\&` + s
	}
	return s
}

// desktop is a menu entry as the freedesktop.org Desktop Entry Specification
// wants it.
func desktop(command string) ([]byte, error) {
	var b bytes.Buffer
	b.WriteString("[Desktop Entry]\nType=Application\nName=Quietwater\n")
	for _, l := range i18n.Languages() {
		words, err := i18n.New(l.Tag, "")
		if err != nil {
			return nil, err
		}
		key := "Comment[" + strings.ReplaceAll(l.Tag, "-", "_") + "]"
		if l.Tag == "en" {
			key = "Comment"
		}
		fmt.Fprintf(&b, "%s=%s\n", key, words.T(model.T("desktop.comment")))
	}
	fmt.Fprintf(&b, "Exec=%s\nIcon=quietwater\nTerminal=false\nCategories=Utility;MedicalSoftware;\nStartupWMClass=Quietwater\nStartupNotify=false\n", command)
	return b.Bytes(), nil
}

// sizes are those a hicolor theme has for programs (freedesktop.org Icon Theme
// Specification and its usual directories).
var sizes = []int{16, 22, 24, 32, 48, 64, 128, 256, 512}

func icons(dir string) error {
	for _, n := range sizes {
		b, err := icon(n)
		if err == nil {
			err = write(filepath.Join(dir, fmt.Sprintf("%dx%d", n, n), "apps", "quietwater.png"), b)
		}
		if err != nil {
			return err
		}
	}
	return write(filepath.Join(dir, "scalable", "apps", "quietwater.svg"), assets.IconSVG)
}

func write(path string, b []byte) error {
	return cmp.Or(os.MkdirAll(filepath.Dir(path), 0o755), os.WriteFile(path, b, 0o644))
}

// icon is the program's icon, n pixels square.
func icon(n int) ([]byte, error) {
	whole, err := png.Decode(bytes.NewReader(assets.IconPNG))
	if err != nil {
		return nil, err
	}
	small := image.NewNRGBA(image.Rect(0, 0, n, n))
	draw.CatmullRom.Scale(small, small.Bounds(), whole, whole.Bounds(), draw.Src, nil)
	var b bytes.Buffer
	err = (&png.Encoder{CompressionLevel: png.BestCompression}).Encode(&b, small)
	return b.Bytes(), err
}

// ico is the icon in the sizes Windows shows, as PNG inside, which it reads
// since 2007: a head, an entry of 16 bytes for each, then the pictures.
func ico() ([]byte, error) {
	in := []int{16, 24, 32, 48, 64, 128, 256}
	le := binary.LittleEndian
	head := le.AppendUint16(le.AppendUint16(le.AppendUint16(nil, 0), 1), uint16(len(in)))
	var pictures []byte
	for _, n := range in {
		b, err := icon(n)
		if err != nil {
			return nil, err
		}
		head = append(head, byte(n), byte(n), 0, 0) // 256 is written as 0
		head = le.AppendUint16(le.AppendUint16(head, 1), 32)
		head = le.AppendUint32(head, uint32(len(b)))
		head = le.AppendUint32(head, uint32(6+16*len(in)+len(pictures)))
		pictures = append(pictures, b...)
	}
	return append(head, pictures...), nil
}
