package measured_test

import (
	"fmt"
	"math"
	"testing"

	"conewright/ts/driver"
	"conewright/ts/handmade"
	"conewright/ts/internal/simulated"
	"conewright/ts/measured"
)

// Inductance biases the method by a known amount. Source: crossing points of
// exact models, testdata/handbook/derived.txt (derived); Re is given because
// the table takes the true one.
func TestHandMethodBias(t *testing.T) {
	for _, row := range []struct {
		name         string
		d            driver.Driver
		fs, qms, qes float64 // Hz for fs = sqrt(f1 f2)
		f1, f2       float64 // Hz
	}{
		{"no inductance", handmade.CourseWoofer, 22.850962, 3.896454, 0.513842, 15.821786, 33.003005},
		{"plain coil", handmade.WithCoil(handmade.CourseWoofer, driver.PlainCoil{L: 2.8e-3}), 22.6423, 3.92995, 0.51822, 15.724229, 32.604002},
		{"lossy coil", handmade.WithCoil(handmade.CourseWoofer, driver.LossyCoil{K: 0.0106, N: 0.76}), 22.6504, 3.90572, 0.51292, 15.685808, 32.707227},
		{"stiff woofer", handmade.StiffWoofer, 38.9510, 6.18931, 0.32236, 27.296559, 55.581478},
		{"low Q", handmade.LowQ, 34.7800, 1.44053, 0.77023, 19.895630, 60.799723},
	} {
		t.Run(row.name, func(t *testing.T) {
			h := measured.HandMethodWith(simulated.Grid(row.d, 5, 2000, 2000), row.d.Re)
			if !h.Valid {
				t.Fatal(h.Reason)
			}
			for _, c := range []struct {
				what      string
				got, want float64
			}{{"Fs", h.Fs, row.fs}, {"Qms", h.Qms, row.qms}, {"Qes", h.Qes, row.qes}, {"f1", h.F1, row.f1}, {"f2", h.F2, row.f2}} {
				// Half a unit of the last of five digits is up to 1.6e-5.
				if math.Abs(c.got/c.want-1) > 1.6e-5 {
					t.Errorf("%s = %.8g, want %.8g", c.what, c.got, c.want)
				}
			}
			if h.Fs != math.Sqrt(h.F1*h.F2) {
				t.Errorf("Fs = %v is not sqrt(f1 f2)", h.Fs)
			}
		})
	}
}

// On a usual grid, with Re from the sweep itself, the method finds what it can
// find: the true values without inductance, those of the bias table with it.
func TestHandMethodOnUsualGrid(t *testing.T) {
	for _, c := range []struct {
		name      string
		d         driver.Driver
		magnitude bool
		tolerance float64
	}{
		{"no inductance", handmade.CourseWoofer, false, 0.002},
		{"no inductance, magnitude only", handmade.CourseWoofer, true, 0.002},
		{"plain coil", handmade.StiffWoofer, false, 0.015},
		{"plain coil, magnitude only", handmade.StiffWoofer, true, 0.03},
		{"lossy coil", handmade.WithCoil(handmade.CourseWoofer, driver.LossyCoil{K: 0.0106, N: 0.76}), false, 0.02},
	} {
		t.Run(c.name, func(t *testing.T) {
			z := simulated.Grid(c.d, 5, 20000, 24)
			if c.magnitude {
				for i := range z.Z {
					z.Z[i] = complex(math.Hypot(real(z.Z[i]), imag(z.Z[i])), 0)
				}
				z.MagnitudeOnly = true
			}
			h := measured.HandMethod(z)
			if !h.Valid {
				t.Fatal(h.Reason)
			}
			for _, v := range []struct {
				what      string
				got, want float64
			}{{"Re", h.Re, c.d.Re}, {"Fs", h.Fs, c.d.Fs()}, {"Qms", h.Qms, c.d.Qms()}, {"Qes", h.Qes, c.d.Qes()}, {"Qts", h.Qts, c.d.Qts()}} {
				if math.Abs(v.got/v.want-1) > c.tolerance {
					t.Errorf("%s = %.5g, want %.5g within %g", v.what, v.got, v.want, c.tolerance)
				}
			}
		})
	}
}

// Any level gives the same Qms when there is no inductance; levels other than
// the geometric mean need their own formula. With the one for the geometric mean the level
// 3 dB below the peak would be wrong by sqrt(r0) sqrt(1-2/r0^2), 2.9 for this
// driver. Source: derived from the equivalent circuit.
func TestQmsAtAnyLevel(t *testing.T) {
	d := handmade.CourseWoofer
	fs, qms := d.Fs(), d.Qms()
	r0 := 1 + qms/d.Qes()
	for _, rho := range []float64{1.1, 1.5, 2, math.Sqrt(r0), 4, r0 / math.Sqrt2, 0.99 * r0} {
		f1, f2 := handmade.ExactCrossing(d, rho, -1), handmade.ExactCrossing(d, rho, +1)
		if q := measured.QmsAtLevel(r0, rho, fs, f2-f1); math.Abs(q/qms-1) > 1e-9 {
			t.Errorf("rho %.4g: Qms = %.12g, want %.12g", rho, q, qms)
		}
		if math.Abs(f1*f2/(fs*fs)-1) > 1e-9 {
			t.Errorf("rho %.4g: sqrt(f1 f2) = %v, want %v", rho, math.Sqrt(f1*f2), fs)
		}
	}
	rho := r0 / math.Sqrt2
	width := handmade.ExactCrossing(d, rho, +1) - handmade.ExactCrossing(d, rho, -1)
	wrong := fs * math.Sqrt(r0) / width / qms
	if want := math.Sqrt(r0) * math.Sqrt(1-2/(r0*r0)); math.Abs(wrong/want-1) > 1e-9 || fmt.Sprintf("%.1f", wrong) != "2.9" {
		t.Errorf("factor of error of -3 dB points = %.6g, want %.6g", wrong, want)
	}
}

func TestHandMethodRefuses(t *testing.T) {
	d := handmade.WithCoil(handmade.CourseWoofer, driver.PlainCoil{L: 1e-3}) // f1 15.8, peak 22.8, f2 33 Hz
	vented := simulated.Grid(d, 5, 2000, 24)
	for i, f := range vented.Freq { // a second resonance of the same kind an octave and a half higher
		other := d
		other.Cms /= 8
		other.Coil = nil
		vented.Z[i] += other.Impedance(f) - complex(other.Re, 0)
	}
	flat := simulated.Grid(driver.Driver{Re: 5, BL: 1e-6, Mms: 1, Cms: 1, Rms: 1}, 5, 2000, 24)
	for _, c := range []struct {
		name   string
		z      measured.Impedance
		reason string
	}{
		{"f1 not covered", simulated.Grid(d, 18, 2000, 24), "starts-above-f1"},
		{"f2 not covered", simulated.Grid(d, 5, 30, 48), "ends-below-f2"},
		{"starts above the peak", simulated.Grid(d, 25, 60, 48), "no-peak"},
		{"ends below the peak", simulated.Grid(d, 5, 22, 48), "no-peak"},
		{"two peaks", vented, "two-peaks"},
		{"hardly any points", simulated.Grid(d, 5, 80, 1), "too-few-points"},
		{"empty", measured.Impedance{}, "too-few-points"},
		{"all zero", measured.Impedance{Freq: flat.Freq, Z: make([]complex128, flat.Len())}, "zero-impedance"},
	} {
		h := measured.HandMethod(c.z)
		if h.Valid || h.Reason != c.reason {
			t.Errorf("%s: valid %v, reason %q, want %q", c.name, h.Valid, h.Reason, c.reason)
		}
	}
	if h := measured.HandMethod(simulated.Grid(d, 5, 2000, 24)); !h.Valid || h.Reason != "" {
		t.Errorf("a good sweep is refused: %q", h.Reason)
	}
	if h := measured.HandMethodWith(simulated.Grid(d, 5, 2000, 24), 60); h.Valid {
		t.Error("Re above the peak is accepted")
	}
}

// Noise and a small bump of the cone must not count as a second resonance.
func TestHandMethodIgnoresNoise(t *testing.T) {
	z := simulated.Grid(handmade.StiffWoofer, 5, 2000, 48)
	seed := uint64(1)
	for i := range z.Z {
		seed = seed*6364136223846793005 + 1442695040888963407
		z.Z[i] *= complex(1+0.02*(float64(seed>>11)/(1<<53)-0.5), 0)
	}
	h := measured.HandMethod(z)
	if !h.Valid {
		t.Fatal(h.Reason)
	}
	if math.Abs(h.Fs/handmade.StiffWoofer.Fs()-1) > 0.02 || math.Abs(h.Qts/handmade.StiffWoofer.Qts()-1) > 0.05 {
		t.Errorf("Fs %.4g, Qts %.4g", h.Fs, h.Qts)
	}
}
