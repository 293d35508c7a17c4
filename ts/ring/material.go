package ring

import (
	"fmt"
	"math"

	"conewright/ts/param"
)

// Material is what a ring is made of.
type Material struct {
	Name    string
	Density param.Quantity // kg/m^3; Std covers the usual alloys
	Note    string         // what to mind with a ring of it near a magnet and a coil
}

// Materials lists the usual ring materials with handbook densities at 20 C.
//
// Source: CRC Handbook of Chemistry and Physics, densities of metals and common
// alloys (from memory): aluminium 2.70, common brasses 8.4 to 8.75, low-carbon
// steel 7.85 to 7.87, copper 8.96 g/cm^3. The standard uncertainty covers the
// spread between common alloys as a rectangular distribution.
func Materials() []Material {
	return []Material{
		{"aluminium", param.Quantity{Value: 2700, Std: 40}, "a closed ring in the field of the gap is a shorted turn: fix it clear of the gap, or slit it"},
		{"brass", param.Quantity{Value: 8500, Std: 90}, "a closed ring in the field of the gap is a shorted turn: fix it clear of the gap, or slit it"},
		{"copper", param.Quantity{Value: 8940, Std: 20}, "a closed ring in the field of the gap is a shorted turn: fix it clear of the gap, or slit it"},
		{"steel", param.Quantity{Value: 7860, Std: 30}, "the magnet pulls on steel: it shifts the coil from its rest position; use it only far from the gap"},
	}
}

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

// RingForMass completes a ring of mass m (kg) and density (kg/m^3): of Height
// and Thickness exactly one must be zero, and it is found from the other:
//
//	h = m / (density pi t (d + t))
//	t = ( sqrt(d^2 + 4 m/(density pi h)) - d ) / 2
//
// Source: geometry. theory (7.5).
func RingForMass(m, density float64, r Ring) (Ring, error) {
	refuse := func(msg, advice string) (Ring, error) {
		return Ring{}, &param.Refusal{Code: "ring-size", Message: msg, Advice: advice}
	}
	switch {
	case !(m > 0) || !(density > 0):
		return refuse(fmt.Sprintf("a ring cannot weigh %.4g g", 1e3*m),
			"the adhesive may weigh more than the mass that is wanted: use less of it")
	case !(r.InnerDiameter > 0) || r.Height < 0 || r.Thickness < 0:
		return refuse("a ring needs an inner diameter above zero", "measure the outside of the coil former")
	case (r.Height > 0) == (r.Thickness > 0):
		return refuse("of height and thickness exactly one must be given", "give the one that the space on the former fixes; the other follows from the mass")
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
