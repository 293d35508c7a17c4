package fitted

import "testing"

// A second resonance that moves by more than its uncertainty has changed; one that stays, or that only one fit has, has not.
func TestSecondChanged(t *testing.T) {
	at := func(f, q, share float64) *Result {
		return &Result{Second: &Second{Frequency: f, Q: q, MassShare: share, Std: [3]float64{0.01, 0.1, 0.1}}}
	}
	for _, c := range []struct {
		after *Result
		want  bool
	}{{at(600, 10, 0.05), false}, {at(620, 11, 0.055), false}, {at(640, 10, 0.05), true}, {at(600, 20, 0.05), true}, {at(600, 10, 0.03), true}, {&Result{}, false}} {
		if got := SecondChanged(at(600, 10, 0.05), c.after); (got != nil) != c.want {
			t.Errorf("%+v: %v", c.after.Second, got)
		}
	}
}
