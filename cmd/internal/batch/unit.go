// Package batch holds the units of a batch: what is kept of each, and the journal from which
// an interrupted run continues.
package batch

import (
	"conewright/cmd/internal/quantity"
	"conewright/cmd/internal/saved"
	"conewright/cmd/internal/wording"
	"conewright/ts/param"
	"conewright/ts/verdict"
)

// Unit is one driver of a batch: its values and how they were judged, or why
// there are none.
type Unit struct {
	Name       string
	Inputs     []saved.Input
	Basis      string           // hash of what this result alone rests on: files, loads, meter reading
	Parameters param.Parameters // only what a batch needs, see Reduced
	Checked    *verdict.Checked // nil without a spec sheet
	Warnings   []wording.Said
	Failed     *Failure
	About      saved.Settings // what the manifest says of it beside its files
	Recalled   bool           // from an earlier run that was interrupted
}

// Failure says why a unit has no values.
type Failure struct {
	Message string `json:"message"`
	Hint    string `json:"hint,omitempty"`
}

// FailureOf keeps an error for the line of its unit.
func FailureOf(err error) *Failure {
	message, hint := wording.Error(err)
	return &Failure{Message: message, Hint: hint}
}

// Reduced keeps of a set of parameters what a batch needs: the usual quantities
// and those that the sheet limits. The coefficients of coil models go.
func Reduced(p param.Parameters, spec *verdict.Spec) param.Parameters {
	return p.Only(func(id param.ID) bool {
		limited := false
		if spec != nil {
			_, limited = spec.Limit(id)
		}
		return quantity.Usual(id) || id == param.Sd || limited
	})
}
