package report

import (
	"math"
	"slices"

	"conewright/cmd/internal/quantity"
	"conewright/ts/param"
)

// compact is what is kept of a unit: its usual quantities and their standard
// uncertainties, on their scale. It is empty for a unit that failed. Seven digits
// are enough to see what stands apart.
type compact struct {
	ids    []param.ID // shared by units that know the same
	scaled []float32  // then the uncertainties, then what of them is random
}

// shrink keeps of a unit what a lot needs; like is the unit before it.
func shrink(p param.Parameters, like compact) compact {
	var c compact
	var stds, random []float32
	for _, e := range p.All() {
		if !quantity.Usual(e.ID) {
			continue
		}
		std, own := e.Std, math.Hypot(e.Budget.Noise, e.Budget.Repeat)
		if e.ID.Info().Positive {
			std, own = std/e.Value, own/e.Value
		}
		c.ids, c.scaled, stds = append(c.ids, e.ID), append(c.scaled, float32(e.ID.Scale(e.Value))), append(stds, float32(std))
		random = append(random, float32(own))
	}
	c.scaled = slices.Concat(c.scaled, stds, random)
	if slices.Equal(c.ids, like.ids) {
		c.ids = like.ids
	}
	return c
}

// grow is the inverse of shrink, without the correlations.
func (c compact) grow() param.Parameters {
	n := len(c.ids)
	p := param.Parameters{IDs: c.ids, Origin: make([]param.Origin, n), Coverage: 1.96}
	for i, x := range c.scaled[:n] {
		e := param.Component{Effect: make([]float64, n)}
		e.Effect[i] = float64(c.scaled[n+i])
		p.Scaled, p.Components = append(p.Scaled, float64(x)), append(p.Components, e)
	}
	return p
}

// value returns one quantity in SI with its standard uncertainty.
func (c compact) value(id param.ID) (v, std float64) {
	for i, have := range c.ids {
		if have == id {
			v, std = id.Unscale(float64(c.scaled[i])), float64(c.scaled[len(c.ids)+i])
			if id.Info().Positive {
				std *= v
			}
			return v, std
		}
	}
	return math.NaN(), math.NaN()
}

// random returns the part of the standard uncertainty (SI) that is another one in each unit:
// noise and repeats.
func (c compact) random(id param.ID) float64 {
	for i, have := range c.ids {
		if have == id {
			std := float64(c.scaled[2*len(c.ids)+i])
			if id.Info().Positive {
				std *= id.Unscale(float64(c.scaled[i]))
			}
			return std
		}
	}
	return math.NaN()
}
