package main

import (
	"maps"
	"slices"
	"strings"

	"conewright/cmd/internal/benchfile"
	"conewright/cmd/internal/benchjob"
	"conewright/cmd/internal/benchpage"
	"conewright/cmd/internal/inputs"
	"conewright/cmd/internal/report"
	"conewright/cmd/internal/specsheet"
	"conewright/ts"
	"conewright/ts/boxed"
	"conewright/ts/measured"
	"conewright/ts/notice"
)

// boxPhases are the phases in the cabinet with the labels of their sides.
var boxPhases = []struct {
	phase benchjob.Phase
	label string
}{{benchjob.BoxBefore, "before"}, {benchjob.BoxAfter, "after"}}

// boxOptionsOf reads what was typed of a cabinet.
func boxOptionsOf(b benchjob.Box) (boxOptions, error) {
	o := boxOptions{}.empty()
	for _, f := range []struct {
		name, text string
		option     *quantityOption
	}{{"volume", b.Volume, &o.volume}, {"tuning", b.Tuning, &o.tuning}} {
		if f.text == "" {
			continue
		}
		if err := f.option.Set(f.text); err != nil {
			return o, &benchpage.FieldError{Field: f.name, Err: err}
		}
	}
	o.closed, o.vented = b.Kind == string(boxed.Closed), b.Kind == string(boxed.Vented)
	if o.closed && o.tuning.given {
		return o, &benchpage.FieldError{Field: "tuning", Err: notice.New("closed-with-tuning", nil)}
	}
	return o, nil
}

// Box reads what was typed of the cabinet.
func (w *workshop) Box(b benchjob.Box) error {
	_, err := boxOptionsOf(b)
	return err
}

// Cabinet says what the sweeps in the cabinet say: those before, those after, or both against each other, each held against the
// driver in free air as it was then.
func (w *workshop) Cabinet(dir string, j benchjob.Job) (*report.Report, string, error) {
	box, err := boxOptionsOf(j.Box)
	if err != nil {
		return nil, "", err
	}
	job := report.Job{Version: version()}
	in := &report.InCabinet{}
	var sides []report.Side
	var curves []measured.Impedance
	both := len(j.UsedIn(benchjob.BoxBefore)) > 0 && len(j.UsedIn(benchjob.BoxAfter)) > 0
	for _, p := range boxPhases {
		used := j.UsedIn(p.phase)
		if len(used) == 0 {
			continue
		}
		bench, err := w.options(j.OptionsIn(p.phase))
		if err != nil {
			return nil, "", err
		}
		files, err := w.files(dir, used)
		if err != nil {
			return nil, "", err
		}
		known := box.known(nil)
		if free := j.FreeFor(p.phase); free != "" {
			driver, err := w.freeAir(dir, j, free)
			if err != nil {
				return nil, "", err
			}
			known.Driver = &driver.Parameters
		}
		label := ""
		if both {
			label = p.label
		}
		var seen inputs.Contents
		one, read, err := fitCabinet(repairSide{sideFiles{files: files, bench: bench}, label}, known, &seen, false)
		if err != nil {
			return nil, "", err
		}
		job.Inputs = append(job.Inputs, read...)
		sides, curves, in.Measured = append(sides, one.side), append(curves, one.curve), append(in.Measured, one.box)
	}
	last := in.Measured[len(in.Measured)-1]
	if both {
		if in.Compared, err = boxed.Compare([2]*boxed.Measured(in.Measured), [2]measured.Impedance(curves), boxed.BeforeAfter); err != nil {
			return nil, "", err
		}
	}
	if in.Level, err = levelIn(last, last.Known.Driver); err != nil {
		return nil, "", err
	}
	sheet := &specOption{path: j.Sheet}
	limits, err := sheet.of(specsheet.Box)
	if err != nil {
		return nil, "", err
	}
	if limits != nil {
		if in.Checked, err = ts.Check(last.Parameters, *limits); err != nil {
			return nil, "", err
		}
		job.Spec = sheet.input
	} else {
		j.Sheet = "" // its limits are for the driver or for parts
	}
	return report.Cabinet(job, sides, in), w.cabinetCommand(j, both), nil
}

// freeAir is the driver in free air at a phase.
func (w *workshop) freeAir(dir string, j benchjob.Job, p benchjob.Phase) (report.Side, error) {
	bench, err := w.options(j.OptionsIn(p))
	if err != nil {
		return report.Side{}, err
	}
	files, err := w.files(dir, j.UsedIn(p))
	if err != nil {
		return report.Side{}, err
	}
	side, _, err := fitSide(files, bench, "", nil)
	return side, err
}

// cabinetCommand is what gives the same answer on the command line, in the folder of the job; a driver with a mass is fitted first.
func (w *workshop) cabinetCommand(j benchjob.Job, both bool) string {
	bench := w.benchWords(j)
	var words []string
	for _, p := range boxPhases {
		for _, s := range j.UsedIn(p.phase) {
			if both {
				words = append(words, "--"+p.label)
			}
			words = append(words, quoted(s.File))
		}
	}
	last := benchjob.BoxBefore
	if len(j.UsedIn(benchjob.BoxAfter)) > 0 {
		last = benchjob.BoxAfter
	}
	fit := ""
	if free := j.FreeFor(last); free != "" {
		fit = "conewright fit"
		for _, s := range j.UsedIn(free) {
			if s.Mass != "" {
				fit += " --mass " + quoted(s.Mass+"="+s.File)
			} else {
				fit += " " + quoted(s.File)
			}
		}
		fit += bench + " --json -o driver.json && "
		words = append(words, "--driver", "driver.json")
	}
	for _, o := range [][2]string{{"--volume", j.Box.Volume}, {"--tuning", j.Box.Tuning}} {
		if o[1] != "" {
			words = append(words, o[0], quoted(o[1]))
		}
	}
	if j.Box.Kind != "" {
		words = append(words, "--"+j.Box.Kind)
	}
	if j.Sheet != "" {
		words = append(words, "--spec", quoted(j.Sheet))
	}
	return fit + "conewright cabinet " + strings.Join(words, " ") + bench
}

// benchWords are the bench options of the command line, with a blank before each.
func (w *workshop) benchWords(j benchjob.Job) string {
	text := ""
	if _, table, err := w.lastBench(); err == nil && benchfile.Summary(table) != "" {
		text = " --bench " + quoted(w.lastBenchPath())
	}
	for _, name := range slices.Sorted(maps.Keys(j.Typed)) {
		switch v := j.Typed[name]; {
		case v == "true":
			text += " --" + name
		case v != "":
			text += " --" + name + " " + quoted(v)
		}
	}
	return text
}

// inCabinet is the impedance in ohm at a frequency in Hz of the virtual driver, as it was last in free air, in its cabinet: the gasket
// leaks before, and not after.
func (w *workshop) inCabinet(p benchjob.Phase) func(f float64) complex128 {
	leak := 11.0
	if p == benchjob.BoxBefore {
		leak = 2.5
	}
	if w.hung.name == "" {
		w.hung = demoRecordings()[0]
	}
	d := w.hung.thatDay(w.clamped)
	return func(f float64) complex128 { return demoBox.impedance(d, leak, f) }
}
