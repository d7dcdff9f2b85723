//go:build cgo || windows || darwin

package sound

import (
	"bytes"
	"fmt"
	"sync"
	"time"

	"github.com/ebitengine/oto/v3"
)

// patience is how long a device may take to open; some sound servers never answer.
const patience = 10 * time.Second

// rest is how long after its last tone the device goes on: what it still holds has to be heard.
const rest = 300 * time.Millisecond

// theDevice opens the machine's device. The library allows one context a process, so it is opened
// once, and its failure stays too.
var theDevice = sync.OnceValues(func() (device, error) {
	ctx, ready, err := oto.NewContext(&oto.NewContextOptions{
		SampleRate: sampleRate, ChannelCount: channels, Format: oto.FormatSignedInt16LE,
	})
	if err != nil {
		return nil, silent(err)
	}
	select {
	case <-ready:
	case <-time.After(patience):
		return nil, silent(fmt.Errorf("the device did not answer in %v", patience))
	}
	if err := ctx.Err(); err != nil { // a missing device is reported here only
		return nil, silent(err)
	}
	d := &speaker{ctx: ctx}
	return d, silent(ctx.Suspend())
})

func silent(err error) error {
	if err == nil {
		return nil
	}
	return fmt.Errorf("%w: %v", ErrSilent, err)
}

// speaker is the open device. It is suspended whenever nothing sounds; otherwise it would be fed
// silence for as long as the program runs.
type speaker struct {
	ctx *oto.Context

	mu     sync.Mutex
	active int
}

func (d *speaker) play(pcm []byte, gain float64) error {
	if err := d.wake(); err != nil {
		return silent(err)
	}
	p := d.ctx.NewPlayer(bytes.NewReader(pcm))
	p.SetVolume(gain)
	p.Play()
	long := time.Duration(len(pcm)/frameBytes) * time.Second / sampleRate
	time.Sleep(long + rest)
	for i := 0; p.IsPlaying() && d.ctx.Err() == nil && i < 20; i++ { // a slow device: two seconds at most
		time.Sleep(100 * time.Millisecond)
	}
	p.Pause() // else a device that stopped would sound the remainder with a later tone
	return silent(d.sleep())
}

func (d *speaker) wake() error {
	d.mu.Lock()
	defer d.mu.Unlock()
	d.active++
	if d.active > 1 {
		return nil
	}
	err := d.ctx.Resume()
	if err != nil {
		d.active--
	}
	return err
}

func (d *speaker) sleep() error {
	d.mu.Lock()
	defer d.mu.Unlock()
	d.active--
	if d.active > 0 {
		return d.ctx.Err()
	}
	return d.ctx.Suspend()
}
