// Package estimate finds the parameters of a driver from sweeps of it.
package estimate

import (
	"slices"

	"conewright/ts/fitted"
	"conewright/ts/measured"
	"conewright/ts/notice"
)

// Fit finds the parameters of one driver from sweeps of it: in free air, and
// with added masses or on a closed box when the mass, the compliance or the
// force factor are asked for. Several sweeps of one condition are repeats.
//
// Every model of the ladder is fitted to all sweeps at once by weighted least
// squares; models that the data cannot tell apart are averaged and their spread
// is part of the uncertainty. docs/theory.md, sections 3 and 4, has the equations.
//
// Fit refuses (with a [notice.Notice]) sweeps that cannot be those of a single driver
// around its resonance. What the sweeps cannot give is absent from the result,
// with a notice that says what would give it.
//
// The steps hand values on and change nothing that an earlier one made; each stands in
// the file of its name.
func Fit(sweeps []measured.Sweep, cond measured.Conditions) (*fitted.Result, error) {
	if err := measured.CheckInput(sweeps, cond); err != nil {
		return nil, err
	}
	sweeps = asMeasured(sweeps)
	mem := memory.Get().(*scratch)
	defer memory.Put(mem)
	in := prepare(sweeps, cond, mem)
	if err := in.massOffCone(); err != nil {
		return nil, err
	}
	return in.fit()
}

// fit is the row of steps.
func (in input) fit() (*fitted.Result, error) {
	found, err := in.minima()
	if err != nil {
		return nil, err
	}
	in, found = in.distrust(found)      // outliers count less
	in, found = in.rescale(found)       // noise that was not stated
	all, _ := in.weigh(found)           // how likely each form is, and each with a misfit
	members, lost, err := in.refit(all) // those that count, with all errors of the bench
	if err != nil {
		return nil, err
	}
	return in.summarise(all, members, lost)
}

// minima returns the minimum of every form that has one, and refuses where none has.
func (in input) minima() ([]*solution, error) {
	found := in.explore()
	if len(found) == 0 {
		return nil, notice.New("no-fit", nil)
	}
	return found, nil
}

// asMeasured returns the sweeps with the points that were measured, see [measured.Impedance.AsMeasured].
func asMeasured(sweeps []measured.Sweep) []measured.Sweep {
	out := slices.Clone(sweeps)
	for i := range out {
		out[i].Impedance, _ = out[i].Impedance.AsMeasured()
	}
	return out
}
