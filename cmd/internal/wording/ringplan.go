package wording

import (
	"fmt"
	"math"

	"conewright/ts/figure"
	"conewright/ts/param"
	"conewright/ts/ring"
)

// Explain says in words what the ring does.
func SayRing(r *ring.RingPlan) []string {
	row := func(id param.ParamID) ring.MassEffectRow {
		for _, e := range r.Effect.Rows {
			if e.ID == id {
				return e
			}
		}
		return ring.MassEffectRow{}
	}
	fs := row(param.Fs)
	from, to := figure.Hertz(fs.Before.Value), figure.ValueText(param.Fs, fs.After.Value, fs.After.Std)
	d := figure.Digits(fs.After.Value, fs.After.Std)
	within := fmt.Sprintf("%.*f to %.*f Hz", d, fs.After.Low, d, fs.After.High)
	mass := figure.Grams(r.Mass.Value)
	if a := r.Request.Adhesive.Value; a > 0 {
		mass += fmt.Sprintf(" with %s of adhesive", figure.Grams(a))
	}
	var say []string
	switch {
	case r.Request.Fitted:
		say = append(say, fmt.Sprintf("Without its ring of %s the resonance rises from %s to %s (95 %% sure within %s).", mass, from, to, within))
	case r.Request.TargetFs != 0:
		say = append(say,
			fmt.Sprintf("A ring of %s brings the resonance from %s down to %s. The mass is known to %s to %s (95 %%).", mass, from, figure.Hertz(r.Request.TargetFs), figure.Grams(r.Mass.Low), figure.Grams(r.Mass.High)),
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
	if share := math.Abs(r.Effect.Mass.Value) / row(param.Mms).Before.Value; share > 1 && !r.Request.Fitted {
		say = append(say, fmt.Sprintf("That is %.2g times the moving mass itself: the suspension sags under it, and a knock can tear it. Think of a softer suspension instead.", share))
	}
	return say
}

// Cautions are what to mind when the ring is fitted.
func SayRingCautions(r *ring.RingPlan) []string {
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
			say = append(say, fmt.Sprintf("%s: %s.", figure.Capital(s.Material.Name), n))
		}
	}
	return say
}
