package cli

import (
	"bufio"
	"context"
	"errors"
	"io"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"time"

	"quietwater/app/backup"
	"quietwater/app/session"
	"quietwater/app/store"
	"quietwater/i18n"
)

type backupJSON struct {
	Backup    string        `json:"backup"`
	Made      string        `json:"made"`
	Program   string        `json:"program"`
	Encrypted bool          `json:"encrypted"`
	Bytes     int64         `json:"bytes"`
	Counts    backup.Counts `json:"counts"`
}

func answerOf(f backup.Found) backupJSON {
	return backupJSON{f.Path, f.Made.Format(time.RFC3339), f.Program, f.Encrypted, f.Size, f.Counts}
}

// restoreJSON has the restored book's path, null after a rehearsal, and where
// the rehearsed book is there already, what differs.
type restoreJSON struct {
	backupJSON
	Rehearsed bool         `json:"rehearsed"`
	Book      *string      `json:"book"`
	Differs   []backup.Row `json:"differs,omitempty"`
}

const passphraseUse = "`FILE` to read it from; else standard input"

func backUp(ctx context.Context, w World, args []string) int {
	c := newCommand(w, "backup", "backup --book FILE --out FILE [--passphrase-file FILE | --plain]")
	path := c.String("book", w.DefaultBook, "book `FILE` to back up; without it the household's")
	out := c.String("out", "", "a new `FILE` to write, or a folder; nothing is overwritten")
	pass := c.String("passphrase-file", "", passphraseUse)
	plain := c.Bool("plain", false, "no passphrase: anyone who has the file can read it")
	lang := c.String("lang", "", "language `TAG` of the reasons, as es")
	if code, done := c.parse(args); done {
		return code
	}
	words, err := c.words(*lang)
	switch {
	case *out == "":
		return c.wrong("--out is missing")
	case *plain && *pass != "":
		return c.wrong("--plain and --passphrase-file exclude each other")
	case err != nil:
		return c.wrong("--lang: %v", err)
	}
	if _, err := os.Stat(*path); err != nil {
		return c.noBook(words, *path, err)
	}
	o := backup.Options{Now: w.Now(), Version: w.Version, Work: w.Work}
	if !*plain {
		if o.Passphrase, err = c.passphrase(*pass); err != nil {
			return c.noFile(*pass, err)
		}
		if err := backup.CheckPassphrase(o.Passphrase); err != nil {
			return c.refuse("%s", c.say(words, err))
		}
	}
	b, err := store.Open(ctx, c.options(*path, true))
	if err != nil {
		return c.refuse("%s", c.say(words, err))
	}
	defer b.Close(ctx)
	to := *out
	if st, err := os.Stat(to); err == nil && st.IsDir() {
		to = backup.FreeName(to, o)
	}
	if abs, err := filepath.Abs(to); err == nil {
		to = abs
	}
	found, err := backup.Write(ctx, b, to, o)
	if err != nil {
		return c.refuse("%s", c.say(words, err))
	}
	return c.print(answerOf(found))
}

func restore(ctx context.Context, w World, args []string) int {
	c := newCommand(w, "restore", "restore --from FILE --book NEWFILE [--passphrase-file FILE]")
	from := c.String("from", "", "the backup, a `FILE`")
	path := c.String("book", "", "new `FILE` for the book; with --rehearse one to compare with")
	rehearse := c.Bool("rehearse", false, "take everything out, check and count it, and remove it again")
	pass := c.String("passphrase-file", "", passphraseUse)
	lang := c.String("lang", "", "language `TAG` of the reasons, as es")
	if code, done := c.parse(args); done {
		return code
	}
	words, err := c.words(*lang)
	switch {
	case *from == "":
		return c.wrong("--from is missing")
	case *path == "" && !*rehearse:
		return c.wrong("--book is missing")
	case err != nil:
		return c.wrong("--lang: %v", err)
	}
	sealed, err := backup.Encrypted(*from)
	if err != nil {
		return c.refuse("%s", c.say(words, err))
	}
	o := backup.Options{Now: w.Now(), Version: w.Version}
	if sealed {
		if o.Passphrase, err = c.passphrase(*pass); err != nil {
			return c.noFile(*pass, err)
		}
	}
	do, at := backup.Restore, *path
	if *rehearse {
		do = backup.Rehearse
		if at == "" {
			at = w.DefaultBook
		}
	}
	found, err := do(ctx, *from, at, o)
	if err != nil {
		return c.refuse("%s", c.say(words, err))
	}
	a := restoreJSON{backupJSON: answerOf(found), Rehearsed: *rehearse}
	if !*rehearse {
		abs, err := filepath.Abs(at)
		if err != nil {
			abs = at
		}
		a.Book = &abs
	} else if _, err := os.Stat(at); err == nil {
		now, err := backup.Count(ctx, at)
		if err != nil { // what the backup holds is answered all the same
			c.refuse("%s: %s", at, words.T(session.Tell(err)))
		} else {
			a.Differs = differing(found.Counts, now)
		}
	}
	return c.print(a)
}

func differing(a, b backup.Counts) []backup.Row {
	return slices.DeleteFunc(backup.Beside(a, b), func(r backup.Row) bool { return r.Backup == r.Book })
}

// say gives an error of a backup, or else of the store, words.
func (c *command) say(words *i18n.Pair, err error) string {
	if m := backup.Told(err); !m.IsZero() {
		return words.T(m)
	}
	return words.T(session.Tell(err))
}

// mostPassphrase keeps a wrong file from being read whole.
const mostPassphrase = 64 << 10

// passphrase reads one from the first line of a file, or of standard input. It
// is never an argument, which others on the machine could see.
func (c *command) passphrase(file string) (string, error) {
	in := c.w.Stdin
	if file != "" {
		f, err := os.Open(file)
		if err != nil {
			return "", err
		}
		defer f.Close()
		in = f
	}
	line, err := bufio.NewReader(io.LimitReader(in, mostPassphrase)).ReadString('\n')
	if err != nil && !errors.Is(err, io.EOF) {
		return "", err
	}
	return strings.TrimRight(line, "\r\n"), nil
}
