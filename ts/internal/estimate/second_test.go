package estimate

import (
	"math"
	"math/cmplx"
	"math/rand/v2"
	"slices"
	"testing"

	"conewright/ts/internal/simulated"
	"conewright/ts/measured"
)

// The impedance of a driver with a part of 1.2 g on a spring of its own, 800 Hz, beside 12 g that move with it: values of a circuit
// simulator for Re 6 ohm, L 0.3 mH, BL 6 N/A, Cms 1 mm/N, Rms 0.9 kg/s.
func TestSecondResonanceAgainstCircuit(t *testing.T) {
	freq := []float64{100, 400, 700, 750, 780, 800, 820, 840, 900, 1500}
	for q2, want := range map[float64][]complex128{
		20: {6.7061 - 5.0786i, 6.0294 - 0.3109i, 6.0259 + 0.8376i, 6.0543 + 1.0534i, 6.1141 + 1.2286i, 6.2285 + 1.3836i, 6.5508 + 1.5080i,
			6.9737 + 1.0541i, 6.1376 + 0.8929i, 6.0045 + 2.4958i},
		5: {6.7063 - 5.0786i, 6.0325 - 0.3112i, 6.0683 + 0.8060i, 6.1202 + 0.9595i, 6.1710 + 1.0322i, 6.2094 + 1.0621i, 6.2408 + 1.0726i,
			6.2531 + 1.0693i, 6.1794 + 1.1038i, 6.0097 + 2.4970i},
	} {
		const mms, cms, rms = 13.2e-3, 1e-3, 0.9
		fs := 1 / (2 * math.Pi * math.Sqrt(mms*cms))
		e := second{x: 800 / fs, q: q2, mass: 1.2 / 13.2}
		for i, f := range freq {
			s := complex(0, 2*math.Pi*f)
			motional := 36 / (rms + s*mms + 1/(s*cms))
			change := e.at(motional, f/fs, math.Sqrt(mms/cms)/rms/(36/rms)).value
			if z := 6 + s*0.3e-3 + motional + change; cmplx.Abs(z-want[i]) > 8e-5 {
				t.Errorf("Q %v, %v Hz: %.4f, want %v", q2, f, z, want[i])
			}
		}
	}
}

func TestSecondResonanceJacobian(t *testing.T) {
	for _, magnitude := range []bool{false, true} {
		rng := rand.New(rand.NewPCG(5, 7001))
		z := simulated.DrawLawless(rng, 0.02).Sweep(rng)
		if z.MagnitudeOnly = magnitude; magnitude {
			for i, v := range z.Z {
				z.Z[i] = abs(v)
			}
		}
		in := inputOf([]measured.Sweep{{Impedance: z}}, measured.Conditions{})
		found, err := in.minima()
		if err != nil {
			t.Fatal(err)
		}
		d := in.noDiscrepancy()
		d.size = filledWith(d.count, 0.01)
		b := in.beside(found[0], in.whitener(d))
		x := []float64{math.Log(700), math.Log(6), math.Log(0.2)}
		m, n := b.Dims()
		r, jac := slices.Repeat([]float64{math.NaN()}, m), slices.Repeat([]float64{math.NaN()}, m*n)
		b.Eval(r, jac, x)
		for j := range x {
			num := fivePoint(func(dst []float64, h float64) {
				y := slices.Clone(x)
				y[j] += h
				b.Eval(dst, nil, y)
			}, m)
			longest := 0.0
			for _, v := range num {
				longest = max(longest, math.Abs(v))
			}
			for i := range num {
				if math.Abs(num[i]-jac[j*m+i]) > 1e-7*longest {
					t.Fatalf("magnitude %v: derivative of row %d by unknown %d is %v, differences give %v", magnitude, i, j, jac[j*m+i], num[i])
				}
			}
		}
	}
}

// A second resonance of drivers that follow no law is found, and hardly ever is anything taken for one where there is none. By
// magnitudes, which say half as much, two in five are found.
func TestSecondResonanceIsFound(t *testing.T) {
	for _, c := range []struct {
		magnitude bool
		least     float64 // part that is found
		most      float64 // part of those that lies elsewhere
	}{{false, 0.5, 0.1}, {true, 0.4, 0.2}} {
		var with, found, far, without, invented float64
		for seed := range uint64(40) {
			rng := rand.New(rand.NewPCG(seed, 7001))
			d := simulated.DrawLawless(rng, 0.02)
			z := d.Sweep(rng)
			if z.MagnitudeOnly = c.magnitude; c.magnitude {
				for i, v := range z.Z {
					z.Z[i] = abs(v)
				}
			}
			f, err := Fit([]measured.Sweep{{Impedance: z}}, measured.Conditions{})
			if err != nil {
				t.Fatal(err)
			}
			switch at := d.Second(); {
			case at == 0:
				without++
				if f.Second != nil {
					invented++
				}
			default:
				with++
				if f.Second == nil {
					break
				}
				found++
				// The peak lies above the resonance of the part with the cone held, by the rest of the mass that moves against it.
				if peak := f.Second.Frequency / math.Sqrt(1-f.Second.MassShare); math.Abs(math.Log(peak/at)) > 0.05 {
					far++
				}
			}
		}
		if found < c.least*with || far > c.most*found || invented > 0.1*without {
			t.Errorf("magnitude %v: %v of %v found, %v of them elsewhere, %v of %v invented", c.magnitude, found, with, far, invented, without)
		}
	}
}

// A start above the highest frequency, where nothing is computed, ends the search: it went on for ever once.
func TestSecondResonanceAboveTheTop(t *testing.T) {
	rng := rand.New(rand.NewPCG(5, 7001))
	in := inputOf([]measured.Sweep{{Impedance: simulated.DrawLawless(rng, 0.02).Sweep(rng)}}, measured.Conditions{})
	found, err := in.minima()
	if err != nil {
		t.Fatal(err)
	}
	d := in.noDiscrepancy()
	d.size = filledWith(d.count, 0.01)
	b := in.beside(found[0], in.whitener(d))
	start := [3]float64{math.Log(1.02 * secondHighest), math.Log(secondQ), math.Log(0.3)}
	r := make([]float64, len(b.rest))
	if b.Eval(r, nil, b.shortened(start)); !math.IsNaN(r[0]) {
		t.Error("something is computed above the top")
	}
}
