// Package spectra turns two channels of samples into their ratio over
// frequency, with its noise, in one pass over a recording of any length.
package spectra

import "conewright/sweeps/bench"

const (
	WorstRelative = 0.1 // noise of a point relative to its impedance beyond which it is left out
)

const (
	mostLines = 3000 // of tones: with more, as in a sweep that is repeated, local fits smooth better
)

const (
	fewestLines = 20 // tones that a periodic signal must have to be taken as a multitone
)

const (
	FewestPoints = 8 // by local fits, below which the recording does not suit them
)

// examination is what was found in a recording before its ratio becomes an
// impedance.
type Heard struct {
	Rec        *bench.Recording
	Swap       bool // the channels of rec were taken the other way round
	Points     []Point
	Hum        hum
	Vitals     [2]*vitals
	Low        [2]outline
	Stretches  [][]Stretch // of each level
	Lines      *lines      // of a signal that repeats; nil for others
	Distortion *Distortion
	Jumped     []Moment  // that were left out because the channels contradict each other
	Shaky      int       // how often they do so where not all of that could be left out
	Unsteady   []float64 // Hz, points that were left out because their neighbours contradict them
}

// Number returns the number that channel c has in the file, from 1.
func (e *Heard) Number(c int) int {
	if e.Swap {
		return 2 - c
	}
	return c + 1
}

// Hear estimates the ratio of the channels, whatever it is.
func Hear(rec *bench.Recording, b bench.Bench) (*Heard, error) {
	if err := rateUsable(rec); err != nil {
		return nil, err
	}
	src := &Blocks{Rec: rec, Swap: b.SwapChannels}
	e, err := Listen(src)
	if err != nil {
		return nil, err
	}
	if err := e.clipped(); err != nil {
		return nil, err
	}
	if r, ok := findPeriod(e.Low[0]); ok {
		l, err := collect(src, r)
		if err != nil {
			return nil, err
		}
		on := l.excited()
		if p := l.points(on); len(p) >= fewestLines && len(p) <= mostLines {
			e.Points, e.Lines = p, l
			e.Distortion = l.distortion(on)
			e.Hum = l.hum(on)
		}
	}
	return e, nil
}

// Moment is a stretch of a recording, in seconds from its start.
type Moment struct{ From, To float64 }
