package param

import (
	"math"
	"testing"
)

// The end gauge of JCGM 100:2008, H.1.6 (from memory): 25 nm on 18 degrees of freedom, 9.7 on 25.6, 2.9 on 50 and
// 16.6 on 2 make 32 nm on 16.7, and 93 nm at 99 % with 2.92 of Student's t for 16.
func TestEndGauge(t *testing.T) {
	p := Parameters{IDs: []ID{Fs}, Scaled: []float64{0}, Coverage: 1.96}
	for i, c := range []struct{ u, dof float64 }{{25, 18}, {9.7, 25.6}, {2.9, 50}, {16.6, 2}} {
		p.Components = append(p.Components, Component{Source: string(rune('a' + i)), Scatter: string(rune('a' + i)), Dof: c.dof, Effect: []float64{c.u}})
	}
	if u, d := p.ScaledStd(0), p.Dist(0); math.Abs(u-32) > 0.5 || math.Abs(d.Dof-16.7) > 0.1 {
		t.Errorf("%v nm on %v degrees of freedom", u, d.Dof)
	}
	d := p.Dist(0)
	d.Dof = math.Floor(d.Dof)
	if k := d.Quantile(0.995); math.Abs(k-2.92) > 0.005 || math.Abs(32*k-93) > 0.5 {
		t.Errorf("coverage factor %v at 99 %%", k)
	}
	if along := p.DistAlong([]float64{-2}); math.Abs(along.Dof-p.Dist(0).Dof) > 1e-9 {
		t.Errorf("%v degrees of freedom of minus twice the value", along.Dof)
	}
}

// Columns of one estimate of scatter are known together: they have its degrees of freedom and not twice as many.
// What is assumed of several kinds is one doubt. Measured kinds add up.
func TestDegreesOfFreedom(t *testing.T) {
	of := func(c ...Component) float64 {
		for i := range c {
			c[i].Effect = []float64{1}
		}
		return Parameters{IDs: []ID{Fs}, Scaled: []float64{0}, Coverage: 1.96, Components: c}.Dist(0).Dof
	}
	for name, c := range map[string]struct{ got, want float64 }{
		"one estimate":      {of(Component{Scatter: "session", Dof: 4}, Component{Scatter: "session", Dof: 4}), 4},
		"two, measured":     {of(Component{Scatter: "session", Dof: 4}, Component{Scatter: "again", Dof: 4}), 8},
		"two, assumed":      {of(Component{Scatter: "session", Dof: 4, Assumed: true}, Component{Scatter: "again", Dof: 4, Assumed: true}), 4},
		"with a known one":  {of(Component{Scatter: "session", Dof: 4}, Component{}), 16},
		"nothing scatters":  {of(Component{}), math.Inf(1)},
		"assumed and known": {of(Component{Scatter: "session", Dof: 4, Assumed: true}, Component{}), 16},
	} {
		if c.got != c.want && math.Abs(c.got-c.want) > 1e-9 {
			t.Errorf("%s: %v degrees of freedom, want %v", name, c.got, c.want)
		}
	}
}

// The interval takes its factor from the degrees of freedom; without the scatter it is that of the sweeps.
func TestIntervalOfScatter(t *testing.T) {
	p := Parameters{IDs: []ID{Fs}, Scaled: []float64{math.Log(30)}, Origin: []Origin{FromFit}, Coverage: 1.96, Components: []Component{
		{Source: "resistor", Part: BenchPart, Effect: []float64{0.001}},
		{Source: "session, suspension", Part: RepeatPart, Scatter: "session", Dof: 4, Assumed: true, Effect: []float64{0.1}}}}
	e, _ := p.Get(Fs)
	// t(0.975) of 4 degrees of freedom is 2.776 (any table of Student's t)
	if half := math.Log(e.High / 30); math.Abs(half/0.1-2.776) > 0.002 {
		t.Errorf("half-width %v", half)
	}
	if one, _ := p.Alone().Get(Fs); math.Abs(one.Std/30-0.001) > 1e-12 || math.Abs(math.Log(one.High/30)-0.00196) > 1e-9 {
		t.Errorf("of the sweeps alone: %+v", one)
	}
	if !p.Assumed(0) || p.Alone().Assumed(0) {
		t.Error("whether it is assumed")
	}
}
