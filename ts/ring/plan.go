package ring

import (
	"math"

	"conewright/ts/internal/bounds"
	"conewright/ts/notice"
	"conewright/ts/param"
)

// Request says what is asked about a ring. Exactly one of TargetFs, Mass
// and a complete Size with a Material decides its mass.
type Request struct {
	TargetFs float64        // Hz, the resonance that is wanted; 0: none
	Mass     param.Quantity // kg, the ring alone, weighed
	Size     Ring           // as far as it is known
	SizeStd  Ring           // standard uncertainties of Size, m
	Material string         // name from Materials; "": all of them
	Adhesive param.Quantity // kg of glue that stays with the ring
	Fitted   bool           // the ring is on the driver that was measured: what without it?
}

// Plan is the answer to a Request.
type Plan struct {
	Request Request
	Mass    Spread // kg, the ring alone
	Total   Spread // kg, ring and adhesive
	Effect  *Effect
	// Sizes are rings of that mass, one a material, when the inner diameter and
	// one other dimension are known.
	Sizes []Size
}

// Size is a ring in one material.
type Size struct {
	Material Material
	Ring     Ring
}

// NewPlan finds the mass of a ring, its dimensions and its effect on the driver
// p, which must know Fs and Mms. It refuses requests that contradict themselves
// and effects that no ring can have.
func NewPlan(p param.Parameters, q Request) (*Plan, error) {
	whole, err := q.check()
	if err != nil {
		return nil, err
	}
	materials, err := chooseMaterials(q.Material)
	if err != nil {
		return nil, err
	}
	plan := &Plan{Request: q}
	var std float64 // of the mass that is put on
	switch {
	case q.TargetFs != 0:
		if plan.Total, err = MassForFs(p, q.TargetFs); err != nil {
			return nil, err
		}
		plan.Mass = normalSpread(plan.Total.Value-q.Adhesive.Value, math.Hypot(plan.Total.Std, q.Adhesive.Std))
		if plan.Mass.Value <= 0 {
			return nil, notice.New("ring-adhesive", notice.Facts{"adhesive": q.Adhesive.Value, "total": plan.Total.Value})
		}
		std = q.Adhesive.Std // the ring is cut to its mass
	default:
		ring := q.Mass
		if whole {
			ring = q.Size.weigh(materials[0], q.SizeStd)
		}
		plan.Mass = normalSpread(ring.Value, ring.Std)
		std = math.Hypot(ring.Std, q.Adhesive.Std)
		plan.Total = normalSpread(ring.Value+q.Adhesive.Value, std)
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
			ring, err := ForMass(plan.Mass.Value, m.Density.Value, q.Size)
			if err != nil {
				return nil, err
			}
			plan.Sizes = append(plan.Sizes, Size{m, ring})
		}
	} else if whole {
		plan.Sizes = []Size{{materials[0], q.Size}}
	}
	return plan, nil
}

// check refuses requests that leave the mass of the ring open or give it twice, and
// numbers that no ring has. It says whether the size of the ring is known as a whole.
func (q Request) check() (whole bool, err error) {
	err = bounds.First(bounds.Frequency.Given(q.TargetFs, 0), bounds.Mass.Given(q.Mass.Value, q.Mass.Std),
		bounds.Mass.Given(q.Adhesive.Value, q.Adhesive.Std), q.Size.check())
	if err != nil {
		return false, err
	}
	for _, std := range []float64{q.SizeStd.InnerDiameter, q.SizeStd.Height, q.SizeStd.Thickness} {
		if !(std >= 0 && std <= bounds.Length.Hi) {
			return false, notice.New("bad-value", notice.Facts{"of": bounds.Length.Of, "value": std, "low": 0.0, "high": bounds.Length.Hi})
		}
	}
	whole = q.Size.InnerDiameter > 0 && q.Size.Height > 0 && q.Size.Thickness > 0
	ways := 0
	for _, given := range []bool{q.TargetFs != 0, q.Mass.Given(), whole} {
		if given {
			ways++
		}
	}
	switch {
	case ways == 0:
		return false, notice.New("ring-open", nil)
	case ways > 1:
		return false, notice.New("ring-twice", nil)
	case q.TargetFs != 0 && q.Fitted:
		return false, notice.New("ring-target-fitted", nil)
	case whole && q.Material == "":
		return false, notice.New("ring-without-material", nil)
	}
	return whole, nil
}
