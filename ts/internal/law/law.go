// Package law has the coil laws as the fit sees them: with unknowns, a start
// and derivatives. Package driver has the same laws forward only.
package law

import "conewright/ts/driver"

// Unknown is one unknown of a coil law.
type Unknown struct {
	Symbol   string // as in the model of package driver
	Exponent bool   // an exponent of frequency; otherwise an inductance, a resistance or a strength
}

// Law is a coil model as the fit sees it. All its unknowns are positive
// and handled as natural logarithms.
type Law interface {
	// Name is the word for the model in reports.
	Name() string
	// Unknowns names the unknowns, in the order of p below.
	Unknowns() []Unknown
	// Start guesses the logarithms from a rough coil on g; it always returns finite numbers.
	Start(g *Axis, rough Rough) []float64
	// Eval writes ZL (ohm) to z and its derivatives by the logarithms p to
	// grad, grad[i*len(p)+j] for point i and unknown j. A nil grad is skipped.
	Eval(z, grad []complex128, g *Axis, p []float64)
	// Coil returns the model with the values of p.
	Coil(p []float64) driver.Coil
}

// inverse returns 1/z, much faster than a complex division, which guards
// against overflow of |z|^2.
func inverse(z complex128) complex128 {
	s := 1 / (real(z)*real(z) + imag(z)*imag(z))
	return complex(real(z)*s, -imag(z)*s)
}

// The coil laws.
var (
	None       Law = noLaw{}
	Plain      Law = plainLaw{}
	Lossy      Law = lossyLaw{}
	TwoPart    Law = twoPartLaw{}
	Semi       Law = semiLaw{}
	SemiLadder Law = ladderLaw{}
	Power      Law = powerLaw{}
)

// Ladder holds every coil law that the fit tries, simple ones first.
var Ladder = []Law{None, Plain, Lossy, TwoPart, Semi, SemiLadder, Power}
