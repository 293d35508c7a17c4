package handout

import (
	"bytes"
	"html/template"
	"math"
	"math/rand/v2"
	"strings"
	"sync"
	"testing"

	"conewright/cmd/internal/report"
	"conewright/ts/driver"
	"conewright/ts/measured"
	"conewright/ts/param"
	"conewright/ts/ring"
)

// classDriver is the 12-inch woofer of a university course on electroacoustics
// (88.2 g, 0.55 mm/N; 22.85, 20.63, 18.95 and 16.16 Hz with 0, 20, 40 and 88.2 g)
// with a coil.
var classDriver = driver.Driver{Re: 5.46, BL: 11.6, Mms: 0.0882, Cms: 0.55e-3, Rms: 3.25, Coil: driver.LossyCoil{K: 0.0106, N: 0.76}}

// experiment is a class experiment with it, with 0.3 % noise.
var experiment = sync.OnceValue(func() *ring.MassLine {
	rng := rand.New(rand.NewPCG(4, 2))
	var sweeps []measured.Sweep
	for _, m := range []float64{0, 0.02, 0.04, 0.0882} {
		var f, sigma []float64
		var z []complex128
		for x := 4.0; x < 2000; x *= math.Exp2(1.0 / 24) {
			v := classDriver.LoadedImpedance(x, m, 0)
			s := 0.003 * math.Hypot(real(v), imag(v))
			f, sigma, z = append(f, x), append(sigma, s), append(z, v+complex(s*rng.NormFloat64(), s*rng.NormFloat64()))
		}
		imp, err := measured.NewImpedance(f, z, sigma)
		if err != nil {
			panic(err)
		}
		s := measured.Sweep{Impedance: imp}
		if m > 0 {
			s.Load = measured.Load{Kind: measured.AddedMass, Value: m, Std: 5e-5}
		}
		sweeps = append(sweeps, s)
	}
	m, err := ring.MeasureMassLine(sweeps, measured.Conditions{})
	if err != nil {
		panic(err)
	}
	return m
})

func write(t *testing.T, a Audience, truth *driver.Driver) string {
	t.Helper()
	var b bytes.Buffer
	if err := Write(&b, a, experiment(), truth); err != nil {
		t.Fatal(err)
	}
	return b.String()
}

// The numbers behind the answers are those of the course.
func TestAnswers(t *testing.T) {
	want := map[string]float64{
		"slope of the line": 0.55e-3, "meet zero": 0.0882, "moving mass doubles": 0.2929,
		// The ring of three fifths of 88.2 g, rounded: 53 g brings 22.85 Hz to
		// 22.850962 sqrt(88.2/141.2) = 18.06 Hz.
		"ring of 53.0 g": 18.0600,
	}
	for _, q := range Questions(experiment()) {
		for part, value := range want {
			if strings.Contains(q.Ask, part) {
				if math.Abs(q.Value-value) > 3*q.Std+1e-4*value || q.Std > 0.03*value {
					t.Errorf("%q: %.5g ± %.2g, want %.5g", q.Ask, q.Value, q.Std, value)
				}
				delete(want, part)
			}
		}
	}
	for part := range want {
		t.Errorf("no question about the %s", part)
	}
}

func TestStudentSheetHasNoAnswers(t *testing.T) {
	student, teacher := write(t, Student, &classDriver), write(t, Teacher, &classDriver)
	for _, q := range Questions(experiment()) {
		escaped := strings.ReplaceAll(template.HTMLEscapeString(q.Answer), "+", "&#43;")
		if strings.Contains(student, escaped) {
			t.Errorf("the student's sheet holds the answer %q", q.Answer)
		}
		if !strings.Contains(teacher, escaped) {
			t.Errorf("the teacher's sheet lacks the answer %q", q.Answer)
		}
	}
	for i, p := range experiment().Points {
		fs := report.Quantity(param.Fs, p.Fs)
		before, _, _ := strings.Cut(student, `id="play"`) // the sliders show what is asked
		if i > 0 && strings.Contains(before, fs) {
			t.Errorf("the student's sheet gives the resonance %s away", fs)
		}
	}
	if !strings.Contains(teacher, "exists only as numbers") || strings.Contains(write(t, Teacher, nil), "exists only as numbers") {
		t.Error("a virtual experiment is not told from a real one")
	}
	if !strings.Contains(write(t, Student, nil), "A cone tears easily") {
		t.Error("the sheet for a real driver has no caution")
	}
}

// A teacher can mail the sheet: under 3 MB.
func TestSheetFitsIntoAMail(t *testing.T) {
	if n := len(write(t, Student, nil)); n > 3e6 {
		t.Errorf("the sheet has %d bytes", n)
	}
}
