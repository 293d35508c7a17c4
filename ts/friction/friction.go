// Package friction tells from the harmonics of a sweep whether the coil rubs: how large a dry friction is, how surely, and
// how small a one would have shown.
package friction

import (
	"math"
	"math/cmplx"

	"conewright/ts/fitted"
	"conewright/ts/internal/bounds"
	"conewright/ts/measured"
	"conewright/ts/nonlinear"
	"conewright/ts/notice"
	"conewright/ts/param"
)

// Found is what the harmonics say of friction.
type Found struct {
	Rubs             bool
	Force, Low, High float64  // N, with about 95 %; zero where it does not rub
	Least            float64  // N, the smallest that would have been named
	Share            float64  // part of the losses at the resonance that Force makes, in the quietest sweep; where it does not rub, Least
	Voltage          float64  // V rms at the terminals at the resonance, in the quietest sweep
	Levels           int      // sweeps that differ in level
	Losses           ByLosses // friction by the losses at the softest and the loudest sweep; zero: of one level
	KnowsBL          bool     // forces rest on a force factor that was measured; else on a usual one
}

// What decides. Found by simulation, docs/validation-friction.md.
const (
	// namedAt is the fall of chi2 from which on friction is named. Model errors are the same at neighbouring frequencies, so
	// that this is far less than ten standard errors; healthy drivers reach 20.
	namedAt = 100
	// By these parts of it a force may be off to either side at least, with about 95 %. With several levels it is more: a loud sweep
	// is less like the model, and losses have a part in the force.
	offOne, offSeveral = 0.1, 0.15
	// offUnsure of the part by which the motional impedance is off at the harmonics is that of the force: not all are off alike.
	offUnsure = 0.5
	// anotherLevel is the ratio of two voltages that counts as another level.
	anotherLevel = 1.5
	// usualBL times the root of Re in ohm is a usual force factor of woofers in T m, within a factor of bothWays (common
	// practice).
	usualBL  = 3.3
	bothWays = 1.8
	// Matters is the part of the losses that friction may have without anyone minding.
	Matters = 0.1
)

// Judge says what the sweeps in free air tell of friction; false where none has harmonics with a known voltage. The fit is
// that of the same sweeps. Theory (9.7), (9.8).
func Judge(sweeps []measured.Sweep, f *fitted.Result) (Found, bool) {
	known, knows, ok := forceFactor(f.Parameters)
	if !ok {
		return Found{}, false
	}
	bl := known.Value
	out := Found{KnowsBL: knows}
	var several [][]point // by sweep, the softest first
	var softest, loudest played
	for _, p := range playedIn(sweeps, f, bl) {
		seen := p.observe(p.drive)
		if len(seen) == 0 {
			continue
		}
		if several == nil {
			softest = p
		}
		loudest = p
		several = append(several, seen)
	}
	if several == nil {
		return Found{}, false
	}
	out.Levels, out.Voltage = 1, softest.volts
	with, without, s := together(several, bl)
	excess := with.excessOf(s.points)
	out.Least = s.least(without) * math.Sqrt(namedAt*excess)
	if loudest.volts > anotherLevel*softest.volts {
		out.Levels = 2
		out.Losses, _ = byLosses(softest, loudest, with)
	}
	force := out.Least
	if (without.chi2-with.chi2)/excess > namedAt {
		out.Rubs = true
		force = with.rub()
		off := s.off(with, offOne)
		if out.Losses.Std > 0 {
			force = out.Losses.beside(force, off/2*force)
		}
		if out.Levels > 1 {
			off = s.off(with, offSeveral)
		}
		within := (1 + off) * bothWays
		if knows {
			within = 1 + math.Hypot(off, 2*known.Std/known.Value)
		}
		out.Force, out.Low, out.High = force, force/within, force*within
	}
	out.Share = share(several[0], softest.linear, force, with)
	return out, bounds.Finite(out.Force, out.Low, out.High, out.Least, out.Share, out.Voltage)
}

// least returns the standard error in N of Coulomb's friction, when all that is not friction is free.
func (s separator) least(without sizes) float64 {
	s = s.weigh(func(i, k int) complex128 { return s.model(without.size, i, k) })
	q, _, _ := s.normal()
	return math.Sqrt(1 / informationOn(q, 0, rubs))
}

// off returns by which part of it the force of the sizes may be off to either side, with about 95 %: least at least, by the noise and
// errors of the model in the harmonics, and by how far the motional impedance is known where they lie. Theory (9.8).
func (s separator) off(found sizes, least float64) float64 {
	q, _, _ := s.normal()
	std := math.Sqrt(found.excessOf(s.points)/informationOn(q, 0, rubs)) / found.rub()
	var missed, all float64 // each harmonic by what it weighs in the force
	for i, p := range s.points {
		for k, w := range s.weight[i] {
			w *= param.Sq(cmplx.Abs(s.model(found.size, i, k)))
			missed, all = missed+w*p.unsure[k]*p.unsure[k], all+w
		}
	}
	return math.Sqrt(least*least + 4*std*std + offUnsure*offUnsure*missed/all)
}

// share returns the part of the losses at the resonance that the force (N) makes: with the sizes that were found, scaled to
// it; where there are none, as Coulomb's.
func share(points []point, l linear, force float64, found sizes) float64 {
	best := 0
	for i, p := range points {
		if math.Abs(math.Log(p.tone.Freq/l.fs)) < math.Abs(math.Log(points[best].tone.Freq/l.fs)) {
			best = i
		}
	}
	p := points[best]
	size := found.size[:rubs]
	sum := found.rub()
	if sum == 0 {
		size, sum = []float64{1}, 1
	}
	r := 0.0
	for j, v := range size {
		part, _ := nonlinear.Friction{Force: force * v / sum, Slides: distances[j]}.Resistance(real(p.tone.Velocity), p.tone.Freq)
		r += part
	}
	return min(1, r*l.res/(l.bl*l.bl))
}

// Free says that no friction that would matter is there.
func (f Found) Free() bool { return !f.Rubs && f.Share <= Matters }

// Warning names the friction, nil where there is none.
func (f Found) Warning() *notice.Notice {
	if !f.Rubs {
		return nil
	}
	return notice.New("coil-rubs", notice.Facts{"found": f})
}
