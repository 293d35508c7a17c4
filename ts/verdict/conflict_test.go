package verdict

import (
	"math/rand/v2"
	"slices"
	"testing"

	"conewright/ts/driver"
	"conewright/ts/param"
)

func within(id param.ID, value, tolerance float64) Limit {
	return Limit{id, value * (1 - tolerance), value * (1 + tolerance)}
}

// A sheet made from one driver never contradicts itself, whatever the limits.
func TestNoConflictOnASoundSheet(t *testing.T) {
	rng := rand.New(rand.NewPCG(5, 6))
	for range 200 {
		d := driver.Driver{Re: 3 + 9*rng.Float64(), BL: 3 + 15*rng.Float64(), Mms: 0.005 + 0.1*rng.Float64(), Cms: 1e-4 + 1e-3*rng.Float64(), Rms: 0.3 + 4*rng.Float64()}
		spec := Spec{}
		sd := 0.01 + 0.08*rng.Float64()
		for id, v := range map[param.ID]float64{param.Re: d.Re, param.Fs: d.Fs(), param.Qms: d.Qms(), param.Qes: d.Qes(), param.Qts: d.Qts(), param.Mms: d.Mms, param.Cms: d.Cms, param.Rms: d.Rms, param.BL: d.BL,
			param.Sd: sd, param.Vas: 141900 * sd * sd * d.Cms, param.Lces: d.BL * d.BL * d.Cms, param.Cmes: d.Mms / d.BL / d.BL, param.Res: d.BL * d.BL / d.Rms} {
			if rng.IntN(3) > 0 {
				spec.Limits = append(spec.Limits, within(id, v, 0.001+0.2*rng.Float64()))
			}
		}
		if c := conflicts(spec); len(c) > 0 {
			t.Fatalf("%+v of %+v", c, d)
		}
	}
}

// A 12-inch woofer of a university course (free air 22.9 Hz, Mms 88.2 g, Cms
// 0.55 mm/N, Re 5.46, BL 11.6, Qms 3.90, Qes 0.514, Qts 0.454, Vas 210 L, Sd 519
// cm^2), with one misprint at a time: the group that is named holds it.
func TestConflictNamesTheMisprint(t *testing.T) {
	sheet := []Limit{within(param.Re, 5.46, .05), within(param.Fs, 22.85, .1), within(param.Qms, 3.9, .1), within(param.Qes, .514, .1), within(param.Qts, .454, .1),
		within(param.Mms, 88.2e-3, .05), within(param.Cms, .55e-3, .1), within(param.Rms, 3.25, .1), within(param.BL, 11.6, .05), within(param.Vas, .210, .1), within(param.Sd, .0519, .03)}
	if c := conflicts(Spec{Limits: sheet}); len(c) != 0 {
		t.Fatalf("sound sheet: %+v", c)
	}
	for _, c := range []struct {
		id    param.ID
		wrong float64
		group []param.ID
	}{
		{param.Qts, 0.8, []param.ID{param.Qes, param.Qts}},                            // above Qes, which cannot be
		{param.Cms, 0.9e-3, []param.ID{param.Fs, param.Mms, param.Cms}},               // or with Vas and Sd
		{param.Vas, 0.150, []param.ID{param.Vas, param.Cms, param.Sd}},                // litres of another driver
		{param.BL, 8, []param.ID{param.Re, param.Fs, param.Qes, param.Mms, param.BL}}, // another motor
	} {
		limits := slices.Clone(sheet)
		for i, l := range limits {
			if l.ID == c.id {
				limits[i] = within(c.id, c.wrong, .05)
			}
		}
		found := conflicts(Spec{Limits: limits})
		if len(found) == 0 || !slices.Contains(found[0].IDs, c.id) {
			t.Errorf("%v %v: found %+v", c.id, c.wrong, found)
			continue
		}
		if len(found[0].IDs) > len(c.group) {
			t.Errorf("%v %v: the group %v is larger than %v", c.id, c.wrong, found[0].IDs, c.group)
		}
	}
	// Across an unlisted mass: Fs and Cms fix it, Qes, Re and BL another one.
	if c := conflicts(Spec{Limits: []Limit{within(param.Re, 5.46, .05), within(param.Fs, 22.85, .05), within(param.Qes, .514, .05), within(param.Cms, .55e-3, .05), within(param.BL, 15, .05)}}); len(c) != 1 || len(c[0].IDs) != 5 {
		t.Errorf("through the mass: %+v", c)
	}
}
