package main

import (
	"fmt"
	"math"

	"conewright/ts"
	"conewright/ts/change"
	"conewright/ts/internal/truth"
	"conewright/ts/measured"
	"conewright/ts/notice"
	"conewright/ts/param"
)

const massesSeed = 120500

// visit fits one visit of a driver with the mass that was written down: weighed to 0.1 g or 0.5 %, placed as usual.
func visit(v truth.Visit) (param.Parameters, []notice.Notice, error) {
	b := told(truth.ResistorFirst, v.Free.Resistor)
	load := measured.Load{Kind: measured.AddedMass, Value: v.Loaded.MassTold}
	load.Std = min(1e-4, 0.005*load.Value) / math.Sqrt(3)
	load.PlacingStd = measured.UsualPlacing(load.Value)
	sweeps := []measured.Sweep{{Impedance: calibrated(v.Free.Sweep, b)}, {Impedance: calibrated(v.Loaded.Sweep, b), Load: load}}
	f, err := ts.Fit(sweeps, measured.Conditions{})
	if err != nil {
		return param.Parameters{}, nil, err
	}
	return f.Parameters, f.Warnings, nil
}

// printMasses: before and after a repair, or no repair, with the same piece on the cone each time.
func printMasses(runs int) {
	fmt.Printf("\nMasses, %d drivers a row, seeds from %d, Fs scattering by 1 %% from session to session, %%\n\n", runs, massesSeed+*later)
	row("case", "called changed", "mass not as stated", "motor named with p > 0.9", "change of Mms held", "mass by frequencies noted", "refused")
	fmt.Println("|---|---|---|---|---|---|---|")
	for _, c := range []struct {
		name   string
		repair truth.Repaired
		masses truth.Masses
	}{
		{"untouched, exact masses", truth.Repaired{}, truth.ExactMass},
		{"untouched, masses of a shop", truth.Repaired{}, truth.ShopMass},
		{"stiffness +35 %, mass +3 %, scale 1 % off", truth.Repaired{Stiffness: 1.35, Mass: 1.03}, truth.SharedScale},
		{"the same, masses of a shop", truth.Repaired{Stiffness: 1.35, Mass: 1.03}, truth.ShopMass},
	} {
		type result struct {
			refused, changed, stated, motor, held, noted bool
		}
		all := make([]result, runs)
		parallel(runs, func(i int) {
			r := &all[i]
			b, a := truth.BeforeAfter(massesSeed+*later+uint64(i), truth.Plain, truth.CommonBench(0.01), c.repair, c.masses)
			before, warned, err1 := visit(b)
			after, _, err2 := visit(a)
			if r.refused = err1 != nil || err2 != nil; r.refused {
				return
			}
			compared, err := ts.Compare(before, after, change.Options{})
			if r.refused = err != nil; r.refused {
				return
			}
			for _, w := range warned {
				r.noted = r.noted || w.Code == "mass-methods-disagree"
			}
			for _, x := range compared.Explanations[0].Causes {
				switch x.ID {
				case change.NoChange:
				case change.MassNotAsStated:
					r.stated = true
				default:
					r.changed = true
				}
			}
			for _, x := range compared.Causes {
				switch x.ID {
				case change.MotorWeaker, change.MotorStronger, change.CoilOffset, change.CoilDifferent, change.ShortedTurns:
					r.motor = r.motor || x.Probability > 0.9
				}
			}
			mms, _ := compared.Change(param.Mms)
			want := a.Free.Truth.Mms / b.Free.Truth.Mms
			r.held = mms.Low <= want && want <= mms.High
		})
		share := func(of func(result) bool) string {
			n, in := 0, 0
			for _, r := range all {
				if !r.refused {
					n++
					if of(r) {
						in++
					}
				}
			}
			return fmt.Sprintf("%.0f", 100*float64(in)/float64(max(n, 1)))
		}
		refused := 0
		for _, r := range all {
			if r.refused {
				refused++
			}
		}
		row(c.name, share(func(r result) bool { return r.changed }), share(func(r result) bool { return r.stated }), share(func(r result) bool { return r.motor }),
			share(func(r result) bool { return r.held }), share(func(r result) bool { return r.noted }), refused)
	}
}
