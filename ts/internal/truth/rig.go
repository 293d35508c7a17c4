package truth

import (
	"math"
	"math/cmplx"
	"math/rand/v2"
)

// Sweep is what a rig measured.
type Sweep struct {
	F     []float64    // Hz, rising
	Z     []complex128 // ohm
	Sigma []float64    // standard deviation of real and of imaginary part by noise, ohm
}

// Wiring is how driver, resistor and inputs are connected. H is the ratio of the two inputs.
type Wiring int

const (
	ResistorFirst Wiring = iota // H = V_driver/V_source:    Z = R H/(1-H)
	DriverFirst                 // H = V_resistor/V_source:  Z = R (1/H - 1)
	Probes                      // H = V_resistor/V_driver:  Z = R/H
)

// Rig is a measuring rig with what is wrong with it. The zero values are those of a perfect one.
type Rig struct {
	Wiring       Wiring
	Resistor     float64 // ohm, true
	ResistorTold float64 // ohm, as entered
	Leads        float64 // ohm between the node and the driver, true
	LeadsTold    float64 // ohm, taken off the result
	Inputs       Inputs
	Ground       float64               // ohm of a ground return that the current of the driver and both inputs share
	Contact      func(float64) float64 // ohm of a contact at f Hz, nil: none
	Noise        Noise
}

// Inputs is how the input of the numerator of H differs from that of the denominator.
type Inputs struct {
	GainDB float64    // numerator over denominator
	Corner [2]float64 // Hz of the AC coupling of numerator and denominator, 0: DC
	Delay  float64    // s by which the numerator lags
	Clip   [2]float64 // loss of gain, numerator and denominator, at the amplitude of the source
}

// Noise is that of both inputs over the amplitude of the source at one point of a sweep.
type Noise struct {
	Floor  float64
	Corner float64 // Hz below which it rises as 1/√f
}

func (n Noise) at(f float64) float64 { return n.Floor * sqrt(1+n.Corner/f) }

// gain is the complex gain of the numerator over that of the denominator:
//
//	g = 10^{dB/20} (jf + fd)/(jf + fn) e^{-jωτ} (1 - c_n |v_n|²)/(1 - c_d |v_d|²)
//
// The last factors are the fundamental gain of a cubic soft limiter x - kx³, c = 3k/4, with the amplitudes
// over that of the source. Derived here; the first factors are in the table of the tests.
func (in Inputs) gain(f, num, den float64) complex128 {
	g := complex(math.Pow(10, in.GainDB/20), 0) * cmplx.Rect(1, -2*math.Pi*f*in.Delay)
	g *= complex(in.Corner[1], f) / complex(in.Corner[0], f)
	return g * complex((1-in.Clip[0]*num*num)/(1-in.Clip[1]*den*den), 0)
}

// ratio is H as the inputs see it without noise, and the amplitude at the denominator over that of the source.
func (r Rig) ratio(z complex128, f float64) (complex128, float64) {
	ground, resistor := complex(r.Ground, 0), complex(r.Resistor, 0)
	z += complex(r.Leads, 0)
	if r.Contact != nil {
		z += complex(r.Contact(f), 0)
	}
	all := resistor + z + ground
	var top, bottom complex128
	switch r.Wiring {
	case ResistorFirst:
		top, bottom = z+ground, all
	case DriverFirst:
		top, bottom = resistor+ground, all
	default: // differential: the ground return drops out
		top, bottom = resistor, z
	}
	num, den := cmplx.Abs(top/all), cmplx.Abs(bottom/all)
	return r.Inputs.gain(f, num, den) * top / bottom, den
}

// impedance is what the rig makes of a ratio, and its derivative's size.
func (r Rig) impedance(h complex128) (complex128, float64) {
	told := complex(r.ResistorTold, 0)
	leads := complex(r.LeadsTold, 0)
	switch r.Wiring {
	case ResistorFirst:
		return told*h/(1-h) - leads, cmplx.Abs(told / ((1 - h) * (1 - h)))
	case DriverFirst:
		return told*(1/h-1) - leads, cmplx.Abs(told / (h * h))
	}
	return told/h - leads, cmplx.Abs(told / (h * h))
}

// Measure is a sweep of p at the frequencies f in Hz.
func (r Rig) Measure(rng *rand.Rand, p OnePort, f []float64) Sweep {
	s := Sweep{F: append([]float64(nil), f...), Z: make([]complex128, len(f)), Sigma: make([]float64, len(f))}
	for i, f := range f {
		h, den := r.ratio(p.Z(f), f)
		// noise of both inputs, as noise of the ratio
		noise := r.Noise.at(f) * sqrt(1+cmplx.Abs(h)*cmplx.Abs(h)) / den
		_, slope := r.impedance(h)
		s.Sigma[i] = noise * slope
		s.Z[i], _ = r.impedance(h + complex(noise*rng.NormFloat64(), noise*rng.NormFloat64()))
	}
	return s
}

// PerfectRig measures what is there.
func PerfectRig() Rig { return Rig{Resistor: 10, ResistorTold: 10} }

// DrawRig is a sound card with a resistor of 1 % that was measured to 0.3 %, some leads, and noise, and equal
// inputs.
func DrawRig(rng *rand.Rand) Rig {
	told := []float64{10, 15, 22, 33, 47}[rng.IntN(5)]
	return Rig{
		Resistor: told * (1 + 0.003*rng.NormFloat64()), ResistorTold: told,
		Leads: 0.05 + 0.01*rng.NormFloat64(), LeadsTold: 0.05,
		Noise: Noise{Floor: betweenLog(rng, 1e-5, 1.5e-4), Corner: betweenLog(rng, 1, 20)},
	}
}

// DrawInputs are uncalibrated inputs: 0.05 dB apart with AC coupling at 2.0 and 2.4 Hz, either way round.
func DrawInputs(rng *rand.Rand) Inputs {
	in := Inputs{GainDB: 0.05, Corner: [2]float64{2.0, 2.4}}
	if chance(rng, 0.5) {
		in.GainDB = -in.GainDB
	}
	if chance(rng, 0.5) {
		in.Corner = [2]float64{2.4, 2.0}
	}
	return in
}

// SteadyContact is a contact that adds ohm below a frequency in Hz and nothing above: it was touched while
// the sweep went on.
func SteadyContact(ohm, below float64) func(float64) float64 {
	return func(f float64) float64 {
		if f < below {
			return ohm
		}
		return 0
	}
}

// DriftingContact is a contact whose resistance wanders between 0 and ohm over a few octaves.
func DriftingContact(rng *rand.Rand, ohm float64) func(float64) float64 {
	period, phase := between(rng, 2, 6), between(rng, 0, 2*math.Pi)
	return func(f float64) float64 {
		return ohm / 2 * (1 + math.Sin(2*math.Pi*math.Log2(f)/period+phase))
	}
}

// Meter is a reading of Re with a meter.
type Meter struct{ Ohm, Std float64 }

// DrawMeter reads re ohm with 0.5 % and leads that were not quite taken off, in hundredths of an ohm.
func DrawMeter(rng *rand.Rand, re float64) Meter {
	std := math.Hypot(0.005*re, 0.01)
	return Meter{Ohm: math.Round((re+std*rng.NormFloat64())*100) / 100, Std: std}
}

// Typo is the reading with one slip of the fingers: two digits exchanged, a digit too many, the decimal
// point misplaced, or the key beside.
func (m Meter) Typo(rng *rand.Rand) Meter {
	hundredths := int(math.Round(m.Ohm * 100))
	units, tenths, last := hundredths/100, hundredths/10%10, hundredths%10
	switch rng.IntN(4) {
	case 0:
		if tenths != units {
			m.Ohm = float64(10*tenths+units)/10 + float64(last)/100
			return m
		}
	case 1:
		m.Ohm *= 10
		return m
	case 2:
		m.Ohm = float64(units) + float64((tenths+3)%10)/10 + float64(last)/100 // three keys on
		return m
	}
	m.Ohm += 1 // the key beside
	return m
}
