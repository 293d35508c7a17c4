// Package repairs simulates what happens to a driver at a repair, row by row of
// the faults that repairers know, measures it before and after with noise, and
// lets the judgement of package ts say what happened. It is how the judgement is
// held against a truth.
package repairs

import (
	"math"
	"math/rand/v2"

	"conewright/ts/change"
	"conewright/ts/driver"
	"conewright/ts/internal/estimate"
	"conewright/ts/measured"
	"conewright/ts/param"
	"conewright/ts/repeat"

	"gonum.org/v1/gonum/mat"
)

// woofer is a driver as the simulation knows it. Its impedance is written from
// the two windings of a partly shorted coil, so that it shares nothing with the
// causes that the judgement assumes.
type woofer struct {
	driver.Driver
	coil    driver.LossyCoil
	shorted float64 // part of the turns closed on themselves
	series  float64 // ohm in series with the terminals
}

// impedance returns the impedance in ohm at f (Hz) with the mass dM (kg) on the
// cone. With the part k of the turns shorted, currents i in the rest and j in
// the short, and the velocity v, for unit current i:
//
//	u = (1-k) Re + (1-k)^2 ZL + k(1-k) ZL j + (1-k) BL v
//	0 = k Re j + k^2 ZL j + k(1-k) ZL + k BL v
//	Zm v = BL ((1-k) + k j)
//
// Classical circuit theory: two windings with one flux.
func (w woofer) impedance(f, dM float64) complex128 {
	mech := w.Driver
	mech.Re, mech.BL, mech.Coil = 0, 1, nil
	zm := 1 / mech.LoadedImpedance(f, dM, 0)
	zl := w.coil.Impedance(2 * math.Pi * f)
	k, re, bl := complex(w.shorted, 0), complex(w.Re, 0), complex(w.BL, 0)
	var j complex128
	if w.shorted > 0 {
		j = -(1 - k) * (zl + bl*bl/zm) / (re + k*zl + k*bl*bl/zm)
	}
	v := bl * (1 - k + k*j) / zm
	return complex(w.series, 0) + (1-k)*(re+(1-k)*zl+k*zl*j+bl*v)
}

// Row is one thing that can happen to a driver.
type Row struct {
	Name  string
	Sizes [3]string // in words: small, medium, large
	// Causes are what the judgement should find, in any order.
	Causes []change.CauseID
	do     func(w *woofer, size int, rng *rand.Rand)
}

// Rows are the faults and changes that impedance can show. Sizes and side
// effects are those of a table of faults worked out for an eight-inch woofer
// with the surround at 40 % of the stiffness; the trade facts in it (what goes
// with what) are common practice.
var Rows = []Row{
	{"nothing", [3]string{"", "", ""}, []change.CauseID{change.NoChange}, func(*woofer, int, *rand.Rand) {}},
	{"surround too stiff", [3]string{"x1.5", "x2", "x3"}, []change.CauseID{change.SuspensionStiffer},
		func(w *woofer, size int, _ *rand.Rand) { w.Cms /= 0.6 + 0.4*[3]float64{1.5, 2, 3}[size] }},
	{"surround too soft", [3]string{"x0.7", "x0.5", "x0.3"}, []change.CauseID{change.SuspensionSofter},
		func(w *woofer, size int, _ *rand.Rand) { w.Cms /= 0.6 + 0.4*[3]float64{0.7, 0.5, 0.3}[size] }},
	{"surround torn, losses down", [3]string{"K -20 %", "K -30 %", "K -40 %"}, []change.CauseID{change.SuspensionSofter, change.LossesDown},
		func(w *woofer, size int, _ *rand.Rand) {
			w.Cms /= [3]float64{0.8, 0.7, 0.6}[size]
			w.Rms *= [3]float64{0.8, 0.75, 0.7}[size]
		}},
	{"spider fatigued", [3]string{"x0.85", "x0.75", "x0.6"}, []change.CauseID{change.SuspensionSofter},
		func(w *woofer, size int, _ *rand.Rand) { w.Cms /= 0.4 + 0.6*[3]float64{0.85, 0.75, 0.6}[size] }},
	{"not broken in", [3]string{"K x1.1", "K x1.2", "K x1.3"}, []change.CauseID{change.SuspensionStiffer},
		func(w *woofer, size int, _ *rand.Rand) { w.Cms /= [3]float64{1.1, 1.2, 1.3}[size] }},
	{"too much glue", [3]string{"+1 g", "+2 g", "+5 g"}, []change.CauseID{change.MassAdded},
		func(w *woofer, size int, _ *rand.Rand) { w.Mms += [3]float64{1e-3, 2e-3, 5e-3}[size] }},
	{"mass ring missing", [3]string{"-2 g", "-5 g", "-8 g"}, []change.CauseID{change.MassMissing},
		func(w *woofer, size int, _ *rand.Rand) { w.Mms -= [3]float64{2e-3, 5e-3, 8e-3}[size] }},
	{"foam replaced by rubber", [3]string{"half", "usual", "double"}, []change.CauseID{change.MassAdded, change.SuspensionStiffer, change.LossesUp},
		func(w *woofer, size int, _ *rand.Rand) {
			s := [3]float64{0.8, 1, 2}[size]
			w.Mms += 3e-3 * s
			w.Cms /= 1 + 0.12*s
			w.Rms *= 1 + 0.5*s
		}},
	{"rub, tilted coil or leak", [3]string{"R x1.25", "R x1.7", "R x3"}, []change.CauseID{change.LossesUp},
		func(w *woofer, size int, _ *rand.Rand) { w.Rms *= [3]float64{1.25, 1.7, 3}[size] }},
	{"less loss", [3]string{"R x0.85", "R x0.75", "R x0.65"}, []change.CauseID{change.LossesDown},
		func(w *woofer, size int, _ *rand.Rand) { w.Rms *= [3]float64{0.85, 0.75, 0.65}[size] }},
	{"shorted turns", [3]string{"1 %", "3 %", "10 %"}, []change.CauseID{change.ShortedTurns},
		func(w *woofer, size int, _ *rand.Rand) { w.shorted = [3]float64{0.01, 0.03, 0.1}[size] }},
	{"wrong coil", [3]string{"Re -20 %", "Re +40 %", "Re -43 %"}, []change.CauseID{change.CoilDifferent},
		func(w *woofer, size int, _ *rand.Rand) {
			turns := [3]float64{0.8, 1.4, 0.57}[size] // Re and L go with it, BL with its root
			w.Re *= turns
			w.coil.K *= turns
			w.BL *= math.Sqrt(turns)
		}},
	{"weak magnet", [3]string{"BL -3 %", "BL -5 %", "BL -10 %"}, []change.CauseID{change.MotorWeaker},
		func(w *woofer, size int, rng *rand.Rand) {
			s := [3]float64{0.03, 0.05, 0.1}[size]
			w.BL *= 1 - s
			w.coil.K *= 1 + 0.2*s*rng.Float64() // less saturated iron
		}},
	{"coil off its rest position", [3]string{"BL -3 %", "BL -6 %", "BL -12 %"}, []change.CauseID{change.CoilOffset},
		func(w *woofer, size int, rng *rand.Rand) {
			s := [3]float64{0.03, 0.06, 0.12}[size]
			w.BL *= 1 - s
			inductance := 1 + s*(0.7+0.6*rng.Float64()) // inward; outward below
			if rng.IntN(2) == 0 {
				inductance = 1 / inductance
			}
			w.coil.K *= inductance
			w.Rms *= 1 + 0.15*rng.Float64()
			w.Cms /= 1 + 0.05*rng.Float64()
		}},
	{"contact in series", [3]string{"0.1 ohm", "0.2 ohm", "0.5 ohm"}, []change.CauseID{change.SeriesResistance},
		func(w *woofer, size int, _ *rand.Rand) { w.series = [3]float64{0.1, 0.2, 0.5}[size] }},
}

// Bench says how the simulated driver is measured.
type Bench struct {
	Noise float64 // relative standard deviation of the real and the imaginary part
	Mass  bool    // sweeps with an added mass, before and after
	Drift Drift
}

// Drift is how much a driver differs from one session to the next when nobody touches it, as
// standard deviations of the difference.
type Drift struct {
	Stiffness, Losses float64 // relative
	Temperature       float64 // kelvin, of the coil
}

// Usual is the bench of the validation.
var Usual = Bench{Noise: 0.002, Drift: Drift{Stiffness: 0.02, Losses: 0.04, Temperature: 1}}

// perKelvin is how copper grows in resistance.
const perKelvin = 0.00393

// repeats is what the bench knows of itself: each of two sessions contributes half of the variance.
func (d Drift) repeats() *repeat.Bench {
	fs, losses, re := d.Stiffness/2/math.Sqrt2, d.Losses/math.Sqrt2, perKelvin*d.Temperature/math.Sqrt2
	v := mat.NewSymDense(3, []float64{fs * fs, fs * fs, 0, fs * fs, fs*fs + losses*losses, 0, 0, 0, re * re})
	return &repeat.Bench{repeat.Session: repeat.Of(v, math.Inf(1), false)}
}

// addedMass in kg and its standard uncertainty.
const addedMass, addedMassStd = 25e-3, 0.1e-3

// base is the driver before the repair, drawn around an eight-inch woofer.
func base(rng *rand.Rand) woofer {
	about := func(x, spread float64) float64 { return x * math.Exp(spread*rng.NormFloat64()) }
	w := woofer{Driver: driver.Driver{Re: about(5.6, 0.1), BL: about(8, 0.1), Mms: about(30e-3, 0.1), Cms: about(0.75e-3, 0.1), Creep: 0.08 * rng.Float64()},
		coil: driver.LossyCoil{K: about(0.012, 0.2), N: 0.65 + 0.1*rng.Float64()}}
	w.Rms = about(1.5, 0.1)
	return w
}

// Simulate draws a driver, does what the row says to it, and returns what the
// fits of the sweeps before and after say.
func Simulate(row Row, size int, bench Bench, rng *rand.Rand) (before, after param.Parameters, err error) {
	w := base(rng)
	massError := addedMassStd * rng.NormFloat64() // one mass for both
	if before, err = measure(w, bench, massError, rng); err != nil {
		return before, after, err
	}
	row.do(&w, size, rng)
	w.Cms *= 1 + bench.Drift.Stiffness*rng.NormFloat64()
	w.Rms *= 1 + bench.Drift.Losses*rng.NormFloat64()
	w.Re *= 1 + perKelvin*bench.Drift.Temperature*rng.NormFloat64()
	after, err = measure(w, bench, massError, rng)
	return before, after, err
}

// measure sweeps w and fits.
func measure(w woofer, bench Bench, massError float64, rng *rand.Rand) (param.Parameters, error) {
	sweep := func(dM float64) measured.Impedance {
		var freq, sigma []float64
		var z []complex128
		for f := 6.0; f <= 3000; f *= math.Exp2(1. / 24) {
			x := w.impedance(f, dM)
			s := bench.Noise * math.Hypot(real(x), imag(x))
			freq = append(freq, f)
			z = append(z, x+complex(s*rng.NormFloat64(), s*rng.NormFloat64()))
			sigma = append(sigma, s)
		}
		return measured.Impedance{Freq: freq, Z: z, Sigma: sigma}
	}
	sweeps := []measured.Sweep{{Impedance: sweep(0)}}
	if bench.Mass {
		sweeps = append(sweeps, measured.Sweep{Impedance: sweep(addedMass + massError), Load: measured.Load{Kind: measured.AddedMass, Value: addedMass, Std: addedMassStd}})
	}
	fitted, err := estimate.Fit(sweeps, measured.Conditions{Repeatability: bench.Drift.repeats()})
	if err != nil {
		return param.Parameters{}, err
	}
	p := fitted.Parameters
	p.OneDriver = true // this table is about causes, not about what is connected
	return p, nil
}
