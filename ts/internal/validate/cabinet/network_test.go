package main

import (
	"slices"
	"testing"

	"conewright/ts/internal/truth"
	"conewright/ts/terminals"
)

// A coil before the woofer that was surely called a capacitor of another value: neither of the two leaves what its tolerances and the
// bench allow, and they differ by less than either leaves.
func TestNetworkNotSure(t *testing.T) {
	was, now, list := truth.FaultyLoudspeaker(41018, truth.WrongCoil)
	f, err := terminals.Fingerprint(impedance(now), listed(list), &terminals.Reference{Curve: impedance(was)})
	if err != nil {
		t.Fatal(err)
	}
	coil := func(s terminals.Suspect) bool { return s.Part == "L1" && s.Fault == terminals.OtherValue }
	if f.Sure || !coil(f.Suspect) && !slices.ContainsFunc(f.Rivals, coil) {
		t.Errorf("%+v, sure: %v, rivals %+v", f.Suspect, f.Sure, f.Rivals)
	}
	// A clear one stays sure.
	was, now, list = truth.FaultyLoudspeaker(41001, truth.WrongCoil)
	if f, err = terminals.Fingerprint(impedance(now), listed(list), &terminals.Reference{Curve: impedance(was)}); err != nil || !f.Sure || !coil(f.Suspect) {
		t.Errorf("%+v, %v", f, err)
	}
}
