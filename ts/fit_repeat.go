package ts

import "math"

// betweenRuns are the standard deviations of what differs from run to run of one
// condition: the logarithms of Re, of the stiffness and of the viscous loss.
type betweenRuns struct {
	heat, drift, friction float64
}

// Before the runs of a condition have told how much they differ, they are
// expected to differ by usualRuns, a belief that weighs as much as usualRunsDoF
// runs: two or three alone say little about their scatter. Common practice of one session on
// one bench.
var usualRuns = betweenRuns{heat: 0.001, drift: 0.003, friction: 0.01}

const usualRunsDoF = 1

// sizeRuns finds, from the best form, how much the runs of one condition
// differ, when there are several in free air: the random effects of theory
// (4.10). Without repeats the first sweep in free air is the condition, and
// what the others moved since is known by the wide priors alone.
func (in *input) sizeRuns(best *solution) {
	if !in.repeated {
		return
	}
	l := best.prob.lay
	size := func(index []int, usual float64) float64 {
		var n, sum, sum2 float64
		for _, i := range index {
			n++
			sum += best.x[i]
			sum2 += best.x[i] * best.x[i]
		}
		dof := usualRunsDoF + n - 1
		variance := (usualRunsDoF*usual*usual + max(0, sum2-sum*sum/n)) / dof
		// The scatter of few runs is known poorly: the wider interval that
		// Student's t asks for is carried by the standard deviation.
		return math.Sqrt(variance) * coverage(dof) / coverage(math.Inf(1))
	}
	in.runs = betweenRuns{
		heat: size(l.heat, usualRuns.heat), drift: size(l.drift, usualRuns.drift), friction: size(l.friction, usualRuns.friction),
	}
}

// usualRunVariance returns the variance of the logarithm of id that the usual
// differences between n runs leave in their mean.
func usualRunVariance(id ParamID, n int) float64 {
	// Powers of Re, stiffness and loss in each value, theory (1.3) and (1.4).
	powers := map[ParamID][3]float64{
		Re: {1, 0, 0}, Fs: {0, 0.5, 0}, Qms: {0, 0.5, -1}, Qes: {1, 0.5, 0}, Qts: {1, 0.5, 0},
		Cms: {0, -1, 0}, Rms: {0, 0, 1}, Lces: {0, -1, 0}, Res: {0, 0, -1}, Vas: {0, -1, 0},
	}
	p := powers[id]
	return (sq(p[0]*usualRuns.heat) + sq(p[1]*usualRuns.drift) + sq(p[2]*usualRuns.friction)) / float64(n)
}
