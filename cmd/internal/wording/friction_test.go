package wording

import (
	"strings"
	"testing"

	"conewright/ts/friction"
	"conewright/ts/measured"
)

func TestFrictionSentences(t *testing.T) {
	for _, c := range []struct {
		found friction.Found
		want  string
	}{
		{friction.Found{Least: 0.4e-3, Share: 0.02, Voltage: 0.3, Levels: 1}, "The coil is free: by the harmonics of the current any friction is below 0.4 mN."},
		{friction.Found{Least: 12.34e-3, Share: 0.3, Voltage: 0.3, Levels: 1},
			"Whether the coil rubs cannot be told below 12 mN at this level, which would be 30 % of the losses; a longer sweep, a lower level or more gain at the inputs shows less."},
		{friction.Found{Rubs: true, Force: 5.04e-3, Low: 4.1e-3, High: 6.2e-3, Share: 0.24, Voltage: 0.3, Levels: 2, Losses: friction.ByLosses{Force: 5.2e-3, Std: 0.4e-3}},
			"The coil rubs, or there is glue or dust in the gap: friction of about 5.0 mN (4.1 to 6.2 mN), 24 % of the mechanical losses at this level. The losses fall as the level rises, which by itself tells of 5.2 mN, give or take 0.8 mN."},
		{friction.Found{Rubs: true, Force: 5.04e-3, Low: 4.1e-3, High: 6.2e-3, Share: 0.04, Voltage: 0.3, Levels: 2, Losses: friction.ByLosses{Force: -1e-3, Std: 4e-3}},
			"The coil rubs, or there is glue or dust in the gap: friction of about 5.0 mN (4.1 to 6.2 mN), 4.0 % of the mechanical losses at this level. Of the losses alone it could not be told: it takes 8.0 mN to be seen there at these levels."},
		{friction.Found{Rubs: true, Force: 5.04e-3, Low: 4.1e-3, High: 6.2e-3, Share: 0.24, Voltage: 0.3, Levels: 1},
			"The coil rubs, or there is glue or dust in the gap: friction of about 5.0 mN (4.1 to 6.2 mN), 24 % of the mechanical losses at this level."},
	} {
		if got := Friction(c.found); got != c.want {
			t.Errorf("%q\nwant %q", got, c.want)
		}
	}
}

// The next step names the second level and how loud it is.
func TestFrictionNext(t *testing.T) {
	f := friction.Found{Rubs: true, Force: 5e-3, Low: 4e-3, High: 6e-3, Share: 0.2, Voltage: 0.1, Levels: 1}
	got := FrictionNext(&f)
	want := "sweep once more with 0.4 V at the terminals at the resonance (now 0.1 V, so +12 dB; above the bass about 71 dB at a metre, as loud as somebody who raises the voice), inputs well used, and give both sweeps"
	if len(got) != 1 || got[0].Do != want {
		t.Errorf("%+v", got)
	}
	if hint := Notice(*f.Warning()).Hint; !strings.Contains(hint, "usual BL") {
		t.Errorf("%q", hint)
	}
	open := friction.Found{Least: 5e-3, Share: 0.2, Voltage: 0.4, Levels: 1}
	if got := FrictionNext(&open); len(got) != 1 || !strings.Contains(got[0].Do, "with 0.1 V") || !strings.Contains(got[0].Do, "-12 dB") || !strings.Contains(got[0].Do, "as loud as speech") {
		t.Errorf("%+v", got)
	}
	f.Levels, f.KnowsBL = 2, true
	if got, none := FrictionNext(&f), FrictionNext(nil); got != nil || none != nil {
		t.Errorf("%+v, %+v", got, none)
	}
	if hint := Notice(*f.Warning()).Hint; strings.Contains(hint, "usual BL") {
		t.Errorf("%q", hint)
	}
}

func TestFreeLinesSentences(t *testing.T) {
	for _, c := range []struct {
		lines measured.FreeLines
		want  string
	}{
		{measured.FreeLines{Even: measured.FreeLine{Share: 1e-4, Floor: 2e-4}, Odd: measured.FreeLine{Floor: 3e-4}},
			"Between the tones there is nothing but noise: what the driver adds is below 0.02 % of even and 0.03 % of odd order."},
		{measured.FreeLines{Even: measured.FreeLine{Share: 1e-4, Floor: 2e-4}, Odd: measured.FreeLine{Share: 4e-3, Floor: 3e-4}},
			"Between the tones the driver adds less than 0.02 % of even and 0.4 % of odd order (noise would show 0.02 % and 0.03 %). Whether odd order is a rub a sweep tells: conewright signal writes one."},
	} {
		if got := FreeLines(c.lines); got != c.want {
			t.Errorf("%+v: %s\nwant %s", c.lines, got, c.want)
		}
	}
}
