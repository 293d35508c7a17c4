package ring

import (
	"errors"
	"math"
	"math/rand/v2"
	"slices"
	"testing"

	"conewright/ts/driver"
	"conewright/ts/handmade"
	"conewright/ts/internal/simulated"
	"conewright/ts/measured"
	"conewright/ts/notice"
	"conewright/ts/param"
)

func massLineSweeps(d driver.Driver, noise float64, rng *rand.Rand, masses ...float64) []measured.Sweep {
	var sweeps []measured.Sweep
	for _, m := range masses {
		s := measured.Sweep{Impedance: simulated.Simulate(d, simulated.LogFreq(4, 2000, 24), m, 0, noise, rng)}
		if m > 0 {
			s.Load = measured.Load{Kind: measured.AddedMass, Value: m, Std: 1e-5}
		}
		sweeps = append(sweeps, s)
	}
	return sweeps
}

// The woofer of a university course: 88.2 g, 0.55 mm/N; its resonances with 0,
// 20, 40 and 88.2 g are 22.850962, 20.631232, 18.953734 and 16.158070 Hz. The
// order of the sweeps does not matter.
func TestMassLineCourseWoofer(t *testing.T) {
	d := handmade.CourseWoofer
	d.Coil = driver.LossyCoil{K: 0.0106, N: 0.76}
	sweeps := massLineSweeps(d, 0.002, rand.New(rand.NewPCG(1, 1)), 0.04, 0, 0.0882, 0.02)
	m, err := MeasureMassLine(sweeps, measured.Conditions{})
	if err != nil {
		t.Fatal(err)
	}
	for i, want := range []float64{22.850962, 20.631232, 18.953734, 16.158070} {
		near(t, "Fs", m.Points[i].Fs.Value, want, 6e-4)
	}
	for _, c := range []struct {
		name string
		got  Spread
		want float64
	}{{"Mms", m.Mms, 0.0882}, {"Cms", m.Cms, 0.55e-3}, {"Fs", m.Fs, 22.850962}, {"Mms by 88.2 g alone", m.Points[3].Single, 0.0882}} {
		if math.Abs(c.got.Value-c.want) > 3.3*c.got.Std || c.got.Std > 0.02*c.want {
			t.Errorf("%s = %.5g ± %.2g, want %.5g", c.name, c.got.Value, c.got.Std, c.want)
		}
	}
	// A fall of the resonance by 29.3 % (equal masses): r = 2, 2r/(r-1) = 4.
	near(t, "gain", m.Points[3].Gain, 4, 0.01)
	if m.ProbabilityOfScatter < leastScatter {
		t.Errorf("a straight line is warned of: probability %v", m.ProbabilityOfScatter)
	}
}

// Creep bends the line and makes its mass read low; the joint fit does not.
// The sizes are those of theory (2.5): 4.5 % low for lambda 0.15 at dM = Mms.
func TestMassLineCreep(t *testing.T) {
	d := handmade.CourseWoofer
	d.Coil, d.Creep = driver.LossyCoil{K: 0.0106, N: 0.76}, 0.15
	m, err := MeasureMassLine(massLineSweeps(d, 0.0005, rand.New(rand.NewPCG(2, 1)), 0, 0.0882), measured.Conditions{})
	if err != nil {
		t.Fatal(err)
	}
	near(t, "mass of the line", m.Mms.Value, 0.955*0.0882, 0.01)
	joint, _ := m.Joint.Parameters.Get(param.Mms)
	near(t, "mass of the joint fit", joint.Value, 0.0882, 0.01)
	if !m.Bends || m.Mms.High < 0.0882 {
		t.Errorf("the line claims at most %.2f g and leaves out its bend", 1e3*m.Mms.High)
	}
	if !slices.ContainsFunc(m.Warnings, func(w notice.Notice) bool { return w.Code == "line-differs" }) {
		t.Error("no warning that line and joint fit differ")
	}
}

// A mass that is not what was stated is found by the line of the others, and no bend by
// creep is taken for one.
func TestMassLineNamesTheWrongMass(t *testing.T) {
	d := handmade.CourseWoofer
	d.Coil = driver.LossyCoil{K: 0.0106, N: 0.76}
	for _, c := range []struct {
		creep, stated float64 // stated: of the sweep with 40 g
		want          string
	}{{0, 0.04, ""}, {0, 0.4, "masses-exchanged"}, {0, 0.05, "wrong-mass"}, {0, 0.03, "wrong-mass"}, {0.15, 0.04, ""}, {0.15, 0.05, "wrong-mass"}} {
		d.Creep = c.creep
		sweeps := massLineSweeps(d, 0.0005, rand.New(rand.NewPCG(3, 1)), 0, 0.02, 0.04, 0.06, 0.08)
		sweeps[2].Load.Value = c.stated
		sweeps[2].Impedance.Source = "forty"
		_, err := MeasureMassLine(sweeps, measured.Conditions{})
		var n *notice.Notice
		errors.As(err, &n)
		switch {
		case c.want == "" && err != nil, c.want != "" && (n == nil || n.Code != c.want):
			t.Errorf("%+v: %v", c, err)
		case c.want == "wrong-mass" && (n.File != "forty" || math.Abs(n.Num("line")-0.04) > 0.002 || n.Num("mass") != c.stated):
			t.Errorf("%+v: %v", c, n)
		}
	}
}

func TestMassLineRefuses(t *testing.T) {
	rng := rand.New(rand.NewPCG(1, 2))
	d := handmade.CourseWoofer
	d.Coil = driver.LossyCoil{K: 0.0106, N: 0.76}
	sweeps := massLineSweeps(d, 0.002, rng, 0, 0)
	var r *notice.Notice
	if _, err := MeasureMassLine(sweeps, measured.Conditions{}); !errors.As(err, &r) || r.Code != "line-points" {
		t.Errorf("one mass: %v", err)
	}
	sweeps[1].Load = measured.Load{Kind: measured.KnownBox, Value: 0.02}
	if _, err := MeasureMassLine(sweeps, measured.Conditions{}); !errors.As(err, &r) || r.Code != "line-load" {
		t.Errorf("box: %v", err)
	}
	swapped := massLineSweeps(d, 0.002, rng, 0, 0.04)
	swapped[0].Load, swapped[1].Load = swapped[1].Load, swapped[0].Load
	if _, err := MeasureMassLine(swapped, measured.Conditions{}); !errors.As(err, &r) || r.Code != "masses-exchanged" || r.Num("heavy") != 0.04 || r.Num("light") != 0 {
		t.Errorf("files swapped: %v", err)
	}
	// Hardly any mass, and a tenth of a percent the wrong way round: that a suspension does by itself.
	near := massLineSweeps(d, 0.0005, rng, 0.0002, 0)
	near[0].Load, near[1].Load = near[1].Load, near[0].Load
	if _, err := MeasureMassLine(near, measured.Conditions{}); !errors.As(err, &r) || r.Code != "line-falls" {
		t.Errorf("hardly any mass: %v", err)
	}
}
