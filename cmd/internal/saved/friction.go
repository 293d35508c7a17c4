package saved

import (
	"conewright/cmd/internal/jsonout"
	"conewright/ts/friction"
)

// Friction is the field of that name: what the harmonics tell of the coil.
func Friction(f friction.Found) jsonout.Object {
	o := jsonout.Object{{"rubs", f.Rubs}, {"unit", "N"}}
	if f.Rubs {
		o.Add("value", jsonout.Number(f.Force))
		o.Add("low", jsonout.Number(f.Low))
		o.Add("high", jsonout.Number(f.High))
	}
	if l := f.Losses; l.Std > 0 {
		o.Add("by_losses", jsonout.Object{{"value", jsonout.Number(l.Force)}, {"std", jsonout.Number(l.Std)}})
	}
	return append(o, jsonout.Object{{"least", jsonout.Number(f.Least)}, {"share_of_losses", jsonout.Number(f.Share)},
		{"voltage", jsonout.Number(f.Voltage)}, {"several_levels", f.Levels > 1}, {"force_factor_known", f.KnowsBL}}...)
}

// savedFriction is that field as it is read.
type savedFriction struct {
	Rubs          bool    `json:"rubs"`
	Value         float64 `json:"value"`
	Low           float64 `json:"low"`
	High          float64 `json:"high"`
	Least         float64 `json:"least"`
	Share         float64 `json:"share_of_losses"`
	Voltage       float64 `json:"voltage"`
	SeveralLevels bool    `json:"several_levels"`
	KnowsBL       bool    `json:"force_factor_known"`
	Losses        struct {
		Value float64 `json:"value"`
		Std   float64 `json:"std"`
	} `json:"by_losses"`
}

// found returns what was saved; false where it cannot be.
func (s savedFriction) found() (friction.Found, bool) {
	f := friction.Found{Rubs: s.Rubs, Force: s.Value, Low: s.Low, High: s.High, Least: s.Least, Share: s.Share, Voltage: s.Voltage, Levels: 1, KnowsBL: s.KnowsBL,
		Losses: friction.ByLosses{Force: s.Losses.Value, Std: s.Losses.Std}}
	if s.SeveralLevels {
		f.Levels = 2
	}
	return f, s.Value >= 0 && s.Low >= 0 && s.High >= s.Low && s.Least >= 0 && s.Losses.Std >= 0 && s.Voltage >= 0 && s.Share >= 0 && s.Share <= 1
}
