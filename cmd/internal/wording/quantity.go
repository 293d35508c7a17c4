package wording

import "conewright/ts/param"

// Name returns a quantity in words: "total Q".
func Name(id param.ID) string { return names[id] }

var names = [param.Count]string{
	param.Re:      "coil resistance",
	param.Fs:      "resonance",
	param.Qms:     "mechanical Q",
	param.Qes:     "electrical Q",
	param.Qts:     "total Q",
	param.Mms:     "moving mass",
	param.Cms:     "compliance",
	param.Rms:     "mechanical losses",
	param.BL:      "force factor",
	param.Vas:     "equivalent volume",
	param.Sd:      "cone area",
	param.Eta0:    "reference efficiency",
	param.Res:     "motional resistance",
	param.Lces:    "motional inductance",
	param.Cmes:    "motional capacitance",
	param.Creep:   "suspension creep per decade",
	param.L1k:     "coil inductance at 1 kHz",
	param.R1k:     "coil loss at 1 kHz",
	param.CoilL:   "coil inductance, plain model",
	param.CoilK:   "coil strength, lossy model",
	param.CoilN:   "coil exponent, lossy model",
	param.CoilL1:  "coil inductance, first part",
	param.CoilL2:  "coil inductance, second part",
	param.CoilR2:  "coil loss, second part",
	param.CoilLeb: "coil inductance, outer part",
	param.CoilLe:  "coil inductance, inner part",
	param.CoilKe:  "coil semi-inductance",
	param.CoilRss: "coil loss, inner part",
	param.CoilKr:  "coil resistance, power model",
	param.CoilXr:  "coil resistance exponent",
	param.CoilKi:  "coil reactance, power model",
	param.CoilXi:  "coil reactance exponent",
}
