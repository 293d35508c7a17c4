package estimate

import (
	"math/cmplx"
	"slices"
	"sync"

	"conewright/ts/driver"
	"conewright/ts/internal/law"
	"conewright/ts/internal/lsq"
	"conewright/ts/measured"
)

// input is what a step of the fit works on. It is handed on by value: a step that
// changes the weights returns an input with new ones.
type input struct {
	*observed
	weights
	mem *scratch
}

// observed holds the sweeps as observations, the distinct loads, and what the
// reference sweep shows at once. It is made by observe and not changed afterwards.
type observed struct {
	sweeps []measured.Sweep
	cond   measured.Conditions
	air    driver.Air
	obs    []observation // one a sweep, weighted by its noise alone
	loads  []measured.Load
	ref    int // the first sweep in free air: the reference
	// repeated says that there are several sweeps in free air; the condition is
	// then their mean, otherwise that of the reference.
	repeated   bool
	masses     bool
	boxes      bool
	knownSigma []bool // one a sweep
	outline    measured.Outline
	cabinet
	coil law.Rough // of the reference sweep
	// inputSources names the errors of the bench that are fitted, and inputs holds them.
	inputSources []string
	inputs       []inputError
}

// weights says how much sweeps and points count. Its slices are never changed in
// place.
type weights struct {
	// scale multiplies the noise of each sweep. It is 1 where the noise is known
	// and the noise relative to |Z| where it is not.
	scale []float64
	// trust multiplies the weight of each point, 1 unless it is an outlier; nil: 1.
	trust [][]float64
	runs  runs
}

// scratch is memory that all fits of one input use in turn. Nothing in it outlives
// the function that asked for it.
type scratch struct {
	lsq.Solver
	zl, grad []complex128 // of the coil, for one sweep
	dz, sum  []complex128 // derivatives of one point, and of a mean over its neighbourhood
	matrix   []float64    // see columns
	points   []support    // of one sweep
	local    workspace
}

// memory keeps the scratch of one Fit for the next.
var memory = sync.Pool{New: func() any { return new(scratch) }}

// columns returns memory for n numbers, whatever it held before.
func (w *scratch) columns(n int) []float64 {
	if cap(w.matrix) < n {
		w.matrix = make([]float64, n)
	}
	return w.matrix[:n]
}

// grown returns v with the length n, with new memory if need be.
func grown(v []complex128, n int) []complex128 {
	if cap(v) < n {
		return make([]complex128, n, n+n/2)
	}
	return v[:n]
}

// prepare makes the input of a fit: every point counts as its noise says, and of
// what differs between sweeps only the usual size is known.
func prepare(sweeps []measured.Sweep, cond measured.Conditions, mem *scratch) input {
	return observe(sweeps, cond, nil, cabinet{}).unweighted(mem)
}

// unweighted returns the input before anything has been found out about its weights.
func (o *observed) unweighted(mem *scratch) input {
	w := weights{
		scale: make([]float64, len(o.obs)),
		runs:  o.unlike(),
	}
	for k, known := range o.knownSigma {
		w.scale[k] = unknownNoise
		if known {
			w.scale[k] = 1
		}
	}
	return input{o, w, mem}
}

// observe turns sweeps into observations. The outline is that of the reference
// sweep unless another one is given.
func observe(sweeps []measured.Sweep, cond measured.Conditions, outline *measured.Outline, box cabinet) *observed {
	seen := &observed{sweeps: sweeps, cond: cond, air: cond.Air(), cabinet: box, ref: -1}
	for k, s := range sweeps {
		z := s.Impedance
		o := observation{Axis: law.NewAxis(z.Freq), z: z.Z, magnitudeOnly: z.MagnitudeOnly, load: -1}
		o.weight = make([]float64, z.Len())
		for i := range o.weight {
			if z.Sigma != nil {
				o.weight[i] = 1 / z.Sigma[i]
			} else {
				o.weight[i] = 1 / cmplx.Abs(z.Z[i])
			}
		}
		seen.knownSigma = append(seen.knownSigma, z.Sigma != nil)
		if s.Load.Kind == measured.Free {
			if seen.ref < 0 {
				seen.ref = k
			} else {
				seen.repeated = true
			}
		} else {
			o.load = slices.Index(seen.loads, s.Load)
			if o.load < 0 {
				o.load = len(seen.loads)
				seen.loads = append(seen.loads, s.Load)
			}
			seen.masses = seen.masses || s.Load.Kind == measured.AddedMass
			seen.boxes = seen.boxes || s.Load.Kind == measured.KnownBox
		}
		seen.obs = append(seen.obs, o)
	}
	seen.inputSources = seen.sourcesOf(true)
	for _, source := range seen.inputSources {
		e := inputError{make([][]complex128, len(sweeps)), make([][]complex128, len(sweeps))}
		for k, s := range sweeps {
			for _, sys := range s.Impedance.Systematic {
				if sys.Source == source {
					e.effect[k], e.bend[k] = sys.Effect, sys.Bend
				}
			}
		}
		seen.inputs = append(seen.inputs, e)
	}
	z := sweeps[seen.ref].Impedance
	if outline != nil {
		seen.outline = *outline
	} else {
		seen.outline = measured.OutlineOf(z)
	}
	seen.coil = law.RoughOf(seen.obs[seen.ref].Axis, seen.outline.CoilPart(z))
	return seen
}

// known says whether every sweep came with its noise.
func (o *observed) known() bool { return !slices.Contains(o.knownSigma, false) }

// hasMms says whether the loads and the area can give the moving mass.
func (o *observed) hasMms() bool { return o.masses || o.boxes && o.cond.Sd.Given() }

// reach returns the highest frequency in Hz of the sweeps.
func (o *observed) reach() float64 {
	f := 0.0
	for _, s := range o.sweeps {
		f = max(f, s.Impedance.Freq[s.Impedance.Len()-1])
	}
	return f
}

// sourcesOf lists the sources of systematic errors in order of appearance: those
// that are fitted, or those that are carried over.
func (o *observed) sourcesOf(fitted bool) []string {
	var all []string
	for _, s := range o.sweeps {
		for _, sys := range s.Impedance.Systematic {
			if sys.Fitted == fitted && !slices.Contains(all, sys.Source) {
				all = append(all, sys.Source)
			}
		}
	}
	return all
}

// around returns the sweep that reaches highest, its first point at or above lnw
// (logarithm of rad/s, within the sweep), and how far lnw lies on the way to it
// from the point before, 0 to 1.
func (o *observed) around(lnw float64) (sweep, point int, part float64) {
	top := func(k int) float64 { g := o.obs[k].Axis.Lnw; return g[len(g)-1] }
	for k := range o.obs {
		if top(k) > top(sweep) {
			sweep = k
		}
	}
	g := o.obs[sweep].Axis.Lnw
	point, _ = slices.BinarySearch(g, lnw)
	point = min(max(point, 1), len(g)-1)
	return sweep, point, (lnw - g[point-1]) / (g[point] - g[point-1])
}
