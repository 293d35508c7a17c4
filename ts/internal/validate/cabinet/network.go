package main

import (
	"fmt"
	"slices"
	"strings"

	"conewright/ts/internal/truth"
	"conewright/ts/network"
	"conewright/ts/terminals"
)

// rightParts are the suspects that are right for a fault of a network.
var rightParts = map[truth.NetworkFault][]terminals.Suspect{
	truth.NetworkUntouched: {{Fault: terminals.NoFault}},
	truth.HighBranchOpen:   {{Fault: terminals.Open, Part: "C1"}},
	truth.LowBranchOpen:    {{Fault: terminals.Open, Part: "L1"}, {Fault: terminals.Open, Part: "woofer"}},
	truth.TweeterOpen:      {{Fault: terminals.Open, Part: "tweeter"}, {Fault: terminals.Open, Part: "R1"}},
	truth.WrongCapacitor:   {{Fault: terminals.OtherValue, Part: "C1"}},
	truth.WrongCoil:        {{Fault: terminals.OtherValue, Part: "L1"}},
	truth.WornCapacitor:    {{Fault: terminals.Resistance, Part: "C1"}},
}

// listed is a list of parts as the file of a network gives it.
func listed(l truth.ListedPart) network.Network {
	driver := func(name, from string, d truth.Listed) network.Part {
		return network.Part{Name: name, Kind: network.Driver, Value: d.Re, From: from, To: network.Ground,
			Curve: network.Moving{Re: d.Re, Le: d.Le, Fs: d.Fs, Qms: d.Qms, Qes: d.Qes}.Impedance}
	}
	return network.Network{
		{Name: "L1", Kind: network.Coil, Value: l.L1, Series: l.L1Rdc, From: network.In, To: "a"},
		driver("woofer", "a", l.Woofer),
		{Name: "C1", Kind: network.Capacitor, Value: l.C1, Series: l.C1ESR, From: network.In, To: "b"},
		{Name: "L2", Kind: network.Coil, Value: l.L2, Series: l.L2Rdc, From: "b", To: network.Ground},
		{Name: "R1", Kind: network.Resistor, Value: l.R1, From: "b", To: "c"},
		driver("tweeter", "c", l.Tweeter),
	}
}

func networks() {
	for _, with := range []string{"against a sweep before", "against the list alone"} {
		if *only == "list" && with != "against the list alone" {
			continue
		}
		fmt.Printf("\n### Faults of a network, %s, %d of each\n\n| fault | named first | named among | surely | surely wrong | refused | taken for, where not first |\n|---|---|---|---|---|---|---|\n", with, *n)
		for _, f := range truth.NetworkFaults() {
			networkRow(f, with == "against a sweep before")
		}
	}
}

func networkRow(f truth.NetworkFault, before bool) {
	all := make([]*terminals.Found, *n)
	parallel(*n, func(i int) {
		was, now, list := truth.FaultyLoudspeaker(*seed+uint64(i), f)
		var ref *terminals.Reference
		if before {
			ref = &terminals.Reference{Curve: impedance(was)}
		}
		all[i], _ = terminals.Fingerprint(impedance(now), listed(list), ref)
	})
	first, among, sure, wrong, refused := 0, 0, 0, 0, 0
	instead := map[string]int{}
	right := func(s terminals.Suspect) bool {
		return slices.ContainsFunc(rightParts[f], func(r terminals.Suspect) bool { return r.Fault == s.Fault && r.Part == s.Part })
	}
	for i, s := range all {
		if s == nil {
			refused++
			continue
		}
		if right(s.Suspect) {
			first, among = first+1, among+1
		} else {
			word := strings.TrimSpace(s.Part + " " + string(s.Fault))
			if !s.Explained {
				word += "?"
			}
			instead[word]++
			if slices.ContainsFunc(s.Rivals, right) {
				among++
			}
			if *show {
				fmt.Printf("%d %v: %+v %v %v %v %.4f %.4f\n", *seed+uint64(i), f, s.Suspect, s.Sure, s.Explained, s.Rivals, s.Rms, s.Left)
			}
		}
		if s.Sure {
			sure++
			if !right(s.Suspect) {
				wrong++
			}
		}
	}
	var words []string
	for w, k := range instead {
		words = append(words, fmt.Sprintf("%s %d", w, k))
	}
	slices.Sort(words)
	mark := ""
	if among*10 < 9**n || wrong > 0 {
		mark = " (!)"
	}
	fmt.Printf("| %v%s | %d | %d | %d | %d | %d | %s |\n", f, mark, first, among, sure, wrong, refused, strings.Join(words, ", "))
}
