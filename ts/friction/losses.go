package friction

import (
	"math"
	"math/cmplx"

	"conewright/ts/nonlinear"

	"gonum.org/v1/gonum/mat"
)

// ByLosses is the friction that the losses tell of where they fall as the level rises.
type ByLosses struct{ Force, Std float64 } // N

// beside joins it with the friction that harmonics tell of to a standard uncertainty of std (both N), each by what it is known to.
func (l ByLosses) beside(harmonics, std float64) float64 {
	a, b := 1/(std*std), 1/(l.Std*l.Std)
	return (a*harmonics + b*max(0, l.Force)) / (a + b)
}

const (
	nearResonance = 1.2  // octaves to either side that losses are read from
	fewestTones   = 4    // in there
	readWithin    = 3e-4 // of |Z|, at each frequency
	smallChange   = 0.1  // of the stiffness from one level to the other: what is uneven is not small beyond
	sineWithin    = 0.06 // of the friction: where the coil nearly rests its velocity is no sine (integrated cases)
)

// What else may differ between two sweeps of one driver, as standard deviations.
const (
	lossesMove = 0.015 // of the losses, for each doubling of the level: how far what slides in the suspension is known
	lossesStep = 0.03  // the same where it is alike at all frequencies, which shows (common practice, as in a comparison)
	coilMoves  = 0.003 // of Re: heat
	unevenBL   = 2e4   // 1/m^2, of the force factor (common practice)
	roughness  = 0.01  // of the losses, at each frequency: what nothing here follows
)

// What a difference of two mechanical impedances is made of.
const (
	byFriction  = iota
	byStiffness // that is different
	byHardening // of a symmetric suspension, and its softening
	byViscosity // of the suspension
	byHeat      // of the coil
	byMotor     // uneven over the travel
	sources
)

// byLosses returns the friction that two levels tell of by their losses; false where they do not overlap around the
// resonance, or where the stiffness is not nearly the same at both. Everything linear drops out of the difference of the
// mechanical impedances: theory (9.11). The kind says which friction it is, and what else slides.
//
// Both stand behind one coil, that of the softer sweep and as warm as each is: what the two fitted curves have beside a plain
// resonance differs by the losses of creep, which follow those of each sweep, and would take up part of what is looked for.
func byLosses(low, high played, kind sizes) (ByLosses, bool) {
	rub := kind.rub()
	shares := []float64{1} // Coulomb's where none was found
	if rub > 0 {
		shares = nil
		for _, size := range kind.size[:rubs] {
			shares = append(shares, size/rub)
		}
	}
	a, okLow := low.apart()
	b, okHigh := high.apart()
	if !okLow || !okHigh || math.Abs(math.Log(b.stiffness/b.mass*a.mass/a.stiffness)) > smallChange {
		return ByLosses{}, false
	}
	losses := low.bl * low.bl / low.res
	q, g := mat.NewSymDense(sources, nil), mat.NewVecDense(sources, nil)
	whole := 0.0                          // sum of squares
	tones, grip, doublings := 0, 0.0, 0.0 // grip is what a friction of 1 N is worth at most, in kg/s
	for _, f := range low.drive.Freq {
		if math.Abs(math.Log2(f/low.fs)) > nearResonance || low.outside(f) || high.outside(f) {
			continue
		}
		ze := low.at(low.ze, f)
		a, va := low.movedBehind(ze, f)
		b, vb := high.movedBehind(ze+complex(high.re-low.re, 0), f)
		if !(va > 0) || !(vb > va) {
			continue
		}
		tones++
		w := 2 * math.Pi * f
		x2 := (va*va - vb*vb) / (w * w)
		column := [sources]complex128{
			byFriction:  worth(shares, distances[:len(shares)], va, f) - worth(shares, distances[:len(shares)], vb, f),
			byStiffness: complex(0, -1/w),
			byHardening: complex(0, -x2/w),
			byViscosity: 1,
			byHeat:      b * b / complex(low.bl*low.bl, 0),
			byMotor:     complex(real(b)/2, imag(b)) * complex(x2, 0),
		}
		if r := real(column[byFriction]); r > grip {
			grip, doublings = r, math.Log2(vb/va)
		}
		slides := kind.size[rubs:len(distances)]
		off := a - b - worth(slides, distances[rubs:], va, f) + worth(slides, distances[rubs:], vb, f)
		noise := readWithin * cmplx.Abs(b*b*low.at(low.z, f)) / (low.bl * low.bl)
		weight := 1 / (noise*noise + math.Pow(roughness*losses, 2))
		whole += weight * (real(off)*real(off) + imag(off)*imag(off))
		for i, c := range column {
			g.SetVec(i, g.AtVec(i)+weight*real(cmplx.Conj(c)*off))
			for j := i; j < sources; j++ {
				q.SetSym(i, j, q.At(i, j)+weight*real(cmplx.Conj(c)*column[j]))
			}
		}
	}
	if tones < fewestTones || grip == 0 {
		return ByLosses{}, false
	}
	for i, std := range map[int]float64{byViscosity: lossesStep * doublings * losses, byHeat: coilMoves * real(low.at(low.ze, low.fs)), byMotor: unevenBL} {
		q.SetSym(i, i, q.At(i, i)+1/(std*std))
	}
	force, std, chi2, ok := firstOf(q, g)
	if !ok {
		return ByLosses{}, false
	}
	std *= math.Sqrt(max(1, (whole+chi2)/float64(2*tones-sources)))
	std = math.Hypot(std, math.Hypot(lossesMove*doublings*losses/grip, sineWithin*force))
	return ByLosses{force, std}, true
}

// worth returns what frictions (N) that build up over distances (m) are worth as a mechanical impedance in kg/s, at an
// amplitude of v (m/s) and f (Hz).
func worth(forces, distances []float64, v, f float64) complex128 {
	var all complex128
	for i, size := range forces {
		r, k := nonlinear.Friction{Force: size, Slides: distances[i]}.Resistance(v, f)
		all += complex(r, -k/(2*math.Pi*f))
	}
	return all
}

// firstOf solves q x = g and returns the first unknown with its standard uncertainty. Units of the unknowns differ by many powers
// of ten, so each is scaled. chi2 is what they add to the sum of squares.
func firstOf(q *mat.SymDense, g *mat.VecDense) (x, std, chi2 float64, ok bool) {
	n := g.Len()
	scaled, right := mat.NewSymDense(n, nil), mat.NewVecDense(n, nil)
	for i := range n {
		right.SetVec(i, g.AtVec(i)/math.Sqrt(q.At(i, i)))
		for j := i; j < n; j++ {
			scaled.SetSym(i, j, q.At(i, j)/math.Sqrt(q.At(i, i)*q.At(j, j)))
		}
	}
	var solved, inverse mat.VecDense
	var c mat.Cholesky
	if !c.Factorize(scaled) || c.SolveVecTo(&solved, right) != nil {
		return 0, 0, 0, false
	}
	unit := mat.NewVecDense(n, nil)
	unit.SetVec(0, 1)
	if c.SolveVecTo(&inverse, unit) != nil {
		return 0, 0, 0, false
	}
	one := math.Sqrt(q.At(0, 0))
	return solved.AtVec(0) / one, math.Sqrt(inverse.AtVec(0)) / one, -mat.Dot(&solved, right), true
}
