package ts

import (
	"math"

	"gonum.org/v1/gonum/mat"
)

// known is a hand-made parameter set: what a fit of the driver would report
// with the given relative standard uncertainties.
type known struct {
	driver   Driver
	std      map[ParamID]float64 // of Re, Fs, Qms, Qes, L1k, R1k, and of the added mass under Mms
	mass     bool                // an added mass was measured
	sd       float64             // m^2, 0: not known
	coverage float64
	extra    []Component // given on Re, Fs, Qms, Qes only
}

// parameters builds the set. draw, if not nil, moves the values by one draw of
// their errors: it returns a standard normal number for each of the names.
func (k known) parameters(draw func(string) float64) Parameters {
	d := k.driver
	base := []ParamID{Re, Fs, Qms, Qes, L1k, R1k}
	value := map[ParamID]float64{Re: d.Re, Fs: d.Fs(), Qms: d.Qms(), Qes: d.Qes()}
	if d.Coil != nil {
		z := d.Coil.Impedance(2 * math.Pi * 1000)
		value[L1k], value[R1k] = imag(z)/(2*math.Pi*1000), real(z)
	} else {
		base = base[:4]
	}
	err := map[ParamID]float64{} // on the scale
	std := map[ParamID]float64{}
	for _, id := range base {
		std[id] = k.std[id]
		if !id.Info().Positive {
			std[id] *= value[id]
		}
		if draw != nil {
			err[id] = std[id] * draw(id.String())
		}
	}
	ids := append([]ParamID{}, base...)
	rows := map[ParamID]map[ParamID]float64{
		Qts:  {Qms: d.Qts() / d.Qms(), Qes: d.Qts() / d.Qes()},
		Cmes: {Qes: 1, Fs: -1, Re: -1}, Lces: {Re: 1, Fs: -1, Qes: -1}, Res: {Re: 1, Qms: 1, Qes: -1},
		// with M from the added mass: Cms = 1/(w^2 M), Rms = w M/Qms, BL^2 = w M Re/Qes
		Mms: {Mms: 1}, Cms: {Mms: -1, Fs: -2}, Rms: {Mms: 1, Fs: 1, Qms: -1}, BL: {Mms: .5, Fs: .5, Re: .5, Qes: -.5},
		Vas: {Mms: -1, Fs: -2}, Sd: {},
	}
	value[Qts], value[Cmes], value[Lces], value[Res] = d.Qts(), d.Mms/d.BL/d.BL, d.BL*d.BL*d.Cms, d.BL*d.BL/d.Rms
	value[Mms], value[Cms], value[Rms], value[BL] = d.Mms, d.Cms, d.Rms, d.BL
	value[Sd], value[Vas] = k.sd, 142000*k.sd*k.sd*d.Cms
	for _, id := range base {
		rows[id] = map[ParamID]float64{id: 1}
	}
	ids = append(ids, Qts, Cmes, Lces, Res)
	sources := append([]ParamID{}, base...)
	if k.mass {
		ids = append(ids, Mms, Cms, Rms, BL)
		sources = append(sources, Mms)
		std[Mms] = k.std[Mms]
		if draw != nil {
			err[Mms] = std[Mms] * draw("Mms")
		}
		if k.sd > 0 {
			ids = append(ids, Vas)
		}
	}
	if k.sd > 0 {
		ids = append(ids, Sd)
	}
	p := Parameters{IDs: ids, Coverage: k.coverage, Temperature: 293.15}
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
		for c, e := range k.extra {
			effect := 0.0
			for s, from := range base[:4] {
				effect += rows[id][from] * e.Effect[s]
			}
			if draw != nil {
				x += effect * draw(e.Source)
			}
			if i == 0 {
				p.Components = append(p.Components, Component{Source: e.Source, Part: e.Part, Own: e.Own, Effect: make([]float64, n)})
			}
			p.Components[c].Effect[i] = effect
		}
		p.Scaled = append(p.Scaled, x)
		p.Origin = append(p.Origin, FromFit)
	}
	p.Noise = mat.NewSymDense(n, nil)
	p.Noise.SymOuterK(1, j)
	return p
}

// testOnlyWoofer is the base driver of the simulations: an invented eight-inch
// woofer of common proportions.
var testOnlyWoofer = Driver{Re: 5.6, BL: 8, Mms: 30e-3, Cms: 0.75e-3, Rms: 1.5, Coil: LossyCoil{K: 0.012, N: 0.7}}

// testOnlyStd is what a sound bench reaches on such a driver.
var testOnlyStd = map[ParamID]float64{Re: 0.002, Fs: 0.001, Qms: 0.006, Qes: 0.005, L1k: 0.006, R1k: 0.01, Mms: 0.006}
