// Package truth is a population of loudspeaker drivers, benches, measuring rigs and exported files
// on which an estimator can be judged. It imports nothing of this module: what it shares with the
// estimator is the definition of the reported values and the theory of circuits, nothing else.
//
// Physics that a lumped model does not have: suspensions of fractional order or with a spread of
// relaxation times, coils on solid and laminated iron of finite thickness with shorting rings and copper
// caps, the air of a real disc, resonances of surround and cone, a frame that recoils, benches
// that scatter, masses that are not what the label says, inputs that differ, and files that were
// smoothed, held, clipped or mislabelled on their way. docs/population.md describes it.
//
// Everything is deterministic: the same seed gives the same numbers.
//
//	rng := truth.Rand(7)
//	d := truth.Draw(rng)                       // a driver
//	v := d.Values()                            // what is true of it
//	z := d.Z(100)                              // ohm at 100 Hz
//	loaded := d.Loaded(truth.Mass{Kg: 0.02})   // with 20 g on its cone
//
// A session on a bench whose Fs scatters by 1 %, the sweep of a rig, and the file that a program leaves:
//
//	day := truth.CommonBench(0.01).Take(rng, truth.Session, truth.State{})
//	rig := truth.DrawRig(rng)
//	sweep := rig.Measure(rng, d.In(day), truth.Grid(5, 2000, 48))
//	table := truth.Export{Bin: 0.67, Fill: truth.HoldLower}.Rows(rng, rig, d, truth.ExportGrid)
//	file := truth.Layout{Separator: ";"}.Bytes(rng, table)
//
// Whole cases by their seed are in cases.go (benches), files.go (exported files) and connected.go (what else
// may hang on the leads).
//
// Frequencies are Hz, angular frequencies rad/s, everything else SI; the time factor is e^{jωt}.
package truth

import (
	"math"
	"math/cmplx"
	"math/rand/v2"
)

// OnePort is anything with two terminals.
type OnePort interface {
	// Z returns the impedance in ohm at f in Hz, f > 0.
	Z(f float64) complex128
}

// Port makes a OnePort of a function.
type Port func(f float64) complex128

// Z implements OnePort.
func (p Port) Z(f float64) complex128 { return p(f) }

// Rand is the random source of a seed. Further numbers make independent streams of it.
func Rand(seed uint64, stream ...uint64) *rand.Rand {
	const odd = 0x9e3779b97f4a7c15 // 2^64 divided by the golden ratio, to spread small numbers
	s := uint64(odd)
	for i, n := range stream {
		s ^= (n + 1 + uint64(i)) * odd
		s = s<<13 | s>>51
	}
	return rand.New(rand.NewPCG(seed, s))
}

// Grid is a logarithmic grid from low to at most high Hz with n points an octave.
func Grid(low, high float64, n int) []float64 {
	var f []float64
	for i := 0; ; i++ {
		x := low * math.Exp2(float64(i)/float64(n))
		if x > high*(1+1e-12) {
			return f
		}
		f = append(f, x)
	}
}

// lognormal draws around a median with a standard deviation of the natural logarithm.
func lognormal(rng *rand.Rand, median, sd float64) float64 {
	return median * math.Exp(sd*rng.NormFloat64())
}

// between draws evenly from low to high.
func between(rng *rand.Rand, low, high float64) float64 { return low + (high-low)*rng.Float64() }

// betweenLog draws from low to high, evenly in the logarithm.
func betweenLog(rng *rand.Rand, low, high float64) float64 {
	return math.Exp(between(rng, math.Log(low), math.Log(high)))
}

// chance is true with probability p.
func chance(rng *rand.Rand, p float64) bool { return rng.Float64() < p }

// jw is jω.
func jw(w float64) complex128 { return complex(0, w) }

// power is (jx)^a for x > 0, on the principal branch: modulus x^a, phase aπ/2.
func power(x, a float64) complex128 { return cmplx.Rect(math.Pow(x, a), a*math.Pi/2) }

// parallel is the impedance of two impedances in parallel.
func parallel(a, b complex128) complex128 {
	if a == 0 || b == 0 {
		return 0
	}
	return a * b / (a + b)
}

// roundTo rounds x to a multiple of step.
func roundTo(x, step float64) float64 { return math.Round(x/step) * step }
