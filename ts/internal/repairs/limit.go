package repairs

import (
	"math"
	"math/rand/v2"
	"slices"
	"sync"

	"conewright/ts"
)

// Edge is a limit that a driver meets exactly: the true value is the limit.
type Edge struct {
	ID    ts.ParamID
	Upper bool
	// Verdicts counts what was said, by ts.Verdict.
	Verdicts [3]int
}

// AtTheLimit counts the verdicts on drivers whose resonance, or total Q, lies
// exactly on a limit. Each run draws a driver, sweeps it once and fits it; every
// edge is judged on its own.
func AtTheLimit(runs int, noise float64, seed uint64, workers int) ([]Edge, error) {
	edges := []Edge{{ID: ts.Fs, Upper: true}, {ID: ts.Fs}, {ID: ts.Qts, Upper: true}, {ID: ts.Qts}}
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
func atEdges(edges []Edge, driver woofer, bench Bench, rng *rand.Rand) ([]ts.Verdict, error) {
	p, err := measure(driver, bench, 0, rng)
	if err != nil {
		return nil, err
	}
	var verdicts []ts.Verdict
	for _, e := range edges {
		limit := ts.Limit{ID: e.ID, Lo: math.Inf(-1), Hi: math.Inf(1)}
		truth := map[ts.ParamID]float64{ts.Fs: driver.Fs(), ts.Qts: driver.Qts()}[e.ID]
		if e.Upper {
			limit.Hi = truth
		} else {
			limit.Lo = truth
		}
		checked, err := ts.Check(p, ts.Spec{Limits: []ts.Limit{limit}})
		if err != nil {
			return nil, err
		}
		verdicts = append(verdicts, checked.Verdict)
	}
	return verdicts, nil
}
