package change

import (
	"math"
	"slices"

	"conewright/ts/notice"
	"conewright/ts/param"
)

// What a suspension does when it moves twice as far, as one standard deviation: Fs falls by about 1 % (common practice:
// 2 to 6 % from millivolts to a volt, most of it over a few doublings), with the losses about 3 %. These go together:
// where the stiffness k(1 - s u/(1+u)), u the excursion over that of the knee, falls fastest, one tenth of softening s is
// 0.9 % of Fs a doubling, and the hysteresis that belongs to it is 0.006, 3 % of the losses at a Qms of 5 (Kraus' form of
// the softening of rubber, 1984, from memory). They are an uncertainty and no correction, as some suspensions stiffen.
const (
	fsByDoubling   = 0.01
	lossByDoubling = 0.03
)

// How the logarithms of all quantities follow that of Fs where the stiffness changes, and that of the mechanical losses,
// theory (1.3), (1.4). Qts follows both by the share that Qms has in it.
var (
	byStiffness = map[param.ID]float64{param.Fs: 1, param.Qms: 1, param.Qes: 1, param.Qts: 1, param.Cms: -2, param.Vas: -2, param.Lces: -2}
	byLosses    = map[param.ID]float64{param.Qms: -1, param.Rms: 1, param.Res: -1}
)

// atLevel returns p with what its level, ratio times that of the other set, may do to the suspension.
func atLevel(p param.Parameters, ratio float64) param.Parameters {
	if ratio == 0 {
		return p
	}
	doublings := math.Log2(ratio)
	stiffness, losses := make([]float64, len(p.IDs)), make([]float64, len(p.IDs))
	for i, id := range p.IDs {
		stiffness[i] = fsByDoubling * doublings * byStiffness[id]
		losses[i] = lossByDoubling * doublings * byLosses[id]
		if id == param.Qts {
			losses[i] = -lossByDoubling * doublings * qmsInQts(p)
		}
	}
	p.Components = append(slices.Clone(p.Components),
		param.Component{Source: "level-suspension", Part: param.RepeatPart, Own: true, Effect: stiffness},
		param.Component{Source: "level-losses", Part: param.RepeatPart, Own: true, Effect: losses})
	return p
}

// checkLevel refuses a ratio that is none; 0 is unknown.
func checkLevel(ratio float64) error {
	if ratio >= 0 && !math.IsInf(ratio, 1) {
		return nil
	}
	return notice.New("bad-level", notice.Facts{"ratio": ratio})
}
