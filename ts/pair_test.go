package ts

import (
	"errors"
	"math"
	"math/rand/v2"
	"slices"
	"strings"
	"testing"

	"gonum.org/v1/gonum/mat"
	"gonum.org/v1/gonum/stat/distuv"
)

func pairOf(t *testing.T, left, right Driver, mass bool, opt PairOptions) *Paired {
	t.Helper()
	set := func(d Driver) Parameters { return known{driver: d, std: testOnlyStd, mass: mass}.parameters(nil) }
	p, err := Pair(set(left), set(right), opt)
	if err != nil {
		t.Fatal(err)
	}
	return p
}

func TestPairWords(t *testing.T) {
	for name, right := range map[string]Driver{
		"pair-match":     changed(func(d *Driver) { d.Cms *= 1.03 }),
		"pair-same":      testOnlyWoofer,
		"pair-stiff":     changed(func(d *Driver) { d.Cms /= 1.25 }),
		"pair-light":     changed(func(d *Driver) { d.Mms *= 0.82 }),
		"pair-undecided": changed(func(d *Driver) { d.Cms /= 1.1018 }),
		"pair-motor":     changed(func(d *Driver) { d.BL *= 0.85 }),
	} {
		p := pairOf(t, testOnlyWoofer, right, true, PairOptions{})
		golden(t, name, strings.Join(p.Explain(), "\n")+"\n")
	}
}

// Doing what is advised brings the pair together, by as much as was said.
func TestPairFixWorks(t *testing.T) {
	for name, right := range map[string]Driver{
		"stiffer": changed(func(d *Driver) { d.Cms /= 1.25 }),
		"lighter": changed(func(d *Driver) { d.Mms *= 0.82 }),
		"heavier": changed(func(d *Driver) { d.Mms *= 1.2 }),
		"softer":  changed(func(d *Driver) { d.Cms *= 1.25 }),
	} {
		p := pairOf(t, testOnlyWoofer, right, true, PairOptions{})
		if p.Verdict != OutOfSpec || len(p.Fixes) == 0 {
			t.Errorf("%s: %v, fixes %+v", name, p.Verdict, p.Fixes)
			continue
		}
		fix := p.Fixes[0]
		want := map[string]PairFix{"stiffer": {Side: RightSide, What: Soften}, "softer": {Side: LeftSide, What: Soften},
			"lighter": {Side: RightSide, What: AddMass}, "heavier": {Side: LeftSide, What: AddMass}}[name]
		if fix.Side != want.Side || fix.What != want.What || !fix.Within {
			t.Errorf("%s: best fix %+v", name, fix)
		}
		sides := [2]Driver{testOnlyWoofer, right}
		if fix.What == AddMass {
			sides[fix.Side].Mms += fix.Mass
		} else {
			sides[fix.Side].Cms /= 1 - fix.Percent/100
		}
		after := pairOf(t, sides[0], sides[1], true, PairOptions{})
		if after.Verdict != InSpec || math.Abs(after.Distance-fix.Distance) > 0.05 {
			t.Errorf("%s: after the fix %v, distance %v, predicted %v", name, after.Verdict, after.Distance, fix.Distance)
		}
	}
	if p := pairOf(t, testOnlyWoofer, changed(func(d *Driver) { d.Re *= 1.2 }), false, PairOptions{}); len(p.Fixes) != 0 {
		t.Errorf("neither mass nor suspension mends a coil: %+v", p.Fixes)
	}
}

// A resistor that is off moves both alike and must not hide a match; the same
// uncertainty in each alone must leave it open.
func TestPairCancelsTheBench(t *testing.T) {
	set := func(source string) Parameters {
		return known{driver: testOnlyWoofer, std: testOnlyStd, extra: []Component{{Source: source, Part: BenchPart, Effect: []float64{0.03, 0, 0, 0}}}}.parameters(nil)
	}
	for source, want := range map[string]Verdict{"resistor": InSpec, "another resistor": Undecided} {
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
	x := difference{ids: []ParamID{Re, Fs}, d: []float64{0.5, -0.3}, v: mat.NewSymDense(2, []float64{1, 0, 0, 1}), spread: spreadOf(0)}
	if got, want := jointProbability(x, []float64{1.5, 2}), one(0.5, 1.5)*one(-0.3, 2); math.Abs(got-want) > 0.01 {
		t.Errorf("independent: %v, want %v", got, want)
	}
	x.d, x.v = []float64{0.5, 0.5}, mat.NewSymDense(2, []float64{1, 1, 1, 1 + 1e-9})
	if got, want := jointProbability(x, []float64{3, 1.5}), one(0.5, 1.5); math.Abs(got-want) > 0.01 {
		t.Errorf("correlated: %v, want %v", got, want)
	}
}

// One quantity at its limit, measured sharply, is a distance of 2.
func TestMatchDistance(t *testing.T) {
	right := changed(func(d *Driver) { d.Re *= 1.05; d.BL *= math.Sqrt(1.05) }) // Re alone
	std := map[ParamID]float64{Re: 1e-6, Fs: 1e-6, Qms: 1e-6, Qes: 1e-6}
	set := func(d Driver) Parameters { d.Coil = nil; return known{driver: d, std: std}.parameters(nil) }
	p, err := Pair(set(testOnlyWoofer), set(right), PairOptions{})
	if err != nil || math.Abs(p.Distance-2) > 1e-3 {
		t.Errorf("distance %v, %v", p.Distance, err)
	}
	points := NewPairPoints(UsualPairLimits)
	points.Add(set(testOnlyWoofer))
	points.Add(set(right))
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
	p := known{driver: testOnlyWoofer, std: testOnlyStd}.parameters(nil)
	for code, opt := range map[string]PairOptions{
		"bad-pair-options": {Confidence: 2},
		"bad-pair-limit":   {Limits: []PairLimit{{Fs, -1}}},
	} {
		_, err := Pair(p, p, opt)
		var refusal *Refusal
		if !errors.As(err, &refusal) || refusal.Code != code {
			t.Errorf("%s: %v", code, err)
		}
	}
	// A limit on what a free sweep cannot give is undecided, not an error.
	got, err := Pair(p, p, PairOptions{Limits: []PairLimit{{BL, 5}, {Fs, 5}}})
	if err != nil || got.Verdict != Undecided || got.Checks[0].Known {
		t.Errorf("BL without a mass: %+v, %v", got, err)
	}
}

// A mass that leaves the pair out of its limits is no advice beside something
// that does not; alone it is said, with what it does not reach.
func TestFixesWorthSaying(t *testing.T) {
	soft := PairFix{Side: RightSide, What: Soften, Percent: 20, Within: true}
	mass := PairFix{Side: RightSide, What: AddMass, Percent: 20, Level: -1.7}
	for want, fixes := range map[string][]PairFix{"soft": {soft, mass}, "mass": {mass}, "soft soft": {soft, soft, soft}} {
		p := &Paired{Verdict: OutOfSpec, Checks: []PairCheck{{Limit: PairLimit{Fs, 5}, Known: true}}, Fixes: fixes}
		var said []string
		for _, line := range p.Explain() {
			switch {
			case strings.HasPrefix(line, "A suspension"):
				said = append(said, "soft")
			case strings.HasPrefix(line, "A mass"):
				said = append(said, "mass")
			}
		}
		if got := strings.Join(said, " "); got != want {
			t.Errorf("said %q, want %q", got, want)
		}
	}
}
