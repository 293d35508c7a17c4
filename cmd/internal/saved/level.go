package saved

import (
	"math"

	"conewright/cmd/internal/jsonout"
	"conewright/ts/measured"
)

// Level is the field of that name: how loud the driver was played to.
func Level(l measured.Level) jsonout.Object {
	unit := ""
	if l.Volts {
		unit = "V"
	}
	return jsonout.Object{{"value", jsonout.Number(l.Value)}, {"unit", unit}}
}

// savedLevel is that field as it is read; the zero one is that of an older file.
type savedLevel struct {
	Value float64 `json:"value"`
	Unit  string  `json:"unit"`
}

// level returns what was saved; false where it cannot be.
func (s savedLevel) level() (measured.Level, bool) {
	return measured.Level{Value: s.Value, Volts: s.Unit == "V"}, s.Value >= 0 && !math.IsInf(s.Value, 1) && (s.Unit == "V" || s.Unit == "")
}
