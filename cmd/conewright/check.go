package main

import (
	"cmp"

	"conewright/cmd/internal/inputs"
	"conewright/cmd/internal/report"
	"conewright/cmd/internal/specsheet"
	"conewright/ts"
	"conewright/ts/lot"
	"conewright/ts/verdict"

	"github.com/spf13/pflag"
)

var checkCommand = command{
	name:     "check",
	synopsis: "FILE... --spec SHEET [options]",
	summary:  "one driver against its spec sheet",
	about: `Finds the parameters of one driver like "fit" and judges each against the limits of a spec
sheet: in spec, out of spec, or cannot tell yet because the uncertainty is too large.`,
	examples: `
conewright check after.wav --spec larch.toml --resistor 10.02
conewright check free.wav --mass 15.0g=added.wav --spec larch.toml --bench bench.toml --report sheet.html`,
	setup: func(g *optionGroups) action {
		var in driverOptions
		var sheet specOption
		var out outputOptions
		sheet.define(g)
		in.define(g)
		out.define(g)
		return func(c *console, args []string) (answer, error) {
			noSheet := wrongUse("add --spec SHEET; docs/formats.md shows one. Without a sheet use: conewright fit", "no spec sheet given")
			if sheet.path == "" && !isRef(freeFiles(args)) {
				return done, noSheet
			}
			spec, err := sheet.read()
			if err != nil {
				return done, err
			}
			job, side, err := in.fit(args, &out, sheet.reads()...)
			if err != nil {
				return done, err
			}
			if spec == nil {
				if sheet.orOf(in.found); sheet.path == "" {
					return done, noSheet
				}
				if spec, err = sheet.read(); err != nil {
					return done, err
				}
			}
			job.Spec = sheet.input
			checked, err := ts.Check(side.Parameters, *spec)
			if err != nil {
				return done, err
			}
			return answerTo(checked.Verdict), out.write(c, report.Check(job, side, checked))
		}
	},
}

// specOption names the spec sheet.
type specOption struct {
	path  string
	shown string            // its name where path is that of a raw file in the book
	input *report.SpecInput // set by read, like the limits of a pair
	pair  []lot.PairLimit
}

func (s *specOption) define(g *optionGroups) { s.defineIn(g.group("Spec sheet")) }

func (s *specOption) defineIn(fs *pflag.FlagSet) {
	fs.StringVar(&s.path, "spec", "", "TOML `SHEET` with the limits that the driver must meet")
}

// reads is the sheet as a file that is read.
func (s *specOption) reads() []inputs.File {
	if s.path == "" {
		return nil
	}
	return []inputs.File{{Path: s.path, Role: "the spec sheet"}}
}

// read reads the sheet; it returns nil when none was named.
func (s *specOption) read() (*verdict.Spec, error) {
	if s.path == "" {
		return nil, nil
	}
	sheet, data, err := specsheet.Read(s.path)
	if err != nil {
		return nil, err
	}
	s.input = &report.SpecInput{Path: cmp.Or(s.shown, s.path), SHA256: hashOf(data), Name: sheet.Name}
	s.pair = sheet.Pair
	return &sheet.Spec, nil
}
