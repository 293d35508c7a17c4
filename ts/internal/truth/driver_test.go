package truth

import (
	"math"
	"math/cmplx"
	"testing"
)

// A worked example of a university course (34870 Electroacoustics, notes 7, problem 1), to the printed digits
// of an independent recomputation: fs 27.2, Qms 4.33, Qes 1.56, Qts 1.15, Vas 126 l.
func TestValuesOfALumpedDriver(t *testing.T) {
	d := Lumped(6, 0, 5, 0.038, 0.9e-3, 1.5, math.Pi*0.01)
	d.Air = Air{Rho: 1.2, C: 344}
	v := d.Values()
	for what, c := range map[string][2]float64{
		"Fs": {v.Fs, 27.21492}, "Qms": {v.Qms, 4.331909}, "Qes": {v.Qes, 1.559487}, "Qts": {v.Qts, 1.146682},
		"Vas": {v.Vas * 1e3, 126.1364}, "Mms": {v.Mms, 0.038}, "Cms": {v.Cms, 0.9e-3}, "Rms": {v.Rms, 1.5},
	} {
		near(t, what, c[0], c[1], 1e-6)
	}
}

// Technical reference of a French preparatory-class project, 01.5: |Z| and phase of a driver with an
// inductance of 1.5 mH, as printed.
func TestLumpedImpedance(t *testing.T) {
	d := Lumped(5, 1.5e-3, 24, 0.15, 0.11e-3, 6, 0.08)
	for _, c := range [][3]float64{{20, 12.47, 60.2}, {50, 31.58, -62.8}, {100, 8.34, -48.4}, {200, 5.27, -14.2}, {500, 6.11, 34.8}, {1000, 10.13, 60.4}} {
		mag, degrees := polar(d.Z(c[0]))
		near(t, "|Z|", mag, c[1], 0.001)
		near(t, "phase", degrees, c[2], 0.004)
	}
}

// The definition: at Fs the mechanical impedance with its air is real, to the last digits, and the values
// belong together.
func TestValuesAreThoseAtResonance(t *testing.T) {
	for seed := range seeds(100) {
		d := Draw(Rand(seed, 101))
		v := d.Values()
		ws := 2 * math.Pi * v.Fs
		zm := d.Loaded().motion(ws, d.Suspension.Stiffness(ws))
		if math.Abs(imag(zm)) > 1e-11*ws*v.Mms {
			t.Errorf("seed %d: reactance %g at Fs", seed, imag(zm))
		}
		near(t, "Fs", v.Fs, 1/(2*math.Pi*math.Sqrt(v.Mms*v.Cms)), 1e-12)
		near(t, "Rms", v.Rms, real(zm), 1e-12)
		near(t, "Qts", 1/v.Qts, 1/v.Qms+1/v.Qes, 1e-12)
		near(t, "Mms", v.Mms, imag(d.Loaded().inertial(ws))/ws, 0.2) // more where a surround holds the cone
		if seed == 0 {
			again := Draw(Rand(seed, 101)).Values()
			if again != v {
				t.Error("the same seed must give the same driver")
			}
		}
	}
}

// A heavier cone has the classical resonance if nothing else depends on frequency.
func TestAddedMassIsClassical(t *testing.T) {
	d := Lumped(6, 0, 8, 0.02, 1e-3, 1, 0.02)
	peak, at := 0.0, 0.0
	for f := 15.0; f < 40; f += 0.001 {
		if mag := cmplx.Abs(d.Loaded(Mass{Kg: 0.02}).Z(f)); mag > peak {
			peak, at = mag, f
		}
	}
	near(t, "peak", at, d.Values().Fs/math.Sqrt2, 1e-4)
}

// Real parts: a passive device has Re Z ≥ 0, and a driver with nothing but itself Re Z ≥ Re. So do boxes,
// masses and frames on it.
func TestEverythingIsPassive(t *testing.T) {
	for seed := range seeds(150) {
		rng := Rand(seed, 102)
		d := DrawWith(rng, Choice{Foam: seed%3 == 0, Mounting: []Mounting{FreeAir, Baffle}[seed%2]})
		loads := []Load{nil, CommonPlacing.Put(rng, Piece{True: d.Mmd}, d), Loose(rng, d.Mmd, d), DrawCabinet(rng, d, true), DrawCabinet(rng, d, false)}
		for _, load := range loads {
			p := d.Loaded()
			if load != nil {
				p.Loads = []Load{load}
			}
			for _, f := range Grid(0.5, 40000, 7) {
				if re := real(p.Z(f)); re < d.Re*(1-1e-12) {
					t.Errorf("seed %d, %T: Re Z = %.6f < Re = %.6f at %g Hz", seed, load, re, d.Re, f)
				}
			}
		}
		if re := real(d.Z(1e-5)); re > d.Re*1.001 {
			t.Errorf("seed %d: Re Z at DC is %g, Re %g", seed, re, d.Re)
		}
	}
}

// Recoil of a free frame, worked out by an independent program and a circuit simulator: M 12 g, Cms 1 mm/N,
// Rms 0.9, Bl 6; peak of Zmot with frames of 25 and 100 times the mass, and Z with Mf = 0.3 kg.
func TestRecoil(t *testing.T) {
	d := Lumped(6, 0, 6, 0.012, 1e-3, 0.9, 0.02)
	peak := func(frame, mass float64) float64 {
		d.Frame = Frame{Mass: frame}
		l := d.Loaded(Mass{Kg: mass})
		w := zeroOf(func(w float64) float64 { return imag(l.motion(w, 1000)) }, 100, 1000)
		return w / (2 * math.Pi)
	}
	for _, c := range [][3]float64{
		{0, 0, 45.944074}, {0.3, 0, 46.853947}, {1.2, 0, 46.173223},
		{0, 0.012, 32.487367}, {0.3, 0.012, 33.761862}, {1.2, 0.012, 32.810632},
	} {
		near(t, "peak", peak(c[0], c[1]), c[2], 1e-7)
	}
	d.Frame = Frame{Mass: 0.3}
	for f, want := range map[float64]complex128{20: complex(6.75067, 5.42803), 40: complex(22.41241, 19.67560), 60: complex(14.77840, -16.55523)} {
		nearC(t, "Z", d.Z(f), want, 1e-6)
	}
	if held := d.Values(); math.Abs(held.Fs-45.944074) > 1e-6 {
		t.Error("the values are those of a frame that is held")
	}
	// Foam under the frame, Q 2: error of Fs in percent, same source.
	for _, c := range [][3]float64{{25, 4, 1.992}, {25, 10, 2.054}, {25, 20, 2.323}, {100, 4, 0.502}, {100, 10, 0.518}, {100, 20, 0.588}} {
		mass, w := c[0]*0.012, 2*math.Pi*c[1]
		d.Frame = Frame{Mass: mass, K: mass * w * w, R: mass * w / 2}
		l := d.Loaded()
		low, got := math.Inf(1), 0.0 // the peak of |Zmot|
		for f := 46.0; f < 48; f += 1e-4 {
			if z := cmplx.Abs(l.motion(2*math.Pi*f, 1000)); z < low {
				low, got = z, f
			}
		}
		near(t, "foam", 100*(got/45.944074-1), c[2], 0.002)
	}
}
