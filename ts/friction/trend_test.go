package friction

import (
	"math"
	"testing"

	"conewright/ts/handmade"
	"conewright/ts/measured"
	"conewright/ts/nonlinear"
)

// Two levels of a driver that scipy integrated: a suspension that hardens, and a force factor that falls, have the slopes of
// the closed forms, K(1 + 3/4 K2 X^2) and BL(1 + B2 X^2/4), and what is not uneven has none.
func TestTrendOfIntegratedDrivers(t *testing.T) {
	for _, c := range []struct{ k2, b2, low, high float64 }{{1e8, 0, 0.3, 1}, {1e8, 0, 1, 3}, {0, -4e4, 1, 3}, {0, 0, 0.1, 1}} {
		var all []played
		for _, volt := range []float64{c.low, c.high} {
			all = append(all, integrated(t, func(x handmade.Tone) bool {
				force := 0.0
				if c.k2 == 0 && c.b2 == 0 {
					force = 0.002 // friction is in no other's way
				}
				return x.Volt == volt && x.Friction == force && x.K2 == c.k2 && x.B1 == 0 && x.B2 == c.b2
			}))
		}
		if b, std, ok := unevenMotor(all); !ok || c.b2 != 0 && (math.Abs(b/c.b2-1) > 0.08 || std > 0.01*math.Abs(b)) {
			t.Errorf("%+v: BL changes with %g +- %g per square metre", c, b, std)
		}
		got, ok := trendOf(all, true)
		d := handmade.ToneDriver
		u := nonlinear.Uneven{K2: c.k2 * d.Cms, BL2: c.b2}
		x := got.Travel
		k := math.Log(u.StiffnessAt(x[1])) - math.Log(u.StiffnessAt(x[0]))
		bl := math.Log1p(u.BL2*x[1]*x[1]/4) - math.Log1p(u.BL2*x[0]*x[0]/4)
		near := func(s Slope, whole float64) bool {
			volt, metre := whole/(got.To-got.From), whole/(x[1]-x[0])
			return math.Abs(s.PerVolt-volt) < 0.15*math.Abs(volt)+2*s.PerVoltStd && math.Abs(s.PerMetre-metre) < 0.15*math.Abs(metre)+2*s.PerMetreStd &&
				s.PerVoltStd > 0 && s.PerVoltStd < 0.03 && math.Abs(s.PerVoltStd/s.PerMetreStd*(got.To-got.From)/(x[1]-x[0])-1) < 1e-6
		}
		if !ok || got.Sweeps != 2 || !near(got.Stiffness, k) || !near(got.ForceFactor, bl) {
			t.Errorf("%+v: %+v, want %g of the stiffness and %g of BL", c, got, k, bl)
		}
		if k > 0 && got.Stiffness.PerVolt < 2*got.Stiffness.PerVoltStd || bl < 0 && got.ForceFactor.PerVolt > -2*got.ForceFactor.PerVoltStd {
			t.Errorf("%+v is not seen: %+v", c, got)
		}
		if without, ok := trendOf(all, false); !ok || without.Stiffness.PerMetre != 0 || without.Travel[1] != 0 || without.Stiffness.PerVolt != got.Stiffness.PerVolt {
			t.Errorf("without a force factor: %+v", without)
		}
		if one, ok := trendOf(all[:1], true); ok {
			t.Errorf("one level: %+v", one)
		}
	}
}

// A suspension whose losses grow with the excursion moves no force factor.
func TestTrendBesideLossesThatGrow(t *testing.T) {
	law := nonlinear.Friction{Force: 0.1, Slides: 1e-3}
	low, f := swept(woofer, law, nonlinear.Uneven{}, 0.3, 1e-7)
	high, g := swept(woofer, law, nonlinear.Uneven{}, 2, 1e-7)
	f.Curves = append(f.Curves, g.Curves[0])
	if got, ok := TrendOf([]measured.Sweep{low, high}, f); !ok || math.Abs(got.ForceFactor.PerVolt*(got.To-got.From)) > 0.01 {
		t.Errorf("%+v, %v", got, ok)
	}
}

// What the force factor is known to falls with how far a resonance is bent, over its width.
func TestBentResonanceTellsLessOfTheMotor(t *testing.T) {
	std := func(rms, bent float64) float64 {
		d := woofer
		d.Rms = rms
		low, f := swept(d, nonlinear.Friction{}, nonlinear.Uneven{}, 0.1, 1e-7)
		d.Cms /= bent
		high, g := swept(d, nonlinear.Friction{}, nonlinear.Uneven{}, 0.4, 1e-7)
		f.Curves = append(f.Curves, g.Curves[0])
		f.Runs = [][3]float64{{}, {math.Log(bent) / 2, math.Log(bent) / 2}}
		got, ok := TrendOf([]measured.Sweep{low, high}, f)
		if !ok {
			t.Fatal("no trend")
		}
		return got.ForceFactor.PerVoltStd * (got.To - got.From)
	}
	for _, rms := range []float64{woofer.Rms, woofer.Rms / 3} {
		const bent = 1.3
		want := 0.25 * math.Pow(math.Log(bent), 2) * math.Sqrt(woofer.Mms/woofer.Cms*bent) / rms
		if even, uneven := std(rms, 1.0001), std(rms, bent); uneven < 0.8*want || even > 0.02 {
			t.Errorf("Rms %g kg/s: %g where it is bent, want %g, and %g where it is not", rms, uneven, want, even)
		}
	}
}

// A straight line, and one through points that lie farther from it than they should.
func TestLine(t *testing.T) {
	x := []float64{1, 2, 4}
	slope, std := line(x, []told{{3, 0.1}, {5, 0.1}, {9, 0.1}})
	if math.Abs(slope-2) > 1e-12 || math.Abs(std-0.1/math.Sqrt(14./3)) > 1e-12 {
		t.Errorf("%g +- %g", slope, std)
	}
	// The middle one is off by 1, which is sqrt(9/14) in perpendicular to constant and slope.
	if _, off := line(x, []told{{3, 0.1}, {6, 0.1}, {9, 0.1}}); math.Abs(off/std-10*math.Sqrt(9./14)) > 1e-9 {
		t.Errorf("%g times as wide", off/std)
	}
}
