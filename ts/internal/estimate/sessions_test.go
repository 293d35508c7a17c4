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
				all = append(all, coarse(s))
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

// coarse is a sweep at 12 points an octave.
func coarse(s truth.Taken) measured.Sweep {
	var z measured.Impedance
	for i := 0; i < len(s.Sweep.F); i += 4 {
		z.Freq, z.Z, z.Sigma = append(z.Freq, s.Sweep.F[i]), append(z.Z, s.Sweep.Z[i]), append(z.Sigma, s.Sweep.Sigma[i])
	}
	return measured.Sweep{Impedance: z}
}

// Where no law follows a sweep, six of them say hardly more about Re than one: they miss the laws alike. The drivers have other
// physics than the estimator's, and their sweeps differ by noise alone; six were taken to leave half of the doubt of one.
func TestRepeatsShareWhatIsWrong(t *testing.T) {
	for _, seed := range []uint64{7401, 7403, 7407} {
		taken, _ := truth.Repeats(seed, truth.Plain, truth.Bench{}, truth.Again, 6)
		doubt := func(n int) float64 {
			var all []measured.Sweep
			for _, s := range taken[:n] {
				all = append(all, coarse(s))
			}
			f, err := Fit(all, measured.Conditions{})
			if err != nil {
				t.Fatal(err)
			}
			e, _ := f.Parameters.Get(param.Re)
			return math.Hypot(e.Budget.Noise, e.Budget.Model)
		}
		if one, six := doubt(1), doubt(6); six < 0.75*one {
			t.Errorf("driver %d: six sweeps leave %.2f of the doubt of one", seed, six/one)
		}
	}
}
