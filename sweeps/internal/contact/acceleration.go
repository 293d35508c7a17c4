package contact

import (
	"slices"

	"gonum.org/v1/gonum/floats"
	"gonum.org/v1/gonum/mat"
)

// acceleration shortens the way to a fixed point: from the last few steps it
// finds where the steps, taken as linear in the values, would vanish.
//
// Source: Anderson, J. ACM 12, 1965; in the form of Walker and Ni, SIAM J.
// Numer. Anal. 49, 2011 (from memory).
type acceleration struct {
	value, step   []float64 // of the last call
	moved, change [][]float64
}

// memorySteps is how many steps are remembered.
const memorySteps = 5

// next returns the values to try after a step led from value to result.
func (a *acceleration) next(value, result []float64) []float64 {
	step := slices.Clone(result)
	floats.Sub(step, value)
	if a.value != nil {
		moved, change := slices.Clone(value), slices.Clone(step)
		floats.Sub(moved, a.value)
		floats.Sub(change, a.step)
		a.moved, a.change = append(a.moved, moved), append(a.change, change)
		if len(a.moved) > memorySteps {
			a.moved, a.change = a.moved[1:], a.change[1:]
		}
	}
	a.value, a.step = slices.Clone(value), step
	out := slices.Clone(result)
	m := len(a.moved)
	if m == 0 || m > len(value) {
		return out
	}
	changes := mat.NewDense(len(value), m, nil)
	for j, c := range a.change {
		changes.SetCol(j, c)
	}
	var part mat.VecDense
	if part.SolveVec(changes, mat.NewVecDense(len(step), step)) != nil {
		return out
	}
	for j := range m {
		floats.AddScaled(out, -part.AtVec(j), a.moved[j])
		floats.AddScaled(out, -part.AtVec(j), a.change[j])
	}
	return out
}
