package estimate

import (
	"math"
	"math/cmplx"
	"testing"

	"conewright/ts/handmade/tables"
	"conewright/ts/internal/law"
	"conewright/ts/measured"
)

// The forms that are fitted to a driver in a box have the impedance that a general circuit simulator prints for its elements. Source: testdata/box,
// see the README there; its driver has Re 5.8 ohm, Le 0.6 mH, BL 7.5 T m, Mms 22 g, Cms 0.9 mm/N, Rms 1.1 kg/s and 220 cm^2, its box 35 L of air of 141855 Pa
// with losses that count at 38 Hz.
func TestBoxFormsAgainstSimulator(t *testing.T) {
	const re, le, bl, mass, stiff, friction = 5.8, 0.6e-3, 7.5, 0.022, 1 / 0.9e-3, 1.1
	const air, at = 141855 * 0.022 * 0.022 / 0.035, 2 * math.Pi * 38
	for name, q := range map[string][3]float64{"closed": {1e9, 1e9}, "closed-losses": {7, 50}, "vented": {1e9, 1e9, 1e9}, "vented-losses": {7, 50, 60}} {
		var z measured.Impedance
		for _, row := range tables.Numbers(t, "../../../testdata/box/"+name+".out") {
			v := complex(row[1], row[2])
			z.Freq, z.Z, z.Sigma = append(z.Freq, row[0]), append(z.Z, v), append(z.Sigma, 1e-6*cmplx.Abs(v))
		}
		box := cabinet{closed: q[2] == 0}
		outline := measured.OutlineOf(z)
		if !box.closed {
			port, err := measured.PortOf(z)
			if err != nil {
				t.Fatal(err)
			}
			box.port, outline = &port, port.Peak
		}
		in := observe([]measured.Sweep{{Impedance: z}}, measured.Conditions{}, &outline, box).unweighted(new(scratch))
		p := in.problem(form{coil: law.Plain}, false, 1)
		l, x := p.lay, in.start(p, outline)
		x[l.re], x[l.coil] = math.Log(re), math.Log(le)
		w, losses := math.Sqrt(stiff/mass), friction // of the resonance, and there
		if box.closed {
			spring := func(w float64) complex128 { // of the air, N/m
				return complex(0, w) / (1/complex(air*q[0]/at, 0) + 1/(complex(air/(at*q[1]), 0)+air/complex(0, w)))
			}
			for range 100 { // of all stiffness
				w = math.Sqrt((stiff + real(spring(w))) / mass)
			}
			k := spring(w)
			losses += imag(k) / w
			x[l.tight+tightAlpha], x[l.tight+tightQL], x[l.tight+tightQA] = math.Log(real(k)/stiff), math.Log(q[0]*w/at-leastTightQL), math.Log(q[1]*at/w)
		} else {
			x[l.port+ventAlpha], x[l.port+ventTuning] = math.Log(air/stiff), math.Log(38)
			x[l.port+ventQL], x[l.port+ventQA], x[l.port+ventQP] = math.Log(q[0]), math.Log(q[1]), math.Log(q[2])
		}
		x[l.fs], x[l.qms], x[l.res] = math.Log(w/(2*math.Pi)), math.Log(w*mass/losses), math.Log(bl*bl/losses)
		rows, _ := p.Dims()
		r := make([]float64, rows)
		p.Eval(r, nil, x)
		for i, v := range r[:p.sweepRows()] {
			if !(math.Abs(v) <= 1) { // in units of 1e-6 of |Z|
				t.Errorf("%s, row %d: off by %.3g of |Z|", name, i, 1e-6*v)
				break
			}
		}
	}
}
