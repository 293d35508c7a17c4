package estimate

// Every constant of the estimator that was found by experiment or chosen by judgement
// stands here, with the page of docs/decisions that says how. What follows from
// arithmetic stands where it is used, thresholds of warnings in warn.go, and what sweeps
// of one driver usually differ by in package repeat.

// Finding the minimum: docs/decisions/0018.
const (
	// The minimum is first looked for on some of the points, spaced by at least
	// these parts of an octave: near the peak, where the curve changes fastest, and
	// elsewhere. Nothing of the result depends on them: every form that may count
	// is then fitted to all points.
	thinNear      = 1.0 / 24
	thinElsewhere = 1.0 / 6
	thinReach     = 1.3 // how far from the peak "near" reaches, a factor on frequency
	// thinGain is the least saving of points that is worth a second fit.
	thinGain = 1.5
	// thinDoubt is the difference of the logarithms of evidence, on the points
	// kept, from which a form is ruled out: odds of 1 to 1e13. With all points the
	// odds would be longer still.
	thinDoubt = 30

	// Relative offsets at which a form counts as fitted, in standard errors: on some of
	// the points, enough to choose a form, and for what is reported. At 3e-4 instead of 1e-4 for a form no time is won that can
	// be measured, and a driver far beyond its linear range is refused: its last fit begins too far from the minimum.
	thinTol  = 1e-2
	scanTol  = 1e-4
	finalTol = 1e-6

	// scanEvaluations is several times what a form needs whose unknowns the sweeps
	// determine; one that takes longer has a combination of unknowns that they do not.
	scanEvaluations = 30
	// boxEvaluations is the same for a driver in a box, whose losses and creep are told apart by little: the way to where they are
	// is long and bent.
	boxEvaluations = 150
	// finalEvaluations is for the fits that are reported: those with free pieces take
	// longer. A fit counts where the offset that is left is below settledTol; rounding ends
	// some short of finalTol. docs/decisions/0019.
	finalEvaluations = 300
	settledTol       = 1e-2
	// maxCondition drops a form whose unknowns the data cannot tell apart; a
	// simpler form then says the same.
	maxCondition = 1e9
	// plainCreep is the number of standard errors from zero from which on a form with
	// creep rules out the same form without it.
	plainCreep = 8
	// alike is a ratio of two sums of squares that the tolerance may explain.
	alike = 1 + 1e-3

	// skinHz is where the skin effect of a coil begins, as far as that is known before a sweep; skinStd is the standard
	// deviation of ln Le that goes with it: a factor of 20. Judged: loose enough to leave drivers alone whose sweeps
	// tell. See layout.boundSkin.
	skinHz  = 100
	skinStd = 3
)

// Noise and outliers: docs/decisions/0017.
const (
	// unknownNoise is the noise relative to |Z| that is assumed before the residuals
	// have told it.
	unknownNoise = 0.005
	// minNoise is the smallest noise that residuals can ask for, as a fraction of
	// the noise assumed: below it they are rounding errors.
	minNoise = 1e-4
	// A residual that lies this many standard deviations from the median of its
	// neighbours is an outlier: hum, a contact that crackled, a number mistyped.
	outlierLimit = 5
	// Neighbours on either side: a misfit moves them all, an outlier does not.
	outlierReach = 5
	// outliersAtMost is the part of the points that may be outliers; where more stick
	// out it is the model that does not follow the curve.
	outliersAtMost = 0.05
)

// Comparing forms: docs/decisions/0011.
const (
	// Widths of the weak priors that the comparison of forms stands on, as standard
	// deviations: how far from a typical value one would not be surprised to find
	// an unknown. They play no part in the fit of one form.
	widthCommon   = 2.0 // logarithms that every form has
	widthCoil     = 1.0 // logarithms of inductances and resistances of the coil
	widthExponent = 0.3 // logarithms of exponents
	widthCreep    = 0.1
	// coilCost is the logarithm of the odds against one more unknown in the coil,
	// beside the Occam factor. Where a richer form becomes the simple one at a
	// limit, Laplace's approximation hardly charges for it.
	coilCost = 2
	// mostPenalty bounds the prior penalty of one unknown of the coil: beyond it lies a
	// limiting case, and it does not matter how near. docs/decisions/0016.
	mostPenalty = 8
	// minWeight is the weight below which a form is left out of the average.
	minWeight = 1e-3
	// lostWeight is the weight from which on it is said that forms were left out because
	// their fit came to no minimum. docs/decisions/0019.
	lostWeight = 0.05
)

// A misfit of the laws: docs/decisions/0013 and 0062.
const (
	// suspectGain is the gain in log likelihood that a misfit has to bring before
	// it is looked at. From floorGain on no law is trusted below its floor.
	suspectGain = 1
	floorGain   = 5
	// leastLeft is the part of a misfit that free pieces and splines are taken to leave as noise: they have the shapes of
	// some errors of the laws and not of all. Without it, where the noise is far smaller than the misfit, what they
	// cannot follow drives them and the law far off, or the fit comes to no minimum. It is the least size of the narrow splines
	// as well.
	leastLeft = 0.2
	// lawlessGain is how much more of log likelihood a discrepancy that is local in frequency must bring than all
	// changes of laws together could.
	lawlessGain = 10
	// sizeRounds is the number of rounds in which the sizes of a discrepancy are found, unless they change by less than
	// sizeTol before.
	sizeRounds = 12
	sizeTol    = 0.05
	// sizePrior is the number of coefficients that what is usual in all bands counts for in each of them.
	sizePrior = 4.0
	// firstSize is where the search begins, with a noise of firstNoise times what the law alone leaves. Below leastSize
	// there is no discrepancy; beyond mostSize a law would not be one: with larger sizes the discrepancy takes over for
	// Re itself.
	firstSize  = 0.01
	firstNoise = 0.3
	leastSize  = 1e-6
	mostSize   = 0.05
	// smoothGain is the gain in log likelihood from which on a curve counts as smoothed.
	smoothGain = 2
	// farOff is how much larger the sum of squares of a form may be that takes part then.
	farOff = 3
	// localTol is the relative offset at which its fits end, roughTol that of fits on the way there.
	localTol = 3e-3
	roughTol = 3e-2
	// Below hiddenReach times Fs the resonance hides the coil: what its law does
	// there is hardly seen, and doubted on its own.
	hiddenReach = 4
	// widthDoubt is the width of the prior of a coil unknown, a logarithm, once the
	// law of the coil is in doubt. docs/decisions/0019.
	widthDoubt = 0.3
	// wideDoubt multiplies the uncertainty of a fit whose laws are in doubt. The
	// sizes of the free pieces are those of what can be seen of a wrong law; what
	// cannot be seen is larger. It was chosen on simulated
	// drivers that follow no form of the ladder (docs/validation.md).
	wideDoubt = 1.35
	// localDoubt is the same for a discrepancy that is local in frequency, whose sizes are those of what the
	// unknowns of the law cannot follow. Chosen on simulated.Lawless.
	localDoubt = 2.3
	// correlationLags is the number of neighbours whose residuals are compared:
	// beyond it a structure is a misfit.
	correlationLags = 12
)

// The widths of the splines of a local discrepancy: docs/decisions/0062.
const (
	wideStep = 0.5 // octaves a knot of the wide ones
	narrow   = 4   // narrow ones a wide one
)

// A second resonance: docs/decisions/0062.
const (
	// Where one is looked for, as far as it is seen apart from the first: from secondAbove times Fs on.
	secondLowest  = 150.0  // Hz
	secondHighest = 2500.0 // Hz
	secondAbove   = 3.0
	secondStep    = 1.0 / 6 // octaves
	secondQ       = 8.0     // at first
	scanShare     = 0.02    // of the moving mass: small enough for its effect to be in proportion to it
	// A law is smooth: the misfit beside the resonance has this relative size, over the widths of the wide and the
	// narrow splines.
	secondWide, secondNarrow = 0.02, 0.003
	// secondHint is the gain in log likelihood from which on a second resonance is fitted, secondGain that from which on it is
	// taken for one. Chosen on simulated.Lawless.
	secondHint, secondGain = 30.0, 50.0
	// secondEvaluations is how far it is followed: what is one is near its minimum by then.
	secondEvaluations = 20
	// What is broader is no resonance but a law that is a little wrong, nor is what holds more of the moving mass a part of it.
	leastSecondQ, mostSecond = 3.0, 0.6
	// mostSecondQ is farther than its fit is followed: the lines of a sweep lie wider apart.
	mostSecondQ = 100.0
)

// laws gives the range of sizes that is searched for each law that may be wrong
// (exponent or relative slope per octave, relative change per octave, relative change
// at the end of the band), and the size below which a law is not trusted once any of
// them has shown itself wrong. docs/decisions/0013.
var laws = [numLaws]struct{ lo, hi, floor float64 }{
	coilBent:       {1e-4, 0.1, 0},
	coilFree:       {1e-3, 0.3, 0.05},
	coilHidden:     {1e-3, 0.15, 0.15},
	suspensionBent: {1e-4, 0.1, 0},
	suspensionFree: {1e-3, 0.2, 0.05},
	frictionFree:   {1e-4, 0.1, 0},
	heating:        {1e-5, 0.01, 2e-4},
	heatingFree:    {1e-5, 0.01, 0},
	drift:          {1e-5, 0.05, 2e-4},
	driftFree:      {1e-5, 0.05, 0},
	timing:         {1e-5, 0.1, 0},
}

// Belief and doubt: docs/decisions/0016.
const (
	// beliefCost is the logarithm of the odds against a misfit, in what is
	// reported, including what the search for its sizes gains by chance. doubtCost
	// is the same in the uncertainty.
	beliefCost = 8
	doubtCost  = 4
	// leastTrust is the doubt that what is believed keeps in the uncertainty, as long
	// as it is believed: so the value never lies outside its interval.
	leastTrust = 0.1
)

// The rival creep law: docs/decisions/0014.
const (
	// rivalOdds are the odds against a creep that follows a power of frequency, in
	// what is reported: the logarithmic law is the usual one and is kept unless the
	// sweeps are clearly against it.
	rivalOdds = 1000
	// rivalDoubt is the same in the uncertainty.
	rivalDoubt = 1
	// rivalTol is how near its minimum the rival is followed, in standard errors.
	rivalTol = 1e-2
)

// The meter reading of Re: docs/decisions/0015.
const (
	// meterFloor is the smallest relative standard uncertainty that a meter reading
	// is believed to have: contacts and leads alone are not better.
	meterFloor = 1e-4
	// A reading that lies farther from what the sweeps say, in standard uncertainties of the
	// difference, is a slip and not a measurement: it is not joined with them. By chance one in
	// 16 000 lies as far.
	meterContradicts = 4
)

// The bound of Re by the real part of the impedance: docs/decisions/0062.
const (
	// passivePoints is the number of neighbours over which the real part is averaged.
	passivePoints = 8
	// passiveSure is the number of standard deviations that the lowest of many averages may lie too low by chance.
	passiveSure = 3
	// decided is the number of standard deviations from which on the bound moves nothing: Re lies below it anyway, or the
	// points that it comes from contradict the fit, which is then warned of. A member that is contradicted weighs as at
	// that number.
	decided = 5
)

// Masses that contradict each other, theory (2.6): judgement.
const (
	// cmesScatter is by how much, relative, Cmes of one sweep may be off beside its noise: by a law of
	// the coil or the suspension that does not quite hold, which is nearly the same in all sweeps.
	cmesScatter = 0.01
	// leastMassLine is the probability below which points are no line of Cmes, likelyMassLine that above
	// which the others are one.
	leastMassLine  = 1e-6
	likelyMassLine = 0.01
	// mostMassError is the relative error of a mass above which it is a wrong mass and no scales that are a
	// little off.
	mostMassError = 0.1
)

// leastRun is the smallest standard deviation that runs are taken to have; none repeats better.
const leastRun = 1e-6
