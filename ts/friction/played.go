package friction

import (
	"cmp"
	"math"
	"math/cmplx"
	"slices"

	"conewright/ts/fitted"
	"conewright/ts/measured"
	"conewright/ts/param"
)

// played is a sweep with what a fit says of how the cone moved.
type played struct {
	linear
	drive *measured.Harmonics
	volts float64 // V rms at the terminals at the resonance
}

// playedIn returns the sweeps in free air whose volts are known, the softest first. The fit is that of all sweeps; bl is the
// force factor (T m) that forces and movements rest on.
func playedIn(sweeps []measured.Sweep, f *fitted.Result, bl float64) []played {
	var all []played
	run := -1 // of f.Runs
	for i, s := range sweeps {
		if s.Load.Kind != measured.Free {
			continue
		}
		run++
		h := s.Impedance.Harmonics
		if h == nil || h.FullScale == 0 || s.Impedance.MagnitudeOnly {
			continue
		}
		var own [3]float64
		if run < len(f.Runs) {
			own = f.Runs[run]
		}
		if l, ok := newLinear(f.Curves[i], f.Parameters, own, bl); ok {
			all = append(all, played{l, h, h.Voltage[h.Near(l.fs)] / math.Sqrt2})
		}
	}
	slices.SortStableFunc(all, func(a, b played) int { return cmp.Compare(a.volts, b.volts) })
	return all
}

// forceFactor returns the BL (T m) of the fit, or a usual one; false where Re is not known either.
func forceFactor(p param.Parameters) (bl param.Estimate, known, ok bool) {
	if bl, known = p.Get(param.BL); known {
		return bl, true, true
	}
	re, ok := p.Get(param.Re)
	return param.Estimate{Value: usualBL * math.Sqrt(re.Value)}, false, ok
}

// outside says whether f (Hz) is beyond the ends of the curve.
func (l linear) outside(f float64) bool { return f < l.freq[0] || f > l.freq[len(l.freq)-1] }

// moved returns the mechanical impedance (kg/s) and the amplitude of the velocity (m/s) at f (Hz).
func (p played) moved(f float64) (zm complex128, speed float64) {
	return p.movedBehind(p.at(p.ze, f), f)
}

// movedBehind is [played.moved] behind a coil of ze (ohm).
func (p played) movedBehind(ze complex128, f float64) (zm complex128, speed float64) {
	z := p.at(p.z, f)
	motional := z - ze
	return complex(p.bl*p.bl, 0) / motional, p.drive.Voltage[p.drive.Near(f)] / p.bl * cmplx.Abs(motional/z)
}
