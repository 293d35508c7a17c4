// Package spectra turns two channels of samples into their ratio over
// frequency, with its noise, in one pass over a recording of any length.
package spectra

import (
	"conewright/sweeps/bench"
	"conewright/ts/measured"
)

const (
	// WorstRelative is the noise of a point relative to its impedance beyond which it is
	// left out.
	WorstRelative = 0.1
	// FewestPoints is the number of points below which local fits do not suit a recording.
	FewestPoints = 8

	mostLines   = 3000 // of tones: with more, as in a sweep that is repeated, local fits smooth better
	fewestLines = 20   // tones that a periodic signal must have to be taken as a multitone
)

// Result is what was found in a recording before its ratio becomes an impedance.
type Result struct {
	Rec       *bench.Recording
	Swap      bool // the channels of Rec were taken the other way round
	Points    []Point
	Hum       hum
	Stats     [2]*Stats
	Low       [2]lowRate
	Middle    [2]lowRate          // at eight times the rate; empty for a short recording, and for one beyond middleLimit
	Stretches [][]Stretch         // of each level
	Lines     *lines              // of a signal that repeats; nil for others
	FreeLines *measured.FreeLines // between the tones of a multitone

	Gaps     []Interval // that were filled because the channels contradict each other
	Unfilled int        // how often they do so where not all of that could be filled
	Outliers []float64  // Hz, points that were left out because their neighbours contradict them
}

// Interval is a stretch of a recording, in seconds from its start.
type Interval struct{ From, To float64 }

// Number returns the number that channel c has in the file, from 1.
func (e *Result) Number(c int) int {
	if e.Swap {
		return 2 - c
	}
	return c + 1
}

// Analyse estimates the ratio of the channels, whatever the signal was.
func Analyse(rec *bench.Recording, b bench.Bench) (*Result, error) { return analyse(rec, b, true) }

// Again is [Analyse] for a recording that was looked at before: it keeps no Stretches, which are
// the largest part of a result.
func Again(rec *bench.Recording, b bench.Bench) (*Result, error) { return analyse(rec, b, false) }

func analyse(rec *bench.Recording, b bench.Bench, stretches bool) (*Result, error) {
	if err := rateUsable(rec); err != nil {
		return nil, err
	}
	p := newPyramid(rec.Frames, rec.Rate)
	for i := range p.levels {
		p.levels[i].keepStretches = stretches
	}
	e, err := p.estimate(blocks{rec, b.SwapChannels})
	if err != nil {
		return nil, err
	}
	if err := e.clipped(); err != nil {
		return nil, err
	}
	if r, ok := findPeriod(e.Low[0]); ok {
		l, err := collect(blocks{rec, b.SwapChannels}, r)
		if err != nil {
			return nil, err
		}
		on := l.excited()
		if p := l.points(on); len(p) >= fewestLines && len(p) <= mostLines {
			e.Points, e.Lines = p, l
			e.FreeLines = l.distortion(on)
			e.Hum = l.hum(on)
		}
	}
	return e, nil
}
