package terminals

import (
	"errors"
	"math"
	"math/cmplx"
	"slices"
	"testing"

	"conewright/ts/measured"
	"conewright/ts/network"
	"conewright/ts/notice"
)

// woofer is a driver of Re 5.8 ohm in a closed box, as a circuit: 0.6 mH, and 51.136 ohm, 391.11 uF, and 50.625 mH beside 28.675 mH.
func woofer(f float64) complex128 {
	s := complex(0, 2*math.Pi*f)
	return 5.8 + s*0.6e-3 + 1/(1/51.1363636364+s*391.111111e-6+1/(s*50.625e-3)+1/(s*28.6748108e-3))
}

// twoWay is a loudspeaker whose impedance a circuit simulator has printed.
var twoWay = network.Network{
	{Name: "L1", Kind: network.Coil, Value: 0.56e-3, Series: 0.25, From: "in", To: "w"},
	{Name: "woofer", Kind: network.Driver, Value: 5.8, From: "w", To: "ground", Curve: woofer},
	{Name: "C1", Kind: network.Capacitor, Value: 6.8e-6, Series: 0.1, From: "in", To: "h"},
	{Name: "L2", Kind: network.Coil, Value: 0.35e-3, Series: 0.3, From: "h", To: "ground"},
	{Name: "tweeter", Kind: network.Driver, Value: 5.2, From: "h", To: "ground", Curve: network.Moving{Re: 5.2, Le: 0.03e-3, Fs: 900, Qms: 2.5, Qes: 1.2}.Impedance},
}

func curveOf(z func(f float64) complex128) measured.Impedance {
	var out measured.Impedance
	for f := 10.0; f <= 20000; f *= math.Exp2(1. / 16) {
		out.Freq, out.Z = append(out.Freq, f), append(out.Z, z(f))
	}
	return out
}

func sweepOf(n network.Network) measured.Impedance {
	return curveOf(func(f float64) complex128 {
		r, err := n.At(f)
		if err != nil {
			panic(err)
		}
		return r.Impedance
	})
}

// with returns the network with the part of a name changed.
func with(name string, change func(p *network.Part)) network.Network {
	n := slices.Clone(twoWay)
	change(&n[n.Index(name)])
	return n
}

// What a circuit simulator (ngspice) prints for the loudspeaker and four faults, |Z| in ohm and phase in degrees: the faults of [model.with] are
// those.
func TestFaultsAgainstSimulator(t *testing.T) {
	m := model{list: twoWay}
	at := func(h hypothesis, extra, f float64) complex128 {
		r, err := m.with(nil, h, extra).At(f)
		if err != nil {
			t.Fatal(err)
		}
		return r.Impedance
	}
	c1, tweeter := twoWay.Index("C1"), twoWay.Index("tweeter")
	for f, rows := range map[float64][5][2]float64{
		60:   {{55.2290, -14.28}, {55.5991, -12.69}, {55.2287, -14.28}, {56.6655, -6.18}, {55.2193, -14.27}},
		1000: {{12.2572, 25.35}, {11.6460, 31.65}, {12.3703, 25.49}, {9.1640, 48.66}, {12.1031, 25.08}},
		2000: {{13.6366, -35.73}, {20.0209, -24.87}, {11.9209, -67.31}, {15.5950, 67.17}, {13.3515, -31.50}},
		8000: {{4.4913, -5.50}, {4.7316, -14.26}, {11.7388, 87.56}, {58.5704, 84.07}, {4.9779, -4.03}},
	} {
		for i, z := range []complex128{
			at(hypothesis{fault: NoFault}, 0, f), at(hypothesis{fault: OtherValue, part: c1}, math.Log(0.8), f), at(hypothesis{fault: Open, part: tweeter}, 0, f),
			at(hypothesis{fault: Open, part: c1}, 0, f), at(hypothesis{fault: Resistance, part: c1}, math.Log(0.5), f),
		} {
			want := rows[i]
			// Open is a megohm here and nothing there.
			if size, phase := cmplx.Abs(z), cmplx.Phase(z)*180/math.Pi; math.Abs(size/want[0]-1) > 1e-4 || math.Abs(phase-want[1]) > 0.01 {
				t.Errorf("%v Hz, fault %d: %.4f ohm, %.2f degrees, the simulator has %v", f, i, size, phase, want)
			}
		}
	}
}

func TestFingerprint(t *testing.T) {
	healthy := sweepOf(twoWay)
	// The list is not quite that of the loudspeaker.
	list := with("C1", func(p *network.Part) { p.Value *= 1.03 })
	for _, c := range []struct {
		z    measured.Impedance
		want Suspect
		sure bool
	}{
		{healthy, Suspect{Fault: NoFault}, true},
		{sweepOf(with("C1", func(p *network.Part) { p.Value *= 0.8 })), Suspect{Fault: OtherValue, Part: "C1", Ratio: 0.8}, true},
		{sweepOf(with("L1", func(p *network.Part) { p.Value *= 1.4 })), Suspect{Fault: OtherValue, Part: "L1", Ratio: 1.4}, true},
		{sweepOf(with("C1", func(p *network.Part) { p.Series += 1 })), Suspect{Fault: Resistance, Part: "C1", Value: 1}, true},
		{sweepOf(twoWay.Without(twoWay.Index("C1"))), Suspect{Fault: Open, Part: "C1"}, true},
		{sweepOf(twoWay.Without(twoWay.Index("tweeter"))), Suspect{Fault: Open, Part: "tweeter"}, true},
		{sweepOf(with("C1", func(p *network.Part) { p.Curve = func(float64) complex128 { return 0.01 } })), Suspect{Fault: Shorted, Part: "C1"}, true},
		// A coil before a woofer that is open cannot be told from the woofer.
		{sweepOf(twoWay.Without(twoWay.Index("L1"))), Suspect{Fault: Open, Part: "L1"}, false},
	} {
		f, err := Fingerprint(c.z, list, &Reference{Curve: healthy})
		if err != nil {
			t.Fatal(err)
		}
		named := f.Suspect
		for _, r := range f.Rivals {
			if r.Part == c.want.Part && r.Fault == c.want.Fault && !c.sure {
				named = r
			}
		}
		if named.Fault != c.want.Fault || named.Part != c.want.Part || f.Sure != c.sure || !f.Explained {
			t.Errorf("%+v, wanted %+v, %v", f, c.want, c.sure)
		}
		if c.want.Ratio != 0 && math.Abs(named.Ratio/1.0/c.want.Ratio-1) > 0.05 {
			t.Errorf("%s has %.3f times its value, wanted %v", named.Part, named.Ratio, c.want.Ratio)
		}
		if c.want.Fault == Resistance && math.Abs(named.Value-c.want.Value) > 0.1 {
			t.Errorf("%.3f ohm more, wanted %v", named.Value, c.want.Value)
		}
	}
	// By the list alone nothing is sure.
	f, err := Fingerprint(sweepOf(twoWay.Without(twoWay.Index("C1"))), list, nil)
	if err != nil || f.Sure || f.Part != "C1" || f.Fault != Open {
		t.Errorf("%+v, %v", f, err)
	}
	last := f.Bands[len(f.Bands)-1]
	if f.Bands[0].Works != "woofer" || last.Works != "tweeter" || last.Ratio < 3 {
		t.Errorf("%+v", f.Bands)
	}
}

// The derivatives of a network against differences.
func TestJacobian(t *testing.T) {
	m := model{list: twoWay, freq: []float64{20, 60, 900, 2000, 8000}}
	m.setOut()
	goal := m.take(sweepOf(with("C1", func(p *network.Part) { p.Value *= 0.8 })))
	p := problem{model: m, hypothesis: hypothesis{fault: OtherValue, part: 2}, goal: goal, tol: byBefore, n: len(m.unknowns) + 1}
	x := make([]float64, p.n)
	for i := range x {
		x[i] = 0.02 * float64(i%3)
	}
	rows := p.rows()
	r, jac, moved := make([]float64, rows), make([]float64, rows*p.n), make([]float64, rows)
	p.Eval(r, jac, x)
	for j := range x {
		const h = 1e-5
		y := slices.Clone(x)
		y[j] += h
		p.Eval(moved, nil, y)
		for i := range r {
			if got, want := jac[j*rows+i], (moved[i]-r[i])/h; math.Abs(got-want) > 2e-3*math.Max(1, math.Abs(want)) {
				t.Errorf("row %d by unknown %d: %v, differences give %v", i, j, got, want)
			}
		}
	}
}

func TestRefusals(t *testing.T) {
	short := measured.Impedance{Freq: []float64{10, 20}, Z: []complex128{6, 7}}
	for want, err := range map[string]error{
		"fingerprint-few-points": func() error { _, err := Fingerprint(short, twoWay, nil); return err }(),
		"network-empty":          func() error { _, err := Fingerprint(sweepOf(twoWay), nil, nil); return err }(),
		"no-points":              func() error { _, err := Fingerprint(sweepOf(twoWay), twoWay, &Reference{}); return err }(),
	} {
		var n *notice.Notice
		if !errors.As(err, &n) || n.Code != want {
			t.Errorf("%v, wanted %s", err, want)
		}
	}
}
