package sound

import (
	"encoding/binary"
	"math"
	"time"
)

// Tone is one of our signals. Each says with sound what the screen says in words and figures at the
// same moment; none stands alone.
type Tone int

const (
	Ahead Tone = iota // a pad is due in ten seconds: one soft note
	Now               // read it now: two notes rising
	Done              // the test is over: three notes falling
)

// Tones lists every tone.
var Tones = []Tone{Ahead, Now, Done}

func (t Tone) String() string {
	switch t {
	case Ahead:
		return "ahead"
	case Now:
		return "now"
	case Done:
		return "done"
	}
	return "unknown"
}

// The form of the sound data: interleaved 16-bit little-endian samples, the same on both channels.
const (
	sampleRate = 48000
	channels   = 2
	frameBytes = channels * 2
)

// peak is the highest level of a tone at full volume, as a part of full scale. Two tones may sound at
// once (see Player.Play), and their sum must not be cut off.
const peak = 0.48

// fade is the length of the rise and the fall of a note; a sudden start or end is heard as a click.
const fade = 40 * time.Millisecond

// overtones are the strengths of the first three harmonics. A pure low note is nearly lost on the small
// loudspeaker of a laptop; the third harmonic of our highest note, 1.98 kHz, is still below the 2.5 kHz
// where hearing is often lost with age (needs R25).
var overtones = []float64{1, 0.45, 0.2}

type note struct {
	hertz float64
	long  time.Duration
}

// Notes of the equal-tempered scale with a' = 440 Hz (ISO 16). Together they are one chord, so two
// tones at once are still pleasant.
const (
	a4 = 440.00
	c5 = 523.25
	e5 = 659.26
)

var scores = map[Tone][]note{
	Ahead: {{a4, 250 * time.Millisecond}},
	Now:   {{c5, 250 * time.Millisecond}, {e5, 350 * time.Millisecond}},
	Done:  {{e5, 250 * time.Millisecond}, {c5, 250 * time.Millisecond}, {a4, 400 * time.Millisecond}},
}

// Length is how long the tone sounds; 0 for a tone that does not exist.
func (t Tone) Length() time.Duration {
	var sum time.Duration
	for _, n := range scores[t] {
		sum += n.long
	}
	return sum
}

// wave computes the tone as one channel of samples between -peak and peak.
func (t Tone) wave() []float64 {
	var out []float64
	high := 0.0
	for _, n := range scores[t] {
		count := int(n.long.Seconds() * sampleRate)
		edge := fade.Seconds() * sampleRate
		for i := range count {
			v := 0.0
			for k, strength := range overtones {
				v += strength * math.Sin(2*math.Pi*n.hertz*float64(k+1)*float64(i)/sampleRate)
			}
			v *= rise(float64(i)/edge) * rise(float64(count-1-i)/edge)
			out = append(out, v)
			high = max(high, math.Abs(v))
		}
	}
	for i := range out {
		out[i] *= peak / high
	}
	return out
}

// rise goes smoothly from 0 at 0 to 1 at 1 and stays there.
func rise(x float64) float64 {
	if x >= 1 {
		return 1
	}
	return (1 - math.Cos(math.Pi*x)) / 2
}

// pcm is the tone in the form the device takes.
func (t Tone) pcm() []byte {
	wave := t.wave()
	out := make([]byte, 0, len(wave)*frameBytes)
	for _, v := range wave {
		s := uint16(int16(math.Round(v * math.MaxInt16)))
		for range channels {
			out = binary.LittleEndian.AppendUint16(out, s)
		}
	}
	return out
}
