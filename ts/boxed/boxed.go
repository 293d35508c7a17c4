// Package boxed is about a driver measured in its cabinet: what the impedance says of a closed or a vented box and of the driver
// in it, what is wrong with a box, and how two such measurements differ.
package boxed

import (
	"errors"
	"math"
	"slices"

	"conewright/ts/fitted"
	"conewright/ts/internal/bounds"
	"conewright/ts/internal/estimate"
	"conewright/ts/measured"
	"conewright/ts/notice"
	"conewright/ts/param"
)

// Kind is a kind of box.
type Kind string

// The kinds of boxes.
const (
	ByCurve Kind = ""
	Closed  Kind = "closed"
	Vented  Kind = "vented"
)

// Known is what is known beside the sweeps.
type Known struct {
	Kind   Kind
	Driver *param.Parameters // of the driver in free air; nil: not known
	Volume float64           // m^3, inside the cabinet without what stands in it; 0: not known
	Tuning float64           // Hz, that the port should have; 0: not known, or there is none
}

// Check refuses what cannot be.
func (k Known) Check() error {
	if k.Kind == Closed && k.Tuning > 0 {
		return notice.New("closed-with-tuning", nil)
	}
	return bounds.First(bounds.Volume.Given(k.Volume, 0), bounds.Frequency.Given(k.Tuning, 0))
}

// Measured is a driver in its box.
type Measured struct {
	Kind       Kind
	Known      Known
	Parameters param.Parameters
	Fit        *fitted.Result
	Peaks      []measured.Peak // of |Z|, by frequency: one of a closed box, two of a vented one
	Findings   []Finding       // against what is known
	Notices    []notice.Notice
}

// Fit finds what a driver and its box are, from sweeps of one condition at its terminals.
//
// Of a closed box it gives Fc, Qmc, Qec and Qtc, of a vented one Fb and Fs, Qms, Qes and Qts of the driver in the box, and of both
// QB, the quality factor of all losses of the box, and those of its leaks, of absorption and of the port where the curve tells them
// apart. With the driver as it is in free air alpha and Vab are added, the volume of air that is as compliant as that in the box.
//
// Source: Small, J. Audio Eng. Soc. 20, 1972, 798 and 21, 1973, 363 (from memory; the circuits are checked against a circuit
// simulator). Theory (10.5) to (10.8).
func Fit(sweeps []measured.Sweep, cond measured.Conditions, known Known) (*Measured, error) {
	if len(sweeps) == 0 {
		return nil, notice.New("no-sweeps", nil)
	}
	if err := known.Check(); err != nil {
		return nil, err
	}
	kind := known.Kind
	if kind == ByCurve {
		kind = kindOf(sweeps[0].Impedance)
	}
	m := &Measured{Kind: kind, Known: known}
	fit := estimate.FitClosed
	if kind == Vented {
		fit = estimate.FitVented
	}
	if d := known.Driver; d != nil && !cond.DCRe.Given() {
		if re, ok := d.Get(param.Re); ok {
			cond.DCRe = param.Quantity{Value: re.Value, Std: math.Hypot(re.Std, warmer*re.Value)}
		}
	}
	var err error
	m.Fit, err = fit(sweeps, cond, driverOf(known.Driver))
	if err != nil {
		return nil, err
	}
	p := m.Fit.Parameters
	if kind == Closed {
		p = inClosedBox(p)
	}
	if p, err = withVolume(p, known.Driver); err != nil {
		return nil, err
	}
	m.Parameters, m.Notices = m.reported(p)
	m.Notices = append(m.Notices, slices.DeleteFunc(slices.Clone(m.Fit.Warnings), func(n notice.Notice) bool { return slices.Contains(ofTheDriver, n.Code) })...)
	m.Peaks = peaksOf(sweeps[0].Impedance, kind)
	m.Findings = m.against()
	return m, nil
}

// ofTheDriver are warnings that ask for what has no sense in a cabinet.
var ofTheDriver = []string{"needs-added-mass", "needs-diameter"}

// warmer is how far the coil may be warmer or colder than when the driver was measured, relative in Re: 1.3 K in copper.
const warmer = 0.005

// kindOf is the kind of box by the number of peaks.
func kindOf(z measured.Impedance) Kind {
	var n *notice.Notice
	if err := measured.CheckSweep(z); errors.As(err, &n) && n.Code == "two-peaks" {
		return Vented
	}
	return Closed
}

func peaksOf(z measured.Impedance, kind Kind) []measured.Peak {
	peaks := measured.Peaks(z)
	n := 1
	if kind == Vented {
		n = 2
	}
	peaks = peaks[:min(n, len(peaks))]
	slices.SortFunc(peaks, func(a, b measured.Peak) int { return int(math.Copysign(1, a.Freq-b.Freq)) })
	return peaks
}

// How much a driver changes from free air to its box, as standard uncertainties of logarithms, and of the creep: how benches
// repeat as a rule (package repeat), and in Lces the creep between the two resonances.
const (
	complianceMoves = 0.02
	lossesMove      = 0.1
	creepMoves      = 0.02
)

// driverOf is what is known of the driver for the fit; nil: nothing.
func driverOf(p *param.Parameters) *estimate.Driver {
	if p == nil {
		return nil
	}
	lces, res := p.Index(param.Lces), p.Index(param.Res)
	if lces < 0 || res < 0 {
		return nil
	}
	d := &estimate.Driver{Lces: p.Scaled[lces], Res: p.Scaled[res],
		LcesStd: math.Hypot(p.ScaledStd(lces), complianceMoves), ResStd: math.Hypot(p.ScaledStd(res), lossesMove)}
	d.CreepStd = anyCreep
	if i := p.Index(param.Creep); i >= 0 {
		d.Creep, d.CreepStd = p.Scaled[i], math.Hypot(p.ScaledStd(i), creepMoves)
	}
	return d
}

// anyCreep is the width of what is known of a creep of which nothing is known.
const anyCreep = 0.1
