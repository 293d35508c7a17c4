package truth

import (
	"math"
	"math/rand/v2"
)

// size is what is common for drivers of a nominal diameter. Medians are common practice and agree with the
// published 3-, 12- and 15-inch examples of two university courses.
type size struct {
	inch float64
	fs   float64 // Hz
	coil float64 // diameter of the voice coil, mm
}

var woofers = []size{{5, 55, 25}, {6.5, 45, 28}, {8, 37, 34}, {10, 31, 45}, {12, 27, 58}, {15, 26, 75}}
var wideBand = []size{{2, 150, 14}, {3, 100, 20}, {4, 75, 22}}

// Draw draws a driver: a woofer of 5 to 15 inches, one in ten a small wide-band driver. One in two has a
// second resonance of 5 to 30 % of |Z|.
func Draw(rng *rand.Rand) Driver { return DrawWith(rng, Choice{}) }

// Choice is what must hold for a drawn driver. The zero Choice leaves all to chance.
type Choice struct {
	Inch float64 // nominal size, one of 2, 3, 4, 5, 6.5, 8, 10, 12, 15
	// Resonance is the size of the second resonance (ResonanceSize): 0 is chance, negative is none.
	Resonance float64
	Calm      bool // without the many small resonances of the cone
	Foam      bool // the frame lies on foam and recoils
	Mounting  Mounting
}

// Plain is a driver without any second resonance: only suspension, coil and air are other than lumped.
var Plain = Choice{Calm: true, Resonance: -1}

// DrawWith draws a driver with some of it chosen.
func DrawWith(rng *rand.Rand, want Choice) Driver {
	kind := drawSize(rng, want.Inch)
	wide := kind.inch < 5
	d := Driver{Inch: kind.inch, Air: RoomAir, Mounting: want.Mounting, Wire: Copper, Magnet: Ferrite}
	if d.Mounting == NoAir {
		d.Mounting = FreeAir
	}
	if chance(rng, 0.2) {
		d.Wire = Aluminium
	}
	if chance(rng, 0.25) {
		d.Magnet = Neodymium
	}
	// The radiating diameter is 0.76 to 0.86 of the nominal one, more for large drivers.
	radius := 0.0254 / 2 * kind.inch * (0.79 + 0.005*(kind.inch-5) + 0.012*rng.NormFloat64())
	d.Sd = math.Pi * radius * radius

	// A heavier cone for its size goes with a lower resonance and a stronger motor.
	heavy := rng.NormFloat64()
	mms := 4.15e-5 * math.Pow(d.Sd*1e4, 1.2) * math.Exp(0.22*heavy)
	ws := 2 * math.Pi * kind.fs * math.Exp(-0.07*heavy+0.17*rng.NormFloat64())
	qms := clamp(lognormal(rng, 4.3, 0.45), 1.4, 12)
	if chance(rng, 0.12) { // formers that do not conduct, open spiders
		qms = between(rng, 9, 18)
	}
	median := 0.45
	if wide {
		median = 0.7
	}
	qes := clamp(lognormal(rng, median, 0.36), 0.18, 1.5)
	if kind.inch >= 10 && chance(rng, 0.25) { // for loud music: a short stiff suspension and a strong motor
		ws *= 1.5
		qes *= 0.75
	}

	d.Re = drawRe(rng)
	d.BL = sqrt(ws * mms * d.Re / qes)
	air := d.airMass()
	d.Mmd = mms - air
	stiffness := ws * ws * mms
	d.Suspension, d.Rv = drawSuspension(rng, stiffness, ws, qms, mms)
	d.Softens = Softening{Share: between(rng, 0.03, 0.15), Knee: betweenLog(rng, 1e-4, 1e-3), Harden: betweenLog(rng, 0.004, 0.04) * 1e6}
	d.Coil = drawCoil(rng, d.Re, kind)

	if want.Resonance > 0 || want.Resonance == 0 && chance(rng, 0.5) {
		target := want.Resonance
		if target == 0 {
			target = betweenLog(rng, 0.05, 0.30)
		}
		static := 0.0 // one in two is the surround, which also holds the cone
		if chance(rng, 0.5) {
			static = stiffness * between(rng, 0.02, 0.15)
		}
		f2 := lognormal(rng, clamp(3800/kind.inch, 350, 850), 0.3) // lower on larger cones
		if f2 < 300 || f2 > 1000 {
			f2 = betweenLog(rng, 300, 1000)
		}
		f2 = max(f2, 4*ws/(2*math.Pi))
		d = d.WithResonance(target, f2, between(rng, 5, 25), static)
	}
	if !want.Calm {
		d = withModes(rng, d)
	}
	if want.Foam {
		d.Frame = drawFrame(rng, mms)
	}
	return d
}

func drawSize(rng *rand.Rand, inch float64) size {
	for _, s := range append(append([]size(nil), woofers...), wideBand...) {
		if s.inch == inch {
			return s
		}
	}
	if inch != 0 {
		panic("truth: no driver of this nominal size")
	}
	if chance(rng, 0.1) {
		return wideBand[rng.IntN(len(wideBand))]
	}
	return woofers[rng.IntN(len(woofers))]
}

// drawRe is the DC resistance of a coil of 4, 6 or 8 ohm: 0.68 to 0.86 of the nominal value.
func drawRe(rng *rand.Rand) float64 {
	nominal := 8.0
	switch u := rng.Float64(); {
	case u < 0.38:
		nominal = 4
	case u < 0.48:
		nominal = 6
	}
	return nominal * between(rng, 0.68, 0.86)
}

// drawSuspension makes a suspension of about a stiffness at ws, and the viscous loss that goes with it, so
// that Qms is about q with a moving mass of m kg. The surround is 30 to 60 % of the stiffness; 25 to 85 % of the losses are the
// material's, the rest is viscous: air that is pumped through gaps, and eddy currents in the former.
func drawSuspension(rng *rand.Rand, stiffness, ws, q, m float64) (Suspension, float64) {
	part := between(rng, 0.3, 0.6)
	// loss factor of the whole that the material may have
	angle := min(between(rng, 0.25, 0.85)/q, 0.2)
	surround := drawSurround(rng)
	spider := drawSpider(rng, ws)
	loss := func(s Suspension) float64 { k := s.Stiffness(ws); return imag(k) / real(k) }
	both := Together{
		Changed{Of: surround, Factor: part * stiffness / real(surround.Stiffness(ws)), Loss: 1, At: ws},
		Changed{Of: spider, Factor: (1 - part) * stiffness / real(spider.Stiffness(ws)), Loss: 1, At: ws},
	}
	// The material's loss factor is brought to the angle with the same factor for both parts.
	top := 0.8 / math.Atan(max(loss(surround), loss(spider))) // where one of them has a loss angle of 0.8
	exponent := zeroOf(func(e float64) float64 { return loss(lossier(both, e, ws)) - angle }, 1e-3, top)
	s := lossier(both, exponent, ws)
	k := s.Stiffness(ws)
	return s, ws*m/q - imag(k)/ws
}

// lossier raises the losses of every part of a suspension to a multiple and keeps its stiffness at ws.
func lossier(parts Together, multiple, ws float64) Together {
	out := make(Together, len(parts))
	for i, p := range parts {
		c := p.(Changed)
		c.Loss = multiple
		c.Factor *= real(c.Of.Stiffness(ws))
		bent := Changed{Of: c.Of, Factor: 1, Loss: multiple, At: ws}
		c.Factor /= real(bent.Stiffness(ws))
		out[i] = c
	}
	return out
}

// drawSurround is one of rubber (fractional Zener), of foam (spread of relaxation times) or of cloth
// (fractional Voigt), of stiffness about 1 N/m.
func drawSurround(rng *rand.Rand) Suspension {
	switch rng.IntN(3) {
	case 0:
		return FractionalZener{K: 1, Step: between(rng, 0.8, 4), Tau: betweenLog(rng, 1e-5, 1e-3), Alpha: between(rng, 0.35, 0.7)}
	case 1:
		r := Relaxations{K: 1}
		for tau := 10.0; tau > 2e-5; tau /= between(rng, 3, 12) {
			r.Each = append(r.Each, Relaxation{K: lognormal(rng, 0.06, 0.5), Tau: tau})
		}
		return r
	}
	return FractionalVoigt{K: 1, Tau: betweenLog(rng, 1e-6, 1e-5), Alpha: between(rng, 0.2, 0.5)}
}

// drawSpider is resin-soaked cloth: a constant loss angle, or a fractional Voigt body of small order.
func drawSpider(rng *rand.Rand, ws float64) Suspension {
	if chance(rng, 0.5) {
		return Structural{K: 1, At: ws, Angle: between(rng, 0.02, 0.1)}
	}
	return FractionalVoigt{K: 1, Tau: betweenLog(rng, 1e-7, 1e-5), Alpha: between(rng, 0.15, 0.4)}
}

// drawCoil is a coil of re ohm for a size: leakage, a solid pole, plates, in one of three shorting rings or a
// copper cap. Its inductance at 1 kHz has a median of 0.11 mH an ohm for 6.5 inches and rises with the size
// of the coil (common practice); conductors halve it.
func drawCoil(rng *rand.Rand, re float64, kind size) Coil {
	// Steel of 4 to 9 MS/m, from the bulk of the pole (10 Hz for 5 mm at a relative permeability of 100) to
	// thin parts near saturation.
	iron := func(low, high float64, solid bool) Section {
		return Section{L: 1, Iron: Iron{Corner: 2 * math.Pi * betweenLog(rng, low, high), Solid: solid, Hysteresis: between(rng, 0, 0.08)}}
	}
	c := Coil{
		Sections: []Section{iron(10, 100, true), iron(50, 800, false), iron(300, 5000, false)},
		Wire:     Wire{Corner: diffusionCorner(1, 5.8e7, betweenLog(rng, 1.2e-4, 3e-4)), Layers: []int{2, 2, 2, 4}[rng.IntN(4)]},
	}
	// Shares of the inductance at 1 kHz: leakage 5 to 35 %, the rest by chance.
	leak := between(rng, 0.05, 0.35)
	share := []float64{between(rng, 0.2, 1), between(rng, 0.2, 1), between(rng, 0.1, 0.6)}
	sum := (share[0] + share[1] + share[2]) / (1 - leak)
	const w = 2 * math.Pi * 1000
	c.Leak = leak / w
	for i := range c.Sections {
		c.Sections[i].L = share[i] / sum / imag(c.Sections[i].Impedance(w))
	}
	l := lognormal(rng, 1.1e-4*re, 0.35) * math.Pow(kind.coil/28, 0.9)
	if chance(rng, 0.35) {
		l /= 1.6
		for i := range c.Sections[:1+rng.IntN(2)] {
			s := &c.Sections[i]
			s.Ring = Ring{
				R:        betweenLog(rng, 0.3, 4) * imag(s.Impedance(w)),
				Coupling: between(rng, 0.6, 0.95),
				Corner:   diffusionCorner(1, 5.8e7, betweenLog(rng, 3e-4, 3e-3)),
			}
		}
	}
	return c.Scaled(l * w / imag(c.Impedance(w, 0)))
}

// drawFrame is a frame of 25 to 100 times the moving mass of m kg on foam with a resonance of 4 to 20 Hz.
func drawFrame(rng *rand.Rand, m float64) Frame {
	mass, w := m*betweenLog(rng, 25, 100), 2*math.Pi*betweenLog(rng, 4, 20)
	return Frame{Mass: mass, K: mass * w * w, R: mass * w / 2}
}

func clamp(x, low, high float64) float64 { return min(max(x, low), high) }
