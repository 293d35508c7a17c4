// Package ring is about masses on the cone: what a mass ring does to a driver,
// which ring brings a wanted resonance, and the straight line through the resonances with
// several masses.
package ring

import (
	"math"

	"conewright/ts/internal/bounds"
	"conewright/ts/notice"
	"conewright/ts/param"
)

// Ring is a plain ring of rectangular section.
type Ring struct {
	InnerDiameter float64 // m, the outside of the coil former
	Height        float64 // m, along the former
	Thickness     float64 // m, in the direction of the radius
}

// Mass returns the mass in kg of the ring in a material of the density given in
// kg/m^3:
//
//	m = density pi h t (d + t)
//
// d inner diameter, h height, t thickness. Source: geometry. theory (7.5).
func (r Ring) Mass(density float64) float64 {
	return density * math.Pi * r.Height * r.Thickness * (r.InnerDiameter + r.Thickness)
}

// check refuses dimensions that no ring has; 0 is not given.
func (r Ring) check() error {
	return bounds.First(bounds.Length.Given(r.InnerDiameter, 0), bounds.Length.Given(r.Height, 0), bounds.Length.Given(r.Thickness, 0))
}

// ForMass completes a ring of mass m (kg) and density (kg/m^3): of Height
// and Thickness exactly one must be zero, and it is found from the other:
//
//	h = m / (density pi t (d + t))
//	t = ( sqrt(d^2 + 4 m/(density pi h)) - d ) / 2
//
// Source: geometry. theory (7.5).
func ForMass(m, density float64, r Ring) (Ring, error) {
	if err := bounds.First(bounds.Mass.Number(m), bounds.Density.Number(density), bounds.Length.Number(r.InnerDiameter), r.check()); err != nil {
		return Ring{}, err
	}
	switch {
	case (r.Height > 0) == (r.Thickness > 0):
		return Ring{}, notice.New("ring-open-size", nil)
	case r.Thickness > 0:
		r.Height = m / (density * math.Pi * r.Thickness * (r.InnerDiameter + r.Thickness))
	default:
		d := r.InnerDiameter
		// Written without the difference of two nearly equal numbers.
		q := 4 * m / (density * math.Pi * r.Height)
		r.Thickness = q / (2 * (math.Sqrt(d*d+q) + d))
	}
	return r, nil
}

// weigh returns the mass of a ring in kg and its standard uncertainty from those
// of the density and of the dimensions, taken as independent.
func (r Ring) weigh(m Material, std Ring) param.Quantity {
	d, h, t := r.InnerDiameter, r.Height, r.Thickness
	mass := r.Mass(m.Density.Value)
	rel := []float64{
		m.Density.Std / m.Density.Value,
		std.Height / h,
		std.Thickness * (d + 2*t) / (t * (d + t)),
		std.InnerDiameter / (d + t),
	}
	var sum float64
	for _, v := range rel {
		sum += v * v
	}
	return param.Quantity{Value: mass, Std: mass * math.Sqrt(sum)}
}
