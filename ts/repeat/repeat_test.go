package repeat

import (
	"fmt"
	"math"
	"math/rand/v2"
	"testing"

	"conewright/ts/param"

	"gonum.org/v1/gonum/mat"
)

// some is a scatter in which all go together.
var some = Scatter{Std: [3]float64{0.01, 0.03, 0.005}, Correlation: [3]float64{-0.4, 0.3, 0.1}, Dof: 5}

// The chain in the unknowns of a fit has the covariance that it was made of: ln Fs = ln K/2, ln Qms = ln K/2 - ln R.
func TestChain(t *testing.T) {
	std, slope := some.Chain()
	rng := rand.New(rand.NewPCG(1, 2))
	v := mat.NewSymDense(3, nil)
	const draws = 200000
	for range draws {
		heat := std[0] * rng.NormFloat64()
		drift := slope[0]*heat + std[1]*rng.NormFloat64()
		friction := slope[1]*heat + slope[2]*drift + std[2]*rng.NormFloat64()
		v.SymRankOne(v, 1./draws, mat.NewVecDense(3, []float64{drift / 2, drift/2 - friction, heat}))
	}
	got := Of(v, 1, false)
	for i := range 3 {
		if math.Abs(got.Std[i]/some.Std[i]-1) > 0.01 || math.Abs(got.Correlation[i]-some.Correlation[i]) > 0.01 {
			t.Errorf("%d: %v, %v; want %v, %v", i, got.Std[i], got.Correlation[i], some.Std[i], some.Correlation[i])
		}
	}
}

// driverSet is a set of values without uncertainty, in which Qms is 5 and Qes 0.5.
func driverSet() param.Parameters {
	p := param.Parameters{IDs: []param.ID{param.Re, param.Fs, param.Qms, param.Qes, param.Qts, param.Mms, param.Cms, param.Rms, param.BL}, Coverage: 1.96}
	for _, v := range []float64{6, 30, 5, 0.5, 5 * 0.5 / 5.5, 0.03, 1, 1, 8} {
		p.Scaled = append(p.Scaled, math.Log(v))
		p.Origin = append(p.Origin, param.FromFit)
	}
	return p
}

// What scatters are stiffness, losses and Re; the mass and BL stay. So Cms scatters twice as far as Fs, Rms by
// Qms and Fs together, and the relations between the quantities hold in every component.
func TestInclude(t *testing.T) {
	p := Bench{Session: some}.Include(driverSet(), Again)
	std := func(id param.ID) float64 { return p.ScaledStd(p.Index(id)) }
	for id, want := range map[param.ID]float64{param.Fs: 0.01, param.Qms: 0.03, param.Re: 0.005, param.Cms: 0.02, param.Mms: 0, param.BL: 0,
		param.Rms: math.Sqrt(0.01*0.01 + 0.03*0.03 + 2*0.4*0.01*0.03)} {
		if math.Abs(std(id)-want) > 1e-12 {
			t.Errorf("%v scatters by %v, want %v", id, std(id), want)
		}
	}
	for _, c := range p.Components {
		at := func(id param.ID) float64 { return c.Effect[p.Index(id)] }
		// Fs = 1/(2 pi sqrt(M C)), Qms = ws M/R, Qes = ws M Re/BL^2, 1/Qts = 1/Qms + 1/Qes
		for name, rest := range map[string]float64{"Fs": 2*at(param.Fs) + at(param.Mms) + at(param.Cms), "Qms": at(param.Qms) - at(param.Fs) - at(param.Mms) + at(param.Rms),
			"Qes": at(param.Qes) - at(param.Fs) - at(param.Mms) - at(param.Re) + 2*at(param.BL), "Qts": at(param.Qts) - at(param.Qms)/11 - at(param.Qes)*10/11} {
			if math.Abs(rest) > 1e-12 {
				t.Errorf("%s: %s is off by %v", c.Source, name, rest)
			}
		}
		if !c.Own || c.Dof != 5 || c.Scatter != "session" || c.Part != param.RepeatPart {
			t.Errorf("component %+v", c)
		}
	}
}

// Variances add up over the kinds, and a sample of sweeps is pooled by degrees of freedom.
func TestWithinAndPool(t *testing.T) {
	b := Bench{Again: {Std: [3]float64{3, 0, 0}, Dof: 6}, Session: {Std: [3]float64{4, 0, 0}, Dof: 6}}
	if s := b.Within(Session); math.Abs(s.Std[0]-5) > 1e-12 || math.Abs(s.Dof-625/((81+256)/6.)) > 1e-9 {
		t.Errorf("%+v", s)
	}
	if s := b.Within(Reclamped); s.Std[0] != 3 || s.Dof != 6 {
		t.Errorf("%+v", s)
	}
	sample := mat.NewSymDense(3, []float64{25, 0, 0, 0, 0, 0, 0, 0, 0})
	s := b.Within(Again).Pool(sample, 3)
	if want := math.Sqrt((6*9 + 2*25) / 8.); math.Abs(s.Std[0]-want) > 1e-12 || s.Dof != 8 {
		t.Errorf("pooled %+v, want %v", s, want)
	}
	if s := Usual.Within(Again).Pool(sample, 2); !Usual.Within(Again).Assumed || !(s.Dof == 2 && !s.Assumed) {
		t.Errorf("pooled with what is usual: %+v", s)
	}
}

// Three sweeps of one session leave what the session is; of three sessions a third of the variance is left.
func TestLeft(t *testing.T) {
	p := Usual.Include(driverSet(), Again)
	i := p.Index(param.Fs)
	v := func(k Kind) float64 { return Usual[k].Std[0] * Usual[k].Std[0] }
	for _, c := range []struct {
		kind Kind
		more int
		want float64
	}{{Again, 2, v(Again)/3 + v(Reclamped) + v(Session)}, {Reclamped, 2, (v(Again)+v(Reclamped))/3 + v(Session)}, {Session, 2, (v(Again) + v(Reclamped) + v(Session)) / 3}, {Again, 0, v(Again) + v(Reclamped) + v(Session)}} {
		if got := Left(p, i, c.kind, c.more); math.Abs(got/c.want-1) > 1e-9 {
			t.Errorf("%d more of %v: %v, want %v", c.more, c.kind, got, c.want)
		}
	}
}

// In one session the same driver shares all of it, another driver the room alone.
func TestOneSession(t *testing.T) {
	p := Usual.Include(driverSet(), Again)
	for same, want := range map[bool]int{true: 3, false: 1} {
		shared := 0
		for _, c := range OneSession(p, same).Components {
			if !c.Own {
				shared++
				if c.Scatter != "session" {
					t.Errorf("%s is shared", c.Source)
				}
			}
		}
		if shared != want {
			t.Errorf("same driver %v: %d components shared, want %d", same, shared, want)
		}
	}
}

// nested draws a nested study with the standard deviations given, by Kind.
func nested(rng *rand.Rand, std [3]float64, sessions, clampings, sweeps int) []Reading {
	var all []Reading
	for s := range sessions {
		session := std[Session] * rng.NormFloat64()
		for c := range clampings {
			clamped := session + std[Reclamped]*rng.NormFloat64()
			for range sweeps {
				x := clamped + std[Again]*rng.NormFloat64()
				all = append(all, Reading{Session: fmt.Sprint(s), Clamping: fmt.Sprint(c), Values: [3]float64{x, 2*x + 0.001*rng.NormFloat64(), 0.001 * rng.NormFloat64()}})
			}
		}
	}
	return all
}

// A large study finds the standard deviations and that Qms goes with Fs; a small one holds a new difference of two
// sessions in 95 of 100.
func TestLearn(t *testing.T) {
	std := [3]float64{0.001, 0.003, 0.008}
	rng := rand.New(rand.NewPCG(3, 4))
	big, err := Learn(nested(rng, std, 60, 3, 3))
	if err != nil {
		t.Fatal(err)
	}
	for _, k := range Kinds[:3] {
		if s := big.Bench[k]; math.Abs(s.Std[0]/std[k]-1) > 0.3 || s.Correlation[0] < 0.6 || s.Assumed {
			t.Errorf("%v: %+v, want %v", k, s, std[k])
		}
		if in := big.Std[k][0]; !(in.Lo < big.Bench[k].Std[0] && big.Bench[k].Std[0] < in.Hi) {
			t.Errorf("%v: interval %v", k, in)
		}
	}
	if big.Bench[Operator].Known() || big.Freedom != [4]int{360, 120, 59, 0} {
		t.Errorf("freedom %v, operator %+v", big.Freedom, big.Bench[Operator])
	}
	in, trials := 0, 200
	total := math.Sqrt(2 * (std[0]*std[0] + std[1]*std[1] + std[2]*std[2]))
	for range trials {
		small, err := Learn(nested(rng, std, 5, 2, 2))
		if err != nil {
			t.Fatal(err)
		}
		p := small.Bench.Include(driverSet(), Again)
		i := p.Index(param.Fs)
		if math.Abs(total*rng.NormFloat64()) < p.Dist(i).Quantile(0.975)*math.Sqrt2*p.ScaledStd(i) {
			in++
		}
	}
	if share := float64(in) / float64(trials); share < 0.91 || share > 0.985 {
		t.Errorf("a new difference is held in %.1f %%", 100*share)
	}
}

// What the sweeps do not show is as usual, and said to be assumed; too few show nothing.
func TestLearnFromLittle(t *testing.T) {
	got, err := Learn(nested(rand.New(rand.NewPCG(5, 6)), [3]float64{0.001, 0.003, 0.008}, 1, 1, 6))
	if err != nil {
		t.Fatal(err)
	}
	if s := got.Bench[Session]; !s.Assumed || math.Abs(s.Std[0]/Usual[Session].Std[0]-1) > 0.01 || got.Bench[Again].Assumed {
		t.Errorf("%+v", got.Bench)
	}
	if _, err := Learn(nested(rand.New(rand.NewPCG(5, 6)), [3]float64{1, 1, 1}, 1, 1, 3)); err == nil {
		t.Error("three sweeps show how a bench repeats")
	}
}

// What no bench does is refused.
func TestCheck(t *testing.T) {
	if err := Usual.Check(); err != nil {
		t.Error(err)
	}
	for name, s := range map[string]Scatter{
		"negative": {Std: [3]float64{-1, 0, 0}, Dof: 1}, "huge": {Std: [3]float64{0.6, 0, 0}, Dof: 1}, "not a number": {Std: [3]float64{math.NaN(), 0, 0}, Dof: 1},
		"correlation": {Std: [3]float64{0.1, 0.1, 0.1}, Correlation: [3]float64{1.1, 0, 0}, Dof: 1}, "correlations that contradict": {Std: [3]float64{0.1, 0.1, 0.1}, Correlation: [3]float64{1, 1, -1}, Dof: 1},
		"little known": {Dof: 0.1},
	} {
		if (Bench{Session: s}).Check() == nil {
			t.Errorf("%s passes", name)
		}
	}
}
