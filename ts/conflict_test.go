package ts

import (
	"math/rand/v2"
	"slices"
	"testing"
)

func within(id ParamID, value, tolerance float64) Limit {
	return Limit{id, value * (1 - tolerance), value * (1 + tolerance)}
}

// A sheet made from one driver never contradicts itself, whatever the limits.
func TestNoConflictOnASoundSheet(t *testing.T) {
	rng := rand.New(rand.NewPCG(5, 6))
	for range 200 {
		d := Driver{Re: 3 + 9*rng.Float64(), BL: 3 + 15*rng.Float64(), Mms: 0.005 + 0.1*rng.Float64(), Cms: 1e-4 + 1e-3*rng.Float64(), Rms: 0.3 + 4*rng.Float64()}
		spec := Spec{}
		sd := 0.01 + 0.08*rng.Float64()
		for id, v := range map[ParamID]float64{Re: d.Re, Fs: d.Fs(), Qms: d.Qms(), Qes: d.Qes(), Qts: d.Qts(), Mms: d.Mms, Cms: d.Cms, Rms: d.Rms, BL: d.BL,
			Sd: sd, Vas: 141900 * sd * sd * d.Cms, Lces: d.BL * d.BL * d.Cms, Cmes: d.Mms / d.BL / d.BL, Res: d.BL * d.BL / d.Rms} {
			if rng.IntN(3) > 0 {
				spec.Limits = append(spec.Limits, within(id, v, 0.001+0.2*rng.Float64()))
			}
		}
		if c := SpecConflicts(spec); len(c) > 0 {
			t.Fatalf("%+v of %+v", c, d)
		}
	}
}

// A 12-inch woofer of a university course (free air 22.9 Hz, Mms 88.2 g, Cms
// 0.55 mm/N, Re 5.46, BL 11.6, Qms 3.90, Qes 0.514, Qts 0.454, Vas 210 L, Sd 519
// cm^2), with one misprint at a time: the group that is named holds it.
func TestConflictNamesTheMisprint(t *testing.T) {
	sheet := []Limit{within(Re, 5.46, .05), within(Fs, 22.85, .1), within(Qms, 3.9, .1), within(Qes, .514, .1), within(Qts, .454, .1),
		within(Mms, 88.2e-3, .05), within(Cms, .55e-3, .1), within(Rms, 3.25, .1), within(BL, 11.6, .05), within(Vas, .210, .1), within(Sd, .0519, .03)}
	if c := SpecConflicts(Spec{Limits: sheet}); len(c) != 0 {
		t.Fatalf("sound sheet: %+v", c)
	}
	for _, c := range []struct {
		id    ParamID
		wrong float64
		group []ParamID
	}{
		{Qts, 0.8, []ParamID{Qes, Qts}},          // above Qes, which cannot be
		{Cms, 0.9e-3, []ParamID{Fs, Mms, Cms}},   // or with Vas and Sd
		{Vas, 0.150, []ParamID{Vas, Cms, Sd}},    // litres of another driver
		{BL, 8, []ParamID{Re, Fs, Qes, Mms, BL}}, // another motor
	} {
		limits := slices.Clone(sheet)
		for i, l := range limits {
			if l.ID == c.id {
				limits[i] = within(c.id, c.wrong, .05)
			}
		}
		found := SpecConflicts(Spec{Limits: limits})
		if len(found) == 0 || !slices.Contains(found[0].IDs, c.id) {
			t.Errorf("%v %v: found %+v", c.id, c.wrong, found)
			continue
		}
		if len(found[0].IDs) > len(c.group) {
			t.Errorf("%v %v: the group %v is larger than %v", c.id, c.wrong, found[0].IDs, c.group)
		}
		if text := found[0].Explain(); text == "" {
			t.Errorf("%v: no words", c.id)
		}
	}
	// Across an unlisted mass: Fs and Cms fix it, Qes, Re and BL another one.
	if c := SpecConflicts(Spec{Limits: []Limit{within(Re, 5.46, .05), within(Fs, 22.85, .05), within(Qes, .514, .05), within(Cms, .55e-3, .05), within(BL, 15, .05)}}); len(c) != 1 || len(c[0].IDs) != 5 {
		t.Errorf("through the mass: %+v", c)
	}
}
