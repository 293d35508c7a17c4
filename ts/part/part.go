// Package part finds what a single part of a dividing network is, a capacitor, a coil or a resistor, and its values with
// their uncertainty, from its impedance over frequency.
//
// Values are read off the curve around one frequency, where no law of losses has to hold; laws are fitted beside
// them for what must be carried on beyond the points: the figure, and the part within a network.
package part

import (
	"math"
	"math/cmplx"

	"conewright/ts/measured"
	"conewright/ts/network"
	"conewright/ts/notice"
	"conewright/ts/param"
)

// Options say what is known of a part beside its curve.
type Options struct {
	Kind      network.Kind // used if Stated
	Stated    bool
	Frequency float64 // Hz at which values are given; 0: the usual one for its size
}

// Found is what a curve says of a part.
type Found struct {
	Kind      network.Kind
	Frequency float64 // Hz at which the values are
	// Parameters are C, ESR and tan_delta of a capacitor, L, Rdc and Q of a coil, R and L of a resistor.
	Parameters param.Parameters
	// Bounds are what a value is below with 95 %, where it cannot be told from none. It is among Parameters for a
	// decision, and not to be shown as a value.
	Bounds   map[param.ID]float64
	Table    []Point // over frequency
	Law      Law
	Measured measured.Impedance
	Warnings []notice.Notice
}

// Point is a part at one frequency as a series circuit.
type Point struct {
	Frequency     float64
	Size, SizeStd float64 // C in F, L in H; of a resistor L in H
	Loss, LossStd float64 // ohm: ESR, resistance of a coil, R
	Ratio         float64 // loss factor of a capacitor, quality factor of a coil; 0 of a resistor
}

// usualAt are the frequencies (Hz) at which values are given; the one at which the part is nearest to usualOhm is taken.
// Meters of parts use the same ones (common practice).
var usualAt = []float64{100, 1e3, 1e4}

const usualOhm = 10.0 // about where a part of a network does its work

// Fit finds what the curve z is of. The error is a [*notice.Notice]; where the curve leaves open what the part is
// it has the code "part-doubtful".
func Fit(z measured.Impedance, opt Options) (*Found, error) {
	if err := z.Check(); err != nil {
		return nil, err
	}
	if z.MagnitudeOnly {
		return nil, notice.New("part-magnitude", nil).In(z.Source)
	}
	if z.Len() < fewest {
		return nil, notice.New("part-few-points", notice.Facts{"points": z.Len(), "least": fewest}).In(z.Source)
	}
	kind := opt.Kind
	if !opt.Stated {
		var err error
		if kind, err = identify(z); err != nil {
			return nil, err
		}
	}
	f := &Found{Kind: kind, Measured: z, Bounds: map[param.ID]float64{}}
	if f.Frequency = opt.Frequency; f.Frequency == 0 {
		f.Frequency = usual(z, kind)
	}
	if lo, hi := z.Freq[0], z.Freq[z.Len()-1]; !(f.Frequency >= lo && f.Frequency <= hi) {
		return nil, notice.New("part-outside", notice.Facts{"frequency": f.Frequency, "low": lo, "high": hi}).In(z.Source)
	}
	if err := f.values(); err != nil {
		return nil, err
	}
	f.overFrequency()
	f.Law = fitLaw(z, kind)
	f.Warnings = append(f.Warnings, z.Warnings...)
	if n := beside(z, kind); n != nil {
		f.Warnings = append(f.Warnings, *n)
	}
	return f, nil
}

// fewest is the number of points below which a curve says nothing reliable.
const fewest = 12

// usual returns the usual frequency at which |z| is nearest to usualOhm; for a resistor that in the middle.
func usual(z measured.Impedance, kind network.Kind) float64 {
	if f := usualAt[1]; kind == network.Resistor && f > z.Freq[0] && f < z.Freq[z.Len()-1] {
		return f
	}
	best, at := math.Inf(1), z.Freq[z.Len()/2]
	for _, f := range usualAt {
		i := nearest(z.Freq, f)
		if f < z.Freq[0] || f > z.Freq[z.Len()-1] {
			continue
		}
		if d := math.Abs(math.Log(cmplx.Abs(z.Z[i]) / usualOhm)); d < best {
			best, at = d, f
		}
	}
	return at
}

// nearest returns the place of the frequency nearest to f.
func nearest(freq []float64, f float64) int {
	best := 0
	for i := range freq {
		if math.Abs(freq[i]-f) < math.Abs(freq[best]-f) {
			best = i
		}
	}
	return best
}

// Main is the quantity that a part of a kind is bought by.
func Main(kind network.Kind) param.ID {
	switch kind {
	case network.Capacitor:
		return param.C
	case network.Coil:
		return param.L
	}
	return param.R
}
