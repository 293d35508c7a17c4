package report

import (
	"strings"

	"conewright/ts/param"
)

// meanings explains the letters of the tables to a reader who owns the driver
// and not the bench.
var meanings = map[param.ID]string{
	param.Re:   "resistance of the voice coil to direct current",
	param.Fs:   "resonance: the frequency at which the cone swings most freely",
	param.Qms:  "how long the cone rings on at its resonance with the motor taken out: little loss makes it large",
	param.Qes:  "how long it rings on with the damping of the motor alone: a strong motor makes it small",
	param.Qts:  "how long it rings on with all of its damping: with Fs the number that decides which box suits",
	param.Mms:  "mass that moves: cone, coil, part of the suspension, and the air that goes along",
	param.Cms:  "compliance: how far a force moves the cone; a soft suspension has a large one",
	param.Rms:  "friction of the suspension and the air",
	param.BL:   "force factor, the strength of the motor: force for one ampere",
	param.Vas:  "volume of enclosed air that is as soft to this cone as its suspension",
	param.Sd:   "area of the cone",
	param.Eta0: "part of the electrical power that becomes sound, above the resonance",
	param.Res:  "height of the impedance peak above the resistance of the coil",
	param.Lces: "the suspension as the amplifier sees it", param.Cmes: "the moving mass as the amplifier sees it",
	param.Creep:      "how much softer the suspension is for each tenfold slower movement",
	param.Friction:   "force of the coil rubbing against what holds still; a free coil has none",
	param.Distortion: "harmonics that the driver adds to its current at the resonance, in percent of the current, at the level of the sweep",
	param.C:          "capacitance, at the frequency that is named",
	param.ESR:        "what acts like a resistor in series with the capacitor, at the same frequency",
	param.TanDelta:   "loss factor: resistance over reactance of the capacitor; small for film, larger for electrolytic ones",
	param.L:          "inductance, at the frequency that is named",
	param.Rdc:        "resistance of the wire of the coil",
	param.Q:          "reactance over resistance of the coil: large for thick wire",
	param.R:          "resistance",
	param.L1k:        "inductance of the coil at 1 kHz", param.R1k: "loss of the coil in the iron around it at 1 kHz",
}

// glossary explains the quantities that the tables name, and the words for
// certainty that stand with them.
func glossary(r *Report) []labelled {
	named, within, chance := map[param.ID]bool{}, false, false
	for _, t := range r.Tables {
		for _, c := range t.Columns {
			within = within || strings.Contains(c.Head, "95 % interval")
			chance = chance || c.Head == "chance of being in"
		}
		for _, row := range t.Rows {
			if id, ok := param.Parse(row.Cells[0]); ok {
				named[id] = true
			}
		}
	}
	var out []labelled
	for _, id := range param.All() {
		if text := meanings[id]; named[id] && text != "" {
			out = append(out, labelled{id.String(), text})
		}
	}
	if within {
		out = append(out, labelled{"95 % interval", "in 95 of 100 such measurements the true value lies in there; numbers in brackets behind a value mean the same"})
	}
	if chance {
		out = append(out, labelled{"chance of being in", "how probable it is, after this measurement, that the true value meets its limit"})
	}
	return out
}
