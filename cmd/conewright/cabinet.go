package main

import (
	"fmt"
	"slices"
	"strings"

	"conewright/cmd/internal/book"
	"conewright/cmd/internal/inputs"
	"conewright/cmd/internal/networkfile"
	"conewright/cmd/internal/quantity"
	"conewright/cmd/internal/report"
	"conewright/cmd/internal/saved"
	"conewright/cmd/internal/specsheet"
	"conewright/cmd/internal/wording"
	"conewright/ts"
	"conewright/ts/boxed"
	"conewright/ts/cabinet"
	"conewright/ts/measured"
	"conewright/ts/param"
	"conewright/ts/terminals"

	"github.com/spf13/pflag"
)

var cabinetCommand = command{
	name:     "cabinet",
	synopsis: "FILE... [options], or --before FILE --after FILE",
	summary:  "a driver in its cabinet: the box, and what is wrong with it",
	about: `Finds what a closed or a vented box is from the impedance of the driver in it: Fc and Qtc, or the
tuning of the port, and the losses of the box. FILE is a sweep at the terminals of the driver;
several are repeats. With the driver as it is in free air (--driver, a saved fit or its sweep) the
volume that the air acts as is found too; with --volume and --tuning the box is held against what
it should be. Two boxes, or one before and after, are compared directly, and what differs is named.
With the list of the parts of its network (--network) a whole loudspeaker is held against it, and
the part that is open or off is named.`,
	examples: `
conewright cabinet box.wav --driver fit.json --volume 60L --resistor 10.02
conewright cabinet box.wav --driver fit.json --volume 60L --tuning 30Hz --bench bench.toml
conewright cabinet --before before.wav --after after.wav --resistor 10.02
conewright cabinet --left left.wav --right right.wav --json
conewright cabinet --before before.wav --after after.wav --network network.toml`,
	setup: func(g *optionGroups) action {
		var q cabinetOptions
		q.define(g)
		return q.run
	},
}

// cabinetOptions are those of the command.
type cabinetOptions struct {
	before, after, left, right []string
	driver                     []string
	network                    string
	box                        boxOptions
	sheet                      specOption
	bench                      benchOptions
	out                        outputOptions
}

func (q *cabinetOptions) define(g *optionGroups) {
	in := g.group("Sweeps")
	in.StringArrayVar(&q.before, "before", nil, "`FILE` of a sweep in the cabinet before (repeatable)")
	in.StringArrayVar(&q.after, "after", nil, "`FILE` of a sweep in the cabinet after (repeatable)")
	in.StringArrayVar(&q.left, "left", nil, "`FILE` of a sweep of the left cabinet (repeatable)")
	in.StringArrayVar(&q.right, "right", nil, "`FILE` of a sweep of the right cabinet (repeatable)")
	box := g.group("Driver and box")
	box.StringArrayVar(&q.driver, "driver", nil, "`FILE` of the driver in free air: a saved fit, a sweep, or a job; with --network NAME=FILE (repeatable)")
	box.StringVar(&q.network, "network", "", "TOML `FILE` with the parts of the dividing network: the sweep is of the whole loudspeaker at its terminals")
	q.box.defineIn(box)
	q.sheet.define(g)
	q.bench.define(g)
	q.out.define(g)
}

// boxOptions are what is known of a box.
type boxOptions struct {
	closed, vented bool
	volume, tuning quantityOption
}

func (o *boxOptions) defineIn(box *pflag.FlagSet) {
	o.volume = quantityOption{kind: quantity.Volume, lo: 1e-4, hi: 5}
	o.tuning = quantityOption{kind: quantity.Frequency, lo: 5, hi: 200}
	quantityVar(box, &o.volume, "volume", "", "inside the cabinet, without what stands in it")
	quantityVar(box, &o.tuning, "tuning", "", "that the port should have")
	box.BoolVar(&o.closed, "closed", false, "the box is closed; found from the number of peaks if left out")
	box.BoolVar(&o.vented, "vented", false, "the box has a port")
}

// given says whether anything is said of the box.
func (o *boxOptions) given() bool { return o.closed || o.vented || o.volume.given || o.tuning.given }

func (o *boxOptions) check() error {
	if o.closed && o.vented {
		return wrongUse("give one of the two", "both --closed and --vented are given")
	}
	return nil
}

// kind is the kind of box that is stated.
func (o *boxOptions) kind() boxed.Kind {
	switch {
	case o.closed:
		return boxed.Closed
	case o.vented:
		return boxed.Vented
	}
	return boxed.ByCurve
}

// known is what is known of the box with the driver as it is in free air; nil: not known.
func (o *boxOptions) known(driver *param.Parameters) boxed.Known {
	return boxed.Known{Kind: o.kind(), Driver: driver, Volume: o.volume.value.SI, Tuning: o.tuning.value.SI}
}

// sides are the files by their labels.
func (q *cabinetOptions) sides(args []string) ([]repairSide, error) {
	one, two := [2]string{"before", "after"}, [2]string{"left", "right"}
	var names [2]string
	var files [2][]string
	switch pair, sides := len(q.before)+len(q.after) > 0, len(q.left)+len(q.right) > 0; {
	case pair && sides || (pair || sides) && len(args) > 0:
		return nil, wrongUse("name FILE, or --before and --after, or --left and --right", "it is not clear which files belong together")
	case pair:
		names, files = one, [2][]string{q.before, q.after}
	case sides:
		names, files = two, [2][]string{q.left, q.right}
	case len(args) == 0:
		return nil, wrongUse("name the file of the sweep: conewright cabinet box.wav", "no file given")
	default:
		from, err := q.bench.cabinetSide(freeFiles(args))
		return []repairSide{{from, ""}}, err
	}
	var all []repairSide
	for i, name := range names {
		if len(files[i]) == 0 {
			return nil, wrongUse(fmt.Sprintf("add --%s FILE", name), "two sweeps are compared, and --%s is missing", name)
		}
		from, err := q.bench.cabinetSide(freeFiles(files[i]))
		if err != nil {
			return nil, err
		}
		all = append(all, repairSide{from, name})
	}
	return all, nil
}

func (q *cabinetOptions) run(c *console, args []string) (answer, error) {
	if err := q.box.check(); err != nil {
		return done, err
	}
	if err := q.bench.finish(); err != nil {
		return done, err
	}
	if err := q.out.finish(); err != nil {
		return done, err
	}
	sources, err := q.sides(args)
	if err != nil {
		return done, err
	}
	read := append(q.bench.reads(), q.sheet.reads()...)
	spec, err := q.sheet.needed(specsheet.Box)
	if err != nil {
		return done, err
	}
	for _, d := range q.driver {
		_, path := q.named(d)
		read = append(read, inputs.File{Path: path})
	}
	if q.network != "" {
		read = append(read, inputs.File{Path: q.network})
	}
	for _, s := range sources {
		if err := q.out.spare(s.files, read...); err != nil {
			return done, err
		}
	}
	job := report.Job{Version: version(), All: q.out.all}
	var seen inputs.Contents
	if q.network != "" {
		return q.fingerprint(c, job, sources, &seen)
	}
	known := q.box.known(nil)
	switch len(q.driver) {
	case 0:
	case 1:
		free, used, err := q.fitted(q.driver[0], "driver", &seen)
		if err != nil {
			return done, err
		}
		known.Driver = free
		job.Inputs = append(job.Inputs, used...)
	default:
		return done, wrongUse("name the one in the cabinet; several go with --network", "--driver is given %d times", len(q.driver))
	}
	var sides []report.Side
	var curves []measured.Impedance
	in := &report.InCabinet{}
	for _, s := range sources {
		found, used, err := fitCabinet(s, known, &seen, len(sources) == 2)
		if err != nil {
			return done, err
		}
		sides, in.Measured, curves = append(sides, found.side), append(in.Measured, found.box), append(curves, found.curve)
		job.Inputs = append(job.Inputs, used...)
	}
	if slices.Contains(in.Measured, nil) {
		return done, q.whole(c, job, sides, curves)
	}
	if len(sides) == 2 {
		between := boxed.BeforeAfter
		if sides[0].Label == "left" {
			between = boxed.LeftRight
		}
		if in.Compared, err = boxed.Compare([2]*boxed.Measured(in.Measured), [2]measured.Impedance(curves), between); err != nil {
			return done, err
		}
	}
	if in.Level, err = levelIn(in.Measured[len(sides)-1], known.Driver); err != nil {
		return done, err
	}
	if spec == nil {
		return done, q.out.write(c, report.Cabinet(job, sides, in))
	}
	job.Spec = q.sheet.input
	if in.Checked, err = ts.Check(in.Measured[len(sides)-1].Parameters, *spec); err != nil {
		return done, err
	}
	return answerTo(in.Checked.Verdict), q.out.write(c, report.Cabinet(job, sides, in))
}

// named splits NAME=FILE of --driver, which stands beside --network only.
func (q *cabinetOptions) named(driver string) (name, path string) {
	if name, path, ok := strings.Cut(driver, "="); ok && q.network != "" {
		return name, path
	}
	return "", driver
}

// fitted is the fit of a driver in free air.
func (q *cabinetOptions) fitted(path, label string, seen *inputs.Contents) (*param.Parameters, []saved.Input, error) {
	from, err := q.bench.side(freeFiles([]string{path}), book.Driver.After)
	if err != nil {
		return nil, nil, err
	}
	free, used, err := fitSide(from.files, from.bench, label, seen)
	if err != nil {
		return nil, nil, err
	}
	return &free.Parameters, used, nil
}

// fingerprint holds a whole loudspeaker against the list of its parts.
func (q *cabinetOptions) fingerprint(c *console, job report.Job, sources []repairSide, seen *inputs.Contents) (answer, error) {
	if q.box.given() || q.sheet.path != "" {
		return done, wrongUse("leave out --spec, --volume, --tuning, --closed and --vented, or sweep the driver without its network", "--network is about a whole loudspeaker")
	}
	list, data, err := networkfile.Read(q.network)
	if err != nil {
		return done, err
	}
	job.Spec = &report.SpecInput{Path: q.network, SHA256: hashOf(data)}
	for _, d := range q.driver {
		name, path := q.named(d)
		label := "driver"
		if name != "" {
			label = name
		}
		free, used, err := q.fitted(path, label, seen)
		if err != nil {
			return done, err
		}
		if list, err = terminals.WithDriver(list, name, *free); err != nil {
			return done, err
		}
		job.Inputs = append(job.Inputs, used...)
	}
	var sides []report.Side
	var curves []measured.Impedance
	for _, s := range sources {
		all, err := openAll(s.files, s.label, seen)
		if err != nil {
			return done, err
		}
		defer all.close()
		sweeps, err := all.sweeps(s.bench.reading())
		if err != nil {
			return done, err
		}
		used := all.inputs(s.label)
		job.Inputs = append(job.Inputs, used...)
		curves = append(curves, sweeps[0].Impedance)
		side := report.Side{Label: s.label, Bench: s.bench.record(), Noticed: wording.Notices(sweeps[0].Impedance.Warnings)}
		sides = append(sides, side)
	}
	var ref *terminals.Reference
	if len(curves) == 2 {
		ref = &terminals.Reference{Curve: curves[0], Twin: sides[0].Label == "left"}
	}
	found, err := terminals.Fingerprint(curves[len(curves)-1], list, ref)
	if err != nil {
		return done, err
	}
	return done, q.out.write(c, report.Fingerprint(job, sides, found))
}

// inCabinet is one box, measured.
type inCabinet struct {
	side  report.Side
	box   *boxed.Measured
	curve measured.Impedance // of the first sweep
}

// whole compares two whole loudspeakers without a list of their parts.
func (q *cabinetOptions) whole(c *console, job report.Job, sides []report.Side, curves []measured.Impedance) error {
	if len(q.driver) > 0 || q.box.volume.given || q.box.tuning.given || q.sheet.path != "" {
		return wrongUse("leave out --spec, --driver, --volume and --tuning, or sweep the driver without its network; say --closed or --vented if it is one driver", "the curves are those of whole loudspeakers")
	}
	compared, err := boxed.CompareWhole([2]measured.Impedance(curves))
	if err != nil {
		return err
	}
	return q.out.write(c, report.WholeCompared(job, sides, compared))
}

// fitCabinet reads and fits one box; no data of it may have been seen. Of two that are compared a whole loudspeaker is not fitted, unless its box
// was said to be closed or vented: box is nil.
func fitCabinet(s repairSide, known boxed.Known, seen *inputs.Contents, compared bool) (found inCabinet, used []saved.Input, err error) {
	all, err := openAll(s.files, s.label, seen)
	if err != nil {
		return found, nil, err
	}
	defer all.close()
	for _, f := range all {
		if f.old != nil {
			return found, nil, wrongUse("name the sweep in the cabinet; a saved fit of the driver goes to --driver", "%s is a saved fit", f.path)
		}
	}
	used = all.inputs(s.label)
	list, err := all.sweeps(s.bench.reading())
	if err != nil {
		return found, nil, err
	}
	if z := list[0].Impedance; compared && known.Kind == boxed.ByCurve && boxed.Several(z) {
		return inCabinet{report.Side{Label: s.label, Bench: s.bench.record(), Noticed: wording.Notices(z.Warnings)}, nil, z}, used, nil
	}
	box, err := boxed.Fit(list, s.bench.conditions(), known)
	if err != nil {
		return found, nil, err
	}
	side := report.NewCabinetSide(report.NewSide(s.label, used, s.bench.record(), list, box.Fit), box)
	return inCabinet{side, box, list[0].Impedance}, used, nil
}

// levels are the frequencies of the table, Hz.
var levels = []float64{20, 25, 31.5, 40, 50, 63, 80, 100, 125, 160, 200}

// levelIn is the response of the driver as it is in the box as it is; nil where one of the two is not known.
func levelIn(m *boxed.Measured, driver *param.Parameters) (*cabinet.Curve, error) {
	box, ok := m.Cabinet()
	if !ok || driver == nil {
		return nil, nil
	}
	curve, err := box.Levels(*driver, levels)
	return &curve, err
}
