package change

import (
	"math"

	"conewright/ts/internal/refer"
	"conewright/ts/internal/stat"
	"conewright/ts/param"

	"gonum.org/v1/gonum/mat"
)

// StiffnessSplit divides the stiffness of the suspension between the spider,
// the old surround and the new one, from three sweeps of one driver: before,
// stripped (old surround off, new one not yet on), after. BL is taken as
// unchanged. Shares are in parts of the whole stiffness before.
type StiffnessSplit struct {
	Spider, OldSurround, NewSurround StiffnessPart
	// NewToOld is the stiffness of the new surround over that of the old one; zero
	// if the old one cannot be told from nothing.
	NewToOld Change
	// Moving says what the surrounds add to the moving mass, in parts of the
	// moving mass before.
	OldMass, NewMass StiffnessPart
}

// StiffnessPart is one share with its 95 % interval. Where one of the three
// sweeps came with an added mass, Absolute holds it in N/m (kg for a mass).
type StiffnessPart struct {
	Share, Low, High float64
	Absolute         float64 // 0: not known
	AbsoluteStd      float64
}

// Compliance returns the compliance of the part alone in m/N; 0: not known.
func (p StiffnessPart) Compliance() float64 {
	if p.Absolute <= 0 {
		return 0
	}
	return 1 / p.Absolute
}

// ComplianceRange returns the 95 % interval of the compliance of the part alone;
// hi is 0 if it has no end.
func (p StiffnessPart) ComplianceRange() (lo, hi float64) {
	u := 1.96 * p.AbsoluteStd
	if !(p.Absolute > u) {
		return 0, 0
	}
	return 1 / (p.Absolute + u), 1 / (p.Absolute - u)
}

// splitStiffness: with BL unchanged the stiffness goes with 1/Lces and the mass
// with Cmes, so that in parts of the driver before, theory (5.12),
//
//	spider = Lb/Ls      old = 1 - Lb/Ls      new = Lb/La - Lb/Ls
//
// with b before, s stripped, a after. Uncertainties by the law of propagation
// through the joint covariance of the two logarithms of ratios.
func splitStiffness(before, stripped, after param.Parameters) *StiffnessSplit {
	ids := []param.ID{param.Re, param.Fs, param.Qms, param.Qes}
	xs, xa := refer.Subtract(stripped, before, ids), refer.Subtract(after, before, ids)
	crossed := refer.Subtract(after, stripped, ids)
	var k float64
	// ln Ls/Lb and ln La/Lb, their variances and covariance: from
	// var(a-s) = var(a) + var(s) - 2 cov.
	joint := func(w map[param.ID]float64) (ls, la float64, v *mat.SymDense) {
		ls, us, ds := xs.Combine(w)
		la, ua, da := xa.Combine(w)
		_, ud, _ := crossed.Combine(w)
		k = stat.Dist{Dof: math.Min(ds.Dof, da.Dof)}.Quantile(1 - stat.Tail)
		return ls, la, mat.NewSymDense(2, []float64{us * us, (us*us + ua*ua - ud*ud) / 2, 0, ua * ua})
	}
	part := func(share, ds, da float64, v *mat.SymDense) StiffnessPart {
		g := mat.NewVecDense(2, []float64{ds, da})
		u := math.Sqrt(math.Max(mat.Inner(g, v, g), 0))
		return StiffnessPart{Share: share, Low: share - k*u, High: share + k*u}
	}
	out := new(StiffnessSplit)
	ls, la, v := joint(electrical[param.Lces])
	spider, whole := math.Exp(-ls), math.Exp(-la)
	out.Spider = part(spider, -spider, 0, v)
	out.OldSurround = part(1-spider, spider, 0, v)
	out.NewSurround = part(whole-spider, spider, -whole, v)
	if old := 1 - spider; out.OldSurround.Low > 0 {
		r := part((whole-spider)/old, spider/old-spider*(whole-spider)/(old*old), -whole/old, v)
		out.NewToOld = Change{ID: param.Cms, Ratio: r.Share, Low: r.Low, High: r.High, How: ByUnchangedBL}
	}

	cs, ca, v := joint(electrical[param.Cmes])
	bare, full := math.Exp(cs), math.Exp(ca)
	out.OldMass = part(1-bare, -bare, 0, v)
	out.NewMass = part(full-bare, -bare, full, v)
	out.absolute(k, before, stripped, after, []float64{0, ls, la}, []float64{0, cs, ca})
	return out
}

// absolute turns shares into N/m and kg by the first of the sets that knows its
// own stiffness; l and c are the logarithms of Lces and Cmes over those before.
func (s *StiffnessSplit) absolute(k float64, before, stripped, after param.Parameters, l, c []float64) {
	for i, p := range []param.Parameters{before, stripped, after} {
		cms, ok := p.Get(param.Cms)
		mms, ok2 := p.Get(param.Mms)
		if !ok || !ok2 {
			continue
		}
		stiffness := math.Exp(l[i]) / cms.Value // before, in N/m
		mass := mms.Value / math.Exp(c[i])
		set := func(part *StiffnessPart, whole, relative float64) {
			u := (part.High - part.Low) / (2 * k)
			part.Absolute = part.Share * whole
			part.AbsoluteStd = whole * math.Hypot(u, part.Share*relative)
		}
		for _, part := range []*StiffnessPart{&s.Spider, &s.OldSurround, &s.NewSurround} {
			set(part, stiffness, cms.Std/cms.Value)
		}
		for _, part := range []*StiffnessPart{&s.OldMass, &s.NewMass} {
			set(part, mass, mms.Std/mms.Value)
		}
		return
	}
}
