package saved_test

import (
	"bytes"
	"encoding/json"
	"math"
	"reflect"
	"strings"
	"testing"

	"conewright/cmd/internal/report"
	"conewright/cmd/internal/saved"
	"conewright/ts/measured"
	"conewright/ts/notice"
	"conewright/ts/param"
	"conewright/ts/repeat"
	"conewright/ts/verdict"

	"gonum.org/v1/gonum/mat"
)

// someParameters is a set with every kind of uncertainty in it.
func someParameters() param.Parameters {
	return param.Parameters{
		IDs:    []param.ID{param.Re, param.Fs, param.Qms, param.Qes, param.Qts, param.Sd, param.Creep},
		Scaled: []float64{math.Log(5.603), math.Log(31.02), math.Log(5.1), math.Log(0.42), math.Log(0.388), math.Log(0.0346), 0.08},
		Origin: []param.Origin{param.FromFit, param.FromFit, param.FromFit, param.FromFit, param.Derived, param.Entered, param.FromFit},
		Noise: mat.NewSymDense(7, []float64{
			4e-6, 1e-6, 0, 0, 0, 0, 0,
			1e-6, 9e-6, 2e-6, 0, 0, 0, 0,
			0, 2e-6, 5e-5, 0, 0, 0, 0,
			0, 0, 0, 3e-5, 0, 0, 0,
			0, 0, 0, 0, 3e-5, 0, 0,
			0, 0, 0, 0, 0, 0, 0,
			0, 0, 0, 0, 0, 0, 1e-5}),
		Components: []param.Component{
			{Source: "resistor", Part: param.BenchPart, Effect: []float64{0.005, 0, 0, 0.005, 0.004, 0, 0}},
			{Source: "coil model two-part", Part: param.ModelPart, Own: true, Effect: []float64{0.001, 0.0002, 0.004, 0.01, 0.009, 0, 0.01}},
			{Source: "repeats", Part: param.RepeatPart, Own: true, Scatter: "again", Dof: 3, Assumed: true, Effect: []float64{0, 0.001, 0, 0, 0, 0, 0}},
			{Source: "diameter", Part: param.BenchPart, Effect: []float64{0, 0, 0, 0, 0, 0.005, 0}},
		},
		Skew:     [][2]float64{{1e-6, -1e-6}, {0, 0}, {2e-5, -1e-5}, {4e-5, -2e-5}, {3e-5, -2e-5}, {0, 0}, {1e-6, 0}},
		Coverage: 2.1, Mounting: param.Baffle, Temperature: 294.15, MeterOff: -0.25,
	}
}

func TestSavedFitComesBack(t *testing.T) {
	p := someParameters()
	p.OneDriver = true
	p.Doubts = []notice.Notice{*notice.New("two-resonances", notice.Facts{"lower": 43.0, "upper": 114.0, "between": 70.0, "kinds": "vented-box"})}
	bench := saved.Settings{{Name: "wiring", Value: "probes"}, {Name: "resistor", Value: "10.02 ohm"}, {Name: "leads", Value: "0.05"}}
	level := measured.Level{Value: 0.12, Volts: true}
	r := report.Fit(report.Job{Version: "test"}, report.Side{Parameters: p, Bench: bench, Level: level})
	var b bytes.Buffer
	if err := report.JSON(&b, r); err != nil {
		t.Fatal(err)
	}
	got, err := saved.Read(b.Bytes(), "f.json")
	if err != nil {
		t.Fatal(err)
	}
	if got.Level != level {
		t.Errorf("the level is %+v, want %+v", got.Level, level)
	}
	if !mat.Equal(got.Parameters.Noise, p.Noise) {
		t.Errorf("noise %v", got.Parameters.Noise)
	}
	got.Parameters.Noise = p.Noise // compared above
	if !reflect.DeepEqual(got.Parameters, p) {
		t.Errorf("got %+v\nwant %+v", got.Parameters, p)
	}
	if !reflect.DeepEqual(got.Bench, bench) {
		t.Errorf("bench %v", got.Bench)
	}
	if !saved.Is(b.Bytes()[:20]) || saved.Is([]byte("RIFF")) || saved.Is([]byte("5 6 7")) {
		t.Error("Is")
	}
}

// resealed gives the numbers of a saved fit the checksum that they have now.
func resealed(data []byte) []byte {
	var in struct{ Parameters, Joint json.RawMessage }
	var whole map[string]json.RawMessage
	if json.Unmarshal(data, &in) != nil || json.Unmarshal(data, &whole) != nil || in.Joint == nil || in.Parameters == nil {
		return data
	}
	sum, err := saved.Checksum(in.Parameters, in.Joint)
	if err != nil {
		return data
	}
	whole["checksum"], _ = json.Marshal(sum)
	out, err := json.Marshal(whole)
	if err != nil {
		return data
	}
	return out
}

// A number that was changed is found out, wherever it stands; how the file is broken into
// lines does not matter.
func TestChangedNumbersAreFoundOut(t *testing.T) {
	var b, compact bytes.Buffer
	if err := report.JSON(&b, report.Fit(report.Job{}, report.Side{Parameters: someParameters()})); err != nil {
		t.Fatal(err)
	}
	if err := json.Compact(&compact, b.Bytes()); err != nil {
		t.Fatal(err)
	}
	if _, err := saved.Read(compact.Bytes(), "f"); err != nil {
		t.Errorf("without lines: %v", err)
	}
	for old, changed := range map[string]string{`"value": 5`: `"value": 6`, `0.000004`: `0.000003`, `"own": false`: `"own": true`, `"checksum": "`: `"checksum": "0`} {
		text := strings.Replace(b.String(), old, changed, 1)
		if text == b.String() {
			t.Fatalf("%q is not in the file", old)
		}
		if got, err := saved.Read([]byte(text), "f"); got != nil || err == nil || !strings.Contains(err.Error(), "was changed") {
			t.Errorf("%q: %v, %v", old, got, err)
		}
	}
}

// Rounding leaves variances below zero and correlations beyond one; what is written then is
// the nearest that can be read again. A sound matrix stays as it is.
func TestRoundedCovarianceIsMended(t *testing.T) {
	for _, c := range []struct {
		what        string
		value, want [4]float64
	}{
		{"sound", [4]float64{1e-6, 2e-7, 2e-7, 1e-6}, [4]float64{1e-6, 2e-7, 2e-7, 1e-6}},
		{"a variance of -1e-37", [4]float64{1e-6, 1e-22, 1e-22, -1e-37}, [4]float64{1e-6, 0, 0, 0}},
		{"a covariance without a variance", [4]float64{1e-6, 1e-22, 1e-22, 0}, [4]float64{1e-6, 0, 0, 0}},
		{"a variance of rounding", [4]float64{1e-6, 1e-20, 1e-20, 1e-40}, [4]float64{1e-6, 0, 0, 0}},
		{"a correlation of 1+2e-9", [4]float64{1e-6, 1.000000002e-6, 1.000000002e-6, 1e-6}, [4]float64{1e-6, 1e-6, 1e-6, 1e-6}},
	} {
		p := someParameters().Only(func(id param.ID) bool { return id == param.Re || id == param.Sd })
		p.Noise = mat.NewSymDense(2, c.value[:])
		var b bytes.Buffer
		if err := report.JSON(&b, report.Fit(report.Job{}, report.Side{Parameters: p})); err != nil {
			t.Fatal(err)
		}
		got, err := saved.Read(b.Bytes(), "f")
		if err != nil {
			t.Errorf("%s: %v", c.what, err)
			continue
		}
		for i, want := range c.want {
			if g := got.Parameters.Noise.At(i/2, i%2); math.Abs(g-want) > 1e-20 {
				t.Errorf("%s: entry %d is %v, want %v", c.what, i, g, want)
			}
		}
	}
}

// A covariance that is not finite is not mended into a small one: the file is refused.
func TestCovarianceThatIsNotFiniteIsRefused(t *testing.T) {
	for _, value := range []float64{math.NaN(), math.Inf(1)} {
		for _, at := range [][2]int{{0, 0}, {1, 0}} {
			p := someParameters().Only(func(id param.ID) bool { return id == param.Re || id == param.Fs })
			p.Noise.SetSym(at[0], at[1], value)
			data, err := json.Marshal(saved.Joint(p))
			if err != nil {
				t.Fatal(err)
			}
			if _, err := saved.ReadJoint(data, "f"); err == nil || !strings.Contains(err.Error(), "null") {
				t.Errorf("%v at %v: %v", value, at, err)
			}
		}
	}
}

func TestReadRefuses(t *testing.T) {
	var b bytes.Buffer
	if err := report.JSON(&b, report.Fit(report.Job{}, report.Side{Parameters: someParameters()})); err != nil {
		t.Fatal(err)
	}
	for _, c := range []struct{ old, new, message string }{
		{`{`, ``, "cannot be read"},
		{`"conewright/fit/1"`, `"other/1"`, "not a saved fit"},
		{`"joint"`, `"jpint"`, "not a saved fit"},
		{`"coverage": 2.1`, `"coverage": 0`, "coverage"},
		{`"mounting": "baffle"`, `"mounting": "wall"`, "not a mounting"},
		{`"skew": [[0.000001,`, `"skew": [[1e+300,`, "skew"},
		{`"skew": [[0.000001,`, `"skew": [[0.000001, 0,`, "skew"},
		{`"skew": [[0.000001,`, `"skew": [[`, "skew"},
		{`"temperature_kelvin": 294.15`, `"temperature_kelvin": -3`, "temperature"},
		{`"part": "model"`, `"part": "luck"`, "not complete"},
		{`"doubts": []`, `"doubts": [{"code": "no-such", "facts": {}}]`, "no-such"},
		{`"doubts": []`, `"doubts": [{"code": "capacitor-in-series", "facts": {}}]`, "capacitor-in-series"},
		{"\"parameters\": [\"Re\"", "\"parameters\": [\"Rx\"", "unknown"},
		{"\"parameters\": [\"Re\"", "\"parameters\": [\"Fs\"", "doubled"},
		{`"noise_covariance": [[0.000004]`, `"noise_covariance": [[-0.000004]`, "no covariance"},
		{`[0.000001, 0.000009]`, `[0.000009, 0.000009]`, "no covariance"},
		{`[0.000001, 0.000009]`, `[null, 0.000009]`, "null"},
		{`"effect": [0.005,`, `"effect": [1e6,`, "so wide that it says nothing"},
		{`"effect": [0.005,`, `"effect": [null,`, "null"},
		{`"scaled": [1.72`, `"scaled": [91.72`, "no value that a driver has"},
		{"\"origin\": [\"fitted\"", "\"origin\": [\"found\"", "not an origin"},
	} {
		text := strings.Replace(b.String(), c.old, c.new, 1)
		if text == b.String() {
			t.Fatalf("%q is not in the file", c.old)
		}
		got, err := saved.Read(resealed([]byte(text)), "f.json")
		if got != nil || err == nil || !strings.HasPrefix(err.Error(), "f.json: ") || !strings.Contains(err.Error(), c.message) {
			t.Errorf("%q for %q: %v, %v", c.new, c.old, got, err)
		}
	}
}

func FuzzRead(f *testing.F) {
	var b bytes.Buffer
	if err := report.JSON(&b, report.Fit(report.Job{}, report.Side{Parameters: someParameters()})); err != nil {
		f.Fatal(err)
	}
	f.Add(b.Bytes())
	f.Fuzz(func(t *testing.T, data []byte) {
		got, err := saved.Read(resealed(data), "f")
		if (err == nil) != (got != nil) {
			t.Fatal("result and error do not agree")
		}
		if got != nil {
			got.Parameters.All()
			if _, err := json.Marshal(saved.Joint(got.Parameters)); err != nil {
				t.Fatal(err)
			}
		}
	})
}

// A saved fit brings its repeatability, and does not bring the warning of an earlier judgement
// into the next.
func TestSavedFitKnowsItsRepeatability(t *testing.T) {
	side := report.Side{Parameters: repeat.Usual.Include(someParameters(), repeat.Again)}
	spec := verdict.Spec{Mounting: param.Baffle, Limits: []verdict.Limit{{ID: param.Fs, Lo: 20, Hi: 40}}}
	checked, err := verdict.Check(side.Parameters, spec)
	if err != nil {
		t.Fatal(err)
	}
	var b bytes.Buffer
	if err := report.JSON(&b, report.Check(report.Job{Version: "test", Inputs: []saved.Input{{Path: "a.wav"}}}, side, checked)); err != nil {
		t.Fatal(err)
	}
	if !strings.Contains(b.String(), repeat.Assumed) {
		t.Errorf("the check does not carry %s", repeat.Assumed)
	}
	got, err := saved.Read(b.Bytes(), "f.json")
	if err != nil {
		t.Fatal(err)
	}
	for _, w := range got.Warnings {
		if w.Code == repeat.Assumed {
			t.Errorf("the saved fit brings %s", w.Code)
		}
	}
	for i, id := range side.Parameters.IDs {
		if was, is := side.Parameters.Dist(i), got.Parameters.Dist(i); math.Abs(was.Dof/is.Dof-1) > 1e-9 && !math.IsInf(was.Dof, 1) || !got.Parameters.Assumed(i) && side.Parameters.Assumed(i) {
			t.Errorf("%v: %v degrees of freedom, read back %v", id, was.Dof, is.Dof)
		}
	}
	// A file of an older version knows nothing of repeats: what is usual is added.
	var old bytes.Buffer
	if err := report.JSON(&old, report.Fit(report.Job{Version: "test"}, report.Side{Parameters: someParameters().Alone()})); err != nil {
		t.Fatal(err)
	}
	if got, err = saved.Read(old.Bytes(), "old.json"); err != nil {
		t.Fatal(err)
	}
	if fs, _ := got.Parameters.Get(param.Fs); fs.Budget.Repeat < 0.009*fs.Value {
		t.Errorf("repeats of an old file: %v of %v Hz", fs.Budget.Repeat, fs.Value)
	}
}
