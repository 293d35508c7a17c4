package main

import (
	"slices"

	"conewright/cmd/internal/inputs"
	"conewright/cmd/internal/report"
	"conewright/ts"
	"conewright/ts/change"
)

var compareCommand = command{
	name:     "compare",
	synopsis: "--before FILE --after FILE [--spec SHEET] [options]",
	summary:  "what a repair changed, and whether the driver is right again",
	about: `Compares a driver with what it was: which of suspension, moving mass, losses, motor and coil
changed, by how much and how surely. With a spec sheet the driver after the repair is judged
too. Errors that both measurements share, such as the resistor's, cancel. Without an added
mass the force factor BL is taken as unchanged, which a new surround does not touch. A third
sweep, with the old surround off and the new one not yet on, tells spider and surround apart.`,
	examples: `
conewright compare --before before.wav --after after.wav --resistor 10.02
conewright compare --before before.wav --after after.wav --after-mass 15.0g=added.wav --spec larch.toml --bench bench.toml
conewright compare --before b1.txt --before b2.txt --after a.txt --json`,
	setup: func(g *optionGroups) action {
		var before, after, stripped []string
		var loadsBefore, loadsAfter []loadFile
		var bench benchOptions
		var sheet specOption
		var out outputOptions
		in := g.group("Sweeps")
		in.StringArrayVar(&before, "before", nil, "`FILE` of a sweep before the repair (repeatable)")
		in.StringArrayVar(&after, "after", nil, "`FILE` of a sweep after the repair (repeatable)")
		in.StringArrayVar(&stripped, "stripped", nil, "`FILE` of a sweep with the old surround off and the new one not yet on (repeatable)")
		loadOptions(in, &loadsBefore, "before-", "before the repair ")
		loadOptions(in, &loadsAfter, "after-", "after the repair ")
		sheet.define(g)
		bench.define(g)
		out.define(g)
		return func(c *console, args []string) (answer, error) {
			if len(args) > 0 {
				return done, wrongUse("name files by their role: --before FILE --after FILE", "it is not clear what %s is", args[0])
			}
			if len(before) == 0 || len(after) == 0 {
				return done, wrongUse("conewright compare --before before.wav --after after.wav", "a sweep before and a sweep after the repair are needed")
			}
			if err := bench.finish(); err != nil {
				return done, err
			}
			if err := out.finish(); err != nil {
				return done, err
			}
			if err := out.spare(slices.Concat(freeFiles(before), loadsBefore, freeFiles(after), loadsAfter, freeFiles(stripped)), append(sheet.reads(), bench.reads()...)...); err != nil {
				return done, err
			}
			spec, err := sheet.read()
			if err != nil {
				return done, err
			}
			job := report.Job{Version: version(), Spec: sheet.input, All: out.all}
			var sides []report.Side
			var seen inputs.Contents
			for _, side := range []struct {
				label string
				files []loadFile
			}{
				{"before", append(freeFiles(before), loadsBefore...)},
				{"after", append(freeFiles(after), loadsAfter...)},
				{"stripped", freeFiles(stripped)},
			} {
				if len(side.files) == 0 {
					continue
				}
				s, from, err := fitSide(side.files, &bench, side.label, &seen)
				if err != nil {
					return done, err
				}
				sides = append(sides, s)
				job.Inputs = append(job.Inputs, from...)
			}
			apart := report.SeparateBenches(sides)
			with := change.Options{Spec: spec}
			if len(sides) == 3 {
				with.Stripped = &sides[2].Parameters
			}
			compared, err := ts.Compare(sides[0].Parameters, sides[1].Parameters, with)
			if err != nil {
				return done, err
			}
			compared.Warnings = append(compared.Warnings, apart...)
			a := done
			if compared.Checked != nil {
				a = answerTo(compared.Checked.Verdict)
			}
			return a, out.write(c, report.Compare(job, sides, compared))
		}
	},
}
