package driver

// Coil is the part of the impedance that the voice coil adds to Re: its
// inductance and the eddy-current losses in the iron around it.
type Coil interface {
	// Impedance returns ZL in ohm at the angular frequency omega (rad/s, positive).
	Impedance(omega float64) complex128
}
