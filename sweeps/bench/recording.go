package bench

import (
	"math"

	"conewright/ts/notice"
)

// Recording is what the two channels of the bench recorded. Samples are fractions
// of full scale. They are fetched in blocks, so that a long file need not be
// in memory.
type Recording struct {
	Rate     float64 // Hz
	Frames   int     // samples in each channel
	Source   string  // where it came from, for messages
	Warnings []notice.Notice

	frames FrameReader
}

// FrameReader delivers samples of both channels from a frame onwards. It fills both
// slices, which have equal length and lie within the recording, or fails.
type FrameReader interface {
	ReadFrames(ch1, ch2 []float64, from int) error
}

// farthest is the largest sample that is believed, in fractions of full scale: more is
// damage, and its square would overflow sooner or later.
const farthest = 1e9

// NewRecording makes a recording of samples in memory, which it does not copy.
// Rate is in Hz.
func NewRecording(ch1, ch2 []float64, rate float64, source string) (*Recording, error) {
	if len(ch1) != len(ch2) {
		return nil, notice.New("recording-lengths", notice.Facts{"channel-1": len(ch1), "channel-2": len(ch2)}).In(source)
	}
	if err := Sound(ch1, ch2, 0, source); err != nil {
		return nil, err
	}
	return Stream(memory{ch1, ch2}, len(ch1), rate, source)
}

// Stream makes a recording of n frames at rate (Hz) that are fetched when they are needed.
func Stream(frames FrameReader, n int, rate float64, source string) (*Recording, error) {
	r := &Recording{Rate: rate, Frames: n, Source: source, frames: frames}
	if err := r.Check(); err != nil {
		return nil, err
	}
	return r, nil
}

// Check refuses a recording that is none.
func (r *Recording) Check() error {
	switch {
	case r == nil:
		return notice.New("recording-empty", nil)
	case r.Frames <= 0 || r.frames == nil:
		return notice.New("recording-empty", nil).In(r.Source)
	case !(r.Rate > 0) || math.IsInf(r.Rate, 0):
		return notice.New("sample-rate", notice.Facts{"rate": r.Rate}).In(r.Source)
	}
	return nil
}

// Sound refuses samples that are no numbers, or far beyond what any recorder writes.
// The first of them is the frame from of the recording, counted from 0.
func Sound(ch1, ch2 []float64, from int, source string) error {
	for i := range ch1 {
		for _, x := range [...]float64{ch1[i], ch2[i]} {
			if !(math.Abs(x) <= farthest) {
				return notice.New("bad-sample", notice.Facts{"sample": from + i + 1, "value": x}).In(source)
			}
		}
	}
	return nil
}

// Read fills ch1 and ch2, which must have equal length, with the frames that
// begin at from.
func (r *Recording) Read(ch1, ch2 []float64, from int) error {
	if err := r.Check(); err != nil {
		return err
	}
	if len(ch1) != len(ch2) || from < 0 || len(ch1) > r.Frames-from {
		return notice.New("recording-outside", notice.Facts{"from": from, "channel-1": len(ch1), "channel-2": len(ch2), "frames": r.Frames}).In(r.Source)
	}
	return r.frames.ReadFrames(ch1, ch2, from)
}

// With returns the recording with its frames from another place.
func (r *Recording) With(frames FrameReader) *Recording {
	other := *r
	other.frames = frames
	return &other
}

// Part returns n frames of the recording from the frame from onwards.
func (r *Recording) Part(from, n int) *Recording {
	return &Recording{Rate: r.Rate, Frames: n, Source: r.Source, frames: part{r, from}}
}

type memory struct{ ch1, ch2 []float64 }

func (m memory) ReadFrames(ch1, ch2 []float64, from int) error {
	copy(ch1, m.ch1[from:])
	copy(ch2, m.ch2[from:])
	return nil
}

type part struct {
	whole *Recording
	from  int
}

func (p part) ReadFrames(ch1, ch2 []float64, from int) error {
	return p.whole.Read(ch1, ch2, p.from+from)
}
