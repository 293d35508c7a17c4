package main

import (
	"cmp"
	"fmt"

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
	other specsheet.Subject // of one of its limits
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

// read reads the sheet of a driver in free air; it returns nil when none was named.
func (s *specOption) read() (*verdict.Spec, error) { return s.needed(specsheet.Driver) }

// subjectWords say what the limits of a sheet are for, and which command takes them.
var subjectWords = map[specsheet.Subject][2]string{
	specsheet.Driver: {"a driver in free air", "conewright check"},
	specsheet.Box:    {"the box", "conewright cabinet"},
	specsheet.Part:   {"a part of the network", "conewright part"},
}

// needed reads the limits of the sheet about a subject and refuses a sheet that has none; it returns nil when no sheet was named.
func (s *specOption) needed(about specsheet.Subject) (*verdict.Spec, error) {
	limits, err := s.of(about)
	if err != nil || limits != nil || s.path == "" {
		return limits, err
	}
	if about == specsheet.Driver && s.pair != nil {
		return &verdict.Spec{Name: s.input.Name}, nil
	}
	return nil, wrongUse(fmt.Sprintf("%s takes what is in it", subjectWords[s.other][1]), "%s has no limit for %s, only for %s",
		cmp.Or(s.shown, s.path), subjectWords[about][0], subjectWords[s.other][0])
}

// of reads the limits of the sheet about a subject; it returns nil where there are none, or no sheet was named.
func (s *specOption) of(about specsheet.Subject) (*verdict.Spec, error) {
	if s.path == "" {
		return nil, nil
	}
	sheet, data, err := specsheet.Read(s.path)
	if err != nil {
		return nil, err
	}
	s.input = &report.SpecInput{Path: cmp.Or(s.shown, s.path), SHA256: hashOf(data), Name: sheet.Name}
	s.pair = sheet.Pair
	for _, l := range sheet.Limits {
		s.other = specsheet.SubjectOf(l.ID)
	}
	limits := sheet.Of(about)
	if len(limits.Limits) == 0 {
		return nil, nil
	}
	return &limits, nil
}
