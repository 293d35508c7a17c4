package process

import (
	"math"
	"math/rand/v2"
	"testing"

	"conewright/ts/study"
)

// TestPistonRingCapability: luca-scr/qcc prints Cp, Cpl, Cpu and Cpk, with sigma = R/2.326 on N-1 degrees
// of freedom, to three decimals; the rest recomputed with scipy and exact d2.
func TestPistonRingCapability(t *testing.T) {
	groups := load(t, "pistonrings")
	u, err := UnitsOfGroups(groups)
	if err != nil {
		t.Fatal(err)
	}
	near(t, "overall s", u.Overall.Std(), 0.010069968, 1e-7)
	charts, err := MeansAndRanges(groups)
	if err != nil {
		t.Fatal(err)
	}
	u.Within = study.Spread{Variance: charts.Within.Variance, Dof: 124}
	c, err := u.Capability(73.95, 74.05, 0.95)
	if err != nil {
		t.Fatal(err)
	}
	for _, x := range []struct {
		name                 string
		got                  Index
		value, low, high     float64
		printed, pLow, pHigh float64
	}{
		{"Cp", c.Cp, 1.703229, 1.491365, 1.914768, 1.703, 1.491, 1.915},
		{"Cpk", c.Cpk, 1.663169, 1.448084, 1.878253, 1.663, 1.448, 1.878},
		{"Pp", c.Pp, 1.655086, 1.449211, 1.860646, 1.655, 1.449, 1.861},
		{"Ppk", c.Ppk, 1.616159, 1.406699, 1.825618, 1.616, 1.407, 1.826},
	} {
		near(t, x.name, x.got.Value, x.value, 1e-6)
		near(t, x.name+" low", x.got.Lo, x.low, 1e-6)
		near(t, x.name+" high", x.got.Hi, x.high, 1e-6)
		printed(t, x.name, x.got.Value, x.printed, 3)
		printed(t, x.name+" low", x.got.Lo, x.pLow, 3)
		printed(t, x.name+" high", x.got.Hi, x.pHigh, 3)
	}
	near(t, "Cpl", c.Cpl.Value, 1.743289, 1e-6)
	near(t, "Cpu", c.Cpu.Value, 1.663169, 1e-6)
}

// TestHandbookCapability: NIST/SEMATECH e-Handbook 6.1.6, quoted at second hand: LSL 8, USL 20, mean 16, s 2.
// Intervals for N = 50 recomputed with scipy.
func TestHandbookCapability(t *testing.T) {
	s := study.Spread{Variance: 4, Dof: 49}
	u := Units{N: 50, Mean: 16, Within: s, Overall: s}
	c, err := u.Capability(8, 20, 0.95)
	if err != nil {
		t.Fatal(err)
	}
	printed(t, "Cp", c.Cp.Value, 1, 1)
	printed(t, "Cpu", c.Cpu.Value, 0.6667, 4)
	printed(t, "Cpl", c.Cpl.Value, 1.3333, 4)
	printed(t, "Cpk", c.Cpk.Value, 0.6667, 4)
	near(t, "Cp low", c.Cp.Lo, 0.802482, 1e-6)
	near(t, "Cp high", c.Cp.Hi, 1.197126, 1e-6)
	near(t, "Cpk low", c.Cpk.Lo, 0.505551, 2e-6)
	near(t, "Cpk high", c.Cpk.Hi, 0.827782, 1e-6)
	b, err := OneSidedBound(c.Cpu.Value, 50, 49, 0.95)
	if err != nil {
		t.Fatal(err)
	}
	near(t, "exact bound of Cpu", b, 0.529613, 2e-6)

	// Only an upper limit: there is no Cp, and Cpk is Cpu.
	c, err = u.Capability(math.Inf(-1), 20, 0.95)
	if err != nil || c.Cp.Known || c.Cpl.Known || c.Cpk != c.Cpu || !c.Cpu.Known {
		t.Errorf("one limit: %+v, %v", c, err)
	}
}

// TestFiveUnits: with five units the interval of Cp spans Cp times 0.348 to 1.669 (recomputed).
func TestFiveUnits(t *testing.T) {
	s := study.Spread{Variance: 1, Dof: 4}
	c, err := Units{N: 5, Mean: 0, Within: s, Overall: s}.Capability(-6, 6, 0.95)
	if err != nil {
		t.Fatal(err)
	}
	printed(t, "low", c.Cp.Lo/c.Cp.Value, 0.348, 3)
	printed(t, "high", c.Cp.Hi/c.Cp.Value, 1.669, 3)
}

// TestBoundBeyondSeries: a hundred units of high capability ask for a noncentrality at which
// the usual series underflows; the bound then is near that of Bissell.
func TestBoundBeyondSeries(t *testing.T) {
	s := study.Spread{Variance: 1, Dof: 124}
	c, err := Units{N: 125, Mean: 0, Within: s, Overall: s}.Capability(-20, 6, 0.90)
	if err != nil {
		t.Fatal(err)
	}
	b, err := OneSidedBound(c.Cpu.Value, 125, 124, 0.95)
	if err != nil {
		t.Fatal(err)
	}
	near(t, "bound", b, c.Cpu.Lo, 0.005)
}

// TestMeasurementTakenOut: indices hold those of the units, and tolerance limits their share, although
// measuring adds a third of the variance that the units have.
func TestMeasurementTakenOut(t *testing.T) {
	r := rand.New(rand.NewPCG(3, 20261127))
	const n, std, measured, limit, cases = 30, 1.0, 0.6, 4.0, 400
	held, whole := map[string]int{}, 0
	for range cases {
		var values []float64
		for range n {
			values = append(values, std*r.NormFloat64()+measured*r.NormFloat64())
		}
		u, err := UnitsOf(values)
		if err != nil {
			t.Fatal(err)
		}
		var chi2 float64
		for range 20 {
			z := r.NormFloat64()
			chi2 += z * z
		}
		u.Measurement = study.Spread{Variance: measured * measured * chi2 / 20, Dof: 20}
		c, err := u.Capability(-limit, limit, 0.95)
		if err != nil {
			continue
		}
		whole++
		count := func(name string, yes bool) {
			if yes {
				held[name]++
			}
		}
		true3 := limit / (3 * std)
		count("Pp", c.Pp.Contains(float64(true3)))
		count("Ppu", c.Ppu.Contains(float64(true3)))
		v, err := u.Tolerance(BothSides, 0.95, 0.95)
		if err != nil {
			t.Fatal(err)
		}
		count("both sides", math.Erf(v.Hi/std/math.Sqrt2)/2-math.Erf(v.Lo/std/math.Sqrt2)/2 >= 0.95)
		v, err = u.Tolerance(AtMost, 0.95, 0.95)
		if err != nil {
			t.Fatal(err)
		}
		count("one side", 0.5+math.Erf(v.Hi/std/math.Sqrt2)/2 >= 0.95)
	}
	if whole < cases*96/100 {
		t.Errorf("units could not be told from the measurement in %d of %d", cases-whole, cases)
	}
	sd := math.Sqrt(0.95 * 0.05 / cases)
	for name, lowest := range map[string]float64{"Pp": 0.945, "Ppu": 0.94, "both sides": 0.94, "one side": 0.94} {
		share := float64(held[name]) / float64(whole)
		t.Logf("%s: %.3f +- %.3f", name, share, sd)
		if share < lowest-3*sd || share > 0.99 {
			t.Errorf("%s: held in %.3f +- %.3f", name, share, sd)
		}
	}
}

func TestUnits(t *testing.T) {
	u, err := UnitsOfGroups([][]float64{{1, 3}, {10, 10, 13}, {5}})
	if err != nil {
		t.Fatal(err)
	}
	near(t, "within", u.Within.Variance, (2+6)/3., 1e-12)
	near(t, "dof", u.Within.Dof, 3, 1e-12)
	near(t, "mean", u.Mean, 7, 1e-12)
	near(t, "overall", u.Overall.Variance, (36+16+9+9+36+4)/5., 1e-12)
	_, err = UnitsOfGroups([][]float64{{1}, {2}})
	refused(t, "groups of one", err, "process-too-few")
	_, err = UnitsOfGroups([][]float64{{1, 1}, {2, 2}})
	refused(t, "no scatter within", err, "process-no-scatter")
	_, err = UnitsOf([]float64{1, 2})
	refused(t, "two units", err, "process-too-few")

	s := study.Spread{Variance: 1, Dof: 9}
	u = Units{N: 10, Within: s, Overall: s, Measurement: study.Spread{Variance: 1, Dof: 50}}
	_, err = u.Capability(-3, 3, 0.95)
	refused(t, "all of it is measurement", err, "process-measurement-hides-units")
	_, err = u.Tolerance(BothSides, 0.95, 0.95)
	refused(t, "all of it is measurement", err, "process-measurement-hides-units")
	u.Measurement = study.Spread{}
	_, err = u.Capability(3, 3, 0.95)
	refused(t, "no room", err, "process-limits")
	_, err = u.Capability(math.Inf(-1), math.Inf(1), 0.95)
	refused(t, "no limit", err, "process-limits")
	_, err = u.Capability(-3, 3, 1)
	refused(t, "certainty", err, "process-probability")
	_, err = OneSidedBound(1, 0, 0, 0.95)
	refused(t, "no units", err, "process-too-few")
}
