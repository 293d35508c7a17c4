package friction

import (
	"math"
	"math/cmplx"
	"testing"

	"conewright/ts/driver"
	"conewright/ts/fitted"
	"conewright/ts/handmade"
	"conewright/ts/measured"
	"conewright/ts/nonlinear"
	"conewright/ts/param"
)

// woofer is that of testdata/friction; the closed forms of its harmonics are held against scipy in ts/nonlinear.
var woofer = handmade.ToneDriver

// swept is what a sweep with volt (rms, at the terminals) finds: the impedance with friction, and harmonics with noise (A).
func swept(d driver.Driver, law nonlinear.Friction, u nonlinear.Uneven, volt, noise float64) (measured.Sweep, *fitted.Result) {
	var z measured.Impedance
	for f := 8.0; f < 1500; f *= math.Exp2(1. / 12) {
		z.Freq, z.Z = append(z.Freq, f), append(z.Z, d.Impedance(f))
	}
	h := &measured.Harmonics{FullScale: 1}
	for n := 2; n <= 10; n++ {
		h.Orders = append(h.Orders, measured.Order{N: n})
	}
	peak := volt * math.Sqrt2
	for k, f := range z.Freq {
		ze := complex(d.Re, 0) + d.Coil.Impedance(2*math.Pi*f)
		// The velocity settles where friction takes the resistance that it has there.
		var i complex128
		v := 0.0
		for range 200 {
			with := d
			r, stiffness := law.Resistance(v, f)
			with.Rms += r
			zm := with.Mechanical(f, 0, stiffness)
			i = complex(peak, 0) / (ze + complex(d.BL*d.BL, 0)/zm)
			was := v
			v = (v + cmplx.Abs(complex(d.BL, 0)*i/zm)) / 2
			if math.Abs(v-was) < 1e-9*v {
				break
			}
		}
		z.Z[k] = complex(peak, 0) / i
		tone := nonlinear.Tone{Freq: f, Current: i, Velocity: (complex(peak, 0) - ze*i) / complex(d.BL, 0)}
		h.Freq, h.Voltage = append(h.Freq, f), append(h.Voltage, peak)
		for n := 2; n <= 10; n++ {
			p, q := law.Push(tone, n), u.Push(d, tone, n)
			o := &h.Orders[n-2]
			o.Current = append(o.Current, nonlinear.Push{Force: p.Force + q.Force, Voltage: p.Voltage + q.Voltage}.Current(d, float64(n)*f, 0))
			o.Noise, o.Amplifier = append(o.Noise, noise), append(o.Amplifier, 0)
		}
	}
	z.Harmonics = h
	ws := 1 / math.Sqrt(d.Mms*d.Cms)
	loss := d.Rms + driver.CreepLoss*d.Creep/(ws*d.Cms) // at the resonance
	values := map[param.ID]float64{param.Re: d.Re, param.Fs: ws / (2 * math.Pi), param.Qms: ws * d.Mms / loss, param.Res: d.BL * d.BL / loss, param.BL: d.BL}
	f := &fitted.Result{Curves: []fitted.Curve{{Freq: z.Freq, Measured: z.Z}}}
	for id, v := range values {
		f.Parameters.IDs = append(f.Parameters.IDs, id)
		f.Parameters.Scaled = append(f.Parameters.Scaled, math.Log(v))
		f.Parameters.Origin = append(f.Parameters.Origin, param.FromFit)
	}
	if d.Creep != 0 {
		f.Parameters.IDs, f.Parameters.Scaled, f.Parameters.Origin = append(f.Parameters.IDs, param.Creep), append(f.Parameters.Scaled, d.Creep), append(f.Parameters.Origin, param.FromFit)
	}
	for _, g := range z.Freq { // fitted without friction
		f.Curves[0].Fitted = append(f.Curves[0].Fitted, d.Impedance(g))
	}
	return measured.Sweep{Impedance: z}, f
}

func TestFrictionIsFound(t *testing.T) {
	const noise = 1e-7 // A
	for _, c := range []struct {
		law  nonlinear.Friction
		u    nonlinear.Uneven
		volt float64
	}{
		{nonlinear.Friction{Force: 0.002}, nonlinear.Uneven{}, 0.1},
		{nonlinear.Friction{Force: 0.01}, nonlinear.Uneven{K2: 1e5, BL2: -4e4}, 0.3},
		{nonlinear.Friction{Force: 0.004, Slides: 3e-6}, nonlinear.Uneven{K2: -5e4, BL1: 20}, 0.1},
	} {
		s, f := swept(woofer, c.law, c.u, c.volt, noise)
		got, ok := Judge([]measured.Sweep{s}, f)
		if !ok || !got.Rubs || math.Abs(math.Log(got.Force/c.law.Force)) > math.Log(1.1) || got.Low > c.law.Force || got.High < c.law.Force {
			t.Errorf("%+v with %+v at %g V: %+v", c.law, c.u, c.volt, got)
		}
		if w := got.Warning(); w == nil || w.Code != "coil-rubs" {
			t.Errorf("the warning is %v", w)
		}
	}
	// The losses at the resonance: friction is worth 4 F/(pi V).
	s, f := swept(woofer, nonlinear.Friction{Force: 0.002}, nonlinear.Uneven{}, 0.1, noise)
	got, _ := Judge([]measured.Sweep{s}, f)
	v := 0.1 * math.Sqrt2 / woofer.BL * 0.86 // most of the voltage is induced: 40 of 46 ohm
	if r := 4 * got.Force / (math.Pi * v); math.Abs(got.Share/(r/woofer.Rms)-1) > 0.1 {
		t.Errorf("%g of the losses, want %g", got.Share, r/woofer.Rms)
	}
}

// Creep is part of the motion, and not of the coil; where the fit missed a small one, phases that are off move the force little.
func TestCreepMovesNoForce(t *testing.T) {
	const force = 0.003
	for creep, known := range map[float64]bool{0.3: true, 0.1: false} {
		creeping := woofer
		creeping.Creep = creep
		s, f := swept(creeping, nonlinear.Friction{Force: force}, nonlinear.Uneven{K2: 1e5}, 0.1, 1e-7)
		if !known {
			f.Parameters.IDs, f.Parameters.Scaled = f.Parameters.IDs[:5], f.Parameters.Scaled[:5]
		}
		if got, ok := Judge([]measured.Sweep{s}, f); !ok || math.Abs(got.Force/force-1) > offOne {
			t.Errorf("creep %g, known %v: %+v", creep, known, got)
		}
	}
}

// A part of the moving mass that resonates by itself, as a surround does: the harmonics near it are made by another mechanical
// impedance than the fit has. They move the force little, and its interval knows of them.
func TestSecondResonanceMovesNoForce(t *testing.T) {
	const force, mass, at, q = 0.003, 0.3, 500.0, 15.0
	s, f := swept(woofer, nonlinear.Friction{Force: force}, nonlinear.Uneven{K2: 1e5}, 0.1, 1e-7)
	plain, _ := Judge([]measured.Sweep{s}, f)
	// Zm with that part, and the impedance with it less that without, at a frequency.
	other := func(f float64) (with, without, electrical complex128) {
		x := f / at
		without = woofer.Mechanical(f, 0, 0)
		own := complex(0, 2*math.Pi*f*mass*woofer.Mms)
		with = without + own/complex(1-x*x, x/q) - own
		return with, without, complex(woofer.Re, 0) + woofer.Coil.Impedance(2*math.Pi*f)
	}
	b2 := complex(woofer.BL*woofer.BL, 0)
	h := s.Impedance.Harmonics
	for k, g := range h.Freq {
		with, without, _ := other(g)
		f.Curves[0].Measured[k] += b2/with - b2/without
		for n := 2; n <= 10; n++ {
			with, without, ze := other(float64(n) * g)
			h.Orders[n-2].Current[k] *= (ze*without + b2) / (ze*with + b2)
		}
	}
	got, ok := Judge([]measured.Sweep{s}, f)
	if !ok || !got.Rubs || math.Abs(got.Force/force-1) > 0.1 || got.Low > force || got.High < force {
		t.Errorf("%+v", got)
	}
	if got.High/got.Force < 1.035*plain.High/plain.Force {
		t.Errorf("up to %g of the force, %g without the second resonance", got.High/got.Force, plain.High/plain.Force)
	}
}

// A force that hardly stands out of the noise is known to less.
func TestIntervalKnowsTheNoise(t *testing.T) {
	wide := func(noise float64) float64 {
		s, f := swept(woofer, nonlinear.Friction{Force: 0.002}, nonlinear.Uneven{}, 0.1, noise)
		got, ok := Judge([]measured.Sweep{s}, f)
		if !ok || !got.Rubs {
			t.Fatalf("noise of %g A: %+v", noise, got)
		}
		return got.High / got.Force
	}
	if quiet, loud := wide(1e-7), wide(4e-6); loud < quiet+0.02 {
		t.Errorf("up to %g of the force with little noise, %g with much", quiet, loud)
	}
}

// What a suspension and a motor do, and friction inside the suspension over long distances, is not called a rub.
func TestHealthyIsNotNamed(t *testing.T) {
	for _, volt := range []float64{0.02, 0.7} {
		for _, law := range []nonlinear.Friction{{}, {Force: 0.03, Slides: 80e-6}} {
			for _, u := range []nonlinear.Uneven{{K2: 1e5}, {K2: -1e5, BL1: 30, BL2: -1e5}} {
				s, f := swept(woofer, law, u, volt, 1e-7)
				if got, ok := Judge([]measured.Sweep{s}, f); !ok || got.Rubs || got.Warning() != nil || !(got.Least > 0) {
					t.Errorf("%+v with %+v at %g V: %+v", law, u, volt, got)
				}
			}
		}
	}
}

// Twice the noise hides twice the friction, and what lies well below the least is not named.
func TestLeastFollowsTheNoise(t *testing.T) {
	least := func(noise float64) float64 {
		s, f := swept(woofer, nonlinear.Friction{}, nonlinear.Uneven{}, 0.1, noise)
		got, ok := Judge([]measured.Sweep{s}, f)
		if !ok || got.Rubs {
			t.Fatalf("%+v", got)
		}
		return got.Least
	}
	a, b := least(1e-6), least(2e-6)
	if math.Abs(b/a-2) > 1e-3 {
		t.Errorf("%g N and %g N", a, b)
	}
	for part, want := range map[float64]bool{0.3: false, 3: true} {
		s, f := swept(woofer, nonlinear.Friction{Force: part * a}, nonlinear.Uneven{}, 0.1, 1e-6)
		if got, _ := Judge([]measured.Sweep{s}, f); got.Rubs != want {
			t.Errorf("%g of the least: %+v", part, got)
		}
	}
}

// Two levels are one driver, and nothing is said without a voltage or without harmonics.
func TestLevelsAndWhatIsMissing(t *testing.T) {
	law := nonlinear.Friction{Force: 0.005}
	low, f := swept(woofer, law, nonlinear.Uneven{K2: 1e5}, 0.1, 1e-7)
	high, g := swept(woofer, law, nonlinear.Uneven{K2: 1e5}, 0.4, 1e-7)
	f.Curves = append(f.Curves, g.Curves[0])
	got, ok := Judge([]measured.Sweep{low, high}, f)
	if !ok || got.Levels != 2 || math.Abs(math.Log(got.Force/law.Force)) > math.Log(1.1) || math.Abs(got.Voltage-0.1) > 1e-6 {
		t.Errorf("%+v", got)
	}
	if one, _ := Judge([]measured.Sweep{low}, f); one.Levels != 1 || one.Low > law.Force || one.High < law.Force {
		t.Errorf("one level: %+v, two: %+v", one, got)
	}
	unknown, none, loaded := low, low, low
	h := *low.Impedance.Harmonics
	h.FullScale = 0
	unknown.Impedance.Harmonics, none.Impedance.Harmonics = &h, nil
	loaded.Load = measured.Load{Kind: measured.AddedMass, Value: 0.01}
	for _, s := range []measured.Sweep{unknown, none, loaded} {
		if got, ok := Judge([]measured.Sweep{s}, f); ok {
			t.Errorf("%+v", got)
		}
	}
}

// A suspension that hardens with the fifth power of the excursion, which no model here has, spoils a loud sweep; it does not hide
// what a soft one shows.
func TestLoudSweepHidesNothing(t *testing.T) {
	law := nonlinear.Friction{Force: 0.003}
	low, f := swept(woofer, law, nonlinear.Uneven{}, 0.1, 1e-7)
	high, g := swept(woofer, law, nonlinear.Uneven{}, 0.7, 1e-7)
	const k4 = 1e13 // 1/m^4
	h := high.Impedance.Harmonics
	for k, freq := range h.Freq {
		ze := complex(woofer.Re, 0) + woofer.Coil.Impedance(2*math.Pi*freq)
		volt := complex(h.Voltage[k], 0)
		x := (volt - ze*volt/high.Impedance.Z[k]) / complex(0, 2*math.Pi*freq*woofer.BL)
		size := k4 / woofer.Cms * math.Pow(cmplx.Abs(x), 5)
		turn := x / complex(cmplx.Abs(x), 0)
		for n, part := range map[int]float64{3: -5. / 16, 5: 1. / 16} { // sin^5 t = (10 sin t - 5 sin 3t + sin 5t)/16
			push := nonlinear.Push{Force: complex(part*size, 0) * cmplx.Pow(turn, complex(float64(n), 0))}
			h.Orders[n-2].Current[k] += push.Current(woofer, float64(n)*freq, 0)
		}
	}
	f.Curves = append(f.Curves, g.Curves[0])
	alone, _ := Judge([]measured.Sweep{low}, f)
	got, ok := Judge([]measured.Sweep{low, high}, f)
	if !ok || !got.Rubs || math.Abs(math.Log(got.Force/law.Force)) > math.Log(1.2) || got.Least > 3*alone.Least {
		t.Errorf("%+v, alone %+v", got, alone)
	}
}

func BenchmarkJudge(b *testing.B) {
	s, f := swept(woofer, nonlinear.Friction{Force: 0.005}, nonlinear.Uneven{K2: 1e5}, 0.1, 1e-7)
	for b.Loop() {
		Judge([]measured.Sweep{s}, f)
	}
}
