package main

import (
	"strings"
	"testing"

	"conewright/ts/friction"
)

// The table at the end holds drivers on which no constant was chosen, and no others; without any it is left out.
func TestFreshDriversAlone(t *testing.T) {
	rubs := func(seed uint64, found float64) outcome {
		return outcome{seed: seed, run: run{volt: 0.1, friction: 0.01}, found: friction.Found{Rubs: true, Force: found, Low: 0.9 * found, High: 1.1 * found}}
	}
	written := func(all ...outcome) string {
		var s strings.Builder
		if err := report(&s, all, len(all), all[0].seed); err != nil {
			t.Fatal(err)
		}
		_, after, _ := strings.Cut(s.String(), "alone\n")
		return after
	}
	if got := written(rubs(fresh-1, 0.01)); got != "" {
		t.Errorf("no driver is fresh:\n%s", got)
	}
	got := written(rubs(fresh-1, 0.01), rubs(fresh, 0.01), rubs(fresh+1, 0.02), rubs(fresh+2, 0.0105))
	if want := "| 10 mN, 0.1 V | 100 % (3 of 3) | 67 % (2 of 3) | 1.05 | 67 % (2 of 3) |"; !strings.Contains(got, want) {
		t.Errorf("no %q in\n%s", want, got)
	}
}
