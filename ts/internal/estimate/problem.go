package estimate

import (
	"math"
	"math/cmplx"
	"slices"
	"strconv"

	"conewright/ts/internal/law"
	"conewright/ts/measured"
	"conewright/ts/param"
	"conewright/ts/repeat"
)

// observation is one sweep as the fit sees it.
type observation struct {
	*law.Axis
	z             []complex128
	weight        []float64 // 1/ohm, for the real and the imaginary part
	magnitudeOnly bool
	load          int // index into problem.loads, -1 for free air
	row           int // first residual
}

// rows returns the number of residuals of the sweep.
func (o *observation) rows() int {
	if o.magnitudeOnly {
		return len(o.z)
	}
	return 2 * len(o.z)
}

// parts returns 2 for a sweep with real and imaginary part, 1 for a magnitude.
func (o *observation) parts() int { return o.rows() / len(o.z) }

// part returns the rows of the real or the imaginary part (0, 1) in a column of residuals.
func (o *observation) part(v []float64, part int) []float64 {
	return v[o.row+part*len(o.z):][:len(o.z)]
}

// size returns the measured |Z| (ohm) of a point.
func (o *observation) size(i int) float64 { return cmplx.Abs(o.z[i]) }

// additive is an error that adds b times Effect to the impedance, b an unknown
// with a prior: a free piece of a law. Effect has one vector (ohm) a sweep.
type additive struct {
	effect [][]complex128
	law    int // of the misfit
}

// ofCoil says that the error is one of the coil law.
func (a additive) ofCoil() bool { return a.law <= coilHidden }

// inputError is an error of the inputs of a bench whose size is an unknown of the fit, see
// [measured.Systematic]: one vector a sweep, nil where the sweep does not have it.
type inputError struct{ effect, bend [][]complex128 }

// problem is one least-squares problem: sweeps, a form, a layout. It implements
// lsq.Problem. Residuals are (model - measured) times weight: for each sweep
// all real parts, then all imaginary parts (or one magnitude a point), and after
// the sweeps one row for each prior.
type problem struct {
	obs   []observation
	form  form
	lay   *layout
	loads []measured.Load // distinct loads
	air   float64         // rho c^2, Pa
	sd    float64         // m^2, entered; used when lay.sd < 0
	ws    float64         // rad/s, resonance at first sight: the unit of a leak
	extra []additive
	input []inputError
	bend  [][][]complex128 // [sweep][knot][point]: free suspension law
	white *whitener        // nil: no local discrepancy
	nrows int

	mem *scratch
}

// number lays out the rows after obs and lay are set.
func (p *problem) number() {
	p.nrows = 0
	for i := range p.obs {
		p.obs[i].row = p.nrows
		p.nrows += p.obs[i].rows()
	}
	if p.white != nil {
		p.nrows += p.white.coefficients()
	}
	p.nrows += len(p.lay.priors)
}

// problem lays out the least-squares problem of one form. The full problem has
// what is known of loads, area and air among its unknowns, each with its prior; the other
// one, for finding the way, only what moves between sweeps. The noise of all
// sweeps is multiplied by noise.
func (in input) problem(f form, full bool, noise float64) *problem {
	l := newLayout(f, len(in.obs))
	p := &problem{form: f, lay: l, mem: in.mem, loads: in.loads, air: in.air.Stiffness(), sd: in.cond.Sd.Value, ws: 2 * math.Pi * in.outline.Fs}
	p.obs = in.weighted(noise)
	in.addCabinet(l)
	for k := range in.obs {
		if k == in.ref && !in.repeated {
			continue
		}
		// Errors of their own: what one sweep is off by, the next is not.
		at := " of sweep " + strconv.Itoa(k+1)
		in.runs.add(l, k, at)
	}
	p.input = in.inputs
	for _, source := range in.inputSources {
		l.input = append(l.input, l.addPrior(1, source, param.BenchPart, false))
	}
	if in.hasMms() {
		l.mms = l.add()
	}
	sd := in.cond.Sd
	switch {
	case in.boxes && !in.masses && !sd.Given():
		l.vas = l.add()
	case in.boxes && in.masses && !sd.Given():
		l.sd = l.add()
	case full && sd.Given() && sd.Std > 0:
		l.sd = l.add()
		l.priors = append(l.priors, prior{index: l.sd, mean: math.Log(sd.Value), std: sd.Std / sd.Value, component: param.Component{Source: "diameter", Part: param.BenchPart}})
	}
	l.load = none(len(in.loads))
	if full {
		in.addBench(l)
		l.boundSkin(f)
	}
	p.number()
	return p
}

// boundSkin says where the skin effect of a coil with a semi-inductor begins, roughly: at the frequency
//
//	f = (Ke/Le)^2 / 2 pi
//
// its impedance equals that of the inductor beside it. The sweeps may not tell; what Le then does is a resistance -Ke^2/Le,
// which cannot be told from Re. The more Le grows, the less of the rest is seen, and linear in ln Le the uncertainty of Re
// would grow without bound. Condition on the unknowns derived from the law, theory (1.11).
func (l *layout) boundSkin(f form) {
	if f.coil != law.Semi && f.coil != law.SemiLadder {
		return
	}
	le, ke := l.coil+1, l.coil+2
	l.priors = append(l.priors, prior{index: le, mean: -math.Log(2*math.Pi*skinHz) / 2, std: skinStd, given: []given{{ke, 1}},
		component: param.Component{Source: "beginning of the skin effect", Part: param.ModelPart, Own: true}})
}

// weighted returns the observations with their weights. The noise of all sweeps is multiplied by noise.
func (in input) weighted(noise float64) []observation {
	all := slices.Clone(in.obs)
	for k, o := range all {
		scale := in.scale[k] * noise
		if scale == 1 && in.trust == nil {
			continue
		}
		all[k].weight = make([]float64, len(o.weight))
		for i, w := range o.weight {
			all[k].weight[i] = w / scale
			if in.trust != nil {
				all[k].weight[i] *= in.trust[k][i]
			}
		}
	}
	return all
}

// addBench adds the errors of loads, area and air to the unknowns.
func (o *observed) addBench(l *layout) {
	for i, load := range o.loads {
		if load.Std > 0 {
			l.load[i] = l.addPrior(1, load.Source(), param.BenchPart, false)
		}
	}
	for k, s := range o.sweeps {
		if s.Load.PlacingStd > 0 {
			l.placing[k] = l.addPrior(1, "placing-of-mass-"+strconv.Itoa(k+1), param.BenchPart, true)
		}
	}
	if o.boxes {
		l.boxAir = l.addPrior(repeat.BoxAirStd, "air in the box", param.BenchPart, false)
		l.leak = l.addPrior(repeat.BoxLeakStd, "leak of the box", param.BenchPart, true)
	}
	if q := o.cond.Pressure; q.Std > 0 && o.cond.Sd.Given() {
		l.pressure = l.addPrior(q.Std/o.air.Pressure, "air pressure", param.BenchPart, true)
	}
}

// Dims returns the number of residuals and of unknowns.
func (p *problem) Dims() (m, n int) { return p.nrows, p.lay.n }

// sweepRows returns the number of residuals that belong to sweeps.
func (p *problem) sweepRows() int {
	last := &p.obs[len(p.obs)-1]
	return last.row + last.rows()
}

// impedance returns the modelled impedance (ohm) of sweep k at the unknowns x.
func (p *problem) impedance(x []float64, k int) []complex128 {
	o := p.obs[k]
	n := len(o.z)
	q := *p
	z := make([]complex128, n) // what is measured is nothing: residuals are impedances
	q.obs = []observation{{Axis: o.Axis, z: z, weight: ones(n), load: o.load}}
	lay := *p.lay
	lay.heat, lay.drift, lay.friction = lay.heat[k:k+1], lay.drift[k:k+1], lay.friction[k:k+1]
	lay.magnet, lay.placing = lay.magnet[k:k+1], lay.placing[k:k+1]
	lay.priors = nil
	q.white = nil
	q.lay = &lay
	q.extra = make([]additive, len(p.extra))
	for j, e := range p.extra {
		q.extra[j].effect = e.effect[k : k+1]
	}
	q.input = make([]inputError, len(p.input))
	for j, e := range p.input {
		q.input[j] = inputError{e.effect[k : k+1], e.bend[k : k+1]}
	}
	if p.bend != nil {
		q.bend = p.bend[k : k+1]
	}
	q.number()
	r := p.mem.columns(q.nrows)
	q.Eval(r, nil, x)
	for i := range z {
		z[i] = complex(r[i], r[n+i])
	}
	return z
}

func ones(n int) []float64 {
	v := make([]float64, n)
	for i := range v {
		v[i] = 1
	}
	return v
}
