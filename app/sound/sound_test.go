package sound

import (
	"errors"
	"fmt"
	"math"
	"reflect"
	"runtime"
	"sync"
	"testing"
	"testing/synctest"
	"time"
)

// Needs R25: at most 3 s, at most 2.5 kHz; no click at either end.
func TestTones(t *testing.T) {
	for _, tone := range Tones {
		t.Run(tone.String(), func(t *testing.T) {
			wave := tone.wave()
			if got, want := time.Duration(len(wave))*time.Second/sampleRate, tone.Length(); got != want || want <= 0 || want > 3*time.Second {
				t.Errorf("sounds %v, says %v", got, want)
			}
			if got := len(tone.pcm()); got != len(wave)*frameBytes {
				t.Errorf("%d bytes for %d samples", got, len(wave))
			}
			high, last, jump := 0.0, 0.0, 0.0
			for _, v := range append(wave, 0) {
				high = max(high, math.Abs(v))
				jump = max(jump, math.Abs(v-last))
				last = v
			}
			if math.Abs(high-peak) > 1e-9 {
				t.Errorf("peak %v, not %v", high, peak)
			}
			// The steepest a wave of this height can be without anything above 2.5 kHz in it.
			if steepest := peak * 2 * math.Pi * 2500 / sampleRate; !(jump <= steepest) { // so written, it catches what is not a number
				t.Errorf("jumps by %v between samples, more than %v", jump, steepest)
			}
			if edge := max(math.Abs(wave[0]), math.Abs(wave[len(wave)-1]), math.Abs(wave[48]), math.Abs(wave[len(wave)-49])); !(edge <= peak/100) {
				t.Errorf("starts or ends at %v", edge)
			}
			if part := energyAbove(wave, 2500); part >= 0.01 {
				t.Errorf("%.2f %% of the energy is above 2.5 kHz", 100*part)
			}
			if part := energyAbove(wave, 300); part < 0.99 {
				t.Errorf("only %.1f %% of the energy is where a small loudspeaker can give it", 100*part)
			}
		})
	}
	if peak*2 > 1 {
		t.Error("two tones at once are cut off")
	}
	if Tone(99).Length() != 0 {
		t.Error("an unknown tone has a length")
	}
}

// energyAbove is the part of the energy above a frequency, from a discrete Fourier transform (Goertzel's
// way) of blocks of 1024 samples, 46.9 Hz a line.
func energyAbove(wave []float64, hertz float64) float64 {
	const n = 1024
	padded := append(append([]float64(nil), wave...), make([]float64, n)...)
	var above, all float64
	for at := 0; at+n <= len(padded); at += n {
		for k := 1; k < n/2; k++ {
			c := 2 * math.Cos(2*math.Pi*float64(k)/n)
			var s1, s2 float64
			for i := range n {
				window := (1 - math.Cos(2*math.Pi*float64(i)/n)) / 2
				s1, s2 = padded[at+i]*window+c*s1-s2, s1
			}
			e := s1*s1 + s2*s2 - c*s1*s2
			all += e
			if float64(k)*sampleRate/n > hertz {
				above += e
			}
		}
	}
	return above / all
}

func TestEnergyAboveSeesHighTones(t *testing.T) {
	wave := make([]float64, 8192)
	for i := range wave {
		wave[i] = math.Sin(2*math.Pi*440*float64(i)/sampleRate) + 0.2*math.Sin(2*math.Pi*3000*float64(i)/sampleRate)
	}
	if got := energyAbove(wave, 2500); math.Abs(got-0.04/1.04) > 0.005 {
		t.Errorf("found %v of the energy above 2.5 kHz, put in %v", got, 0.04/1.04)
	}
}

// recorder is a device that notes what it is asked to play, and when.
type recorder struct {
	mu    sync.Mutex
	began time.Time
	heard []string
	err   error
}

func (r *recorder) play(pcm []byte, gain float64) error {
	r.mu.Lock()
	for _, t := range Tones {
		if len(t.pcm()) == len(pcm) {
			r.heard = append(r.heard, fmt.Sprintf("%v at %v, gain %.2f", t, time.Since(r.began), gain))
		}
	}
	err := r.err
	r.mu.Unlock()
	time.Sleep(time.Duration(len(pcm)/frameBytes) * time.Second / sampleRate)
	return err
}

func TestPlay(t *testing.T) {
	tests := map[string]struct {
		slow time.Duration // the device takes this long to open
		do   func(p *Player)
		want []string
	}{
		"one": {do: func(p *Player) { p.Play(Now) }, want: []string{"now at 0s, gain 1.00"}},
		"the warning for the next pad waits for this pad's tone": {
			do:   func(p *Player) { p.Play(Now); p.Play(Ahead) },
			want: []string{"now at 0s, gain 1.00", "ahead at 750ms, gain 1.00"},
		},
		"a reading never waits": {
			do:   func(p *Player) { p.Play(Ahead); time.Sleep(100 * time.Millisecond); p.Play(Now) },
			want: []string{"ahead at 0s, gain 1.00", "now at 100ms, gain 1.00"},
		},
		"pads of the same second sound once": {
			do:   func(p *Player) { p.Play(Now); p.Play(Now); p.Play(Done); p.Play(Done) },
			want: []string{"now at 0s, gain 1.00", "done at 750ms, gain 1.00"},
		},
		"again when it has ended": {
			do:   func(p *Player) { p.Play(Now); time.Sleep(600 * time.Millisecond); p.Play(Now) },
			want: []string{"now at 0s, gain 1.00", "now at 600ms, gain 1.00"},
		},
		"volume": {do: func(p *Player) { p.SetVolume(0.5); p.Play(Ahead) }, want: []string{"ahead at 0s, gain 0.25"}},
		"muted":  {do: func(p *Player) { p.SetMuted(true); p.Play(Now) }},
		"not muted any more": {
			do:   func(p *Player) { p.SetMuted(true); p.SetMuted(false); p.Play(Now) },
			want: []string{"now at 0s, gain 1.00"},
		},
		"volume 0":     {do: func(p *Player) { p.SetVolume(0); p.Play(Now) }},
		"unknown tone": {do: func(p *Player) { p.Play(Tone(-1)) }},
		"a slow device, still in time": {
			slow: 400 * time.Millisecond, do: func(p *Player) { p.Play(Now) },
			want: []string{"now at 400ms, gain 1.00"},
		},
		"a slow device, too late": {slow: 3 * time.Second, do: func(p *Player) { p.Play(Now) }},
		"a slow device, prepared": {
			slow: 3 * time.Second,
			do:   func(p *Player) { p.Prepare(); time.Sleep(5 * time.Second); p.Play(Now) },
			want: []string{"now at 5s, gain 1.00"},
		},
		"a test sounds even when muted": {
			do: func(p *Player) {
				p.SetMuted(true)
				if err := p.Test(); err != nil {
					panic(err)
				}
			},
			want: []string{"now at 0s, gain 1.00"},
		},
	}
	for name, c := range tests {
		t.Run(name, func(t *testing.T) {
			synctest.Test(t, func(t *testing.T) {
				r := &recorder{began: time.Now()}
				var once sync.Once
				p := newPlayer(func() (device, error) {
					once.Do(func() { time.Sleep(c.slow) })
					return r, nil
				})
				c.do(p)
				time.Sleep(20 * time.Second)
				synctest.Wait()
				if !reflect.DeepEqual(r.heard, c.want) {
					t.Errorf("heard %q, want %q", r.heard, c.want)
				}
				if p.Err() != nil {
					t.Error(p.Err())
				}
			})
		})
	}
}

func TestOpenTouchesNoDevice(t *testing.T) {
	p := newPlayer(func() (device, error) { panic("opened") })
	p.SetVolume(1)
	p.SetMuted(true)
	p.Play(Now)
	if p.Err() != nil {
		t.Error(p.Err())
	}
}

func TestSetVolume(t *testing.T) {
	p := Open()
	for _, c := range [][2]float64{{0.3, 0.3}, {-1, 0}, {7, 1}, {math.NaN(), 0}, {math.Inf(1), 1}} {
		p.SetVolume(c[0])
		if got := p.Volume(); got != c[1] {
			t.Errorf("set to %v, is %v", c[0], got)
		}
	}
	p.SetMuted(true)
	if !p.Muted() || p.Volume() != 1 {
		t.Error("muting changed the volume or nothing")
	}
}

// The machine's own way to a device, with the sound system told of none.
func TestNoDevice(t *testing.T) {
	if runtime.GOOS != "linux" {
		t.Skip("only the Linux sound system can be told that there is no device")
	}
	t.Setenv("ALSA_CONFIG_PATH", "/nonexistent")
	p := Open()
	if err := p.Test(); !errors.Is(err, ErrSilent) {
		t.Fatalf("Test without a device says %v", err)
	}
	if !errors.Is(p.Err(), ErrSilent) {
		t.Errorf("Err says %v", p.Err())
	}
	for _, tone := range Tones {
		p.Play(tone)
	}
	p.Prepare()
	if err := Open().Test(); !errors.Is(err, ErrSilent) {
		t.Errorf("a second player says %v", err)
	}
}

func TestFaultAndReturn(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		fault := fmt.Errorf("%w: unplugged", ErrSilent)
		r := &recorder{began: time.Now(), err: fault}
		p := newPlayer(func() (device, error) { return r, nil })
		p.Play(Now)
		time.Sleep(5 * time.Second)
		synctest.Wait()
		if p.Err() != fault {
			t.Fatalf("after a fault: %v", p.Err())
		}
		p.Play(Now)
		time.Sleep(5 * time.Second)
		synctest.Wait()
		if len(r.heard) != 1 {
			t.Errorf("played on after a fault: %q", r.heard)
		}
		r.err = nil
		if err := p.Test(); err != nil || p.Err() != nil {
			t.Errorf("back again, but %v, %v", err, p.Err())
		}
	})
}

func TestManyAtOnce(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		r := &recorder{began: time.Now()}
		p := newPlayer(func() (device, error) { return r, nil })
		for i := range 300 {
			go func() {
				p.SetVolume(1 - float64(i)/1000)
				p.Play(Tones[i%len(Tones)])
				_, _, _ = p.Volume(), p.Muted(), p.Err()
				p.SetMuted(false)
			}()
		}
		time.Sleep(10 * time.Second)
		synctest.Wait()
		if len(r.heard) != len(Tones) {
			t.Errorf("heard %d tones: %q", len(r.heard), r.heard)
		}
	})
}
