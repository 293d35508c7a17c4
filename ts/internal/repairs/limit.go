package repairs

import (
	"math"
	"math/rand/v2"
	"slices"
	"sync"

	"conewright/ts/param"
	"conewright/ts/verdict"
)

// Edge is a limit that a driver meets exactly: the true value is the limit.
type Edge struct {
	ID    param.ID
	Upper bool
	// Verdicts counts what was said, by ts.Verdict.
	Verdicts [3]int
}

// AtTheLimit counts the verdicts on drivers whose resonance, or total Q, lies
// exactly on a limit. Each run draws a driver, sweeps it once and fits it; every
// edge is judged on its own.
func AtTheLimit(runs int, noise float64, seed uint64, workers int) ([]Edge, error) {
	edges := []Edge{{ID: param.Fs, Upper: true}, {ID: param.Fs}, {ID: param.Qts, Upper: true}, {ID: param.Qts}}
	asked := slices.Clone(edges) // edges is written to while others read
	var (
		lock  sync.Mutex
		first error
		wait  sync.WaitGroup
	)
	for w := range workers {
		wait.Go(func() {
			for run := w; run < runs; run += workers {
				rng := newRand(seed, uint64(run))
				driver := base(rng)
				verdicts, err := atEdges(asked, driver, Bench{Noise: noise}, rng)
				lock.Lock()
				if err != nil && first == nil {
					first = err
				}
				for i, v := range verdicts {
					edges[i].Verdicts[v]++
				}
				lock.Unlock()
			}
		})
	}
	wait.Wait()
	return edges, first
}

// atEdges judges one measurement of a driver against each edge.
func atEdges(edges []Edge, driver woofer, bench Bench, rng *rand.Rand) ([]verdict.Verdict, error) {
	p, err := measure(driver, bench, 0, rng)
	if err != nil {
		return nil, err
	}
	var verdicts []verdict.Verdict
	for _, e := range edges {
		limit := verdict.Limit{ID: e.ID, Lo: math.Inf(-1), Hi: math.Inf(1)}
		truth := map[param.ID]float64{param.Fs: driver.Fs(), param.Qts: driver.Qts()}[e.ID]
		if e.Upper {
			limit.Hi = truth
		} else {
			limit.Lo = truth
		}
		checked, err := verdict.Check(p, verdict.Spec{Limits: []verdict.Limit{limit}})
		if err != nil {
			return nil, err
		}
		verdicts = append(verdicts, checked.Verdict)
	}
	return verdicts, nil
}
