package ts

// Coil is the part of the impedance that the voice coil adds to Re: its
// inductance and the eddy-current losses in the iron around it.
type Coil interface {
	// Impedance returns ZL in ohm at the angular frequency omega (rad/s, positive).
	Impedance(omega float64) complex128
}

// coilLaw is a coil model as the fit sees it. All its unknowns are positive
// and handled as natural logarithms.
type coilLaw interface {
	// name is the word for the model in reports.
	name() string
	// params names the unknowns, in the order of p below.
	params() []ParamID
	// start guesses the logarithms from a rough coil impedance zl (ohm) on g;
	// it always returns finite numbers.
	start(g *axis, zl []complex128) []float64
	// eval writes ZL (ohm) to z and its derivatives by the logarithms p to
	// grad, grad[i*len(p)+j] for point i and unknown j. A nil grad is skipped.
	eval(z, grad []complex128, g *axis, p []float64)
	// coil returns the model with the values of p.
	coil(p []float64) Coil
}

// coilLadder holds every coil model that the fit tries, simple ones first.
var coilLadder = []coilLaw{
	noneLaw{},
	plainLaw{},
	lossyLaw{},
	twoPartLaw{},
	semiLaw{},
	ladderLaw{},
	powerLaw{},
}
