package friction

import (
	"math"
	"testing"
)

// A second level is named where something is open, and never a loud one.
func TestSecondLevel(t *testing.T) {
	rubs := func(v float64) Found { return Found{Rubs: true, Force: 5e-3, Share: 0.2, Voltage: v, Levels: 1} }
	open := func(v float64) Found { return Found{Least: 5e-3, Share: 0.2, Voltage: v, Levels: 1} }
	for _, c := range []struct {
		found Found
		want  float64 // V; 0: none
	}{
		{rubs(0.1), 0.4}, {rubs(0.3), 1.2}, {rubs(0.8), 0.2}, {rubs(8), 1.5}, {open(0.05), 0.2}, {open(0.35), 0.0875}, {open(0.8), 0.2},
		{Found{Least: 1e-3, Share: 0.02, Voltage: 0.1, Levels: 1}, 0}, {Found{Rubs: true, Share: 0.2, Voltage: 0.1, Levels: 2}, 0},
	} {
		got, ok := c.found.Second()
		if math.Abs(got-c.want) > 1e-12 || ok != (c.want > 0) {
			t.Errorf("%+v: %g V, %v, want %g", c.found, got, ok, c.want)
		}
	}
}
