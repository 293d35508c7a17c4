package main

import (
	"fmt"
	"io"
	"strings"

	"conewright/cmd/internal/infile"
	"conewright/cmd/internal/inputs"
	"conewright/cmd/internal/quantity"
	"conewright/sweeps"
	"conewright/sweeps/bench"
)

var calibrateCommand = command{
	name:     "calibrate",
	synopsis: "[--channels FILE] [--short FILE] [--load 10.00ohm=FILE] [options]",
	summary:  "measure the errors of the bench itself",
	about: `Works out the errors of the bench from recordings of known things, and writes a file that
--calibration and the bench file take: both inputs on one point (channel gains), nothing between
the lead ends, lead ends joined, a known resistor. Any of them helps; all together correct the
whole bench. A second resistor shows how far off the result still is.
Volume all the way down before leads are joined, opened or changed; a power amplifier with its
output shorted can break or overheat. Keep the level of the measurement, and no more.`,
	examples: `
conewright calibrate --channels both.wav --resistor 10.02 -o bench.json
conewright calibrate --channels both.wav --open open.wav --short short.wav --load 10.00ohm=ten.wav --check 22.1ohm=twentytwo.wav --resistor 10.02`,
	setup: func(g *optionGroups) action {
		var c calibration
		c.define(g)
		return func(con *console, args []string) (answer, error) {
			if len(args) > 0 {
				return done, wrongUse("name recordings by their role: --channels FILE, --open FILE and so on", "it is not clear what %s is", args[0])
			}
			return done, c.run(con)
		}
	},
}

// calibration are the recordings of known things.
type calibration struct {
	channels, open, short string
	load, check           resistorFile
	loadTolerance         quantityOption
	bench                 benchOptions
	out                   outputOptions
}

func (c *calibration) define(g *optionGroups) {
	in := g.group("Recordings")
	in.StringVar(&c.channels, "channels", "", "`FILE` with both inputs on one point")
	in.StringVar(&c.open, "open", "", "`FILE` with nothing between the lead ends")
	in.StringVar(&c.short, "short", "", "`FILE` with the lead ends joined")
	in.Var(&c.load, "load", "a known resistor between the lead ends")
	c.loadTolerance = quantityOption{kind: quantity.Percent, lo: 0, hi: 0.2}
	quantityVar(in, &c.loadTolerance, "load-tolerance", "1%", "how far that resistor may be off")
	in.Var(&c.check, "check", "a second resistor, for an independent check")
	c.bench.define(g)
	c.out.file = "calibration.json"
	c.out.defineFile(g.group("Output"), "`FILE` to write")
}

// resistorFile is "10.00ohm=FILE".
type resistorFile struct {
	ohm  float64
	std  float64 // ohm, standard uncertainty by the way it was written
	path string
	text string
}

// Set reads the option.
func (r *resistorFile) Set(text string) error {
	size, path, ok := strings.Cut(text, "=")
	if !ok || path == "" {
		return &quantity.Error{Msg: fmt.Sprintf("%q does not name a resistor and its file", text), Advice: "write it as " + r.Type()}
	}
	ohm := quantityOption{kind: quantity.Resistance, lo: 0.01, hi: 1e6}
	if err := ohm.Set(size); err != nil {
		return err
	}
	r.ohm, r.std, r.path, r.text = ohm.value.SI, ohm.value.Std(), path, text
	return nil
}

// String returns the option as written.
func (r *resistorFile) String() string { return r.text }

// Type shows the form in help.
func (r *resistorFile) Type() string { return "10.00ohm=FILE" }

func (c *calibration) run(con *console) error {
	if c.channels == "" && c.open == "" && c.short == "" && c.load.path == "" {
		return wrongUse("conewright calibrate --channels both.wav --resistor 10.02", "no recording of a known thing given")
	}
	if err := c.bench.finish(); err != nil {
		return err
	}
	if err := checkTarget(c.out.file, c.out.force); err != nil {
		return err
	}
	var recordings []loadFile
	for _, path := range []string{c.channels, c.open, c.short, c.load.path, c.check.path} {
		if path != "" {
			recordings = append(recordings, loadFile{path: path})
		}
	}
	c.out.targets = []string{c.out.file}
	if err := c.out.spare(recordings, c.bench.reads()...); err != nil {
		return err
	}
	known := sweeps.Known{LoadOhm: c.load.ohm, LoadTolerance: c.loadTolerance.value.SI, CheckOhm: c.check.ohm}
	var seen inputs.Contents
	for _, part := range []struct {
		path, role string
		into       **bench.Recording
	}{{c.channels, "channels", &known.Channels}, {c.open, "open", &known.Open}, {c.short, "short", &known.Short},
		{c.load.path, "load", &known.Load}, {c.check.path, "check", &known.Check}} {
		if part.path == "" {
			continue
		}
		file, err := infile.Open(part.path)
		if err != nil {
			return err
		}
		defer file.Close()
		if err := seen.Add(inputs.File{Path: part.path, Role: part.role, Content: []string{file.SHA256()}}); err != nil {
			return err
		}
		if *part.into, err = sweeps.ReadRecording(file, file.Size(), part.path); err != nil {
			return err
		}
	}
	found, err := sweeps.Calibrate(known, c.bench.reading().Bench)
	if err != nil {
		return err
	}
	if err := writeFile(c.out.file, c.out.force, func(w io.WriteSeeker) error { return found.Write(w) }); err != nil {
		return err
	}
	return c.tell(con.out, found)
}

// tell says what was found and how to use it.
func (c *calibration) tell(w io.Writer, found *bench.Calibration) error {
	var b strings.Builder
	fmt.Fprintf(&b, "%s: calibration for the wiring %s with %.5g ohm\n", c.out.file, found.Wiring, found.Resistor)
	if check := found.Check; check != nil {
		fmt.Fprintf(&b, "\nThe second resistor of %.5g ohm reads %.5g ohm (%+.2f %%); the worst point is %.2f %% off, at %.3g Hz.\n",
			check.Ohm, check.Found, 100*check.Error(), 100*check.Worst, check.At)
		if check.Worst > 0.01 {
			b.WriteString("That is more than 1 %: check both resistors with a meter, the clips, and the level.\n")
		}
	}
	fmt.Fprintf(&b, "\nUse it with --calibration %s, or put into the bench file: calibration = %q\n", c.out.file, c.out.file)
	_, err := io.WriteString(w, b.String())
	return err
}
