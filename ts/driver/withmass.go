package driver

import (
	"math"

	"conewright/ts/internal/bounds"
	"conewright/ts/notice"
)

// WithMass returns the driver with dM (kg) added to its moving mass, or taken
// from it when dM is negative. Without creep only Mms changes. With creep the
// suspension is softer at a lower resonance, so Cms and Rms of the result are
// those at the new resonance ws', where ws'^2 (Mms + dM) = Re K(j ws').
//
// It refuses to take away the whole moving mass, and more than any cone carries.
// theory (7.1).
func (d Driver) WithMass(dM float64) (Driver, error) {
	if err := d.Check(); err != nil {
		return Driver{}, err
	}
	if err := bounds.Mass.Number(max(dM, bounds.Mass.Lo)); err != nil {
		return Driver{}, err
	}
	m := d.Mms + dM
	if !(m > 0) {
		return Driver{}, notice.New("mass-gone", notice.Facts{"mass": -dM, "moving": d.Mms})
	}
	// x = ws'/ws solves x^2 m/Mms = k(x), k falling and x^2 rising: one root,
	// found by bisection in log x.
	lo, hi := -3.0, 3.0 // decades
	for range 200 {
		mid := (lo + hi) / 2
		x := math.Pow(10, mid)
		if k, _ := d.stiffness(x); x*x*m/d.Mms < k {
			lo = mid
		} else {
			hi = mid
		}
	}
	return d.at(math.Pow(10, (lo+hi)/2), m), nil
}

// MassForResonance returns the mass in kg that brings the resonance to fs (Hz):
//
//	dM = Re K(j ws')/ws'^2 - Mms,     without creep  dM = Mms ((Fs/fs)^2 - 1)
//
// It refuses a resonance above the present one: added mass only lowers it.
// Source: the added-mass formula read backwards, university course notes;
// creep as in [Driver.LoadedImpedance]. theory (7.2).
func (d Driver) MassForResonance(fs float64) (float64, error) {
	if err := d.Check(); err != nil {
		return 0, err
	}
	if err := bounds.Frequency.Number(fs); err != nil {
		return 0, err
	}
	now := d.Fs()
	if fs >= now {
		return 0, notice.New("mass-only-lowers", notice.Facts{"now": now, "target": fs})
	}
	x := fs / now
	k, _ := d.stiffness(x)
	return d.Mms * (k/(x*x) - 1), nil
}

// stiffness returns the dynamic stiffness of the suspension at the angular
// frequency x ws relative to its real part at ws: real part and imaginary part,
// (1+q^2)/(1 - lambda log10 x - j q) with q = kappa lambda.
func (d Driver) stiffness(x float64) (re, im float64) {
	q := CreepLoss * d.Creep
	a := 1 - d.Creep*math.Log10(x)
	n := (1 + q*q) / (a*a + q*q)
	return a * n, q * n
}

// at returns the driver with moving mass m (kg) whose new resonance lies at the
// ratio x to the old one, values referred to that resonance.
func (d Driver) at(x, m float64) Driver {
	ws := 2 * math.Pi * d.Fs()
	k, loss := d.stiffness(x)
	viscous := d.Rms - CreepLoss*d.Creep/(ws*d.Cms)
	out := d
	out.Mms = m
	out.Cms = d.Cms / k
	out.Rms = viscous + loss/(d.Cms*x*ws)
	// The slope of the compliance per decade is the same in m/N; as a fraction
	// of the compliance at the new resonance it is smaller or larger.
	out.Creep = d.Creep / (1 - d.Creep*math.Log10(x))
	return out
}
