package estimate

import (
	"errors"
	"math"
	"math/cmplx"
	"slices"
	"testing"

	"conewright/ts/internal/law"
	"conewright/ts/internal/simulated"
	"conewright/ts/measured"
	"conewright/ts/notice"
	"conewright/ts/param"
)

// ported is the impedance (ohm) at f (Hz) of a driver in a vented box of 35 L tuned to 38 Hz with QL 7, QA 50 and QP 60,
// from its elements: Re 5.8 ohm, Le 0.6 mH, BL 7.5 T m, Mms 22 g, Cms 0.9 mm/N, Rms 1.1 kg/s, Sd 220 cm^2, in air of 141855 Pa.
func ported(f float64) complex128 {
	s := complex(0, 2*math.Pi*f)
	box := 1 / (1/complex(118825.918, 0) + 1/(339.502623+1/(s*2.46730817e-7)) + 1/(282.918853+s*71.0967378))
	return 5.8 + s*0.6e-3 + 7.5*7.5/(1.1+s*0.022+1/(s*0.9e-3)+0.022*0.022*box)
}

func portedSweep() measured.Impedance {
	z := measured.Impedance{Freq: simulated.LogFreq(5, 2000, 24)}
	for _, f := range z.Freq {
		z.Z, z.Sigma = append(z.Z, ported(f)), append(z.Sigma, 1e-5)
	}
	return z
}

// A circuit simulator (ngspice, the same elements behind one gyrator and one transformer) prints |Z| in ohm and its phase in
// degrees; four and two decimals.
func TestVentedElementsAgainstSimulator(t *testing.T) {
	for f, want := range map[float64][2]float64{
		10: {7.3759, 33.02}, 18: {22.8292, 41.93}, 25: {12.7685, -36.94}, 32: {7.5559, -16.87}, 38: {7.0011, 1.04},
		45: {7.8001, 18.72}, 60: {18.2372, 33.46}, 76: {20.1773, -41.56}, 100: {9.2476, -40.95}, 200: {6.0985, -14.01},
	} {
		z := ported(f)
		if size, phase := cmplx.Abs(z), cmplx.Phase(z)*180/math.Pi; math.Abs(size-want[0]) > 1e-4 || math.Abs(phase-want[1]) > 6e-3 {
			t.Errorf("%v Hz: %.4f ohm, %.2f degrees, the simulator has %v", f, size, phase, want)
		}
	}
}

// The fit finds what the elements are: fs = 35.767414 Hz, Qes = 0.509795, alpha = Vas/Vb = 61.792038/35,
// 1/QB = 1/7 + 1/50 + 1/60 by hand. An impedance of the fourth order has seven numbers, and driver and box eight, so that
// one combination of the losses is left to what is known beforehand: each of them is held by its interval.
func TestVentedBoxIsFound(t *testing.T) {
	r, err := FitVented([]measured.Sweep{{Impedance: portedSweep()}}, measured.Conditions{}, nil)
	if err != nil {
		t.Fatal(err)
	}
	for id, want := range map[param.ID]float64{param.Re: 5.8, param.Fs: 35.767414, param.Qes: 0.509795,
		param.Fb: 38, param.QB: 5.5703, param.Alpha: 1.7654868} {
		if e, ok := r.Parameters.Get(id); !ok || math.Abs(e.Value/want-1) > 2e-3 {
			t.Errorf("%v = %.6g (%v), wanted %v", id, e.Value, ok, want)
		}
	}
	for id, want := range map[param.ID]float64{param.Qms: 4.494666, param.QL: 7, param.QA: 50, param.QP: 60} {
		if e, ok := r.Parameters.Get(id); !ok || !(e.Low < want && want < e.High) {
			t.Errorf("%v from %.4g to %.4g (%v), wanted %v", id, e.Low, e.High, ok, want)
		}
	}
}

// Without two peaks there is no vented box to be fitted, nor with a mass on the cone.
func TestVentedRefusals(t *testing.T) {
	closed := portedSweep()
	for i, f := range closed.Freq {
		closed.Z[i] = 6 + 40/complex(1, 4*(f/60-60/f))
	}
	loaded := measured.Sweep{Impedance: portedSweep(), Load: measured.Load{Kind: measured.AddedMass, Value: 0.01}}
	for want, sweeps := range map[string][]measured.Sweep{"no-second-peak": {{Impedance: closed}}, "load-in-cabinet": {loaded}, "no-sweeps": nil} {
		var n *notice.Notice
		if _, err := FitVented(sweeps, measured.Conditions{}, nil); !errors.As(err, &n) || n.Code != want {
			t.Errorf("%v, wanted %s", err, want)
		}
	}
}

func TestBoxedJacobian(t *testing.T) {
	z := portedSweep()
	port, err := measured.PortOf(z)
	if err != nil {
		t.Fatal(err)
	}
	sweeps := []measured.Sweep{{Impedance: z}, {Impedance: z}}
	known := Driver{Lces: -3, Res: 4, Creep: 0.1, LcesStd: 0.04, ResStd: 0.1, CreepStd: 0.02}
	const rounding = 60 * 0x1p-52 / 1e-5 / 1e-4 // of |Z| over the noise, over the step of the differences
	for _, box := range []cabinet{{port: &port}, {closed: true}, {port: &port, driver: &known}, {closed: true, driver: &known}} {
		in := observe(sweeps, measured.Conditions{}, &port.Peak, box).unweighted(new(scratch))
		p := in.problem(form{coil: law.Lossy, creep: true}, true, 1)
		x := in.start(p, in.outline)
		x[p.lay.creep] = 0.08
		for i := range x {
			x[i] += 0.01 * float64(i%3)
		}
		m, n := p.Dims()
		r, jac := make([]float64, m), make([]float64, m*n)
		p.Eval(r, jac, x)
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
				if d := math.Abs(num[i] - jac[j*m+i]); !(d <= 1e-7*scale+2*rounding) {
					t.Fatalf("%+v: derivative of row %d by unknown %d is %v, differences give %v", box, i, j, jac[j*m+i], num[i])
				}
			}
		}
	}
}
