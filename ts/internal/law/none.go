package law

import "conewright/ts/driver"

// noLaw is no coil at all, ZL = 0: right below a hundred hertz or so for small
// coils, and for textbook curves.
type noLaw struct{}

func (noLaw) Name() string { return "none" }

func (noLaw) Unknowns() []Unknown { return nil }

func (noLaw) Start(*Axis, Rough) []float64 { return nil }

func (noLaw) Eval(z, _ []complex128, _ *Axis, _ []float64) { clear(z) }

func (noLaw) Coil([]float64) driver.Coil { return driver.PlainCoil{} }
