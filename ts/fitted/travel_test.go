package fitted

import (
	"math"
	"math/cmplx"
	"testing"

	"conewright/ts/driver"
	"conewright/ts/measured"
	"conewright/ts/param"
)

// A woofer of our own; creep off, so that the moving parts are a mass, a spring
// and a damper.
var movingWoofer = driver.Driver{Re: 5.6, BL: 9, Mms: 0.04, Cms: 0.6e-3, Rms: 1.4, Coil: driver.LossyCoil{K: 0.02, N: 0.7}}

// The displacement under a steady tone is that of mass, spring and damper, and
// that of the voltage that the moving coil induces, divided by BL and w:
//
//	x = BL I/(K - w^2 M + j w R) = (V - I Ze)/(j w BL)
func TestTravelUnderATone(t *testing.T) {
	const rate, amps = 750.0, 0.05
	d := movingWoofer
	for _, f := range []float64{8, 21, 32.4875, 60, 120} {
		w := 2 * math.Pi * f
		i := make([]float64, 20*rate)
		for k := range i {
			swell := math.Min(1, float64(k)/(10*rate)) // slowly, so that nothing overshoots
			i[k] = amps * swell * math.Sin(w*float64(k)/rate)
		}
		got := travel(d, measured.Drive{Rate: rate, Current: i}, 0, 0)
		spring := d.BL * amps / cmplx.Abs(complex(1/d.Cms-w*w*d.Mms, w*d.Rms))
		v := complex(amps, 0) * d.Impedance(f)
		blocked := complex(amps, 0) * (complex(d.Re, 0) + d.Coil.Impedance(w))
		induced := cmplx.Abs(v-blocked) / (w * d.BL)
		if math.Abs(induced/spring-1) > 1e-9 {
			t.Fatalf("at %g Hz the two formulas give %g and %g m", f, spring, induced)
		}
		// A peak between two samples is missed by 1 - cos(w/2 rate) at most.
		if low := spring * math.Cos(w/2/rate) * 0.997; got.Peak < low || got.Peak > 1.003*spring {
			t.Errorf("at %g Hz: %g m, want %g", f, got.Peak, spring)
		}
		if math.Abs(got.Freq/f-1) > 0.01 {
			t.Errorf("at %g Hz: told as %g Hz", f, got.Freq)
		}
	}
}

// A burst against the equation of motion, M x” + R x' + K x = BL i, solved step
// by step (Runge and Kutta's fourth order), with and without a mass and a box.
func TestTravelAgainstTheEquationOfMotion(t *testing.T) {
	const rate, fine = 750.0, 40
	d := movingWoofer
	current := func(t float64) float64 {
		if t < 0.5 || t > 0.8 {
			return 0
		}
		return 0.1 * math.Sin(2*math.Pi*25*(t-0.5)) * math.Pow(math.Sin(math.Pi*(t-0.5)/0.3), 2)
	}
	i := make([]float64, 3*rate)
	for k := range i {
		i[k] = current(float64(k) / rate)
	}
	for _, c := range []struct{ mass, stiffness float64 }{{0, 0}, {0.03, 0}, {0, 2000}} {
		m, k := d.Mms+c.mass, 1/d.Cms+c.stiffness
		acceleration := func(t, x, v float64) float64 { return (d.BL*current(t) - d.Rms*v - k*x) / m }
		var x, v, want float64
		const h = 1 / (rate * fine)
		for n := range int(3 * rate * fine) {
			at := float64(n) * h
			a1 := acceleration(at, x, v)
			a2 := acceleration(at+h/2, x+h/2*v, v+h/2*a1)
			a3 := acceleration(at+h/2, x+h/2*v+h*h/4*a1, v+h/2*a2)
			a4 := acceleration(at+h, x+h*v+h*h/2*a2, v+h*a3)
			x += h*v + h*h/6*(a1+a2+a3)
			v += h / 6 * (a1 + 2*a2 + 2*a3 + a4)
			want = math.Max(want, math.Abs(x))
		}
		if got := travel(d, measured.Drive{Rate: rate, Current: i}, c.mass, c.stiffness); math.Abs(got.Peak/want-1) > 0.01 {
			t.Errorf("%g kg, %g N/m: %g m, want %g", c.mass, c.stiffness, got.Peak, want)
		}
	}
}

// What is not known is not told, and only a far travel is warned of.
func TestTravelIsKnownOrNot(t *testing.T) {
	if _, ok := FarthestTravel([]measured.Sweep{{Impedance: measured.Impedance{Drive: &measured.Drive{Rate: 750, Current: []float64{1}}}}}, param.Parameters{}, measured.Conditions{}); ok {
		t.Error("travel without a force factor")
	}
	p := param.Parameters{IDs: []param.ID{param.BL, param.Mms, param.Cms, param.Rms}, Origin: make([]param.Origin, 4)}
	for _, v := range []float64{9, 0.04, 0.6e-3, 1.4} {
		p.Scaled = append(p.Scaled, math.Log(v))
	}
	if _, ok := FarthestTravel([]measured.Sweep{{}}, p, measured.Conditions{}); ok {
		t.Error("travel without a current")
	}
	tone := func(amps float64) measured.Sweep {
		i := make([]float64, 3000)
		for k := range i {
			i[k] = amps * math.Sin(2*math.Pi*32*float64(k)/750)
		}
		return measured.Sweep{Impedance: measured.Impedance{Drive: &measured.Drive{Rate: 750, Current: i}}}
	}
	quiet, ok := FarthestTravel([]measured.Sweep{tone(0.001), tone(0.005)}, p, measured.Conditions{})
	if w := quiet.Warning(); !ok || w != nil || quiet.Peak < 1e-4 {
		t.Errorf("a quiet sweep: %v", quiet)
	}
	loud, ok := FarthestTravel([]measured.Sweep{tone(0.05), tone(0.005)}, p, measured.Conditions{})
	if w := loud.Warning(); !ok || w == nil || w.Code != "travel-large" || w.Num("peak") != loud.Peak || w.Num("decibels") < 6 {
		t.Errorf("a loud sweep: %v, %v", loud, w)
	}
}
