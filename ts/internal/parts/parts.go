// Package parts makes parts of dividing networks with physics that no fit contains, records them on the virtual bench and
// counts how near ts/part comes to them. It is for tests and for docs/validation-parts.md.
package parts

import (
	"math"
	"math/cmplx"
	"math/rand/v2"

	"conewright/ts/network"
)

// Part is a part that exists only as numbers.
type Part struct {
	What string // "film capacitor" and so on
	Kind network.Kind
	Z    func(f float64) complex128 // ohm
	Rdc  float64                    // ohm at direct current; of coils
}

// C, L, Loss are what the part has at f (Hz) as a series circuit.
func (p Part) C(f float64) float64    { return -1 / (2 * math.Pi * f * imag(p.Z(f))) }
func (p Part) L(f float64) float64    { return imag(p.Z(f)) / (2 * math.Pi * f) }
func (p Part) Loss(f float64) float64 { return real(p.Z(f)) }

func parallel(a, b complex128) complex128 { return a * b / (a + b) }

// between draws a number between lo and hi whose logarithm is even.
func between(rng *rand.Rand, lo, hi float64) float64 {
	return lo * math.Exp(rng.Float64()*math.Log(hi/lo))
}

// film is a film capacitor of c (F): its dielectric relaxes at several times, which holds a few parts in a
// thousand of its charge, beside a leak; the leads have resistance that grows with the root of frequency.
func film(rng *rand.Rand, c float64) Part {
	tan := between(rng, 2e-4, 1e-2)
	type relaxing struct{ c, tau float64 }
	var parts []relaxing
	for tau := 1e-6; tau < 10; tau *= 4 {
		parts = append(parts, relaxing{c * tan * 0.9 * between(rng, 0.5, 2), tau})
	}
	esr, esl, leak := between(rng, 3e-3, 40e-3), between(rng, 5e-9, 40e-9), between(rng, 1e9, 1e11)*1e-6/c
	return Part{What: "film capacitor", Kind: network.Capacitor, Z: func(f float64) complex128 {
		s := complex(0, 2*math.Pi*f)
		y := s*complex(c, 0) + complex(1/leak, 0)
		for _, r := range parts {
			y += s * complex(r.c, 0) / (1 + s*complex(r.tau, 0))
		}
		return 1/y + s*complex(esl, 0) + complex(esr, 0)*cmplx.Sqrt(1+s*complex(3e-6, 0))
	}}
}

// electrolytic is a bipolar electrolytic capacitor of c (F): the electrolyte in the pores of its foils is a
// line of resistance and capacitance.
func electrolytic(rng *rand.Rand, c float64) Part {
	p := film(rng, c)
	pores, electrolyte := between(rng, 0.02, 0.15)/(2*math.Pi*1e3*c), between(rng, 0.02, 0.3)
	leak := between(rng, 1e5, 1e7)
	body := p.Z
	return Part{What: "electrolytic capacitor", Kind: network.Capacitor, Z: func(f float64) complex128 {
		s := complex(0, 2*math.Pi*f)
		g := cmplx.Sqrt(s * complex(3*pores*c, 0))
		line := complex(3*pores, 0) / (g * cmplx.Tanh(g)) // a line of resistance 3 pores and capacitance c, open at its end
		rest := body(f) - 1/(s*complex(c, 0))             // what else the body has
		return parallel(line, complex(leak, 0)) + rest + complex(electrolyte, 0)
	}}
}

// air is an air coil of l (H): skin and nearness of the turns raise its resistance, its winding has a capacitance.
func air(rng *rand.Rand, l float64) Part {
	rdc := between(rng, 0.1, 0.5) * math.Sqrt(l/1e-3)
	corner, rise := between(rng, 3e3, 3e4), between(rng, 0.5, 3)
	winding := between(rng, 20e-12, 200e-12)
	return Part{What: "air coil", Kind: network.Coil, Rdc: rdc, Z: func(f float64) complex128 {
		s := complex(0, 2*math.Pi*f)
		// A slab in its own field: x coth x, x = (1+j) f/corner under a root.
		x := cmplx.Sqrt(complex(0, 2*f/corner))
		skin := complex(rdc*rise, 0) * (x/cmplx.Tanh(x) - 1)
		return parallel(complex(rdc, 0)+skin+s*complex(l, 0), 1/(s*complex(winding, 0)))
	}}
}

// iron is a coil of l (H) with a core: currents in its sheets, loss by hysteresis.
func iron(rng *rand.Rand, l float64) Part {
	rdc := between(rng, 0.05, 0.3) * math.Sqrt(l/1e-3)
	sheets := between(rng, 3e3, 3e4) // Hz from which on the field does not pass them
	loss, share := between(rng, 1e-3, 1e-2), 0.3+0.5*rng.Float64()
	return Part{What: "coil with iron", Kind: network.Coil, Rdc: rdc, Z: func(f float64) complex128 {
		s := complex(0, 2*math.Pi*f)
		x := cmplx.Sqrt(complex(0, f/sheets))
		core := complex(l*share, -l*share*loss) * cmplx.Tanh(x) / x
		return complex(rdc, 0) + s*(complex(l*(1-share), 0)+core)
	}}
}

// resistor is a resistor of r (ohm), of wire or of film.
func resistor(rng *rand.Rand, r float64) Part {
	l := 10e-9 + r*between(rng, 1e-9, 5e-8)
	return Part{What: "resistor", Kind: network.Resistor, Z: func(f float64) complex128 {
		s := complex(0, 2*math.Pi*f)
		return parallel(complex(r, 0)+s*complex(l, 0), 1/(s*5e-12))
	}}
}

// Draw draws a part: 0.1 to 100 uF, 0.05 to 10 mH or 0.2 to 100 ohm.
func Draw(rng *rand.Rand) Part {
	switch rng.IntN(5) {
	case 0:
		return film(rng, between(rng, 0.1e-6, 100e-6))
	case 1:
		return electrolytic(rng, between(rng, 1e-6, 100e-6))
	case 2:
		return air(rng, between(rng, 0.05e-3, 10e-3))
	case 3:
		return iron(rng, between(rng, 0.2e-3, 10e-3))
	}
	return resistor(rng, between(rng, 0.2, 100))
}
