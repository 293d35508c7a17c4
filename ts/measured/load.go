package measured

import (
	"fmt"

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
	Std   float64 // standard uncertainty of Value, same unit
}

// Check refuses a load that cannot be one; free air has no size.
func (l Load) Check() error {
	switch l.Kind {
	case Free:
		if l.Value != 0 || l.Std != 0 {
			return notice.New("free-load", notice.Facts{"value": l.Value, "std": l.Std})
		}
		return nil
	case AddedMass:
		return bounds.Mass.Known(l.Value, l.Std)
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
