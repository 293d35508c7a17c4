package main

import (
	"bytes"
	"encoding/binary"
	"fmt"
	"io"
	"math"
	"math/cmplx"
	"math/rand/v2"
	"strings"
	"testing"

	"conewright/cmd/internal/quantity"
	"conewright/sweeps"
	"conewright/sweeps/bench"
	"conewright/sweeps/signal"
	"conewright/sweeps/virtual"
	"conewright/ts/driver"
)

// recipe is a recording or a table of a driver that exists only as numbers,
// written as words key=value; see parseRecipe for the keys.
type recipe struct {
	driver   driver.Driver
	mass     float64 // kg
	box      float64 // m^3
	port     float64 // Hz, tuning of the box; 0: closed
	leak     float64 // QL of the box; 0: tight
	sd       float64 // m^2, for the box
	bench    bench.Bench
	flaws    virtual.Flaws
	signal   signal.Signal
	seed     uint64
	points   int     // of a table
	relative float64 // noise of a table, relative to |Z|, of each part
	columns  string  // of a table
	ohm      float64 // a resistor in place of the driver
	fixture  float64 // ohm, leads and contacts
	friction float64 // N: the driver is followed in time, with a coil in two parts and without creep
}

// parseRecipe reads the words. The driver that is meant where no key is given
// is that of the demo, healthy.
func parseRecipe(words []string) (recipe, error) {
	r := recipe{
		driver: driver.Driver{Re: 5.58, BL: 10.5, Mms: 0.0426, Cms: 0.615e-3, Rms: 1.65, Creep: 0.08},
		bench:  bench.Bench{Resistor: 10.02},
		flaws:  virtual.Flaws{Noise: [2]float64{2e-5, 2e-5}},
		signal: signal.Signal{Rate: 16000, Lo: 5, Hi: 2000, Duration: 6, Level: 0.25},
		seed:   1, points: 160, relative: 1e-3, sd: 0.0346,
	}
	coil := driver.LossyCoil{K: 0.0175, N: 0.7}
	type target struct {
		kind quantity.Kind
		at   *float64
	}
	numbers := map[string]target{
		"Re": {quantity.Resistance, &r.driver.Re}, "BL": {quantity.ForceFactor, &r.driver.BL}, "Mms": {quantity.Mass, &r.driver.Mms},
		"Cms": {quantity.Compliance, &r.driver.Cms}, "Rms": {quantity.Losses, &r.driver.Rms}, "creep": {quantity.Number, &r.driver.Creep},
		"K": {quantity.Number, &coil.K}, "n": {quantity.Number, &coil.N},
		"mass": {quantity.Mass, &r.mass}, "box": {quantity.Volume, &r.box}, "port": {quantity.Frequency, &r.port}, "leak": {quantity.Number, &r.leak},
		"resistor": {quantity.Resistance, &r.bench.Resistor}, "leads": {quantity.Resistance, &r.bench.Leads},
		"clip": {quantity.Number, &r.flaws.Clip}, "from": {quantity.Frequency, &r.signal.Lo}, "to": {quantity.Frequency, &r.signal.Hi},
		"duration": {quantity.Duration, &r.signal.Duration}, "level": {quantity.Number, &r.signal.Level}, "relative": {quantity.Number, &r.relative},
	}
	for _, w := range words {
		key, text, ok := strings.Cut(w, "=")
		if !ok {
			return r, fmt.Errorf("recipe: %q is not key=value", w)
		}
		if t, ok := numbers[key]; ok {
			v, err := quantity.Parse(text, t.kind)
			if err != nil {
				return r, fmt.Errorf("recipe: %s: %w", key, err)
			}
			*t.at = v.SI
			continue
		}
		var n float64
		if _, err := fmt.Sscan(text, &n); err != nil && key != "columns" {
			return r, fmt.Errorf("recipe: %s: %w", key, err)
		}
		switch key {
		case "seed":
			r.seed = uint64(n)
		case "rate":
			r.signal.Rate = int(n)
		case "noise":
			r.flaws.Noise = [2]float64{n, n}
		case "wiring":
			r.bench.Wiring = bench.Wiring(n)
		case "signal":
			r.signal.Kind = signal.Kind(n)
		case "swapped":
			r.flaws.Swapped = n != 0
		case "crackle": // times that the contact opens
			r.flaws.Openings = int(n)
		case "bits": // of the converter
			r.flaws.Bits = int(n)
		case "hum": // peak, in both channels
			r.flaws.Hum = [2]float64{n, n}
		case "step": // relative change of the level halfway
			r.flaws.LevelStep = n
		case "friction": // mN
			r.friction = n / 1000
		case "fullscale": // V
			r.bench.FullScale = n
		case "polarity": // of channel 2
			r.flaws.Gain[1] = -2
		case "gain": // of channel 2, relative error
			r.flaws.Gain[1] = n
		case "ohm": // a resistor in place of the driver
			r.ohm = n
		case "fixture": // ohm in series with whatever hangs on the leads
			r.fixture = n
		case "same":
			r.flaws.Same = n != 0
		case "dead":
			r.flaws.Dead[int(n)-1] = true
		case "points":
			r.points = int(n)
		case "columns":
			r.columns = text
		default:
			return r, fmt.Errorf("recipe: there is no key %q", key)
		}
	}
	r.driver.Coil = coil
	return r, nil
}

// z is the impedance in ohm at f (Hz).
func (r recipe) z(f float64) complex128 {
	if r.ohm > 0 {
		return complex(r.ohm+r.fixture, 0)
	}
	stiffness := 0.0
	if r.box > 0 {
		stiffness = driver.Air{Temperature: 293.15, Pressure: 101300, Humidity: 0.5}.Stiffness() * r.sd * r.sd / r.box
	}
	if r.port > 0 || r.leak > 0 {
		return r.inBox(f, stiffness) + complex(r.fixture, 0)
	}
	return r.driver.LoadedImpedance(f, r.mass, stiffness) + complex(r.fixture, 0)
}

// inBox is the impedance in ohm at f (Hz) in a box with a port or a leak, whose air has a stiffness (N/m), from its elements: the leak
// counts at the tuning, or at 50 Hz of a closed one.
func (r recipe) inBox(f, stiffness float64) complex128 {
	s := complex(0, 2*math.Pi*f)
	at := 2 * math.Pi * 50.0
	y := s / complex(stiffness, 0)
	if r.port > 0 {
		at = 2 * math.Pi * r.port
		y += complex(at*at/stiffness, 0) / s
	}
	if r.leak > 0 {
		y += complex(at/(stiffness*r.leak), 0)
	}
	d := r.driver
	return complex(d.Re, 0) + d.Coil.Impedance(2*math.Pi*f) + complex(d.BL*d.BL, 0)/(d.Mechanical(f, r.mass, 0)+1/y)
}

// wav is the recording as a WAV file.
func (r recipe) wav() ([]byte, error) {
	signal, err := r.signal.Samples()
	if err != nil {
		return nil, err
	}
	v := virtual.Bench{Z: r.z, Bench: r.bench, Flaws: r.flaws, Seed: r.seed}
	if d := r.driver; r.friction > 0 {
		v.Driver = &virtual.Driver{Re: d.Re, L: 0.5e-3, Eddy: []virtual.Eddy{{R: 4, L: 0.8e-3}}, BL: d.BL, BL2: -1e4, Mms: d.Mms + r.mass, Rms: d.Rms, K: 1 / d.Cms, K2: 2e4, Friction: r.friction}
	}
	rec, err := v.Record(signal, r.signal.Rate)
	if err != nil {
		return nil, err
	}
	ch1, ch2 := make([]float64, rec.Frames), make([]float64, rec.Frames)
	if err := rec.Read(ch1, ch2, 0); err != nil {
		return nil, err
	}
	var w seekBuffer
	err = sweeps.WriteWAV(&w, ch1, ch2, r.signal.Rate)
	return w.data, err
}

// mono is a recording of one channel only, as WAV with 16 bit.
func (r recipe) mono() ([]byte, error) {
	signal, err := r.signal.Samples()
	if err != nil {
		return nil, err
	}
	var b bytes.Buffer
	put := func(v any) { _ = binary.Write(&b, binary.LittleEndian, v) } // a bytes.Buffer does not fail
	rate, size := uint32(r.signal.Rate), uint32(2*len(signal))
	b.WriteString("RIFF")
	put(36 + size)
	b.WriteString("WAVEfmt ")
	for _, v := range []any{uint32(16), uint16(1), uint16(1), rate, 2 * rate, uint16(2), uint16(16)} {
		put(v)
	}
	b.WriteString("data")
	put(size)
	for _, v := range signal {
		put(int16(32767 * v))
	}
	return b.Bytes(), nil
}

// table is the impedance as a text table.
func (r recipe) table() ([]byte, error) {
	var b bytes.Buffer
	if r.columns == "" {
		fmt.Fprintln(&b, "Hz,ohm,deg")
	}
	rng := rand.New(rand.NewPCG(r.seed, 7))
	for i := range r.points {
		f := r.signal.Lo * math.Pow(r.signal.Hi/r.signal.Lo, float64(i)/float64(r.points-1))
		z := r.z(f)
		u := r.relative * cmplx.Abs(z)
		z += complex(u*rng.NormFloat64(), u*rng.NormFloat64())
		switch r.columns {
		case "Hz,deg,ohm": // without a head: as some programs export it
			fmt.Fprintf(&b, "%.5g,%.3f,%.5g\n", f, cmplx.Phase(z)*180/math.Pi, cmplx.Abs(z))
		default:
			fmt.Fprintf(&b, "%.5g,%.5g,%.3f\n", f, cmplx.Abs(z), cmplx.Phase(z)*180/math.Pi)
		}
	}
	return b.Bytes(), nil
}

// seekBuffer is a file in memory.
type seekBuffer struct {
	data []byte
	at   int64
}

func (b *seekBuffer) Write(p []byte) (int, error) {
	if need := int(b.at) + len(p); need > len(b.data) {
		b.data = append(b.data, make([]byte, need-len(b.data))...)
	}
	copy(b.data[b.at:], p)
	b.at += int64(len(p))
	return len(p), nil
}

func (b *seekBuffer) Seek(offset int64, whence int) (int64, error) {
	switch whence {
	case io.SeekStart:
		b.at = offset
	case io.SeekCurrent:
		b.at += offset
	case io.SeekEnd:
		b.at = int64(len(b.data)) + offset
	}
	return b.at, nil
}

// A recipe whose word is misspelled must not pass for the default driver.
func TestRecipeRefusesUnknownWords(t *testing.T) {
	for _, w := range []string{"Rs=5", "Re", "Re=5mm", "seed=x"} {
		if _, err := parseRecipe([]string{w}); err == nil {
			t.Errorf("%q is taken", w)
		}
	}
}
