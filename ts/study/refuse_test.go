package study

import (
	"errors"
	"fmt"
	"math"
	"testing"

	"gonum.org/v1/gonum/mat"

	"conewright/ts/notice"
)

func code(err error) string {
	var n *notice.Notice
	if !errors.As(err, &n) {
		return fmt.Sprint("no notice: ", err)
	}
	return n.Code
}

// TestRefuses: what cannot be analysed is said, and nothing is returned.
func TestRefuses(t *testing.T) {
	group := func(names ...string) (out []Place) {
		for _, n := range names {
			out = append(out, Place{"", []string{n}})
		}
		return out
	}
	two := []string{"session", "again"}
	for _, c := range []struct {
		name   string
		levels []string
		places []Place
		values []float64
		priors []Spread
		want   string
	}{
		{"no levels", nil, group("a"), nil, nil, "study-levels"},
		{"too deep", []string{"a", "b", "c", "d", "e"}, group("a"), nil, nil, "study-levels"},
		{"nothing", two, nil, nil, nil, "study-empty"},
		{"a place without its groups", two, []Place{{}}, nil, nil, "study-place"},
		{"one group", two, group("a", "a", "a"), []float64{1, 2, 3}, nil, "study-no-repeats"},
		{"no repeats in groups", two, group("a", "b", "c"), []float64{1, 2, 3}, nil, "study-no-repeats"},
		{"one reading", []string{"again"}, make([]Place, 1), []float64{1}, nil, "study-no-repeats"},
		{"not a number", two, group("a", "a", "b", "b"), []float64{1, math.NaN(), 3, 4}, nil, "study-not-finite"},
		{"infinite", two, group("a", "a", "b", "b"), []float64{1, math.Inf(1), 3, 4}, nil, "study-not-finite"},
		{"copies", two, group("a", "a", "b", "b"), []float64{1, 1, 3, 3}, nil, "study-no-scatter"},
		{"all equal", two, group("a", "a", "b", "b"), []float64{0.1, 0.1, 0.1, 0.1}, nil, "study-no-scatter"},
		{"a negative prior", two, group("a", "a", "b", "b"), []float64{1, 2, 3, 4}, []Spread{{-1, 4}, {1, 4}}, "study-prior"},
		{"a prior of nothing", two, group("a", "a", "b", "b"), []float64{1, 2, 3, 4}, []Spread{{0, 4}, {1, 4}}, "study-prior"},
		{"a prior not finite", two, group("a", "a", "b", "b"), []float64{1, 2, 3, 4}, []Spread{{1, math.Inf(1)}, {1, 4}}, "study-prior"},
		{"a prior for one level of two", two, group("a", "a"), []float64{1, 2}, []Spread{{}, {1, 4}}, "study-no-repeats"},
	} {
		d, err := NewDesign(c.levels, c.places)
		if err == nil {
			var n *Nested
			if n, err = d.Analyse(c.values, c.priors...); n != nil {
				t.Errorf("%s: got a result", c.name)
			}
		}
		if code(err) != c.want {
			t.Errorf("%s: %v, want %s", c.name, err, c.want)
		}
	}
}

// TestInseparable: sweeps that agree to nine digits more than sessions, which two drivers share, leave nothing
// to compute with.
func TestInseparable(t *testing.T) {
	var places []Place
	var values []float64
	for i := range 16 {
		places = append(places, Place{fmt.Sprint(i % 2), []string{fmt.Sprint(i / 4)}})
		values = append(values, float64([]int{0, -1, 4, -9}[i/4])+1e-9*float64(7*i*i%5))
	}
	if n, err := design(t, []string{"session", "again"}, places).Analyse(values); n != nil || code(err) != "study-inseparable" {
		t.Errorf("got %v", err)
	}
}

func TestRefusesWhatIsNotThere(t *testing.T) {
	n := analysed(t, "pastes")
	if _, _, err := n.Mean("other"); code(err) != "study-no-such-driver" {
		t.Errorf("mean: %v", err)
	}
	if _, _, err := n.Predict("other"); code(err) != "study-no-such-driver" {
		t.Errorf("prediction: %v", err)
	}
	if _, _, err := n.Predict("", "A", "a", "x"); code(err) != "study-place" {
		t.Errorf("too many groups: %v", err)
	}
	known, _, err := n.Predict("", "A")
	if err != nil {
		t.Fatal(err)
	}
	// A new group is like none.
	a, sa, _ := n.Predict("", "Z")
	b, sb, _ := n.Predict("")
	if a != b || sa != sb || a == known {
		t.Errorf("new group %v %v, no group %v %v, known group %v", a, sa, b, sb, known)
	}
}

func TestJointRefusesBadPriors(t *testing.T) {
	d := design(t, []string{"again"}, make([]Place, 3))
	values := [][]float64{{1, 2, 4}, {3, 1, 2}}
	for name, m := range map[string]*mat.SymDense{
		"missing":      nil,
		"too small":    mat.NewSymDense(1, []float64{1}),
		"beyond 1":     mat.NewSymDense(2, []float64{1, 1.1, 1.1, 1}),
		"negative":     mat.NewSymDense(2, []float64{-1, 0, 0, 1}),
		"not a number": mat.NewSymDense(2, []float64{1, math.NaN(), math.NaN(), 1}),
	} {
		if _, err := d.Together(values, JointPrior{m, 4}); code(err) != "study-prior-covariance" {
			t.Errorf("%s: %v", name, err)
		}
	}
}

// TestConflict: a prior that is far from the data is named, one near to them is not.
func TestConflict(t *testing.T) {
	levels, places, values := load(t, "dyestuff")
	d := design(t, levels, places)
	n := analyse(t, d, values["value"], Spread{1764, 20}, Spread{2451, 20})
	if len(n.Notices) > 0 {
		t.Errorf("prior equal to the data: %v", n.Notices)
	}
	n = analyse(t, d, values["value"], Spread{1764, 20}, Spread{100, 20})
	if len(n.Notices) != 1 || n.Notices[0].Code != "prior-in-conflict" || n.Notices[0].Text("level") != "again" {
		t.Errorf("prior too small: %v", n.Notices)
	}
	// s^2/s0^2 is 24.5 on 24 and 20 degrees of freedom.
	near(t, "ratio", n.Components[1].PriorRatio, 24.5125, 1e-9)
	n = analyse(t, d, values["value"], Spread{176400, 20}, Spread{2451, 20})
	if len(n.Notices) != 1 || n.Notices[0].Text("level") != "batch" || n.Notices[0].Num("ratio") > 1 {
		t.Errorf("prior too large: %v", n.Notices)
	}
}

// TestConflictByChance: a right prior is named in one case of twenty.
func TestConflictByChance(t *testing.T) {
	r := random(10)
	d := threeLevels(t, uneven[1])
	priors := []Spread{{1, 6}, {0.5, 6}, {0.2, 6}}
	var named [3]int
	n := draws(1500)
	for range n {
		v := make([]float64, 3)
		for k, p := range priors {
			var chi2 float64
			for range int(p.Dof) {
				chi2 += sq(r.NormFloat64())
			}
			v[k] = p.Variance * p.Dof / chi2
		}
		for k, c := range analyse(t, d, draw(d, v, r).values, priors...).Components {
			if c.Agreement < 0.05 {
				named[k]++
			}
		}
	}
	for k, count := range named {
		share, err := float64(count)/float64(n), math.Sqrt(0.05*0.95/float64(n))
		t.Logf("level %d: %.3f +- %.3f", k, share, err)
		if math.Abs(share-0.05) > 0.02+3*err {
			t.Errorf("level %d: named in %.3f", k, share)
		}
	}
}

// FuzzAnalyse: whatever the design and the values, there is an error that is a notice, or every
// number is one.
func FuzzAnalyse(f *testing.F) {
	f.Add([]byte{3, 1, 0, 0, 0, 9, 1, 1, 0, 7, 2, 0, 1, 3, 2, 1, 1, 4, 0, 0, 1, 5})
	f.Add([]byte{2, 0, 0, 0, 0, 1, 0, 1, 0, 1})
	f.Add([]byte{1, 2, 5, 5, 5, 5})
	f.Fuzz(func(t *testing.T, b []byte) {
		if len(b) < 2 || len(b) > 200 {
			return
		}
		depth, prior := int(b[0])%4+1, b[1]%4
		levels := []string{"operator", "session", "clamping", "again"}[4-depth:]
		var places []Place
		var values []float64
		for b := b[2:]; len(b) > depth; b = b[depth+1:] {
			p := Place{Driver: fmt.Sprint(b[0] % 2)}
			for _, g := range b[1:depth] {
				p.Groups = append(p.Groups, fmt.Sprint(g%3))
			}
			places = append(places, p)
			values = append(values, 1e3+float64(b[depth])/8)
		}
		d, err := NewDesign(levels, places)
		if err != nil {
			code(err)
			return
		}
		var priors []Spread
		if prior > 0 {
			priors = make([]Spread, depth)
			for k := range priors {
				priors[k] = Spread{math.Pow(10, float64(2*k)-4), float64(prior)}
			}
		}
		n, err := d.Analyse(values, priors...)
		if err != nil {
			var x *notice.Notice
			if !errors.As(err, &x) {
				t.Fatal(err)
			}
			return
		}
		finite := func(what string, x ...float64) {
			for _, v := range x {
				if math.IsNaN(v) || math.IsInf(v, 0) {
					t.Fatalf("%s: %v", what, x)
				}
			}
		}
		for k, c := range n.Components {
			finite(c.Level, c.Variance, c.Dof, c.MeanSquare, c.SumOfSquares, c.Moments, c.PriorRatio, c.Agreement)
			if v := n.Interval(k, 0.95); !(v.Lo >= 0 && v.Lo <= v.Hi) {
				t.Fatalf("%s: interval %v", c.Level, v)
			}
		}
		if v := n.TotalInterval(0.95); !(v.Lo >= 0 && v.Lo < v.Hi) {
			t.Fatalf("total %v", v)
		}
		m, s, err := n.Mean(places[0].Driver)
		if err != nil {
			t.Fatal(err)
		}
		p, q, err := n.Predict(places[0].Driver, places[0].Groups...)
		if err != nil {
			t.Fatal(err)
		}
		finite("mean", m, s.Variance, s.Dof, p, q.Variance, q.Dof, n.Total().Variance, n.Total().Dof, n.Fit)
	})
}
