package change

import (
	"math"
	"slices"

	"conewright/ts/param"
	"conewright/ts/repeat"
)

// byMagnet is how the logarithms of all quantities follow that of BL, theory (1.3), (1.4). Qts follows Qes.
var byMagnet = map[param.ID]float64{param.BL: 1, param.Qes: -2, param.Lces: 2, param.Res: 2, param.Cmes: -2, param.Eta0: 2}

// atRoom returns p with what the temperature of the magnet may do to the motor, once for each set.
func atRoom(p param.Parameters) param.Parameters {
	effect := make([]float64, len(p.IDs))
	for i, id := range p.IDs {
		effect[i] = repeat.MagnetStd * byMagnet[id]
		if id == param.Qts {
			effect[i] = -2 * repeat.MagnetStd * (1 - qmsInQts(p))
		}
	}
	p.Components = append(slices.Clone(p.Components), param.Component{Source: "magnet-temperature", Part: param.RepeatPart, Own: true, Effect: effect})
	return p
}

// qmsInQts is d ln Qts/d ln Qms; that to Qes is the rest of one. 0 where the set does not hold both.
func qmsInQts(p param.Parameters) float64 {
	e, m := p.Index(param.Qes), p.Index(param.Qms)
	if e < 0 || m < 0 {
		return 0
	}
	return 1 / (1 + math.Exp(p.Scaled[m]-p.Scaled[e]))
}
