package cabinet

import (
	"errors"
	"math"
	"math/cmplx"
	"testing"

	"conewright/ts/notice"
	"conewright/ts/param"

	"gonum.org/v1/gonum/mat"
)

// f3 returns the frequency at which the level is 3.0103 dB down on its way up.
func f3(c Cabinet, d Driver) float64 {
	half := math.Sqrt(0.5)
	lo, hi := d.Fs/10, d.Fs*10
	for cmplx.Abs(c.Response(d, hi)) < half {
		hi *= 2
	}
	for range 80 {
		mid := math.Sqrt(lo * hi)
		if cmplx.Abs(c.Response(d, mid)) < half {
			lo = mid
		} else {
			hi = mid
		}
	}
	return lo
}

// Closed boxes: Butterworth, Bessel, critically damped, and two with a peak.
//
// Source: table of closed-box alignments after Small 1972 (from memory); the first three are
// second-order filters of any textbook.
func TestClosedAlignments(t *testing.T) {
	for qtc, want := range map[float64]struct{ f3, peak float64 }{
		0.70711: {1, 0}, 0.57735: {1.27202, 0}, 0.5: {1.55377, 0}, 1.0: {0.78615, 1.249}, 1.2: {0.73582, 2.412},
	} {
		// Vas = 3 Vb doubles both resonance and Q.
		d := Driver{Re: 5.6, Fs: 30, Qms: qtc, Qes: qtc, Vas: 0.09}
		c := Cabinet{Volume: 0.03}
		if got := f3(c, d) / 60; math.Abs(got-want.f3) > 2e-5 {
			t.Errorf("Qtc %v: f3 at %.5f fc, wanted %.5f", qtc, got, want.f3)
		}
		peak := 0.0
		for f := 30.0; f < 600; f *= 1.001 {
			peak = max(peak, 20*math.Log10(cmplx.Abs(c.Response(d, f))))
		}
		if math.Abs(peak-want.peak) > 1e-3 {
			t.Errorf("Qtc %v: peak %.4f dB, wanted %.3f", qtc, peak, want.peak)
		}
	}
}

// Vented boxes without losses, and with QL = 7.
//
// Source: alignments of Thiele 1971 and Small 1973 (QB3, B4, C4), whose printed tables have
// three digits: 1 %.
func TestVentedAlignments(t *testing.T) {
	for _, a := range []struct {
		name                   string
		leak, qt, h, alpha, f3 float64
	}{
		{"QB3", 1e9, 0.180, 1.9968, 10.4449, 2.6792},
		{"QB3", 1e9, 0.303, 1.2244, 2.9469, 1.4481},
		{"B4", 1e9, 0.38268, 1, 1.41421, 1},
		{"C4", 1e9, 0.518, 0.7553, 0.5578, 0.6414},
		{"QB3", 7, 0.303, 1.3023, 2.7674, 1.5530},
		{"B4", 7, 0.40481, 1, 1.06132, 1},
	} {
		d := Driver{Re: 5.6, Fs: 30, Qms: 2 * a.qt, Qes: 2 * a.qt, Vas: 0.1}
		c := Cabinet{Volume: 0.1 / a.alpha, Tuning: a.h * 30, Leak: a.leak}
		if got := f3(c, d) / 30; math.Abs(got/a.f3-1) > 0.01 {
			t.Errorf("%s, QL %v: f3 at %.4f fs, wanted %.4f", a.name, a.leak, got, a.f3)
		}
	}
}

// boxed is a driver with Re 5.8 ohm, BL 7.5 T m, Mms 22 g, Cms 0.9 mm/N, Rms 1.1 kg/s, Sd 220 cm^2
// in air of 141855 Pa.
var boxed = Driver{Re: 5.8, Fs: 35.767414, Qms: 4.494666, Qes: 0.509795, Vas: 0.061792038}

// Levels in a box of 35 L, against the element circuit of driver and box: the level goes with
// the flow into the compliance of the air (a study that checked them with a circuit simulator;
// four decimals).
func TestLevelsOfTheCircuit(t *testing.T) {
	for f, want := range map[float64][2]float64{20: {-18.8534, -20.6962}, 30: {-11.8671, -10.0665}, 50: {-4.1720, -1.0026}, 100: {-0.1192, 1.3040}, 200: {0.0723, 0.3992}} {
		for i, c := range []Cabinet{{Volume: 0.035}, {Volume: 0.035, Tuning: 38}} {
			if got := 20 * math.Log10(cmplx.Abs(c.Response(boxed, f))); math.Abs(got-want[i]) > 2e-4 {
				t.Errorf("%v Hz, cabinet %d: %.4f dB, wanted %.4f", f, i, got, want[i])
			}
		}
	}
}

// setOf is a driver with independent relative uncertainties, as noise.
func setOf(d Driver, rel [len(needed)]float64) param.Parameters {
	p := param.Parameters{Coverage: 1.96, Noise: mat.NewSymDense(len(needed), nil)}
	v := [len(needed)]float64{d.Re, d.Fs, d.Qms, d.Qes, d.Vas}
	for i, id := range needed {
		p.IDs, p.Scaled, p.Origin = append(p.IDs, id), append(p.Scaled, math.Log(v[i])), append(p.Origin, param.FromFit)
		p.Noise.SetSym(i, i, rel[i]*rel[i])
	}
	return p
}

// The uncertainty in the closed box: the slopes of the level over ln Q and ln fc, from
// the equations by hand, at 3 % and 1.5 %.
//
//	d dB/d ln Q = 8.6859 (x^2/Q^2)/N,  d dB/d ln fc = -8.6859 [2 - (2 x^2 (x^2-1) + x^2/Q^2)/N],  N = (x^2-1)^2 + x^2/Q^2
func TestUncertaintyOfALevel(t *testing.T) {
	c := Cabinet{Volume: 0.035}
	// 3 % in Qes and Qms alike is 3 % in Qts only if they move together: one source.
	p := setOf(boxed, [len(needed)]float64{0, 0.015, 0, 0, 0})
	p.Components = []param.Component{{Source: "Q", Part: param.BenchPart, Effect: []float64{0, 0, 0.03, 0.03, 0}}}
	curve, err := c.Levels(p, []float64{20, 30, 50, 100, 200})
	if err != nil {
		t.Fatal(err)
	}
	for i, want := range []float64{0.266, 0.278, 0.303, 0.156, 0.040} {
		if math.Abs(curve.Std[i]-want) > 6e-4 {
			t.Errorf("%v Hz: %.4f dB, wanted %.3f", curve.Freq[i], curve.Std[i], want)
		}
	}
}

// An error that both sets share cancels; one that each has for itself does not. Nothing else is added.
func TestDifference(t *testing.T) {
	c := Cabinet{Volume: 0.035}
	softer := boxed // by 20 %
	softer.Fs /= math.Sqrt(1.2)
	softer.Qms /= math.Sqrt(1.2)
	softer.Qes /= math.Sqrt(1.2)
	softer.Vas *= 1.2
	before, after := setOf(boxed, [len(needed)]float64{}), setOf(softer, [len(needed)]float64{})
	plain, err := c.Difference(after, before, []float64{20, 50, 10000})
	if err != nil {
		t.Fatal(err)
	}
	// Far above the resonance only mass, BL and Re count, and they are the same.
	if math.Abs(plain.Level[2]) > 1e-3 {
		t.Errorf("%.4f dB at 10 kHz", plain.Level[2])
	}
	// In the box the air is most of the stiffness: (1 + 1.2 a)/(1.2 (1 + a)) of it is left,
	// and deep down the level is that of the stiffness.
	a := boxed.Vas / 0.035
	deep, err := c.Difference(after, before, []float64{1.5})
	if want := 20 * math.Log10((1+a)/(1/1.2+a)); err != nil || math.Abs(deep.Level[0]-want) > 0.01 {
		t.Errorf("%.4f dB at 1.5 Hz, wanted %.4f, %v", deep.Level[0], want, err)
	}
	for _, p := range []*param.Parameters{&before, &after} {
		p.Components = []param.Component{{Source: "resistor", Part: param.BenchPart, Effect: []float64{0.01, 0, 0, 0.01, 0}}}
	}
	shared, err := c.Difference(after, before, plain.Freq)
	if err != nil {
		t.Fatal(err)
	}
	after.Components[0].Own, before.Components[0].Own = true, true
	apart, err := c.Difference(after, before, plain.Freq)
	if err != nil {
		t.Fatal(err)
	}
	if !(plain.Std[1] == 0 && shared.Std[2] < plain.Std[2]+1e-3 && apart.Std[2] > math.Hypot(plain.Std[2], 0.08)) {
		t.Errorf("std %.4f, with a shared error %.4f, with one each %.4f", plain.Std, shared.Std, apart.Std)
	}
}

// How a bench repeats is known with few degrees of freedom, here 4: 1 % in fs between two sets of one driver is
// sqrt 2 times the slope that TestAgainst has from print, and its interval that of Student's t: t(0.975, 4) = 2.776
// (textbook table).
func TestHowABenchRepeats(t *testing.T) {
	p := setOf(boxed, [len(needed)]float64{})
	p.Components = []param.Component{{Source: "session, suspension", Part: param.RepeatPart, Own: true,
		Effect: []float64{0, 0.01, 0, 0, 0}, Scatter: "session", Dof: 4}}
	d, err := Cabinet{Volume: 0.035, Tuning: 38}.Difference(p, p, []float64{30})
	if err != nil {
		t.Fatal(err)
	}
	if want := math.Sqrt2 * 0.01 * math.Abs(30/math.Ln10-11.7433); math.Abs(d.Std[0]-want) > 1e-4 || math.Abs(d.Half[0]/d.Std[0]-2.776) > 1e-3 {
		t.Errorf("%.5f dB, wanted %.5f; 95 %% to %.4f times that, wanted 2.776", d.Std[0], want, d.Half[0]/d.Std[0])
	}
}

// Against the driver itself there is no difference, and the uncertainty of the values.
func TestAgainst(t *testing.T) {
	c := Cabinet{Volume: 0.035, Tuning: 38}
	p := setOf(boxed, [len(needed)]float64{0, 0.01, 0, 0, 0})
	same, err := c.Against(p, boxed, []float64{30})
	if err != nil || math.Abs(same.Level[0]) > 1e-12 {
		t.Fatalf("%+v, %v", same, err)
	}
	// Of 1 % in fs alone: -11.7433 dB per ln of the shape (a printed slope) and 30/ln 10 of
	// the level far above.
	if want := 0.01 * math.Abs(30/math.Ln10-11.7433); math.Abs(same.Std[0]-want) > 1e-4 || math.Abs(same.Half[0]/same.Std[0]-1.96) > 1e-3 {
		t.Errorf("%.5f dB of 1 %% in fs, wanted %.5f; 95 %% to %.4f times that", same.Std[0], want, same.Half[0]/same.Std[0])
	}
}

func TestRefusals(t *testing.T) {
	p := setOf(boxed, [len(needed)]float64{})
	for _, c := range []Cabinet{{}, {Volume: -1}, {Volume: 0.03, Tuning: -5}, {Volume: math.NaN()}, {Volume: 0.03, Tuning: 30, Leak: -1}} {
		if _, err := c.Levels(p, []float64{50}); err == nil {
			t.Errorf("%+v is not refused", c)
		}
	}
	short := p
	short.IDs = append([]param.ID{}, p.IDs...)
	short.IDs[4] = param.Sd
	var n *notice.Notice
	if _, err := (Cabinet{Volume: 0.03}).Difference(p, short, []float64{50}); !errors.As(err, &n) || n.Code != "cabinet-needs" {
		t.Errorf("without Vas: %v", err)
	}
	if _, err := (Cabinet{Volume: 0.03}).Levels(p, []float64{-1}); err == nil {
		t.Error("a negative frequency is not refused")
	}
}
