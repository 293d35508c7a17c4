package ring

import (
	"errors"
	"math"
	"math/cmplx"
	"math/rand/v2"
	"testing"

	"conewright/ts/driver"
	"conewright/ts/handmade"
	"conewright/ts/notice"
	"conewright/ts/param"

	"gonum.org/v1/gonum/mat"
)

func near(t *testing.T, name string, got, want, rel float64) {
	t.Helper()
	if !(math.Abs(got-want) <= rel*math.Abs(want)) {
		t.Errorf("%s = %.10g, want %.10g", name, got, want)
	}
}

// Course values: 20 g added: 22.85 -> 20.63 Hz. More digits, and 40 g and 88.2 g, from
// testdata/handbook/derived.txt.
func TestWithMassCourseWoofer(t *testing.T) {
	for dM, want := range map[float64]float64{0.020: 20.631232, 0.040: 18.953734, 0.0882: 16.158070} {
		d, err := handmade.CourseWoofer.WithMass(dM)
		if err != nil {
			t.Fatal(err)
		}
		near(t, "Fs", d.Fs(), want, 3e-8)
		near(t, "mass from two frequencies", massFromFrequencies(handmade.CourseWoofer.Fs(), d.Fs(), dM), handmade.CourseWoofer.Mms, 1e-9)
		m, err := handmade.CourseWoofer.MassForResonance(want)
		if err != nil {
			t.Fatal(err)
		}
		near(t, "mass", m, dM, 1e-6)
	}
}

// A loaded driver seen as a driver of its own has the same impedance as the
// unloaded one with the mass on it, with creep too.
func TestWithMassIsTheSameDriver(t *testing.T) {
	for _, creep := range []float64{0, 0.15} {
		for _, dM := range []float64{-0.02, 0.03, 0.2} {
			d := handmade.CourseWoofer
			d.Creep = creep
			d.Coil = driver.LossyCoil{K: 0.0106, N: 0.76}
			with, err := d.WithMass(dM)
			if err != nil {
				t.Fatal(err)
			}
			for _, f := range []float64{3, 15, 22, 40, 500} {
				a, b := d.LoadedImpedance(f, dM, 0), with.Impedance(f)
				if cmplx.Abs(a-b) > 1e-12*cmplx.Abs(a) {
					t.Errorf("creep %v, %v kg, %v Hz: %v and %v", creep, dM, f, a, b)
				}
			}
			if m, err := d.MassForResonance(with.Fs()); dM > 0 && (err != nil || math.Abs(m-dM) > 1e-12) {
				t.Errorf("creep %v: mass for %v Hz is %v, %v, want %v", creep, with.Fs(), m, err, dM)
			}
		}
	}
}

func TestMassOnlyLowers(t *testing.T) {
	_, err := handmade.CourseWoofer.MassForResonance(25)
	var r *notice.Notice
	if !errors.As(err, &r) || r.Code != "mass-only-lowers" {
		t.Errorf("25 Hz: %v", err)
	}
	if _, err := handmade.CourseWoofer.WithMass(-0.1); err == nil {
		t.Error("100 g taken from 88.2 g: no refusal")
	}
	if _, err := handmade.CourseWoofer.MassForResonance(math.NaN()); err == nil {
		t.Error("NaN: no refusal")
	}
}

func ringParameters() param.Parameters {
	d := handmade.CourseWoofer
	p := param.Parameters{IDs: []param.ID{param.Fs, param.Qms, param.Qes, param.Mms}, Coverage: 1.96}
	for _, v := range []struct {
		id param.ID
		x  float64
	}{{param.Fs, d.Fs()}, {param.Qms, d.Qms()}, {param.Qes, d.Qes()}, {param.Mms, d.Mms}} {
		p.Scaled = append(p.Scaled, v.id.Scale(v.x))
		p.Origin = append(p.Origin, param.Entered)
	}
	p.Noise = mat.NewSymDense(4, []float64{
		4e-6, 0, 0, -8e-6,
		0, 1e-4, 0, 0,
		0, 0, 1e-4, 0,
		-8e-6, 0, 0, 1e-4,
	})
	return p
}

// Linear propagation against a Monte Carlo run of the same thing (JCGM 101:2008).
func TestMassForFsAgainstMonteCarlo(t *testing.T) {
	p := ringParameters()
	want, err := MassForFs(p, 20)
	if err != nil {
		t.Fatal(err)
	}
	eff, err := EffectOfMass(p, 0.03, 0.001)
	if err != nil {
		t.Fatal(err)
	}
	var chol mat.Cholesky
	if !chol.Factorize(p.Covariance()) {
		t.Fatal("covariance is not positive")
	}
	var l mat.TriDense
	chol.LTo(&l)
	rng := rand.New(rand.NewPCG(3, 9))
	const runs = 20000
	var mass, fs, level moments
	for range runs {
		z := mat.NewVecDense(4, nil)
		for i := range 4 {
			z.SetVec(i, rng.NormFloat64())
		}
		var y mat.VecDense
		y.MulVec(&l, z)
		s := make([]float64, 4)
		for i := range s {
			s[i] = p.Scaled[i] + y.AtVec(i)
		}
		d := driverFrom(p, s)
		m, err := d.MassForResonance(20)
		if err != nil {
			t.Fatal(err)
		}
		mass.add(m)
		dM := 0.03 + 0.001*rng.NormFloat64()
		with, err := d.WithMass(dM)
		if err != nil {
			t.Fatal(err)
		}
		fs.add(with.Fs())
		level.add(-20 * math.Log10(with.Mms/d.Mms))
	}
	// A standard deviation from 20000 runs has a standard error of 0.5 %.
	near(t, "std of the mass", want.Std, mass.std(), 0.03)
	near(t, "mass", want.Value, mass.mean(), 0.005)
	near(t, "std of Fs", eff.Rows[0].After.Std, fs.std(), 0.03)
	near(t, "std of the level", eff.LevelChange.Std, level.std(), 0.03)
}

type moments struct{ n, s, s2 float64 }

func (m *moments) add(x float64) { m.n++; m.s += x; m.s2 += x * x }

func (m *moments) mean() float64 { return m.s / m.n }

func (m *moments) std() float64 { u := m.mean(); return math.Sqrt(m.s2/m.n - u*u) }

// A mass moves Fs by 1/a, the Q values by a, with a = sqrt(Mms'/Mms) (no creep);
// the level falls by 20 lg a^2.
func TestEffectOfMassFollowsTheSquareRoot(t *testing.T) {
	p := ringParameters()
	e, err := EffectOfMass(p, 0.0882, 0)
	if err != nil {
		t.Fatal(err)
	}
	a := math.Sqrt2
	for _, r := range e.Rows {
		want := map[param.ID]float64{param.Fs: 1 / a, param.Qms: a, param.Qes: a, param.Qts: a, param.Mms: 2, param.Cms: 1}[r.ID]
		near(t, r.ID.String(), r.After.Value/r.Before.Value, want, 1e-9)
	}
	if len(e.Rows) != 6 {
		t.Errorf("%d rows, want 6", len(e.Rows))
	}
	near(t, "level", e.LevelChange.Value, -6.0206, 1e-5)
}

func TestRingNeedsMass(t *testing.T) {
	p := ringParameters()
	p.IDs[3] = param.Cms
	var r *notice.Notice
	if _, err := MassForFs(p, 20); !errors.As(err, &r) || r.Code != "mass-not-known" {
		t.Errorf("without Mms: %v", err)
	}
}

func TestRingDimensions(t *testing.T) {
	// 1 cm of a tube of 50 mm bore and 2 mm wall holds pi/4 (5.4^2-5^2) cm^3 =
	// 3.26726 cm^3: in brass of 8.5 g/cm^3 27.7717 g.
	r := Ring{InnerDiameter: 0.050, Height: 0.010, Thickness: 0.002}
	m := r.Mass(8500)
	near(t, "mass", m, 8500*math.Pi/4*(0.054*0.054-0.05*0.05)*0.01, 1e-12)
	near(t, "mass", m, 0.0277717, 1e-5)
	for _, open := range []Ring{{InnerDiameter: 0.05, Height: 0.01}, {InnerDiameter: 0.05, Thickness: 0.002}} {
		got, err := ForMass(m, 8500, open)
		if err != nil {
			t.Fatal(err)
		}
		near(t, "height", got.Height, r.Height, 1e-12)
		near(t, "thickness", got.Thickness, r.Thickness, 1e-12)
	}
	for _, bad := range []Ring{r, {InnerDiameter: 0.05}, {Height: 0.01}} {
		if _, err := ForMass(m, 8500, bad); err == nil {
			t.Errorf("%+v: no refusal", bad)
		}
	}
	if _, err := ForMass(-1, 8500, Ring{InnerDiameter: 0.05, Height: 0.01}); err == nil {
		t.Error("negative mass: no refusal")
	}
}

// What a ring leaves is uneven as what it was.
func TestRingKeepsUnevenErrorBars(t *testing.T) {
	p := ringParameters()
	even, err := EffectOfMass(p, 0.01, 0)
	if err != nil {
		t.Fatal(err)
	}
	p.Skew = make([][2]float64, len(p.IDs))
	p.Skew[p.Index(param.Qes)] = [2]float64{-0.5e-4, 3e-4} // of a variance of 1e-4
	uneven, err := EffectOfMass(p, 0.01, 0)
	if err != nil {
		t.Fatal(err)
	}
	for i, row := range uneven.Rows {
		was := even.Rows[i]
		up, down := (row.After.High-row.After.Value)/(was.After.High-was.After.Value), (row.After.Value-row.After.Low)/(was.After.Value-was.After.Low)
		want := 1.0
		if row.ID == param.Qes {
			want = 2
		}
		if math.Abs(up-want) > 1e-9 || math.Abs(down-1) > 1e-9 {
			t.Errorf("%v: the error bars are %v and %v times as long, want %v and 1", row.ID, up, down, want)
		}
	}
}
