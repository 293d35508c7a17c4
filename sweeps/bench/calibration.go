package bench

import (
	"encoding/json"
	"fmt"
	"io"
	"math"
	"slices"

	"conewright/sweeps/fault"
)

// calibrationSchema names the file format.
const calibrationSchema = "conewright/calibration/1"

// Calibration is what recordings of known things said about a bench. Each part
// may be missing.
type Calibration struct {
	Wiring   Wiring
	Resistor float64 // ohm, as the bench had it

	Channels Curve // ratio of the channels when both hear the same point
	Open     Curve // siemens, reading with nothing between the lead ends
	Short    Curve // ohm, reading with the lead ends joined
	Load     Curve // ohm, reading with a known resistor between the lead ends

	LoadOhm       float64 // ohm of that resistor
	LoadTolerance float64 // relative half-width, rectangular

	Check *CheckResult // of a second resistor; nil when there was none
}

// Curve is a complex quantity over frequency with its noise.
type Curve struct {
	Freq  []float64 // Hz, increasing
	Value []complex128
	Std   []float64 // standard deviation of each part of Value
}

func (c Curve) Given() bool { return len(c.Freq) > 0 }

// place returns the points of c to either side of f and how far f lies between
// them; outside the curve its end is taken.
func (c Curve) place(f float64) (lo, hi int, part float64) {
	i, _ := slices.BinarySearch(c.Freq, f)
	switch {
	case i == 0:
		return 0, 0, 0
	case i == len(c.Freq):
		return i - 1, i - 1, 0
	}
	return i - 1, i, (f - c.Freq[i-1]) / (c.Freq[i] - c.Freq[i-1])
}

// At returns the value at f (Hz) on the straight line between the neighbours.
func (c Curve) At(f float64) complex128 {
	lo, hi, part := c.place(f)
	return c.Value[lo] + complex(part, 0)*(c.Value[hi]-c.Value[lo])
}

// correct returns the impedance between the lead ends for the reading z (ohm)
// at f (Hz). With readings Yo (open, as admittance), Zs (short) and Zl (load,
// really Zstd):
//
//	Z = k (z - Zs)/(1 - z Yo),   k = Zstd (1 - Zl Yo)/(Zl - Zs), without a load 1 - Zs Yo
//
// Readings that are missing are those of an ideal fixture. Theory (6.14).
//
// Source: open/short/load compensation of impedance meters (from memory); the
// admittance form derived.
func (c *Calibration) correct(f float64, z complex128) complex128 {
	var yo, zs complex128
	if c.Open.Given() {
		yo = c.Open.At(f)
	}
	if c.Short.Given() {
		zs = c.Short.At(f)
	}
	k := 1 - zs*yo
	if c.Load.Given() {
		zl := c.Load.At(f)
		k = complex(c.LoadOhm, 0) * (1 - zl*yo) / (zl - zs)
	}
	return k * (z - zs) / (1 - z*yo)
}

// Band returns the lowest and the highest frequency (Hz) that all parts cover.
func (c *Calibration) Band() (lo, hi float64) {
	hi = math.Inf(1)
	for _, part := range []Curve{c.Channels, c.Open, c.Short, c.Load} {
		if part.Given() {
			lo = max(lo, part.Freq[0])
			hi = min(hi, part.Freq[len(part.Freq)-1])
		}
	}
	return lo, hi
}

// comparesChannels says whether an error of the channel gains is corrected: by
// a comparison of the channels, or by open, short and load together, because
// such an error is a bilinear map of the impedance as well.
func (c *Calibration) comparesChannels() bool {
	return c.Channels.Given() || (c.Open.Given() && c.Short.Given() && c.Load.Given())
}

// CheckResult is what a second resistor said about a calibrated bench.
type CheckResult struct {
	Ohm   float64 // ohm, as entered
	Found float64 // ohm, mean of the real part over the band
	Worst float64 // largest relative error of a point, of size and phase together
	At    float64 // Hz where that is
}

// Error returns the relative error of the mean.
func (r CheckResult) Error() float64 { return r.Found/r.Ohm - 1 }

// Admittance returns the reading for the ratio h in siemens, which stays finite
// when nothing is connected.
func (b Bench) Admittance(h complex128) complex128 {
	r := complex(b.Resistor, 0)
	in := complex(0, 0)
	if b.InputResistance != 0 {
		in = complex(1/b.InputResistance, 0)
	}
	switch b.Wiring {
	case DriverFirst:
		return h / (1 - h) * (1/r + in)
	case Probes:
		return h*(1/r+in) - in
	default:
		return (1-h)/(r*h) - in
	}
}

// The file form of a calibration.
type (
	calibrationFile struct {
		Schema        string     `json:"schema"`
		Wiring        string     `json:"wiring"`
		Resistor      float64    `json:"resistor_ohm"`
		Channels      *curveFile `json:"channels,omitempty"`
		Open          *curveFile `json:"open_siemens,omitempty"`
		Short         *curveFile `json:"short_ohm,omitempty"`
		Load          *curveFile `json:"load_ohm,omitempty"`
		LoadOhm       float64    `json:"load_value_ohm,omitempty"`
		LoadTolerance float64    `json:"load_tolerance,omitempty"`
		Check         *checkFile `json:"check,omitempty"`
	}
	curveFile struct {
		Freq []float64 `json:"freq_hz"`
		Re   []float64 `json:"re"`
		Im   []float64 `json:"im"`
		Std  []float64 `json:"std"`
	}
	checkFile struct {
		Ohm   float64 `json:"ohm"`
		Found float64 `json:"found_ohm"`
		Worst float64 `json:"worst_relative"`
		At    float64 `json:"worst_hz"`
	}
)

// Write writes c as JSON.
func (c *Calibration) Write(w io.Writer) error {
	file := calibrationFile{Schema: calibrationSchema, Wiring: c.Wiring.String(), Resistor: c.Resistor,
		Channels: c.Channels.file(), Open: c.Open.file(), Short: c.Short.file(), Load: c.Load.file(),
		LoadOhm: c.LoadOhm, LoadTolerance: c.LoadTolerance}
	if r := c.Check; r != nil {
		file.Check = &checkFile{r.Ohm, r.Found, r.Worst, r.At}
	}
	return json.NewEncoder(w).Encode(file)
}

func (c Curve) file() *curveFile {
	if !c.Given() {
		return nil
	}
	f := &curveFile{Freq: c.Freq, Std: c.Std}
	for _, v := range c.Value {
		f.Re = append(f.Re, real(v))
		f.Im = append(f.Im, imag(v))
	}
	return f
}

// curve checks a curve that was read from a file.
func (f *curveFile) curve() (Curve, error) {
	if f == nil {
		return Curve{}, nil
	}
	n := len(f.Freq)
	if n == 0 || len(f.Re) != n || len(f.Im) != n || len(f.Std) != n {
		return Curve{}, fmt.Errorf("lists of %d, %d, %d and %d numbers belong together", n, len(f.Re), len(f.Im), len(f.Std))
	}
	c := Curve{Freq: f.Freq, Std: f.Std, Value: make([]complex128, n)}
	for i := range n {
		if !(f.Freq[i] > 0) || i > 0 && !(f.Freq[i] > f.Freq[i-1]) {
			return Curve{}, fmt.Errorf("frequency %d is out of order", i+1)
		}
		if !(f.Std[i] > 0) {
			return Curve{}, fmt.Errorf("noise figure %d is not positive", i+1)
		}
		c.Value[i] = complex(f.Re[i], f.Im[i])
	}
	return c, nil
}

// calibrationLimit is the largest calibration file that is read, in bytes.
const calibrationLimit = 16 << 20

// ReadCalibration reads what Write wrote. Source names the file in messages.
func ReadCalibration(r io.Reader, source string) (*Calibration, error) {
	bad := func(msg string, err error) (*Calibration, error) {
		return nil, &fault.FormatError{File: source, Msg: msg, Err: err, Advice: "make the file with conewright calibrate"}
	}
	data, err := io.ReadAll(io.LimitReader(r, calibrationLimit+1))
	if err != nil {
		return bad("cannot be read: "+err.Error(), err)
	}
	if len(data) > calibrationLimit {
		return bad("is far too large for a calibration", nil)
	}
	var file calibrationFile
	if err := json.Unmarshal(data, &file); err != nil {
		return bad("is not a calibration: "+err.Error(), err)
	}
	if file.Schema != calibrationSchema {
		return bad(fmt.Sprintf("is not a calibration: its schema is %q", file.Schema), nil)
	}
	c := &Calibration{Resistor: file.Resistor, LoadOhm: file.LoadOhm, LoadTolerance: file.LoadTolerance}
	if c.Wiring, err = ParseWiring(file.Wiring); err != nil {
		return bad(err.Error(), err)
	}
	if !(file.Resistor > 0) || file.LoadTolerance < 0 || file.Load != nil && !(file.LoadOhm > 0) {
		return bad("has a resistor without a positive value", nil)
	}
	for _, part := range []struct {
		name string
		from *curveFile
		to   *Curve
	}{{"channels", file.Channels, &c.Channels}, {"open", file.Open, &c.Open}, {"short", file.Short, &c.Short}, {"load", file.Load, &c.Load}} {
		if *part.to, err = part.from.curve(); err != nil {
			return bad(fmt.Sprintf("the part %q is damaged: %v", part.name, err), err)
		}
	}
	if f := file.Check; f != nil {
		c.Check = &CheckResult{f.Ohm, f.Found, f.Worst, f.At}
	}
	return c, nil
}

// Suits says whether c was made on the bench b.
func (c *Calibration) Suits(b Bench, source string) error {
	if c.Wiring == b.Wiring && math.Abs(c.Resistor/b.Resistor-1) < 1e-6 {
		return nil
	}
	return &fault.BenchError{Code: "calibration-bench", File: source,
		Msg: fmt.Sprintf("the calibration belongs to another bench: %v with %.6g ohm, not %v with %.6g ohm",
			c.Wiring, c.Resistor, b.Wiring, b.Resistor),
		Advice: "give the wiring and the resistor of the calibration, or calibrate this bench"}
}
