package parts

import (
	"math"
	"math/rand/v2"

	"conewright/sweeps"
	"conewright/sweeps/bench"
	"conewright/sweeps/signal"
	"conewright/sweeps/virtual"
	"conewright/ts/measured"
)

// The bench: gains apart by 0.5 %, leads of 0.1 ohm with inductance and capacitance, inputs of finite resistance, noise of -95 dB
// below full scale; a resistor that is known to 1 %, a load that is known to 0.1 %, and clips that are never on twice alike.
const (
	noiseRms   = 1.778e-5 // of full scale, -95 dB
	loadOhm    = 100.0
	loadStd    = 0.1 / 1.7320508 // ohm
	loadHenry  = 30e-9           // H, standard deviation
	contactOhm = 4e-3 / math.Sqrt2
)

// Bench is one session: a bench with its terms recorded.
type Bench struct {
	rng     *rand.Rand
	virtual virtual.Bench
	signal  []float64
	leads   float64
	Fixture *sweeps.Fixture
	// drawn is by how many standard uncertainties each shared error of the terms moves what is found, by the name of its source.
	drawn map[string]float64
	short float64 // ohm, of the clips on the joined lead ends
	clips float64 // ohm, of those in the last recording
}

// NewBench sets up a bench and records its terms.
func NewBench(rng *rand.Rand, wiring bench.Wiring) (*Bench, error) {
	x, err := signal.Signal{Duration: 6}.Samples()
	if err != nil {
		return nil, err
	}
	b := &Bench{rng: rng, signal: x, leads: 0.1}
	b.virtual = virtual.Bench{Bench: bench.Bench{Wiring: wiring, Resistor: 10},
		Flaws: virtual.Flaws{Gain: [2]float64{0, 0.005}, Delay: [2]float64{0, 2e-7}, Noise: [2]float64{noiseRms, noiseRms}, Bits: 24,
			ResistorError: 0.0058 * rng.NormFloat64(), InputResistance: 20e3, Latency: 0.05}}
	off, wire := loadStd*rng.NormFloat64(), loadHenry*rng.NormFloat64()
	terms := sweeps.Terms{LoadOhm: loadOhm, LoadStd: loadStd}
	for _, t := range []struct {
		z    func(f float64) complex128
		into **bench.Recording
	}{
		{func(f float64) complex128 { return 1e12 }, &terms.Open},
		{func(f float64) complex128 { return 0 }, &terms.Short},
		{func(f float64) complex128 { return complex(loadOhm+off, 2*math.Pi*f*wire) }, &terms.Load},
	} {
		if *t.into, err = b.record(t.z); err != nil {
			return nil, err
		}
		if t.into == &terms.Short {
			b.short = b.clips
		}
	}
	// A load that is more than it is said to be makes parts less. Its clips count as it does.
	b.drawn = map[string]float64{"load resistor": -(off + b.clips - b.short) / loadStd, "load inductance": -wire / loadHenry}
	b.Fixture, err = sweeps.NewFixture(terms, bench.Bench{Wiring: wiring})
	return b, err
}

// record records z behind the leads.
func (b *Bench) record(z func(f float64) complex128) (*bench.Recording, error) {
	v := b.virtual
	b.clips = contactOhm * b.rng.NormFloat64()
	clips := b.clips
	v.Z = func(f float64) complex128 {
		w := 2 * math.Pi * f
		return complex(b.leads+clips, w*0.4e-6) + parallel(z(f), complex(0, -1/(w*60e-12)))
	}
	v.Seed = b.rng.Uint64()
	return v.Record(b.signal, signal.Signal{}.Defaults().Rate)
}

// by returns how far a value is off by a source that moves it by effect a standard uncertainty, as it was drawn for the bench and for
// the clips of the last recording; false for a source that is not drawn.
func (b *Bench) by(source string, effect float64) (float64, bool) {
	if source == "contacts" {
		return effect * (b.clips - b.short) / (math.Sqrt2 * contactOhm), true
	}
	d, ok := b.drawn[source]
	return effect * d, ok
}

// Measure records a part and turns it into its impedance.
func (b *Bench) Measure(p Part) (measured.Impedance, error) {
	rec, err := b.record(p.Z)
	if err != nil {
		return measured.Impedance{}, err
	}
	return b.Fixture.Measure(rec)
}
