package benchpage

import (
	"context"
	"math"

	"conewright/cmd/internal/sound"
	"conewright/cmd/internal/take"
	"conewright/sweeps/bench"
	"conewright/ts/notice"
)

// Part is a part of the check of a bench.
type Part string

// The parts: both inputs on the amplifier's output, and a known resistor in the place of the
// driver.
const (
	Channels Part = "channels"
	Resistor Part = "resistor"
)

// Checked is what the check of a bench has recorded; either may be nil.
type Checked struct {
	Channels *bench.Recording
	Resistor *bench.Recording
	Ohm      string // of the resistor, as it was typed
}

// check records a part of the check and takes over what it finds.
func (d *Desk) check(part Part, typed map[string]string, ohm, page string) error {
	if part != Channels && part != Resistor {
		return notice.New("page-action", notice.Facts{"action": string(part)})
	}
	if len(d.job.Sweeps) > 0 { // what it finds would be another bench
		return notice.New("job-bench-in-use", nil)
	}
	next, err := d.job.WithBench(typed)
	if err != nil {
		return err
	}
	if _, _, err := d.opt.Workshop.Settings(next.Typed); err != nil {
		return err
	}
	if err := d.opt.Workshop.PrepareCheck(part, ohm); err != nil {
		return err
	}
	signal := d.opt.Sweep
	signal.Level = math.Pow(10, d.job.Level/20)
	d.found = nil
	return d.begin("check", page, func(ctx context.Context, line sound.Line) error {
		state := &liveState{desk: d}
		took, err := take.Sweep(ctx, line, signal, state.see)
		if err != nil {
			return err
		}
		rec, err := bench.NewRecording(took.Ch1, took.Ch2, float64(took.Rate), "the check")
		if err != nil {
			return err
		}
		d.mu.Lock()
		done := d.checked
		d.mu.Unlock()
		if part == Channels {
			done.Channels = rec
		} else {
			done.Resistor, done.Ohm = rec, ohm
		}
		better, found, err := d.opt.Workshop.Check(next.Typed, done)
		if err != nil {
			return err
		}
		d.mu.Lock()
		defer d.mu.Unlock()
		d.checked, d.found = done, found
		return d.step(d.job.Checked(better))
	})
}
