package checks

import (
	"math"

	"conewright/sweeps/bench"
	"conewright/sweeps/internal/contact"
	"conewright/sweeps/internal/dsp"
	"conewright/sweeps/internal/spectra"
	"conewright/ts/measured"
	"conewright/ts/notice"
)

const (
	lowLevel     = 0.01  // peak, fraction of full scale
	fewSteps     = 64    // of the converter up to the peak: less than that is 36 dB of signal over steps
	highVolts    = 1.0   // rms at the driver: common practice for small-signal work
	lowVolts     = 0.005 // rms at the driver: university laboratory notes
	noisyAbove   = 0.01  // median noise relative to the impedance
	offsetAbove  = 0.05  // constant part, fraction of full scale
	distortAbove = 0.03  // distortion relative to the signal, from which values are no small-signal ones any more
	belowRe      = 0.8   // of the real part at the low end
)

// Warnings tells what should be known about a recording that is usable.
func Warnings(e *spectra.Result, z measured.Impedance, b bench.Bench) ([]notice.Notice, error) {
	var all []notice.Notice
	add := func(n *notice.Notice) {
		if n != nil {
			all = append(all, *n)
		}
	}
	for c, v := range e.Stats {
		if n := v.Clipped(); n > 0 {
			first, err := e.FirstClipped(c)
			if err != nil {
				return nil, err
			}
			add(notice.New("clipped-slightly", notice.Facts{"channel": e.Number(c), "level": v.Peak(), "samples": n, "share": v.Share(n), "first": first}))
		}
		if math.Abs(v.Mean()) > offsetAbove {
			add(notice.New("dc-offset", notice.Facts{"channel": e.Number(c), "offset": v.Mean()}))
		}
	}
	if p := max(e.Stats[0].Peak(), e.Stats[1].Peak()); p < lowLevel {
		add(notice.New("level-low", notice.Facts{"peak": p}))
	} else {
		for c, v := range e.Stats {
			if n := v.Steps(); n < fewSteps {
				add(notice.New("level-low", notice.Facts{"channel": e.Number(c), "steps": n}))
			}
		}
	}
	add(volts(e, b))
	if e.Hum.Mains >= 0 {
		add(notice.New("hum", notice.Facts{"mains": spectra.MainsHz[e.Hum.Mains]}))
	}
	if n := MedianNoise(z); n > noisyAbove {
		add(notice.New("noisy", notice.Facts{"noise": n}))
	}
	if at, factor, ok := levelStep(e); ok {
		add(notice.New("level-changes", notice.Facts{"at": at, "factor": factor}))
	}
	add(contact.Warning(e))
	add(contact.Unwatched(e))
	if f := e.FreeLines; f != nil && (f.Even.Seen() || f.Odd.Seen()) {
		if total := math.Hypot(f.Even.Share, f.Odd.Share); total > distortAbove {
			add(notice.New("distortion", notice.Facts{"total": total, "even": f.Even.Share, "odd": f.Odd.Share}))
		}
	}
	if f, share, ok := fallsBelow(z); ok {
		add(notice.New("below-re", notice.Facts{"frequency": f, "share": share}))
	}
	if c := b.Calibration; c != nil {
		lo, hi := c.Band()
		if z.Freq[0] < 0.9*lo || z.Freq[z.Len()-1] > 1.1*hi {
			add(notice.New("calibration-band", notice.Facts{"low": lo, "high": hi}))
		}
	}
	return all, nil
}

// MedianNoise returns the median of the noise relative to the impedance, from
// 10 to 500 Hz.
func MedianNoise(z measured.Impedance) float64 {
	var rel []float64
	for i, f := range z.Freq {
		if f >= 10 && f <= 500 {
			rel = append(rel, z.Sigma[i]/math.Sqrt(dsp.SqAbs(z.Z[i])))
		}
	}
	if len(rel) == 0 {
		return 0
	}
	return dsp.Median(rel)
}

// fallsBelow looks above the resonance for a real part that is well below what
// it is at the low end of the sweep, where that lies well below resonance.
func fallsBelow(z measured.Impedance) (f, part float64, ok bool) {
	peak := 0
	for i := range z.Z {
		if z.Freq[i] < 500 && dsp.SqAbs(z.Z[i]) > dsp.SqAbs(z.Z[peak]) {
			peak = i
		}
	}
	if z.Len() < 20 || z.Freq[0] > z.Freq[peak]/3 {
		return 0, 0, false
	}
	base := dsp.Median([]float64{real(z.Z[0]), real(z.Z[1]), real(z.Z[2])})
	part = belowRe
	for i := peak; i < z.Len(); i++ {
		if p := (real(z.Z[i]) + 5*z.Sigma[i]) / base; p < part {
			f, part, ok = z.Freq[i], p, true
		}
	}
	return f, part, ok
}
