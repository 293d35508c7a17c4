package driver

// PlainCoil is the ideal inductor, ZL = s L, theory (1.5): right for air coils and for
// textbook examples, wrong by tens of percent for most woofers above a few
// hundred hertz.
type PlainCoil struct {
	L float64 // H
}

// Impedance returns j w L in ohm, w in rad/s. Source: classical circuit theory.
func (c PlainCoil) Impedance(omega float64) complex128 {
	return complex(0, omega*c.L)
}
