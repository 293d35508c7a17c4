package truth

import (
	"math"
	"math/cmplx"
	"math/rand/v2"
)

// Loudspeaker is a two-way loudspeaker with its network: a coil before the woofer, and a capacitor, and a coil beside it, before the
// tweeter with its resistor. Parts have what a list of values does not say: eddy currents in the coils and a loss angle in the capacitor.
type Loudspeaker struct {
	L1, L2   LossyCoil
	C1       LossyCapacitor
	R1       float64 // ohm, before the tweeter
	Woofer   OnePort
	Tweeter  OnePort
	OpenHigh bool // the branch of the tweeter hangs on nothing
	OpenCoil bool // of the tweeter
	OpenLow  bool // the branch of the woofer hangs on nothing
}

// LossyCoil is a coil of a network, Z = R + jωL + K (jω)^0.7.
type LossyCoil struct{ L, R, K float64 } // H, ohm, ohm s^0.7

// Z implements OnePort.
func (c LossyCoil) Z(f float64) complex128 {
	s := jw(2 * math.Pi * f)
	return complex(c.R, 0) + s*complex(c.L, 0) + complex(c.K, 0)*cmplx.Pow(s, 0.7)
}

// LossyCapacitor has a constant loss angle D: Z = ESR + 1/(ω1 C) (ω/ω1)^-n e^{-jnπ/2}, n = 1 - 2/π atan D, C at 1 kHz.
type LossyCapacitor struct{ C, ESR, D float64 }

// Z implements OnePort.
func (c LossyCapacitor) Z(f float64) complex128 {
	n := 1 - 2/math.Pi*math.Atan(c.D)
	return complex(c.ESR, 0) + cmplx.Rect(math.Pow(f/1000, -n)/(2*math.Pi*1000*c.C), -n*math.Pi/2)
}

// Z implements OnePort.
func (l Loudspeaker) Z(f float64) complex128 {
	tweeter := 1e9 + 0i
	if !l.OpenCoil {
		tweeter = complex(l.R1, 0) + l.Tweeter.Z(f)
	}
	var y complex128
	if !l.OpenHigh {
		y += 1 / (l.C1.Z(f) + 1/(1/l.L2.Z(f)+1/tweeter))
	}
	if !l.OpenLow {
		y += 1 / (l.L1.Z(f) + l.Woofer.Z(f))
	}
	return 1 / y
}

// ListedPart is what a list says of a loudspeaker: values as they are printed on the parts, and each driver as a few numbers.
type ListedPart struct {
	L1, L1Rdc, L2, L2Rdc, C1, C1ESR, R1 float64
	Woofer, Tweeter                     Listed
}

// Listed is a driver as few numbers: ohm, H, Hz.
type Listed struct{ Re, Le, Fs, Qms, Qes float64 }

// DrawLoudspeaker is one in a closed box, and what its list says: parts within 5 %, drivers within 3 % in Re and 5 % in Fs, and an inductance
// that is right at 3 kHz.
func DrawLoudspeaker(rng *rand.Rand) (Loudspeaker, ListedPart) {
	d := DrawWith(rng, Choice{Inch: []float64{6.5, 8}[rng.IntN(2)], Calm: true, Resonance: -1})
	box := DrawBox(rng, d, false)
	in := d.Loaded(box)
	cross := betweenLog(rng, 1500, 3500) // Hz
	tweeter := drawTweeter(rng)
	l := Loudspeaker{Woofer: in, Tweeter: tweeter, R1: betweenLog(rng, 0.5, 3)}
	w := 2 * math.Pi * cross
	l.L1 = LossyCoil{L: between(rng, 0.7, 1.3) * d.Re / w * 1.4, R: between(rng, 0.1, 0.5), K: betweenLog(rng, 1e-5, 1e-3)}
	l.L2 = LossyCoil{L: between(rng, 0.7, 1.3) * tweeter.Re / w, R: between(rng, 0.15, 0.5), K: betweenLog(rng, 1e-5, 3e-4)}
	l.C1 = LossyCapacitor{C: between(rng, 0.7, 1.3) / (w * tweeter.Re), ESR: between(rng, 0.02, 0.3), D: betweenLog(rng, 5e-4, 0.03)}
	off := func(x, by float64) float64 { return x * (1 + by*clamp(rng.NormFloat64(), -2, 2)) }
	fc := zeroOf(func(f float64) float64 { return -imag(in.Z(f) - d.Blocked().Z(f)) }, d.Values().Fs, 5*d.Values().Fs)
	res := real(in.Z(fc)) - d.Re
	step := 1.02
	slope := imag(in.Z(fc/step)-d.Blocked().Z(fc/step)) / res // of 1/(1 + jQ(x - 1/x)), for small steps Q(1/x - x)
	q := slope / (step - 1/step)
	list := ListedPart{L1: off(l.L1.L, 0.025), L1Rdc: off(l.L1.R, 0.1), L2: off(l.L2.L, 0.025), L2Rdc: off(l.L2.R, 0.1),
		C1: off(l.C1.C, 0.025), C1ESR: off(l.C1.ESR, 0.3), R1: off(l.R1, 0.025),
		Woofer:  Listed{Re: off(d.Re, 0.015), Le: imag(d.Coil.Impedance(2*math.Pi*3000, d.Re)) / (2 * math.Pi * 3000), Fs: off(fc, 0.025), Qms: q, Qes: q * d.Re / res},
		Tweeter: Listed{Re: off(tweeter.Re, 0.015), Le: tweeter.K * math.Pow(2*math.Pi*5000, -0.4), Fs: off(tweeter.Fs, 0.025), Qms: tweeter.Qms, Qes: tweeter.Qes},
	}
	return l, list
}

// Tweeter is one with a coil of the impedance K (jω)^0.6.
type Tweeter struct{ Re, K, Fs, Qms, Qes float64 }

// Z implements OnePort.
func (t Tweeter) Z(f float64) complex128 {
	return complex(t.Re, 0) + complex(t.K, 0)*cmplx.Pow(jw(2*math.Pi*f), 0.6) + complex(t.Re*t.Qms/t.Qes, 0)/complex(1, t.Qms*(f/t.Fs-t.Fs/f))
}

func drawTweeter(rng *rand.Rand) Tweeter {
	return Tweeter{Re: drawRe(rng), K: betweenLog(rng, 1e-3, 5e-3), Fs: betweenLog(rng, 600, 1800), Qms: betweenLog(rng, 1.2, 4), Qes: betweenLog(rng, 0.7, 2)}
}

// NetworkFault is what happens to a loudspeaker.
type NetworkFault int

const (
	NetworkUntouched NetworkFault = iota
	HighBranchOpen
	LowBranchOpen
	TweeterOpen
	WrongCapacitor
	WrongCoil
	WornCapacitor
	networkFaults
)

var networkFaultNames = [networkFaults]string{"untouched", "tweeter's branch open", "woofer's branch open", "tweeter's coil open", "capacitor 15 to 40 % off", "coil before the woofer 20 to 50 % off", "0.5 to 2 ohm more in the capacitor"}

func (f NetworkFault) String() string { return networkFaultNames[f] }

// NetworkFaults are all of them.
func NetworkFaults() []NetworkFault {
	var all []NetworkFault
	for f := range networkFaults {
		all = append(all, f)
	}
	return all
}

// With is the loudspeaker with a fault.
func (l Loudspeaker) With(rng *rand.Rand, f NetworkFault) Loudspeaker {
	factor := func(low, high float64) float64 {
		if chance(rng, 0.5) {
			return 1 - between(rng, low, high)
		}
		return 1 + between(rng, low, high)
	}
	switch f {
	case HighBranchOpen:
		l.OpenHigh = true
	case LowBranchOpen:
		l.OpenLow = true
	case TweeterOpen:
		l.OpenCoil = true
	case WrongCapacitor:
		l.C1.C *= factor(0.15, 0.4)
	case WrongCoil:
		l.L1.L *= factor(0.2, 0.5)
	case WornCapacitor:
		l.C1.ESR += betweenLog(rng, 0.5, 2)
	}
	return l
}

// SystemGrid are the frequencies of sweeps of a whole loudspeaker, Hz.
var SystemGrid = Grid(10, 20000, 24)

// FaultyLoudspeaker is one before and after a fault, on one bench, with its list. What is warm or worked is a little off in the second sweep.
func FaultyLoudspeaker(seed uint64, f NetworkFault) (before, after Sweep, list ListedPart) {
	rng := Rand(seed, 53, uint64(f))
	l, list := DrawLoudspeaker(rng)
	rig, bench := DrawRig(rng), CommonBench(0.005)
	before = rig.Measure(rng, l, SystemGrid)
	in := l.Woofer.(Loaded)
	in.Driver = in.Driver.In(bench.Take(rng, Session, State{}))
	l.Woofer = in
	after = rig.Measure(rng, l.With(rng, f), SystemGrid)
	return before, after, list
}
