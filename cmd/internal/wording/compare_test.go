package wording

import (
	"math"
	"math/rand/v2"
	"strings"
	"testing"

	"conewright/ts/change"
	"conewright/ts/driver"
	"conewright/ts/handmade"
	"conewright/ts/param"
	"conewright/ts/verdict"
)

// Whatever two drivers are compared, the answer has its parts: at least one
// explanation, probabilities that are probabilities, intervals around the size,
// words, and no panic.
func TestCompareAlwaysAnswers(t *testing.T) {
	rng := rand.New(rand.NewPCG(5, 20))
	for run := range 60 {
		far := math.Exp(4 * (rng.Float64() - 0.5)) // from hardly changed to another world
		move := func(x float64) float64 { return x * math.Exp(0.3*far*rng.NormFloat64()) }
		after := handmade.Woofer
		after.Re, after.BL, after.Mms, after.Cms, after.Rms = move(after.Re), move(after.BL), move(after.Mms), move(after.Cms), move(after.Rms)
		after.Coil = driver.LossyCoil{K: move(0.012), N: 0.5 + 0.4*rng.Float64()}
		before := handmade.Woofer
		if run%3 == 0 {
			before.Coil, after.Coil = nil, nil
		}
		set := func(d driver.Driver) param.Parameters {
			return handmade.Known{Driver: d, Std: handmade.Std, Mass: run%2 == 0, Coverage: 1.96 + 2*rng.Float64()}.Parameters(nil)
		}
		stripped := set(before)
		c, err := change.Compare(set(before), set(after), change.Options{Stripped: &stripped, Spec: &verdict.Spec{Limits: []verdict.Limit{{ID: param.Fs, Lo: 0.9 * before.Fs(), Hi: 1.1 * before.Fs()}, {ID: param.BL, Lo: 7.2, Hi: 8.8}}}})
		if err != nil {
			t.Fatal(err)
		}
		if len(c.Explanations) == 0 || len(c.Causes) == 0 || len(Compared(c)) == 0 {
			t.Fatalf("run %d: no answer: %+v", run, c)
		}
		sum := 0.0
		for _, e := range c.Explanations {
			sum += e.Probability
			for _, cause := range e.Causes {
				if !(cause.Probability >= 0 && cause.Probability <= 1) || cause.Low > cause.Percent || cause.High < cause.Percent {
					t.Errorf("run %d: %+v", run, cause)
				}
			}
		}
		if !(sum > 0 && sum <= 1+1e-9) {
			t.Errorf("run %d: explanations add up to %v", run, sum)
		}
		for _, text := range Compared(c) {
			if strings.Contains(text, "NaN") || strings.Contains(text, "Inf") || strings.Contains(text, "%!") {
				t.Errorf("run %d: %s", run, text)
			}
		}
	}
}
