// Package session says how sweeps of one driver differ from each other.
package session

import "conewright/ts/param"

// BetweenRuns are the standard deviations of what differs from run to run of one
// condition: the logarithms of Re, of the stiffness and of the viscous loss.
type BetweenRuns struct {
	Heat, Drift, Friction float64
}

// Before the runs of a condition have told how much they differ, they are
// expected to differ by UsualRuns, a belief that weighs as much as UsualRunsDoF
// runs: two or three alone say little about their scatter. Common practice of one session on
// one bench.
var UsualRuns = BetweenRuns{Heat: 0.001, Drift: 0.003, Friction: 0.01}

// UsualRunsDoF is the weight of UsualRuns, in runs. docs/decisions/0012.
const UsualRunsDoF = 1

// UsualRunVariance returns the variance of the logarithm of id that the usual
// differences between n runs leave in their mean.
func UsualRunVariance(id param.ID, n int) float64 {
	// Powers of Re, stiffness and loss in each value, theory (1.3) and (1.4).
	powers := map[param.ID][3]float64{
		param.Re: {1, 0, 0}, param.Fs: {0, 0.5, 0}, param.Qms: {0, 0.5, -1}, param.Qes: {1, 0.5, 0}, param.Qts: {1, 0.5, 0},
		param.Cms: {0, -1, 0}, param.Rms: {0, 0, 1}, param.Lces: {0, -1, 0}, param.Res: {0, 0, -1}, param.Vas: {0, -1, 0},
	}
	p := powers[id]
	return (param.Sq(p[0]*UsualRuns.Heat) + param.Sq(p[1]*UsualRuns.Drift) + param.Sq(p[2]*UsualRuns.Friction)) / float64(n)
}

// What may have changed between two sweeps of one driver with different loads, as
// standard deviations; common practice.
const (
	DriftStd    = 0.02 // of ln stiffness; 1 % in Fs
	FrictionStd = 0.10 // of ln viscous loss
	HeatStd     = 0.02 // of ln Re; 5 K in a copper coil
	BoxAirStd   = 0.02 // of the moving mass on a closed box
)
