package estimate

import (
	"math"
	"math/rand/v2"
	"testing"

	"conewright/ts/handmade"
	"conewright/ts/internal/simulated"
	"conewright/ts/measured"
	"conewright/ts/param"

	"gonum.org/v1/gonum/mat"
)

// What is left below a bound has the mean and the variance that integration gives.
func TestBelowAgainstIntegration(t *testing.T) {
	for _, c := range []struct{ value, std, top, u float64 }{{1, 0.02, 0.99, 0.003}, {1, 0.02, 1.03, 0.01}, {1, 0.02, 0.93, 0.004}, {1, 0.02, 1.0, 0.03}} {
		m := statement{noise: mat.NewSymDense(2, []float64{c.std * c.std, c.std * c.std / 2, c.std * c.std / 2, c.std * c.std})}
		m.ids = []param.ID{param.Re, param.Qes}
		m.values = []lin{{v: c.value}, {v: 3}}
		got, logProb := m.below(c.top, c.u)
		var p, mean, square float64
		const step = 1e-5
		for x := c.value - 12*c.std; x < c.value+12*c.std; x += step {
			w := math.Exp(-param.Sq((x-c.value)/c.std)/2) / (c.std * math.Sqrt(2*math.Pi)) * step * math.Erfc((x-c.top)/c.u/math.Sqrt2) / 2
			p += w
			mean += w * x
			square += w * x * x
		}
		mean /= p
		std := math.Sqrt(square/p - mean*mean)
		if math.Abs(got.values[0].v-mean) > 1e-3*c.std || math.Abs(got.std(0)/std-1) > 1e-3 {
			t.Errorf("%v: %v +- %v, want %v +- %v", c, got.values[0].v, got.std(0), mean, std)
		}
		if math.Abs(logProb-math.Log(p)) > 1e-3*math.Max(1, -logProb) {
			t.Errorf("%v: log probability %v, want %v", c, logProb, math.Log(p))
		}
		// What goes along with Re moves by its covariance.
		if want := 3 + (mean-c.value)/2; math.Abs(got.values[1].v-want) > 1e-3*c.std {
			t.Errorf("%v: the other value is %v, want %v", c, got.values[1].v, want)
		}
	}
}

// Points that contradict a fit do not move it, and it is no likelier than one that they nearly contradict.
func TestBelowContradicted(t *testing.T) {
	m := statement{noise: mat.NewSymDense(1, []float64{1e-8})}
	m.ids, m.values = []param.ID{param.Re}, []lin{{v: 1}}
	_, nearly := m.below(0.986, 0.003)
	if got, logProb := m.below(0.9, 0.003); got.values[0].v != 1 || logProb > nearly {
		t.Errorf("%v, log probability %v, nearer to the bound %v", got.values[0].v, logProb, nearly)
	}
}

// The bound holds for drivers that follow a law, and says nothing about them: the fit is far surer.
func TestCeilingIsAboveRe(t *testing.T) {
	d := handmade.CourseWithCoil()
	below := 0
	for seed := range uint64(200) {
		z := simulated.Simulate(d, simulated.LogFreq(3, 2000, 24), 0, 0, 0.005, rand.New(rand.NewPCG(seed, 7)))
		in := inputOf([]measured.Sweep{{Impedance: z}}, measured.Conditions{})
		top, u := in.ceiling(1)
		if math.Exp(top) > 1.1*d.Re {
			t.Errorf("seed %d: Re may be %v, it is %v", seed, math.Exp(top), d.Re)
		}
		if top+2*u < math.Log(d.Re) {
			below++
		}
	}
	if below > 4 {
		t.Errorf("in %d of 200 sweeps the bound lies two standard deviations below Re", below)
	}
}

// Inputs that were not compared move the real part below the resonance by more than the bound holds: it says nothing then.
func TestNoCeilingFromInputsNotCompared(t *testing.T) {
	z := simulated.Simulate(handmade.CourseWithCoil(), simulated.LogFreq(3, 2000, 24), 0, 0, 0.005, rand.New(rand.NewPCG(1, 7)))
	if top, _ := inputOf([]measured.Sweep{{Impedance: z}}, measured.Conditions{}).ceiling(1); math.IsInf(top, 1) {
		t.Error("compared inputs: no bound")
	}
	z.Systematic = []measured.Systematic{{Source: "coupling", Effect: make([]complex128, z.Len()), Fitted: true}}
	if top, _ := inputOf([]measured.Sweep{{Impedance: z}}, measured.Conditions{}).ceiling(1); !math.IsInf(top, 1) {
		t.Errorf("inputs not compared: Re at most %v", math.Exp(top))
	}
}
