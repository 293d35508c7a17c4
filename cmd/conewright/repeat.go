package main

import (
	"errors"
	"fmt"
	"io"
	"slices"
	"strings"

	"conewright/cmd/internal/benchfile"
	"conewright/cmd/internal/inputs"
	"conewright/cmd/internal/report"
	"conewright/cmd/internal/saved"
	"conewright/cmd/internal/settings"
	"conewright/cmd/internal/wording"
	"conewright/ts"
	"conewright/ts/repeat"
)

var repeatCommand = command{
	name:     "repeat",
	synopsis: "MANIFEST|FILES...|book:|JOB... [--spec SHEET] [--save] [options]",
	summary:  "how well this bench repeats",
	about: `Finds out how far sweeps of an untouched driver scatter on this bench, and how much of that
comes from sweeping again, clamping again and another day. A manifest, a table with the columns
file, driver, operator, session and clamping (only file is needed), says what the sweeps have in
common; files alone are of one driver and differ as --repeat says. From the book it takes the
repeats whose kind was said when they were added: book: stands for all of them, book:Larch-25 for
those of a type, job:12 for those of a job. Only sweeps of one bench count together: where the book
has several, --bench names it. With a sheet it says what share of each limit the measurement takes.
--save writes the table [repeatability] into the bench file, and every command that is given the
bench file counts with it.`,
	examples: `
conewright repeat twenty.csv --bench bench.toml --save
conewright repeat book: --bench bench.toml --save
conewright repeat monday.wav tuesday.wav wednesday.wav thursday.wav --repeat session --resistor 10.02 --spec larch.toml`,
	setup: func(g *optionGroups) action {
		var r repeatJob
		r.sheet.define(g)
		g.group("Result").BoolVar(&r.save, "save", false, "write what was found into the bench file; --force replaces a table that it has")
		r.bench.define(g)
		r.out.define(g)
		return r.run
	},
}

// repeatJob is one study of a bench.
type repeatJob struct {
	sheet specOption
	bench benchOptions
	out   outputOptions
	save  bool
}

// repeatColumns are the columns that its manifest may have, in any order.
var repeatColumns = []string{"file", "driver", "operator", "session", "clamping"}

// swept is one sweep of a study.
type swept struct {
	file  loadFile
	bench *benchOptions
	place repeat.Reading // without values
}

func (r *repeatJob) run(c *console, args []string) (answer, error) {
	if len(args) == 0 {
		return done, wrongUse("conewright repeat twenty.csv --bench bench.toml; docs/bench.md shows the table", "no manifest and no file given")
	}
	if err := r.bench.finish(); err != nil {
		return done, err
	}
	if r.save && r.bench.file == "" {
		return done, wrongUse("name the bench file with --bench FILE", "--save needs a bench file to write into")
	}
	if err := r.out.finish(); err != nil {
		return done, err
	}
	spec, err := r.sheet.read()
	if err != nil {
		return done, err
	}
	fromBook := slices.ContainsFunc(args, inBook)
	find := r.findSwept
	if fromBook {
		find = r.sweptInBook
	}
	all, err := find(args)
	if err != nil {
		return done, err
	}
	if err := r.out.spare(filesOf(all), r.bench.reads()...); err != nil {
		return done, err
	}
	if r.save {
		if err := benchfile.CanSave(r.bench.file, r.out.force); err != nil {
			return done, err
		}
	}
	job := report.Job{Version: version(), Spec: r.sheet.input, All: r.out.all}
	var readings []repeat.Reading
	var first report.Side
	var left []wording.Said
	var seen inputs.Contents
	for _, one := range byDriver(all) {
		side, from, err := scatter(one, &seen)
		if err != nil && fromBook { // the others count all the same
			left = append(left, leftOut(err))
			continue
		}
		if err != nil {
			return done, err
		}
		if readings == nil {
			first = side
		}
		job.Inputs = append(job.Inputs, from...)
		for _, s := range one {
			readings = append(readings, s.place)
		}
	}
	found, err := repeat.Learn(readings)
	if err != nil {
		return done, err
	}
	if r.save {
		err := benchfile.Save(r.bench.file, found.Bench, r.out.force)
		if err != nil {
			return done, err
		}
	}
	result := report.Repeat(job, first, found, spec, r.savedIn())
	result.Warnings = append(result.Warnings, left...)
	return done, r.out.write(c, result)
}

// filesOf are the files of sweeps.
func filesOf(all []swept) []loadFile {
	var files []loadFile
	for _, s := range all {
		files = append(files, s.file)
	}
	return files
}

// savedIn names the file that the table was written to; empty where there is none.
func (r *repeatJob) savedIn() string {
	if r.save {
		return r.bench.file
	}
	return ""
}

// scatter sets the values of the sweeps of one driver. It returns the first of them as a side.
func scatter(sweeps []swept, seen *inputs.Contents) (report.Side, []saved.Input, error) {
	files, bench := filesOf(sweeps), sweeps[0].bench
	open, err := openAll(files, "", seen)
	if err != nil {
		return report.Side{}, nil, err
	}
	defer open.close()
	for _, f := range open {
		if f.old != nil {
			return report.Side{}, nil, wrongUse("name the sweep itself", "%s is a saved fit, which does not show how sweeps scatter", f.path)
		}
	}
	all, err := open.sweeps(bench.reading())
	if err != nil {
		return report.Side{}, nil, err
	}
	from := open.inputs("")
	first, err := ts.Fit(all[:1], bench.conditions())
	if err != nil {
		return report.Side{}, nil, fmt.Errorf("%s: %w", files[0].path, err)
	}
	values, err := ts.Scatter(all, bench.conditions())
	if err != nil {
		return report.Side{}, nil, fmt.Errorf("%s: %w", open.names(), err)
	}
	for k := range sweeps {
		sweeps[k].place.Values = values[k]
	}
	return report.NewSide("", from[:1], bench.record(), all[:1], first), from, nil
}

// byDriver groups sweeps by their driver, in order of appearance.
func byDriver(all []swept) [][]swept {
	var groups [][]swept
	at := map[string]int{}
	for _, s := range all {
		i, ok := at[s.place.Driver]
		if !ok {
			i = len(groups)
			at[s.place.Driver] = i
			groups = append(groups, nil)
		}
		groups[i] = append(groups[i], s)
	}
	return groups
}

// findSwept lists the sweeps behind the arguments.
func (r *repeatJob) findSwept(args []string) ([]swept, error) {
	if len(args) == 1 {
		text, err := openManifest(args[0])
		if err != nil {
			return nil, err
		}
		if text != nil {
			return r.readStudy(text, args[0])
		}
	}
	var all []swept
	for i, path := range args {
		one := repeat.Reading{Driver: "one", Operator: "one", Session: "one", Clamping: "one"}
		own := fmt.Sprint(i + 1)
		switch r.bench.repeats {
		case repeat.Reclamped:
			one.Clamping = own
		case repeat.Session:
			one.Session, one.Clamping = own, own
		}
		all = append(all, swept{loadFile{path: path}, &r.bench, one})
	}
	return all, nil
}

// readStudy reads the manifest of a study. What a line does not name it shares with the other
// lines: without a column clamping each session is one clamping.
func (r *repeatJob) readStudy(text []byte, path string) ([]swept, error) {
	m, err := newManifestReader(text, path, repeatColumns)
	if err != nil {
		return nil, err
	}
	if len(m.free) > 0 { // a day that is no session would make all of them one
		return nil, m.place().Errorf("a study has the columns "+strings.Join(repeatColumns, ", ")+"; only file is needed", "there is no column %q in the manifest of a study", m.free[0])
	}
	var all []swept
	for {
		err := m.line()
		if errors.Is(err, io.EOF) {
			break
		}
		if err != nil {
			return nil, err
		}
		file, err := m.file()
		if err != nil {
			return nil, err
		}
		all = append(all, swept{loadFile{path: file}, &r.bench, repeat.Reading{Driver: m.cell("driver"), Operator: m.cell("operator"), Session: m.cell("session"), Clamping: m.cell("clamping")}})
	}
	if len(all) == 0 {
		return nil, settings.Place{File: path}.Errorf("add one line for each sweep below the head: "+strings.Join(repeatColumns, ","), "the manifest lists no file")
	}
	return all, nil
}
