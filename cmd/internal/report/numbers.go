package report

import (
	"conewright/cmd/internal/wording"
	"conewright/ts/param"
)

// Number writes a value of a quantity in the unit of the screen, rounded by its standard
// uncertainty (both SI).
func Number(id param.ID, value, std float64) string { return scaleFor(id, value, std).number(value) }

// Value is [Number] with the unit.
func Value(id param.ID, value, std float64) string {
	return wording.WithUnit(Number(id, value, std), unitOf(id))
}

// Unit is the unit of the screen of a quantity, "" for a pure number.
func Unit(id param.ID) string { return unitOf(id) }

// Head is the head of a column for a quantity: "Re ohm".
func Head(id param.ID) string { return wording.WithUnit(id.String(), unitOf(id)) }
