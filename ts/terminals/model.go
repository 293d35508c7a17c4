package terminals

import (
	"math"
	"math/cmplx"
	"slices"

	"conewright/ts/measured"
	"conewright/ts/network"
)

// model is a list of parts whose values may differ a little from the list.
type model struct {
	list     network.Network
	freq     []float64
	unknowns []unknown
}

// unknown is one number of one part that may differ: a logarithm of what it is over the list.
type unknown struct {
	part int
	what quantity
}

type quantity uint8

const (
	size      quantity = iota // of the value, or of the whole impedance of a driver
	series                    // of the resistance in series
	resonance                 // of the frequencies of a driver
	rise                      // exponent by which its impedance rises faster above riseFrom, as a coil with losses rises slower
)

// riseFrom is the frequency (Hz) from which on the coil of a driver follows another law than its few numbers say:
//
//	Z (1 + jf/riseFrom)^x
const riseFrom = 1000.0

// setOut lists the unknowns.
func (m *model) setOut() {
	for i, p := range m.list {
		m.unknowns = append(m.unknowns, unknown{i, size})
		if p.Series > 0 {
			m.unknowns = append(m.unknowns, unknown{i, series})
		}
		if p.Curve != nil {
			m.unknowns = append(m.unknowns, unknown{i, resonance}, unknown{i, rise})
		}
	}
}

// width is the standard uncertainty of an unknown.
func (t tolerances) width(u unknown, list network.Network) float64 {
	switch {
	case u.what == series:
		return t.resistance
	case u.what == resonance:
		return t.resonance
	case u.what == rise && fitted(list[u.part]):
		return math.Min(t.rise, riseOfFit)
	case u.what == rise:
		return t.rise
	case list[u.part].Kind == network.Driver:
		return t.driver
	}
	return t.part
}

// Resistances that stand for what is open and what is shorted, ohm.
const (
	openOhm    = 1e6
	shortedOhm = 1e-3
)

// with is the network with unknowns x (nil: none) and a fault.
func (m model) with(x []float64, h hypothesis, extra float64) network.Network {
	n := slices.Clone(m.list)
	for i, u := range m.unknowns {
		if i >= len(x) {
			break
		}
		p, by := &n[u.part], math.Exp(x[i])
		switch {
		case u.what == series:
			p.Series *= by
		case u.what == resonance:
			of := p.Curve
			p.Curve = func(f float64) complex128 { return of(f / by) }
		case u.what == rise:
			of, exponent := p.Curve, complex(x[i], 0)
			p.Curve = func(f float64) complex128 { return of(f) * cmplx.Pow(complex(1, f/riseFrom), exponent) }
		case p.Curve != nil:
			of := p.Curve
			p.Curve = func(f float64) complex128 { return complex(by, 0) * of(f) }
		default:
			p.Value *= by
		}
	}
	p := &n[h.part]
	switch h.fault {
	case Open:
		p.Curve = func(float64) complex128 { return openOhm }
	case Shorted:
		p.Curve = func(float64) complex128 { return shortedOhm }
	case OtherValue:
		p.Value *= math.Exp(extra)
	case Resistance:
		of := *p
		p.Curve = func(f float64) complex128 { return of.Impedance(f) + complex(math.Exp(extra), 0) }
	}
	return n
}

// ln is ln Z of the network with x and a fault.
func (m model) ln(x []float64, h hypothesis, extra float64) []complex128 {
	n := m.with(x, h, extra)
	out := make([]complex128, len(m.freq))
	for i, f := range m.freq {
		r, err := n.At(f)
		if err != nil {
			out[i] = complex(math.NaN(), 0)
			continue
		}
		out[i] = cmplx.Log(r.Impedance)
	}
	return out
}

// take is ln of a measured curve at the frequencies of the model, between its points by their logarithms; beyond its ends it is that at
// the end.
func (m model) take(z measured.Impedance) curve {
	c := curve{flat: z.MagnitudeOnly, ln: make([]complex128, len(m.freq))}
	for i, f := range m.freq {
		k, exact := slices.BinarySearch(z.Freq, f)
		switch {
		case exact || k == 0:
			c.ln[i] = cmplx.Log(z.Z[k])
		case k == z.Len():
			c.ln[i] = cmplx.Log(z.Z[k-1])
		default:
			part := math.Log(f/z.Freq[k-1]) / math.Log(z.Freq[k]/z.Freq[k-1])
			c.ln[i] = cmplx.Log(z.Z[k-1]) + complex(part, 0)*cmplx.Log(z.Z[k]/z.Z[k-1])
		}
	}
	return c
}

// problem is the least-squares problem of a hypothesis.
type problem struct {
	model
	hypothesis
	goal curve
	was  []complex128 // ln Z of what the goal is a ratio to; nil: it is none
	from []float64    // where the unknowns are; nil: zero
	tol  tolerances
	n    int
}

func (p problem) rows() int { return 2*len(p.freq) + len(p.unknowns) }

// Dims implements lsq.Problem.
func (p problem) Dims() (m, n int) { return p.rows(), p.n }

// Eval implements lsq.Problem. Of a network of two-terminal parts with the current i in a part and I at the terminals
//
//	dZ/dz = (i/I)^2
//
// Source: Cohn 1950 (from memory; follows from Tellegen's theorem, and is checked against differences).
func (p problem) Eval(r, jac, x []float64) {
	const step = 1e-5
	k, rows := len(p.unknowns), len(r)
	at, extra := slices.Clone(x[:k]), 0.0
	if p.n > k {
		extra = x[k]
	}
	for i, u := range p.unknowns {
		r[2*len(p.freq)+i] = x[i] / p.tol.width(u, p.list)
		if p.from != nil {
			at[i] += p.from[i]
		}
	}
	n := p.with(at, p.hypothesis, extra)
	moved := make([]network.Part, p.n) // the one part of each unknown, a step farther
	place := make([]int, p.n)
	if jac != nil {
		clear(jac)
		for j := range moved {
			place[j] = p.part
			if j < k {
				place[j] = p.unknowns[j].part
				at[j] += step
				moved[j] = p.with(at, p.hypothesis, extra)[place[j]]
				at[j] -= step
				jac[j*rows+2*len(p.freq)+j] = 1 / p.tol.width(p.unknowns[j], p.list)
			} else {
				moved[j] = p.with(at, p.hypothesis, extra+step)[place[j]]
			}
		}
	}
	for i, f := range p.freq {
		now, err := n.At(f)
		d := complex(math.NaN(), 0)
		if err == nil {
			d = p.goal.ln[i] - cmplx.Log(now.Impedance)
		}
		allowed := p.tol.likeness
		if p.was != nil {
			d += p.was[i]
			allowed = math.Hypot(allowed, ofChange*cmplx.Abs(p.goal.ln[i]))
		}
		im := math.Remainder(imag(d), 2*math.Pi)
		if p.goal.flat {
			im = 0
		}
		r[2*i], r[2*i+1] = real(d)/allowed, im/allowed
		if jac == nil || err != nil {
			continue
		}
		for j, m := range moved {
			z := n[place[j]].Impedance(f)
			current := now.Across[place[j]] / z
			g := -(m.Impedance(f) - z) * current * current * now.Impedance / complex(step*allowed, 0)
			jac[j*rows+2*i] = real(g)
			if !p.goal.flat {
				jac[j*rows+2*i+1] = imag(g)
			}
		}
	}
}

// ofChange is the part of a change that a list of values, which has no losses of iron and dielectric, may miss.
const ofChange = 0.1
