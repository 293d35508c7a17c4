package playground

import (
	"math"
	"strings"
	"testing"

	"conewright/ts/ring"
)

// course is the 12-inch woofer of a university course on electroacoustics, with
// the resonances that its answers give for 0, 20, 40 and 88.2 g.
var course = Base{Name: "course woofer", Re: 5.46, BL: 11.6, Mms: 0.0882, Cms: 0.55e-3, Rms: 3.25,
	CoilK: 0.0106, CoilN: 0.76,
	Masses: []float64{0, 0.02, 0.04, 0.0882}, Resonances: []float64{22.850962, 20.631232, 18.953734, 16.158070}}

func at(t *testing.T, s Sliders) State {
	t.Helper()
	st, err := course.At(s)
	if err != nil {
		t.Fatal(err)
	}
	return st
}

func TestSlidersMoveTheResonance(t *testing.T) {
	for _, c := range []struct {
		name string
		s    Sliders
		fs   float64
	}{
		{"rest", Sliders{}, 22.850962},
		{"20 g", Sliders{Ring: 0.02}, 20.631232},
		{"40 g", Sliders{Ring: 0.04}, 18.953734},
		// Four times the mass, or four times the compliance: half the resonance.
		{"compliance +300 %", Sliders{Compliance: 3}, 22.850962 / 2},
		{"motor", Sliders{Motor: 0.2}, 22.850962},
		{"losses", Sliders{Losses: 1}, 22.850962},
	} {
		if got := at(t, c.s).Fs; math.Abs(got-c.fs) > 1e-6 {
			t.Errorf("%s: Fs = %.6f, want %.6f", c.name, got, c.fs)
		}
	}
}

// What each slider does to the Q values is textbook: losses divide Qms, a
// stronger motor divides Qes by the square.
func TestSlidersMoveTheQ(t *testing.T) {
	rest := at(t, Sliders{})
	loss, motor := at(t, Sliders{Losses: 1}), at(t, Sliders{Motor: 0.2})
	for name, v := range map[string][2]float64{
		"Qms, losses doubled": {loss.Qms, rest.Qms / 2},
		"Qes, losses doubled": {loss.Qes, rest.Qes},
		"Qes, motor 1.2":      {motor.Qes, rest.Qes / 1.44},
		"Qms, motor 1.2":      {motor.Qms, rest.Qms},
		"level, motor 1.2":    {motor.Level, 20 * math.Log10(1.2)},
		"level, mass doubled": {at(t, Sliders{Ring: 0.0882}).Level, -20 * math.Log10(2)},
	} {
		if math.Abs(v[0]-v[1]) > 1e-9 {
			t.Errorf("%s: %v, want %v", name, v[0], v[1])
		}
	}
}

// The course's own points lie on the mass line of its driver.
func TestMeasuredPointsLieOnTheLine(t *testing.T) {
	line := at(t, Sliders{}).Line
	slope := (line[len(line)-1].Y - line[0].Y) / (line[len(line)-1].X - line[0].X)
	for i, m := range course.Masses {
		want := ring.InverseSquareOmega(course.Resonances[i])
		if got := line[0].Y + slope*m; math.Abs(got/want-1) > 1e-6 {
			t.Errorf("%v kg: line %v, point %v", m, got, want)
		}
	}
}

func TestViewShowsTheNumbers(t *testing.T) {
	v, err := course.View(Sliders{Ring: 0.02}, 360)
	if err != nil {
		t.Fatal(err)
	}
	if want := "With a ring of 20.0 g the resonance falls from 22.85 Hz to 20.63 Hz."; v.Words != want {
		t.Errorf("words %q, want %q", v.Words, want)
	}
	if v.Rows[0].ID != "fs" || v.Rows[0].Rest != "22.85 Hz" || v.Rows[0].Now != "20.63 Hz" {
		t.Errorf("first row %+v", v.Rows[0])
	}
	for name, svg := range map[string]string{"curve": v.Curve, "line": v.Line} {
		if !strings.HasPrefix(svg, "<svg") || !strings.Contains(svg, "20.63 Hz") {
			t.Errorf("the drawing of the %s does not carry its number", name)
		}
	}
}

func TestBaseRefused(t *testing.T) {
	for name, change := range map[string]func(*Base){
		"no mass":         func(b *Base) { b.Mms = 0 },
		"not a number":    func(b *Base) { b.BL = math.NaN() },
		"points unpaired": func(b *Base) { b.Masses = b.Masses[1:] },
	} {
		b := course
		change(&b)
		if _, err := b.View(Sliders{}, 360); err == nil {
			t.Errorf("%s: no refusal", name)
		}
	}
}
