package main

import "time"

// clock is the household's clock. A test may let it start at another moment
// and run faster; both its readings then agree, as real ones do.
type clock struct {
	begun time.Time // real, with its monotonic reading
	from  time.Time // what the clock said then
	speed float64
}

func newClock(from time.Time, speed float64) *clock {
	now := time.Now()
	if from.IsZero() {
		from = now
	}
	return &clock{begun: now, from: from, speed: speed}
}

// Now is the wall's time. Without pretence it is the real one, jumps included.
func (c *clock) Now() time.Time {
	if c.speed == 1 && c.from.Equal(c.begun) {
		return time.Now().Round(0)
	}
	return c.from.Round(0).Add(c.Mono())
}

// Mono counts from the start of the program and never jumps.
func (c *clock) Mono() time.Duration {
	return time.Duration(float64(time.Since(c.begun)) * c.speed)
}
