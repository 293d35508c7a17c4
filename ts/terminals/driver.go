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
// resonance stays that of the list, which is the one in the cabinet; where the list has none it is the one of the fit. An empty name is that of the only driver.
func WithDriver(list network.Network, name string, p param.Parameters) (network.Network, error) {
	drivers := list.Drivers()
	i := list.Index(name)
	if name == "" && len(drivers) == 1 {
		i = drivers[0]
	}
	if !slices.Contains(drivers, i) {
		return nil, notice.New("fingerprint-driver", notice.Facts{"part": name})
	}
	m := network.Moving{}
	for id, into := range map[param.ID]*float64{param.Re: &m.Re, param.L1k: &m.Le, param.R1k: &m.Loss, param.Fs: &m.Fs, param.Qms: &m.Qms, param.Qes: &m.Qes} {
		e, ok := p.Get(id)
		if !ok || !(e.Value > 0) {
			return nil, notice.New("fingerprint-coil", notice.Facts{"part": list[i].Name})
		}
		*into = e.Value
	}
	if was := list[i].Moving; was != nil {
		m.Fs, m.Qms = was.Fs, was.Qms
		m.Qes = was.Qes * m.Re / was.Re // the height of the peak stays
	}
	now := list[i]
	now.Value, now.Moving, now.Curve = m.Re, &m, m.Impedance
	return list.With(i, now), nil
}
