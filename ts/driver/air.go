package driver

import (
	"math"

	"conewright/ts/param"
)

// Air is the air around the driver.
type Air struct {
	Temperature float64 // kelvin
	Pressure    float64 // Pa
	Humidity    float64 // relative, 0 to 1
}

// carbonDioxide is the mole fraction of carbon dioxide that the formulas below
// assume. Doubling it changes density and speed by less than 0.04 %.
const carbonDioxide = 0.0004

// Density returns the density of moist air in kg/m^3, theory (2.14):
//
//	rho = 3.48349e-3 p/(Z T) (1 - 0.378 xw)
//
// T in kelvin, p in Pa, xw the mole fraction of water vapour and Z the
// compressibility. Good from 15 to 27 C and 60 to 110 kPa, usable on any bench.
//
// Source: the CIPM formula as given in IEC 61094-2, by way of two public
// implementations; the coefficients of Z from memory, checked against their
// results to seven digits.
func (a Air) Density() float64 {
	t, T, p, xw := a.celsius(), a.Temperature, a.Pressure, a.water()
	pT := p / T
	z := 1 - pT*(1.58123e-6-2.9331e-8*t+1.1043e-10*t*t+(5.707e-6-2.051e-8*t)*xw+(1.9898e-4-2.376e-6*t)*xw*xw) +
		pT*pT*(1.83e-11-0.765e-8*xw*xw)
	return 3.48349e-3 * p / (z * T) * (1 - 0.378*xw)
}

// SoundSpeed returns the speed of sound in m/s, theory (2.15), a polynomial in
// temperature, pressure, water vapour and carbon dioxide.
//
// Source: Cramer, J. Acoust. Soc. Am. 93(5), 1993, as given in IEC 61094-2, by
// way of two public implementations.
func (a Air) SoundSpeed() float64 {
	t, p, xw := a.celsius(), a.Pressure, a.water()
	const xc = carbonDioxide
	return 331.5024 + 0.603055*t - 0.000528*t*t +
		(51.471935+0.1495874*t-0.000782*t*t)*xw +
		(-1.82e-7+3.73e-8*t-2.93e-10*t*t)*p +
		(-85.20931-0.228525*t+5.91e-5*t*t)*xc -
		2.835149*xw*xw - 2.15e-13*p*p + 29.179762*xc*xc + 0.000486*xw*p*xc
}

// Stiffness returns rho c^2 in Pa, the pressure that a full relative change of
// volume would cost. It follows the air pressure and hardly the temperature.
func (a Air) Stiffness() float64 {
	c := a.SoundSpeed()
	return a.Density() * c * c
}

func (a Air) celsius() float64 { return a.Temperature - 273.15 }

// water returns the mole fraction of water vapour: relative humidity times the
// enhancement factor times the saturation pressure, over the air pressure.
func (a Air) water() float64 {
	t, T, p := a.celsius(), a.Temperature, a.Pressure
	saturation := math.Exp(1.2378847e-5*T*T - 1.9121316e-2*T + 33.93711047 - 6343.1645/T) // Pa
	enhancement := 1.00062 + 3.14e-8*p + 5.6e-7*t*t
	return a.Humidity * enhancement * saturation / p
}

// What is taken where nothing else is known.
const (
	DefaultTemperature = 293.15 // K
	DefaultPressure    = 101300 // Pa
)

// SdFromDiameter returns the area of a cone in m^2 from its effective diameter
// in m, measured from the middle of the surround to the middle of the opposite
// one, theory (2.1). A relative error of the diameter counts twice in the area
// and four times in Vas.
//
// Source: laboratory notes of a university course (read).
func SdFromDiameter(diameter float64) float64 { return math.Pi / 4 * diameter * diameter }

// AirMass returns the mass in kg of the air that moves with a cone of area sd
// (m^2), both sides together, theory (2.13), a = sqrt(Sd/pi):
//
//	baffle: (16/3) rho a^3      free air: (8/3) rho a^3
//
// It is part of Mms. Between the two mountings Mms differs by half of the first.
//
// Source: university course notes (read), after Beranek, Acoustics.
func AirMass(sd float64, m param.Mounting, air Air) float64 {
	a := math.Sqrt(sd / math.Pi)
	free := 8. / 3 * air.Density() * a * a * a
	if m == param.Baffle {
		return 2 * free
	}
	return free
}
