package main

import (
	"math"

	"conewright/ts"
	"conewright/ts/change"
	"conewright/ts/fitted"
	"conewright/ts/friction"
	"conewright/ts/measured"
	"conewright/ts/param"
)

// Rows of the table. Those that are not common are run for every fourth driver.
var (
	common = []run{{volt: 0.1}, {volt: 0.1, friction: 0.003}, {volt: 0.1, friction: 0.01}, {volt: 0.7}, {volt: 0.1, amplifier: 0.01}, {volt: 0.5, friction: 0.01},
		{volt: 0.1, losses: lossyBy}, {volt: 0.5, losses: lossyBy}}
	more = []run{{volt: 0.1, friction: 0.005}, {volt: 0.1, friction: 0.03}, {volt: 0.02}, {volt: 0.2}}
)

// lossyBy is how much larger the losses of a lossy suspension are.
const lossyBy = 0.6

// outcome is what was said of one run, or of two together.
type outcome struct {
	seed    uint64 // of the driver
	run     run
	second  float64 // V of the second sweep; 0: none
	failed  error
	unheard bool // the fit came, and nothing was said of friction
	found   friction.Found
	trend   friction.Trend // of two levels; zero: none
	motor   float64        // how far the force factor moves from the first to the second level, relative
	usual   bool           // named with a usual BL in place of a known one
	blamed  bool           // a mass, a motor or a suspension is named for sure, in comparison with the healthy driver
}

// blStd is how well BL is known by an added mass, relative.
const blStd = 0.03

// heard is one recording with its fit.
type heard struct {
	sweep measured.Sweep
	fit   *fitted.Result
}

// outcomes runs one driver through the rows.
func (s subject) outcomes(keep string, all bool) []outcome {
	runs := common
	if all {
		runs = append(append([]run(nil), common...), more...)
	}
	var out []outcome
	done := map[run]heard{}
	for _, r := range runs {
		z, err := s.cached(r, keep)
		var h heard
		if err == nil {
			h.sweep = measured.Sweep{Impedance: s.room(z, r)}
			h.fit, err = ts.Fit([]measured.Sweep{h.sweep}, measured.Conditions{})
		}
		if err != nil {
			out = append(out, outcome{seed: s.seed, run: r, failed: err})
			continue
		}
		done[r] = h
		out = append(out, s.judged(r, h, done[run{volt: r.volt}]))
	}
	for _, pair := range [][2]run{{{volt: 0.1, friction: 0.01}, {volt: 0.5, friction: 0.01}}, {{volt: 0.1}, {volt: 0.7}}, {{volt: 0.1, losses: lossyBy}, {volt: 0.5, losses: lossyBy}}} {
		low, high := done[pair[0]], done[pair[1]]
		if low.fit == nil || high.fit == nil {
			continue
		}
		both := []measured.Sweep{low.sweep, high.sweep}
		f, err := ts.Fit(both, measured.Conditions{})
		if err != nil {
			out = append(out, outcome{seed: s.seed, run: pair[0], second: pair[1].volt, failed: err})
			continue
		}
		o := outcome{seed: s.seed, run: pair[0], second: pair[1].volt}
		var ok bool
		o.found, ok = friction.Judge(both, s.withBL(f))
		o.unheard = !ok
		o.trend, _ = friction.TrendOf(both, s.withBL(f))
		x := o.trend.Travel
		o.motor = s.healthy.BL2 / 4 * (x[1]*x[1] - x[0]*x[0]) // theory (9.5), to the fundamental
		out = append(out, o)
	}
	return out
}

// judged is what is said of a sweep; healthy is the same driver without friction, if it came.
func (s subject) judged(r run, h, healthy heard) outcome {
	o := outcome{seed: s.seed, run: r}
	var ok bool
	o.found, ok = friction.Judge([]measured.Sweep{h.sweep}, s.withBL(h.fit))
	o.unheard = !ok
	usual, _ := friction.Judge([]measured.Sweep{h.sweep}, h.fit)
	o.usual = usual.Rubs
	if r.friction == 0 || healthy.fit == nil {
		return o
	}
	opt := change.Options{}
	if usual.Rubs {
		opt.Friction.After = usual.Share
	}
	c, err := ts.Compare(healthy.fit.Parameters, h.fit.Parameters, opt)
	if err != nil {
		o.failed = err
		return o
	}
	const sure = 0.95
	for _, cause := range c.Causes {
		switch cause.ID {
		case change.MassAdded, change.MassMissing, change.MotorWeaker, change.MotorStronger, change.CoilOffset, change.SuspensionSofter, change.SuspensionStiffer:
			o.blamed = o.blamed || cause.Probability > sure && !c.Unexplained
		}
	}
	return o
}

// withBL returns the fit with the force factor as an added mass gives it.
func (s subject) withBL(f *fitted.Result) *fitted.Result {
	rng := run{}.rand(s.seed, 2)
	out := *f
	out.Parameters = param.Parameters{Coverage: 1.96, Temperature: f.Parameters.Temperature}
	add := func(id param.ID, scaled, std float64) {
		p := &out.Parameters
		p.IDs, p.Scaled, p.Origin = append(p.IDs, id), append(p.Scaled, scaled), append(p.Origin, param.FromFit)
		for i := range p.Components {
			p.Components[i].Effect = append(p.Components[i].Effect, 0)
		}
		effect := make([]float64, len(p.IDs))
		effect[len(effect)-1] = std
		p.Components = append(p.Components, param.Component{Source: id.String(), Effect: effect})
	}
	for _, id := range []param.ID{param.Re, param.Fs, param.Qms, param.Res, param.Creep} {
		if i := f.Parameters.Index(id); i >= 0 {
			add(id, f.Parameters.Scaled[i], f.Parameters.ScaledStd(i))
		}
	}
	add(param.BL, math.Log(s.truth.BL*(1+blStd*rng.NormFloat64())), blStd)
	return &out
}
