package estimate

import (
	"math"
	"math/cmplx"
	"math/rand/v2"
	"slices"
	"testing"

	"conewright/ts/driver"
	"conewright/ts/internal/law"
	"conewright/ts/internal/simulated"
	"conewright/ts/measured"
	"conewright/ts/param"
)

// testCoils has one typical coil for each law of the ladder.
var testCoils = map[string][]float64{
	"none":                   {},
	"plain":                  {math.Log(1.5e-3)},
	"lossy":                  {math.Log(0.0106), math.Log(0.76)},
	"two-part":               {math.Log(0.4e-3), math.Log(0.8e-3), math.Log(6)},
	"semi-inductance":        {math.Log(0.2e-3), math.Log(2e-3), math.Log(0.06)},
	"semi-inductance ladder": {math.Log(0.2e-3), math.Log(2e-3), math.Log(0.06), math.Log(20)},
	"power":                  {math.Log(0.004), math.Log(0.8), math.Log(0.02), math.Log(0.68)},
}

// checkCoilLaw is the contract of a coil law: it returns what is wrong with it.
func checkCoilLaw(c law.Law, p []float64) string {
	g := law.NewAxis(simulated.LogFreq(1, 20000, 3))
	n := len(p)
	if n != len(c.Unknowns()) {
		return "wrong number of unknowns"
	}
	in := slices.Clone(p)
	nan := complex(math.NaN(), math.NaN())
	z := slices.Repeat([]complex128{nan}, len(g.W))
	grad := slices.Repeat([]complex128{nan}, len(g.W)*n)
	c.Eval(z, grad, g, in)
	if !slices.Equal(in, p) {
		return "the unknowns were changed"
	}
	coil := c.Coil(p)
	for i, w := range g.W {
		if cmplx.IsNaN(z[i]) || cmplx.IsInf(z[i]) {
			return "not finite"
		}
		if cmplx.Abs(z[i]-coil.Impedance(w)) > 1e-13*cmplx.Abs(z[i]) {
			return "differs from the public model"
		}
		if real(z[i]) < 0 || imag(z[i]) < 0 {
			return "not a passive inductive impedance"
		}
	}
	if low := coil.Impedance(2 * math.Pi * 1e-9); cmplx.Abs(low) > 1e-4 {
		return "does not vanish at low frequency"
	}
	for j := range p {
		num := fivePoint(func(dst []float64, h float64) {
			q, v := slices.Clone(p), make([]complex128, len(g.W))
			q[j] += h
			c.Eval(v, nil, g, q)
			for i, v := range v {
				dst[2*i], dst[2*i+1] = real(v), imag(v)
			}
		}, 2*len(g.W))
		for i := range z {
			if cmplx.Abs(complex(num[2*i], num[2*i+1])-grad[i*n+j]) > 1e-9*cmplx.Abs(z[i]) {
				return "wrong derivative"
			}
		}
	}
	start := c.Start(g, law.RoughOf(g, z))
	if len(start) != n {
		return "wrong length of the start"
	}
	for _, v := range append(start, c.Start(g, law.RoughOf(g, make([]complex128, len(z))))...) {
		if math.IsNaN(v) || math.IsInf(v, 0) {
			return "start not finite"
		}
	}
	return ""
}

// fivePoint returns the derivative by h at 0 of a vector function of m values,
// by central differences of fourth order.
func fivePoint(f func(dst []float64, h float64), m int) []float64 {
	const h = 1e-4
	sum, v := make([]float64, m), make([]float64, m)
	for _, s := range []struct{ at, c float64 }{{-2, 1}, {-1, -8}, {1, 8}, {2, -1}} {
		f(v, s.at*h)
		for i := range v {
			sum[i] += s.c * v[i] / (12 * h)
		}
	}
	return sum
}

func TestCoilLaws(t *testing.T) {
	if len(testCoils) != len(law.Ladder) {
		t.Fatalf("%d test coils for %d laws", len(testCoils), len(law.Ladder))
	}
	for _, c := range law.Ladder {
		if wrong := checkCoilLaw(c, testCoils[c.Name()]); wrong != "" {
			t.Errorf("%s: %s", c.Name(), wrong)
		}
	}
}

// wrongLaw is a lossy coil with a mistake in its derivative by ln n.
type wrongLaw struct{ law.Law }

func (l wrongLaw) Eval(z, grad []complex128, g *law.Axis, p []float64) {
	l.Law.Eval(z, grad, g, p)
	for i := range grad {
		if i%2 == 1 {
			grad[i] = z[i/2] * complex(g.Lnw[i/2], math.Pi/2) // the factor n forgotten
		}
	}
}

func TestContractCatchesWrongLaw(t *testing.T) {
	if wrong := checkCoilLaw(wrongLaw{law.Lossy}, testCoils["lossy"]); wrong != "wrong derivative" {
		t.Errorf("a wrong derivative is reported as %q", wrong)
	}
}

// busyProblem has every kind of unknown there is.
func busyProblem(law law.Law, power, magnitude bool) (*problem, []float64) {
	d := driver.Driver{Re: 5.6, BL: 8, Mms: 0.03, Cms: 0.75e-3, Rms: 1.5, Creep: 0.1, Coil: law.Coil(testCoils[law.Name()])}
	f := simulated.LogFreq(5, 2000, 4)
	rng := rand.New(rand.NewPCG(1, 2))
	vb, sd := 0.02, 0.035
	dk := 1.4e5 * sd * sd / vb
	sweeps := []measured.Sweep{
		{Impedance: simulated.Simulate(d, f, 0, 0, 0.002, rng)},
		{Impedance: simulated.Simulate(d, f, 0.02, 0, 0.002, rng), Load: measured.Load{Kind: measured.AddedMass, Value: 0.02, Std: 1e-4}},
		{Impedance: simulated.Simulate(d, f, 0, dk, 0.002, rng), Load: measured.Load{Kind: measured.KnownBox, Value: vb, Std: 2e-4}},
	}
	for i := range sweeps {
		z := &sweeps[i].Impedance
		e := make([]complex128, z.Len())
		for j, v := range z.Z {
			e[j] = 0.01 * v
		}
		input, bend := make([]complex128, z.Len()), make([]complex128, z.Len())
		for j, v := range z.Z {
			input[j], bend[j] = v*complex(1, 0.3)/complex(2, f[j]), complex(-0.4, 1/f[j])
		}
		z.Systematic = []measured.Systematic{{Source: "resistor", Effect: e},
			{Source: "input", Effect: input, Bend: bend, Fitted: true}, {Source: "straight input", Effect: e, Fitted: true}}
		if magnitude {
			z.MagnitudeOnly = true
			for j, v := range z.Z {
				z.Z[j] = complex(cmplx.Abs(v), 0)
			}
		}
	}
	in := inputOf(sweeps, measured.Conditions{Sd: param.Quantity{Value: sd, Std: 5e-4}, Pressure: param.Quantity{Value: 101300, Std: 300}, DCRe: param.Quantity{Value: 5.6, Std: 0.03}})
	p := in.problem(form{coil: law, creep: true, power: power}, true, 1)
	x := in.start(p, in.outline)
	x[p.lay.creep] = 0.08
	for i := range x {
		x[i] += 0.01 * rng.NormFloat64()
	}
	return p, x
}

func TestProblemJacobian(t *testing.T) {
	for _, law := range law.Ladder {
		for i := range 6 {
			power, magnitude := i == 2 || i == 3, i%2 == 1
			p, x := busyProblem(law, power, magnitude)
			if i > 3 {
				p.form.smooth = 1. / 6
			}
			m, n := p.Dims()
			r := slices.Repeat([]float64{math.NaN()}, m)
			jac := slices.Repeat([]float64{math.NaN()}, m*n)
			before := slices.Clone(x)
			p.Eval(r, jac, x)
			if !slices.Equal(before, x) {
				t.Fatalf("%s: the unknowns were changed", law.Name())
			}
			for j := range x {
				num := fivePoint(func(dst []float64, h float64) {
					y := slices.Clone(x)
					y[j] += h
					p.Eval(dst, nil, y)
				}, m)
				scale := 0.0
				for _, v := range jac[j*m : (j+1)*m] {
					scale = max(scale, math.Abs(v))
				}
				for i := range r {
					if d := math.Abs(num[i] - jac[j*m+i]); !(d <= 1e-8*scale) {
						t.Fatalf("%s, power %v, magnitude %v: derivative of row %d by unknown %d is %v, differences give %v", law.Name(), power, magnitude, i, j, jac[j*m+i], num[i])
					}
				}
			}
		}
	}
}

// The formulation of the fit, in effective values at resonance, is the same
// impedance as that of Driver with its circuit elements.
func TestModelAgreesWithDriver(t *testing.T) {
	d := driver.Driver{Re: 5.46, BL: 11.6, Mms: 0.0882, Cms: 0.55e-3, Rms: 3.25, Creep: 0.13, Coil: driver.LossyCoil{K: 0.0106, N: 0.76}}
	f := simulated.LogFreq(5, 2000, 6)
	const dM, sd, vb = 0.04, 0.052, 0.05
	in := inputOf([]measured.Sweep{
		{Impedance: simulated.Simulate(d, f, 0, 0, 0, nil)},
		{Impedance: simulated.Simulate(d, f, dM, 0, 0, nil), Load: measured.Load{Kind: measured.AddedMass, Value: dM}},
		{Impedance: simulated.Simulate(d, f, 0, defaultAirStiffness()*sd*sd/vb, 0, nil), Load: measured.Load{Kind: measured.KnownBox, Value: vb}},
	}, measured.Conditions{Sd: param.Quantity{Value: sd}})
	p := in.problem(form{coil: law.Lossy, creep: true}, false, 1)
	l := p.lay
	x := make([]float64, l.n)
	x[l.re], x[l.fs], x[l.qms] = math.Log(d.Re), math.Log(d.Fs()), math.Log(d.Qms())
	x[l.res], x[l.mms], x[l.creep] = math.Log(d.BL*d.BL/d.Rms), math.Log(d.Mms), d.Creep
	copy(x[l.coil:], testCoils["lossy"])
	for k, load := range []struct{ m, k float64 }{{0, 0}, {dM, 0}, {0, defaultAirStiffness() * sd * sd / vb}} {
		for i, z := range p.impedance(x, k) {
			want := d.LoadedImpedance(f[i], load.m, load.k)
			if cmplx.Abs(z-want) > 1e-12*cmplx.Abs(want) {
				t.Fatalf("sweep %d at %v Hz: %v, Driver says %v", k, f[i], z, want)
			}
		}
	}
}

func defaultAirStiffness() float64 { return measured.Conditions{}.Air().Stiffness() }
