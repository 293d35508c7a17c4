package ts

import (
	"math"
	"strings"
	"testing"
)

// Each reading names the side on which the value lies, and the physics agrees:
// what it names as a cause moves the value to that side.
func TestReadings(t *testing.T) {
	p := func(d Driver) Parameters { return known{driver: d, std: testOnlyStd, mass: true}.parameters(nil) }
	for text, c := range map[string]struct {
		id     ParamID
		change func(*Driver)
	}{
		"A high Fs comes from a stiff":           {Fs, func(d *Driver) { d.Cms /= 1.4 }},
		"A low Fs comes from a soft":             {Fs, func(d *Driver) { d.Cms *= 1.4 }},
		"A high Qts comes from a weak motor":     {Qts, func(d *Driver) { d.BL /= 1.2 }},
		"A low Qes comes from a strong motor":    {Qes, func(d *Driver) { d.BL *= 1.2 }},
		"A low Qms comes from mechanical loss":   {Qms, func(d *Driver) { d.Rms *= 1.5 }},
		"A low Cms is a stiff suspension":        {Cms, func(d *Driver) { d.Cms /= 1.4 }},
		"A high Mms comes from too much glue":    {Mms, func(d *Driver) { d.Mms *= 1.2 }},
		"A low Re comes from another coil or fr": {Re, func(d *Driver) { d.Re /= 1.2 }},
	} {
		before, _ := p(testOnlyWoofer).Get(c.id)
		spec := Spec{Limits: []Limit{{c.id, before.Value / 1.05, before.Value * 1.05}}}
		checked, err := Check(p(changed(c.change)), spec)
		if err != nil {
			t.Fatal(err)
		}
		if got := checked.Readings(); len(got) != 1 || !strings.HasPrefix(got[0], text) {
			t.Errorf("%v: %q, want %q", c.id, got, text)
		}
	}
	in, err := Check(p(testOnlyWoofer), Spec{Limits: []Limit{{Fs, 0, math.Inf(1)}}})
	if err != nil || in.Readings() != nil {
		t.Errorf("in spec: %q, %v", in.Readings(), err)
	}
}
