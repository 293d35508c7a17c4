package specsheet

import (
	"slices"

	"conewright/ts/param"
	"conewright/ts/verdict"
)

// Subject is what a limit is about: one sheet may have limits for a driver, for the box and for parts of the network.
type Subject int

// The subjects of limits.
const (
	Driver Subject = iota // in free air
	Box                   // with the driver in it
	Part
)

var (
	boxQuantities  = []param.ID{param.Fc, param.Qmc, param.Qec, param.Qtc, param.Fb, param.QB, param.QL, param.QA, param.QP, param.Alpha, param.Vab}
	partQuantities = []param.ID{param.C, param.ESR, param.TanDelta, param.L, param.Rdc, param.Q, param.R}
)

// SubjectOf is what a limit on a quantity is about.
func SubjectOf(id param.ID) Subject {
	switch {
	case slices.Contains(boxQuantities, id):
		return Box
	case slices.Contains(partQuantities, id):
		return Part
	}
	return Driver
}

// Of is the sheet with the limits about one subject only.
func (s Sheet) Of(about Subject) verdict.Spec {
	spec := s.Spec
	spec.Limits = slices.DeleteFunc(slices.Clone(s.Limits), func(l verdict.Limit) bool { return SubjectOf(l.ID) != about })
	return spec
}
