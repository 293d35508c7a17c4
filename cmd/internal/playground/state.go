// Package playground is the page on which a class plays with a driver: sliders
// for ring mass, compliance, motor and losses, the impedance curve and the mass
// line they move. The physics is that of package ts, compiled to WebAssembly
// and embedded in the page, so that the page works offline from a file.
package playground

import (
	"fmt"
	"math"
	"math/cmplx"

	"conewright/ts/driver"
	"conewright/ts/ring"
)

// Base is the driver that the sliders start from. SI units.
type Base struct {
	Name  string  `json:"name"`
	Re    float64 `json:"re"`     // ohm
	BL    float64 `json:"bl"`     // T m
	Mms   float64 `json:"mms"`    // kg
	Cms   float64 `json:"cms"`    // m/N
	Rms   float64 `json:"rms"`    // kg/s
	Creep float64 `json:"creep"`  // per decade
	CoilK float64 `json:"coil_k"` // ohm s^n, lossy coil
	CoilN float64 `json:"coil_n"`
	// Masses of the class experiment in kg and the resonances in Hz measured
	// with them; they stand as fixed points beside the moving line.
	Masses     []float64 `json:"masses"`
	Resonances []float64 `json:"resonances"`
}

// Sliders is the position of the sliders. The zero value leaves the driver as
// it is.
type Sliders struct {
	Ring       float64 `json:"ring"`       // kg on the former
	Compliance float64 `json:"compliance"` // relative change, 0.2 is 20 % more
	Motor      float64 `json:"motor"`      // relative change of BL
	Losses     float64 `json:"losses"`     // relative change of Rms
}

// State is what the page shows for one position of the sliders.
type State struct {
	Driver    driver.Driver // with the sliders applied, without the ring
	Fs        float64       // Hz, with the ring
	Qms       float64
	Qes       float64
	Qts       float64
	Zmax      float64   // ohm, largest |Z| of the curve near the resonance
	Level     float64   // dB against the driver as it was, above resonance
	Freq      []float64 // Hz
	Magnitude []float64 // ohm
	Phase     []float64 // degrees
	Before    []float64 // ohm, |Z| of the base driver, sliders at rest
	// Line is the mass line of the driver as the sliders make it, without the
	// ring: masses in kg against 1/(2 pi Fs)^2 in s^2.
	Line []ring.LinePoint
}

// curve is drawn from curveLow to curveHigh times the resonance of the base.
const (
	curveLow    = 0.25
	curveHigh   = 40
	curvePoints = 401
	linePoints  = 21 // with creep the line bends a little
)

// Check refuses a base that is no driver.
func (b Base) Check() error {
	for _, v := range []float64{b.Re, b.BL, b.Mms, b.Cms, b.Rms} {
		if !(v > 0) || math.IsInf(v, 0) {
			return fmt.Errorf("the driver of the page needs Re, BL, Mms, Cms and Rms above zero")
		}
	}
	if len(b.Masses) != len(b.Resonances) {
		return fmt.Errorf("the page has %d masses and %d resonances", len(b.Masses), len(b.Resonances))
	}
	return nil
}

// driver returns the driver that the sliders make of the base.
func (b Base) driver(s Sliders) driver.Driver {
	d := driver.Driver{Re: b.Re, BL: b.BL * (1 + s.Motor), Mms: b.Mms, Cms: b.Cms * (1 + s.Compliance),
		Rms: b.Rms * (1 + s.Losses), Creep: b.Creep}
	if b.CoilK > 0 {
		d.Coil = driver.LossyCoil{K: b.CoilK, N: b.CoilN}
	}
	return d
}

// At computes what the page shows at one position of the sliders.
func (b Base) At(s Sliders) (State, error) {
	if err := b.Check(); err != nil {
		return State{}, err
	}
	d := b.driver(s)
	with, err := d.WithMass(s.Ring)
	if err != nil {
		return State{}, err
	}
	rest := b.driver(Sliders{})
	st := State{Driver: d, Fs: with.Fs(), Qms: with.Qms(), Qes: with.Qes(), Qts: with.Qts(),
		// The level above resonance is in proportion to BL/Mms (Re unchanged).
		Level: 20 * math.Log10(with.BL/rest.BL*rest.Mms/with.Mms)}
	st.Zmax = cmplx.Abs(with.Impedance(with.Fs()))
	lo := curveLow * rest.Fs()
	step := math.Log(curveHigh/curveLow) / (curvePoints - 1)
	for i := range curvePoints {
		f := lo * math.Exp(step*float64(i))
		z := with.Impedance(f)
		st.Freq = append(st.Freq, f)
		st.Magnitude = append(st.Magnitude, cmplx.Abs(z))
		st.Phase = append(st.Phase, cmplx.Phase(z)*180/math.Pi)
		st.Before = append(st.Before, cmplx.Abs(rest.Impedance(f)))
	}
	for i := range linePoints {
		m := b.heaviest() * float64(i) / (linePoints - 1)
		loaded, err := d.WithMass(m)
		if err != nil {
			return State{}, err
		}
		st.Line = append(st.Line, ring.LinePoint{X: m, Y: ring.InverseSquareOmega(loaded.Fs())})
	}
	return st, nil
}
