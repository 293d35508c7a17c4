package estimate

import (
	"math"
	"testing"

	"conewright/ts/internal/truth"
	"conewright/ts/measured"
	"conewright/ts/param"
	"conewright/ts/repeat"
)

// More sessions of one driver make Re surer, on average, also where its magnet and its losses follow the room and a fit leaves more than
// the noise of either sweep: drivers and benches have other physics than the estimator's.
func TestSessionsMakeReSurer(t *testing.T) {
	bench := repeat.Usual
	var ratio float64
	for seed := range uint64(5) {
		taken, _ := truth.Repeats(7300+seed, truth.Plain, truth.CommonBench(0.01), truth.Session, 3)
		width := func(taken ...truth.Taken) float64 {
			var all []measured.Sweep
			for _, s := range taken {
				var z measured.Impedance
				for i := 0; i < len(s.Sweep.F); i += 4 { // 12 points an octave
					z.Freq, z.Z, z.Sigma = append(z.Freq, s.Sweep.F[i]), append(z.Z, s.Sweep.Z[i]), append(z.Sigma, s.Sweep.Sigma[i])
				}
				all = append(all, measured.Sweep{Impedance: z})
			}
			f, err := Fit(all, measured.Conditions{Repeatability: &bench, Repeats: repeat.Session})
			if err != nil {
				t.Fatal(err)
			}
			e, _ := f.Parameters.Get(param.Re)
			return (e.High - e.Low) / e.Value
		}
		ratio += math.Log(width(taken...)/width(taken[0])) / 5
	}
	if ratio = math.Exp(ratio); ratio > 0.9 {
		t.Errorf("the interval of Re from three sessions is %.2f times that from one", ratio)
	}
}
