package wording

import (
	"math"
	"strings"
	"testing"

	"conewright/ts/driver"
	"conewright/ts/handmade"
	"conewright/ts/param"
	"conewright/ts/verdict"
)

// Each reading names the side on which the value lies, and the physics agrees:
// what it names as a cause moves the value to that side.
func TestReadings(t *testing.T) {
	p := func(d driver.Driver) param.Parameters {
		return handmade.Known{Driver: d, Std: handmade.Std, Mass: true}.Parameters(nil)
	}
	for text, c := range map[string]struct {
		id     param.ID
		change func(*driver.Driver)
	}{
		"A high Fs comes from a stiff":           {param.Fs, func(d *driver.Driver) { d.Cms /= 1.4 }},
		"A low Fs comes from a soft":             {param.Fs, func(d *driver.Driver) { d.Cms *= 1.4 }},
		"A high Qts comes from a weak motor":     {param.Qts, func(d *driver.Driver) { d.BL /= 1.2 }},
		"A low Qes comes from a strong motor":    {param.Qes, func(d *driver.Driver) { d.BL *= 1.2 }},
		"A low Qms comes from mechanical loss":   {param.Qms, func(d *driver.Driver) { d.Rms *= 1.5 }},
		"A low Cms is a stiff suspension":        {param.Cms, func(d *driver.Driver) { d.Cms /= 1.4 }},
		"A high Mms comes from too much glue":    {param.Mms, func(d *driver.Driver) { d.Mms *= 1.2 }},
		"A low Re comes from another coil or fr": {param.Re, func(d *driver.Driver) { d.Re /= 1.2 }},
	} {
		before, _ := p(handmade.Woofer).Get(c.id)
		spec := verdict.Spec{Limits: []verdict.Limit{{ID: c.id, Lo: before.Value / 1.05, Hi: before.Value * 1.05}}}
		checked, err := verdict.Check(p(handmade.Changed(c.change)), spec)
		if err != nil {
			t.Fatal(err)
		}
		if got := Readings(checked); len(got) != 1 || !strings.HasPrefix(got[0], text) {
			t.Errorf("%v: %q, want %q", c.id, got, text)
		}
	}
	in, err := verdict.Check(p(handmade.Woofer), verdict.Spec{Limits: []verdict.Limit{{ID: param.Fs, Lo: 0, Hi: math.Inf(1)}}})
	if err != nil || Readings(in) != nil {
		t.Errorf("in spec: %q, %v", Readings(in), err)
	}
}
