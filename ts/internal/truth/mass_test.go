package truth

import (
	"math"
	"testing"

	"gonum.org/v1/gonum/stat"
)

func TestMassOnGlueAndOffTheAxis(t *testing.T) {
	d := Lumped(6, 0, 8, 0.02, 1e-3, 1, 0.02)
	const w = 250.0
	rigid := Mass{Kg: 0.01}.Mechanical(w, d)
	nearC(t, "rigid", rigid, jw(w*0.01), 1e-15)
	nearC(t, "hard glue", Mass{Kg: 0.01, Glue: 1e6, Q: 5}.Mechanical(w, d), rigid, 1e-6)
	// Below its resonance f a mass on glue seems heavier by 1/(1 - (ω/ω_g)²).
	soft := Mass{Kg: 0.01, Glue: 400, Q: 1e6}.Mechanical(w, d)
	near(t, "soft glue", imag(soft), w*0.01/(1-math.Pow(w/(2*math.Pi*400), 2)), 1e-6)
	// Off the axis of a cone that cannot turn it is a mass; where nothing resists the turning, the mass is
	// reduced by what turns: m J/(J + m d²).
	off := Mass{Kg: 0.01, Off: 0.03, Rocks: Rocking{Inertia: 1e-5, Frequency: 1e6, Q: 5}}
	nearC(t, "cannot turn", off.Mechanical(w, d), rigid, 1e-5)
	off.Rocks.Frequency = 1e-3
	near(t, "turns freely", imag(off.Mechanical(w, d)), w*0.01*1e-5/(1e-5+0.01*0.0009), 1e-6)
}

// The scale's error is shared by its pieces and is 1 to 2 %; putty is forgotten half of the time.
func TestScalesAndPutty(t *testing.T) {
	var both []float64
	putty, n := 0, 2000
	d := DrawWith(Rand(16), Plain)
	for seed := range uint64(n) {
		rng := Rand(seed, 107)
		s := DrawScale(rng)
		if e := math.Abs(s.Error); e < 0.01 || e > 0.02 {
			t.Fatalf("a scale that is %.3f off", e)
		}
		a, b := s.Weigh(rng, 0.05), s.Weigh(rng, 0.02)
		both = append(both, a.True/a.Told-b.True/b.Told)
		if m := CommonPlacing.Put(rng, a, d); m.Kg > a.True+1e-4 {
			near(t, "putty", m.Kg-a.True, 2e-4, 1e-9)
			putty++
		}
	}
	near(t, "pieces of one scale", stat.StdDev(both, nil), 0.002*math.Sqrt2, 0.1)
	near(t, "share of putty", float64(putty)/float64(n), 0.5, 0.1)
}

// What a shop's placing does to the mass that a cone feels at resonance is of the order of a percent.
func TestPlacingErrors(t *testing.T) {
	var errors []float64
	for seed := range uint64(400) {
		rng := Rand(seed, 108)
		d := DrawWith(rng, Plain)
		v := d.Values()
		m := CommonPlacing.Put(rng, Piece{True: v.Mms}, d)
		m.Kg = v.Mms // without the putty
		ws := 2 * math.Pi * v.Fs / math.Sqrt2
		errors = append(errors, imag(m.Mechanical(ws, d))/(ws*v.Mms)-1)
	}
	if sd := stat.StdDev(errors, nil); sd < 0.003 || sd > 0.03 {
		t.Errorf("placing moves the mass by %.4f", sd)
	}
}
