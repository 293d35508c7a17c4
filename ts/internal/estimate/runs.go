package estimate

import (
	"math"

	"conewright/ts/internal/session"
	"conewright/ts/internal/stat"
)

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
		dof := session.UsualRunsDoF + n - 1
		variance := (session.UsualRunsDoF*usual*usual + max(0, sum2-sum*sum/n)) / dof
		// The scatter of few runs is known poorly: the wider interval that
		// Student's t asks for is carried by the standard deviation.
		return math.Sqrt(variance) * stat.Coverage(dof) / stat.Coverage(math.Inf(1))
	}
	in.runs = session.BetweenRuns{
		Heat: size(l.heat, session.UsualRuns.Heat), Drift: size(l.drift, session.UsualRuns.Drift), Friction: size(l.friction, session.UsualRuns.Friction),
	}
}
