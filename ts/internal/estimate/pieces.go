package estimate

import (
	"fmt"
	"math"

	"conewright/ts/param"
)

// A law that is a little wrong leaves residuals that go up and down slowly over
// frequency, and an error in the parameters that noise alone would not explain.
// Each law that may be wrong gets free pieces, whose heights are unknowns with a
// prior of mean zero and a standard deviation tau that the residuals decide:
//
//	coil         the exponent of ZL changes by a free amount at every octave:
//	             ZL (1 + sum h log2(1 + wk/s)); or by as much at all of them
//	suspension   the slope of the stiffness over log frequency does, at every half
//	             octave, as its losses show at the resonance, which is narrow:
//	             k(s) + sum h (log2(1 + wk/s) - its value at resonance)
//	friction     the loss factor of the suspension goes up or down by octaves,
//	             without the change of stiffness that a linear suspension shows
//	heating      Re moves in proportion to log frequency, as in a long sweep; or
//	             by a free amount in every octave
//	drift        the stiffness does
//	timing       one channel lags: Z (1 + j h f)
//
// log2(1 + wk/s) is a ramp below wk and nothing above it, and causal: its phase
// belongs to its size, as in any real coil or suspension. theory (4.4),
// docs/decisions/0013.
type misfit struct {
	tau   sizes
	noise float64 // number by which the noise exceeds the weights
	gain  float64 // ln likelihood ratio to a fit without misfit
	local discrepancy
}

// sizes holds tau of every law; 0: the law is not in doubt.
type sizes [numLaws]float64

func (m misfit) any() bool { return m.tau != sizes{} || m.local.any() }

// The laws that may be wrong. The bent ones have a single piece, the same change
// at every octave: less free, so that a small departure shows sooner.
const (
	coilBent = iota
	coilFree
	coilHidden
	suspensionBent
	suspensionFree
	frictionFree
	heating
	heatingFree
	drift
	driftFree
	timing
	numLaws
)

var unitSizes = sizes{1, 1, 1, 1, 1, 1, 1, 1, 1, 1, 1}

// ramp returns log2(1 + wk/s) at s = j 2 pi f, wk = 2 pi corner; f and corner in Hz.
func ramp(f, corner float64) complex128 {
	u := corner / f
	return times(math.Log2E, complex(math.Log(1+u*u)/2, -math.Atan(u)))
}

// piece is one free piece of a law.
type piece struct {
	law  int
	name string
	// What one unit of it adds, [sweep][point]: to Z in ohm, or to the stiffness
	// relative to that at resonance. One of the two is nil.
	z, stiffness [][]complex128
}

// pieces lays out the free pieces around a solution: all when fine, else those
// that suffice to notice a misfit, without the half octaves of the suspension and
// the free amounts of heating, drift and friction.
func (s *solution) pieces(fine bool) []piece {
	l := s.prob.lay
	lo, hi := math.Inf(1), 0.0
	for _, o := range s.prob.obs {
		lo = min(lo, o.W[0]/(2*math.Pi))
		hi = max(hi, o.W[len(o.W)-1]/(2*math.Pi))
	}
	fs, re := math.Exp(s.x[l.fs]), math.Exp(s.x[l.re])
	first, last := int(math.Floor(math.Log2(lo))), int(math.Floor(math.Log2(hi)))
	var all []piece
	add := func(law int, name string, toZ bool, value func(f float64, k, i int) complex128) {
		e := make([][]complex128, len(s.prob.obs))
		for k, o := range s.prob.obs {
			e[k] = make([]complex128, len(o.W))
			for i, w := range o.W {
				e[k][i] = value(w/(2*math.Pi), k, i)
			}
		}
		if toZ {
			all = append(all, piece{law: law, name: name, z: e})
		} else {
			all = append(all, piece{law: law, name: name, stiffness: e})
		}
	}
	zl := make([][]complex128, len(s.prob.obs))
	for k, o := range s.prob.obs {
		zl[k] = make([]complex128, len(o.W))
		s.prob.form.coil.Eval(zl[k], nil, o.Axis, s.x[l.coil:l.coil+l.coils])
	}
	// The ramps of a knot serve both laws.
	ramps := make([][]complex128, len(s.prob.obs))
	for k, o := range s.prob.obs {
		ramps[k] = make([]complex128, len(o.W))
	}
	for half := 2 * first; half <= 2*last; half++ {
		corner := math.Exp2(float64(half) / 2)
		forCoil, forSuspension := half%2 == 0, corner <= 2*fs && (fine || half%2 == 0)
		if !forCoil && !forSuspension {
			continue
		}
		for k, o := range s.prob.obs {
			for i, w := range o.W {
				ramps[k][i] = ramp(w/(2*math.Pi), corner)
			}
		}
		if forCoil {
			law := coilFree
			if corner < hiddenReach*fs {
				law = coilHidden
			}
			add(law, fmt.Sprintf("coil law at %.4g Hz", corner), true,
				func(f float64, k, i int) complex128 { return zl[k][i] * ramps[k][i] })
		}
		if forSuspension {
			atFs := ramp(fs, corner)
			add(suspensionFree, fmt.Sprintf("suspension law at %.4g Hz", corner), false,
				func(f float64, k, i int) complex128 { return ramps[k][i] - atFs })
		}
	}
	for knot := first; fine && knot <= last; knot++ {
		step := func(f float64) float64 { return min(max(math.Log2(f)-float64(knot), 0), 1) }
		at := math.Exp2(float64(knot))
		atFs := step(fs)
		add(heatingFree, fmt.Sprintf("heating at %.4g Hz", at), true, func(f float64, k, i int) complex128 { return complex(re*(step(f)-atFs), 0) })
		if at <= 2*fs {
			add(driftFree, fmt.Sprintf("drift at %.4g Hz", at), false, func(f float64, k, i int) complex128 { return complex(step(f)-atFs, 0) })
			add(frictionFree, fmt.Sprintf("losses at %.4g Hz", at), false, func(f float64, k, i int) complex128 { return complex(0, step(f)-atFs) })
		}
	}
	lnTop, lnRes := math.Log(2*math.Pi*hi), s.x[l.fs]+math.Log(2*math.Pi)
	octaves := func(lnRef float64, k, i int) float64 { return (s.prob.obs[k].Axis.Lnw[i] - lnRef) * math.Log2E }
	add(coilBent, "bend of the coil law", true, func(f float64, k, i int) complex128 {
		u := complex(octaves(lnTop, k, i), math.Pi/2/math.Ln2)
		return zl[k][i] * u * u / 2
	})
	add(suspensionBent, "bend of the suspension law", false, func(f float64, k, i int) complex128 {
		at := complex(0, math.Pi/2/math.Ln2)
		u := complex(octaves(lnRes, k, i), 0) + at
		return (u*u - at*at) / 2
	})
	add(heating, "heating during the sweep", true,
		func(f float64, k, i int) complex128 { return complex(re*octaves(lnRes, k, i), 0) })
	add(drift, "drift during the sweep", false,
		func(f float64, k, i int) complex128 { return complex(octaves(lnRes, k, i), 0) })
	add(timing, "timing of the channels", true,
		func(f float64, k, i int) complex128 { return s.prob.obs[k].z[i] * complex(0, f/hi) })
	return all
}

// addPieces adds free pieces with the sizes of m to a problem.
// The unknowns of a coil that is in doubt get weak priors around at: beside the
// pieces some of them may not be needed at all.
func (p *problem) addPieces(all []piece, tau sizes, at []float64) {
	l := p.lay
	if tau[coilFree] > 0 {
		for i, u := range p.form.coil.Unknowns() {
			l.priors = append(l.priors, prior{index: l.coil + i, mean: at[i], std: widthDoubt, component: param.Component{Source: "coil law, " + u.Symbol, Part: param.ModelPart}})
		}
	}
	for _, q := range all {
		t := tau[q.law]
		if t == 0 {
			continue
		}
		// What heating and drift do to one sweep, and what a suspension does, is
		// not what they do to the next driver; a coil stays the same.
		i := l.addPrior(t, q.name, param.ModelPart, q.law > coilHidden)
		if q.z != nil {
			p.extra = append(p.extra, additive{q.z, q.law})
			l.extra = append(l.extra, i)
			continue
		}
		if p.bend == nil {
			p.bend = make([][][]complex128, len(p.obs))
		}
		for k := range p.obs {
			p.bend[k] = append(p.bend[k], q.stiffness[k])
		}
		l.bend = append(l.bend, i)
	}
	p.number()
}
