package bench

import (
	"encoding/json"
	"io"
	"slices"

	"conewright/ts/notice"
)

// calibrationSchema names the file format.
const calibrationSchema = "conewright/calibration/1"

// calibrationLimit is the largest calibration file that is read, in bytes.
const calibrationLimit = 16 << 20

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

// curve is the inverse of [Curve.file]; name is that of the part.
func (f *curveFile) curve(name string) (Curve, error) {
	if f == nil {
		return Curve{}, nil
	}
	if len(f.Freq) == 0 || len(f.Re) != len(f.Im) {
		return Curve{}, notice.New("calibration-lengths", notice.Facts{"part": name, "frequencies": len(f.Freq), "values": min(len(f.Re), len(f.Im)), "noise": len(f.Std)})
	}
	c := Curve{Freq: f.Freq, Std: f.Std, Value: make([]complex128, len(f.Re))}
	for i := range c.Value {
		c.Value[i] = complex(f.Re[i], f.Im[i])
	}
	return c, nil
}

// ReadCalibration reads what [Calibration.Write] wrote. Source names the file in messages.
func ReadCalibration(r io.Reader, source string) (*Calibration, error) {
	data, err := io.ReadAll(io.LimitReader(r, calibrationLimit+1))
	if err != nil {
		return nil, notice.New("calibration-unreadable", nil).In(source).Because(err)
	}
	if len(data) > calibrationLimit {
		return nil, notice.New("calibration-too-large", notice.Facts{"most": calibrationLimit}).In(source)
	}
	var file calibrationFile
	if err := json.Unmarshal(data, &file); err != nil {
		return nil, notice.New("calibration-not", nil).In(source).Because(err)
	}
	if file.Schema != calibrationSchema {
		return nil, notice.New("calibration-schema", notice.Facts{"schema": file.Schema}).In(source)
	}
	wiring := slices.Index(wiringWords[:], file.Wiring)
	if wiring < 0 {
		return nil, notice.New("calibration-wiring", notice.Facts{"wiring": file.Wiring}).In(source)
	}
	c := &Calibration{Wiring: Wiring(wiring), Resistor: file.Resistor, LoadOhm: file.LoadOhm, LoadTolerance: file.LoadTolerance}
	for _, part := range []struct {
		name string
		from *curveFile
		to   *Curve
	}{{"channels", file.Channels, &c.Channels}, {"open", file.Open, &c.Open}, {"short", file.Short, &c.Short}, {"load", file.Load, &c.Load}} {
		if *part.to, err = part.from.curve(part.name); err != nil {
			return nil, in(err, source)
		}
	}
	if err := c.sound(); err != nil {
		return nil, in(err, source)
	}
	if f := file.Check; f != nil {
		c.Check = &CheckResult{f.Ohm, f.Found, f.Worst, f.At}
	}
	return c, nil
}

// in says of which file a notice of this package is.
func in(err error, source string) error { return err.(*notice.Notice).In(source) }
