package ts

import (
	"math"

	"gonum.org/v1/gonum/mat"
)

// Spread is a computed value with its uncertainty: standard uncertainty and the
// ends of the 95 % interval, in the unit of the value.
type Spread struct {
	Value, Std, Low, High float64
}

// MassEffect is what a mass on the moving system does to a driver, or what
// leaving one out does.
type MassEffect struct {
	Mass Spread // kg; negative: taken off
	Rows []MassEffectRow
	// LevelChange is the change of the sound level above resonance in decibel at
	// equal voltage, -20 lg(Mms'/Mms).
	LevelChange Spread
}

// MassEffectRow is one quantity without and with the mass.
type MassEffectRow struct {
	ID            ParamID
	Before, After Spread
}

// MassForFs returns the mass in kg that brings the resonance of a driver to fs
// (Hz), with the uncertainty that Mms, Fs and creep leave. See
// [Driver.MassForResonance] for the formula and for what is refused. It needs
// Fs and Mms.
func MassForFs(p Parameters, fs float64) (Spread, error) {
	if err := needsMass(p); err != nil {
		return Spread{}, err
	}
	if _, err := driverFrom(p, p.Scaled).MassForResonance(fs); err != nil {
		return Spread{}, err
	}
	return p.spread(Mms, 0, nil, func(d Driver, _ float64) float64 {
		m, err := d.MassForResonance(fs)
		if err != nil {
			return 0 // a neighbouring value of Fs that lies below the target
		}
		return m
	}), nil
}

// EffectOfMass returns what the mass dM (kg, negative to take it off) with the
// standard uncertainty stdM does: Fs, Mms, Cms, the Q values and the efficiency,
// as far as p knows them. It needs Fs and Mms. theory (7.4).
func EffectOfMass(p Parameters, dM, stdM float64) (*MassEffect, error) {
	if err := needsMass(p); err != nil {
		return nil, err
	}
	if _, err := driverFrom(p, p.Scaled).WithMass(dM); err != nil {
		return nil, err
	}
	after := func(read func(Driver) float64) func(Driver, float64) float64 {
		return func(d Driver, m float64) float64 {
			with, err := d.WithMass(m)
			if err != nil {
				return math.NaN()
			}
			return read(with)
		}
	}
	e := &MassEffect{Mass: Spread{dM, stdM, dM - p.Coverage*stdM, dM + p.Coverage*stdM}}
	mass := &Spread{Value: dM, Std: stdM}
	for _, r := range []struct {
		id    ParamID
		needs []ParamID
		read  func(Driver) float64
	}{
		{Fs, nil, Driver.Fs},
		{Qms, []ParamID{Qms}, Driver.Qms},
		{Qes, []ParamID{Qes}, Driver.Qes},
		{Qts, []ParamID{Qms, Qes}, Driver.Qts},
		{Mms, nil, func(d Driver) float64 { return d.Mms }},
		{Cms, nil, func(d Driver) float64 { return d.Cms }},
	} {
		known := true
		for _, id := range r.needs {
			known = known && p.Index(id) >= 0
		}
		if !known {
			continue
		}
		e.Rows = append(e.Rows, MassEffectRow{r.id,
			p.spread(r.id, 0, nil, func(d Driver, _ float64) float64 { return r.read(d) }),
			p.spread(r.id, dM, mass, after(r.read))})
	}
	if eta, ok := p.Get(Eta0); ok {
		// eta0 is proportional to (BL Sd/Mms)^2/Re: only Mms changes.
		share := p.spread(Mms, dM, mass, func(d Driver, m float64) float64 {
			r := d.Mms / (d.Mms + m)
			return r * r
		})
		v := eta.Value * share.Value
		u := v * math.Hypot(eta.Std/eta.Value, share.Std/share.Value)
		e.Rows = append(e.Rows, MassEffectRow{Eta0,
			Spread{eta.Value, eta.Std, eta.Low, eta.High},
			p.unevenAs(Eta0, v, u)})
	}
	e.LevelChange = p.spread(Mms, dM, mass, func(d Driver, m float64) float64 {
		return -20 * math.Log10((d.Mms+m)/d.Mms)
	})
	return e, nil
}

// needsMass refuses a driver whose moving mass or resonance is not known.
func needsMass(p Parameters) error {
	if p.Index(Mms) >= 0 && p.Index(Fs) >= 0 {
		return nil
	}
	return &Refusal{Code: "needs-added-mass", Message: "the moving mass Mms is not known, so the effect of a ring cannot be computed",
		Advice: "measure once more with a known mass on the cone, or give Mms"}
}

// driverFrom builds the driver that scaled values (on the scale of p.Scaled)
// describe, with Re = 1 ohm: a mass changes neither Re nor BL, so BL only
// carries Qes. Q values that are not known are set to 1.
func driverFrom(p Parameters, scaled []float64) Driver {
	get := func(id ParamID, otherwise float64) float64 {
		if i := p.Index(id); i >= 0 {
			return id.Unscale(scaled[i])
		}
		return otherwise
	}
	ws := 2 * math.Pi * get(Fs, 0)
	m := get(Mms, 0)
	return Driver{
		Re:    1,
		BL:    math.Sqrt(ws * m / get(Qes, 1)),
		Mms:   m,
		Cms:   1 / (ws * ws * m),
		Rms:   ws * m / get(Qms, 1),
		Creep: get(Creep, 0),
	}
}

// spread evaluates f at the values of p and carries their joint uncertainty
// through it to first order, with central differences on the scale of p; dM is
// handed to f, and mass, if not nil, is its independent uncertainty. The interval is
// uneven as that of id.
//
// Source: JCGM 100:2008, 5.2.2, equation (13).
func (p Parameters) spread(id ParamID, dM float64, mass *Spread, f func(d Driver, dM float64) float64) Spread {
	at := func(scaled []float64, m float64) float64 { return f(driverFrom(p, scaled), m) }
	n := len(p.IDs)
	g := mat.NewVecDense(n, nil)
	work := make([]float64, n)
	const h = 1e-5
	for i := range n {
		copy(work, p.Scaled)
		work[i] = p.Scaled[i] + h
		up := at(work, dM)
		work[i] = p.Scaled[i] - h
		g.SetVec(i, (up-at(work, dM))/(2*h))
	}
	variance := mat.Inner(g, p.Covariance(), g)
	if mass != nil && mass.Std > 0 {
		s := mass.Std / 10
		slope := (at(p.Scaled, dM+s) - at(p.Scaled, dM-s)) / (2 * s)
		variance += slope * slope * mass.Std * mass.Std
	}
	v, u := at(p.Scaled, dM), math.Sqrt(max(0, variance))
	return p.unevenAs(id, v, u)
}

// unevenAs returns v with the standard uncertainty u and an interval that is longer
// on the side on which that of id is.
func (p Parameters) unevenAs(id ParamID, v, u float64) Spread {
	b := bars{u, u}
	if i := p.Index(id); i >= 0 {
		if s := p.scaledStd(i); s > 0 {
			g := p.guard(i)
			b = bars{u * g.down / s, u * g.up / s}
		}
	}
	return Spread{v, u, v - p.Coverage*b.down, v + p.Coverage*b.up}
}
