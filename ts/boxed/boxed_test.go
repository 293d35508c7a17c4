package boxed

import (
	"errors"
	"math"
	"math/cmplx"
	"slices"
	"testing"

	"conewright/ts/driver"
	"conewright/ts/measured"
	"conewright/ts/notice"
	"conewright/ts/param"
)

// unit is the driver of the handbook in units of [unitMass]: Re 5.8 ohm, Le 0.6 mH, BL 7.5 T m, Mms 22 g, Cms 0.9 mm/N, Rms
// 1.1 kg/s, Sd 220 cm^2.
var unit = driver.Driver{Re: 5.8, BL: 7.5, Mms: 0.022, Cms: 0.9e-3, Rms: 1.1, Coil: driver.PlainCoil{L: 0.6e-3}}

// box is one of 35 L in air of 141855 Pa behind 220 cm^2, tuned to 38 Hz (0: closed) with losses that count there.
func box(tuning, ql, qa, qp float64) circuit {
	const area, air, volume = 0.022, 141855.0, 0.035
	w := 2 * math.Pi * 38
	c := circuit{driver: unit, air: air * area * area / volume, at: w}
	c.leak, c.absorb = c.air*ql/w, c.air/(w*qa)
	if tuning > 0 {
		c.port = c.air / math.Pow(2*math.Pi*tuning, 2)
		c.rub = c.air / (2 * math.Pi * tuning * qp)
	}
	return c
}

const none = 1e9 // quality factor of no loss

// sweep is a curve of z, without noise but with some stated.
func sweep(z func(f float64) complex128) measured.Impedance {
	out := measured.Impedance{}
	for f := 5.0; f < 2000; f *= math.Exp2(1. / 24) {
		out.Freq, out.Z = append(out.Freq, f), append(out.Z, z(f))
		out.Sigma = append(out.Sigma, 2e-4*cmplx.Abs(z(f)))
	}
	return out
}

func of(c circuit) measured.Impedance {
	return sweep(func(f float64) complex128 { return c.impedance(f, 0) })
}

func fitOf(t *testing.T, z measured.Impedance, known Known) *Measured {
	t.Helper()
	m, err := Fit([]measured.Sweep{{Impedance: z}}, measured.Conditions{}, known)
	if err != nil {
		t.Fatal(err)
	}
	return m
}

// freeAir is the driver as a fit in free air with a mass would have it: fs 35.767414 Hz, Qms 4.494666, Qes 0.509795, Vas 61.792 L, Lces
// 50.625 mH, Res 51.136364 ohm, by the textbook's formulas.
func freeAir() *param.Parameters {
	p := param.Parameters{Coverage: 1.96}
	for _, v := range []struct {
		id    param.ID
		value float64
	}{{param.Re, 5.8}, {param.Fs, 35.767414}, {param.Qms, 4.494666}, {param.Qes, 0.509795}, {param.Res, 51.136364}, {param.Lces, 50.625e-3},
		{param.Vas, 61.792038e-3}, {param.Creep, 0}} {
		scaled := v.value
		if v.id.Info().Positive {
			scaled = math.Log(v.value)
		}
		p.IDs, p.Scaled, p.Origin = append(p.IDs, v.id), append(p.Scaled, scaled), append(p.Origin, param.FromFit)
	}
	effect := make([]float64, len(p.IDs))
	for i := range effect {
		effect[i] = 0.003
	}
	p.Components = []param.Component{{Source: "resistor", Part: param.BenchPart, Effect: effect}}
	return &p
}

func check(t *testing.T, m *Measured, want map[param.ID]float64, within float64) {
	t.Helper()
	for id, w := range want {
		e, ok := m.Parameters.Get(id)
		if !ok || math.Abs(e.Value/w-1) > within || !(e.Low <= w && w <= e.High) {
			t.Errorf("%v = %.5g from %.5g to %.5g (%v), wanted %v", id, e.Value, e.Low, e.High, ok, w)
		}
	}
}

// Closed without losses: fc = fs sqrt(1 + alpha) and Q alike, from the printed values of the handbook driver; Vab is the volume.
func TestClosedBox(t *testing.T) {
	m := fitOf(t, of(box(0, none, none, 0)), Known{Driver: freeAir(), Volume: 0.035})
	if m.Kind != Closed || len(m.Peaks) != 1 || len(m.Findings) != 0 {
		t.Errorf("%v, %v, %v", m.Kind, m.Peaks, m.Findings)
	}
	check(t, m, map[param.ID]float64{param.Fc: 59.480325, param.Qec: 0.847776, param.Qmc: 7.474518, param.Qtc: 0.761415,
		param.Alpha: 1.7654868, param.Vab: 0.035}, 0.02)
	if c, ok := m.Cabinet(); !ok || c.Tuning != 0 || math.Abs(c.Volume/0.035-1) > 0.02 {
		t.Errorf("%+v, %v", c, ok)
	}
}

// Vented, with 1/QB = 1/7 + 1/50 + 1/60 by hand.
func TestVentedBox(t *testing.T) {
	m := fitOf(t, of(box(38, 7, 50, 60)), Known{Driver: freeAir(), Volume: 0.035, Tuning: 38})
	if m.Kind != Vented || len(m.Peaks) != 2 || len(m.Findings) != 0 {
		t.Errorf("%v, %v, %v", m.Kind, m.Peaks, m.Findings)
	}
	check(t, m, map[param.ID]float64{param.Fb: 38, param.QB: 5.5703, param.Alpha: 1.7654868, param.Vab: 0.035, param.Fs: 35.767414, param.Qes: 0.509795}, 0.01)
	if c, ok := m.Cabinet(); !ok || math.Abs(c.Tuning/38-1) > 0.01 || math.Abs(c.Leak/5.57-1) > 0.01 {
		t.Errorf("%+v, %v", c, ok)
	}
}

func TestAgainstWhatIsKnown(t *testing.T) {
	for _, c := range []struct {
		z     measured.Impedance
		known Known
		want  Fault
	}{
		{of(box(0, 7, 50, 0)), Known{Tuning: 38}, PortBlocked},
		{of(box(38, 7, 50, 60)), Known{Tuning: 33}, PortChanged},
		{of(box(38, 2.5, 50, 60)), Known{}, Leak},
		{of(box(38, 7, 50, 60)), Known{Driver: freeAir(), Volume: 0.028}, MoreFilling},
		{of(box(38, 7, 50, 60)), Known{Driver: freeAir(), Volume: 0.02}, MoreVolume},
		{of(box(38, 7, 50, 60)), Known{Driver: freeAir(), Volume: 0.05}, LessVolume},
	} {
		m := fitOf(t, c.z, c.known)
		if len(m.Findings) != 1 || m.Findings[0].Fault != c.want {
			t.Errorf("%+v, wanted %s", m.Findings, c.want)
		}
	}
}

// What differs is named, whichever of the two has it; and nothing where nothing does.
func TestCompare(t *testing.T) {
	healthy := box(38, 7, 50, 60)
	blocked, short, warm, softer := healthy, healthy, healthy, healthy
	blocked.port *= 100
	blocked.rub *= 100
	short.port /= 1.2 * 1.2
	warm.driver.Re *= 1.01
	softer.driver.Cms *= 1.3
	leaky := sweep(func(f float64) complex128 {
		r := healthy.air * 3 / healthy.at
		return healthy.impedance(f, 1/complex(r, r*f/150))
	})
	closed := box(0, 12, 50, 0)
	closedLeaky := sweep(func(f float64) complex128 {
		r := closed.air * 3 / closed.at
		return closed.impedance(f, 1/complex(r, r*f/150))
	})
	for _, c := range []struct {
		a, b  measured.Impedance
		want  Fault
		which int
	}{
		{of(healthy), leaky, Leak, 1}, {leaky, of(healthy), Leak, 0}, {of(closed), closedLeaky, Leak, 1},
		{of(healthy), of(blocked), PortBlocked, 1}, {of(blocked), of(healthy), PortBlocked, 0},
		{of(healthy), of(short), PortChanged, 1}, {of(healthy), of(warm), NoChange, 1}, {of(healthy), of(softer), Softer, 1},
	} {
		z := [2]measured.Impedance{c.a, c.b}
		got, err := Compare([2]*Measured{fitOf(t, c.a, Known{}), fitOf(t, c.b, Known{})}, z, BeforeAfter)
		if err != nil {
			t.Fatal(err)
		}
		if got.Finding.Fault != c.want || !got.Explained || c.want != NoChange && got.Which != c.which {
			t.Errorf("%+v, wanted %s of %d", got, c.want, c.which)
		}
	}
	// Air and suspension are one spring in a closed box.
	stiffer := closed
	stiffer.driver.Cms /= 1.25
	z := [2]measured.Impedance{of(closed), of(stiffer)}
	got, err := Compare([2]*Measured{fitOf(t, z[0], Known{}), fitOf(t, z[1], Known{})}, z, BeforeAfter)
	if err != nil || got.Finding.Sure || !slices.Contains(append(got.Finding.Rivals, got.Finding.Fault), Stiffer) {
		t.Errorf("%+v, %v", got, err)
	}
	if _, err := Compare([2]*Measured{fitOf(t, of(healthy), Known{}), nil}, [2]measured.Impedance{of(healthy), {Freq: []float64{1e4, 2e4}, Z: []complex128{6, 7}}}, LeftRight); codeOf(err) != "cabinet-no-overlap" {
		t.Errorf("%v", err)
	}
}

func codeOf(err error) string {
	var n *notice.Notice
	if errors.As(err, &n) {
		return n.Code
	}
	return ""
}

func TestRefusals(t *testing.T) {
	if _, err := Fit(nil, measured.Conditions{}, Known{}); codeOf(err) != "no-sweeps" {
		t.Error(err)
	}
	for want, known := range map[string]Known{"closed-with-tuning": {Kind: Closed, Tuning: 30}, "bad-value": {Volume: -1}, "no-second-peak": {Kind: Vented}} {
		if _, err := Fit([]measured.Sweep{{Impedance: of(box(0, none, none, 0))}}, measured.Conditions{}, known); codeOf(err) != want {
			t.Errorf("%v, wanted %s", err, want)
		}
	}
	m := fitOf(t, of(box(38, 7, 50, 60)), Known{})
	if _, ok := m.Cabinet(); ok || m.Parameters.Index(param.Vab) >= 0 {
		t.Error("a volume without the driver")
	}
}
