package estimate

import (
	"math"
	"slices"

	"conewright/ts/fitted"
	"conewright/ts/measured"
	"conewright/ts/notice"
	"conewright/ts/param"
)

// cabinet is the box around a driver: vented, closed or none.
type cabinet struct {
	port   *measured.Port // a vented one, as the reference sweep shows it
	closed bool
	driver *Driver // what is known of it; nil: nothing
}

// boxed says that there is a box.
func (b cabinet) boxed() bool { return b.port != nil || b.closed }

// Driver is what is known from elsewhere of the driver in a box, each with its standard uncertainty: Lces and Res as their
// logarithms, and its creep. Re goes in as a reading of the meter does.
type Driver struct{ Lces, Res, Creep, LcesStd, ResStd, CreepStd float64 }

// FitVented is Fit for a driver in a vented box, from sweeps of one condition. What it finds of the driver is
// that of the driver as it is in the box: with the air that moves with it there, and without the stiffness of the
// air behind it. Of the box it finds the tuning, the stiffness and the losses, theory (10.6).
func FitVented(sweeps []measured.Sweep, cond measured.Conditions, known *Driver) (*fitted.Result, error) {
	if err := measured.CheckVented(sweeps, cond); err != nil {
		return nil, err
	}
	port, err := measured.PortOf(sweeps[0].Impedance)
	if err != nil {
		return nil, err
	}
	return inBox(sweeps, cond, &port.Peak, cabinet{port: &port, driver: known})
}

// FitClosed is Fit for a driver in a closed box, from sweeps of one condition. The resonance that it finds is that in the box,
// and Qms and Res have the losses of the box in them, theory (10.5).
func FitClosed(sweeps []measured.Sweep, cond measured.Conditions, known *Driver) (*fitted.Result, error) {
	if err := measured.CheckInput(sweeps, cond); err != nil {
		return nil, err
	}
	if i := slices.IndexFunc(sweeps, func(s measured.Sweep) bool { return s.Load.Kind != measured.Free }); i >= 0 {
		return nil, notice.New("load-in-cabinet", nil).In(sweeps[i].Impedance.Source)
	}
	return inBox(sweeps, cond, nil, cabinet{closed: true, driver: known})
}

func inBox(sweeps []measured.Sweep, cond measured.Conditions, outline *measured.Outline, box cabinet) (*fitted.Result, error) {
	mem := memory.Get().(*scratch)
	defer memory.Put(mem)
	return observe(asMeasured(sweeps), cond, outline, box).unweighted(mem).fit()
}

// addCabinet adds the unknowns of a box, and what is known beforehand.
func (o *observed) addCabinet(l *layout) {
	switch {
	case o.port != nil:
		l.addPort()
	case o.closed:
		l.addTight()
	default:
		return
	}
	add := func(p prior, source string) {
		p.component = param.Component{Source: source, Part: param.ModelPart, Own: true}
		if o.driver != nil {
			p.component.Part = param.BenchPart
		}
		l.priors = append(l.priors, p)
	}
	d := o.driver
	if d == nil {
		// Without any bound the losses of driver and box leave each other open.
		if l.creep >= 0 {
			add(prior{index: l.creep, mean: meanCreep, std: stdCreep}, "creep of any driver")
		}
		if o.port != nil {
			add(prior{index: l.qms, mean: meanQms, std: stdQms}, "losses of any driver")
		}
		return
	}
	if l.creep >= 0 {
		add(prior{index: l.creep, mean: d.Creep, std: d.CreepStd}, "creep of the driver")
	}
	const lces, res = "compliance of the driver", "losses of the driver"
	if o.closed {
		add(o.airOf(l, d), lces)
		return
	}
	// ln Lces = ln Res - ln(2 pi Fs) - ln Qms
	add(prior{index: l.fs, mean: -math.Log(2*math.Pi) - d.Lces, std: d.LcesStd, given: []given{{l.res, 1}, {l.qms, -1}}}, lces)
	add(prior{index: l.res, mean: d.Res, std: d.ResStd}, res)
}

// What drivers have: Qms of 1.4 to 18, as a logarithm, and a creep of 0 to 0.3 (docs/population.md, widened).
const (
	meanQms, stdQms     = 1.5, 0.8
	meanCreep, stdCreep = 0.08, 0.15
)

// airOf is what the compliance of the driver says of alpha, near the alpha that the outline of the curve gives:
//
//	1 + alpha = Lces (2 pi fc) Qmc/Res,   theory (10.5)
func (o *observed) airOf(l *layout, d *Driver) prior {
	all := d.Lces + math.Log(2*math.Pi*o.outline.Fs*o.outline.Qms/o.outline.Res) // ln(1 + alpha)
	alpha := max(leastAlpha, math.Expm1(all))
	k := (1 + alpha) / alpha // d ln alpha/d ln(1 + alpha)
	return prior{index: l.tight + tightAlpha, mean: math.Log(alpha) + k*(d.Lces+math.Log(2*math.Pi)-math.Log1p(alpha)), std: k * d.LcesStd,
		given: []given{{l.fs, k}, {l.qms, k}, {l.res, -k}}}
}

// leastAlpha is less than any box has: common practice.
const leastAlpha = 0.2
