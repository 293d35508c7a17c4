// Package sound plays and records at once, through the sound server of the machine
// ([Pulse]) or on a bench that exists only as numbers ([Virtual]). Package benchpage has a
// third way, the browser of the page.
//
// What is recorded counts: only the ratio of its two channels is used, so nobody has to know
// how long the sound was on its way, and output and input need not share a clock.
package sound

import (
	"context"
	"errors"
)

// Device is one output or input.
type Device struct {
	ID       string // what [System.Open] takes
	Name     string // what people read
	Channels int    // 0: not known
	Usual    bool   // the one that is taken when none is named
	Loop     bool   // an input that hears what an output plays
}

// Devices are what can play and what can record.
type Devices struct{ Outputs, Inputs []Device }

// System is a way to play and record.
type System interface {
	// Kind is "native", "browser" or "virtual".
	Kind() string
	// Name says more, for people.
	Name() string
	Devices(ctx context.Context) (Devices, error)
	// Open chooses an output and an input by their IDs; "" is the usual one. What cannot
	// measure is refused: an input of one channel, a device that is muted.
	Open(ctx context.Context, output, input string) (Line, error)
}

// Line is an output and an input that were chosen.
type Line interface {
	Rate() int // Hz, of both
	// Run plays and records until ctx ends, which is no error, or take returns an error,
	// which is returned but for [ErrEnough]. Take gets what both channels recorded, as
	// fractions of full scale, block by block and without gaps; the slices belong to it. A
	// device that is pulled out, or a machine that does not keep up, ends the run with an
	// error. When Run returns, the output is silent.
	Run(ctx context.Context, play Play, take func(ch1, ch2 []float64) error) error
}

// ErrEnough ends a run that has recorded what is needed.
var ErrEnough = errors.New("enough was recorded")

// Play is what goes to the output: samples once and then silence, or round and round.
type Play struct {
	Samples []float64 // fraction of full scale
	Loop    bool
	// Gain is asked for from time to time; nil is 1. A change takes effect within a
	// fraction of a second and without a click.
	Gain func() float64
}

// player hands out a play block by block.
type player struct {
	Play
	next int
	gain float64 // at the end of the last block
}

func newPlayer(p Play) *player { return &player{Play: p, gain: p.now()} }

func (p Play) now() float64 {
	if p.Gain == nil {
		return 1
	}
	return p.Gain()
}

// fill writes what is played next.
func (p *player) fill(out []float64) {
	from, to := p.gain, p.now()
	for i := range out {
		if p.Loop && p.next == len(p.Samples) {
			p.next = 0
		}
		out[i] = 0
		if p.next < len(p.Samples) {
			out[i] = p.Samples[p.next] * (from + (to-from)*float64(i+1)/float64(len(out)))
			p.next++
		}
	}
	p.gain = to
}

// ended turns the error of a take, or the end of a context, into that of a run.
func ended(err error) error {
	if errors.Is(err, ErrEnough) || errors.Is(err, context.Canceled) || errors.Is(err, context.DeadlineExceeded) {
		return nil
	}
	return err
}
