package boxed

import (
	"math"
	"slices"
	"strings"

	"conewright/ts/cabinet"
	"conewright/ts/notice"
	"conewright/ts/param"
	"conewright/ts/repeat"

	"gonum.org/v1/gonum/mat"
)

// inBoxOf are the quantities of a driver and what they are called in a closed box.
var inBoxOf = map[param.ID]param.ID{param.Fs: param.Fc, param.Qms: param.Qmc, param.Qes: param.Qec, param.Qts: param.Qtc}

// closedDoubt multiplies noise and model parts of the uncertainty of a closed box. How its leak and the creep of the suspension share
// what is seen below the resonance is less linear than the fit takes it for, where nothing is known of the driver; with it the Qs need no factor,
// but Fc does. Chosen on simulated drivers and boxes of other physics (docs/validation-cabinet.md).
const closedDoubt = 1.7

// inClosedBox names the values as they are called in a closed box.
func inClosedBox(p param.Parameters) param.Parameters {
	p.IDs = slices.Clone(p.IDs)
	for i, id := range p.IDs {
		if as, ok := inBoxOf[id]; ok {
			p.IDs[i] = as
		}
	}
	noise := mat.NewSymDense(len(p.IDs), nil)
	if p.Noise != nil {
		noise.ScaleSym(closedDoubt*closedDoubt, p.Noise)
	}
	p.Noise = noise
	p.Components = slices.Clone(p.Components)
	alpha := p.Index(param.Alpha)
	most := 1 / (1 + math.Exp(p.Scaled[alpha]-p.ScaledStd(alpha))) // share of the suspension in all stiffness
	for k, c := range p.Components {
		switch {
		case c.Part == param.ModelPart:
			p.Components[k].Effect = scaled(closedDoubt, c.Effect)
		case c.Part == param.RepeatPart && strings.HasSuffix(c.Source, repeat.Suspension):
			p.Components[k].Effect = scaled(most, c.Effect)
		}
	}
	return p
}

func scaled(a float64, v []float64) []float64 {
	out := make([]float64, len(v))
	for i, x := range v {
		out[i] = a * x
	}
	return out
}

// withVolume adds Vab = Vas/alpha, where Vas is known.
func withVolume(p param.Parameters, driver *param.Parameters) (param.Parameters, error) {
	alpha := p.Index(param.Alpha)
	if driver == nil || alpha < 0 {
		return p, nil
	}
	vas := driver.Index(param.Vas)
	if vas < 0 {
		return p, nil
	}
	n := len(p.IDs)
	p.IDs = append(slices.Clone(p.IDs), param.Vab)
	p.Scaled = append(slices.Clone(p.Scaled), driver.Scaled[vas]-p.Scaled[alpha])
	p.Origin = append(slices.Clone(p.Origin), param.Derived)
	if p.Skew != nil {
		p.Skew = append(slices.Clone(p.Skew), [2]float64{p.Skew[alpha][1], p.Skew[alpha][0]})
	}
	noise := mat.NewSymDense(n+1, nil)
	for i := range n {
		for j := i; j < n; j++ {
			noise.SetSym(i, j, p.Noise.At(i, j))
		}
		noise.SetSym(i, n, -p.Noise.At(i, alpha))
	}
	own := p.Noise.At(alpha, alpha)
	if driver.Noise != nil {
		own += driver.Noise.At(vas, vas)
	}
	noise.SetSym(n, n, own)
	p.Noise = noise
	all := make([]param.Component, 0, len(p.Components)+len(driver.Components))
	for _, c := range p.Components {
		c.Effect = append(slices.Clone(c.Effect), -c.Effect[alpha])
		all = append(all, c)
	}
	for _, c := range driver.Components {
		e := c.Effect[vas]
		if i := slices.IndexFunc(all, func(have param.Component) bool { return have.Source == c.Source && !have.Own && !c.Own }); i >= 0 {
			all[i].Effect[n] += e
			continue
		}
		c.Source += " (Vas)"
		c.Effect = make([]float64, n+1)
		c.Effect[n] = e
		all = append(all, c)
	}
	p.Components = all
	return p, p.Check()
}

// toldApart is the standard uncertainty of a logarithm below which the curve says more of a quantity than is known of any box.
const toldApart = 0.45

// reported leaves out what the curve does not say, and says so.
func (m *Measured) reported(p param.Parameters) (param.Parameters, []notice.Notice) {
	drop := map[param.ID]bool{}
	var dropped []string
	for _, id := range []param.ID{param.QL, param.QA, param.QP, param.QB, param.Alpha, param.Vab} {
		if i := p.Index(id); i >= 0 && p.ScaledStd(i) > toldApart {
			drop[id] = true
			dropped = append(dropped, id.String())
		}
	}
	if m.Kind == Closed && m.Known.Driver == nil {
		drop[param.Alpha] = true
	}
	var said []notice.Notice
	switch {
	case drop[param.QB] && drop[param.QL]:
		said = append(said, *notice.New("cabinet-losses-unseen", notice.Facts{"driver": m.Known.Driver != nil}))
	case len(dropped) > 0:
		said = append(said, *notice.New("cabinet-losses-together", notice.Facts{"quantities": strings.Join(dropped, " ")}))
	}
	if m.Known.Driver == nil {
		said = append(said, *notice.New("cabinet-without-driver", notice.Facts{"kind": string(m.Kind)}))
	} else if m.Known.Driver.Index(param.Vas) < 0 {
		said = append(said, *notice.New("cabinet-without-vas", nil))
	}
	return p.Only(func(id param.ID) bool { return !drop[id] }), said
}

func value(p param.Parameters, id param.ID) float64 {
	i := p.Index(id)
	if i < 0 {
		return math.NaN()
	}
	return id.Unscale(p.Scaled[i])
}

// Cabinet is the box as its air and its port act; false where they are not known.
func (m *Measured) Cabinet() (cabinet.Cabinet, bool) {
	vab, ok := m.Parameters.Get(param.Vab)
	if !ok {
		return cabinet.Cabinet{}, false
	}
	c := cabinet.Cabinet{Volume: vab.Value}
	if m.Kind == Vented {
		c.Tuning, c.Leak = value(m.Parameters, param.Fb), value(m.Parameters, param.QB)
	}
	return c, true
}
