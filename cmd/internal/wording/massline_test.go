package wording

import (
	"math"
	"strings"
	"testing"

	"conewright/ts/fitted"
	"conewright/ts/param"
	"conewright/ts/ring"
)

// The words about the fit of all sweeps beside the line: agreeing, bent by creep, and off to the
// side that creep does not explain.
func TestMassLineSaysTheFitBesideIt(t *testing.T) {
	for _, c := range []struct {
		line, joint, creep float64
		bends              bool
		want               []string
	}{
		{0.0420, 0.0421, 0, false, []string{"All sweeps in one fit give 42.10 g; the two agree."}},
		{0.0400, 0.0421, 0.08, true, []string{"the line is -5.0 % off, because it takes the suspension as equally stiff at every frequency", "gives way 8 % more"}},
		{0.0440, 0.0421, 0, true, []string{"the line is 4.5 % off, and to the side that a creeping suspension does not explain"}},
	} {
		p := param.Parameters{IDs: []param.ID{param.Mms, param.Creep}, Scaled: []float64{math.Log(c.joint), c.creep},
			Origin: make([]param.Origin, 2), Coverage: 1.96, Temperature: 293.15,
			Components: []param.Component{{Source: "x", Effect: []float64{1e-3, 1e-3}}}}
		spread := func(v float64) ring.Spread {
			return ring.Spread{Value: v, Std: v / 1000, Low: 0.998 * v, High: 1.002 * v}
		}
		m := &ring.MassLine{Points: make([]ring.MassPoint, 4), Mms: spread(c.line), Cms: spread(0.6e-3), Bends: c.bends, Joint: &fitted.Result{Parameters: p}}
		said := strings.Join(MassLine(m), " ")
		for _, want := range c.want {
			if !strings.Contains(said, want) {
				t.Errorf("%+v: %s", c, said)
			}
		}
		if c.creep == 0 && strings.Contains(said, "creeps:") {
			t.Errorf("%+v: %s", c, said)
		}
	}
}
