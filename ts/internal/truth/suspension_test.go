package truth

import (
	"fmt"
	"math"
	"math/cmplx"
	"testing"
)

// With α = 1 the fractional bodies are the classical ones: K + jωKτ, and a spring beside a spring with a damper.
func TestFractionalBodiesOfOrderOne(t *testing.T) {
	const w = 300
	nearC(t, "Voigt", FractionalVoigt{K: 1000, Tau: 1e-4, Alpha: 1}.Stiffness(w), complex(1000, 1000*1e-4*w), 1e-12)
	zener := FractionalZener{K: 1000, Step: 500, Tau: 1e-3, Alpha: 1}.Stiffness(w)
	nearC(t, "Zener", zener, Relaxations{K: 1000, Each: []Relaxation{{500, 1e-3}}}.Stiffness(w), 1e-12)
	// spring 500 in series with a damper of 500 τ: 1/(1/500 + 1/(jω 0.5))
	nearC(t, "Maxwell", zener, 1000+1/(1./500+1/jw(w*0.5)), 1e-12)
	nearC(t, "at rest", FractionalZener{K: 1000, Step: 500, Tau: 1e-3, Alpha: 0.5}.Stiffness(1e-9), 1000, 1e-3)
	nearC(t, "fast", FractionalZener{K: 1000, Step: 500, Tau: 1e-3, Alpha: 0.5}.Stiffness(1e15), 1500, 1e-3)
}

// A dense set of relaxations with weights τ^-α (ln τ evenly) is the spring-pot: Γ integrals give
// Σ (jωτ)/(1+jωτ) τ^-α d ln τ = (jω)^α π/sin(πα) (Gradshteyn and Ryzhik 3.241.2, from memory).
func TestRelaxationsMakeASpringPot(t *testing.T) {
	const alpha, step = 0.3, 0.05
	var r Relaxations
	for u := -60.0; u < 40; u += step {
		r.Each = append(r.Each, Relaxation{K: math.Exp(-alpha*u) * step, Tau: math.Exp(u)})
	}
	nearC(t, "stiffness", r.Stiffness(200), power(200, alpha)*complex(math.Pi/math.Sin(math.Pi*alpha), 0), 1e-5)
}

// A constant angle of loss has its slope of stiffness.
func TestStructuralLoss(t *testing.T) {
	s := Structural{K: 800, At: 250, Angle: 0.07}
	for _, w := range []float64{10, 250, 9000} {
		near(t, "angle", cmplx.Phase(s.Stiffness(w)), 0.07, 1e-12)
	}
	near(t, "at ω0", cmplx.Abs(s.Stiffness(250)), 800, 1e-12)
	near(t, "slope", math.Log(cmplx.Abs(s.Stiffness(500))/800)/math.Ln2, 2*0.07/math.Pi, 1e-9)
}

func TestChangedSuspension(t *testing.T) {
	of := FractionalZener{K: 1000, Step: 800, Tau: 1e-4, Alpha: 0.5}
	const w0 = 250
	c := Changed{Of: of, Factor: 1.2, Loss: 1.5, At: w0}
	near(t, "stiffness", cmplx.Abs(c.Stiffness(w0)), 1.2*cmplx.Abs(of.Stiffness(w0)), 1e-12)
	for _, w := range []float64{20, w0, 3000} {
		near(t, "angle", cmplx.Phase(c.Stiffness(w)), 1.5*cmplx.Phase(of.Stiffness(w)), 1e-9)
	}
}

// Stiffness and loss of drawn suspensions belong together by Bode's relation between gain and phase, which
// holds for what is causal and has a causal inverse:
//
//	arg K(ω) = (1/π) ∫ d ln|K|/du ln coth|u/2| du,  u = ln(x/ω)
//
// Reference: Bode, Network Analysis and Feedback Amplifier Design, 1945, chapter 14 (from memory).
func TestDrawnSuspensionsAreCausal(t *testing.T) {
	for seed := range seeds(30) {
		rng := Rand(seed, 100)
		s, rv := drawSuspension(rng, 1500, 250, 5, 0.024)
		if rv <= 0 {
			t.Errorf("seed %d: viscous loss %g", seed, rv)
		}
		near(t, fmt.Sprint("stiffness ", seed), real(s.Stiffness(250)), 1500, 1e-6)
		near(t, fmt.Sprint("Qms ", seed), 250*0.024/(rv+imag(s.Stiffness(250))/250), 5, 1e-6)
		for _, w := range []float64{10, 100, 1000, 1e4, 1e5} {
			k := s.Stiffness(w)
			if imag(k) < 0 {
				t.Errorf("seed %d: negative loss at %g rad/s", seed, w)
			}
			if angle, bode := cmplx.Phase(k), bodePhase(s, w); math.Abs(angle-bode) > 1e-3*angle {
				t.Errorf("seed %d at %g rad/s: loss angle %.6f, the stiffness says %.6f", seed, w, angle, bode)
			}
		}
	}
	// A loss that comes without its stiffness is found.
	if wrong := (Changed{Of: Spring{1}, Factor: 1, Loss: 1, At: 1}); math.Abs(bodePhase(wrong, 100)-0.1) < 0.09 {
		t.Error("a stiffness that is constant has no loss")
	}
}

// bodePhase is the phase that the modulus of a stiffness asks for at w rad/s. The weights have the sum π²/2, to
// which they are brought: the logarithm at u = 0 is coarse.
func bodePhase(s Suspension, w float64) float64 {
	const step = 0.02
	sum, weights := 0.0, 0.0
	before := math.Log(cmplx.Abs(s.Stiffness(w * math.Exp(-16))))
	for u := -16 + step/2; u < 16; u += step {
		here := math.Log(cmplx.Abs(s.Stiffness(w * math.Exp(u+step/2))))
		weight := math.Log(1 / math.Tanh(math.Abs(u)/2))
		sum, weights, before = sum+(here-before)*weight, weights+step*weight, here
	}
	return sum / weights * math.Pi / 2
}
