// Package sound owns the program's soft tones and the one player that sounds them. It refuses to know
// what a tone is for, and nobody may depend on it: without a device it is silent and says why.
package sound

import (
	"errors"
	"sync"
	"time"
)

// ErrSilent is in every error of this package: no tone can be heard. The text after it is the
// machine's own reason, in English, for a details line; the reader's words are the caller's.
var ErrSilent = errors.New("no sound on this computer")

// A device turns samples into sound. play returns when they have been heard, or cannot be.
type device interface {
	play(pcm []byte, gain float64) error
}

const (
	// lateness a tone may have. After that it is left out: a signal that comes seconds late, because a
	// device was slow to wake, would put a reading at the wrong time.
	lateness = time.Second
	// gap is the pause before a tone that waited for another.
	gap = 150 * time.Millisecond
)

// Player sounds tones. Its methods may be called from any goroutine; all but Test return at once.
type Player struct {
	open func() (device, error) // blocks; the same answer every time

	testing sync.Mutex

	mu     sync.Mutex
	volume float64
	muted  bool
	err    error
	busy   time.Time          // when the last tone asked for will have ended
	until  map[Tone]time.Time // the same, for each tone
}

// Open returns a player at full volume. It touches no device: that happens at the first tone, or at
// Prepare, so a start of the program costs nothing. One player is enough; all share one device.
func Open() *Player {
	return newPlayer(theDevice)
}

func newPlayer(open func() (device, error)) *Player {
	return &Player{open: open, volume: 1, until: map[Tone]time.Time{}}
}

// Prepare opens the device in the background, so that the first tone is on time. Call it when a timed
// test begins.
func (p *Player) Prepare() {
	go p.ready()
}

// Play sounds a tone at the present volume and returns at once; muted, silent or at volume 0 it does
// nothing. Now starts at once, whatever else sounds; Ahead and Done wait until what was asked before
// has ended (if Now and Ahead fall on the same instant, ask for Now first). A tone that already sounds
// or waits is not started a second time.
func (p *Player) Play(t Tone) {
	p.mu.Lock()
	defer p.mu.Unlock()
	now := time.Now()
	if t.Length() == 0 || p.muted || p.volume == 0 || p.err != nil || now.Before(p.until[t]) {
		return
	}
	start := now
	if t != Now && p.busy.After(now) {
		start = p.busy.Add(gap)
	}
	end := start.Add(t.Length())
	p.until[t] = end
	if end.After(p.busy) {
		p.busy = end
	}
	go p.sound(t, start, p.gain())
}

// Test opens the device, sounds Now at the present volume, even when muted, and returns when it has been
// heard: nil, or an error that wraps ErrSilent. After a fault it is the way to find out whether the
// sound is back, and if so to have it again. It takes about a second, and up to eleven when a
// device does not answer; so call it away from the window's own goroutine.
func (p *Player) Test() error {
	if _, err := p.ready(); err != nil {
		return err
	}
	p.testing.Lock() // tests one after another: more than two tones at once are cut off
	defer p.testing.Unlock()
	p.mu.Lock()
	gain := p.gain()
	p.mu.Unlock()
	return p.sound(Now, time.Now(), gain)
}

// Err tells why the player is silent: an error that wraps ErrSilent, or nil while no fault is known,
// which includes the time before the device was first opened.
func (p *Player) Err() error {
	p.mu.Lock()
	defer p.mu.Unlock()
	return p.err
}

// SetVolume sets the volume for the tones to come, from 0 (nothing) to 1; values outside are moved to
// the nearest end. Equal steps are heard as about equal.
func (p *Player) SetVolume(v float64) {
	p.mu.Lock()
	defer p.mu.Unlock()
	switch {
	case v >= 1:
		p.volume = 1
	case v > 0:
		p.volume = v
	default: // also for what is not a number
		p.volume = 0
	}
}

// Volume returns what SetVolume set.
func (p *Player) Volume() float64 {
	p.mu.Lock()
	defer p.mu.Unlock()
	return p.volume
}

// SetMuted switches the tones to come off or on, and keeps the volume.
func (p *Player) SetMuted(m bool) {
	p.mu.Lock()
	defer p.mu.Unlock()
	p.muted = m
}

// Muted returns what SetMuted set.
func (p *Player) Muted() bool {
	p.mu.Lock()
	defer p.mu.Unlock()
	return p.muted
}

// gain is the factor for the samples: the ear hears level roughly as the root of it.
func (p *Player) gain() float64 {
	return p.volume * p.volume
}

func (p *Player) ready() (device, error) {
	d, err := p.open()
	if err != nil {
		p.note(err)
	}
	return d, err
}

func (p *Player) note(err error) {
	p.mu.Lock()
	defer p.mu.Unlock()
	p.err = err
}

func (p *Player) sound(t Tone, start time.Time, gain float64) error {
	d, err := p.ready()
	if err != nil {
		return err
	}
	time.Sleep(time.Until(start))
	if time.Since(start) > lateness {
		return nil
	}
	err = d.play(t.pcm(), gain)
	p.note(err)
	return err
}
