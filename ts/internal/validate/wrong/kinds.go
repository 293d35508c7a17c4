package main

import (
	"bytes"
	"cmp"
	"errors"
	"maps"
	"math"
	"slices"
	"strings"

	"conewright/sweeps"
	"conewright/ts"
	"conewright/ts/change"
	"conewright/ts/fitted"
	"conewright/ts/internal/truth"
	"conewright/ts/measured"
	"conewright/ts/notice"
	"conewright/ts/param"
	"conewright/ts/verdict"
)

// right are the notices and causes that name a connection: a code, and for two resonances
// the kind of circuit.
var right = map[truth.Connection][]string{
	truth.InVentedBox:          {"two-resonances vented-box"},
	truth.InVentedBoxFromAbove: {"two-resonances vented-box"},
	truth.InVentedBox43And114:  {"two-resonances vented-box"},
	truth.InClosedBox:          {"in-a-box"},
	truth.WithTestMass:         {"mass-on-cone"},
	truth.WithLooseMass:        {"two-resonances loose-mass"},
	truth.TwoEqualParallel:     {"two-drivers two-in-parallel", "two-resonances two-in-parallel"},
	truth.TwoUnequalParallel:   {"two-drivers two-in-parallel", "two-resonances two-in-parallel"},
	truth.TwoEqualSeries:       {"two-drivers two-in-series", "two-resonances two-in-series"},
	truth.TwoUnequalSeries:     {"two-drivers two-in-series", "two-resonances two-in-series"},
	truth.CapacitorInSeries:    {"capacitor-in-series"},
	truth.CoilInSeries:         {"coil-in-series", "lossless-coil", "unusual-value L/Re"},
	truth.ResistanceInSeries:   {"resistance-in-series", string(change.SeriesResistance)},
	truth.ShortedLeads:         {"leads-shorted"},
	truth.NoDriver:             {"driver-disconnected"},
	truth.BlockedCoil:          {"no-peak"},
	truth.ChannelDelay:         {"channels-late"},
	truth.OnlyResistor:         {"only-resistor"},
}

func connections() []kind {
	var all []kind
	for _, c := range truth.Connections() {
		all = append(all, kind{c.String(), func(seed uint64) said {
			alone, with := truth.Connect(seed, c)
			return judge(impedance(with.Sweep), with.Truth, &alone.Sweep, right[c])
		}})
	}
	return all
}

// judge is what the program says of a sweep that is said to be of a driver in free air: by its
// sheet, and after a sweep before it, where there is one.
func judge(z measured.Impedance, v truth.Values, earlier *truth.Sweep, names []string) said {
	after, err := fit(z)
	if err != nil {
		return name(said{}, names, worded(err))
	}
	var s said
	var words []string
	spec := sheet(v)
	checked, err := ts.Check(after.Parameters, spec)
	if err != nil {
		panic(err)
	}
	s.verdict[0], s.untrue[0] = checked.Verdict != verdict.Undecided, checked.Verdict == verdict.OutOfSpec
	for _, n := range checked.Withheld {
		words = append(words, codeOf(n))
	}
	if earlier == nil {
		return name(s, names, words...)
	}
	if before, err := fit(impedance(*earlier)); err == nil {
		compared, err := ts.Compare(before.Parameters, after.Parameters, change.Options{Spec: &spec, Direct: fitted.Between(before, after)})
		if err != nil {
			panic(err)
		}
		s.verdict[1], s.untrue[1] = compared.Verdict() != verdict.Undecided, compared.Verdict() == verdict.OutOfSpec
		for _, n := range compared.Withheld {
			words = append(words, codeOf(n))
		}
		if lead := compared.Explanations[0].Causes[0].ID; !compared.Unexplained {
			words = append(words, string(lead))
			s.cause = len(compared.Explanations) == 1 && lead != change.NoChange && !slices.Contains(names, string(lead))
		}
	}
	return name(s, names, words...)
}

// name fills in whether one of names is among the words, each a code with what it names.
func name(s said, names []string, words ...string) said {
	for i, w := range words {
		f := strings.Fields(w)
		for k, what := range f[1:] {
			for _, n := range names {
				if n == f[0]+" "+what {
					s.named[1] = true
					s.named[0] = s.named[0] || i == 0 && k == 0
				}
			}
		}
		if slices.Contains(names, f[0]) {
			s.named[1] = true
			s.named[0] = s.named[0] || i == 0
		}
	}
	s.instead = "nothing"
	if len(words) > 0 {
		s.instead = words[0]
	}
	return s
}

// worded is a refusal as a word.
func worded(err error) string {
	var n *notice.Notice
	if !errors.As(err, &n) {
		return "refused"
	}
	return codeOf(*n)
}

// codeOf is the code of a notice, with the kinds that it names.
func codeOf(n notice.Notice) string {
	for _, fact := range []string{"kinds", "kind", "second", "fits", "of"} {
		if n.Has(fact) {
			return n.Code + " " + n.Text(fact)
		}
	}
	return n.Code
}

// sheet has the true values with tolerances.
func sheet(v truth.Values) verdict.Spec {
	within := func(id param.ID, x, by float64) verdict.Limit {
		return verdict.Limit{ID: id, Lo: x * (1 - by), Hi: x * (1 + by)}
	}
	return verdict.Spec{Limits: []verdict.Limit{within(param.Re, v.Re, 0.05), within(param.Fs, v.Fs, 0.1), within(param.Qes, v.Qes, 0.1), within(param.Qms, v.Qms, 0.2)}}
}

func fit(z measured.Impedance) (*fitted.Result, error) {
	return ts.Fit([]measured.Sweep{{Impedance: z}}, measured.Conditions{})
}

func impedance(s truth.Sweep) measured.Impedance {
	z, err := measured.NewImpedance(s.F, s.Z, s.Sigma)
	if err != nil {
		panic(err)
	}
	return z
}

func read(data []byte) (measured.Impedance, error) {
	return sweeps.Read(bytes.NewReader(data), int64(len(data)), "sweep.csv", sweeps.Options{})
}

// table is a table as a program writes it.
func table(f truth.File) measured.Impedance {
	z, err := read(truth.Layout{}.Bytes(truth.Rand(1), f.Table))
	if err != nil {
		panic(err)
	}
	return z
}

// slipNames are slips and the words that name them.
var slipNames = map[truth.Slip]struct{ name, likely string }{
	truth.KilohertzAsHertz: {"kHz under Hz", "f[kHz]"}, truth.HertzAsKilohertz: {"Hz under kHz", "f[Hz]"}, truth.RadiansAsHertz: {"rad/s under freq", "f[rad/s]"},
	truth.DecibelsAsOhm: {"dB under ohm", "|Z|[dBohm]"}, truth.RatioAsOhm: {"ratio of voltages under ohm", ""},
	truth.RadiansAsDegrees: {"rad under degrees", "phase[rad]"}, truth.MilliohmsAsOhm: {"milliohm under ohm", "|Z|[mohm]"},
}

func files() []kind {
	all := []kind{
		{"clipped at the top of a meter's range", func(seed uint64) said {
			f := truth.Clipped(seed)
			return judge(table(f), f.Truth, nil, []string{"peak-clipped"})
		}},
		{"smoothed over a third of an octave", func(seed uint64) said {
			f := truth.Smoothed(seed, 1./3)
			return judge(table(f), f.Truth, nil, []string{"curve-smoothed"})
		}},
	}
	for _, slip := range truth.Slips() {
		c := slipNames[slip]
		all = append(all, kind{c.name, func(seed uint64) said {
			data, f := truth.Slipped(seed, slip)
			z, err := read(data)
			if err == nil {
				return judge(z, f.Truth, nil, nil)
			}
			words := worded(err)
			ok := strings.Contains(words, c.likely) && c.likely != "" || strings.HasPrefix(words, "column-ratio") && c.likely == ""
			return said{named: [2]bool{ok, ok}, instead: words}
		}})
	}
	return all
}

// sorted are the keys of counts, the most frequent first.
func sorted(counts map[string]int) []string {
	keys := slices.Sorted(maps.Keys(counts))
	slices.SortStableFunc(keys, func(a, b string) int { return cmp.Compare(counts[b], counts[a]) })
	return keys
}

// differs says whether a sweep that was read is not the one that was written.
func differs(z measured.Impedance, f truth.File) bool {
	for i, at := range z.Freq {
		k := slices.IndexFunc(f.Table.F, func(x float64) bool { return math.Abs(x/at-1) < 1e-5 })
		if k < 0 || math.Abs(math.Hypot(real(z.Z[i]), imag(z.Z[i]))/f.Table.Mag[k]-1) > 0.02 {
			return true
		}
	}
	return false
}
