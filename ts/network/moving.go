package network

import (
	"math"
	"math/cmplx"

	"conewright/ts/internal/bounds"
)

// Moving is a driver as few numbers: coil and resonance. A fit says more of one.
type Moving struct {
	Re       float64 // ohm
	Le       float64 // H; 0: none
	Loss     float64 // ohm of the coil at 1 kHz, where Le counts then; 0: an inductance alone
	Fs       float64 // Hz, in its cabinet
	Qms, Qes float64
}

// Check refuses numbers that are those of no driver.
func (m Moving) Check() error {
	var le error
	if m.Le != 0 {
		le = values[Coil].Number(m.Le)
	}
	return bounds.First(values[Driver].Number(m.Re), le, values[Resistor].Given(m.Loss, 0), bounds.Frequency.Known(m.Fs, 0), bounds.Quality.Known(m.Qms, 0), bounds.Quality.Known(m.Qes, 0))
}

// Impedance returns the impedance in ohm at f (Hz):
//
//	Z = Re + j w Le + Re (Qms/Qes) / (1 + j Qms (f/Fs - Fs/f))
//
// With a loss the coil has the same phase at all frequencies, in the place of j w Le:
//
//	Z1 (f/1 kHz)^n,   Z1 = Loss + j 2 pi 1 kHz Le,   n = (2/pi) arg Z1
//
// Source: equivalent circuit, theory (1.1) with (1.2) put in; a coil with losses as in theory (1.6). Theory (12.3).
func (m Moving) Impedance(f float64) complex128 {
	coil := complex(0, 2*math.Pi*f*m.Le)
	if m.Loss > 0 {
		coil = complex(m.Loss, 2*math.Pi*1000*m.Le)
		coil *= complex(math.Pow(f/1000, 2/math.Pi*cmplx.Phase(coil)), 0)
	}
	return complex(m.Re, 0) + coil + complex(m.Re*m.Qms/m.Qes, 0)/complex(1, m.Qms*(f/m.Fs-m.Fs/f))
}
