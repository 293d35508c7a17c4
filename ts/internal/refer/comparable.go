package refer

import (
	"conewright/ts/notice"
	"conewright/ts/param"
)

// Comparable brings after to the conditions of before; it refuses sets of which one lacks
// what a sweep in free air shows.
func Comparable(before, after param.Parameters) (b, a param.Parameters, w []notice.Notice, err error) {
	for _, p := range []param.Parameters{before, after} {
		for _, id := range []param.ID{param.Re, param.Fs, param.Qms, param.Qes} {
			if p.Index(id) < 0 {
				return b, a, nil, notice.New("not-comparable", nil)
			}
		}
		if err := p.Check(); err != nil {
			return b, a, nil, err
		}
	}
	ref := ReferTo(after, before.Mounting, before.Temperature)
	if len(ref.Unreferred) > 0 {
		return b, a, nil, notice.New("mounting-differs", notice.Facts{"before": before.Mounting, "after": after.Mounting})
	}
	return before, ref.Parameters, ref.Warnings, nil
}
