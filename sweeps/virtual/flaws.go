package virtual

import (
	"math"
	"math/rand/v2"

	"conewright/sweeps/bench"
)

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

	SoftClip [2]float64 // clipping that sets in gradually: x - SoftClip x^3

	OutputResistance float64 // ohm of the amplifier: its voltage falls where the driver takes much current

	InputResistance float64 // ohm of each input in parallel to what it measures, 0 for infinite
	ResistorError   float64 // relative: the resistor that is really there is larger by this
	LevelStep       float64 // relative change of the drive level halfway, -0.5 halves it
	Openings        int     // number of times the driver's contact opens for a few milliseconds
	Quadratic       float64 // distortion of the driver: voltage Quadratic u^2 + Cubic u^3 in series,
	Cubic           float64 // u its voltage as fraction of full scale

	AmplifierQuadratic float64 // distortion of the amplifier: Quadratic s^2 + Cubic s^3 beside
	AmplifierCubic     float64 // the signal s, as fraction of full scale

	Swapped bool    // channels changed over
	Dead    [2]bool // channel records nothing
	Same    bool    // both channels record the amplifier
}

// distort adds the voltage that a driver of mild non-linearity puts in series.
func (v Bench) distort(ch [2][]float64) {
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
		addDriverVoltage(v.Bench.Wiring, ch[0], ch[1], i, u*u*(q+c*u))
	}
}

// open interrupts the contact of the driver once, for 2 to 20 ms.
func (v Bench) open(ch [2][]float64, drive []float64, fs float64, rng *rand.Rand) {
	n := int((0.002 + 0.018*rng.Float64()) * fs)
	from := rng.IntN(max(1, len(drive)-n))
	for i := from; i < min(from+n, len(drive)); i++ {
		openContact(v.Bench.Wiring, ch[0], ch[1], i, drive[i])
	}
}

// converter is the interface behind the channels.
type converter struct {
	fl      Flaws
	rng     *rand.Rand
	phase   float64 // of the hum at the first sample
	step    float64 // of its phase from sample to sample
	samples int     // so far
}

// newConverter returns the interface with the flaws fl at the sample rate fs (Hz).
func newConverter(fl Flaws, fs float64, rng *rand.Rand) converter {
	hum := fl.HumHz
	if hum == 0 {
		hum = 50
	}
	return converter{fl: fl, rng: rng, phase: 2 * math.Pi * rng.Float64(), step: 2 * math.Pi * hum / fs}
}

// convert adds what the interface adds to the samples that come next: hum, offset, noise;
// then it converts.
func (v *converter) convert(ch [2][]float64) {
	fl, rng := v.fl, v.rng
	for i := range ch[0] {
		var h float64
		if fl.Hum != [2]float64{} {
			a := v.phase + v.step*float64(v.samples+i)
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
			x -= fl.SoftClip[c] * x * x * x
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
	v.samples += len(ch[0])
}
