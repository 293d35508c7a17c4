package ts

import (
	"fmt"
	"math"
	"strconv"
)

// RingRequest says what is asked about a ring. Exactly one of TargetFs, Mass
// and a complete Size with a Material decides its mass.
type RingRequest struct {
	TargetFs float64  // Hz, the resonance that is wanted; 0: none
	Mass     Quantity // kg, the ring alone, weighed
	Size     Ring     // as far as it is known
	SizeStd  Ring     // standard uncertainties of Size, m
	Material string   // name from Materials; "": all of them
	Adhesive Quantity // kg of glue that stays with the ring
	Fitted   bool     // the ring is on the driver that was measured: what without it?
}

// RingPlan is the answer to a RingRequest.
type RingPlan struct {
	Request RingRequest
	Mass    Spread // kg, the ring alone
	Total   Spread // kg, ring and adhesive
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
func PlanRing(p Parameters, q RingRequest) (*RingPlan, error) {
	refuse := func(code, msg, advice string) (*RingPlan, error) {
		return nil, &Refusal{Code: code, Message: msg, Advice: advice}
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
		plan.Mass = normalSpread(plan.Total.Value-q.Adhesive.Value, math.Hypot(plan.Total.Std, q.Adhesive.Std))
		if plan.Mass.Value <= 0 {
			return refuse("ring-adhesive", fmt.Sprintf("the adhesive alone (%s) is more than the mass that is wanted (%s)", grams(q.Adhesive.Value), grams(plan.Total.Value)),
				"use less of it, or ask for a lower resonance")
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
	return nil, &Refusal{Code: "ring-material", Message: fmt.Sprintf("%q is not among the materials", name),
		Advice: "the materials are " + list(names) + "; for another one weigh the ring and give its mass"}
}

// weigh returns the mass of a ring in kg and its standard uncertainty from those
// of the density and of the dimensions, taken as independent.
func (r Ring) weigh(m Material, std Ring) Quantity {
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
	return Quantity{mass, mass * math.Sqrt(sum)}
}

// Explain says in words what the ring does.
func (r *RingPlan) Explain() []string {
	row := func(id ParamID) MassEffectRow {
		for _, e := range r.Effect.Rows {
			if e.ID == id {
				return e
			}
		}
		return MassEffectRow{}
	}
	fs := row(Fs)
	from, to := hertz(fs.Before.Value), valueText(Fs, fs.After.Value, fs.After.Std)
	d := digits(fs.After.Value, fs.After.Std)
	within := fmt.Sprintf("%.*f to %.*f Hz", d, fs.After.Low, d, fs.After.High)
	mass := grams(r.Mass.Value)
	if a := r.Request.Adhesive.Value; a > 0 {
		mass += fmt.Sprintf(" with %s of adhesive", grams(a))
	}
	var say []string
	switch {
	case r.Request.Fitted:
		say = append(say, fmt.Sprintf("Without its ring of %s the resonance rises from %s to %s (95 %% sure within %s).", mass, from, to, within))
	case r.Request.TargetFs != 0:
		say = append(say,
			fmt.Sprintf("A ring of %s brings the resonance from %s down to %s. The mass is known to %s to %s (95 %%).", mass, from, hertz(r.Request.TargetFs), grams(r.Mass.Low), grams(r.Mass.High)),
			fmt.Sprintf("Cut to exactly that mass it lands at %s; the values of the driver leave %s (95 %%).", to, within))
	default:
		say = append(say, fmt.Sprintf("A ring of %s brings the resonance from %s down to %s (95 %% sure within %s).", mass, from, to, within))
	}
	level := r.Effect.LevelChange.Value
	word := "quieter"
	if level > 0 {
		word = "louder"
	}
	say = append(say, fmt.Sprintf("Above the resonance the driver plays %.1f dB %s at the same voltage.", math.Abs(level), word))
	if share := math.Abs(r.Effect.Mass.Value) / row(Mms).Before.Value; share > 1 && !r.Request.Fitted {
		say = append(say, fmt.Sprintf("That is %.2g times the moving mass itself: the suspension sags under it, and a knock can tear it. Think of a softer suspension instead.", share))
	}
	return say
}

// Cautions are what to mind when the ring is fitted.
func (r *RingPlan) Cautions() []string {
	if r.Request.Fitted {
		return []string{"Do not pry a ring off its former to try it out: the former tears and the coil goes out of round."}
	}
	say := []string{
		"Glue the ring all around and let the glue harden: a loose ring buzzes and can jam the coil in the gap. Solvents and adhesives need air; follow their labels.",
		"Keep it centred and clear of the magnet and of the spider through the whole travel. A strong magnet snatches steel tools and pinches fingers.",
	}
	seen := map[string]bool{}
	for _, s := range r.Sizes {
		if n := s.Material.Note; !seen[n] {
			seen[n] = true
			say = append(say, fmt.Sprintf("%s: %s.", capital(s.Material.Name), n))
		}
	}
	return say
}

func capital(word string) string { return string(word[0]-'a'+'A') + word[1:] }

// grams writes a mass in kg with three significant digits: "12.3 g".
func grams(kg float64) string { return plainNumber(1e3*kg) + " g" }

// hertz writes a frequency with three significant digits: "36.6 Hz".
func hertz(f float64) string { return plainNumber(f) + " Hz" }

// plainNumber writes three significant digits without an exponent.
func plainNumber(v float64) string {
	if v == 0 || math.IsInf(v, 0) || math.IsNaN(v) {
		return strconv.FormatFloat(v, 'f', 0, 64)
	}
	d := 2 - int(math.Floor(math.Log10(math.Abs(v))))
	p := math.Pow10(d)
	return strconv.FormatFloat(math.Round(v*p)/p, 'f', max(0, d), 64)
}
