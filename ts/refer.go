package ts

import (
	"fmt"
	"math"
	"slices"

	"gonum.org/v1/gonum/mat"
)

// copperZero is the temperature in kelvin below zero Celsius at which the
// resistance of copper would vanish by its slope at room temperature: 234.5 C,
// the same as 0.393 %/K at 20 C. Handbook value, from memory. Aluminium differs
// by 3 to 9 % in the slope.
const copperZero = 273.15 - 234.5

// Uncertainties of what is known of a conversion, relative to the conversion.
const (
	airMassStd   = 0.10 // the cone is no flat disc: judgement of this project
	coilSlopeStd = 0.05 // copper or aluminium wire
)

// referred is a parameter set brought to other conditions.
type referred struct {
	Parameters
	Warnings   []Warning
	unreferred map[ParamID]string // what could not be brought there, and why
}

// referTo brings p to another mounting and temperature (kelvin, 0: 293.15). The
// uncertainty of the conversion enters as a component of the bench.
//
// Mounting: a baffle adds the air mass
//
//	dM = (8/3) rho a^3,   a = sqrt(Sd/pi)                      theory (5.3)
//
// to what moves in free air; stiffness, losses and BL stay. Source: university
// course notes after Beranek, 4.19 and 4.21.
//
// Temperature: copper, R2/R1 = (234.5 + t2)/(234.5 + t1), t in Celsius, theory
// (5.4); Qes goes with Re.
func (p Parameters) referTo(mounting Mounting, temperature float64) referred {
	out := referred{Parameters: p.clone(), unreferred: map[ParamID]string{}}
	out.toMounting(mounting)
	out.toTemperature(temperature)
	return out
}

// clone copies what a conversion writes to.
func (p Parameters) clone() Parameters {
	p.Scaled = slices.Clone(p.Scaled)
	if p.Noise != nil {
		n := mat.NewSymDense(len(p.IDs), nil)
		n.CopySym(p.Noise)
		p.Noise = n
	}
	p.Components = slices.Clone(p.Components)
	for i := range p.Components {
		p.Components[i].Effect = slices.Clone(p.Components[i].Effect)
	}
	return p
}

// massSlope is d ln(quantity)/d ln(Mms) at unchanged stiffness, losses and motor.
var massSlope = map[ParamID]float64{Fs: -0.5, Qms: 0.5, Qes: 0.5, Qts: 0.5, Mms: 1, Cmes: 1, Eta0: -2}

func (r *referred) toMounting(m Mounting) {
	if m == r.Mounting {
		return
	}
	iM, iSd := r.Index(Mms), r.Index(Sd)
	if iM < 0 || iSd < 0 {
		why := fmt.Sprintf("it was measured in %v and is wanted for %v: to convert it takes the moving mass (a sweep with an added mass) and the diameter of the cone",
			r.Mounting, m)
		for _, id := range r.IDs {
			if massSlope[id] != 0 {
				r.unreferred[id] = why
			}
		}
		r.Warnings = append(r.Warnings, Warning{Code: "mounting-differs",
			Message: fmt.Sprintf("the sweep was taken in %v, the values are wanted for %v; the air that moves with the cone differs", r.Mounting, m),
			Hint:    fmt.Sprintf("measure in %v, or give the diameter and a sweep with an added mass so that it can be converted", m)})
		return
	}
	mass, area := math.Exp(r.Scaled[iM]), math.Exp(r.Scaled[iSd])
	// The usual air is enough for a correction that is uncertain by a tenth.
	air := Air{Temperature: defaultTemperature, Pressure: defaultPressure}
	dM := airMass(area, m, air) - airMass(area, r.Mounting, air)
	shift := math.Log1p(dM / mass)
	n := len(r.IDs)
	// y' = y + g shift(ln Mms, ln Sd): the slopes of shift go into the covariance.
	t := mat.NewDense(n, n, nil)
	effect := make([]float64, n)
	for i, id := range r.IDs {
		g := massSlope[id]
		r.Scaled[i] += g * shift
		t.Set(i, i, 1)
		t.Set(i, iM, t.At(i, iM)+g*(mass/(mass+dM)-1))
		t.Set(i, iSd, t.At(i, iSd)+g*1.5*dM/(mass+dM))
		effect[i] = g * airMassStd * dM / (mass + dM)
	}
	r.transform(t)
	r.Components = append(r.Components, Component{Source: "air load", Part: BenchPart, Effect: effect})
	r.Mounting = m
}

// transform carries the uncertainty through y' = T y.
func (p *Parameters) transform(t *mat.Dense) {
	n := len(p.IDs)
	if p.Noise != nil {
		var tn, v mat.Dense
		tn.Mul(t, p.Noise)
		v.Mul(&tn, t.T())
		for i := range n {
			for j := i; j < n; j++ {
				p.Noise.SetSym(i, j, v.At(i, j))
			}
		}
	}
	for i := range p.Components {
		e := mat.NewVecDense(n, nil)
		e.MulVec(t, mat.NewVecDense(n, p.Components[i].Effect))
		p.Components[i].Effect = e.RawVector().Data
	}
}

func (r *referred) toTemperature(t float64) {
	t, from := orRoom(t), orRoom(r.Temperature)
	r.Temperature = t
	shift := math.Log((t - copperZero) / (from - copperZero))
	if shift == 0 {
		return
	}
	effect := make([]float64, len(r.IDs))
	var qts float64 // d ln Qts / d ln Qes
	if qes, qms := r.Index(Qes), r.Index(Qms); qes >= 0 && qms >= 0 {
		qts = 1 / (1 + math.Exp(r.Scaled[qes]-r.Scaled[qms]))
	}
	for i, id := range r.IDs {
		g := map[ParamID]float64{Re: 1, Qes: 1, Qts: qts, Eta0: -1}[id]
		r.Scaled[i] += g * shift
		effect[i] = g * coilSlopeStd * shift
	}
	r.Components = append(r.Components, Component{Source: "coil temperature slope", Part: BenchPart, Effect: effect})
}

func orRoom(kelvin float64) float64 {
	if kelvin == 0 {
		return defaultTemperature
	}
	return kelvin
}

// scaledStd returns the standard uncertainty of the value i on its scale.
func (p Parameters) scaledStd(i int) float64 {
	var v float64
	if p.Noise != nil {
		v = p.Noise.At(i, i)
	}
	for _, c := range p.Components {
		v += c.Effect[i] * c.Effect[i]
	}
	return math.Sqrt(v)
}
