package connected

import (
	"math"
	"math/cmplx"

	"conewright/ts/measured"
	"conewright/ts/notice"
)

const (
	// coilOctaves are the highest of a curve, where the coil is all.
	coilOctaves = 1.5
	// leastCoil is the least resistance (ohm) of a coil; a delay can make the real part as small as it likes.
	leastCoil = 0.3
	// mostPhase is the phase (right angles) of a voice coil beyond Re and leastReactance its reactance over Re from which on
	// it is judged, between coilTop Hz and the highest that circuits are fitted to. Of 2,500 sweeps of drivers of package truth
	// none is beyond both, and 0.843 the highest phase of those with a reactance above Re.
	mostPhase, leastReactance = 0.83, 1.2
	coilTop                   = 1500.0
	// mostTurn is by how much the phase of a coil beyond Re (right angles) may lie above the exponent of its rise; of 120 drivers
	// of package truth nine in ten lie below, and a delay may be beyond.
	mostTurn = 0.08
)

// coil is what the highest octaves of a curve say of the coil.
type coil struct {
	phase     float64 // of Z - Re, right angles
	slope     float64 // d ln|Z - Re|/d ln f
	reactance float64 // Im Z/Re
}

// coilOf takes the least real part for Re.
func coilOf(t measured.Impedance) coil {
	re := math.Inf(1)
	for _, v := range t.Z {
		re = min(re, real(v))
	}
	re = max(re, leastCoil)
	var n, phase, reactance, x, xx, y, xy float64
	for i, f := range t.Freq {
		if f < t.Freq[t.Len()-1]*math.Exp2(-coilOctaves) {
			continue
		}
		beyond := t.Z[i] - complex(re, 0)
		u, v := math.Log(f), math.Log(cmplx.Abs(beyond))
		n, phase, reactance = n+1, phase+cmplx.Phase(beyond)/(math.Pi/2), reactance+imag(beyond)/re
		x, xx, y, xy = x+u, xx+u*u, y+v, xy+u*v
	}
	return coil{phase / n, (xy - x*y/n) / (xx - x*x/n), reactance / n}
}

// off is by how much the phase lies above that of the magnitude, in right angles. Of a minimum-phase impedance that rises as
// f^n the phase is n right angles (Bode 1945, from memory), which a delay turns by as much as it has.
func (c coil) off() float64 { return c.phase - c.slope }

// lossless finds a coil with less loss than a voice coil, in whose iron currents flow that make the real part rise with
// the reactance (n of theory (1.6)); a coil of a network has no such iron. Nil where a delay makes the
// phase, and for magnitudes, which have none.
func lossless(t measured.Impedance) *notice.Notice {
	if t.Freq[t.Len()-1] < coilTop {
		return nil
	}
	c := coilOf(t)
	if c.phase < mostPhase || c.reactance < leastReactance || c.off() > mostTurn {
		return nil
	}
	return notice.New("lossless-coil", notice.Facts{"phase": c.phase * math.Pi / 2, "reactance": c.reactance})
}
