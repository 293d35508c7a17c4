package wording

import "conewright/ts/param"

// Name returns a quantity in words: "total Q".
func Name(id param.ID) string { return names[id] }

var names = [param.Count]string{
	param.Re:    "coil resistance",
	param.Fs:    "resonance",
	param.Qms:   "mechanical Q",
	param.Qes:   "electrical Q",
	param.Qts:   "total Q",
	param.Mms:   "moving mass",
	param.Cms:   "compliance",
	param.Rms:   "mechanical losses",
	param.BL:    "force factor",
	param.Vas:   "equivalent volume",
	param.Sd:    "cone area",
	param.Eta0:  "reference efficiency",
	param.Res:   "motional resistance",
	param.Lces:  "motional inductance",
	param.Cmes:  "motional capacitance",
	param.Creep: "suspension creep per decade",
	param.L1k:   "coil inductance at 1 kHz",
	param.R1k:   "coil loss at 1 kHz",

	param.Friction:   "dry friction",
	param.Distortion: "distortion of the current",

	param.C:        "capacitance",
	param.ESR:      "series resistance",
	param.TanDelta: "loss factor",
	param.L:        "inductance",
	param.Rdc:      "resistance at direct current",
	param.Q:        "quality factor",
	param.R:        "resistance",
	param.Fc:       "resonance in the closed box",
	param.Qmc:      "mechanical Q in the box",
	param.Qec:      "electrical Q in the box",
	param.Qtc:      "total Q in the box",
	param.Fb:       "tuning of the port",
	param.QB:       "Q of all losses of the box",
	param.QL:       "Q of its leaks",
	param.QA:       "Q of absorption in it",
	param.QP:       "Q of the port",
	param.Alpha:    "stiffness of its air over that of the suspension",
	param.Vab:      "volume that its air acts as",
}
