package live

import (
	"cmp"
	"math"
	"math/cmplx"

	"conewright/sweeps/internal/dsp"
	"conewright/sweeps/signal"

	"gonum.org/v1/gonum/dsp/fourier"
	"gonum.org/v1/gonum/floats"
)

// follower compares what comes back with what was played, quarter of a second by quarter
// of a second: how late it is may change slowly, by the clocks of player and recorder and by
// the phase of the amplifier, and not suddenly. A sound server that loses samples says
// nothing; here it shows. At low frequencies, see [Watch.bends].
type follower struct {
	sweep  signal.Signal
	rate   float64
	played []float64
	fft    *fourier.FFT
	length int // samples of a piece
	reach  int // samples by which it may be earlier or later

	piece []float64 // that is being filled
	first int       // its first sample in the recording
	late  int       // samples by which the recording is late
	sure  bool      // that is known to the sample
	sign  float64   // of what comes back; 0: not known yet
}

const (
	pieceSeconds = 0.25
	reachSeconds = 0.1
	followFrom   = 400.0   // Hz; below, the phase of a driver at its resonance looks like a delay
	followTo     = 1. / 12 // of the sample rate; above, a period holds too few samples
	jumpSeconds  = 2e-4    // by which the delay may change from piece to piece, and
	jumpPeriods  = 0.15    // that many periods
	clearly      = 1.05    // ratio of correlations that decides between two places
	alike        = 0.9     // correlation above which a piece is what was played
)

func newFollower(sweep signal.Signal, played []float64, rate float64) follower {
	f := follower{sweep: sweep, rate: rate, played: played, length: int(pieceSeconds * rate), reach: int(reachSeconds * rate)}
	f.fft = fourier.NewFFT(dsp.Smooth5(f.length + 2*f.reach))
	return f
}

// begin says at which sample of the recording the sweep begins.
func (f *follower) begin(at int) { f.late = at - int(f.sweep.Silence()*f.rate) }

// push takes in what was recorded from the sample from on. It returns by how many samples
// the recording jumped ahead, and after how many seconds; 0 for none.
func (f *follower) push(x []float64, from int) (lost int, at float64) {
	if len(f.piece) == 0 {
		f.first = from
	}
	f.piece = append(f.piece, x...)
	for len(f.piece) >= f.length {
		if n := f.compare(f.piece[:f.length]); n != 0 {
			lost, at = n, float64(f.first)/f.rate
		}
		f.piece = f.piece[:copy(f.piece, f.piece[f.length:])]
		f.first += f.length
	}
	return lost, at
}

// compare looks for a piece in what was played.
func (f *follower) compare(piece []float64) (lost int) {
	n := f.fft.Len()
	start := f.first - f.late - f.reach
	since := float64(f.first-f.late)/f.rate - f.sweep.Silence()
	passing := f.sweep.Passing(since)
	if start < 0 || start+n > len(f.played) || passing < followFrom || passing > followTo*f.rate || f.sweep.Passing(since+2*pieceSeconds) >= f.sweep.Hi {
		return 0
	}
	energy := math.Sqrt(floats.Dot(piece, piece) * floats.Dot(f.played[start+f.reach:][:f.length], f.played[start+f.reach:][:f.length]))
	if energy == 0 {
		return 0
	}
	found := f.correlate(piece, f.played[start:start+n])
	found = found[:2*f.reach+1]
	best := furthest(found, f.sign)
	sign := cmp.Or(f.sign, math.Copysign(1, found[best]))
	if found[best]*sign < alike*energy {
		return 0 // something else is wrong
	}
	within := int(0.6*f.rate/passing) + 1 // of a period
	near := found[max(0, f.reach-within):min(len(found), f.reach+within+1)]
	jump := best - f.reach // how much further on in what was played
	clear := found[best]*sign > clearly*near[furthest(near, sign)]*sign
	told := f.sure && clear && math.Abs(float64(jump)) > max(jumpSeconds, jumpPeriods/passing)*f.rate
	if !f.sure || told {
		f.late -= jump
	} else {
		f.late -= max(0, f.reach-within) + furthest(near, sign) - f.reach
	}
	f.sign, f.sure = sign, true
	if told {
		return jump
	}
	return 0
}

// furthest returns where x reaches furthest in the direction of a sign; 0 for either.
func furthest(x []float64, sign float64) int {
	best := 0
	for i, v := range x {
		if sign == 0 && math.Abs(v) > math.Abs(x[best]) || v*sign > x[best]*sign {
			best = i
		}
	}
	return best
}

// correlate returns the correlation of the piece with what was played from its first sample
// on, for each place at which it may begin.
func (f *follower) correlate(piece, played []float64) []float64 {
	padded := make([]float64, f.fft.Len())
	copy(padded, piece)
	a := f.fft.Coefficients(nil, padded)
	b := f.fft.Coefficients(nil, played)
	for k := range a {
		a[k] = b[k] * cmplx.Conj(a[k]) / complex(float64(f.fft.Len()), 0)
	}
	return f.fft.Sequence(padded, a)
}
