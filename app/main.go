// Command quietwater keeps watch on kidneys at home: it wires the household's
// book, the window and the verbs without a window together, and owns nothing
// else.
package main

import (
	"context"
	"crypto/rand"
	"errors"
	"flag"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"runtime"
	"strconv"
	"strings"
	"time"

	"quietwater/app/cli"
	"quietwater/model"
)

// Version is the program's. This is the one place that says it: packages, the
// help page and quietwater version take it from here.
const Version = "0.1.0"

// options are what a window can be asked for. The last five are for tests.
type options struct {
	book     string
	demo     bool
	language string
	large    bool

	clockSpeed    float64
	now           time.Time
	width, height int
}

func main() {
	_ = noCore() // where it is refused there is nothing more to do
	world := cli.World{Stdin: os.Stdin, Stdout: os.Stdout, Stderr: os.Stderr, Now: time.Now, Rand: rand.Reader,
		DefaultBook: defaultBook(), Language: machineLanguage(), Version: Version}
	args := os.Args[1:]
	if len(args) == 1 && args[0] == "--version" { // as most programs can be asked
		args = []string{"version"}
	}
	if len(args) > 0 && (cli.IsVerb(args[0]) || !strings.HasPrefix(args[0], "-")) {
		os.Exit(cli.Run(context.Background(), world, args))
	}
	o, err := parse(args)
	switch {
	case errors.Is(err, flag.ErrHelp):
		cli.Help(os.Stdout)
	case err != nil:
		fmt.Fprintf(os.Stderr, "quietwater: %s; see quietwater help\n", strings.ReplaceAll(err.Error(), ": -", ": --"))
		os.Exit(cli.Usage)
	default:
		window(o)
	}
}

// maxSpeed keeps an hour of work far from the end of what a Duration holds.
const maxSpeed = 100_000

func parse(args []string) (options, error) {
	o := options{}
	f := flag.NewFlagSet("quietwater", flag.ContinueOnError)
	f.SetOutput(io.Discard)
	f.StringVar(&o.book, "book", defaultBook(), "")
	f.BoolVar(&o.demo, "demo", false, "")
	f.StringVar(&o.language, "lang", "", "")
	f.BoolVar(&o.large, "large", false, "")
	f.Float64Var(&o.clockSpeed, "clock-speed", 1, "")
	now := f.String("now", "", "")
	size := f.String("size", "1280x800", "")
	if err := f.Parse(args); err != nil {
		return o, err
	}
	if f.NArg() > 0 {
		return o, fmt.Errorf("%q is not expected here", f.Arg(0))
	}
	if *now != "" {
		w, err := model.ParseWhen(*now, time.Local)
		if err != nil {
			return o, err
		}
		o.now = w.Time().In(time.Local)
	}
	w, h, _ := strings.Cut(*size, "x")
	o.width, _ = strconv.Atoi(w)
	o.height, _ = strconv.Atoi(h)
	if o.width < 320 || o.height < 240 || !(o.clockSpeed > 0 && o.clockSpeed <= maxSpeed) { // NaN is neither
		return o, errors.New("--size or --clock-speed makes no sense")
	}
	return o, nil
}

// defaultBook is where the household's book lies unless --book says otherwise:
// the data folder of the system.
func defaultBook() string {
	return filepath.Join(dataFolder(), "quietwater", "household.book")
}

func dataFolder() string {
	if d := os.Getenv("XDG_DATA_HOME"); filepath.IsAbs(d) {
		return d
	}
	home, err := os.UserHomeDir()
	if err != nil {
		return "."
	}
	switch runtime.GOOS {
	case "windows":
		if d := os.Getenv("LOCALAPPDATA"); d != "" {
			return d
		}
	case "darwin":
		return filepath.Join(home, "Library", "Application Support")
	}
	return filepath.Join(home, ".local", "share")
}

// machineLanguage is the language of the system as a BCP 47 tag, "en" where it
// tells none.
func machineLanguage() string {
	for _, name := range []string{"LC_ALL", "LC_MESSAGES", "LANG"} { // the first that is set decides (POSIX, 8.2)
		tag, _, _ := strings.Cut(os.Getenv(name), ".")
		tag, _, _ = strings.Cut(tag, "@")
		switch tag {
		case "":
		case "C", "POSIX":
			return "en"
		default:
			return strings.ReplaceAll(tag, "_", "-")
		}
	}
	return "en"
}
