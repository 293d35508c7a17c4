package main

import (
	"io"

	"conewright/cmd/internal/handout"
	"conewright/cmd/internal/report"
	"conewright/cmd/internal/saved"
	"conewright/cmd/internal/wording"
	"conewright/ts/driver"
	"conewright/ts/fitted"
	"conewright/ts/measured"
	"conewright/ts/ring"
)

var lessonCommand = command{
	name:     "lesson",
	synopsis: "[FILE...] --mass M=FILE... [options]",
	summary:  "the mass line: a class experiment with several masses",
	about: `Takes sweeps of one driver with several known masses on its cone: the resonance for each, the
straight line of 1/w^2 against mass with the moving mass and the compliance that it gives, and
all sweeps in one fit beside it. --virtual does the experiment on the virtual bench, for a
class without hardware; another --seed is another group's measurement. --handout writes a
worksheet instead: one for students, with blanks, or one for the teacher, with the answers
from that very data.`,
	examples: `
conewright lesson free.wav --mass 5.0g=m5.wav --mass 10.0g=m10.wav --mass 15.0g=m15.wav --resistor 10.02
conewright lesson --virtual
conewright lesson --virtual --seed 7 --handout student -o worksheet.html
conewright lesson --virtual --seed 7 --handout teacher -o answers.html`,
	setup: func(g *optionGroups) action {
		var l lessonOptions
		l.define(g)
		return func(c *console, args []string) (answer, error) {
			inputs, sweeps, truth, err := l.experiment(args)
			if err != nil {
				return done, err
			}
			line, err := ring.MeasureMassLine(sweeps, l.driver.bench.conditions())
			if err != nil {
				return done, err
			}
			values, left, err := fitted.Bounded(line.Joint.Parameters)
			if err != nil {
				return done, err
			}
			line.Joint.Parameters = values
			if l.audience != 0 {
				return done, l.out.writeAs(c, func(w io.Writer) error { return handout.Write(w, l.audience, line, truth) })
			}
			side := report.Side{Parameters: line.Joint.Parameters, Fitted: line.Joint, MassLine: line, Bench: l.driver.bench.record()}
			if left != nil {
				side.Noticed = append(side.Noticed, wording.Notice(*left))
			}
			job := report.Job{Version: version(), Inputs: inputs}
			return done, l.out.write(c, report.Lesson(job, side, truth))
		}
	},
}

type lessonOptions struct {
	virtual  bool
	seed     uint64
	audience handout.Audience
	driver   driverOptions
	out      outputOptions
}

func (l *lessonOptions) define(g *optionGroups) {
	fs := g.group("Lesson")
	fs.Var(wordOption[handout.Audience]{&l.audience, []handout.Audience{handout.Student, handout.Teacher}}, "handout", "write a worksheet as HTML instead, for")
	fs.BoolVar(&l.virtual, "virtual", false, "do the experiment on the virtual bench")
	fs.Uint64Var(&l.seed, "seed", 1, "of the virtual measurement; another `N` is another group")
	l.driver.define(g)
	l.out.define(g)
}

// experiment returns the sweeps, from files or from the virtual bench, and the
// driver behind virtual ones.
func (l *lessonOptions) experiment(args []string) ([]saved.Input, []measured.Sweep, *driver.Driver, error) {
	files := append(freeFiles(args), l.driver.loads...)
	switch {
	case l.virtual && len(files) > 0:
		return nil, nil, nil, wrongUse("leave out --virtual to use the files", "the virtual bench reads no file, and %s was given", files[0].path)
	case !l.virtual && len(files) == 0:
		return nil, nil, nil, wrongUse("name the sweeps, or try it without hardware: conewright lesson --virtual", "no file given")
	case l.audience != 0 && (l.out.json || l.out.csv || l.out.html != ""):
		return nil, nil, nil, wrongUse("ask for one of them at a time", "a handout is an HTML page of its own and cannot be JSON, CSV or a report as well")
	}
	if err := l.driver.bench.finish(); err != nil {
		return nil, nil, nil, err
	}
	if err := l.out.finish(); err != nil {
		return nil, nil, nil, err
	}
	if l.virtual {
		return virtualLesson(l.seed)
	}
	if err := l.out.spare(files, l.driver.bench.reads()...); err != nil {
		return nil, nil, nil, err
	}
	all, err := openAll(files, "", nil)
	if err != nil {
		return nil, nil, nil, err
	}
	defer all.close()
	sweeps, err := all.sweeps(l.driver.bench.reading())
	return all.inputs(""), sweeps, nil, err
}
