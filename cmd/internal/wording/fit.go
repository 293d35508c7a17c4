package wording

import (
	"fmt"
	"math"
	"strings"

	"conewright/ts/fitted"
	"conewright/ts/notice"
	"conewright/ts/param"
)

// fitSentences are the sentences about a fit: what the sweeps cannot give, and what in them
// looks wrong.
var fitSentences = map[string]sentence{
	"no-fit": fixed("no model of a driver follows the sweep",
		"check wiring and channels, and look at the curve: it should have one peak and rise smoothly above its minimum"),
	"not-determined": fixed("the sweeps do not determine the driver", "measure more frequencies around the peak and below it"),
	"mass-without-effect": func(n notice.Notice) (string, string) {
		return fmt.Sprintf("the added mass of %.3g g did not bring the resonance down, so that the sweep cannot give the moving mass", 1e3*n.Num("mass")),
			"check that the mass was on the cone in that sweep, and that the files were not exchanged"
	},
	"meter-contradicts": func(n notice.Notice) (string, string) {
		return fmt.Sprintf("the meter says Re = %.4g ohm, the sweep %.4g ohm: they contradict each other, and the values are those of the sweep alone",
				n.Num("meter"), n.Num("sweep")),
			"read the meter again and look for a slip in --dc; if the reading stands, check resistor, wiring and leads"
	},
	"meter-disagrees": func(n notice.Notice) (string, string) {
		hint := "measure the resistance of the leads and take it off the bench or the meter; let the coil cool down before reading"
		if n.Num("meter") > n.Num("sweep") {
			hint = "check resistor value, wiring and channels: the sweep reads low, or the meter reading holds its own leads"
		}
		return fmt.Sprintf("the meter says Re = %.4g ohm, the sweep %.4g ohm: %.1f times what their uncertainties allow",
			n.Num("meter"), n.Num("sweep"), n.Num("times")), hint
	},
	"below-re": func(n notice.Notice) (string, string) {
		if n.Has("share") { // of a recording: seen before anything was fitted
			return fmt.Sprintf("at %.4g Hz the real part of the impedance is only %.0f %% of what it is at the low end", n.Num("frequency"), 100*n.Num("share")),
				"no driver does that: look for a phase difference between the inputs, a poor contact, or a wrong resistor"
		}
		return fmt.Sprintf("|Z| falls to %.4g ohm at %.4g Hz, below Re = %.4g ohm", n.Num("impedance"), n.Num("frequency"), n.Num("re")),
			"a passive driver cannot do that: check channels, gains and calibration, and the level at low frequencies"
	},
	"box-leaks": func(n notice.Notice) (string, string) {
		return fmt.Sprintf("the box leaks, with a Q of leakage of about %.2g; Vas and what follows from it are corrected for that as far as the sweep shows it", n.Num("q")),
			"press the driver on a gasket, close the hole of the cable, and sweep the box again"
	},
	"frequency-error-assumed": func(n notice.Notice) (string, string) {
		return fmt.Sprintf("nothing says how exact the frequencies of the table are; %.2g %% are assumed, as for a table by hand", 100*n.Num("std")),
			"write what the counter or the generator is specified to into a line above the numbers, such as: frequency error 0.01 %"
	},
	"model-smoothed": func(n notice.Notice) (string, string) {
		return fmt.Sprintf("the peak is as wide as that of a curve smoothed over 1/%.0f octave; the fitted curve was smoothed alike", 1/n.Num("octaves")),
			"write the file without smoothing"
	},
	"second-resonance": func(n notice.Notice) (string, string) {
		return fmt.Sprintf("there is a second resonance at %.3g Hz (Q %.2g): a part with %.2g %% of the moving mass moves on its own; the values are those of the main one",
				n.Num("frequency"), n.Num("q"), 100*n.Num("share")),
			"the surround or a part of the cone does that in many sound drivers; a dust cap or mass on soft glue, a baffle or a cabinet does it too: look, and sweep again in another place"
	},
	"second-resonance-changed": func(n notice.Notice) (string, string) {
		return fmt.Sprintf("the second resonance was at %.3g Hz (Q %.2g, %.2g %% of the moving mass) and is at %.3g Hz (Q %.2g, %.2g %%)",
				n.Num("before"), n.Num("q-before"), 100*n.Num("share-before"), n.Num("after"), n.Num("q-after"), 100*n.Num("share-after")),
			"surround, cone, dust cap or their glue changed, or where the driver lay; compare sweeps taken in the same place"
	},
	"outliers": func(n notice.Notice) (string, string) {
		are := "points are"
		if n.Int("outliers") == 1 {
			are = "points is"
		}
		return fmt.Sprintf("%d of %d %s counted less, being far off the curve: at %s", n.Int("outliers"), n.Int("points"), are, firstOf(fact[[]float64](n, "frequencies"))),
			"hum, a contact that crackles, or a slip in a table: measure again if there are many, or if one sits on the peak"
	},
	"poor-fit": func(n notice.Notice) (string, string) {
		return fmt.Sprintf("the curve lies %.2g %% rms off any driver's", 100*n.Num("rms")),
			"look at the curve: is it one driver, without a box or a filter, and was nothing touched during the sweep? The values are no better than that"
	},
	"no-minimum-found": func(n notice.Notice) (string, string) {
		return fmt.Sprintf("models with %.0f %% of the weight came to no minimum and were left out", 100*n.Num("weight")),
			"measure more frequencies around the peak and below it, and with phase; until then take the intervals as too narrow"
	},
	"repeats-differ": func(n notice.Notice) (string, string) {
		return fmt.Sprintf("the repeats differ: their resonances scatter by more than %.0f %%", 100*n.Num("scatter")),
			"check that all files are of the same driver, with nothing on the cone, and that it was not run in or warmed up in between"
	},
	"wrong-mass": func(n notice.Notice) (string, string) {
		return fmt.Sprintf("by the other sweeps there would be %s on the cone and not %s", grams(max(0, n.Num("line"))), grams(n.Num("mass"))),
			"weigh that mass again, and check its decimal point and its file"
	},
	"masses-disagree": fixed("no moving mass fits all the masses that were given: one of them is not what was on the cone",
		"weigh each again, check their decimal points and which file belongs to which, or leave one out"),
	"mass-methods-disagree": func(n notice.Notice) (string, string) {
		joint := fact[fitted.MassMethod](n, "joint")
		var say []string
		for _, m := range fact[[]fitted.MassMethod](n, "methods") {
			say = append(say, fmt.Sprintf("the moving mass by %s is %.4g g, by the %s %.4g g", Plain(m.Name), 1e3*m.Value, Plain(joint.Name), 1e3*joint.Value))
		}
		return strings.Join(say, ", and "),
			"the suspension creeps, or moved between the sweeps; the fit of all sweeps together allows for both. Check that the mass was fixed firmly and repeat both sweeps without touching the driver"
	},
	"mass-too-small": func(n notice.Notice) (string, string) {
		return fmt.Sprintf("the added mass of %.3g g is only %.2g %% of the moving mass that was found, so that it tells little", 1e3*n.Num("mass"), 100*n.Num("share")),
			"check that it was on the cone in that sweep, and fixed firmly; half to one moving mass is usual"
	},
	"channels-not-compared": func(n notice.Notice) (string, string) {
		return fmt.Sprintf("the two inputs were never compared, so that their difference alone leaves %s uncertain by %.1f %%", n.Text("quantity"), 100*n.Num("std")),
			"record both of them on one point once, the amplifier's output, and give it to conewright calibrate --channels: no other recording is worth as much to a new bench"
	},
	"needs-added-mass": fixed("one curve in free air cannot give Mms, Cms, Rms, BL or Vas: any force factor fits it",
		"fix a known mass of half to one moving mass to the cone, near the coil, and sweep again"),
	"needs-diameter": fixed("Vas and the efficiency need the area of the cone",
		"measure the diameter from the middle of the surround to the middle of the opposite surround"),
	"travel-large": func(n notice.Notice) (string, string) {
		return fmt.Sprintf("the cone moved by %.2g mm to either side, which is not small: a suspension is softer there", 1e3*n.Num("peak")),
			fmt.Sprintf("turn the amplifier down by %.0f dB and record again", n.Num("decibels"))
	},
}

// Contradiction says what meter and sweep read of the driver that the label names, if it does; off is
// the logarithm of the reading over Re.
func Contradiction(label string, re param.Estimate, off float64) string {
	if label != "" {
		label = " " + label
	}
	meter := re.Value * math.Exp(off)
	return fmt.Sprintf("Meter and sweep contradict each other%s: Re is %s by the meter and %s by the sweep.",
		label, valueText(param.Re, meter, re.Std), valueText(param.Re, re.Value, re.Std))
}

// firstOf lists the first few frequencies.
func firstOf(freq []float64) string {
	const most = 5
	var say []string
	for _, f := range freq[:min(most, len(freq))] {
		say = append(say, fmt.Sprintf("%.4g Hz", f))
	}
	if len(freq) > most {
		say = append(say, "...")
	}
	return strings.Join(say, ", ")
}
