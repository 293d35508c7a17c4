package wording

import (
	"strings"
	"testing"

	"conewright/ts/measured"
	"conewright/ts/param"
	"conewright/ts/ring"
	"conewright/ts/verdict"
)

// Every value that can be outside of its range has a name in words.
func TestValueSentences(t *testing.T) {
	far := param.Quantity{Value: 1e12}
	fit := func(c measured.Conditions) error { return c.Check() }
	fs := verdict.Spec{Limits: []verdict.Limit{{ID: param.Fs, Lo: 30, Hi: 35}}, Confidence: 2}
	size := func(density, d float64) error {
		_, err := ring.ForMass(0.01, density, ring.Ring{InnerDiameter: d, Height: 0.01})
		return err
	}
	values := func(fs, qms float64) error {
		_, err := param.FromValues(param.Quantity{Value: fs}, param.Quantity{Value: 0.03}, param.Quantity{Value: qms}, param.Quantity{}, param.FreeAir)
		return err
	}
	errs := []error{
		fit(measured.Conditions{Temperature: far}), fit(measured.Conditions{Pressure: far}), fit(measured.Conditions{Humidity: 50}),
		fit(measured.Conditions{Sd: far}), fit(measured.Conditions{DCRe: far}),
		measured.Load{Kind: measured.AddedMass, Value: 15}.Check(), measured.Load{Kind: measured.KnownBox, Value: 22}.Check(),
		fs.Check(), size(8.5, 0.05), size(8500, 50), values(1e12, 4), values(30, 1e12),
	}
	for _, err := range errs {
		message, hint := Error(err)
		if !strings.HasPrefix(message, "the ") || strings.HasPrefix(message, "the  ") || !strings.Contains(message, " is given as ") || !strings.Contains(hint, "it must lie from ") {
			t.Errorf("%v: %q, %q", err, message, hint)
		}
	}
	if len(given) != len(errs) {
		t.Errorf("%d names, %d of them are tried here", len(given), len(errs))
	}
}
