// Package virtual is a bench that records a driver which exists only as
// numbers, with the errors of a real two-channel interface.
package virtual

import (
	"math"
	"math/cmplx"
	"math/rand/v2"
	"slices"

	"conewright/sweeps/bench"
	"conewright/sweeps/internal/dsp"
	"conewright/ts/notice"

	"gonum.org/v1/gonum/dsp/fourier"
	"gonum.org/v1/gonum/floats"
)

// Bench records a driver that exists only as numbers, with the errors
// of a real two-channel interface. It makes the demo and the tests.
//
// The amplifier's output voltage is the signal itself, in parts of the full scale of both
// channels, which is one volt where the bench does not say what it is.
type Bench struct {
	Z      func(f float64) complex128 // ohm at f Hz (positive), what hangs on the terminals
	Driver *Driver                    // what hangs there in place of Z, followed in time; nil: Z
	Bench  bench.Bench                // how it is connected; its resistor is the true one
	Flaws  Flaws
	Seed   uint64 // of noise and openings; equal seeds give equal recordings
}

// settle is how long the response of a driver is followed beyond the end of
// the signal, in seconds: the ringing of a resonance at 10 Hz with a Q of 10
// has fallen by 1e-5 after four seconds.
const settle = 4.0

// Record plays signal (fraction of full scale, at rate Hz) once, from rest, and
// returns what the two channels recorded. The length is that of the signal plus
// Flaws.Latency and Flaws.After, less what was cut.
func (v Bench) Record(signal []float64, rate int) (*bench.Recording, error) {
	if err := v.check(signal, rate); err != nil {
		return nil, err
	}
	fl := v.Flaws
	fs := float64(rate)
	drive := play(signal, fs, fl)
	for i, x := range drive {
		drive[i] = x * (1 + x*(fl.AmplifierQuadratic+x*fl.AmplifierCubic))
	}
	channels := v.channels
	if v.Driver != nil {
		channels = v.follow
	}
	ch, err := channels(drive, fs)
	if err != nil {
		return nil, err
	}
	rng := rand.New(rand.NewPCG(v.Seed, 0x62656e6368))
	for range fl.Openings {
		v.open(ch, drive, fs, rng)
	}
	switch {
	case fl.Same:
		copy(ch[1], drive)
	case fl.Swapped:
		ch[0], ch[1] = ch[1], ch[0]
	}
	for c := range ch {
		if fl.Dead[c] {
			clear(ch[c])
		}
	}
	interfaced := newConverter(fl, fs, rng)
	interfaced.convert(ch)
	lo := int(math.Round(fl.CutStart * fs))
	hi := len(drive) - int(math.Round(fl.CutEnd*fs))
	if lo >= hi {
		return nil, notice.New("virtual-cut", notice.Facts{"samples": len(drive)})
	}
	return bench.NewRecording(ch[0][lo:hi], ch[1][lo:hi], fs, "virtual-bench")
}

// play returns the amplifier's voltage on the recorder's clock.
func play(signal []float64, fs float64, fl Flaws) []float64 {
	n := len(signal) + int(math.Round((fl.Latency+fl.After)*fs))
	drive := make([]float64, n)
	at := dsp.Resampler(signal)
	for i := range drive {
		drive[i] = at((float64(i) - fl.Latency*fs) * (1 + fl.Clock))
		if i >= n/2 {
			drive[i] *= 1 + fl.LevelStep
		}
	}
	return drive
}

// channels returns both channels for the voltage drive of the amplifier.
func (v Bench) channels(drive []float64, fs float64) ([2][]float64, error) {
	fl := v.Flaws
	n := dsp.Smooth5(len(drive) + int(settle*fs))
	fft := fourier.NewFFT(n)
	padded := make([]float64, n)
	copy(padded, drive)
	spectrum := fft.Coefficients(nil, padded)
	channel := [2][]complex128{make([]complex128, len(spectrum)), make([]complex128, len(spectrum))}
	for k, s := range spectrum {
		f := float64(k) * fs / float64(n)
		// A driver has no response at DC that could be asked for; a quarter of a
		// bin is near enough, and no test signal has energy there.
		z := v.Z(max(f, 0.25*fs/float64(n)))
		if cmplx.IsNaN(z) || cmplx.IsInf(z) {
			return [2][]float64{}, notice.New("virtual-impedance", notice.Facts{"frequency": f})
		}
		h1, h2 := v.divide(z)
		channel[0][k] = s * h1 * cmplx.Rect(1+fl.Gain[0], -2*math.Pi*f*fl.Delay[0])
		channel[1][k] = s * h2 * cmplx.Rect(1+fl.Gain[1], -2*math.Pi*f*fl.Delay[1])
	}
	var ch [2][]float64
	for c := range ch {
		all := fft.Sequence(nil, channel[c])
		ch[c] = all[:len(drive)]
		for i := range ch[c] {
			ch[c][i] /= float64(n)
		}
	}
	v.distort(ch)
	return ch, nil
}

// follow is channels for a driver that is followed in time.
func (v Bench) follow(drive []float64, fs float64) ([2][]float64, error) {
	full := v.Bench.FullScale
	if full == 0 {
		full = 1
	}
	e := make([]float64, len(drive))
	for i, x := range drive {
		e[i] = full * x
	}
	r := v.Bench.Resistor * (1 + v.Flaws.ResistorError)
	across := v.Driver.Current(e, fs, r+v.Bench.Leads) // the resistor, in parts of full scale
	floats.Scale(r/full, across)
	rest := make([]float64, len(drive)) // across driver and leads
	floats.SubTo(rest, drive, across)
	var ch [2][]float64
	switch v.Bench.Wiring {
	case bench.DriverFirst:
		ch = [2][]float64{slices.Clone(drive), across}
	case bench.Probes:
		ch = [2][]float64{rest, across}
	default:
		ch = [2][]float64{slices.Clone(drive), rest}
	}
	for c := range ch {
		floats.Scale(1+v.Flaws.Gain[c], ch[c])
		if late := v.Flaws.Delay[c] * fs; late != 0 {
			at := dsp.Resampler(ch[c])
			for i := range ch[c] {
				rest[i] = at(float64(i) - late)
			}
			copy(ch[c], rest)
		}
	}
	return ch, nil
}

// divide returns what the two channels record of one volt from the amplifier
// when z (ohm) hangs on the terminals.
func (v Bench) divide(z complex128) (h1, h2 complex128) {
	z += complex(v.Bench.Leads, 0)
	r := complex(v.Bench.Resistor*(1+v.Flaws.ResistorError), 0)
	load := func(x complex128) complex128 {
		if v.Flaws.InputResistance == 0 {
			return x
		}
		in := complex(v.Flaws.InputResistance, 0)
		return x * in / (x + in)
	}
	switch v.Bench.Wiring {
	case bench.DriverFirst:
		r = load(r)
		h1, h2 = 1, r/(r+z)
	case bench.Probes:
		z, r = load(z), load(r)
		h1, h2 = z/(z+r), r/(z+r)
	default:
		z = load(z)
		h1, h2 = 1, z/(r+z)
	}
	out := (r + z) / (r + z + complex(v.Flaws.OutputResistance, 0))
	return h1 * out, h2 * out
}
