// Package signal makes test signals.
package signal

import (
	"fmt"
	"math"
	"math/rand/v2"

	"conewright/sweeps/internal/dsp"
	"conewright/ts/notice"

	"gonum.org/v1/gonum/dsp/fourier"
)

// Kind names a test signal.
type Kind uint8

// The test signals.
const (
	ExponentialSweep Kind = iota
	Multitone
	PinkNoise
)

var kindWords = [...]string{"sweep", "multitone", "pink-noise"}

// String returns the word used on the command line.
func (k Kind) String() string {
	if !k.known() {
		return fmt.Sprintf("Kind(%d)", uint8(k))
	}
	return kindWords[k]
}

func (k Kind) known() bool { return int(k) < len(kindWords) }

// Signal describes a test signal. A zero field means the usual value, see
// [Signal.Defaults].
type Signal struct {
	Kind     Kind
	Rate     int     // Hz
	Lo, Hi   float64 // Hz, band
	Duration float64 // s, without the silence around it
	Level    float64 // peak, fraction of full scale
	Fade     float64 // s over which the signal swells at its start and dies away at its end
	Period   float64 // s, of a multitone
	Seed     uint64  // of random phases, detection lines and noise
}

// silence is the silence before and after the signal in seconds: many
// players spoil their first tenths of a second, and the driver rings on.
const silence = 0.5

// Defaults fills in what was left at zero: 48 kHz, 5 Hz to 20 kHz, 20 s, half
// of full scale, 20 ms fades, a period of 4 s.
func (s Signal) Defaults() Signal {
	set := func(x *float64, v float64) {
		if *x == 0 {
			*x = v
		}
	}
	if s.Rate == 0 {
		s.Rate = 48000
	}
	set(&s.Lo, 5)
	set(&s.Hi, min(20000, 0.45*float64(s.Rate)))
	set(&s.Duration, 20)
	set(&s.Level, 0.5)
	set(&s.Fade, 0.02)
	set(&s.Period, 4)
	return s
}

// mostSamples bounds the memory of a signal: 2 GB, 46 minutes at 96 kHz.
const mostSamples = 1 << 28

// check refuses a signal that cannot be made, or that says nothing about a driver.
func (s Signal) check() error {
	switch {
	case !s.Kind.known():
		return notice.New("signal-kind", notice.Facts{"kind": int(s.Kind)})
	case s.Rate < 8000 || s.Rate > 768000:
		return notice.New("signal-rate", notice.Facts{"rate": s.Rate})
	case !(s.Lo > 0) || !(s.Hi > s.Lo):
		return notice.New("signal-band", notice.Facts{"low": s.Lo, "high": s.Hi})
	case s.Hi > 0.48*float64(s.Rate):
		return notice.New("signal-above-rate", notice.Facts{"high": s.Hi, "rate": s.Rate})
	case !(s.Duration*s.Lo >= 5):
		return notice.New("signal-short", notice.Facts{"duration": s.Duration, "low": s.Lo})
	case s.Duration > 3600 || s.Duration*float64(s.Rate) > mostSamples:
		return notice.New("signal-long", notice.Facts{"duration": s.Duration})
	case !(s.Level > 0) || s.Level > 1:
		return notice.New("signal-level", notice.Facts{"level": s.Level})
	case !(s.Fade >= 0) || 4*s.Fade > s.Duration:
		return notice.New("signal-fade", notice.Facts{"fade": s.Fade})
	case s.Kind == Multitone && (!(s.Period*s.Lo >= 1) || s.Duration < 3*s.Period):
		return notice.New("signal-period", notice.Facts{"period": s.Period, "low": s.Lo, "duration": s.Duration})
	}
	return nil
}

// Samples returns the signal as fractions of full scale, with half a second of
// silence before and after it.
func (s Signal) Samples() ([]float64, error) {
	s = s.Defaults()
	if err := s.check(); err != nil {
		return nil, err
	}
	var x []float64
	switch s.Kind {
	case Multitone:
		x = s.multitone()
	case PinkNoise:
		x = s.pinkNoise()
	default:
		x = s.sweep()
	}
	fade(x, int(s.Fade*float64(s.Rate)))
	var peak float64
	for _, v := range x {
		peak = max(peak, math.Abs(v))
	}
	if !(peak > 0) {
		return nil, notice.New("signal-empty", notice.Facts{"low": s.Lo, "high": s.Hi})
	}
	quiet := int(silence * float64(s.Rate))
	out := make([]float64, len(x)+2*quiet)
	for i, v := range x {
		out[quiet+i] = v * s.Level / peak
	}
	return out, nil
}

// sweepConstants returns the time constant (s) of an exponential sweep from lo
// to hi (Hz) of about the given duration (s), and its exact duration (s):
//
//	L = round(duration lo/ln(hi/lo))/lo,   T = L ln(hi/lo)
//
// With lo L whole, the sweep begins every multiple of lo at the same phase, so
// that the m-th harmonic is the sweep itself, L ln m earlier. Theory (6.1).
//
// Source: Novak et al., synchronized swept sine, 2010 and 2015, by way of
// course material and public code; form from memory.
func sweepConstants(lo, hi, duration float64) (L, T float64) {
	span := math.Log(hi / lo)
	L = max(1, math.Round(duration*lo/span)) / lo
	return L, L * span
}

// Silence is how long, in s, [Signal.Samples] is silent before the signal, and after it.
func (s Signal) Silence() float64 { return silence }

// Passing returns the frequency (Hz) of an exponential sweep at the time t (s) after its
// beginning; before it the lowest, and after its end the highest. Theory (6.2).
func (s Signal) Passing(t float64) float64 {
	s = s.Defaults()
	L, T := sweepConstants(s.Lo, s.Hi, s.Duration)
	return s.Lo * math.Exp(min(max(t, 0), T)/L)
}

// sweep returns sin(2 pi lo L (exp(t/L) - 1)). Theory (6.2).
//
// Source: Farina, AES 108th convention, 2000, by way of public code.
func (s Signal) sweep() []float64 {
	L, T := sweepConstants(s.Lo, s.Hi, s.Duration)
	x := make([]float64, int(T*float64(s.Rate)))
	for i := range x {
		t := float64(i) / float64(s.Rate)
		x[i] = math.Sin(2 * math.Pi * s.Lo * L * math.Expm1(t/L))
	}
	return x
}

// pinkNoise returns noise of equal power per octave between lo and hi, none
// outside.
func (s Signal) pinkNoise() []float64 {
	n := dsp.Smooth5Below(int(s.Duration * float64(s.Rate)))
	spectrum := make([]complex128, n/2+1)
	rng := rand.New(rand.NewPCG(s.Seed, 0x70696e6b))
	for k := range spectrum {
		f := float64(k) * float64(s.Rate) / float64(n)
		if f >= s.Lo && f <= s.Hi {
			a := 1 / math.Sqrt(f)
			spectrum[k] = complex(a*rng.NormFloat64(), a*rng.NormFloat64())
		}
	}
	return fourier.NewFFT(n).Sequence(nil, spectrum)
}

// fade lets x swell over its first n samples and die away over its last n,
// along a raised cosine.
func fade(x []float64, n int) {
	for i := range min(n, len(x)/2) {
		w := 0.5 - 0.5*math.Cos(math.Pi*(float64(i)+0.5)/float64(n))
		x[i] *= w
		x[len(x)-1-i] *= w
	}
}
