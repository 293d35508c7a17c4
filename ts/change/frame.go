package change

import (
	"math"

	"conewright/ts/internal/refer"
	"conewright/ts/internal/stat"
	"conewright/ts/param"

	"gonum.org/v1/gonum/mat"
	"gonum.org/v1/gonum/stat/distuv"
)

// frame is the change from before to after as the search for causes sees it:
// one vector of observed differences and the covariance of everything that may
// move it without a cause.
type frame struct {
	// The difference of Re, Fs, Qms, Qes, then L1k, R1k and BL where both sets hold
	// them. R1k stands for the loss tangent of the coil.
	refer.Difference
	logDet float64 // logarithm of the determinant of V
	// scale is how well the size of V is known, and quantities how many of the differences
	// that concerns. wide is V where the bench scatters as much more than it is said to as
	// one bench in twenty does; V itself where that is known well.
	scale      stat.Dist
	quantities int
	wide       *mat.SymDense
	// of the driver before, for the causes that are not plain ratios:
	qmsOverQes float64
	reactance  float64 // 2 pi 1 kHz L1k/Re
	tangent    float64 // R1k/(2 pi 1 kHz L1k)
}

// floorStd keeps a value that is known all too well (a plain coil has no loss
// tangent at all) from deciding alone: nothing repeats better than this.
const floorStd = 5e-4

// coilFloor is the same for the coil at 1 kHz. Its values follow from the law of
// the coil that the fit settles on, and a coil that follows none of them exactly
// may be given another law in the second sweep.
var coilFloor = map[param.ID]float64{param.L1k: 0.005, param.R1k: 0.012}

// seldom is the probability that a bench scatters more than frame.wide says.
const seldom = 0.05

// newFrame collects the differences. Direct is what the curves show by themselves of Re, or nil.
func newFrame(before, after param.Parameters, direct *param.Direct) frame {
	before, after = lossTangent(before), lossTangent(after)
	x := refer.Subtract(after, before, refer.Common(before, after, param.Re, param.Fs, param.Qms, param.Qes, param.L1k, param.R1k, param.BL)).With(direct)
	f := frame{Difference: x}
	qms, _ := before.Get(param.Qms)
	qes, _ := before.Get(param.Qes)
	f.qmsOverQes = qms.Value / qes.Value
	if l, ok := before.Get(param.L1k); ok {
		re, _ := before.Get(param.Re)
		t, _ := before.Get(param.R1k)
		f.reactance = 2 * math.Pi * 1000 * l.Value / re.Value
		f.tangent = t.Value
	}
	for i, id := range f.IDs {
		extra := floorStd*floorStd + param.Sq(coilFloor[id])
		if id == param.L1k || id == param.R1k {
			extra += modelVariance(before, id) + modelVariance(after, id)
		}
		f.V.SetSym(i, i, f.V.At(i, i)+extra)
	}
	f.logDet, _ = mat.LogDet(f.V)
	f.scale.Dof, f.quantities = x.Scatters()
	f.wide = f.V
	if f.quantities > 0 {
		f.wide = x.Scatter()
		more := f.scale.Dof/distuv.ChiSquared{K: f.scale.Dof}.Quantile(seldom) - 1
		f.wide.ScaleSym(more, f.wide)
		f.wide.AddSym(f.wide, f.V)
	}
	return f
}

// modelVariance is what the choice of the model adds to the variance of id. Of
// the coil it is counted for both sweeps although they name the same source: a
// coil that follows no law exactly is followed in several ways nearly as well,
// and its noise decides anew in each sweep which of them is taken.
func modelVariance(p param.Parameters, id param.ID) (v float64) {
	i := p.Index(id)
	for _, c := range p.Components {
		if c.Part == param.ModelPart && c.Source != param.CoilOrTiming {
			v += param.Sq(c.Effect[i])
		}
	}
	return v
}

// vector writes named components in the order of the frame.
func (f frame) vector(e map[param.ID]float64) *mat.VecDense {
	v := mat.NewVecDense(len(f.IDs), nil)
	for i, id := range f.IDs {
		v.SetVec(i, e[id])
	}
	return v
}

func scale(e map[param.ID]float64, by float64) map[param.ID]float64 {
	out := map[param.ID]float64{}
	for id, x := range e {
		out[id] = by * x
	}
	return out
}

// lossTangent replaces R1k by R1k/(w L1k) at 1 kHz: unlike R1k it does not
// change when a coil has a few turns more.
func lossTangent(p param.Parameters) param.Parameters {
	iR, iL := p.Index(param.R1k), p.Index(param.L1k)
	if iR < 0 || iL < 0 {
		return p
	}
	p = refer.Clone(p)
	n := len(p.IDs)
	x := 2 * math.Pi * 1000 * math.Exp(p.Scaled[iL])
	tangent := p.Scaled[iR] / x
	t := mat.NewDense(n, n, nil)
	for i := range n {
		t.Set(i, i, 1)
	}
	t.Set(iR, iR, 1/x)
	t.Set(iR, iL, -tangent)
	p.Scaled[iR] = tangent
	refer.Transform(&p, t)
	return p
}
