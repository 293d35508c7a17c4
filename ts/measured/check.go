package measured

import (
	"fmt"
	"math"
	"math/cmplx"
	"slices"

	"conewright/ts/param"
)

const (
	minPoints = 7
	// A peak lower than this over the higher of its two valleys, in logarithm of
	// |Z|, is not taken for a resonance.
	minPeak = 0.1
	// A second peak that rises this much, relative to the first and in logarithm
	// of |Z|, is a second resonance: a vented box, or two drivers in one sweep. A fit
	// is refused then, and so is the three-point method.
	secondPeak = 0.3
)

// CheckSweep refuses a sweep that a resonance cannot be read from, and says why.
func CheckSweep(z Impedance) error {
	name := "the sweep"
	if z.Source != "" {
		name = z.Source
	}
	refuse := func(code, advice, format string, args ...any) error {
		return &param.Refusal{Code: code, Message: name + " " + fmt.Sprintf(format, args...), Advice: advice}
	}
	if z.Len() < minPoints {
		return refuse("too-few-points", "measure at least ten frequencies: five across the peak, two well below it, three from the minimum upwards",
			"has only %d points; a resonance and a coil need at least %d", z.Len(), minPoints)
	}
	mag := make([]float64, z.Len())
	for i, v := range z.Z {
		mag[i] = cmplx.Abs(v)
		if !(mag[i] > 0) {
			return refuse("zero-impedance", "check for a short circuit and for swapped channels", "has the impedance zero at %.4g Hz", z.Freq[i])
		}
	}
	peaks := findPeaks(mag)
	if len(peaks) == 0 || peaks[0].prominence < minPeak {
		n := len(mag)
		switch {
		case slices.Max(mag) == mag[0] && mag[0] > 1.3*slices.Min(mag):
			return refuse("starts-above-resonance", "start the sweep at a third of the resonance frequency or lower",
				"starts at %.4g Hz, above the resonance: |Z| only falls from there", z.Freq[0])
		case slices.Min(mag) == mag[0] && slices.Max(mag) == mag[n-1]:
			return refuse("no-peak", "check that the driver moves freely and that the sweep covers its resonance; a blocked or open coil shows no peak",
				"shows no resonance peak between %.4g and %.4g Hz: |Z| only rises", z.Freq[0], z.Freq[n-1])
		}
		return refuse("no-peak", "check that the driver moves freely and that the sweep covers its resonance; a blocked or open coil shows no peak",
			"shows no resonance peak between %.4g and %.4g Hz", z.Freq[0], z.Freq[n-1])
	}
	if len(peaks) > 1 && peaks[1].prominence > secondPeak*peaks[0].prominence {
		a, b := z.Freq[peaks[0].index], z.Freq[peaks[1].index]
		return refuse("two-peaks", "take the driver out of a vented box and measure it alone; two drivers must be measured one at a time",
			"shows two resonance peaks, at %.3g and %.3g Hz", min(a, b), max(a, b))
	}
	top := peaks[0].index
	lowest := slices.Min(mag)
	level := math.Sqrt(lowest * mag[top])
	if slices.Min(mag[:top+1]) > level {
		return refuse("starts-above-f1", fmt.Sprintf("start the sweep at %.2g Hz or lower", z.Freq[top]/3),
			"starts at %.4g Hz, too close to the resonance at %.4g Hz: |Z| is still above %.3g ohm there", z.Freq[0], z.Freq[top], level)
	}
	if slices.Min(mag[top:]) > level {
		return refuse("ends-below-f2", fmt.Sprintf("let the sweep run to %.2g Hz or higher", 10*z.Freq[top]),
			"ends at %.4g Hz, too close to the resonance at %.4g Hz: |Z| is still above %.3g ohm there", z.Freq[len(mag)-1], z.Freq[top], level)
	}
	if end := mag[len(mag)-1]; end == slices.Min(mag[top:]) && end > 1.3*lowest {
		return refuse("no-minimum", fmt.Sprintf("let the sweep run to %.2g Hz or higher", 10*z.Freq[top]),
			"ends at %.4g Hz while |Z| is still falling: there is no minimum above the resonance", z.Freq[len(mag)-1])
	}
	return nil
}

// CheckInput refuses what no fit can start from, whatever the sweeps hold.
func CheckInput(sweeps []Sweep, cond Conditions) error {
	if len(sweeps) == 0 {
		return &param.Refusal{Code: "no-sweeps", Message: "there is no sweep to fit", Advice: "give at least one sweep of the driver in free air"}
	}
	free := false
	for _, s := range sweeps {
		z := s.Impedance
		n := len(z.Freq)
		if len(z.Z) != n || (z.Sigma != nil && len(z.Sigma) != n) {
			return &param.Refusal{Code: "lengths-differ", Message: fmt.Sprintf("a sweep has %d frequencies, %d impedances and %d noise figures", n, len(z.Z), len(z.Sigma)),
				Advice: "every frequency needs one impedance, and one noise figure or none at all"}
		}
		for _, e := range z.Systematic {
			if len(e.Effect) != n {
				return &param.Refusal{Code: "lengths-differ", Message: fmt.Sprintf("the bench error %q has %d values for %d frequencies", e.Source, len(e.Effect), n),
					Advice: "every frequency needs one value"}
			}
		}
		if _, err := NewImpedance(z.Freq, z.Z, z.Sigma); err != nil {
			return err
		}
		if err := CheckSweep(z); err != nil {
			return err
		}
		if s.Load.Kind == Free {
			free = true
			continue
		}
		if !(s.Load.Value > 0) || math.IsInf(s.Load.Value, 0) || !(s.Load.Std >= 0) || s.Load.Std > s.Load.Value {
			return &param.Refusal{Code: "bad-load", Message: fmt.Sprintf("the %s on the cone is given as %v with the uncertainty %v", s.Load.Kind, s.Load.Value, s.Load.Std),
				Advice: "a mass is in kilograms, a volume in cubic metres, both positive; check the unit"}
		}
	}
	if !free {
		return &param.Refusal{Code: "needs-free-air", Message: "there is no sweep of the driver without a load",
			Advice: "measure it once more with nothing on the cone and no box"}
	}
	for _, q := range []param.Quantity{cond.Temperature, cond.Pressure, cond.Sd, cond.DCRe} {
		if !(q.Value >= 0) || !(q.Std >= 0) || math.IsInf(q.Value+q.Std, 0) {
			return &param.Refusal{Code: "bad-condition", Message: fmt.Sprintf("a condition is given as %v with the uncertainty %v", q.Value, q.Std),
				Advice: "temperature, pressure, area and meter reading are positive numbers"}
		}
	}
	return nil
}

// CheckValues refuses values that no driver has: they come from wrong wiring,
// swapped channels or a wrong resistor. The limits lie far outside of those of
// published data sheets.
func CheckValues(p param.Parameters) error {
	for _, limit := range []struct {
		id     param.ParamID
		lo, hi float64
	}{{param.Re, 0.1, 5000}, {param.Qms, 0.1, 100}, {param.Qes, 0.02, 20}} {
		if e, ok := p.Get(limit.id); ok && (e.Value < limit.lo || e.Value > limit.hi) {
			return &param.Refusal{Code: "absurd-value", Message: fmt.Sprintf("the sweep asks for %v = %.3g, which no driver has", limit.id, e.Value),
				Advice: "check the wiring, which channel is which, and the value of the resistor"}
		}
	}
	return nil
}
