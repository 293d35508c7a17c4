package driver

import "math/cmplx"

// SemiCoil is an inductor in series with a second one that is bridged by a
// semi-inductor Ke sqrt(s), the skin effect in the iron, and by a resistor Rss,
// theory (1.11):
//
//	ZL = s Leb + ( s Le parallel Ke sqrt(s) parallel Rss )
//
// An infinite Rss stands for no resistor.
//
// Source: the idea from Thorborg, Unruh and Struck, AES convention 122, 2007
// (abstract read); formula and symbols from memory.
type SemiCoil struct {
	Leb float64 // H
	Le  float64 // H
	Ke  float64 // ohm s^0.5
	Rss float64 // ohm; +Inf for none
}

// Impedance returns ZL in ohm, w in rad/s.
func (c SemiCoil) Impedance(omega float64) complex128 {
	s := complex(0, omega)
	y := 1/(s*complex(c.Le, 0)) + 1/(complex(c.Ke, 0)*cmplx.Sqrt(s)) + complex(1/c.Rss, 0)
	return s*complex(c.Leb, 0) + 1/y
}
