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
	"conewright/ts/param"
)

// fitOf is the fit of a driver in free air: its coil is K (jw)^0.65 with 1 mH at 1 kHz.
func fitOf(re, l1k, fs, qms, qes float64) param.Parameters {
	p := param.Parameters{Coverage: 1.96}
	loss := 2 * math.Pi * 1000 * l1k / math.Tan(0.65*math.Pi/2)
	for _, v := range []struct {
		id    param.ID
		value float64
	}{{param.Re, re}, {param.Fs, fs}, {param.Qms, qms}, {param.Qes, qes}, {param.L1k, l1k}, {param.R1k, loss}} {
		p.IDs, p.Scaled, p.Origin = append(p.IDs, v.id), append(p.Scaled, v.id.Scale(v.value)), append(p.Origin, param.FromFit)
	}
	return p
}

// driverOf is a driver by its elements, in a cabinet.
func driverOf(re, l1k, res, fs, qms float64) func(f float64) complex128 {
	return func(f float64) complex128 {
		k := 2 * math.Pi * 1000 * l1k / math.Sin(0.65*math.Pi/2) // |ZL| at 1 kHz
		coil := cmplx.Rect(k*math.Pow(f/1000, 0.65), 0.65*math.Pi/2)
		return complex(re, 0) + coil + complex(res, 0)/complex(1, qms*(f/fs-fs/f))
	}
}

// A list with one inductance a driver is too coarse for a capacitor that is 30 % off; with the fits of both drivers in free air the list alone
// names it. The resonances are those in the cabinet, which only the list has.
func TestListWithFits(t *testing.T) {
	list := network.Network{
		{Name: "L1", Kind: network.Coil, Value: 0.8e-3, Series: 0.2, From: "in", To: "w"},
		{Name: "woofer", Kind: network.Driver, Value: 5.8, From: "w", To: "ground", Moving: &network.Moving{Re: 5.8, Le: 0.7e-3, Fs: 62, Qms: 5, Qes: 0.8}},
		{Name: "C1", Kind: network.Capacitor, Value: 8.2e-6, Series: 0.1, From: "in", To: "h"},
		{Name: "R1", Kind: network.Resistor, Value: 1.5, From: "h", To: "t"},
		{Name: "tweeter", Kind: network.Driver, Value: 5.2, From: "t", To: "ground", Moving: &network.Moving{Re: 5.2, Le: 0.05e-3, Fs: 900, Qms: 2.5, Qes: 1.2}},
	}
	for _, i := range list.Drivers() {
		list[i].Curve = list[i].Moving.Impedance
	}
	truth := list
	for _, d := range []struct {
		i     int
		curve func(f float64) complex128
	}{{1, driverOf(5.8, 1e-3, 5.8*5/0.8, 62, 5)}, {4, driverOf(5.2, 0.08e-3, 5.2*2.5/1.2, 900, 2.5)}} {
		p := truth[d.i]
		p.Curve, p.Moving = d.curve, nil
		truth = truth.With(d.i, p)
	}
	c1 := truth[2]
	c1.Value *= 0.7
	truth = truth.With(2, c1)
	var z measured.Impedance
	for f := 10.0; f < 20e3; f *= math.Exp2(1. / 12) {
		r, err := truth.At(f)
		if err != nil {
			t.Fatal(err)
		}
		z.Freq, z.Z, z.Sigma = append(z.Freq, f), append(z.Z, r.Impedance), append(z.Sigma, 1e-3*cmplx.Abs(r.Impedance))
	}
	coarse, err := Fingerprint(z, list, nil)
	if err != nil || coarse.Fault != NoFault {
		t.Errorf("without fits: %+v, %v", coarse, err)
	}
	fine := list
	for name, p := range map[string]param.Parameters{"woofer": fitOf(5.8, 1e-3, 35, 5, 0.45), "tweeter": fitOf(5.2, 0.08e-3, 900, 2.5, 1.2)} {
		if fine, err = WithDriver(fine, name, p); err != nil {
			t.Fatal(err)
		}
	}
	w := fine[1]
	for _, f := range []float64{20, 62, 1e3, 1e4} {
		if want := driverOf(5.8, 1e-3, 5.8*5/0.8, 62, 5)(f); cmplx.Abs(w.Impedance(f)/want-1) > 1e-9 {
			t.Errorf("at %v Hz the woofer has %v, want %v", f, w.Impedance(f), want)
		}
	}
	found, err := Fingerprint(z, fine, nil)
	if err != nil || found.Fault != OtherValue || found.Part != "C1" || math.Abs(found.Ratio-0.7) > 0.05 {
		t.Errorf("with fits: %+v, %v", found, err)
	}
}

func TestWithDriverRefuses(t *testing.T) {
	without := network.Network{{Name: "woofer", Kind: network.Driver, Value: 5.8, From: "in", To: "ground"}, {Name: "C1", Kind: network.Capacitor, Value: 1e-6, From: "in", To: "ground"}}
	list := slices.Clone(without)
	list[0].Moving = &network.Moving{Re: 5.5, Fs: 62, Qms: 4, Qes: 0.8}
	p := fitOf(5.8, 1e-3, 35, 5, 0.45)
	one, err := WithDriver(list, "", p)
	if err != nil || one[0].Moving.Fs != 62 || one[0].Moving.Qms != 4 || math.Abs(one[0].Moving.Qes/0.8-5.8/5.5) > 1e-9 {
		t.Errorf("the only driver: %+v, %v", one, err)
	}
	short := p.Only(func(id param.ID) bool { return id != param.L1k })
	for code, c := range map[string]struct {
		list network.Network
		name string
		p    param.Parameters
	}{"fingerprint-driver": {list, "C1", p}, "fingerprint-coil": {list, "woofer", short}, "fingerprint-resonance": {without, "woofer", p}} {
		var n *notice.Notice
		if _, err := WithDriver(c.list, c.name, c.p); !errors.As(err, &n) || n.Code != code {
			t.Errorf("%v, want %s", err, code)
		}
	}
}
