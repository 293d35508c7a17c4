package saved

import (
	"conewright/cmd/internal/jsonout"
	"conewright/ts/friction"
)

// Trend is the field of that name: how stiffness and force factor follow the level.
func Trend(t friction.Trend) jsonout.Object {
	slope := func(s friction.Slope) jsonout.Object {
		o := jsonout.Object{{"per_volt", jsonout.Number(s.PerVolt)}, {"per_volt_std", jsonout.Number(s.PerVoltStd)}}
		if t.Travel[1] > 0 {
			o.Add("per_metre", jsonout.Number(s.PerMetre))
			o.Add("per_metre_std", jsonout.Number(s.PerMetreStd))
		}
		return o
	}
	o := jsonout.Object{{"sweeps", t.Sweeps}, {"from_volt", jsonout.Number(t.From)}, {"to_volt", jsonout.Number(t.To)}}
	if t.Travel[1] > 0 {
		o.Add("from_metre", jsonout.Number(t.Travel[0]))
		o.Add("to_metre", jsonout.Number(t.Travel[1]))
	}
	return append(o, jsonout.Object{{"stiffness", slope(t.Stiffness)}, {"force_factor", slope(t.ForceFactor)}}...)
}
