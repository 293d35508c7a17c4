// Package take records one sweep: it plays the signal, watches what comes back and ends
// when the sweep is over.
package take

import (
	"context"
	"math"

	"conewright/cmd/internal/sound"
	"conewright/sweeps/live"
	"conewright/sweeps/signal"
	"conewright/ts/notice"
)

// Take is a recorded sweep.
type Take struct {
	Ch1, Ch2 []float64 // fraction of full scale
	Rate     int       // Hz
	Peak     [2]float64
	Found    []*notice.Notice // what went wrong, in the order in which it did
}

// Block is what a recording has got to.
type Block struct {
	Ch1, Ch2 []float64  // what was recorded since the last one
	Began    float64    // s of the recording at which the sweep came back
	Heard    bool       // it did
	Passing  float64    // Hz that the sweep passes now
	Part     float64    // of the sweep that is over, from 0 to 1
	Peak     [2]float64 // of these samples, fraction of full scale
	Found    []*notice.Notice
}

// waitSeconds is how long a sweep may be on its way. The silence before it is part of that.
const waitSeconds = 4

// Sweep records the sweep s, whose rate is that of the line; see, which may be nil, gets
// each block. When ctx ends the output falls silent and the cause of that end is returned.
// A fault that the watch finds does not end the sweep; a device that is gone does, and so
// does a sweep that does not come back.
func Sweep(ctx context.Context, line sound.Line, s signal.Signal, see func(Block)) (*Take, error) {
	s.Rate = line.Rate()
	s = s.Defaults()
	played, err := s.Samples()
	if err != nil {
		return nil, err
	}
	watch, err := live.NewWatch(s)
	if err != nil {
		return nil, err
	}
	t := &Take{Rate: s.Rate}
	err = line.Run(ctx, sound.Play{Samples: played}, func(ch1, ch2 []float64) error {
		b := Block{Ch1: ch1, Ch2: ch2, Peak: [2]float64{Peak(ch1), Peak(ch2)}}
		b.Found = watch.Push(ch1, ch2)
		b.Began, b.Heard = watch.Began()
		b.Passing = watch.Passing()
		t.Ch1, t.Ch2 = append(t.Ch1, ch1...), append(t.Ch2, ch2...)
		t.Found = append(t.Found, b.Found...)
		for c, p := range b.Peak {
			t.Peak[c] = max(t.Peak[c], p)
		}
		seconds := float64(len(t.Ch1)) / float64(s.Rate)
		if b.Heard {
			b.Part = min(1, (seconds-b.Began)/s.Duration)
		}
		if see != nil {
			see(b)
		}
		switch {
		case watch.Over():
			return sound.ErrEnough
		case !b.Heard && seconds > waitSeconds:
			return notice.New("sound-no-signal", notice.Facts{"seconds": float64(waitSeconds)})
		}
		return nil
	})
	switch {
	case err != nil:
		return nil, err
	case !watch.Over():
		return nil, context.Cause(ctx)
	}
	return t, nil
}

// Peak is the largest magnitude of x.
func Peak(x []float64) float64 {
	most := 0.0
	for _, v := range x {
		most = max(most, math.Abs(v))
	}
	return most
}
