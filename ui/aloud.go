package ui

import (
	"strings"

	"fyne.io/fyne/v2"

	"quietwater/model"
	"quietwater/model/household"
	"quietwater/ui/kit"
)

// mainMessage is how much of a page is read aloud unasked, in letters: its title
// and what stands first.
const mainMessage = 240

// aloud reads the page: its main message where that was asked for once and for
// all, or when somebody asks now, all of it. Asked again it stops.
func (w *Window) aloud(now bool) {
	voice := w.forced.Voice
	if voice == nil {
		if now {
			w.say(model.T("household.no-voice"), false)
			w.bar()
		}
		return
	}
	if now && w.speaking {
		w.speaking = false
		voice.Stop()
		return
	}
	w.speaking = now
	if !now && !w.wantsAloud() {
		voice.Stop() // what was said of another page
		return
	}
	voice.Say(w.pageText(now), w.words.First())
}

func (w *Window) wantsAloud() bool {
	return w.forced.Voice != nil && w.house.State().Records.Settings[household.SetAloud] == "yes"
}

// tellAloud reads a line of the running test.
func (w *Window) tellAloud(said string) {
	if w.wantsAloud() {
		w.forced.Voice.Say(said, w.words.First())
	}
}

// pageText is what stands on the page in the first language, without the words
// of what can be pressed; the whole of it or the main message.
func (w *Window) pageText(whole bool) string {
	var said []string
	letters := 0
	kit.Walk(w.page, nil, func(n *kit.Node) bool {
		if _, control := kit.Target(n.Object); control {
			return false
		}
		t, ok := n.Object.(*kit.Text)
		if !ok || !whole && letters > mainMessage {
			return true
		}
		if line := t.String(); line != "" && (len(said) == 0 || said[len(said)-1] != line) {
			said = append(said, line)
			letters += len([]rune(line))
		}
		return false
	})
	return strings.Join(said, ".\n")
}

// aloudChoice asks for it once and for all.
func (w *Window) aloudChoice() fyne.CanvasObject {
	if w.forced.Voice == nil {
		return w.kit.Small(model.T("household.no-voice"))
	}
	return w.kit.AtOnce().Check("aloud", model.T("household.aloud"), w.wantsAloud(), func(on bool) {
		w.set(household.SetAloud, map[bool]string{true: "yes", false: ""}[on])
	})
}
