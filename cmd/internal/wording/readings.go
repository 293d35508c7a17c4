package wording

import (
	"conewright/ts/param"
	"conewright/ts/verdict"
)

// Readings says what a value out of its limits usually comes from. Without a
// sweep from before the repair that is all there is to go by; with one, the
// causes of [Compared] say more.
func Readings(c *verdict.Checked) []string {
	var out []string
	for _, j := range c.Checks {
		if j.Verdict != verdict.OutOfSpec || len(out) == mostReadings {
			continue
		}
		side := 0
		if j.Estimate.Value > j.Limit.Hi {
			side = 1
		}
		if text := readings[j.Limit.ID][side]; text != "" {
			out = append(out, text)
		}
	}
	return out
}

// mostReadings is how many of them a person takes in.
const mostReadings = 3

// readings holds what a value below and above its limits comes from. The signs
// follow from theory (1.3); what goes with what is common practice.
var readings = map[param.ID][2]string{
	param.Re: {"A low Re comes from another coil or from shorted turns: do not drive it hard before that is settled.",
		"A high Re comes from another coil, or from a contact or leads in series: check those first."},
	param.Fs: {"A low Fs comes from a soft suspension or a heavy moving system: look for a tear, a joint that has let go, or too much glue.",
		"A high Fs comes from a stiff suspension or a light moving system. A new surround softens as it is run in: run it in, with hearing protection, and measure again before a part is changed."},
	param.Qms: {"A low Qms comes from mechanical loss: a rub, a leak or a lossy surround. Push the cone gently by hand and listen before driving it hard.",
		"A high Qms comes from less mechanical loss than the sheet expects, for instance a foam edge in place of rubber."},
	param.Qes: {"A low Qes comes from a strong motor, or from a soft or light moving system.",
		"A high Qes comes from a weak motor or a coil off its height, from a stiff or heavy moving system, or from resistance in series."},
	param.Qts: {"A low Qts comes from a strong motor, from mechanical loss, or from a soft or light moving system.",
		"A high Qts comes from a weak motor or a coil off its height, from a stiff or heavy moving system, or from resistance in series."},
	param.Mms: {"A low Mms comes from a missing ring or dust cap, or from lighter parts.",
		"A high Mms comes from too much glue, or from a heavier surround or dust cap."},
	param.Cms: {"A low Cms is a stiff suspension. A new surround softens as it is run in: run it in, with hearing protection, and measure again before a part is changed.",
		"A high Cms is a soft suspension: look for a tear, a joint that has let go, or a spider that has gone soft."},
	param.Rms: {"A low Rms is less mechanical loss than the sheet expects, for instance a foam edge in place of rubber.",
		"A high Rms is mechanical loss: a rub, a leak or a lossy surround. Push the cone gently by hand and listen before driving it hard."},
	param.BL: {"A low BL comes from a coil off its height, which is checked first, or from a weak magnet.",
		"A high BL does not come from a repair of the suspension: check that the sheet belongs to this driver."},
	param.Friction:   {"", "Friction comes from a coil that rubs, or from glue or dust in the gap. " + frictionRemedy},
	param.Distortion: {"", "Distortion comes from a coil off its height, from a suspension near its end, or from a rub; it is that of this level. Sweep softly: what falls with the level is suspension or motor, what rises is a rub."},
	param.Vas: {"A low Vas is a stiff suspension. A new surround softens as it is run in: run it in, with hearing protection, and measure again before a part is changed.",
		"A high Vas is a soft suspension: look for a tear, a joint that has let go, or a spider that has gone soft."},
}
