package measured

import (
	"fmt"

	"conewright/ts/driver"
	"conewright/ts/param"
)

// LoadKind says what is put on the cone for a sweep.
type LoadKind uint8

// The loads.
const (
	Free      LoadKind = iota // nothing
	AddedMass                 // a known mass fixed to the cone
	KnownBox                  // the cone works on a closed box of known volume
)

// String returns the word used in JSON: "free", "mass" or "box".
func (k LoadKind) String() string { return [...]string{"free", "mass", "box"}[k] }

// Load is what is put on the cone for a sweep. The zero value is free air.
type Load struct {
	Kind  LoadKind
	Value float64 // kg for AddedMass, m^3 for KnownBox
	Std   float64 // standard uncertainty of Value, same unit
}

// Sweep is one measured impedance and the load under which it was taken.
type Sweep struct {
	Impedance Impedance
	Load      Load
}

// Conditions is what is known beside the sweeps themselves.
type Conditions struct {
	Mounting    param.Mounting
	Temperature param.Quantity // kelvin; not given: 293.15 K
	Pressure    param.Quantity // Pa; not given: 101300 Pa
	Humidity    float64        // relative, 0 to 1
	Sd          param.Quantity // m^2
	DCRe        param.Quantity // ohm, meter reading of Re
}

func (c Conditions) Air() driver.Air {
	a := driver.Air{Temperature: driver.DefaultTemperature, Pressure: driver.DefaultPressure, Humidity: c.Humidity}
	if c.Temperature.Given() {
		a.Temperature = c.Temperature.Value
	}
	if c.Pressure.Given() {
		a.Pressure = c.Pressure.Value
	}
	return a
}

// Drive is the current through a driver while its sweep was taken.
type Drive struct {
	Rate    float64   // Hz, well above twice the frequencies at which a cone moves far
	Current []float64 // A, without constant part
}

// Source names the error of the load in a budget.
func (l Load) Source() string {
	if l.Kind == AddedMass {
		return fmt.Sprintf("added mass %.9g g", 1e3*l.Value)
	}
	return fmt.Sprintf("box volume %.9g L", 1e3*l.Value)
}
