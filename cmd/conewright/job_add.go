package main

import (
	"bytes"
	"cmp"
	"context"
	"fmt"
	"path/filepath"
	"slices"
	"strings"
	"time"

	"conewright/cmd/internal/book"
	"conewright/cmd/internal/infile"
	"conewright/cmd/internal/report"
	"conewright/cmd/internal/specsheet"
	"conewright/cmd/internal/wording"
	"conewright/ts"
	"conewright/ts/measured"
	"conewright/ts/param"
)

var jobAddCommand = command{
	name: "job add", synopsis: "JOB/DRIVER/STAGE FILE... [options]", summary: "add sweeps to a stage of a driver",
	about: `Copies sweeps into the book and fits the stage with them. Stages are as-received, stripped,
new-surround and run-in, or a word of your own; driver and stage begin with their first sweep. The
bench options of the first addition hold for the whole stage. A sweep that cannot be read or fitted
is refused, and then nothing is added.
At the stage in-cabinet the driver is in its box: the box is held against the driver in free air of
the last stage before, and only limits for the box are judged. A second one, in-cabinet-2 or
another word behind in-cabinet-, is compared with the first. At the stage parts each FILE is a part
of the network, out of its circuit, as for "conewright part".`,
	examples: `
conewright job add job:1/left/in-cabinet box.wav --volume 60L --tuning 30Hz
conewright job add job:1/left/parts c1.wav --nominal 8uF --open open.wav --short short.wav --load 100.0ohm=load.wav
conewright job add job:1/left/as-received before.wav --mass 20.0g=before-20g.wav --bench bench.toml --type "Larch 25" --spec larch.toml
conewright job add job:1/left/run-in again.wav --kind re-clamped`,
	setup: func(g *optionGroups) action {
		var a addition
		a.define(g)
		return a.run
	},
}

// repeatKinds say what changed since the sweep before.
var repeatKinds = []string{"again", "re-clamped", "session", "operator"}

// addition is one run of the command.
type addition struct {
	loads            []loadFile
	driver           driverTexts
	parts            partKnown
	box              boxOptions
	repeat, operator string
	bench            benchOptions
}

func (a *addition) define(g *optionGroups) {
	loadOptions(g.group("Loads"), &a.loads, "", "")
	fs := g.group("Sweeps")
	fs.StringVar(&a.repeat, "kind", "", "of a repeat: what changed since the sweep before, one of the `WORDS` "+strings.Join(repeatKinds, ", ")+
		"; of a part: capacitor, coil or resistor, where its curve leaves that open")
	fs.StringVar(&a.operator, "operator", "", "`NAME` of who measured, in place of the one of this computer's user")
	a.driver.define(g.group("Driver"))
	a.box.defineIn(g.group("Cabinet, at the stage in-cabinet"))
	a.parts.defineIn(g.group("Known things, with the same leads, at the stage parts"), g.group("What a part should be"))
	a.bench.define(g)
}

func (a *addition) run(c *console, args []string) (answer, error) {
	const example = "conewright job add job:1/left/as-received before.wav"
	if len(args) == 0 {
		return done, wrongUse(example, "it is not said to which job to add")
	}
	ref, err := stageRef(args[0], example)
	if err != nil {
		return done, err
	}
	files := append(freeFiles(args[1:]), a.loads...)
	if len(files) == 0 {
		return done, wrongUse(example, "no file given")
	}
	if err := a.goesWith(ref.Stage); err != nil {
		return done, err
	}
	if ref.Stage != book.Parts && a.repeat != "" && !slices.Contains(repeatKinds, a.repeat) {
		return done, wrongUse("write one of: "+strings.Join(repeatKinds, ", "), "%q is not a kind of repeat", a.repeat)
	}
	if err := a.bench.finish(); err != nil {
		return done, err
	}
	o := bookOption{a.bench.book}
	return done, o.with(false, func(ctx context.Context, b *book.Book) error {
		job, err := b.Job(ctx, ref.Job)
		if err != nil {
			return err
		}
		d, _ := job.Driver(ref.Side)
		stage, ok := d.Stage(ref.Stage)
		stage.Name = ref.Stage
		bench := &a.bench
		if ok {
			if bench, err = a.bench.at(b, stage); err != nil {
				return err
			}
		}
		switch {
		case ref.Stage == book.Parts:
			return a.addParts(ctx, c, b, ref, stage, bench, args[1:])
		case book.IsInCabinet(ref.Stage):
			return a.addInCabinet(ctx, c, b, ref, d, stage, bench, files)
		}
		added, err := newSweeps(files, a.repeat, cmp.Or(a.operator, userName()))
		if err != nil {
			return err
		}
		sheet := a.driver.sheet
		if sheet.path == "" && d.Sheet != "" {
			if sheet.path, err = b.RawFile(ctx, d.Sheet); err != nil {
				return err
			}
		}
		result, side, err := compute(stageFiles(b, stage, files), bench, &sheet)
		if err != nil {
			return err
		}
		anew := book.Addition{Ref: ref, Sweeps: added, Known: len(stage.Sweeps), Result: result}
		if err := bench.into(&anew); err != nil {
			return err
		}
		if err := b.Add(ctx, anew); err != nil {
			return err
		}
		if err := sayAdded(c, ref, len(added), side, result); err != nil {
			return err
		}
		return a.sayOfDriver(ctx, c, b, ref)
	})
}

// goesWith refuses options that say something of another kind of stage.
func (a *addition) goesWith(stage string) error {
	switch {
	case a.box.given() && !book.IsInCabinet(stage):
		return wrongUse("conewright job add job:1/left/in-cabinet box.wav --volume 60L", "the stage %s is not in the cabinet, and its volume or tuning is given", stage)
	case a.parts.given() && stage != book.Parts:
		return wrongUse("conewright job add job:1/left/parts c1.wav --nominal 8uF", "the stage %s is not one of parts, and known things or a nominal value are given", stage)
	}
	return a.box.check()
}

// sayOfDriver writes down what is said of the driver, and says what the sheet makes of its other stages, and of those in the cabinet
// that are held against the stage of the addition.
func (a *addition) sayOfDriver(ctx context.Context, c *console, b *book.Book, ref book.Ref) error {
	judged, r, err := a.driver.describe(ctx, b, ref, func(d book.Driver, s book.Stage) bool { return freeStage(d, s.Name) == ref.Stage })
	if err != nil {
		return err
	}
	// Those of which the sheet says something else than the one before.
	others := slices.DeleteFunc(judged, func(j book.Judged) bool { return j.Stage == ref.Stage || j.Was == j.Is })
	if err := sayJudged(c, ref, a.driver.sheet.path, others); err != nil {
		return err
	}
	var says []string
	for _, s := range r.stages {
		if s.is.Free != ref.Stage {
			continue
		}
		says = append(says, fmt.Sprintf("%s is held against it now", book.Ref{Job: ref.Job, Side: ref.Side, Stage: s.name}))
		if j := s.judged(); a.driver.sheet.path == "" && j.Was != j.Is {
			says[len(says)-1] += ": " + judgedWords(j)
		}
	}
	return sayNotes(c, append(says, r.notes()...))
}

// newSweeps are files as sweeps of the book. What changed is said of those in free air where there
// are some: a sweep with a load belongs to the one that it follows.
func newSweeps(files []loadFile, kind, operator string) ([]book.NewSweep, error) {
	anyFree := slices.ContainsFunc(files, func(f loadFile) bool { return f.load.Kind == measured.Free })
	var list []book.NewSweep
	for _, f := range files {
		repeat := kind
		if anyFree && f.load.Kind != measured.Free {
			repeat = ""
		}
		kept, err := keptFile(f.place())
		if err != nil {
			return nil, err
		}
		list = append(list, book.NewSweep{File: kept, Sweep: book.Sweep{SHA256: kept.SHA256, Name: filepath.Base(f.path), Load: f.load, Repeat: repeat, Operator: operator, Added: now(), Version: version()}})
	}
	return list, nil
}

// stageFiles are the files of the sweeps that a stage has, and more.
func stageFiles(b *book.Book, s book.Stage, more []loadFile) []loadFile {
	var files []loadFile
	for _, w := range s.Sweeps {
		files = append(files, keptSweep(b, w.Name, w))
	}
	return append(files, more...)
}

// calibrationFile is the calibration of a bench as something to be kept.
func calibrationFile(bench *benchOptions) (book.File, error) {
	if bench.calibrated == "" {
		return book.File{}, nil
	}
	return keptFile(bench.calibrated)
}

// keptFile is a file with its hash.
func keptFile(path string) (book.File, error) {
	f, err := infile.Open(path)
	if err != nil {
		return book.File{}, err
	}
	return book.File{Path: path, SHA256: f.SHA256()}, f.Close()
}

// compute fits files and holds them against a sheet, if there is one.
func compute(files []loadFile, bench *benchOptions, sheet *specOption) (*book.Result, report.Side, error) {
	spec, err := sheet.of(specsheet.Driver)
	if err != nil {
		return nil, report.Side{}, err
	}
	side, inputs, err := fitSide(files, bench, "", nil)
	if err != nil {
		return nil, side, err
	}
	var fit bytes.Buffer
	if err := report.JSON(&fit, report.Fit(report.Job{Version: version(), Inputs: inputs}, side)); err != nil {
		return nil, side, err
	}
	r := &book.Result{Made: now(), Version: version(), Values: book.ValuesOf(side.Parameters), Fit: fit.Bytes()}
	if spec != nil {
		checked, err := ts.Check(side.Parameters, *spec)
		if err != nil {
			return nil, side, err
		}
		r.Verdict = checked.Verdict.String()
	}
	return r, side, nil
}

// now is when something is written into the book.
func now() time.Time { return time.Now().Truncate(time.Second) }

// sayAdded says what the stage shows now.
func sayAdded(c *console, ref book.Ref, n int, side report.Side, r *book.Result) error {
	line := fmt.Sprintf("%s added to %s", sweepsWords(n), ref)
	var values []string
	for _, id := range []param.ID{param.Re, param.Fs, param.Qts, param.Mms} {
		if text, ok := shortValue(r.Values, id); ok {
			values = append(values, id.String()+" "+text)
		}
	}
	line += ": " + strings.Join(values, ", ")
	if r.Verdict != "" {
		line += "; " + verdictWords(r.Verdict)
	}
	if _, err := fmt.Fprintln(c.out, line); err != nil {
		return err
	}
	if side.Fitted != nil {
		side.Noticed = append(side.Noticed, wording.Notices(side.Fitted.Warnings)...)
	}
	for _, w := range side.Noticed {
		if _, err := fmt.Fprintln(c.out, "note:", w.Message); err != nil {
			return err
		}
	}
	return nil
}

// shortValue writes a kept value with its unit, rounded by its uncertainty.
func shortValue(values map[param.ID]book.Value, id param.ID) (string, bool) {
	v, ok := values[id]
	if !ok {
		return "", false
	}
	return report.Value(id, v.Value, v.Std), true
}
