package measured

import (
	"fmt"
	"math"

	"conewright/ts/internal/bounds"
	"conewright/ts/notice"
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
func (k LoadKind) String() string { return param.Word(k, "free", "mass", "box") }

// Load is what is put on the cone for a sweep. The zero value is free air.
type Load struct {
	Kind  LoadKind
	Value float64 // kg for AddedMass, m^3 for KnownBox
	Std   float64 // standard uncertainty of Value, same unit: of the piece, the same whenever it is used
	// PlacingStd is the standard uncertainty that each use of a mass adds anew, kg: where it sits, what
	// couples it, putty that was not weighed. See [UsualPlacing].
	PlacingStd float64
}

// UsualPlacing is what is assumed of the placing of a mass in kg, as a standard uncertainty in kg: 1 % for its
// place and its coupling, and 0.1 g of putty or tape that may not have been weighed, but not more than a
// twentieth. Common practice.
func UsualPlacing(mass float64) float64 { return min(math.Hypot(0.01*mass, 1e-4), 0.05*mass) }

// Check refuses a load that cannot be one; free air has no size.
func (l Load) Check() error {
	switch l.Kind {
	case Free:
		if l.Value != 0 || l.Std != 0 || l.PlacingStd != 0 {
			return notice.New("free-load", notice.Facts{"value": l.Value, "std": l.Std})
		}
		return nil
	case AddedMass:
		return bounds.First(bounds.Mass.Known(l.Value, l.Std), bounds.Mass.Known(l.Value, l.PlacingStd))
	case KnownBox:
		return bounds.Volume.Known(l.Value, l.Std)
	}
	return notice.New("load-kind", notice.Facts{"kind": int(l.Kind)})
}

// Source names the error of the load in a budget.
func (l Load) Source() string {
	if l.Kind == AddedMass {
		return fmt.Sprintf("added mass %.9g g", 1e3*l.Value)
	}
	return fmt.Sprintf("box volume %.9g L", 1e3*l.Value)
}
