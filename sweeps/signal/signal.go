// Package signal makes test signals.
package signal

import (
	"fmt"
	"math"
	"math/rand/v2"

	"conewright/sweeps/internal/dsp"
	"conewright/ts/param"

	"gonum.org/v1/gonum/dsp/fourier"
)

// SignalKind names a test signal.
type SignalKind uint8

// The test signals.
const (
	ExponentialSweep SignalKind = iota
	Multitone
	PinkNoise
)

// String returns the word used on the command line.
func (k SignalKind) String() string { return [...]string{"sweep", "multitone", "pink-noise"}[k] }

// Signal describes a test signal. A zero field means the usual value, see
// [Signal.Defaults].
type Signal struct {
	Kind     SignalKind
	Rate     int     // Hz
	Lo, Hi   float64 // Hz, band
	Duration float64 // s, without the silence around it
	Level    float64 // peak, fraction of full scale
	Fade     float64 // s over which the signal swells at its start and dies away at its end
	Period   float64 // s, of a multitone
	LowCrest bool    // multitone: phases for a small peak instead of random ones
	Seed     uint64  // of random phases, detection lines and noise
}

// signalSilence is the silence before and after the signal in seconds: many
// players spoil their first tenths of a second, and the driver rings on.
const signalSilence = 0.5

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

func (s Signal) check() error {
	refuse := func(code, hint, format string, a ...any) error {
		return &param.Refusal{Code: code, Message: fmt.Sprintf(format, a...), Advice: hint}
	}
	switch {
	case s.Rate < 8000 || s.Rate > 768000:
		return refuse("signal-rate", "use the rate of the sound card, 48000 or 96000 Hz", "a sample rate of %d Hz is not usable", s.Rate)
	case !(s.Lo > 0) || !(s.Hi > s.Lo):
		return refuse("signal-band", "the lower limit must be positive and below the upper one", "the band from %g to %g Hz is empty", s.Lo, s.Hi)
	case s.Hi > 0.48*float64(s.Rate):
		return refuse("signal-band", "lower the upper limit or raise the sample rate", "%g Hz cannot be played at a sample rate of %d Hz", s.Hi, s.Rate)
	case !(s.Duration*s.Lo >= 5):
		return refuse("signal-short", "make it longer or raise the lower limit", "%g s is too short to start at %g Hz", s.Duration, s.Lo)
	case s.Duration > 3600:
		return refuse("signal-long", "10 to 60 s are enough", "a signal of %g s is too long", s.Duration)
	case !(s.Level > 0) || s.Level > 1:
		return refuse("signal-level", "give a fraction of full scale between 0 and 1", "the level %g is not usable", s.Level)
	case !(s.Fade >= 0) || 4*s.Fade > s.Duration:
		return refuse("signal-fade", "use a fraction of a second", "a fade of %g s is not usable", s.Fade)
	case s.Kind == Multitone && (!(s.Period*s.Lo >= 1) || s.Duration < 3*s.Period):
		return refuse("signal-period", "use a period of at least 1/lower limit, and at least three of them",
			"a period of %g s does not fit a band from %g Hz and a duration of %g s", s.Period, s.Lo, s.Duration)
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
	quiet := int(signalSilence * float64(s.Rate))
	out := make([]float64, len(x)+2*quiet)
	for i, v := range x {
		out[quiet+i] = v * s.Level / peak
	}
	return out, nil
}

// SweepConstants returns the time constant (s) of an exponential sweep from lo
// to hi (Hz) of about the given duration (s), and its exact duration (s):
//
//	L = round(duration lo/ln(hi/lo))/lo,   T = L ln(hi/lo)
//
// With lo L whole, the sweep begins every multiple of lo at the same phase, so
// that the m-th harmonic is the sweep itself, L ln m earlier. Theory (6.1).
//
// Source: Novak et al., synchronized swept sine, 2010 and 2015, by way of
// course material and public code; form from memory.
func SweepConstants(lo, hi, duration float64) (L, T float64) {
	span := math.Log(hi / lo)
	L = max(1, math.Round(duration*lo/span)) / lo
	return L, L * span
}

// sweep returns sin(2 pi lo L (exp(t/L) - 1)). Theory (6.2).
//
// Source: Farina, AES 108th convention, 2000, by way of public code.
func (s Signal) sweep() []float64 {
	L, T := SweepConstants(s.Lo, s.Hi, s.Duration)
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
