package lot

import (
	"math"

	"conewright/ts/change"
	"conewright/ts/internal/refer"
	"conewright/ts/internal/stat"
	"conewright/ts/param"
	"conewright/ts/verdict"
)

// PairParts is [Pair] for two parts of a network, which are held to one limit: they are what they are at any
// temperature and in any mounting, and nothing brings them closer.
func PairParts(left, right param.Parameters, limit PairLimit) (*Paired, error) {
	limits, confidence, err := PairOptions{Limits: []PairLimit{limit}}.complete()
	if err != nil {
		return nil, err
	}
	for _, p := range []param.Parameters{left, right} {
		if err := p.Check(); err != nil {
			return nil, err
		}
	}
	var positive []param.ID
	for _, id := range left.IDs {
		if id.Info().Positive {
			positive = append(positive, id)
		}
	}
	p := &Paired{Left: left, Right: right, Verdict: verdict.InSpec}
	every := refer.Subtract(right, left, refer.Common(left, right, positive...))
	for i, id := range every.IDs {
		u := math.Sqrt(every.V.At(i, i))
		k := every.Dist(i).Quantile(1 - stat.Tail)
		r := change.Ratio{Ratio: math.Exp(every.D[i]), Low: math.Exp(every.D[i] - k*u), High: math.Exp(every.D[i] + k*u)}
		p.Changes = append(p.Changes, change.Change{ID: id, Ratio: r.Ratio, Low: r.Low, High: r.High, Sweeps: r})
	}
	x := refer.Subtract(right, left, refer.Common(left, right, limit.ID))
	if known := p.judge(x, limits, confidence); len(known) == 1 {
		p.DoF, p.Chi2 = 1, x.D[0]*x.D[0]/x.V.At(0, 0)
		p.P = math.Erfc(math.Sqrt(p.Chi2 / 2)) // of a normal distribution, both sides
	}
	return p, nil
}
