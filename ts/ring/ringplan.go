package ring

import (
	"fmt"
	"math"

	"conewright/ts/figure"
	"conewright/ts/param"
)

// RingRequest says what is asked about a ring. Exactly one of TargetFs, Mass
// and a complete Size with a Material decides its mass.
type RingRequest struct {
	TargetFs float64        // Hz, the resonance that is wanted; 0: none
	Mass     param.Quantity // kg, the ring alone, weighed
	Size     Ring           // as far as it is known
	SizeStd  Ring           // standard uncertainties of Size, m
	Material string         // name from Materials; "": all of them
	Adhesive param.Quantity // kg of glue that stays with the ring
	Fitted   bool           // the ring is on the driver that was measured: what without it?
}

// RingPlan is the answer to a RingRequest.
type RingPlan struct {
	Request RingRequest
	Mass    param.Spread // kg, the ring alone
	Total   param.Spread // kg, ring and adhesive
	Effect  *MassEffect
	// Sizes are rings of that mass, one a material, when the inner diameter and
	// one other dimension are known.
	Sizes []RingSize
}

// RingSize is a ring in one material.
type RingSize struct {
	Material Material
	Ring     Ring
}

// PlanRing finds the mass of a ring, its dimensions and its effect on the driver
// p, which must know Fs and Mms. It refuses requests that contradict themselves
// and effects that no ring can have.
func PlanRing(p param.Parameters, q RingRequest) (*RingPlan, error) {
	refuse := func(code, msg, advice string) (*RingPlan, error) {
		return nil, &param.Refusal{Code: code, Message: msg, Advice: advice}
	}
	whole := q.Size.InnerDiameter > 0 && q.Size.Height > 0 && q.Size.Thickness > 0
	ways := 0
	for _, given := range []bool{q.TargetFs != 0, q.Mass.Given(), whole} {
		if given {
			ways++
		}
	}
	switch {
	case ways == 0:
		return refuse("ring-open", "nothing says how heavy the ring is to be",
			"give the resonance that is wanted, or the mass of the ring, or its inner diameter, height, thickness and material")
	case ways > 1:
		return refuse("ring-twice", "the mass of the ring is given in more than one way",
			"give one of: wanted resonance, mass, all three dimensions")
	case q.TargetFs != 0 && q.Fitted:
		return refuse("ring-target-fitted", "a wanted resonance is for a ring that is still to be made, not for one that is fitted",
			"first see what the driver is without its ring, then ask for the resonance")
	}
	materials, err := chooseMaterials(q.Material)
	if err != nil {
		return nil, err
	}
	if whole && q.Material == "" {
		return refuse("ring-material", "the mass of a ring of given size depends on its material",
			"name the material")
	}
	plan := &RingPlan{Request: q}
	var std float64 // of the mass that is put on
	switch {
	case q.TargetFs != 0:
		if plan.Total, err = MassForFs(p, q.TargetFs); err != nil {
			return nil, err
		}
		plan.Mass = param.NormalSpread(plan.Total.Value-q.Adhesive.Value, math.Hypot(plan.Total.Std, q.Adhesive.Std))
		if plan.Mass.Value <= 0 {
			return refuse("ring-adhesive", fmt.Sprintf("the adhesive alone (%s) is more than the mass that is wanted (%s)", figure.Grams(q.Adhesive.Value), figure.Grams(plan.Total.Value)),
				"use less of it, or ask for a lower resonance")
		}
		std = q.Adhesive.Std // the ring is cut to its mass
	default:
		ring := q.Mass
		if whole {
			ring = q.Size.weigh(materials[0], q.SizeStd)
		}
		plan.Mass = param.NormalSpread(ring.Value, ring.Std)
		std = math.Hypot(ring.Std, q.Adhesive.Std)
		plan.Total = param.NormalSpread(ring.Value+q.Adhesive.Value, std)
	}
	change := plan.Total.Value
	if q.Fitted {
		change = -change
	}
	if plan.Effect, err = EffectOfMass(p, change, std); err != nil {
		return nil, err
	}
	if !whole && q.Size.InnerDiameter > 0 {
		for _, m := range materials {
			ring, err := RingForMass(plan.Mass.Value, m.Density.Value, q.Size)
			if err != nil {
				return nil, err
			}
			plan.Sizes = append(plan.Sizes, RingSize{m, ring})
		}
	} else if whole {
		plan.Sizes = []RingSize{{materials[0], q.Size}}
	}
	return plan, nil
}

func chooseMaterials(name string) ([]Material, error) {
	all := Materials()
	if name == "" {
		return all, nil
	}
	var names []string
	for _, m := range all {
		if m.Name == name {
			return []Material{m}, nil
		}
		names = append(names, m.Name)
	}
	return nil, &param.Refusal{Code: "ring-material", Message: fmt.Sprintf("%q is not among the materials", name),
		Advice: "the materials are " + figure.List(names) + "; for another one weigh the ring and give its mass"}
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
