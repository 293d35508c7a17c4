package bench

import (
	"fmt"
	"math"

	"conewright/sweeps/fault"
	"conewright/ts/param"
)

// Recording is what the two channels of the bench heard. Samples are fractions
// of full scale. They are fetched in blocks, so that a long file need not be
// in memory.
type Recording struct {
	Rate     float64 // Hz
	Frames   int     // samples in each channel
	Source   string  // where it came from, for messages
	Warnings []param.Warning

	Src frameSource
}

// frameSource delivers samples of both channels from a frame onwards. It fills
// both slices, which have equal length and lie within the recording, or fails.
type frameSource interface {
	ReadFrames(ch1, ch2 []float64, from int) error
}

// NewRecording makes a recording of samples in memory, which it does not copy.
func NewRecording(ch1, ch2 []float64, rate float64, source string) (*Recording, error) {
	if len(ch1) != len(ch2) || len(ch1) == 0 {
		return nil, &fault.FormatError{File: source, Msg: fmt.Sprintf("the channels have %d and %d samples", len(ch1), len(ch2)),
			Advice: "record both channels in one stereo file"}
	}
	if !(rate > 0) || math.IsInf(rate, 0) {
		return nil, &fault.FormatError{File: source, Msg: fmt.Sprintf("the sample rate is %v Hz", rate)}
	}
	return &Recording{Rate: rate, Frames: len(ch1), Source: source, Src: memory{ch1, ch2}}, nil
}

// Read fills ch1 and ch2, which must have equal length, with the frames that
// begin at from. It panics when they reach beyond the recording.
func (r *Recording) Read(ch1, ch2 []float64, from int) error {
	if len(ch1) != len(ch2) || from < 0 || from+len(ch1) > r.Frames {
		panic("sweeps: Recording.Read outside the recording")
	}
	return r.Src.ReadFrames(ch1, ch2, from)
}

type memory struct{ ch1, ch2 []float64 }

func (m memory) ReadFrames(ch1, ch2 []float64, from int) error {
	copy(ch1, m.ch1[from:])
	copy(ch2, m.ch2[from:])
	return nil
}
