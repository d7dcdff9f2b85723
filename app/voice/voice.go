// Package voice speaks words aloud with the voice the system has, if it has
// one.
//
// It refuses to know what is said, and when.
package voice

import (
	"context"
	"os/exec"
	"runtime"
	"strings"
	"sync"
)

// Voice speaks one text at a time.
type Voice struct {
	program
	path string

	mu   sync.Mutex
	stop context.CancelFunc // ends what is being said; nil for nothing
}

// program is one that speaks what comes in on its standard input: words about
// somebody's health have no place among the arguments of a process, which
// others on the computer can see.
type program struct {
	name string
	args func(lang string) []string
	hush []string // arguments that end what is being said, where ending the program does not
}

// programs are those each system may have, the first that is there speaks.
var programs = map[string][]program{
	"linux": {
		{name: "espeak-ng", args: espeak},
		{name: "espeak", args: espeak},
		{name: "spd-say", args: func(lang string) []string { return []string{"--language", lang, "--rate", "-10", "--pipe-mode"} }, hush: []string{"--cancel"}},
	},
	"darwin": {{name: "say", args: func(string) []string { return []string{"-f", "-"} }}},
	"windows": {{name: "powershell", args: func(lang string) []string {
		return []string{"-NoProfile", "-Command", "[Console]::InputEncoding = [Text.Encoding]::UTF8; Add-Type -AssemblyName System.Speech; " +
			"$s = New-Object System.Speech.Synthesis.SpeechSynthesizer; " +
			"$s.SelectVoiceByHints('NotSet', 'NotSet', 0, [Globalization.CultureInfo]'" + lang + "'); $s.Speak([Console]::In.ReadToEnd())"}
	}}},
}

// espeak speaks a little slower than it would by itself.
func espeak(lang string) []string { return []string{"-v", lang, "-s", "150", "--stdin"} }

// Find looks for a voice; nil where the system has none.
func Find() *Voice { return find(runtime.GOOS, exec.LookPath) }

func find(system string, look func(string) (string, error)) *Voice {
	for _, p := range programs[system] {
		if path, err := look(p.name); err == nil {
			return &Voice{program: p, path: path}
		}
	}
	return nil
}

// Say speaks a text in a language (BCP 47) beside everything else. What was
// being said ends.
func (v *Voice) Say(text, lang string) {
	v.Stop()
	if strings.TrimSpace(text) == "" || !plainTag(lang) {
		return
	}
	ctx, stop := context.WithCancel(context.Background())
	v.mu.Lock()
	v.stop = stop
	v.mu.Unlock()
	cmd := exec.CommandContext(ctx, v.path, v.args(lang)...)
	cmd.Stdin = strings.NewReader(text)
	go func() {
		defer stop()
		cmd.Run() // a voice that fails is no voice: what is said can be read too
	}()
}

// plainTag reports a language that may stand in a command.
func plainTag(lang string) bool {
	return lang != "" && len(lang) < 20 && strings.Trim(lang, "abcdefghijklmnopqrstuvwxyzABCDEFGHIJKLMNOPQRSTUVWXYZ0123456789-") == "" && lang[0] != '-'
}

// Stop ends what is being said.
func (v *Voice) Stop() {
	v.mu.Lock()
	stop := v.stop
	v.stop = nil
	v.mu.Unlock()
	if stop == nil {
		return
	}
	stop()
	if v.hush != nil {
		exec.Command(v.path, v.hush...).Start()
	}
}
