package driver

// TwoPartCoil is an inductor in series with a second one that is bridged by a
// resistor, theory (1.7), ZL = s L1 + (s L2 parallel R2): the losses of the iron as one
// shorted turn.
type TwoPartCoil struct {
	L1 float64 // H
	L2 float64 // H
	R2 float64 // ohm
}

// Impedance returns ZL in ohm, w in rad/s:
//
//	ZL = j w L1 + j w L2 R2 / (j w L2 + R2)
//
// Source: classical circuit theory.
func (c TwoPartCoil) Impedance(omega float64) complex128 {
	s := complex(0, omega)
	r := complex(c.R2, 0)
	l2 := s * complex(c.L2, 0)
	return s*complex(c.L1, 0) + l2*r/(l2+r)
}
