package sweeps

import (
	"math"
	"math/cmplx"

	"conewright/sweeps/bench"
	"conewright/sweeps/internal/checks"
	"conewright/sweeps/internal/dsp"
	"conewright/sweeps/internal/spectra"
	"conewright/ts/notice"
)

// Connected is how a bench turned out to be connected.
type Connected struct {
	Wiring       bench.Wiring
	SwapChannels bool
}

const (
	recognised = 0.1  // relative distance from the ratio that a wiring gives
	distinct   = 0.15 // by which the ratios of two wirings must differ to tell them apart
)

// Recognise finds how a bench is connected from a recording with a known resistor (ohm) in
// the place of the driver. With the series resistor R and the known one K the ratio of
// channel 2 over channel 1 is
//
//	resistor first: K/(R + K)    driver first: R/(R + K)    probes: R/K
//
// and one over that when the channels are exchanged; see [bench.Wiring]. A negative ratio is
// an input with exchanged leads, which it refuses, as it does a ratio that none or more than
// one of them explains.
func Recognise(rec *bench.Recording, resistor, known float64) (Connected, error) {
	if !(resistor > 0 && known > 0) || math.IsInf(resistor, 0) || math.IsInf(known, 0) {
		return Connected{}, notice.New("calibration-value", nil)
	}
	if err := rec.Check(); err != nil {
		return Connected{}, err
	}
	found, err := spectra.Analyse(rec, bench.Bench{Resistor: resistor})
	if err != nil {
		return Connected{}, err
	}
	if len(found.Points) == 0 || found.Stats[0].Rms() < checks.Silence {
		return Connected{}, checks.NoSignal(rec.Source)
	}
	var size, re []float64
	for _, p := range found.Points {
		size, re = append(size, cmplx.Abs(p.Ratio)), append(re, real(p.Ratio))
	}
	h := dsp.Median(size)
	if dsp.Median(re) < 0 {
		return Connected{}, notice.New("bench-inverted", nil).In(rec.Source)
	}
	var is []Connected
	near := math.Inf(1)
	for w, ratio := range map[bench.Wiring]float64{bench.ResistorFirst: known / (resistor + known), bench.DriverFirst: resistor / (resistor + known), bench.Probes: resistor / known} {
		for _, swap := range []bool{false, true} {
			if swap {
				ratio = 1 / ratio
			}
			off := math.Abs(math.Log(h / ratio))
			near = min(near, off)
			if off < distinct {
				is = append(is, Connected{w, swap})
			}
		}
	}
	switch {
	case near > recognised:
		return Connected{}, notice.New("bench-not-recognised", notice.Facts{"ratio": h, "resistor": resistor, "known": known}).In(rec.Source)
	case len(is) > 1:
		return Connected{}, notice.New("bench-alike", notice.Facts{"resistor": resistor, "known": known}).In(rec.Source)
	}
	return is[0], nil
}
