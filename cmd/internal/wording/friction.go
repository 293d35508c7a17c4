package wording

import (
	"fmt"
	"math"

	"conewright/ts/friction"
	"conewright/ts/measured"
	"conewright/ts/notice"
	"conewright/ts/verdict"
)

// frictionRemedy is what to do about a coil that rubs. Common practice.
const frictionRemedy = "Push the cone gently by hand, straight and to all sides, and listen for a rub; look for glue and dust in the gap, and centre the coil. Do not drive a coil that rubs hard: it wears through its insulation."

// Friction says in one sentence what the harmonics tell of the coil.
func Friction(f friction.Found) string {
	switch {
	case f.Rubs:
		return upperFirst(rubs(f)) + "."
	case f.Free():
		return fmt.Sprintf("The coil is free: by the harmonics of the current any friction is below %s.", newtons(f.Least))
	}
	return fmt.Sprintf("Whether the coil rubs cannot be told below %s at this level, which would be %s of the losses; a longer sweep, a lower level or more gain at the inputs shows less.",
		newtons(f.Least), percentOf(f.Share))
}

// rubs says how large a friction is.
func rubs(f friction.Found) string {
	say := fmt.Sprintf("the coil rubs, or there is glue or dust in the gap: friction of about %s (%s to %s), %s of the mechanical losses at this level",
		newtons(f.Force), number2(1e3*f.Low), newtons(f.High), percentOf(f.Share))
	switch l := f.Losses; {
	case l.Std == 0: // one level
	case l.Force > 2*l.Std:
		say += fmt.Sprintf(". The losses fall as the level rises, which by itself tells of %s, give or take %s", newtons(l.Force), newtons(2*l.Std))
	default:
		say += fmt.Sprintf(". Of the losses alone it could not be told: it takes %s to be seen there at these levels", newtons(2*l.Std))
	}
	return say
}

// newtons writes a force.
func newtons(n float64) string { return number2(1e3*n) + " mN" }

// number2 writes two significant figures without an exponent.
func number2(x float64) string {
	switch {
	case x >= 9.95:
		return fmt.Sprintf("%.0f", x)
	case x >= 0.995:
		return fmt.Sprintf("%.1f", x)
	}
	return fmt.Sprintf("%.2g", x)
}

// percentOf writes a part in percent.
func percentOf(part float64) string { return number2(100*part) + " %" }

// FrictionNext names the second level that would decide about friction, and how loud that is; none where nothing is open.
func FrictionNext(f *friction.Found) []Step {
	if f == nil {
		return nil
	}
	volts, ok := f.Second()
	if !ok {
		return nil
	}
	gain := "friction can be told from noise"
	switch {
	case f.Rubs:
		gain = "in percent harmonics of a rub fall as the level rises, those of suspension and motor rise; the losses then tell the force a second time"
	case volts < f.Voltage:
		gain = "a softer sweep shows a smaller friction, as suspension and motor hide less"
	}
	return []Step{{verdict.DoLevel, fmt.Sprintf("sweep once more with %s V at the terminals at the resonance (now %s V, so %+.0f dB; %s), inputs well used, and give both sweeps",
		number2(volts), number2(f.Voltage), 20*math.Log10(volts/f.Voltage), loudness(volts)), gain}}
}

// loudness says how loud a voltage is to somebody beside the driver.
func loudness(volts float64) string {
	const usual, at = 88, 2.83 // dB at 1 m for so many volts, of woofers in their middle range (common practice)
	db := usual + 20*math.Log10(volts/at)
	as := "as loud as somebody who raises the voice"
	switch {
	case db < 55:
		as = "softer than speech"
	case db < 70:
		as = "as loud as speech"
	}
	return fmt.Sprintf("above the bass about %.0f dB at a metre, %s", db, as)
}

// frictionSentences are the sentences about friction.
var frictionSentences = map[string]sentence{
	"coil-rubs": func(n notice.Notice) (string, string) {
		f := fact[friction.Found](n, "found")
		hint := "push the cone by hand and listen; values of losses and resonance hold for this level only"
		if !f.KnowsBL {
			hint += ". The force rests on a usual BL; a sweep with an added mass makes it sharper"
		}
		return rubs(f), hint
	},
}

// FreeLines says what a multitone shows between its tones.
func FreeLines(f measured.FreeLines) string {
	if !f.Even.Seen() && !f.Odd.Seen() {
		return fmt.Sprintf("Between the tones there is nothing but noise: what the driver adds is below %s of even and %s of odd order.", percentOf(f.Even.Floor), percentOf(f.Odd.Floor))
	}
	part := func(l measured.FreeLine) string {
		if !l.Seen() {
			return "less than " + percentOf(l.Floor)
		}
		return percentOf(l.Share)
	}
	return fmt.Sprintf("Between the tones the driver adds %s of even and %s of odd order (noise would show %s and %s). Whether odd order is a rub a sweep tells: conewright signal writes one.",
		part(f.Even), part(f.Odd), percentOf(f.Even.Floor), percentOf(f.Odd.Floor))
}
