package boxed

import (
	"math"

	"conewright/ts/driver"
	"conewright/ts/param"
)

// circuit is a driver in a box by its elements, all mechanical ones in units of the moving mass:
//
//	Z = Re + ZL + BL^2/(Zm + Zbox),   1/Zbox = 1/(Ra + K/s) + 1/Rl + 1/(Rp + s Mp)
//
// Source: Small, J. Audio Eng. Soc. 20, 1972, 798 and 21, 1973, 363 (from memory; derived from the elements). Theory (10.5), (10.6).
type circuit struct {
	driver driver.Driver
	air    float64 // K, stiffness of the air, N/m
	absorb float64 // Ra, kg/s
	leak   float64 // Rl, kg/s
	port   float64 // Mp, kg; 0: closed
	rub    float64 // Rp, kg/s
	at     float64 // rad/s, where the quality factors of the losses count
}

// unitMass is the moving mass that all others are in units of, kg: an impedance tells ratios only.
const unitMass = 0.02

// circuit is that of a fit.
func (m *Measured) circuit() circuit {
	p := m.Fit.Parameters
	v := func(id param.ID) float64 { return value(p, id) }
	ws := 2 * math.Pi * v(param.Fs)
	k, r := ws*ws*unitMass, ws*unitMass/v(param.Qms)
	c := circuit{at: ws}
	alpha, ql, qa := v(param.Alpha), v(param.QL), v(param.QA)
	creep := 0.0
	if m.Kind == Closed {
		// Of the stiffness and the losses at fc the air has its part.
		c.air = k * alpha / (1 + alpha)
		r = max(r/5, r-c.air/ws*(1/ql+1/qa))
		k /= 1 + alpha
	} else {
		wb := 2 * math.Pi * v(param.Fb)
		c.at = wb
		c.air = k * alpha
		c.port = c.air / (wb * wb)
		c.rub = c.air / (wb * v(param.QP))
		if i := p.Index(param.Creep); i >= 0 {
			creep = p.Scaled[i]
		}
	}
	c.absorb, c.leak = c.air/(c.at*qa), c.air*ql/c.at
	c.driver = driver.Driver{Re: v(param.Re), BL: math.Sqrt(v(param.Res) * ws * unitMass / v(param.Qms)), Mms: unitMass, Cms: 1 / k, Rms: r, Coil: m.Fit.Coil, Creep: creep}
	return c
}

// impedance returns Z in ohm at f (Hz).
func (c circuit) impedance(f float64, extra complex128) complex128 {
	s := complex(0, 2*math.Pi*f)
	y := extra + complex(1/c.leak, 0) + 1/(complex(c.absorb, 0)+complex(c.air, 0)/s)
	if c.port > 0 {
		y += 1 / (complex(c.rub, 0) + s*complex(c.port, 0))
	}
	d := c.driver
	z := complex(d.Re, 0) + complex(d.BL*d.BL, 0)/(d.Mechanical(f, 0, 0)+1/y)
	if d.Coil != nil {
		z += d.Coil.Impedance(2 * math.Pi * f)
	}
	return z
}

// The changes that a circuit can have, each zero where there is none: logarithms of ratios, but for two.
const (
	ofRe = iota
	ofStiffness
	ofLosses
	ofMass
	ofMotor
	ofCoil
	ofAir
	ofAbsorption
	ofTuning
	ofLeak     // logarithm of the leak's resistance over that which gives QL = 1; counts with leaks only
	ofLeakMass // logarithm of the frequency above which the leak is a mass, over the reference
	ofPortLoss // of a vented box
	ofGate     // logarithm of what is left of the port's admittance
	ofSplit    // of a closed box: how the stiffness is shared, on both sides alike
	changes
)

// changed returns the impedance at f with changes x; leaks says that there is one more leak.
func (c circuit) changed(f float64, x *[changes]float64, leaks bool) complex128 {
	d := &c.driver
	if x[ofSplit] != 0 {
		k := 1 / d.Cms
		alpha := c.air / k * math.Exp(x[ofSplit])
		all := k + c.air
		air := all * alpha / (1 + alpha)
		c.absorb *= air / c.air
		c.leak *= air / c.air
		c.air = air
		d.Cms = 1 / (all - air)
	}
	var extra complex128
	if leaks {
		r := c.air / c.at * math.Exp(x[ofLeak])
		extra = 1 / complex(r, r*2*math.Pi*f/(c.at*math.Exp(x[ofLeakMass])))
	}
	d.Re *= math.Exp(x[ofRe])
	d.BL *= math.Exp(x[ofMotor] / 2)
	d.Mms *= math.Exp(x[ofMass])
	d.Cms *= math.Exp(-x[ofStiffness])
	d.Rms *= math.Exp(x[ofLosses])
	air := math.Exp(x[ofAir])
	c.air *= air
	c.absorb *= air * math.Exp(x[ofAbsorption])
	if c.port > 0 {
		gate := math.Exp(-x[ofGate])
		c.port *= gate * math.Exp(-2*x[ofTuning])
		c.rub *= gate * math.Exp(x[ofPortLoss])
	}
	if x[ofCoil] == 0 || d.Coil == nil {
		return c.impedance(f, extra)
	}
	coil := d.Coil
	d.Coil = nil
	return c.impedance(f, extra) + coil.Impedance(2*math.Pi*f)*complex(math.Exp(x[ofCoil]), 0)
}
