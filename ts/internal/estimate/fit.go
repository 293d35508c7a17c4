// Package estimate finds the parameters of a driver from sweeps of it.
package estimate

import (
	"conewright/ts/fitted"
	"conewright/ts/measured"
	"conewright/ts/param"
)

// Fit finds the parameters of one driver from sweeps of it: in free air, and
// with added masses or on a closed box when the mass, the compliance or the
// force factor are asked for. Several sweeps of one condition are repeats.
//
// Every model of the ladder is fitted to all sweeps at once by weighted least
// squares; models that the data cannot tell apart are averaged and their spread
// is part of the uncertainty. docs/theory.md, sections 3 and 4, has the equations.
//
// Fit refuses (with a [Refusal]) sweeps that cannot be those of a single driver
// around its resonance. What the sweeps cannot give is absent from the result,
// with a [Warning] that says what would give it.
func Fit(sweeps []measured.Sweep, cond measured.Conditions) (*fitted.Result, error) {
	if err := measured.CheckInput(sweeps, cond); err != nil {
		return nil, err
	}
	in := newInput(sweeps, cond)
	in.work = workspaces.Get().(*workspace)
	defer workspaces.Put(in.work)
	if err := in.massOffCone(); err != nil {
		return nil, err
	}
	ladder := in.explore()
	if len(ladder) == 0 {
		return nil, &param.Refusal{Code: "no-fit", Message: "no model of a driver follows the sweep",
			Advice: "check wiring and channels, and look at the curve: it should have one peak and rise smoothly above its minimum"}
	}
	if outliers := in.distrust(best(ladder)); outliers > 0 {
		if again := in.explore(); len(again) > 0 {
			ladder = again
			in.distrust(best(ladder))
		}
	}
	in.rescale(ladder)
	all := in.candidates(ladder)
	members, err := in.finalists(all)
	if err != nil {
		return nil, err
	}
	fitted := in.report(members, all)
	if err := measured.CheckValues(fitted.Parameters); err != nil {
		return nil, err
	}
	if err := in.massWithoutEffect(fitted.Parameters); err != nil {
		return nil, err
	}
	return fitted, nil
}
