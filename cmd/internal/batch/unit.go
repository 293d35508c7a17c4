// Package batch holds the units of a batch: what is kept of each, and the journal from which
// an interrupted run continues.
package batch

import (
	"conewright/cmd/internal/quantity"
	"conewright/cmd/internal/saved"
	"conewright/cmd/internal/wording"
	"conewright/ts/param"
	"conewright/ts/verdict"

	"gonum.org/v1/gonum/mat"
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
	Recalled   bool // from an earlier run that was interrupted
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
	var keep []int
	for i, id := range p.IDs {
		limited := false
		if spec != nil {
			_, limited = spec.Limit(id)
		}
		if quantity.Usual(id) || id == param.Sd || limited {
			keep = append(keep, i)
		}
	}
	out := p
	out.IDs, out.Scaled, out.Origin = pick(p.IDs, keep), pick(p.Scaled, keep), pick(p.Origin, keep)
	if p.Skew != nil {
		out.Skew = pick(p.Skew, keep)
	}
	if p.Noise != nil {
		out.Noise = mat.NewSymDense(len(keep), nil)
		for a, i := range keep {
			for b := 0; b <= a; b++ {
				out.Noise.SetSym(a, b, p.Noise.At(i, keep[b]))
			}
		}
	}
	out.Components = make([]param.Component, len(p.Components))
	for k, c := range p.Components {
		c.Effect = pick(c.Effect, keep)
		out.Components[k] = c
	}
	return out
}

func pick[T any](from []T, keep []int) []T {
	out := make([]T, len(keep))
	for k, i := range keep {
		out[k] = from[i]
	}
	return out
}
