package report

import (
	"conewright/cmd/internal/plot"
	"conewright/cmd/internal/wording"
	"conewright/ts/measured"
	"conewright/ts/param"
	"conewright/ts/verdict"
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

// Limits writes the two ends of a limit without their unit.
func Limits(l verdict.Limit) string { return limits(l) }

// VerdictWords is a verdict as a person says it.
func VerdictWords(v verdict.Verdict) string { return verdictWords(v) }

// MarkOf is the mark of a verdict.
func MarkOf(v verdict.Verdict) Mark { return markOf(v) }

// SweepFigure shows the impedance of all sides over frequency; false where there is no sweep.
func SweepFigure(r *Report) (plot.Figure, bool) { return sweepFigure(r) }

// Neat sets units and minus signs as a printer would.
func Neat(s string) string { return neat(s) }

// LoadWords says what was on the cone.
func LoadWords(l measured.Load) string { return loadWords(l) }
