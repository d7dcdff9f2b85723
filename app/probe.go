package main

import (
	"fmt"
	"image"
	"image/color"
	"os"
	"strconv"
	"sync"
	"time"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/canvas"

	"quietwater/ui/kit"
)

// firstPaint prints, under the given name, how long it took until it was first
// painted, when a bench asks for it by QW_T0: the nanoseconds since 1970 at
// which it started the program.
func firstPaint(name string) fyne.CanvasObject {
	begun, err := strconv.ParseInt(os.Getenv("QW_T0"), 10, 64)
	if err != nil {
		return nil
	}
	var once sync.Once
	r := canvas.NewRaster(func(w, h int) image.Image {
		once.Do(func() { fmt.Fprintf(os.Stderr, "%s %d\n", name, (time.Now().UnixNano()-begun)/1e6) })
		img := image.NewRGBA(image.Rect(0, 0, w, h))
		img.Set(0, 0, color.Transparent)
		return img
	})
	r.SetMinSize(fyne.NewSize(1, 1))
	return r
}

// probe lets a scripted test find what is on screen: with QW_PROBE set, every
// redraw and every scroll adds a block to that file. It writes a moment later,
// when everything has found its place.
func (r *running) probe() func(string) {
	path := os.Getenv("QW_PROBE")
	if path == "" {
		return nil
	}
	screen, last, had := "", "", ""
	write := func() {
		lines := kit.Probe(r.win.Canvas(), screen)
		now, focus := fmt.Sprint(screen, lines), kit.Focused(r.win.Canvas())
		if now == last && focus == had {
			return
		}
		if now != last { // the keyboard may move over a page that stays
			r.frames++
		}
		last, had = now, focus
		f, err := os.OpenFile(path, os.O_APPEND|os.O_CREATE|os.O_WRONLY, 0o600)
		if err != nil {
			return
		}
		defer f.Close()
		_ = kit.WriteProbe(f, r.frames, screen, focus, lines)
	}
	go func() {
		for range time.Tick(150 * time.Millisecond) {
			fyne.Do(write)
		}
	}()
	return func(s string) { screen = s }
}
