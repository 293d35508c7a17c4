package ts

import "fmt"

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

// loadSource names the error of a load in a budget.
func loadSource(l Load) string {
	if l.Kind == AddedMass {
		return fmt.Sprintf("added mass %.9g g", 1e3*l.Value)
	}
	return fmt.Sprintf("box volume %.9g L", 1e3*l.Value)
}
