package lot

import (
	"errors"
	"math"
	"math/rand/v2"
	"slices"
	"testing"

	"conewright/ts/driver"
	"conewright/ts/handmade"
	"conewright/ts/internal/refer"
	"conewright/ts/notice"
	"conewright/ts/param"
	"conewright/ts/verdict"

	"gonum.org/v1/gonum/mat"
	"gonum.org/v1/gonum/stat/distuv"
)

func pairOf(t *testing.T, left, right driver.Driver, mass bool, opt PairOptions) *Paired {
	t.Helper()
	set := func(d driver.Driver) param.Parameters {
		return handmade.Known{Driver: d, Std: handmade.Std, Mass: mass}.Parameters(nil)
	}
	p, err := Pair(set(left), set(right), opt)
	if err != nil {
		t.Fatal(err)
	}
	return p
}

// Doing what is advised brings the pair together, by as much as was said.
func TestPairFixWorks(t *testing.T) {
	for name, right := range map[string]driver.Driver{
		"stiffer": handmade.Changed(func(d *driver.Driver) { d.Cms /= 1.25 }),
		"lighter": handmade.Changed(func(d *driver.Driver) { d.Mms *= 0.82 }),
		"heavier": handmade.Changed(func(d *driver.Driver) { d.Mms *= 1.2 }),
		"softer":  handmade.Changed(func(d *driver.Driver) { d.Cms *= 1.25 }),
	} {
		p := pairOf(t, handmade.Woofer, right, true, PairOptions{})
		if p.Verdict != verdict.OutOfSpec || len(p.Fixes) == 0 {
			t.Errorf("%s: %v, fixes %+v", name, p.Verdict, p.Fixes)
			continue
		}
		fix := p.Fixes[0]
		want := map[string]PairFix{"stiffer": {Side: RightSide, What: Soften}, "softer": {Side: LeftSide, What: Soften},
			"lighter": {Side: RightSide, What: AddMass}, "heavier": {Side: LeftSide, What: AddMass}}[name]
		if fix.Side != want.Side || fix.What != want.What || !fix.Within {
			t.Errorf("%s: best fix %+v", name, fix)
		}
		sides := [2]driver.Driver{handmade.Woofer, right}
		if fix.What == AddMass {
			sides[fix.Side].Mms += fix.Mass
		} else {
			sides[fix.Side].Cms /= 1 - fix.Percent/100
		}
		after := pairOf(t, sides[0], sides[1], true, PairOptions{})
		if after.Verdict != verdict.InSpec || math.Abs(after.Distance-fix.Distance) > 0.05 {
			t.Errorf("%s: after the fix %v, distance %v, predicted %v", name, after.Verdict, after.Distance, fix.Distance)
		}
	}
	if p := pairOf(t, handmade.Woofer, handmade.Changed(func(d *driver.Driver) { d.Re *= 1.2 }), false, PairOptions{}); len(p.Fixes) != 0 {
		t.Errorf("neither mass nor suspension mends a coil: %+v", p.Fixes)
	}
}

// A resistor that is off moves both equally and must not hide a match; the same
// uncertainty in each alone must leave it open.
func TestPairCancelsTheBench(t *testing.T) {
	set := func(source string) param.Parameters {
		return handmade.Known{Driver: handmade.Woofer, Std: handmade.Std, Extra: []param.Component{{Source: source, Part: param.BenchPart, Effect: []float64{0.03, 0, 0, 0}}}}.Parameters(nil)
	}
	for source, want := range map[string]verdict.Verdict{"resistor": verdict.InSpec, "another resistor": verdict.Undecided} {
		p, err := Pair(set("resistor"), set(source), PairOptions{})
		if err != nil || p.Verdict != want {
			t.Errorf("%s: %v, %v; want %v", source, p.Verdict, err, want)
		}
	}
}

// For independent quantities the joint probability is the product, and for
// fully correlated ones that of the tighter one: both from the normal table.
func TestJointProbability(t *testing.T) {
	one := func(d, limit float64) float64 {
		return distuv.UnitNormal.CDF(limit-d) - distuv.UnitNormal.CDF(-limit-d)
	}
	x := refer.Difference{IDs: []param.ID{param.Re, param.Fs}, D: []float64{0.5, -0.3}, V: mat.NewSymDense(2, []float64{1, 0, 0, 1})}
	if got, want := jointProbability(x, []float64{1.5, 2}), one(0.5, 1.5)*one(-0.3, 2); math.Abs(got-want) > 0.01 {
		t.Errorf("independent: %v, want %v", got, want)
	}
	x.D, x.V = []float64{0.5, 0.5}, mat.NewSymDense(2, []float64{1, 1, 1, 1 + 1e-9})
	if got, want := jointProbability(x, []float64{3, 1.5}), one(0.5, 1.5); math.Abs(got-want) > 0.01 {
		t.Errorf("correlated: %v, want %v", got, want)
	}
}

// One quantity at its limit, measured sharply, is a distance of 2.
func TestMatchDistance(t *testing.T) {
	right := handmade.Changed(func(d *driver.Driver) { d.Re *= 1.05; d.BL *= math.Sqrt(1.05) }) // Re alone
	std := map[param.ID]float64{param.Re: 1e-6, param.Fs: 1e-6, param.Qms: 1e-6, param.Qes: 1e-6}
	set := func(d driver.Driver) param.Parameters {
		d.Coil = nil
		return handmade.Known{Driver: d, Std: std}.Parameters(nil)
	}
	p, err := Pair(set(handmade.Woofer), set(right), PairOptions{})
	if err != nil || math.Abs(p.Distance-2) > 1e-3 {
		t.Errorf("distance %v, %v", p.Distance, err)
	}
	points := pointsOf(set(handmade.Woofer), set(right))
	if d := points.Distance(0, 1); points.Len() != 2 || math.Abs(d-p.Distance) > 1e-6 {
		t.Errorf("the %d points are %v apart, the sets %v", points.Len(), d, p.Distance)
	}
}

// The distance against gonum's solution of the same equations, with covariances
// drawn at random.
func TestMatchDistanceAgainstGonum(t *testing.T) {
	rng := rand.New(rand.NewPCG(5, 12))
	for n := range 7 {
		if n == 0 {
			continue
		}
		root := mat.NewDense(n, n, nil)
		d, limits := make([]float64, n), make([]float64, n)
		for i := range n {
			d[i], limits[i] = rng.NormFloat64(), 0.5+rng.Float64()
			for j := range n {
				root.Set(i, j, rng.NormFloat64())
			}
		}
		v := mat.NewSymDense(n, nil)
		v.SymOuterK(1, root)
		x := mat.NewVecDense(n, d)
		want := math.Sqrt(mat.Inner(x, toleranceMetric(v, limits), x))
		if got := matchDistance(slices.Clone(d), lowerTriangle(v), limits); math.Abs(got-want) > 1e-9*want {
			t.Errorf("%d quantities: %v, want %v", n, got, want)
		}
	}
	if got := matchDistance([]float64{1, 1}, []float64{0, 5, 0}, []float64{2, 2}); !math.IsInf(got, 1) {
		t.Errorf("a covariance that is none gives %v", got)
	}
}

func TestPairRefuses(t *testing.T) {
	p := handmade.Known{Driver: handmade.Woofer, Std: handmade.Std}.Parameters(nil)
	for code, opt := range map[string]PairOptions{
		"bad-value":      {Confidence: 2},
		"no-limits":      {Limits: []PairLimit{}},
		"bad-pair-limit": {Limits: []PairLimit{{param.Fs, -1}}},
		"limit-twice":    {Limits: []PairLimit{{param.Fs, 5}, {param.Fs, 4}}},
	} {
		_, err := Pair(p, p, opt)
		var refusal *notice.Notice
		if !errors.As(err, &refusal) || refusal.Code != code {
			t.Errorf("%s: %v", code, err)
		}
	}
	// A limit on what a free sweep cannot give is undecided, not an error.
	got, err := Pair(p, p, PairOptions{Limits: []PairLimit{{param.BL, 5}, {param.Fs, 5}}})
	if err != nil || got.Verdict != verdict.Undecided || got.Checks[0].Known {
		t.Errorf("BL without a mass: %+v, %v", got, err)
	}
}
