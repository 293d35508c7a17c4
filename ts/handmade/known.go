package handmade

import (
	"math"

	"conewright/ts/driver"
	"conewright/ts/param"

	"gonum.org/v1/gonum/mat"
)

// Known is a hand-made parameter set: what a fit of the driver would report
// with the given relative standard uncertainties.
type Known struct {
	Driver   driver.Driver
	Std      map[param.ID]float64 // of Re, Fs, Qms, Qes, L1k, R1k, and of the added mass under Mms
	Mass     bool                 // an added mass was measured
	Sd       float64              // m^2, 0: not known
	Coverage float64
	Extra    []param.Component // given on Re, Fs, Qms, Qes only
}

// Parameters builds the set. draw, if not nil, moves the values by one draw of
// their errors: it returns a standard normal number for each of the names.
func (k Known) Parameters(draw func(string) float64) param.Parameters {
	d := k.Driver
	base := []param.ID{param.Re, param.Fs, param.Qms, param.Qes, param.L1k, param.R1k}
	value := map[param.ID]float64{param.Re: d.Re, param.Fs: d.Fs(), param.Qms: d.Qms(), param.Qes: d.Qes()}
	if d.Coil != nil {
		z := d.Coil.Impedance(2 * math.Pi * 1000)
		value[param.L1k], value[param.R1k] = imag(z)/(2*math.Pi*1000), real(z)
	} else {
		base = base[:4]
	}
	err := map[param.ID]float64{} // on the scale
	std := map[param.ID]float64{}
	for _, id := range base {
		std[id] = k.Std[id]
		if !id.Info().Positive {
			std[id] *= value[id]
		}
		if draw != nil {
			err[id] = std[id] * draw(id.String())
		}
	}
	ids := append([]param.ID{}, base...)
	rows := map[param.ID]map[param.ID]float64{
		param.Qts:  {param.Qms: d.Qts() / d.Qms(), param.Qes: d.Qts() / d.Qes()},
		param.Cmes: {param.Qes: 1, param.Fs: -1, param.Re: -1}, param.Lces: {param.Re: 1, param.Fs: -1, param.Qes: -1}, param.Res: {param.Re: 1, param.Qms: 1, param.Qes: -1},
		// with M from the added mass: Cms = 1/(w^2 M), Rms = w M/Qms, BL^2 = w M Re/Qes
		param.Mms: {param.Mms: 1}, param.Cms: {param.Mms: -1, param.Fs: -2}, param.Rms: {param.Mms: 1, param.Fs: 1, param.Qms: -1}, param.BL: {param.Mms: .5, param.Fs: .5, param.Re: .5, param.Qes: -.5},
		param.Vas: {param.Mms: -1, param.Fs: -2}, param.Sd: {},
	}
	value[param.Qts], value[param.Cmes], value[param.Lces], value[param.Res] = d.Qts(), d.Mms/d.BL/d.BL, d.BL*d.BL*d.Cms, d.BL*d.BL/d.Rms
	value[param.Mms], value[param.Cms], value[param.Rms], value[param.BL] = d.Mms, d.Cms, d.Rms, d.BL
	value[param.Sd], value[param.Vas] = k.Sd, 142000*k.Sd*k.Sd*d.Cms
	for _, id := range base {
		rows[id] = map[param.ID]float64{id: 1}
	}
	ids = append(ids, param.Qts, param.Cmes, param.Lces, param.Res)
	sources := append([]param.ID{}, base...)
	if k.Mass {
		ids = append(ids, param.Mms, param.Cms, param.Rms, param.BL)
		sources = append(sources, param.Mms)
		std[param.Mms] = k.Std[param.Mms]
		if draw != nil {
			err[param.Mms] = std[param.Mms] * draw("Mms")
		}
		if k.Sd > 0 {
			ids = append(ids, param.Vas)
		}
	}
	if k.Sd > 0 {
		ids = append(ids, param.Sd)
	}
	p := param.Parameters{IDs: ids, Coverage: k.Coverage, Temperature: 293.15}
	if p.Coverage == 0 {
		p.Coverage = 1.96
	}
	n := len(ids)
	j := mat.NewDense(n, len(sources), nil)
	for i, id := range ids {
		x := id.Scale(value[id])
		for s, from := range sources {
			j.Set(i, s, rows[id][from]*std[from])
			x += rows[id][from] * err[from]
		}
		for c, e := range k.Extra {
			effect := 0.0
			for s, from := range base[:4] {
				effect += rows[id][from] * e.Effect[s]
			}
			if draw != nil {
				x += effect * draw(e.Source)
			}
			if i == 0 {
				p.Components = append(p.Components, param.Component{Source: e.Source, Part: e.Part, Own: e.Own, Effect: make([]float64, n)})
			}
			p.Components[c].Effect[i] = effect
		}
		p.Scaled = append(p.Scaled, x)
		p.Origin = append(p.Origin, param.FromFit)
	}
	p.Noise = mat.NewSymDense(n, nil)
	p.Noise.SymOuterK(1, j)
	return p
}

// Std is what a sound bench reaches on such a driver.
var Std = map[param.ID]float64{param.Re: 0.002, param.Fs: 0.001, param.Qms: 0.006, param.Qes: 0.005, param.L1k: 0.006, param.R1k: 0.01, param.Mms: 0.006}
