// Command blank is the floor of the start benchmark: the emptiest window the
// toolkit can make. It prints firstpaint_ms, the time from QW_T0 (unix
// nanoseconds, set by the script that starts it) to its first painted frame.
package main

import (
	"fmt"
	"image"
	"os"
	"strconv"
	"sync"
	"time"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/app"
	"fyne.io/fyne/v2/canvas"
	"fyne.io/fyne/v2/container"
)

func main() {
	start, err := strconv.ParseInt(os.Getenv("QW_T0"), 10, 64)
	if err != nil {
		fmt.Fprintln(os.Stderr, "blank: set QW_T0 to the time of the start, in unix nanoseconds")
		os.Exit(2)
	}
	var once sync.Once
	// The painter asks a raster for its picture while it draws a frame, so
	// the first call is the first moment somebody could see the window.
	dot := canvas.NewRaster(func(w, h int) image.Image {
		once.Do(func() {
			fmt.Fprintf(os.Stderr, "firstpaint_ms %d\n", (time.Now().UnixNano()-start)/int64(time.Millisecond))
		})
		return image.NewRGBA(image.Rect(0, 0, w, h))
	})
	dot.SetMinSize(fyne.NewSize(1, 1))

	w := app.NewWithID("quietwater.blank").NewWindow("Blank")
	w.SetContent(container.NewHBox(dot))
	w.Resize(fyne.NewSize(1200, 760))
	w.ShowAndRun()
}
