package sweeps

import (
	"math"

	"conewright/ts"
)

// worstRelative is the noise of a point relative to its impedance beyond which
// the point is left out.
const worstRelative = 0.1

// fewestLines is the number of tones that a periodic signal must have to be
// taken as a multitone.
const fewestLines = 20

// Estimate turns a recording into an impedance with its noise.
func Estimate(rec *Recording, b Bench) (ts.Impedance, error) {
	src := &blocks{rec: rec, swap: b.SwapChannels}
	points, _, low, err := localPoints(src)
	if err != nil {
		return ts.Impedance{}, err
	}
	if r, ok := findPeriod(low); ok {
		l, err := collect(src, r)
		if err != nil {
			return ts.Impedance{}, err
		}
		if p := l.points(l.excited()); len(p) >= fewestLines {
			points = p
		}
	}
	return impedance(points, b, rec.Source)
}

// impedance turns ratios into ohms.
func impedance(points []point, b Bench, source string) (ts.Impedance, error) {
	var freq, sigma []float64
	var z []complex128
	for _, p := range points {
		v := b.Wiring.Impedance(p.ratio, b.Resistor)
		// The variance of a complex number is shared by its two parts.
		s := math.Sqrt(p.variance() / 2 * sqAbs(b.Wiring.Slope(p.ratio, b.Resistor)))
		if !(s < worstRelative*math.Sqrt(sqAbs(v))) {
			continue
		}
		freq = append(freq, p.freq)
		z = append(z, v-complex(b.Leads, 0))
		sigma = append(sigma, s)
	}
	if len(freq) == 0 {
		return ts.Impedance{}, &BenchError{Code: "no-signal", File: source, Msg: "the two channels have no signal in common",
			Advice: "check that the test signal was playing and that both channels were recorded"}
	}
	out, err := ts.NewImpedance(freq, z, sigma)
	if err != nil {
		return ts.Impedance{}, err
	}
	out.Source = source
	return out, nil
}
