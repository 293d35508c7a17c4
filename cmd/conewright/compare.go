package main

import (
	"slices"

	"conewright/cmd/internal/inputs"
	"conewright/cmd/internal/report"
	"conewright/ts"
	"conewright/ts/change"
	"conewright/ts/fitted"
)

var compareCommand = command{
	name:     "compare",
	synopsis: "--before FILE --after FILE [--spec SHEET] [options], or JOB",
	summary:  "what a repair changed, and whether the driver is right again",
	about: `Compares a driver with what it was: which of suspension, moving mass, losses, motor and coil
changed, by how much and how surely. With a spec sheet the driver after the repair is judged
too. Errors that both measurements share, such as the resistor's, cancel. Without an added
mass the force factor BL is taken as unchanged, which a new surround does not touch. A third
sweep, with the old surround off and the new one not yet on, tells spider and surround apart.
A driver in the book, job:12/left, is compared from its first stage to its last.`,
	examples: `
conewright compare --before before.wav --after after.wav --resistor 10.02
conewright compare --before before.wav --after after.wav --after-mass 15.0g=added.wav --spec larch.toml --bench bench.toml
conewright compare --before b1.txt --before b2.txt --after a.txt --json
conewright compare job:12/left --report sheet.html`,
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
		var sameSession bool
		loadOptions(in, &loadsBefore, "before-", "before the repair ")
		loadOptions(in, &loadsAfter, "after-", "after the repair ")
		in.BoolVar(&sameSession, "same-session", false, "before and after were measured in one session")
		sheet.define(g)
		bench.define(g)
		out.define(g)
		return func(c *console, args []string) (answer, error) {
			if len(args) == 1 && isRef(freeFiles(args)) && len(before)+len(after)+len(stripped) == 0 {
				before, after = args, args
			} else if len(args) > 0 {
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
			sources, err := bench.repair(append(freeFiles(before), loadsBefore...), append(freeFiles(after), loadsAfter...), freeFiles(stripped))
			if err != nil {
				return done, err
			}
			for _, s := range sources {
				if err := out.spare(s.files, append(sheet.reads(), bench.reads()...)...); err != nil {
					return done, err
				}
				sheet.orOf(s.sideFiles)
			}
			r, err := comparison{sides: sources, sheet: &sheet, all: out.all, sameSession: sameSession}.report()
			if err != nil {
				return done, err
			}
			a := done
			if r.Judged {
				a = answerTo(r.Verdict)
			}
			return a, out.write(c, r)
		}
	},
}

// comparison is what a comparison is made of.
type comparison struct {
	sides []repairSide
	sheet *specOption
	all   bool // every quantity in the tables
	// sameSession says that all sides were measured in one session.
	sameSession bool
}

// report reads the files and compares.
func (q comparison) report() (*report.Report, error) {
	spec, err := q.sheet.read()
	if err != nil {
		return nil, err
	}
	job := report.Job{Version: version(), Spec: q.sheet.input, All: q.all}
	var sides []report.Side
	var seen inputs.Contents
	for _, side := range q.sides {
		s, from, err := fitSide(side.files, side.bench, side.label, &seen)
		if err != nil {
			return nil, err
		}
		sides = append(sides, s)
		job.Inputs = append(job.Inputs, from...)
	}
	apart := report.SeparateBenches(sides)
	level, far := report.LevelBetween(sides[0], sides[1])
	with := change.Options{Spec: spec, Friction: report.FrictionOf(sides[0], sides[1]), SameSession: q.sameSession, Level: level,
		Direct: report.DirectBetween(sides[0], sides[1])}
	if len(sides) == 3 {
		with.Stripped = &sides[2].Parameters
	}
	compared, err := ts.Compare(sides[0].Parameters, sides[1].Parameters, with)
	if err != nil {
		return nil, err
	}
	compared.Warnings = slices.Concat(compared.Warnings, apart, far)
	if before, after := sides[0].Fitted, sides[1].Fitted; before != nil && after != nil { // not saved with a fit
		if n := fitted.SecondChanged(before, after); n != nil {
			compared.Warnings = append(compared.Warnings, *n)
		}
	}
	return report.Compare(job, sides, compared), nil
}
