package bench

import (
	"math"

	"conewright/ts/notice"
)

// Check refuses a bench that is not one.
func (b Bench) Check() error {
	if !b.Wiring.known() {
		return notice.New("bench-wiring", notice.Facts{"wiring": int(b.Wiring)})
	}
	if b.Resistor == 0 {
		return notice.New("resistor-missing", nil)
	}
	for _, v := range []struct {
		of        string
		value     float64
		low, high float64 // both included; the bounds lie far outside of any bench
	}{
		{"resistor", b.Resistor, 1e-6, 1e9},
		{"resistor-tolerance", b.ResistorTolerance, 0, math.Nextafter(1, 0)},
		{"leads", b.Leads, 0, 1e9},
		{"leads-uncertainty", b.LeadsStd, 0, 1e9},
		{"channel-tolerance", b.ChannelTolerance, 0, math.Nextafter(1, 0)},
		{"full-scale", b.FullScale, 0, 1e9},
		{"input-resistance", inputOrUsual(b.InputResistance), 100, 1e15},
	} {
		if !(v.value >= v.low && v.value <= v.high) {
			return notice.New("bench-value", notice.Facts{"of": v.of, "value": v.value})
		}
	}
	if b.Calibration != nil {
		return b.Calibration.check(b)
	}
	return nil
}

// inputOrUsual returns an input resistance in ohm that stands for r, where 0 is
// infinite.
func inputOrUsual(r float64) float64 {
	if r == 0 {
		return 1e15
	}
	return r
}
