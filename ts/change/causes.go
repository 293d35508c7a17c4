package change

import (
	"math"

	"conewright/ts/param"
)

// CauseID names a physical cause.
type CauseID string

// The causes.
const (
	SuspensionStiffer CauseID = "suspension-stiffer"
	SuspensionSofter  CauseID = "suspension-softer"
	MassAdded         CauseID = "mass-added"
	MassMissing       CauseID = "mass-missing"
	LossesUp          CauseID = "losses-up"
	LossesDown        CauseID = "losses-down"
	MotorWeaker       CauseID = "motor-weaker"
	MotorStronger     CauseID = "motor-stronger"
	CoilDifferent     CauseID = "coil-different"
	ShortedTurns      CauseID = "shorted-turns"
	CoilOffset        CauseID = "coil-offset"
	SeriesResistance  CauseID = "series-resistance"
	FrictionMore      CauseID = "friction"
	FrictionLess      CauseID = "friction-gone"
	MassNotAsStated   CauseID = "mass-not-as-stated"
	NoChange          CauseID = "no-change"
)

// Cause is one physical change with its size.
type Cause struct {
	ID CauseID
	// Percent is the size of the change: of the stiffness, the moving mass, the
	// losses (friction too), BL (motor, coil offset), Re (coil different, series resistance), the added mass; for
	// shorted turns the part of the winding that is shorted.
	Percent   float64
	Low, High float64 // 95 %, in percent
	// Probability that this cause is at work, given the list of causes and how
	// common each is after a repair. Never above 0.999: the list may be short.
	Probability float64
	Explanation int // number of the explanation it belongs to, from 1
}

// Slopes of the natural logarithms of what a sweep shows, theory (5.8):
//
//	Fs = sqrt(K/M)/(2 pi)   Qms = sqrt(K M)/R   Qes = sqrt(K M) Re/BL^2
var (
	stiffnessSlope = map[param.ID]float64{param.Fs: 0.5, param.Qms: 0.5, param.Qes: 0.5}
	causeMassSlope = map[param.ID]float64{param.Fs: -0.5, param.Qms: 0.5, param.Qes: 0.5}
	lossSlope      = map[param.ID]float64{param.Qms: -1}
	motorSlope     = map[param.ID]float64{param.Qes: -2, param.BL: 1}
	seriesSlope    = map[param.ID]float64{param.Re: 1, param.Qes: 1}
	// An added mass that is heavier than stated makes mass, stiffness, losses and BL^2 come out too
	// small by one factor, theory (1.4); what a sweep in free air shows stays.
	statedSlope = map[param.ID]float64{param.BL: -0.5}
)

// direction is one cause as a path through the space of what a sweep shows.
type direction struct {
	up, down CauseID
	// path returns the change of each quantity (logarithms; the loss tangent as
	// it is) for the size s: a logarithm of a ratio, or the shorted part.
	path func(s float64, f frame) map[param.ID]float64
	// nuisance holds further effects of unknown size, as standard deviations.
	nuisance []map[param.ID]float64
	clean    float64 // probability that none of nuisance shows
	// lo and hi bound s: what is beyond is not this cause.
	lo, hi float64
	// least is the smallest size worth the name; below it nobody would tell.
	least float64
	// odds that the cause is at work after a repair, before looking at the data.
	// A judgement of this project, wide on purpose: see docs/decisions.
	odds float64
	// percent turns s into Cause.Percent.
	percent func(s float64) float64
	alone   bool // it explains only by itself: what a sweep in free air shows is as before
	// excludes names causes that this one already contains.
	excludes []CauseID
}

// along is a straight path.
func along(slope map[param.ID]float64) func(float64, frame) map[param.ID]float64 {
	return func(s float64, _ frame) map[param.ID]float64 { return scale(slope, s) }
}

// percentOfLog turns the logarithm of a ratio into percent.
func percentOfLog(s float64) float64 { return 100 * math.Expm1(s) }

// shorted returns what happens when the part k of the turns is shorted. The
// short lies like a resistor Re/k across what the coil shows beyond Re, and the
// rest of the coil has (1-k) of the turns:
//
//	Re' = Re (1-k)   BL' = BL (1-k)   Rms' = Rms + k BL^2/Re        theory (5.9)
//	ZL' = (1-k)^2 ZL/(1 + k ZL/Re)
//
// Derived for this project from two windings with one flux.
func shorted(k float64, f frame) map[param.ID]float64 {
	lost := math.Log1p(-k)
	braking := math.Log1p(k * f.qmsOverQes) // BL^2/Re over Rms is Qms/Qes
	out := map[param.ID]float64{param.Re: lost, param.BL: lost, param.Qms: -braking, param.Qes: lost - 2*lost}
	zl := complex(f.reactance*f.tangent, f.reactance) // over Re
	z := zl / (1 + complex(k, 0)*zl)
	out[param.L1k] = 2*lost + math.Log(imag(z)/imag(zl))
	out[param.R1k] = real(z)/imag(z) - f.tangent
	return out
}

// directions lists every cause that impedance can show. What repairers know of
// each stands in docs/theory.md, section 5.
var directions = []direction{
	{up: SuspensionStiffer, down: SuspensionSofter, path: along(stiffnessSlope), lo: -2, hi: 2, odds: 0.5, percent: percentOfLog},
	{up: MassAdded, down: MassMissing, path: along(causeMassSlope), lo: -0.8, hi: 0.8, odds: 0.25, percent: percentOfLog},
	{up: LossesUp, down: LossesDown, path: along(lossSlope), lo: -2.5, hi: 2.5, odds: 0.35, percent: percentOfLog},
	{up: MassNotAsStated, down: MassNotAsStated, path: along(statedSlope), lo: -0.2, hi: 0.2, odds: 0.1, percent: percentOfLog, alone: true},
	{up: SeriesResistance, down: SeriesResistance, path: along(seriesSlope), lo: -0.1, hi: 1, odds: 0.1, percent: percentOfLog},
	{up: MotorStronger, down: MotorWeaker, path: along(motorSlope), lo: -0.5, hi: 0.3, odds: 0.03, percent: percentOfLog,
		// less saturated iron raises the inductance a little
		nuisance: []map[param.ID]float64{{param.L1k: 0.02}, {param.R1k: 0.02}}, clean: 0.5, excludes: []CauseID{CoilOffset, CoilDifferent}},
	{up: CoilOffset, down: CoilOffset, path: along(motorSlope), lo: -0.4, hi: 0, odds: 0.03, percent: percentOfLog,
		nuisance: []map[param.ID]float64{{param.L1k: 0.12}, {param.R1k: 0.05}, scale(lossSlope, 0.08), scale(stiffnessSlope, 0.02)}, clean: 0.2,
		excludes: []CauseID{MotorWeaker, MotorStronger, CoilDifferent}},
	{up: CoilDifferent, down: CoilDifferent, path: along(seriesSlope), lo: -1, hi: 1, least: 0.06, odds: 0.01, percent: percentOfLog,
		nuisance: []map[param.ID]float64{scale(motorSlope, 0.3), {param.L1k: 0.5}, {param.R1k: 0.1}, scale(causeMassSlope, 0.05)},
		excludes: []CauseID{MotorWeaker, MotorStronger, CoilOffset, SeriesResistance, ShortedTurns}},
	{up: ShortedTurns, down: ShortedTurns, path: shorted, lo: 0, hi: 0.35, least: 0.003, odds: 0.02, percent: func(s float64) float64 { return 100 * s },
		// near Fs the short takes its share of the coil's own impedance too
		nuisance: []map[param.ID]float64{{param.L1k: 0.05}, {param.R1k: 0.08}, scale(causeMassSlope, 0.02), scale(lossSlope, 0.05), scale(seriesSlope, 0.01), scale(motorSlope, 0.01)}, clean: 0.5},
}
