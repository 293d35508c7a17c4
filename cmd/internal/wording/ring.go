package wording

import (
	"fmt"
	"math"

	"conewright/ts/notice"
	"conewright/ts/param"
	"conewright/ts/ring"
)

// Ring says in words what the ring does.
func Ring(r *ring.Plan) []string {
	row := func(id param.ID) ring.EffectRow {
		for _, e := range r.Effect.Rows {
			if e.ID == id {
				return e
			}
		}
		return ring.EffectRow{}
	}
	fs := row(param.Fs)
	from, to := hertz(fs.Before.Value), valueText(param.Fs, fs.After.Value, fs.After.Std)
	d := digits(fs.After.Value, fs.After.Std)
	within := fmt.Sprintf("%.*f to %.*f Hz", d, fs.After.Low, d, fs.After.High)
	mass := grams(r.Mass.Value)
	if a := r.Request.Adhesive.Value; a > 0 {
		mass += fmt.Sprintf(" with %s of adhesive", grams(a))
	}
	var say []string
	switch {
	case r.Request.Fitted:
		say = append(say, fmt.Sprintf("Without its ring of %s the resonance rises from %s to %s (95 %% interval %s).", mass, from, to, within))
	case r.Request.TargetFs != 0:
		say = append(say,
			fmt.Sprintf("A ring of %s brings the resonance from %s down to %s. The mass is known to %s to %s (95 %%).", mass, from, hertz(r.Request.TargetFs), grams(r.Mass.Low), grams(r.Mass.High)),
			fmt.Sprintf("Cut to exactly that mass it gives %s; the values of the driver leave %s (95 %%).", to, within))
	default:
		say = append(say, fmt.Sprintf("A ring of %s brings the resonance from %s down to %s (95 %% interval %s).", mass, from, to, within))
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

// RingCautions are what to mind when the ring is fitted.
func RingCautions(r *ring.Plan) []string {
	if r.Request.Fitted {
		return []string{"Do not pry a ring off its former to try it out: the former tears and the coil goes out of round."}
	}
	say := []string{
		"Glue the ring all around and let the glue harden: a loose ring buzzes and can jam the coil in the gap. Solvents and adhesives need air; follow their labels.",
		"Keep it centred and clear of the magnet and of the spider through the whole travel. A strong magnet snatches steel tools and pinches fingers.",
	}
	of := map[ring.Risk][]string{}
	for _, s := range r.Sizes {
		of[s.Material.Risk] = append(of[s.Material.Risk], s.Material.Name)
	}
	for _, risk := range []ring.Risk{ring.ShortedTurn, ring.MagnetPull} {
		if names := of[risk]; names != nil {
			say = append(say, fmt.Sprintf("%s: %s.", upperFirst(List(names)), risks[risk]))
		}
	}
	return say
}

var risks = map[ring.Risk]string{
	ring.ShortedTurn: "a closed ring in the field of the gap is a shorted turn: fix it clear of the gap, or slit it",
	ring.MagnetPull:  "the magnet pulls on steel: it shifts the coil from its rest position; use it only far from the gap",
}

// massSentences are the sentences about a mass on the cone.
var massSentences = map[string]sentence{
	"no-driver": fixed("these values are not those of a driver", "Re, BL, Mms, Cms and Rms must be finite and not negative, Mms and Cms above zero"),
	"mass-gone": func(n notice.Notice) (string, string) {
		return fmt.Sprintf("%.3g g cannot be taken from a moving mass of %.3g g", 1e3*n.Num("mass"), 1e3*n.Num("moving")), "check the mass of the ring: grams or kilograms?"
	},
	"mass-only-lowers": func(n notice.Notice) (string, string) {
		return fmt.Sprintf("no ring brings the resonance from %.4g Hz up to %.4g Hz: added mass only lowers it", n.Num("now"), n.Num("target")),
			"a higher resonance needs a stiffer suspension or a lighter moving system; if a ring is fitted, see what leaving it out does"
	},
	"mass-not-known": fixed("the moving mass Mms is not known, so the effect of a ring cannot be computed",
		"measure once more with a known mass on the cone, or give Mms"),
}

// ringSentences are the sentences about what is asked of a ring.
var ringSentences = map[string]sentence{
	"ring-open": fixed("nothing says how heavy the ring is to be",
		"give the resonance that is wanted, or the mass of the ring, or its inner diameter, height, thickness and material"),
	"ring-twice":            fixed("the mass of the ring is given in more than one way", "give one of: wanted resonance, mass, all three dimensions"),
	"ring-target-fitted":    fixed("a wanted resonance is for a ring that is still to be made, not for one that is fitted", "first see what the driver is without its ring, then ask for the resonance"),
	"ring-without-material": fixed("the mass of a ring of given size depends on its material", "name the material"),
	"ring-open-size":        fixed("of height and thickness exactly one must be given", "give the one that the space on the former fixes; the other follows from the mass"),
	"ring-material": func(n notice.Notice) (string, string) {
		var names []string
		for _, m := range ring.Materials() {
			names = append(names, m.Name)
		}
		return fmt.Sprintf("%q is not among the materials", n.Text("name")), "the materials are " + List(names) + "; for another one weigh the ring and give its mass"
	},
	"ring-adhesive": func(n notice.Notice) (string, string) {
		return fmt.Sprintf("the adhesive alone (%s) is more than the mass that is wanted (%s)", grams(n.Num("adhesive")), grams(n.Num("total"))),
			"use less of it, or ask for a lower resonance"
	},
}
