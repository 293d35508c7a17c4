package main

import (
	"errors"
	"fmt"

	"conewright/cmd/internal/book"
	"conewright/cmd/internal/inputs"
	"conewright/cmd/internal/report"
	"conewright/cmd/internal/saved"
	"conewright/cmd/internal/wording"
	"conewright/ts"
	"conewright/ts/fitted"
	"conewright/ts/friction"
	"conewright/ts/measured"
	"conewright/ts/notice"
	"conewright/ts/ring"
)

var fitCommand = command{
	name:     "fit",
	synopsis: "FILE... [options]",
	summary:  "parameters of one driver",
	about: `Finds the parameters of one driver from its impedance. FILE is a two-channel WAV of a test
signal, a text table or a Touchstone one-port; several are repeats of the same condition.
A sweep in free air gives Re, Fs and the Qs. For Mms, Cms, BL and Vas add a sweep with a
known mass on the cone or on a closed box, and the diameter of the cone.`,
	examples: `
conewright fit after.wav --resistor 10.02
conewright fit free.wav --mass 15.0g=added.wav --resistor 10.02 --diameter 262mm --dc 5.61
conewright fit first.txt second.txt --json -o larch.json`,
	setup: func(g *optionGroups) action {
		var in driverOptions
		var out outputOptions
		in.define(g)
		out.define(g)
		return func(c *console, args []string) (answer, error) {
			job, side, err := in.fit(args, &out)
			if err != nil {
				return done, err
			}
			return done, out.write(c, report.Fit(job, side))
		}
	},
}

// driverOptions are the loads and the bench of one driver.
type driverOptions struct {
	loads []loadFile
	bench benchOptions
	found sideFiles // set by fit
}

func (d *driverOptions) define(g *optionGroups) {
	loadOptions(g.group("Loads"), &d.loads, "", "")
	d.bench.define(g)
}

// fit reads the files and fits them: the main path of every command that is
// about one driver; others are files that it reads beside.
func (d *driverOptions) fit(args []string, out *outputOptions, others ...inputs.File) (report.Job, report.Side, error) {
	files := append(freeFiles(args), d.loads...)
	if len(files) == 0 {
		return report.Job{}, report.Side{}, wrongUse("name the file of the sweep: conewright fit after.wav", "no file given")
	}
	if err := d.bench.finish(); err != nil {
		return report.Job{}, report.Side{}, err
	}
	if err := out.finish(); err != nil {
		return report.Job{}, report.Side{}, err
	}
	found, err := d.bench.side(files, book.Driver.After)
	if err != nil {
		return report.Job{}, report.Side{}, err
	}
	d.found = found
	if err := out.spare(found.files, append(others, d.bench.reads()...)...); err != nil {
		return report.Job{}, report.Side{}, err
	}
	side, from, err := fitSide(found.files, found.bench, "", nil)
	return report.Job{Version: version(), Inputs: from, All: out.all}, side, err
}

// fitSide reads and fits one driver in one condition; no data of it may have been seen.
func fitSide(files []loadFile, bench *benchOptions, label string, seen *inputs.Contents) (report.Side, []saved.Input, error) {
	all, err := openAll(files, label, seen)
	if err != nil {
		return report.Side{}, nil, err
	}
	defer all.close()
	return all.fit(bench, label)
}

// fit is [fitSide] of open files. The inputs are returned beside an error as well.
func (all openFiles) fit(bench *benchOptions, label string) (report.Side, []saved.Input, error) {
	inputs := all.inputs(label)
	old, err := all.savedSide(label)
	if err != nil {
		return report.Side{}, inputs, err
	}
	if old != nil {
		return *old, inputs, nil
	}
	sweeps, err := all.sweeps(bench.reading())
	if err != nil {
		return report.Side{}, inputs, err
	}
	result, err := ts.Fit(sweeps, bench.conditions())
	if err != nil {
		var n *notice.Notice
		if errors.As(err, &n) && (n.Code == "wrong-mass" || n.Code == "masses-disagree") {
			// That two were exchanged says more than that they disagree.
			if _, line := ring.MeasureMassLine(sweeps, bench.conditions()); line != nil {
				err = line
			}
		}
		if errors.As(err, &n) && n.File != "" {
			return report.Side{}, inputs, err // it names the file itself
		}
		return report.Side{}, inputs, fmt.Errorf("%s: %w", all.names(), err)
	}
	values, left, err := fitted.Bounded(result.Parameters)
	if err != nil {
		return report.Side{}, inputs, fmt.Errorf("%s: %w", all.names(), err)
	}
	result.Parameters = values
	if slip := fitted.Slip(sweeps, result.Parameters, bench.conditions()); slip != nil {
		return report.Side{}, inputs, slip.In(all.names())
	}
	side := report.NewSide(label, inputs, bench.record(), sweeps, result)
	if left != nil {
		side.Noticed = append(side.Noticed, wording.Notice(*left))
	}
	if w := fitted.UnusualRe(result.Parameters); w != nil {
		side.Noticed = append(side.Noticed, wording.Notice(*w))
	}
	if w := all.roughMass(); w != nil {
		side.Noticed = append(side.Noticed, wording.Notice(*w))
	}
	if travel, ok := fitted.FarthestTravel(sweeps, result.Parameters, bench.conditions()); ok {
		side.Travel = &travel
		if w := travel.Warning(); w != nil {
			side.Noticed = append(side.Noticed, wording.Notice(*w))
		}
	}
	if found, ok := friction.Judge(sweeps, result); ok {
		side.Friction = &found
		if w := found.Warning(); w != nil {
			side.Noticed = append(side.Noticed, wording.Notice(*w))
		}
		side.Parameters = found.With(side.Parameters)
	}
	if trend, ok := friction.TrendOf(sweeps, result); ok {
		side.Trend = &trend
	}
	if d, ok := friction.DistortionOf(sweeps, result); ok {
		side.Parameters = d.With(side.Parameters)
	}
	if massesIn(sweeps) > 2 {
		line, err := ring.MeasureMassLine(sweeps, bench.conditions())
		var n *notice.Notice
		if errors.As(err, &n) && n.Code == "masses-exchanged" {
			return report.Side{}, inputs, err
		}
		if err != nil { // the fit stands without it
			why, _ := wording.Error(err)
			side.Noticed = append(side.Noticed, wording.Said{Code: "no-mass-line", Message: "there is no mass line: " + why})
		}
		side.MassLine = line
	}
	return side, inputs, nil
}

// roughMass says which mass is known least from its writing alone, where that matters.
func (all openFiles) roughMass() *notice.Notice {
	var worst openFile
	for _, f := range all {
		if f.load.Kind == measured.AddedMass && f.unsaid > roughly*f.load.Value && f.unsaid*worst.load.Value >= worst.unsaid*f.load.Value {
			worst = f
		}
	}
	if worst.unsaid == 0 {
		return nil
	}
	return notice.New("mass-digits", notice.Facts{"mass": worst.load.Value, "tolerance": worst.unsaid})
}

// roughly is the part of a mass above which its tolerance, when only its digits give it,
// is worth a sentence.
const roughly = 0.02

// massesIn counts the different masses of sweeps that all belong on a mass line;
// none at all is one of them.
func massesIn(sweeps []measured.Sweep) int {
	masses := map[float64]bool{}
	for _, s := range sweeps {
		if s.Load.Kind == measured.KnownBox {
			return 0
		}
		masses[s.Load.Value] = true
	}
	return len(masses)
}

// names says which files an error is about.
func (all openFiles) names() string {
	if len(all) == 1 {
		return all[0].path
	}
	return fmt.Sprintf("%s and %d more", all[0].path, len(all)-1)
}
