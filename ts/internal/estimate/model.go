package estimate

import (
	"slices"

	"conewright/ts/internal/law"
	"conewright/ts/param"
)

// form is one model of the ladder: a coil and the features of a suspension.
type form struct {
	coil  law.Law
	creep bool // creep, unknown lambda: logarithmic unless power is set
	power bool // creep with a power of frequency
	// smooth is the width in octaves over which the program that wrote the sweep has averaged magnitude and phase.
	smooth float64
}

func (f form) String() string {
	s := f.coil.Name()
	switch {
	case f.power:
		s += param.PowerCreep
	case f.creep:
		s += " with creep"
	}
	return s
}

// causal reports whether the impedance of f is that of a possible circuit.
func (f form) causal() bool { return f.coil != law.Power }

// insideCoil lists the coil laws that are special or limiting cases of another.
var insideCoil = map[law.Law][]law.Law{
	law.Lossy:      {law.Plain},
	law.TwoPart:    {law.Plain},
	law.Semi:       {law.Plain},
	law.SemiLadder: {law.Plain, law.TwoPart, law.Semi},
	law.Power:      {law.Plain, law.Lossy},
}

// holds reports whether g is a special or limiting case of f with the same
// suspension.
func (f form) holds(g form) bool {
	return f.creep == g.creep && slices.Contains(insideCoil[f.coil], g.coil)
}

// prior is what is known of one unknown before the sweeps are looked at: a
// residual (x[index] - sum of slope x[given] - mean)/std beside those of the sweeps.
type prior struct {
	index     int
	mean, std float64
	given     []given
	component param.Component // what its error is in a budget, without Effect
}

// given is another unknown that the one of a prior goes along with.
type given struct {
	index int
	slope float64
}

// rest returns the residual of the prior.
func (pr prior) rest(x []float64) float64 {
	r := x[pr.index] - pr.mean
	for _, g := range pr.given {
		r -= g.slope * x[g.index]
	}
	return r / pr.std
}

// layout says where each unknown of a fit is in the vector of unknowns; -1
// means that the fit has no such unknown. Symbols as in theory (3.1) to (3.5).
type layout struct {
	n int // number of unknowns

	re, fs, qms, res int // logarithms
	creep            int // lambda
	coil, coils      int // first logarithm of the coil, and their number
	mms, sd, vas     int // logarithms
	pressure         int // relative error of rho c^2

	heat     []int // one a sweep: ln Re of the sweep minus ln Re
	drift    []int // one a sweep: change of ln stiffness
	friction []int // one a sweep: change of the logarithm of all losses
	magnet   []int // one a sweep of another session: change of ln BL^2
	load     []int // one a load: error of mass or volume in standard uncertainties
	placing  []int // one a sweep: error of placing the mass in standard uncertainties
	boxAir   int   // change of moving mass on a closed box, relative to Mms
	port     int   // first of the logarithms of a vented box, see vent
	tight    int   // first of the unknowns of a closed box, see tight
	leak     int   // of a box: the frequency below which it is none, over Fs at first sight
	input    []int // one an error of the inputs, see problem.input
	extra    []int // one an additive error, see problem.extra
	bend     []int // one a knot of the free suspension law, see problem.bend

	priors []prior
}

// add returns the index of a new unknown.
func (l *layout) add() int { l.n++; return l.n - 1 }

// addPrior returns the index of a new unknown with a prior around zero.
func (l *layout) addPrior(std float64, source string, part param.Part, own bool) int {
	i := l.add()
	l.priors = append(l.priors, prior{index: i, std: std, component: param.Component{Source: source, Part: part, Own: own}})
	return i
}

// newLayout returns the layout of what every fit has: Re, the resonance and
// the coil.
func newLayout(f form, sweeps int) *layout {
	l := &layout{
		creep: -1, mms: -1, sd: -1, vas: -1, pressure: -1, boxAir: -1, port: -1, tight: -1, leak: -1,
		heat: none(sweeps), drift: none(sweeps), friction: none(sweeps), magnet: none(sweeps), placing: none(sweeps),
	}
	l.re, l.fs, l.qms, l.res = l.add(), l.add(), l.add(), l.add()
	if f.creep {
		l.creep = l.add()
	}
	l.coils = len(f.coil.Unknowns())
	l.coil = l.n
	l.n += l.coils
	return l
}

func none(n int) []int {
	v := make([]int, n)
	for i := range v {
		v[i] = -1
	}
	return v
}

// at returns x[i], or 0 for an unknown that the fit does not have.
func at(x []float64, i int) float64 {
	if i < 0 {
		return 0
	}
	return x[i]
}
