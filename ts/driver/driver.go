// Package driver is the physics of a moving-coil driver, forward only: its
// electrical impedance from its parts (theory 1), its coil by one of several laws, the
// creep of its suspension, what a mass or a box adds, and the air around it.
package driver

import (
	"math"

	"conewright/ts/internal/bounds"
	"conewright/ts/notice"
)

// CreepLoss is the ratio between the imaginary and the real slope of the
// logarithmic creep law, kappa of theory (1.3): log10(j) = j pi/(2 ln 10).
const CreepLoss = math.Pi / (2 * math.Ln10)

// Driver is a moving-coil drive unit as a small-signal linear system, theory (1.1). With
// creep, Cms and Rms are the effective values at the resonance Fs: the values
// for which Fs = 1/(2 pi sqrt(Mms Cms)) and Qms = 2 pi Fs Mms/Rms hold.
type Driver struct {
	Re    float64 // ohm
	BL    float64 // T m
	Mms   float64 // kg
	Cms   float64 // m/N
	Rms   float64 // kg/s
	Coil  Coil    // nil: no inductance
	Creep float64 // lambda: fall of compliance per decade of frequency
}

// mostCreep is more than any suspension gives way by in a decade of frequency; with the
// whole compliance it would be gone.
const mostCreep = 1

// Check refuses a driver that cannot move: mass and compliance must be above zero,
// nothing below it but the creep, and every value finite.
func (d Driver) Check() error {
	if d.Mms > 0 && d.Cms > 0 && d.Re >= 0 && d.BL >= 0 && d.Rms >= 0 && math.Abs(d.Creep) < mostCreep &&
		bounds.Finite(d.Re, d.BL, d.Mms, d.Cms, d.Rms) && bounds.Frequency.Holds(d.Fs()) {
		return nil
	}
	return notice.New("no-driver", notice.Facts{"Re": d.Re, "BL": d.BL, "Mms": d.Mms, "Cms": d.Cms, "Rms": d.Rms, "creep": d.Creep})
}

// Fs returns the resonance frequency in Hz, 1/(2 pi sqrt(Mms Cms)), theory (1.2).
func (d Driver) Fs() float64 { return 1 / (2 * math.Pi * math.Sqrt(d.Mms*d.Cms)) }

// Qms returns the mechanical quality factor 2 pi Fs Mms/Rms, theory (1.2).
func (d Driver) Qms() float64 { return 2 * math.Pi * d.Fs() * d.Mms / d.Rms }

// Qes returns the electrical quality factor 2 pi Fs Mms Re/BL^2, theory (1.2).
func (d Driver) Qes() float64 { return 2 * math.Pi * d.Fs() * d.Mms * d.Re / (d.BL * d.BL) }

// Qts returns the total quality factor Qms Qes/(Qms+Qes), theory (1.2).
func (d Driver) Qts() float64 { qm, qe := d.Qms(), d.Qes(); return qm * qe / (qm + qe) }

// Impedance returns the impedance at the terminals in ohm at f (Hz, positive),
// with nothing on the cone. See [Driver.LoadedImpedance].
func (d Driver) Impedance(f float64) complex128 { return d.LoadedImpedance(f, 0, 0) }

// LoadedImpedance returns the impedance in ohm at f (Hz, positive) with the
// mass dM (kg) on the cone and the stiffness dK (N/m) added to the suspension,
// theory (1.1), (1.3) and (2.3):
//
//	Z = Re + ZL(jw) + BL^2 / ( Rv + j w (Mms + dM) + (1/C(jw) + dK)/(j w) )
//	C(jw) = C0 (1 - lambda log10(j w/ws)),   C0 = Cms/(1 + (kappa lambda)^2)
//	Rv = Rms - kappa lambda/(ws Cms),        kappa = pi/(2 ln 10)
//
// ws is the resonance of the driver without dM and dK. C0 and Rv are what make
// Cms = 1/Re(1/C(j ws)) and Rms = Rv + Im(1/C(j ws))/ws.
//
// Source: equivalent circuit, Small, J. Audio Eng. Soc. 20(5), 1972, by way of
// university course notes; logarithmic creep, Knudsen and Jensen, J. Audio Eng.
// Soc. 41, 1993 (abstract read; the exact form of the law from memory).
func (d Driver) LoadedImpedance(f, dM, dK float64) complex128 {
	z := complex(d.Re, 0) + complex(d.BL*d.BL, 0)/d.Mechanical(f, dM, dK)
	if d.Coil != nil {
		z += d.Coil.Impedance(2 * math.Pi * f)
	}
	return z
}

// Mechanical returns force over velocity of the moving parts in kg/s at f (Hz),
// the denominator in [Driver.LoadedImpedance].
func (d Driver) Mechanical(f, dM, dK float64) complex128 {
	w := 2 * math.Pi * f
	ws := 1 / math.Sqrt(d.Mms*d.Cms)
	k := CreepLoss * d.Creep
	c := complex(d.Cms/(1+k*k), 0) * complex(1-d.Creep*math.Log10(w/ws), -k)
	rv := d.Rms - k/(ws*d.Cms)
	return complex(rv, w*(d.Mms+dM)) + (1/c+complex(dK, 0))/complex(0, w)
}
