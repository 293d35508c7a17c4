package ts

import (
	"math"
	"math/cmplx"
	"math/rand/v2"
	"testing"
)

// A resistor that may be wrong cannot be told by the sweep itself: all values of
// the curve scale alike. So the fit must find what it finds without that doubt,
// only less surely. A fit that takes the doubt at the measured points, noise and
// all, comes out low by N u^2, about 1.6 % here (D'Agostini 1994, from memory).
func TestBenchErrorsDoNotPullTheFit(t *testing.T) {
	d := exactDriver(coilLadder[0], 0)
	const r, gain = 10.0, 0.001
	for _, magnitudeOnly := range []bool{false, true} {
		rng := rand.New(rand.NewPCG(3, 4))
		z := simulate(d, logFreq(5, 2000, 60), 0, 0, 0.002, rng)
		if magnitudeOnly {
			for i := range z.Z {
				z.Z[i] = complex(cmplx.Abs(z.Z[i]), 0)
			}
			z.MagnitudeOnly = true
		}
		plain, err := Fit([]Sweep{{Impedance: z}}, Conditions{})
		if err != nil {
			t.Fatal(err)
		}
		resistor := Systematic{Source: "resistor", Effect: make([]complex128, z.Len())}
		channel := Systematic{Source: "channel gain", Effect: make([]complex128, z.Len())}
		for i, v := range z.Z {
			resistor.Effect[i] = 0.006 * v
			channel.Effect[i] = gain * v * (1 + v/r)
		}
		z.Systematic = []Systematic{resistor, channel}
		doubted, err := Fit([]Sweep{{Impedance: z}}, Conditions{})
		if err != nil {
			t.Fatal(err)
		}
		for _, id := range []ParamID{Re, Fs, Qms, Qes, Res} {
			a, _ := plain.Parameters.Get(id)
			b, _ := doubted.Parameters.Get(id)
			// The channel's gain bends the curve, so that the data may say a
			// little about it: less than it may be wrong by.
			if math.Abs(b.Value/a.Value-1) > 0.3*gain*(1+a.Value/r) {
				t.Errorf("magnitude only %v: %v is %v with the doubt, %v without", magnitudeOnly, id, b.Value, a.Value)
			}
		}
		if e, _ := doubted.Parameters.Get(Re); e.Budget.Bench < 0.0055*e.Value {
			t.Errorf("the resistor adds only %v to Re", e.Budget.Bench)
		}
	}
}

// Each kind of bench error is put onto the curve exactly.
func TestAtCurve(t *testing.T) {
	d := exactDriver(coilLadder[0], 0)
	f := logFreq(5, 2000, 24)
	clean := simulate(d, f, 0, 0, 0, nil)
	noisy := simulate(d, f, 0, 0, 0.003, rand.New(rand.NewPCG(1, 2)))
	for name, e := range map[string]func(z complex128) complex128{
		"leads": func(complex128) complex128 { return 0.02 }, "resistor": func(z complex128) complex128 { return 0.006 * z },
		"gain": func(z complex128) complex128 { return 0.001 * z * (1 + z/10) }, "input": func(z complex128) complex128 { return -z * z / 1e5 },
	} {
		effect := make([]complex128, len(f))
		for i, z := range noisy.Z {
			effect[i] = e(z)
		}
		for i, got := range atCurve(effect, noisy.Z, clean.Z) {
			// What is left is of second order in the noise.
			if want := e(clean.Z[i]); cmplx.Abs(got-want) > 1e-3*sq(cmplx.Abs(noisy.Z[i]-clean.Z[i])) {
				t.Errorf("%s at %v Hz: %v, want %v", name, f[i], got, want)
			}
		}
	}
	// A curve without any shape changes nothing but must not break.
	flat := []complex128{5, 5, 5, 5}
	for _, got := range atCurve([]complex128{1, 1, 1, 1}, flat, flat) {
		if got != 1 {
			t.Errorf("flat: %v", got)
		}
	}
}
