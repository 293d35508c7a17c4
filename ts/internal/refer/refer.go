// Package refer makes two parameter sets comparable: it brings one to the
// temperature and the mounting of the other, and subtracts them with what they share.
package refer

import (
	"math"

	"conewright/ts/driver"
	"conewright/ts/notice"
	"conewright/ts/param"

	"gonum.org/v1/gonum/mat"
)

// CopperZero is the temperature in kelvin below zero Celsius at which the
// resistance of copper would vanish by its slope at room temperature: 234.5 C,
// the same as 0.393 %/K at 20 C. Handbook value, from memory. Aluminium differs
// by 3 to 9 % in the slope.
const CopperZero = 273.15 - 234.5

// Uncertainties of what is known of a conversion, relative to the conversion.
const (
	airMassStd   = 0.10 // the cone is no flat disc: judgement of this project
	coilSlopeStd = 0.05 // copper or aluminium wire
)

// Referred is a parameter set brought to other conditions.
type Referred struct {
	param.Parameters
	Warnings []notice.Notice
	// Unreferred is what could not be brought to the other mounting, which takes the
	// moving mass and the area of the cone.
	Unreferred map[param.ID]bool
}

// ReferTo brings p to another mounting and temperature (kelvin, 0: 293.15). The
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
func ReferTo(p param.Parameters, mounting param.Mounting, temperature float64) Referred {
	out := Referred{Parameters: Clone(p), Unreferred: map[param.ID]bool{}}
	out.toMounting(mounting)
	out.toTemperature(temperature)
	return out
}

// MassSlope is d ln(quantity)/d ln(Mms) at unchanged stiffness, losses and motor.
var MassSlope = map[param.ID]float64{param.Fs: -0.5, param.Qms: 0.5, param.Qes: 0.5, param.Qts: 0.5, param.Mms: 1, param.Cmes: 1, param.Eta0: -2}

func (r *Referred) toMounting(m param.Mounting) {
	if m == r.Mounting {
		return
	}
	iM, iSd := r.Index(param.Mms), r.Index(param.Sd)
	if iM < 0 || iSd < 0 {
		for _, id := range r.IDs {
			if MassSlope[id] != 0 {
				r.Unreferred[id] = true
			}
		}
		r.Warnings = append(r.Warnings, *notice.New("mounting-differs", notice.Facts{"measured": r.Mounting, "wanted": m}))
		return
	}
	mass, area := math.Exp(r.Scaled[iM]), math.Exp(r.Scaled[iSd])
	// The usual air is enough for a correction that is uncertain by a tenth.
	air := driver.Air{Temperature: driver.DefaultTemperature, Pressure: driver.DefaultPressure}
	dM := driver.AirMass(area, m, air) - driver.AirMass(area, r.Mounting, air)
	shift := math.Log1p(dM / mass)
	n := len(r.IDs)
	// y' = y + g shift(ln Mms, ln Sd): the slopes of shift go into the covariance.
	t := mat.NewDense(n, n, nil)
	effect := make([]float64, n)
	for i, id := range r.IDs {
		g := MassSlope[id]
		r.Scaled[i] += g * shift
		t.Set(i, i, 1)
		t.Set(i, iM, t.At(i, iM)+g*(mass/(mass+dM)-1))
		t.Set(i, iSd, t.At(i, iSd)+g*1.5*dM/(mass+dM))
		effect[i] = g * airMassStd * dM / (mass + dM)
	}
	Transform(&r.Parameters, t)
	r.Components = append(r.Components, param.Component{Source: "air load", Part: param.BenchPart, Effect: effect})
	r.Mounting = m
}

func (r *Referred) toTemperature(t float64) {
	t, from := OrRoom(t), OrRoom(r.Temperature)
	r.Temperature = t
	shift := math.Log((t - CopperZero) / (from - CopperZero))
	if shift == 0 {
		return
	}
	effect := r.byRe()
	for i, g := range effect {
		r.Scaled[i] += g * shift
		effect[i] = g * coilSlopeStd * shift
	}
	r.Components = append(r.Components, param.Component{Source: "coil temperature slope", Part: param.BenchPart, Effect: effect})
}

func OrRoom(kelvin float64) float64 {
	if kelvin == 0 {
		return driver.DefaultTemperature
	}
	return kelvin
}

// byRe returns how the values follow Re, on the scale, while the motion of the cone stays as it is.
func (r *Referred) byRe() []float64 {
	var qts float64 // d ln Qts / d ln Qes
	if qes, qms := r.Index(param.Qes), r.Index(param.Qms); qes >= 0 && qms >= 0 {
		qts = 1 / (1 + math.Exp(r.Scaled[qes]-r.Scaled[qms]))
	}
	slope := make([]float64, len(r.IDs))
	for i, id := range r.IDs {
		slope[i] = map[param.ID]float64{param.Re: 1, param.Qes: 1, param.Qts: qts, param.Eta0: -1}[id]
	}
	return slope
}

// ByMeter returns the values with Re as a meter reads it that contradicts the sweep; false where
// there is no such reading.
func (r Referred) ByMeter() (Referred, bool) {
	if r.MeterOff == 0 {
		return r, false
	}
	out := r
	out.Parameters = Clone(r.Parameters)
	for i, g := range r.byRe() {
		out.Scaled[i] += g * r.MeterOff
	}
	return out, true
}
