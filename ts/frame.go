package ts

import (
	"math"

	"gonum.org/v1/gonum/mat"
	"gonum.org/v1/gonum/stat/distuv"
)

// frame is the change from before to after as the search for causes sees it:
// one vector of observed differences and the covariance of everything that may
// move it without a cause.
type frame struct {
	// ids in the order of d: Re, Fs, Qms, Qes, then L1k, R1k and BL where both
	// sets hold them. R1k stands for the loss tangent of the coil.
	ids    []ParamID
	d      []float64
	v      *mat.SymDense
	logDet float64 // logarithm of the determinant of v
	spread spread
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
var coilFloor = map[ParamID]float64{L1k: 0.005, R1k: 0.012}

// newFrame collects the differences and adds the drift between sessions.
func newFrame(before, after Parameters, drift Drift) frame {
	before, after = lossTangent(before), lossTangent(after)
	x := subtract(after, before, common(before, after, Re, Fs, Qms, Qes, L1k, R1k, BL))
	f := frame{ids: x.ids, d: x.d, v: x.v, spread: x.spread}
	qms, _ := before.Get(Qms)
	qes, _ := before.Get(Qes)
	f.qmsOverQes = qms.Value / qes.Value
	if l, ok := before.Get(L1k); ok {
		re, _ := before.Get(Re)
		t, _ := before.Get(R1k)
		f.reactance = 2 * math.Pi * 1000 * l.Value / re.Value
		f.tangent = t.Value
	}
	for i, id := range f.ids {
		extra := floorStd*floorStd + sq(coilFloor[id])
		if id == L1k || id == R1k {
			extra += modelVariance(before, id) + modelVariance(after, id)
		}
		f.v.SetSym(i, i, f.v.At(i, i)+extra)
	}
	slope := 1 / (orRoom(before.Temperature) - copperZero) // 0.393 %/K
	for _, e := range []map[ParamID]float64{
		scale(stiffnessSlope, drift.Stiffness), scale(lossSlope, drift.Losses),
		{Re: slope * drift.Temperature, Qes: slope * drift.Temperature},
	} {
		f.v.SymRankOne(f.v, 1, f.vector(e))
	}
	f.logDet, _ = mat.LogDet(f.v)
	return f
}

// modelVariance is what the choice of the model adds to the variance of id. Of
// the coil it is counted for both sweeps although they name the same source: a
// coil that follows no law exactly is followed in several ways nearly as well,
// and its noise decides anew in each sweep which of them is taken.
func modelVariance(p Parameters, id ParamID) (v float64) {
	i := p.Index(id)
	for _, c := range p.Components {
		if c.Part == ModelPart && c.Source != coilOrTiming {
			v += sq(c.Effect[i])
		}
	}
	return v
}

// vector writes named components in the order of the frame.
func (f frame) vector(e map[ParamID]float64) *mat.VecDense {
	v := mat.NewVecDense(len(f.ids), nil)
	for i, id := range f.ids {
		v.SetVec(i, e[id])
	}
	return v
}

func scale(e map[ParamID]float64, by float64) map[ParamID]float64 {
	out := map[ParamID]float64{}
	for id, x := range e {
		out[id] = by * x
	}
	return out
}

// lossTangent replaces R1k by R1k/(w L1k) at 1 kHz: unlike R1k it does not
// change when a coil has a few turns more.
func lossTangent(p Parameters) Parameters {
	iR, iL := p.Index(R1k), p.Index(L1k)
	if iR < 0 || iL < 0 {
		return p
	}
	p = p.clone()
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
	p.transform(t)
	return p
}

// NullTest asks whether the coil and its resistance are what they were. If they
// are, nothing speaks against an unchanged motor: what a surround repair leaves
// alone. If they are not, "BL unchanged" is an assumption without support.
type NullTest struct {
	Compared []ParamID // Re, and L1k, R1k where known
	Chi2     float64
	DoF      int
	P        float64 // probability of a difference this large if nothing changed
}

// Doubt says that coil or resistance have changed, at 95 %.
func (n NullTest) Doubt() bool { return n.P < 0.05 }

// Explain says in one sentence what the test found.
func (n NullTest) Explain() string {
	coil, as := "Re", "is as before"
	if n.DoF > 1 {
		coil, as = "Re and the inductance of the coil", "are as before"
	}
	if n.Doubt() {
		return "This takes BL as unchanged, but " + coil + " changed, which a new surround does not do: treat the split with care."
	}
	return "This takes BL as unchanged; " + coil + " " + as + ", which supports it but does not prove it."
}

// nullTest returns chi2 = d' V^-1 d over Re and the coil.
func nullTest(f frame) NullTest {
	var at []int
	var n NullTest
	for i, id := range f.ids {
		if id == Re || id == L1k || id == R1k {
			at = append(at, i)
			n.Compared = append(n.Compared, id)
		}
	}
	n.DoF = len(at)
	d := mat.NewVecDense(n.DoF, nil)
	v := mat.NewSymDense(n.DoF, nil)
	for k, i := range at {
		d.SetVec(k, f.d[i])
		for l := k; l < n.DoF; l++ {
			v.SetSym(k, l, f.v.At(i, at[l]))
		}
	}
	var chol mat.Cholesky
	if !chol.Factorize(v) {
		return n // P = 0: doubt
	}
	w := mat.NewVecDense(n.DoF, nil)
	if chol.SolveVecTo(w, d) == nil {
		n.Chi2 = mat.Dot(d, w)
	}
	n.P = tailOfChi2(n.Chi2, n.DoF, f.spread)
	return n
}

// tailOfChi2 returns the probability of exceeding chi2 with n degrees of
// freedom; where the covariance itself rests on few degrees of freedom m, that
// of the F distribution of chi2/n (Hotelling's statistic with its small factor
// (m-n+1)/m left out, which is the cautious side for m >> n).
func tailOfChi2(chi2 float64, n int, s spread) float64 {
	if n == 0 {
		return 1
	}
	if math.IsInf(s.dof, 1) {
		return distuv.ChiSquared{K: float64(n)}.Survival(chi2)
	}
	return distuv.F{D1: float64(n), D2: s.dof}.Survival(chi2 / float64(n))
}
