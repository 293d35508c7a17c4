package terminals

import (
	"slices"

	"conewright/ts/network"
	"conewright/ts/notice"
	"conewright/ts/param"
)

// riseOfFit is how far the coil of a driver that was fitted may rise otherwise than its values at 1 kHz say, as an exponent; judgement.
const riseOfFit = 0.05

// fitted says whether the coil of a driver is known from a fit.
func fitted(p network.Part) bool { return p.Moving != nil && p.Moving.Loss > 0 }

// allFitted says whether those of all drivers are.
func allFitted(list network.Network) bool {
	return !slices.ContainsFunc(list.Drivers(), func(i int) bool { return !fitted(list[i]) })
}

// WithDriver returns the list with the driver of that name as its fit has it: resistance and coil, which are the same in any cabinet. The
// resonance stays that of the list, which is the one in the cabinet: a list without it is refused. An empty name is that of the only driver.
func WithDriver(list network.Network, name string, p param.Parameters) (network.Network, error) {
	drivers := list.Drivers()
	i := list.Index(name)
	if name == "" && len(drivers) == 1 {
		i = drivers[0]
	}
	if !slices.Contains(drivers, i) {
		return nil, notice.New("fingerprint-driver", notice.Facts{"part": name})
	}
	was := list[i].Moving
	if was == nil {
		return nil, notice.New("fingerprint-resonance", notice.Facts{"part": list[i].Name})
	}
	m := network.Moving{Fs: was.Fs, Qms: was.Qms}
	for id, into := range map[param.ID]*float64{param.Re: &m.Re, param.L1k: &m.Le, param.R1k: &m.Loss} {
		e, ok := p.Get(id)
		if !ok || !(e.Value > 0) {
			return nil, notice.New("fingerprint-coil", notice.Facts{"part": list[i].Name})
		}
		*into = e.Value
	}
	m.Qes = was.Qes * m.Re / was.Re // the height of the peak stays
	now := list[i]
	now.Value, now.Moving, now.Curve = m.Re, &m, m.Impedance
	return list.With(i, now), nil
}
