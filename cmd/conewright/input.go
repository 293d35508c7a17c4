package main

import (
	"bytes"

	"conewright/cmd/internal/benchfile"
	"conewright/cmd/internal/book"
	"conewright/cmd/internal/infile"
	"conewright/cmd/internal/inputs"
	"conewright/cmd/internal/quantity"
	"conewright/cmd/internal/saved"
	"conewright/sweeps"
	"conewright/sweeps/bench"
	"conewright/ts/driver"
	"conewright/ts/measured"
	"conewright/ts/param"
	"conewright/ts/repeat"

	"github.com/spf13/pflag"
)

// benchOptions say how the driver was connected and what is known beside the
// sweeps.
type benchOptions struct {
	options     *pflag.FlagSet
	file        string
	book        string // folder of the book; empty: the usual one
	station     string
	columns     string
	wiring      bench.Wiring
	mounting    param.Mounting
	swap        bool
	alone       bool
	resistor    quantityOption
	resistorTol quantityOption
	leads       quantityOption
	dc          quantityOption
	dcTol       quantityOption
	diameter    quantityOption
	sd          quantityOption
	temperature quantityOption
	pressure    quantityOption
	humidity    quantityOption
	input       quantityOption
	fullScale   quantityOption
	channels    quantityOption
	calibrated  string
	calibration *bench.Calibration // read by finish
	repeats     repeat.Kind
	repeat      repeat.Bench // as the bench file says

	calibrationHash string // of its file
}

func (b *benchOptions) define(g *optionGroups) {
	fs := g.group("Bench")
	b.options = fs
	b.resistor = quantityOption{kind: quantity.Resistance, lo: 0.01, hi: 1e5, bareHi: 330, slip: "%sohm if it is that; 10.00 is written with a point"}
	b.resistorTol = quantityOption{kind: quantity.Percent, lo: 0, hi: 0.2}
	b.leads = quantityOption{kind: quantity.Resistance, lo: 0, hi: 10}
	b.dc = dcOption()
	b.dcTol = quantityOption{kind: quantity.Percent, lo: 1e-5, hi: 0.2}
	b.diameter = quantityOption{kind: quantity.Length, lo: 0.01, hi: 1, bareLo: 0.025, slip: "%sin, %scm or %smm"}
	b.sd = quantityOption{kind: quantity.Area, lo: 1e-4, hi: 1}
	b.temperature = quantityOption{kind: quantity.Temperature, lo: 233.15, hi: 373.15}
	b.pressure = quantityOption{kind: quantity.Pressure, lo: 40000, hi: 115000}
	b.humidity = quantityOption{kind: quantity.Percent, lo: 0, hi: 1}
	b.input = quantityOption{kind: quantity.Resistance, lo: 100, hi: 1e9}
	b.fullScale = quantityOption{kind: quantity.Voltage, lo: 1e-3, hi: 1e3}
	b.channels = quantityOption{kind: quantity.Percent, lo: 1e-7, hi: 0.1}

	fs.Var(wordOption[bench.Wiring]{&b.wiring, []bench.Wiring{bench.ResistorFirst, bench.DriverFirst, bench.Probes}}, "wiring", "where the two channels are connected")
	quantityVar(fs, &b.resistor, "resistor", "", "series resistor, as measured; needed for WAV files")
	quantityVar(fs, &b.resistorTol, "resistor-tolerance", "1%", "how far the resistor may be off")
	quantityVar(fs, &b.leads, "leads", "", "resistance of the leads between the point that is measured and the driver")
	fs.BoolVar(&b.swap, "swap-channels", false, "the two channels were recorded the other way round")
	quantityVar(fs, &b.input, "input-resistance", "", "of each input of the sound card, parallel to what it measures; infinite if left out")
	quantityVar(fs, &b.fullScale, "full-scale", "", "voltage at full scale of the inputs; lets the level and the travel be judged")
	quantityVar(fs, &b.channels, "channel-tolerance", "", "standard uncertainty of the ratio of the channels, where they were compared; 0.67 % (0.1 dB) and unlike AC coupling if left out and not calibrated")
	fs.StringVar(&b.calibrated, "calibration", "", "`FILE` that conewright calibrate wrote")
	fs.Lookup("calibration").Annotations = map[string][]string{benchfile.PathAnnotation: nil}
	quantityVar(fs, &b.dc, "dc", "", "meter reading of the coil's resistance, leads taken off")
	quantityVar(fs, &b.dcTol, "dc-tolerance", "1%", "how far the meter may be off")
	quantityVar(fs, &b.diameter, "diameter", "", "of the cone, from the middle of the surround to the middle of the surround")
	quantityVar(fs, &b.sd, "sd", "", "effective area of the cone, instead of --diameter")
	fs.Var(wordOption[param.Mounting]{&b.mounting, []param.Mounting{param.FreeAir, param.Baffle}}, "mounting", "what surrounds the driver")
	quantityVar(fs, &b.temperature, "temperature", "20C", "of the driver and the air")
	quantityVar(fs, &b.pressure, "pressure", "1013hPa", "of the air at the bench (not reduced to sea level)")
	quantityVar(fs, &b.humidity, "humidity", "50%", "relative humidity of the air")
	fs.StringVar(&b.station, "station", "", "`NAME` of this bench among several; kept with what is measured, and changes no result")
	fs.StringVar(&b.columns, "columns", "", "what the columns of a table without header hold, in `WORDS` such as Hz,ohm,deg")
	// Not of the bench but of one measurement, so no bench file may say it.
	g.group("Connection").BoolVar(&b.alone, "alone", false, "you looked: one driver alone, in free air, nothing on its cone but stated masses; ask no more")
	fs.Var(wordOption[repeat.Kind]{&b.repeats, []repeat.Kind{repeat.Again, repeat.Reclamped, repeat.Session}}, "repeat", "what lies between several sweeps of one condition")
	other := g.group("Bench file")
	other.StringVar(&b.file, "bench", "", "TOML `FILE` with any of the bench options; options override it")
	other.StringVar(&b.book, "book", "", "the book in which job:12/left is looked up, in place of the usual one: a folder or an address, as `BOOK`")
}

// dcOption is a meter reading of Re.
func dcOption() quantityOption { return quantityOption{kind: quantity.Resistance, lo: 0.1, hi: 2000} }

// mostCalibration is the size in bytes up to which a calibration is read; a usual one has
// some hundred thousand.
const mostCalibration = 16 << 20

// anyGiven says whether any option of the bench is given, here or in the bench file.
func (b *benchOptions) anyGiven() (any bool) {
	b.options.VisitAll(func(f *pflag.Flag) { any = any || f.Changed })
	return any
}

// noStation refuses a name of a station.
func noStation(name string) error {
	return wrongUse("use letters, digits, and . _ + - between them, such as bench-3", "%q is no name for a station", name)
}

// finish reads the bench file and checks that the options go together.
func (b *benchOptions) finish() error {
	if b.file != "" {
		var err error
		if b.repeat, err = benchfile.Apply(b.file, b.options); err != nil {
			return err
		}
	}
	if b.diameter.given && b.sd.given {
		return wrongUse("give one of the two", "both --diameter and --sd are given")
	}
	if b.station != "" && !book.IsName(b.station) {
		return noStation(b.station)
	}
	if b.calibrated == "" {
		return nil
	}
	data, err := infile.Small(b.calibrated, mostCalibration)
	if err != nil {
		return err
	}
	b.calibrationHash = hashOf(data)
	b.calibration, err = bench.ReadCalibration(bytes.NewReader(data), b.calibrated)
	return err
}

// reads are the files that describe the bench.
func (b *benchOptions) reads() []inputs.File {
	var list []inputs.File
	if b.file != "" {
		list = append(list, inputs.File{Path: b.file, Role: "the bench file"})
	}
	if b.calibrated != "" {
		list = append(list, inputs.File{Path: b.calibrated, Role: "the calibration"})
	}
	return list
}

// reading says how files become impedances.
func (b *benchOptions) reading() sweeps.Options {
	return sweeps.Options{
		Columns: b.columns,
		Bench: bench.Bench{
			Wiring: b.wiring, Resistor: b.resistor.value.SI, ResistorTolerance: b.resistorTol.value.SI,
			Leads: b.leads.value.SI, LeadsStd: b.leads.value.Std(), SwapChannels: b.swap,
			InputResistance: b.input.value.SI, FullScale: b.fullScale.value.SI, ChannelTolerance: b.channels.value.SI,
			Calibration: b.calibration,
		},
	}
}

// conditions is what is known beside the sweeps.
func (b *benchOptions) conditions() measured.Conditions {
	repeats := b.repeat.Over(repeat.Usual)
	c := measured.Conditions{
		Mounting:    b.mounting,
		Temperature: known(b.temperature),
		Pressure:    known(b.pressure),
		Humidity:    b.humidity.value.SI,
		Sd:          unsaid(b.sd, 2*unsaidDiameter),
		DCRe:        known(b.dc),
		Alone:       b.alone,

		Repeatability: &repeats, Repeats: b.repeats,
	}
	if !b.pressure.given {
		c.Pressure.Std = unknownPressure * c.Pressure.Value
	}
	if b.diameter.given {
		d := unsaid(b.diameter, unsaidDiameter)
		sd := driver.SdFromDiameter(d.Value)
		c.Sd = param.Quantity{Value: sd, Std: 2 * d.Std / d.Value * sd}
	}
	if b.dc.given && !b.dc.value.Stated {
		// The digits of a meter say less about it than its accuracy does.
		meter := quantity.Value{Tolerance: b.dcTol.value.SI * b.dc.value.SI}
		c.DCRe.Std = max(c.DCRe.Std, meter.Std())
	}
	return c
}

// Relative standard uncertainties of lengths whose digits alone say how exact they are. Where the middle of a surround is,
// and what moves there, is known to 1 mm in 200; a box has a hole, a driver that reaches in, and walls that give. Common practice.
const (
	unsaidDiameter = 0.005
	unsaidVolume   = 0.01
)

// unsaid is what is known of a quantity whose digits say less about it than the part given of it does.
func unsaid(o quantityOption, part float64) param.Quantity {
	q := known(o)
	if o.given && !o.value.Stated {
		q.Std = max(q.Std, part*q.Value)
	}
	return q
}

// unknownPressure is the relative standard uncertainty of an air pressure that was not given: the weather moves it
// by 1 %, and 500 m of altitude by 6 % (standard atmosphere).
const unknownPressure = 0.03

// record is how it was measured, for the report.
func (b *benchOptions) record() saved.Settings {
	var list saved.Settings
	b.options.VisitAll(func(f *pflag.Flag) {
		if f.Name == "resistor-tolerance" && !b.resistor.given || f.Name == "dc-tolerance" && !b.dc.given {
			return // of nothing
		}
		if f.Name == "repeat" && !f.Changed {
			return // mostly there is one sweep
		}
		if v := f.Value.String(); v != "" && v != "false" {
			list = append(list, saved.Setting{Name: f.Name, Value: v})
		}
	})
	if found := benchfile.Summary(b.repeat); found != "" {
		list = append(list, saved.Setting{Name: benchfile.Table, Value: found})
	}
	return list
}

// known is the value of an option as ts wants it.
func known(o quantityOption) param.Quantity {
	return param.Quantity{Value: o.value.SI, Std: o.value.Std()}
}
