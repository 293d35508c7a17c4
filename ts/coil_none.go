package ts

// noneLaw is no coil at all, ZL = 0: right below a hundred hertz or so for small
// coils, and for textbook curves.
type noneLaw struct{}

func (noneLaw) name() string                                 { return "none" }
func (noneLaw) params() []ParamID                            { return nil }
func (noneLaw) start(*axis, []complex128) []float64          { return nil }
func (noneLaw) eval(z, _ []complex128, _ *axis, _ []float64) { clear(z) }
func (noneLaw) coil([]float64) Coil                          { return PlainCoil{} }
