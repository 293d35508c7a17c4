// Package virtual is a bench that records a driver which exists only as
// numbers, with the errors of a real two-channel interface.
package virtual

import (
	"fmt"
	"math"
	"math/cmplx"
	"math/rand/v2"

	"conewright/sweeps/bench"
	"conewright/sweeps/internal/dsp"

	"gonum.org/v1/gonum/dsp/fourier"
)

// VirtualBench records a driver that exists only as numbers, with the errors
// of a real two-channel interface. It makes the demo and the tests.
//
// The amplifier's output voltage is the signal itself, and one volt is full
// scale of both channels.
type VirtualBench struct {
	Z     func(f float64) complex128 // ohm at f Hz (positive), what hangs on the terminals
	Bench bench.Bench                // how it is connected; its resistor is the true one
	Flaws Flaws
	Seed  uint64 // of noise and crackle; equal seeds give equal recordings
}

// Flaws are what can go wrong on a bench. The zero value is a perfect bench.
// Pairs hold one number for each channel.
type Flaws struct {
	Gain        [2]float64 // relative error of the channel's gain, 0.001 reads 0.1 % high
	Delay       [2]float64 // s by which the channel is late
	Noise       [2]float64 // rms, white, fraction of full scale
	CommonNoise float64    // rms, white, the same in both channels
	Hum         [2]float64 // peak of the mains hum; its harmonic h is 1/h of that
	HumHz       float64    // mains frequency, 0 for 50 Hz
	Offset      [2]float64 // constant, fraction of full scale

	Latency  float64 // s of silence before the signal comes back
	After    float64 // s that the recorder runs on after the signal
	Clock    float64 // relative error of the player's clock, 50e-6 plays fast by 50 ppm
	CutStart float64 // s missing at the start of the recording
	CutEnd   float64 // s missing at its end

	Bits int     // of the converter, 0 for no quantisation
	Clip float64 // level at which both channels clip, 0 for never

	InputResistance float64 // ohm of each input in parallel to what it measures, 0 for infinite
	ResistorError   float64 // relative: the resistor that is really there is larger by this
	LevelStep       float64 // relative change of the drive level halfway, -0.5 halves it
	Crackle         int     // number of times the driver's contact opens for a few milliseconds
	Quadratic       float64 // distortion of the driver: voltage Quadratic u^2 + Cubic u^3 in series,
	Cubic           float64 // u its voltage as fraction of full scale

	Swapped bool    // channels changed over
	Dead    [2]bool // channel hears nothing
	Same    bool    // both channels hear the amplifier
}

// settle is how long the response of a driver is followed beyond the end of
// the signal, in seconds: the ringing of a resonance at 10 Hz with a Q of 10
// has fallen by 1e-5 after four seconds.
const settle = 4.0

// Record plays signal (fraction of full scale, at rate Hz) once, from rest, and
// returns what the two channels heard. The length is that of the signal plus
// Flaws.Latency and Flaws.After, less what was cut.
func (v VirtualBench) Record(signal []float64, rate int) (*bench.Recording, error) {
	if len(signal) == 0 || rate <= 0 {
		return nil, fmt.Errorf("virtual bench: %d samples at %d Hz cannot be played", len(signal), rate)
	}
	fl := v.Flaws
	fs := float64(rate)
	drive := play(signal, fs, fl)
	ch, err := v.hear(drive, fs)
	if err != nil {
		return nil, err
	}
	rng := rand.New(rand.NewPCG(v.Seed, 0x62656e6368))
	for range fl.Crackle {
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
	v.disturb(ch, fs, rng)
	lo := int(math.Round(fl.CutStart * fs))
	hi := len(drive) - int(math.Round(fl.CutEnd*fs))
	if lo < 0 || hi > len(drive) || lo >= hi {
		return nil, fmt.Errorf("virtual bench: nothing is left of %d samples after the cuts", len(drive))
	}
	return bench.NewRecording(ch[0][lo:hi], ch[1][lo:hi], fs, "virtual bench")
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

// hear returns both channels for the voltage drive of the amplifier.
func (v VirtualBench) hear(drive []float64, fs float64) ([2][]float64, error) {
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
			return [2][]float64{}, fmt.Errorf("virtual bench: the impedance at %g Hz is %v", f, z)
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

// divide returns what the two channels hear of one volt from the amplifier
// when z (ohm) hangs on the terminals.
func (v VirtualBench) divide(z complex128) (h1, h2 complex128) {
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
		return 1, r / (r + z)
	case bench.Probes:
		z, r = load(z), load(r)
		return z / (z + r), r / (z + r)
	default:
		z = load(z)
		return 1, z / (r + z)
	}
}

// distort adds the voltage that a driver of mild non-linearity puts in series.
func (v VirtualBench) distort(ch [2][]float64) {
	q, c := v.Flaws.Quadratic, v.Flaws.Cubic
	if q == 0 && c == 0 {
		return
	}
	for i := range ch[0] {
		var u float64 // across the driver
		switch v.Bench.Wiring {
		case bench.DriverFirst:
			u = ch[0][i] - ch[1][i]
		case bench.Probes:
			u = ch[0][i]
		default:
			u = ch[1][i]
		}
		e := u * u * (q + c*u)
		switch v.Bench.Wiring {
		case bench.DriverFirst:
			ch[1][i] -= e
		case bench.Probes:
			ch[0][i] += e
			ch[1][i] -= e
		default:
			ch[1][i] += e
		}
	}
}

// open interrupts the contact of the driver once, for 2 to 20 ms.
func (v VirtualBench) open(ch [2][]float64, drive []float64, fs float64, rng *rand.Rand) {
	n := int((0.002 + 0.018*rng.Float64()) * fs)
	from := rng.IntN(max(1, len(drive)-n))
	for i := from; i < min(from+n, len(drive)); i++ {
		switch v.Bench.Wiring {
		case bench.DriverFirst:
			ch[1][i] = 0
		case bench.Probes:
			ch[0][i], ch[1][i] = drive[i], 0
		default:
			ch[1][i] = drive[i]
		}
	}
}

// disturb adds what the interface adds: hum, offset, noise; then converts.
func (v VirtualBench) disturb(ch [2][]float64, fs float64, rng *rand.Rand) {
	fl := v.Flaws
	hum := fl.HumHz
	if hum == 0 {
		hum = 50
	}
	phase := 2 * math.Pi * rng.Float64()
	for i := range ch[0] {
		var h float64
		if fl.Hum != [2]float64{} {
			a := phase + 2*math.Pi*hum*float64(i)/fs
			for k := 1.0; k <= 5; k++ {
				h += math.Sin(k*a) / k
			}
		}
		common := 0.0
		if fl.CommonNoise != 0 {
			common = fl.CommonNoise * rng.NormFloat64()
		}
		for c := range ch {
			x := ch[c][i] + fl.Hum[c]*h + fl.Offset[c] + common
			if fl.Noise[c] != 0 {
				x += fl.Noise[c] * rng.NormFloat64()
			}
			if fl.Clip > 0 {
				x = min(max(x, -fl.Clip), fl.Clip)
			}
			if fl.Bits > 0 {
				full := math.Ldexp(1, fl.Bits-1)
				x = min(max(math.Round(x*full), -full), full-1) / full
			}
			ch[c][i] = x
		}
	}
}
