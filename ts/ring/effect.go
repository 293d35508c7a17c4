package ring

import (
	"math"

	"conewright/ts/driver"
	"conewright/ts/internal/bounds"
	"conewright/ts/notice"
	"conewright/ts/param"

	"gonum.org/v1/gonum/mat"
)

// Effect is what a mass on the moving system does to a driver, or what
// leaving one out does.
type Effect struct {
	Mass Spread // kg; negative: taken off
	Rows []EffectRow
	// LevelChange is the change of the sound level above resonance in decibel at
	// equal voltage, -20 lg(Mms'/Mms).
	LevelChange Spread
}

// EffectRow is one quantity without and with the mass.
type EffectRow struct {
	ID            param.ID
	Before, After Spread
}

// MassForFs returns the mass in kg that brings the resonance of a driver to fs
// (Hz), with the uncertainty that Mms, Fs and creep leave. See
// [driver.Driver.MassForResonance] for the formula and for what is refused. It needs
// Fs and Mms.
func MassForFs(p param.Parameters, fs float64) (Spread, error) {
	if err := needsMass(p); err != nil {
		return Spread{}, err
	}
	if _, err := driverFrom(p, p.Scaled).MassForResonance(fs); err != nil {
		return Spread{}, err
	}
	return spread(p, param.Mms, 0, nil, func(d driver.Driver, _ float64) float64 {
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
func EffectOfMass(p param.Parameters, dM, stdM float64) (*Effect, error) {
	if err := needsMass(p); err != nil {
		return nil, err
	}
	if !(math.Abs(dM) <= bounds.Mass.Hi && stdM >= 0 && stdM <= bounds.Mass.Hi) {
		return nil, notice.New("bad-value", notice.Facts{"of": bounds.Mass.Of, "value": dM, "std": stdM})
	}
	if _, err := driverFrom(p, p.Scaled).WithMass(dM); err != nil {
		return nil, err
	}
	after := func(read func(driver.Driver) float64) func(driver.Driver, float64) float64 {
		return func(d driver.Driver, m float64) float64 {
			with, err := d.WithMass(m)
			if err != nil {
				return math.NaN()
			}
			return read(with)
		}
	}
	e := &Effect{Mass: Spread{Value: dM, Std: stdM, Low: dM - p.Coverage*stdM, High: dM + p.Coverage*stdM}}
	mass := &Spread{Value: dM, Std: stdM}
	for _, r := range []struct {
		id    param.ID
		needs []param.ID
		read  func(driver.Driver) float64
	}{
		{param.Fs, nil, driver.Driver.Fs},
		{param.Qms, []param.ID{param.Qms}, driver.Driver.Qms},
		{param.Qes, []param.ID{param.Qes}, driver.Driver.Qes},
		{param.Qts, []param.ID{param.Qms, param.Qes}, driver.Driver.Qts},
		{param.Mms, nil, func(d driver.Driver) float64 { return d.Mms }},
		{param.Cms, nil, func(d driver.Driver) float64 { return d.Cms }},
	} {
		known := true
		for _, id := range r.needs {
			known = known && p.Index(id) >= 0
		}
		if !known {
			continue
		}
		e.Rows = append(e.Rows, EffectRow{r.id,
			spread(p, r.id, 0, nil, func(d driver.Driver, _ float64) float64 { return r.read(d) }),
			spread(p, r.id, dM, mass, after(r.read))})
	}
	if eta, ok := p.Get(param.Eta0); ok {
		// eta0 is proportional to (BL Sd/Mms)^2/Re: only Mms changes.
		share := spread(p, param.Mms, dM, mass, func(d driver.Driver, m float64) float64 {
			r := d.Mms / (d.Mms + m)
			return r * r
		})
		v := eta.Value * share.Value
		u := v * math.Hypot(eta.Std/eta.Value, share.Std/share.Value)
		e.Rows = append(e.Rows, EffectRow{param.Eta0,
			Spread{Value: eta.Value, Std: eta.Std, Low: eta.Low, High: eta.High},
			unevenAs(p, param.Eta0, v, u)})
	}
	e.LevelChange = spread(p, param.Mms, dM, mass, func(d driver.Driver, m float64) float64 {
		return -20 * math.Log10((d.Mms+m)/d.Mms)
	})
	return e, nil
}

// needsMass refuses a driver whose moving mass or resonance is not known.
func needsMass(p param.Parameters) error {
	if p.Index(param.Mms) < 0 || p.Index(param.Fs) < 0 {
		return notice.New("mass-not-known", nil)
	}
	return p.Check()
}

// driverFrom builds the driver that scaled values (on the scale of p.Scaled)
// describe, with Re = 1 ohm: a mass changes neither Re nor BL, so BL only
// carries Qes. Q values that are not known are set to 1.
func driverFrom(p param.Parameters, scaled []float64) driver.Driver {
	get := func(id param.ID, otherwise float64) float64 {
		if i := p.Index(id); i >= 0 {
			return id.Unscale(scaled[i])
		}
		return otherwise
	}
	ws := 2 * math.Pi * get(param.Fs, 0)
	m := get(param.Mms, 0)
	return driver.Driver{
		Re:    1,
		BL:    math.Sqrt(ws * m / get(param.Qes, 1)),
		Mms:   m,
		Cms:   1 / (ws * ws * m),
		Rms:   ws * m / get(param.Qms, 1),
		Creep: get(param.Creep, 0),
	}
}

// spread evaluates f at the values of p and carries their joint uncertainty
// through it to first order, with central differences on the scale of p; dM is
// handed to f, and mass, if not nil, is its independent uncertainty. The interval is
// uneven as that of id.
//
// Source: JCGM 100:2008, 5.2.2, equation (13).
func spread(p param.Parameters, id param.ID, dM float64, mass *Spread, f func(d driver.Driver, dM float64) float64) Spread {
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
	if mass != nil && mass.Std/10 > 0 {
		s := mass.Std / 10
		slope := (at(p.Scaled, dM+s) - at(p.Scaled, dM-s)) / (2 * s)
		variance += slope * slope * mass.Std * mass.Std
	}
	v, u := at(p.Scaled, dM), math.Sqrt(max(0, variance))
	return unevenAs(p, id, v, u)
}
