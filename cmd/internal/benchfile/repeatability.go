package benchfile

import (
	"fmt"
	"slices"
	"strings"

	"conewright/cmd/internal/quantity"
	"conewright/cmd/internal/settings"
	"conewright/cmd/internal/wording"
	"conewright/ts/repeat"
)

// Table is the name of the table that says how the bench repeats, with a table below it
// for each kind of repeat.
const Table = "repeatability"

// keys of one kind: the standard deviations, the correlations, the degrees of freedom.
var (
	stdKeys         = [3]string{"Fs", "Qms", "Re"}
	correlationKeys = [3]string{"Fs-Qms", "Fs-Re", "Qms-Re"}
)

const freedomKey = "degrees-of-freedom"

// Repeatability writes the table.
func Repeatability(b repeat.Bench) string {
	var out strings.Builder
	for _, k := range repeat.Kinds {
		s := b[k]
		if !s.Known() || s.Assumed {
			continue
		}
		fmt.Fprintf(&out, "\n[%s.%v]\n", Table, k)
		for i, key := range stdKeys {
			fmt.Fprintf(&out, "%s = \"%.3g %%\"\n", key, 100*s.Std[i])
		}
		for i, key := range correlationKeys {
			fmt.Fprintf(&out, "%s = %.2f\n", key, s.Correlation[i])
		}
		fmt.Fprintf(&out, "%s = %.3g\n", freedomKey, s.Dof)
	}
	return out.String()
}

// Summary says in a few words what was found of the bench; empty where all is assumed.
func Summary(b repeat.Bench) string {
	var found []string
	for _, k := range repeat.Kinds {
		if s := b[k]; s.Known() && !s.Assumed {
			found = append(found, fmt.Sprintf("%v Fs %.2g %%, Qms %.2g %%, Re %.2g %%", k, 100*s.Std[0], 100*s.Std[1], 100*s.Std[2]))
		}
	}
	return strings.Join(found, "; ")
}

// readRepeatability reads the entries of the table.
func readRepeatability(entries []settings.Entry) (repeat.Bench, error) {
	var b repeat.Bench
	seen := map[repeat.Kind]settings.Entry{}
	for _, e := range entries {
		advice := "conewright repeat writes the table; below [" + Table + ".session] stand Fs, Qms, Re, their correlations and " + freedomKey
		if len(e.Path) != 3 {
			return b, e.Key().Errorf(advice, "%s is no part of the table %s", e.Name(), Table)
		}
		at := slices.IndexFunc(repeat.Kinds[:], func(k repeat.Kind) bool { return k.String() == e.Path[1] })
		if at < 0 {
			return b, e.Keys[1].Errorf("the kinds are again, re-clamped, session and operator", "%q is no kind of repeat", e.Path[1])
		}
		k := repeat.Kinds[at]
		seen[k] = e
		s := &b[k]
		kind := quantity.Number
		var target *float64
		if i := slices.Index(stdKeys[:], e.Path[2]); i >= 0 {
			kind, target = quantity.Percent, &s.Std[i]
		} else if i := slices.Index(correlationKeys[:], e.Path[2]); i >= 0 {
			target = &s.Correlation[i]
		} else if e.Path[2] == freedomKey {
			target = &s.Dof
		} else {
			return b, e.Key().Errorf(advice, "there is no key %q in the table %s", e.Path[2], Table)
		}
		v, err := quantity.Parse(e.Text, kind)
		if err != nil {
			return b, e.At.Wrap(err)
		}
		*target = v.SI
	}
	for k, e := range seen {
		if b[k].Dof == 0 {
			return b, e.Key().Errorf("add "+freedomKey+": how many independent differences it was found from", "%v does not say how well it is known", k)
		}
	}
	if err := b.Check(); err != nil {
		message, hint := wording.Error(err)
		return b, entries[0].Key().Errorf(hint, "%s", message)
	}
	return b, nil
}
