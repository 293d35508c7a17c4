package main

import (
	"context"
	"fmt"
	"maps"
	"runtime"
	"runtime/debug"
	"slices"
	"strings"
	"time"

	"conewright/cmd/internal/book"
	"conewright/cmd/internal/dayfiles"
	"conewright/cmd/internal/report"

	"github.com/spf13/pflag"
)

var statsCommand = command{
	name:     "stats",
	synopsis: "DIR|book:TYPE [--spec SHEET] [options]",
	summary:  "many days and stations: control charts, capability",
	about: `Says how the units of one type were, day by day and station by station: their spread, the capability
against the limits of a sheet, and control charts of the means. Units are read from a folder that
"job units" wrote, or from the book, book:Larch-25. It keeps sums and no units, so that there may
be millions; "batch book:Larch-25" lists the units themselves.`,
	examples: `
conewright stats production --type Larch-25 --spec larch.toml
conewright stats book:Larch-25 --from 2026-11-01 --to 2026-11-30 --json`,
	setup: func(g *optionGroups) action {
		var s statsJob
		s.define(g)
		return s.run
	},
}

// dayOptions say of which days.
type dayOptions struct{ from, to string }

func (o *dayOptions) define(fs *pflag.FlagSet) {
	fs.StringVar(&o.from, "from", "", "leave out what was measured before this `DAY`, such as 2026-11-01 (UTC)")
	fs.StringVar(&o.to, "to", "", "leave out what was measured after this `DAY`")
}

func (o *dayOptions) finish() error {
	for _, d := range []struct{ name, day string }{{"--from", o.from}, {"--to", o.to}} {
		if _, err := time.Parse(time.DateOnly, d.day); d.day != "" && err != nil {
			return wrongUse("write year, month and day: "+d.name+" 2026-11-01", "%s %q is no day", d.name, d.day)
		}
	}
	if o.from != "" && o.to != "" && o.from > o.to {
		return wrongUse("exchange the two", "--from %s is after --to %s", o.from, o.to)
	}
	return nil
}

// statsJob is one run of the command.
type statsJob struct {
	days           dayOptions
	kind           string
	station, stage string
	sheet          specOption
	book           bookOption
	out            outputOptions

	lot   *report.Days
	types map[string]int
}

func (s *statsJob) define(g *optionGroups) {
	fs := g.group("Units")
	fs.StringVar(&s.kind, "type", "", "`NAME` of the type, where the folder has several")
	s.days.define(fs)
	fs.StringVar(&s.station, "station", "", "only the units of the station of this `NAME`")
	fs.StringVar(&s.stage, "stage", book.AsReceived, "`STAGE` at which the units were measured")
	s.sheet.define(g)
	s.book.define(g.group("Book"))
	fs = g.group("Output")
	fs.BoolVar(&s.out.json, "json", false, "write JSON instead of text: SI units, full precision, every point of the charts")
	s.out.defineFile(fs, "write the result to this `FILE` instead of the screen")
}

func (s *statsJob) run(c *console, args []string) (answer, error) {
	if len(args) != 1 {
		return done, wrongUse("conewright stats production, or conewright stats book:Larch-25", "one folder or type is needed, %d given", len(args))
	}
	if err := s.days.finish(); err != nil {
		return done, err
	}
	if err := s.out.finish(); err != nil {
		return done, err
	}
	kind, fromBook := book.IsWhole(args[0])
	switch {
	case fromBook && kind == "":
		return done, wrongUse("name the type: conewright stats book:Larch-25", "units of several types are no lot")
	case fromBook && s.kind != "" && s.kind != kind:
		return done, wrongUse("leave --type out", "two types are named, %s and %s", kind, s.kind)
	case fromBook:
		s.kind = kind
	}
	spec, err := s.sheet.read()
	if err != nil {
		return done, err
	}
	if err := s.out.spare(nil, s.sheet.reads()...); err != nil {
		return done, err
	}
	defer debug.SetGCPercent(debug.SetGCPercent(400)) // as for a batch of files
	defer debug.SetMemoryLimit(debug.SetMemoryLimit(batchMemory))
	if s.lot, err = report.NewDays(spec); err != nil {
		return done, err
	}
	s.types = map[string]int{}
	wanted := book.Days{Type: s.kind, Station: s.station, Stage: s.stage, From: s.days.from, To: s.days.to}
	if fromBook {
		err = s.readBook(wanted)
	} else {
		err = s.readFolder(args[0], wanted)
	}
	if err == nil {
		err = s.oneType()
	}
	if err != nil {
		return done, err
	}
	return done, s.out.write(c, report.Production(report.Job{Version: version(), Spec: s.sheet.input}, s.kind, s.lot))
}

// add takes in one group of units.
func (s *statsJob) add(g *dayfiles.Group) error {
	for kind, n := range g.Types {
		s.types[kind] += n
	}
	s.lot.Add(g)
	return nil
}

func (s *statsJob) readBook(wanted book.Days) error {
	return s.book.with(false, func(ctx context.Context, b *book.Book) error {
		groups := dayfiles.NewGrouped(s.add)
		if err := b.EachMeasured(ctx, wanted, groups.Add); err != nil {
			return err
		}
		return groups.End()
	})
}

// readFile is a file that was read.
type readFile struct {
	group *dayfiles.Group
	err   error
}

func (s *statsJob) readFolder(folder string, wanted book.Days) error {
	parts, err := dayfiles.Parts(folder, wanted)
	if err != nil {
		return err
	}
	if len(parts) == 0 {
		return wrongUse("name the folder that conewright job units wrote; it has folders such as day=2026-11-27/station=3", "there are no units in %s of these days and stations", folder)
	}
	read := func(i int) (r readFile) {
		r.group, r.err = parts[i].Read(wanted)
		return r
	}
	return ordered(context.Background(), len(parts), runtime.NumCPU(), read, func(_ int, r readFile) error {
		if r.err != nil {
			return r.err
		}
		return s.add(r.group)
	})
}

// oneType checks that the units are of one type, and that there are some.
func (s *statsJob) oneType() error {
	kinds := slices.Sorted(maps.Keys(s.types))
	named := make([]string, len(kinds))
	for i, k := range kinds {
		named[i] = fmt.Sprintf("%q", k)
	}
	const most = 8
	if len(named) > most {
		named = append(named[:most], "...")
	}
	there := strings.Join(named, ", ")
	switch {
	case s.kind == "" && len(kinds) > 1:
		return wrongUse("name one with --type: "+there, "there are units of %d types", len(kinds))
	case s.lot.Units > 0:
		if s.kind == "" {
			s.kind = kinds[0]
		}
		return nil
	case len(kinds) == 0:
		return wrongUse("--stage, --from, --to and --station choose others", "there is no such unit at the stage %s", s.stage)
	}
	return wrongUse("there are units of "+there, "there is no unit of the type %q", s.kind)
}
