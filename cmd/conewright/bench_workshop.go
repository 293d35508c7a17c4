package main

import (
	"errors"
	"fmt"
	"io"
	"io/fs"
	"maps"
	"os"
	"path/filepath"
	"slices"
	"strings"

	"conewright/cmd/internal/benchfile"
	"conewright/cmd/internal/benchjob"
	"conewright/cmd/internal/benchpage"
	"conewright/cmd/internal/quantity"
	"conewright/cmd/internal/report"
	"conewright/cmd/internal/savefile"
	"conewright/cmd/internal/specsheet"
	"conewright/cmd/internal/wording"
	"conewright/sweeps"
	"conewright/sweeps/bench"
	"conewright/sweeps/signal"
	"conewright/ts"
	"conewright/ts/measured"
	"conewright/ts/repeat"

	"github.com/spf13/pflag"
)

// pageSweep is what the page plays; the resonance is passed after a few seconds.
var pageSweep = signal.Signal{Lo: 5, Hi: 10000, Duration: 12}

// workshop is what the page asks of the commands.
type workshop struct {
	folder  string
	book    bookOption
	virtual *virtualBench // nil: a real one
	clamped uint64        // how often the virtual driver was clamped
	hung    demoRecording // the virtual driver that was swept last in free air
	swept   uint64
}

// options are the bench options of what was typed, checked like those of a command.
func (w *workshop) options(typed map[string]string) (*benchOptions, error) {
	var b benchOptions
	groups := newOptionGroups("bench")
	b.define(groups)
	if err := fill(groups.all(), "", typed); err != nil {
		return nil, err
	}
	if err := b.finish(); err != nil {
		return nil, err
	}
	_, table, err := w.lastBench()
	b.repeat = table
	return &b, err
}

// fill sets options to what was typed into fields, whose names have the prefix before those of
// the options. What cannot be read is said of its field.
func fill(options *pflag.FlagSet, prefix string, typed map[string]string) error {
	for _, name := range slices.Sorted(maps.Keys(typed)) {
		if typed[name] == "" {
			continue
		}
		if err := options.Set(name, typed[name]); err != nil {
			var value *pflag.InvalidValueError
			if errors.As(err, &value) {
				err = value.Unwrap()
			}
			return &benchpage.FieldError{Field: prefix + name, Err: err}
		}
	}
	return nil
}

// Settings reads what was typed.
func (w *workshop) Settings(typed map[string]string) (bench.Bench, measured.Conditions, error) {
	b, err := w.options(typed)
	if err != nil {
		return bench.Bench{}, measured.Conditions{}, err
	}
	return b.reading().Bench, b.conditions(), nil
}

// Mass reads a mass on the cone.
func (w *workshop) Mass(text string) (measured.Load, error) {
	f, err := loadKinds[0].parse(text, "")
	return f.load, err
}

// newFile writes text into a new file, whose name ends with the first number that is free; a file
// that holds the same already is taken as it is.
func newFile(dir, name, ending, content string) (path string, err error) {
	for i := 1; ; i++ {
		path = filepath.Join(dir, fmt.Sprintf("%s-%d%s", name, i, ending))
		switch old, err := os.ReadFile(path); {
		case errors.Is(err, fs.ErrNotExist):
			return path, savefile.Write(path, false, text(content))
		case err == nil && string(old) == content:
			return path, nil
		case err != nil:
			return "", err
		}
	}
}

// lastBenchFile is the bench of the last job; only the page writes it.
const lastBenchFile = "last-bench.toml"

// Keep writes down the bench for the next time, and keeps how it repeats. A file that cannot
// be read is left as it is.
func (w *workshop) Keep(typed map[string]string) error {
	_, table, err := w.lastBench()
	if err != nil {
		return err
	}
	var text strings.Builder
	text.WriteString("# The bench of the last job. The bench page writes this file anew each time, and keeps what\n# conewright repeat --save added.\n")
	for _, name := range benchjob.BenchNames {
		if v := typed[name]; v != "" {
			fmt.Fprintf(&text, "%s = %q\n", name, v)
		}
	}
	text.WriteString(benchfile.Repeatability(table))
	return savefile.Write(w.lastBenchPath(), true, func(f io.WriteSeeker) error {
		_, err := io.WriteString(f, text.String())
		return err
	})
}

func (w *workshop) lastBenchPath() string { return filepath.Join(w.folder, lastBenchFile) }

// lastBench is the bench of the last time and how it repeats; nothing when there was none.
func (w *workshop) lastBench() (typed map[string]string, table repeat.Bench, err error) {
	if _, err := os.Stat(w.lastBenchPath()); errors.Is(err, fs.ErrNotExist) {
		return nil, table, nil
	}
	var b benchOptions
	b.define(newOptionGroups("bench"))
	if table, err = benchfile.Apply(w.lastBenchPath(), b.options); err != nil {
		return nil, repeat.Bench{}, err
	}
	typed = map[string]string{}
	for _, name := range benchjob.BenchNames {
		if f := b.options.Lookup(name); f.Changed {
			typed[name] = f.Value.String()
		}
	}
	return typed, table, nil
}

// begin is the job to begin with: the bench of the last time where that can be read, and on
// a virtual bench what is known of its driver.
func (w *workshop) begin() benchjob.Job {
	typed, _, _ := w.lastBench() // an error is told as soon as the bench is used
	j := benchjob.New(typed)
	if w.virtual != nil {
		j = benchjob.New(map[string]string{"wiring": "resistor-first", "resistor": "10.02 ohm", "resistor-tolerance": "0.5 %", "diameter": "210 mm", "temperature": "20 C"})
		j.Name, j.Sheet = "left woofer", filepath.Join(w.folder, "larch.toml")
	}
	return j
}

// Answer compares before and after, or judges or fits what there is.
func (w *workshop) Answer(dir string, j benchjob.Job) (*report.Report, string, error) {
	b, err := w.options(j.Options())
	if err != nil {
		return nil, "", err
	}
	before, err := w.files(dir, j.UsedIn(benchjob.Before))
	if err != nil {
		return nil, "", err
	}
	after, err := w.files(dir, j.UsedIn(benchjob.After))
	if err != nil {
		return nil, "", err
	}
	sheet := &specOption{path: j.Sheet}
	spec, err := sheet.of(specsheet.Driver)
	if err != nil {
		return nil, "", err
	}
	if spec == nil { // it has limits for the box or for parts
		j.Sheet, sheet = "", &specOption{}
	}
	if j.Phase == benchjob.After && len(before) > 0 {
		sides, err := b.repair(before, after, nil)
		if err != nil {
			return nil, "", err
		}
		r, err := comparison{sides: sides, sheet: sheet}.report()
		return r, w.command(j, "compare"), err
	}
	side, inputs, err := fitSide(append(before, after...), b, "", nil)
	if err != nil {
		return nil, "", err
	}
	job := report.Job{Version: version(), Inputs: inputs, Spec: sheet.input}
	if spec == nil {
		return report.Fit(job, side), w.command(j, "fit"), nil
	}
	checked, err := ts.Check(side.Parameters, *spec)
	if err != nil {
		return nil, "", err
	}
	return report.Check(job, side, checked), w.command(j, "check"), nil
}

// files are those of sweeps.
func (w *workshop) files(dir string, list []benchjob.Sweep) ([]loadFile, error) {
	var files []loadFile
	for _, s := range list {
		f := loadFile{path: filepath.Join(dir, s.File)}
		if s.Mass != "" {
			load, err := w.Mass(s.Mass)
			if err != nil {
				return nil, err
			}
			f.load = load
		}
		files = append(files, f)
	}
	return files, nil
}

// command is what gives the same answer in the folder of the job.
func (w *workshop) command(j benchjob.Job, name string) string {
	words := []string{"conewright", name}
	for _, s := range append(j.UsedIn(benchjob.Before), j.UsedIn(benchjob.After)...) {
		option, file := "", s.File
		if s.Mass != "" {
			option, file = "mass", s.Mass+"="+file
		}
		if name == "compare" {
			option = strings.TrimSuffix(string(s.Phase)+"-"+option, "-")
		}
		if option != "" {
			words = append(words, "--"+option)
		}
		words = append(words, quoted(file))
	}
	if j.Sheet != "" {
		words = append(words, "--spec", quoted(j.Sheet))
	}
	if _, table, err := w.lastBench(); err == nil && benchfile.Summary(table) != "" {
		words = append(words, "--bench", quoted(w.lastBenchPath()))
	}
	options := j.Options()
	for _, name := range slices.Sorted(maps.Keys(options)) {
		switch v := options[name]; {
		case v == "true":
			words = append(words, "--"+name)
		case v != "":
			words = append(words, "--"+name, quoted(v))
		}
	}
	return strings.Join(words, " ")
}

// quoted is a word for the shell.
func quoted(word string) string {
	if strings.ContainsAny(word, " \t'\"\\$&|;<>()*?`#~!") {
		return "'" + strings.ReplaceAll(word, "'", `'\''`) + "'"
	}
	return word
}

// furnish puts the spec sheet of the invented woofer into the folder of a virtual bench.
func (w *workshop) furnish() error {
	path := filepath.Join(w.folder, "larch.toml")
	if _, err := os.Stat(path); err == nil {
		return nil
	}
	return savefile.Write(path, false, text(demoSheet))
}

// Mishaps are what can go wrong on the virtual bench.
func (w *workshop) Mishaps() []string {
	if w.virtual == nil {
		return nil
	}
	return mishapWords[:]
}

// Prepare puts the driver onto the virtual bench as it is at that time, with the mass on its
// cone. Taken off and put back, it is a little different each time.
func (w *workshop) Prepare(next benchjob.Sweep, goesWrong string) {
	if w.virtual == nil {
		return
	}
	if next.Phase == benchjob.OfParts {
		w.swept++
		w.virtual.hang(w.virtualPart(next.Part).impedance, noMishap, w.swept)
		return
	}
	wrong := mishap(max(0, slices.Index(mishapWords[:], goesWrong)))
	if next.Phase.InCabinet() {
		w.swept++
		w.virtual.hang(w.inCabinet(next.Phase), wrong, w.swept)
		return
	}
	recording := demoRecordings()[0]
	if next.Phase == benchjob.After {
		recording = demoRecordings()[2]
	}
	w.hung = recording
	if next.Kind == benchjob.Reclamped || w.clamped == 0 || next.Number == 1 && next.Mass == "" {
		w.clamped++
	}
	w.swept++
	mass := 0.0
	if load, err := w.Mass(next.Mass); err == nil {
		mass = load.Value * 1.002 // no scale is exact
	}
	w.virtual.connect(recording.thatDay(w.clamped), mass, wrong, w.swept)
}

// knownResistor reads the resistor of a check.
func knownResistor(text string) (ohm, tolerance float64, err error) {
	o := quantityOption{kind: quantity.Resistance, lo: 0.1, hi: 1e5}
	if err := o.Set(text); err != nil {
		return 0, 0, &benchpage.FieldError{Field: "ohm", Err: err}
	}
	if o.value.Stated {
		return o.value.SI, o.value.Tolerance / o.value.SI, nil
	}
	return o.value.SI, 0.01, nil // common practice for a resistor that was read with a meter
}

// PrepareCheck puts a part of the check onto the virtual bench: a resistor, or nothing, so
// that both inputs see the amplifier's output.
func (w *workshop) PrepareCheck(part benchpage.Part, text string) error {
	ohm := 1e9
	if part == benchpage.Resistor {
		var err error
		if ohm, _, err = knownResistor(text); err != nil {
			return err
		}
	}
	if w.virtual != nil {
		w.swept++
		w.virtual.hang(func(float64) complex128 { return complex(ohm, 0) }, noMishap, w.swept)
	}
	return nil
}

// Check finds the wiring by the known resistor, and corrects the bench by what was recorded:
// the calibration becomes a new file in the folder.
func (w *workshop) Check(typed map[string]string, c benchpage.Checked) (map[string]string, []string, error) {
	better := maps.Clone(typed)
	delete(better, "calibration")
	var found []string
	known := sweeps.Known{Channels: c.Channels}
	if c.Resistor != nil {
		ohm, tolerance, err := knownResistor(c.Ohm)
		if err != nil {
			return nil, nil, err
		}
		b, err := w.options(better)
		if err != nil {
			return nil, nil, err
		}
		is, err := sweeps.Recognise(c.Resistor, b.resistor.value.SI, ohm)
		if err != nil {
			return nil, nil, err
		}
		known.Load, known.LoadOhm, known.LoadTolerance = c.Resistor, ohm, tolerance
		better["wiring"] = is.Wiring.String()
		delete(better, "swap-channels")
		if is.SwapChannels {
			better["swap-channels"] = "true"
		}
		found = append(found, wording.Connected(is))
	}
	b, err := w.options(better)
	if err != nil {
		return nil, nil, err
	}
	calibration, err := sweeps.Calibrate(known, b.reading().Bench)
	if err != nil {
		return nil, nil, err
	}
	var content strings.Builder
	if err := calibration.Write(&content); err != nil {
		return nil, nil, err
	}
	path, err := newFile(w.folder, "calibration", ".json", content.String())
	if err != nil {
		return nil, nil, err
	}
	better["calibration"] = path
	return better, append(found, wording.Calibration(calibration)...), nil
}
