package main

import (
	"math"
	"strings"

	"conewright/sweeps/bench"
	"conewright/ts/internal/truth"
	"conewright/ts/measured"
	"conewright/ts/param"
)

// wirings are those of the rig, as the bench names them.
var wirings = map[truth.Wiring]bench.Wiring{
	truth.ResistorFirst: bench.ResistorFirst, truth.DriverFirst: bench.DriverFirst, truth.Probes: bench.Probes,
}

// told is the bench as its user describes it: a resistor measured to 0.5 %, leads of 0.05 ohm, nothing
// said of the inputs.
func told(wiring truth.Wiring, resistor float64) bench.Bench {
	return bench.Bench{Wiring: wirings[wiring], Resistor: resistor, ResistorTolerance: 0.005, Leads: 0.05}
}

// impedance is a sweep of truth as a recording on the bench b gives it: with the errors of that bench.
func impedance(s truth.Sweep, b bench.Bench) measured.Impedance {
	h := make([]complex128, len(s.Z))
	r := complex(b.Resistor, 0)
	for i, z := range s.Z {
		z += complex(b.Leads, 0)
		switch b.Wiring {
		case bench.DriverFirst:
			h[i] = r / (r + z)
		case bench.Probes:
			h[i] = r / z
		default:
			h[i] = z / (r + z)
		}
	}
	return measured.Impedance{Freq: s.F, Z: s.Z, Sigma: floored(s), Systematic: b.Systematic(s.F, h)}
}

// calibrated is a sweep through inputs that were compared.
func calibrated(s truth.Sweep, b bench.Bench) measured.Impedance {
	z := impedance(s, b)
	kept := z.Systematic[:0]
	for _, e := range z.Systematic {
		if !strings.HasPrefix(e.Source, measured.ChannelSource) {
			kept = append(kept, e)
		}
	}
	z.Systematic = kept
	return z
}

// floored is the noise of a sweep, but not less than 0.001 % of what is measured: no recording is said to be
// better.
func floored(s truth.Sweep) []float64 {
	out := make([]float64, len(s.Sigma))
	for i, v := range s.Sigma {
		out[i] = math.Hypot(v, 1e-5*math.Hypot(real(s.Z[i]), imag(s.Z[i])))
	}
	return out
}

// trueValue is the value of id in truth.
func trueValue(v truth.Values, id param.ID) float64 {
	return map[param.ID]float64{param.Re: v.Re, param.Fs: v.Fs, param.Qms: v.Qms, param.Qes: v.Qes, param.Qts: v.Qts,
		param.Mms: v.Mms, param.Cms: v.Cms, param.Rms: v.Rms, param.BL: v.BL, param.Vas: v.Vas}[id]
}
