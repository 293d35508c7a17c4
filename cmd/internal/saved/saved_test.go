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
		Coverage: 2.1, Mounting: param.Baffle, Temperature: 294.15,
	}
}

func TestSavedFitComesBack(t *testing.T) {
	p := someParameters()
	p.OneDriver = true
	p.Doubts = []notice.Notice{*notice.New("two-resonances", notice.Facts{"lower": 43.0, "upper": 114.0, "between": 70.0, "kinds": "vented-box"})}
	bench := saved.Settings{{Name: "wiring", Value: "probes"}, {Name: "resistor", Value: "10.02 ohm"}, {Name: "leads", Value: "0.05"}}
	r := report.Fit(report.Job{Version: "test"}, report.Side{Parameters: p, Bench: bench})
	var b bytes.Buffer
	if err := report.JSON(&b, r); err != nil {
		t.Fatal(err)
	}
	got, err := saved.Read(b.Bytes(), "f.json")
	if err != nil {
		t.Fatal(err)
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
		{"\"origin\": [\"fitted\"", "\"origin\": [\"found\"", "not an origin"},
	} {
		text := strings.Replace(b.String(), c.old, c.new, 1)
		if text == b.String() {
			t.Fatalf("%q is not in the file", c.old)
		}
		got, err := saved.Read([]byte(text), "f.json")
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
		got, err := saved.Read(data, "f")
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
