package network

import (
	"math"

	"conewright/ts/internal/bounds"
)

// Moving is a driver as few numbers: coil and resonance. A fit says more of one.
type Moving struct {
	Re       float64 // ohm
	Le       float64 // H; 0: none
	Fs       float64 // Hz, in its cabinet
	Qms, Qes float64
}

// Check refuses numbers that are those of no driver.
func (m Moving) Check() error {
	var le error
	if m.Le != 0 {
		le = values[Coil].Number(m.Le)
	}
	return bounds.First(values[Driver].Number(m.Re), le, bounds.Frequency.Known(m.Fs, 0), bounds.Quality.Known(m.Qms, 0), bounds.Quality.Known(m.Qes, 0))
}

// Impedance returns the impedance in ohm at f (Hz):
//
//	Z = Re + j w Le + Re (Qms/Qes) / (1 + j Qms (f/Fs - Fs/f))
//
// Source: equivalent circuit, theory (1.1) with (1.2) put in. Theory (12.3).
func (m Moving) Impedance(f float64) complex128 {
	return complex(m.Re, 2*math.Pi*f*m.Le) + complex(m.Re*m.Qms/m.Qes, 0)/complex(1, m.Qms*(f/m.Fs-m.Fs/f))
}
