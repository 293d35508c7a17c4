package ts

// Mounting says what surrounds the driver; it changes the air that moves with
// the cone, so values are comparable only at equal mounting.
type Mounting uint8

// The mountings.
const (
	FreeAir Mounting = iota
	Baffle
)

// String returns the word used in files and on the command line.
func (m Mounting) String() string { return [...]string{"free-air", "baffle"}[m] }

// Quantity is an entered value with its standard uncertainty, both in the unit
// that the field's comment gives. The zero value means: not given.
type Quantity struct {
	Value float64
	Std   float64
}

// Given says whether a value was entered.
func (q Quantity) Given() bool { return q.Value != 0 }

// Conditions is what is known beside the sweeps themselves.
type Conditions struct {
	Mounting    Mounting
	Temperature Quantity // kelvin; not given: 293.15 K
	Pressure    Quantity // Pa; not given: 101300 Pa
	Humidity    float64  // relative, 0 to 1
	Sd          Quantity // m^2
	DCRe        Quantity // ohm, meter reading of Re
}
