package part

import (
	"math"
	"math/cmplx"
	"slices"

	"conewright/ts/measured"
	"conewright/ts/network"
	"conewright/ts/notice"
)

// How far the phase of a part must go for its kind to be sure, in degrees; judgement. A coil or capacitor of a network reaches
// a quality factor of 4 somewhere between 5 Hz and 20 kHz, a resistor stays below 1/4.
var (
	surePhase   = math.Atan(4) * 180 / math.Pi
	littlePhase = math.Atan(0.25) * 180 / math.Pi
)

// joined is the resistance in ohm below which the lead ends are taken as joined.
const joined = 0.02

// identify says what the curve is of.
func identify(z measured.Impedance) (network.Kind, error) {
	phase, size := make([]float64, z.Len()), make([]float64, z.Len())
	for i, v := range z.Z {
		phase[i], size[i] = cmplx.Phase(v)*180/math.Pi, cmplx.Abs(v)
	}
	slices.Sort(phase)
	slices.Sort(size)
	lo, hi := phase[len(phase)/20], phase[len(phase)-1-len(phase)/20]
	facts := func(code string, more notice.Facts) error { return notice.New(code, more).In(z.Source) }
	switch {
	case size[len(size)/2] < joined:
		return 0, facts("part-joined", notice.Facts{"resistance": size[len(size)/2]})
	case lo < -littlePhase && hi > littlePhase:
		return 0, facts("part-several", notice.Facts{"low": lo, "high": hi})
	case lo < -surePhase:
		return network.Capacitor, nil
	case hi > surePhase:
		return network.Coil, nil
	case -lo < littlePhase && hi < littlePhase:
		return network.Resistor, nil
	}
	other := network.Coil
	if -lo > hi {
		other = network.Capacitor
	}
	if n := beside(z, other); n != nil {
		return 0, n.In(z.Source)
	}
	i := z.Len() - 1
	if other == network.Capacitor {
		i = 0
	}
	w := 2 * math.Pi * z.Freq[i]
	value := imag(z.Z[i]) / w
	if other == network.Capacitor {
		value = -1 / (w * imag(z.Z[i]))
	}
	return 0, notice.New("part-doubtful", notice.Facts{"kind": other.String(), "size": math.Abs(value), "resistance": middle(z), "frequency": z.Freq[i]}).In(z.Source)
}

// middle returns the median of the real part in ohm.
func middle(z measured.Impedance) float64 {
	re := make([]float64, z.Len())
	for i, v := range z.Z {
		re[i] = real(v)
	}
	slices.Sort(re)
	return re[len(re)/2]
}

// A phase of a coil or capacitor that has been above ownPhase degrees and falls below besidePhase while its reactance grows is that of
// something beside it. Iron that the field does not pass leaves 45 degrees (Vanderkooy's semi-inductance, from memory).
const (
	ownPhase    = 60
	besidePhase = 42
	smoothed    = 9 // points whose median counts
)

// beside says that something lies in parallel to a coil or capacitor, and of about what size.
func beside(z measured.Impedance, kind network.Kind) *notice.Notice {
	if kind == network.Resistor {
		return nil
	}
	n := z.Len()
	phase := make([]float64, n) // in the order in which the reactance grows
	size := make([]float64, n)
	for i, v := range z.Z {
		k, sign := i, 1.0
		if kind == network.Capacitor {
			k, sign = n-1-i, -1
		}
		phase[k], size[k] = sign*cmplx.Phase(v)*180/math.Pi, cmplx.Abs(v)
	}
	most := math.Inf(-1)
	for i := 0; i+smoothed <= n; i++ {
		now := slices.Clone(phase[i : i+smoothed])
		slices.Sort(now)
		middle := now[smoothed/2]
		most = math.Max(most, middle)
		if most > ownPhase && middle < besidePhase {
			return notice.New("part-beside", notice.Facts{"kind": kind.String(), "resistance": size[i+smoothed/2]})
		}
	}
	return nil
}
