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
	phase := make([]float64, z.Len())
	for i, v := range z.Z {
		phase[i] = cmplx.Phase(v) * 180 / math.Pi
	}
	slices.Sort(phase)
	lo, hi := phase[len(phase)/20], phase[len(phase)-1-len(phase)/20]
	facts := func(code string, more notice.Facts) error { return notice.New(code, more).In(z.Source) }
	switch {
	case lo < -littlePhase && hi > littlePhase:
		return 0, facts("part-several", notice.Facts{"low": lo, "high": hi})
	case lo < -surePhase:
		return network.Capacitor, nil
	case hi > surePhase:
		return network.Coil, nil
	case -lo < littlePhase && hi < littlePhase:
		if size := middle(z); size < joined {
			return 0, facts("part-joined", notice.Facts{"resistance": size})
		}
		return network.Resistor, nil
	}
	other := network.Coil
	if -lo > hi {
		other = network.Capacitor
	}
	i := z.Len() - 1
	if other == network.Capacitor {
		i = 0
	}
	w := 2 * math.Pi * z.Freq[i]
	size := imag(z.Z[i]) / w
	if other == network.Capacitor {
		size = -1 / (w * imag(z.Z[i]))
	}
	return 0, notice.New("part-doubtful", notice.Facts{"kind": other.String(), "size": size, "resistance": middle(z), "frequency": z.Freq[i]}).In(z.Source)
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

// besidePhase is the phase in degrees below which a coil or capacitor at the end of the band at which nothing should hide it has
// something beside it. Iron in a coil leaves 45 degrees and more (Vanderkooy's semi-inductance).
const besidePhase = 30

// beside says that something lies in parallel to a coil or capacitor: its phase comes back to zero at the end of the band at
// which its reactance is largest.
func beside(z measured.Impedance, kind network.Kind) *notice.Notice {
	if kind == network.Resistor {
		return nil
	}
	n := z.Len()
	end, sign := z.Z[n-n/12:], 1.0
	if kind == network.Capacitor {
		end, sign = z.Z[:n/12], -1
	}
	var size, phase []float64
	for _, v := range end {
		size, phase = append(size, cmplx.Abs(v)), append(phase, sign*cmplx.Phase(v)*180/math.Pi)
	}
	slices.Sort(size)
	slices.Sort(phase)
	if phase[len(phase)/2] > besidePhase {
		return nil
	}
	return notice.New("part-beside", notice.Facts{"kind": kind.String(), "resistance": size[len(size)/2]})
}
