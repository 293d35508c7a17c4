package fitted

import (
	"slices"
	"strings"

	"conewright/ts/notice"
	"conewright/ts/param"
)

// Bounded leaves out the values of which the data say nothing, and says which; the notice is
// nil where all stay. Without a resonance or a resistance nothing is left to be reported, and
// that is an error.
func Bounded(p param.Parameters) (param.Parameters, *notice.Notice, error) {
	wide := p.Unbounded()
	if wide == nil {
		return p, nil, nil
	}
	if slices.Contains(wide, param.Re) || slices.Contains(wide, param.Fs) {
		return param.Parameters{}, nil, notice.New("nothing-known", nil)
	}
	var symbols []string
	for _, id := range wide {
		symbols = append(symbols, id.String())
	}
	kept := p.Only(func(id param.ID) bool { return !slices.Contains(wide, id) })
	return kept, notice.New("unbounded", notice.Facts{"quantities": strings.Join(symbols, ", ")}), nil
}
