package report

import (
	"strings"

	"conewright/ts"
)

// meanings explains the letters of the tables to a reader who owns the driver
// and not the bench.
var meanings = map[ts.ParamID]string{
	ts.Re:   "resistance of the voice coil to direct current",
	ts.Fs:   "resonance: the frequency at which the cone swings most freely",
	ts.Qms:  "how long the cone rings on at its resonance with the motor taken out: little loss makes it large",
	ts.Qes:  "how long it rings on with the motor as its only brake: a strong motor makes it small",
	ts.Qts:  "how long it rings on with both brakes: with Fs the number that decides which box suits",
	ts.Mms:  "mass that moves: cone, coil, part of the suspension, and the air that goes along",
	ts.Cms:  "compliance: how far a force moves the cone; a soft suspension has a large one",
	ts.Rms:  "friction of the suspension and the air",
	ts.BL:   "force factor, the strength of the motor: force for one ampere",
	ts.Vas:  "volume of enclosed air that is as soft to this cone as its suspension",
	ts.Sd:   "area of the cone",
	ts.Eta0: "part of the electrical power that becomes sound, above the resonance",
	ts.Res:  "height of the impedance peak above the resistance of the coil",
	ts.Lces: "the suspension as the amplifier sees it", ts.Cmes: "the moving mass as the amplifier sees it",
	ts.Creep: "how much softer the suspension is for each tenfold slower movement",
	ts.L1k:   "inductance of the coil at 1 kHz", ts.R1k: "loss of the coil in the iron around it at 1 kHz",
}

// glossary explains the quantities that the tables name, and the words for
// certainty that stand with them.
func glossary(r *Report) []labelled {
	named, within, chance := map[ts.ParamID]bool{}, false, false
	for _, t := range r.Tables {
		for _, c := range t.Columns {
			within = within || strings.Contains(c.Head, "95 % sure within")
			chance = chance || c.Head == "chance of being in"
		}
		for _, row := range t.Rows {
			if id, ok := ts.ParseParam(row.Cells[0]); ok {
				named[id] = true
			}
		}
	}
	var out []labelled
	for _, id := range ts.AllParams() {
		if text := meanings[id]; named[id] && text != "" {
			out = append(out, labelled{id.String(), text})
		}
	}
	if within {
		out = append(out, labelled{"95 % sure within", "in 95 of 100 such measurements the true value lies in there; numbers in brackets behind a value mean the same"})
	}
	if chance {
		out = append(out, labelled{"chance of being in", "how probable it is, after this measurement, that the true value meets its limit"})
	}
	return out
}
