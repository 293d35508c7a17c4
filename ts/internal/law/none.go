package law

import (
	"conewright/ts/driver"
	"conewright/ts/param"
)

// NoneLaw is no coil at all, ZL = 0: right below a hundred hertz or so for small
// coils, and for textbook curves.
type NoneLaw struct{}

func (NoneLaw) Name() string { return "none" }

func (NoneLaw) Params() []param.ParamID { return nil }

func (NoneLaw) Start(*Axis, []complex128) []float64 { return nil }

func (NoneLaw) Eval(z, _ []complex128, _ *Axis, _ []float64) { clear(z) }

func (NoneLaw) Coil([]float64) driver.Coil { return driver.PlainCoil{} }
