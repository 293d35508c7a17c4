package verdict

import (
	"math"

	"conewright/ts/notice"
	"conewright/ts/param"
)

// Conflict is a group of limits of a spec sheet that no driver can meet
// together, although it could meet any of them if the others were left out.
type Conflict struct {
	IDs []param.ID // the limits of the group, as small as it can be made
	// Of is the one of IDs that the others contradict: they put it between Lo
	// and Hi (SI), which lies outside its own limit.
	Of     param.ID
	Lo, Hi float64
}

// Others returns IDs without Of.
func (c Conflict) Others() []param.ID {
	var ids []param.ID
	for _, id := range c.IDs {
		if id != c.Of {
			ids = append(ids, id)
		}
	}
	return ids
}

// Pinned says that the others leave Of no more than the values from Lo to Hi.
func (c Conflict) Pinned() bool { return !math.IsInf(c.Lo, 0) && !math.IsInf(c.Hi, 0) }

func (c Conflict) notice() notice.Notice {
	return *notice.New("spec-contradicts-itself", notice.Facts{"conflict": c})
}

// relation is an equation sum a_i ln x_i = ln c with c known between two ends.
type relation struct {
	coeff    map[param.ID]float64
	lo, hi   float64 // natural logarithms
	totalQ   bool    // instead: 1/Qts = 1/Qms + 1/Qes
	mentions uint32
}

// relations ties the quantities of a sheet together, theory (1.2) and (1.4); twoPi is
// ln(2 pi).
var relations = func() []relation {
	twoPi := math.Log(2 * math.Pi)
	rs := []relation{
		{coeff: map[param.ID]float64{param.Fs: 2, param.Mms: 1, param.Cms: 1}, lo: -2 * twoPi, hi: -2 * twoPi},
		{coeff: map[param.ID]float64{param.Qms: 1, param.Fs: -1, param.Mms: -1, param.Rms: 1}, lo: twoPi, hi: twoPi},
		{coeff: map[param.ID]float64{param.Qes: 1, param.Fs: -1, param.Mms: -1, param.Re: -1, param.BL: 2}, lo: twoPi, hi: twoPi},
		{coeff: map[param.ID]float64{param.Vas: 1, param.Cms: -1, param.Sd: -2}, lo: math.Log(airStiffness[0]), hi: math.Log(airStiffness[1])},
		{coeff: map[param.ID]float64{param.Res: 1, param.BL: -2, param.Rms: 1}},
		{coeff: map[param.ID]float64{param.Lces: 1, param.BL: -2, param.Cms: -1}},
		{coeff: map[param.ID]float64{param.Cmes: 1, param.BL: 2, param.Mms: -1}},
		{coeff: map[param.ID]float64{param.Qts: 1, param.Qms: 1, param.Qes: 1}, totalQ: true},
	}
	for i := range rs {
		for id := range rs[i].coeff {
			rs[i].mentions |= 1 << id
		}
	}
	return rs
}()

// box is an interval for the logarithm of every quantity, with the set of
// limits that each end rests on.
type box struct {
	lo, hi         [param.Count]float64
	fromLo, fromHi [param.Count]uint32
}

// conflicts finds limits that contradict one another: groups for which the
// relations between the quantities leave no value at all, however the
// tolerances are used. It narrows intervals relation by relation until nothing
// changes (interval arithmetic, theory (5.5)), so what it names is a true
// contradiction; a contradiction that needs three relations at once may escape.
func conflicts(spec Spec) []Conflict {
	have := uint32(0)
	limit := map[param.ID]Limit{}
	for _, l := range spec.Limits {
		if l.ID.Info().Positive && l.Hi > 0 && l.Lo <= l.Hi {
			have |= 1 << l.ID
			limit[l.ID] = l
		}
	}
	var found []Conflict
	for {
		core := narrow(limit, have, nil)
		if core == 0 {
			return found
		}
		for id := param.ID(0); id < param.Count; id++ { // drop what is not needed
			if smaller := core &^ (1 << id); smaller != core && narrow(limit, smaller, nil) != 0 {
				core = smaller
			}
		}
		found = append(found, describe(limit, core))
		have &^= core
	}
}

// narrow propagates the limits in use (a set of ParamIDs). It returns the limits
// behind the first contradiction, 0 if there is none, and leaves the intervals
// in b if b is not nil.
func narrow(limit map[param.ID]Limit, use uint32, b *box) uint32 {
	if b == nil {
		b = new(box)
	}
	for id := range param.ID(param.Count) {
		b.lo[id], b.hi[id] = math.Inf(-1), math.Inf(1)
		if use>>id&1 == 1 {
			b.lo[id], b.hi[id] = limit[id].Scaled()
			b.fromLo[id], b.fromHi[id] = 1<<id, 1<<id
		}
	}
	for range 100 { // narrowing can creep for ever: enough is enough
		changed := false
		for _, r := range relations {
			for id := param.ID(0); id < param.Count; id++ {
				if r.mentions>>id&1 == 0 {
					continue
				}
				lo, hi, fromLo, fromHi := r.bounds(b, id)
				const tolerance = 1e-9
				if lo > b.lo[id]+tolerance {
					b.lo[id], b.fromLo[id], changed = lo, fromLo, true
				}
				if hi < b.hi[id]-tolerance {
					b.hi[id], b.fromHi[id], changed = hi, fromHi, true
				}
				if b.lo[id] > b.hi[id]+tolerance {
					return b.fromLo[id] | b.fromHi[id]
				}
			}
		}
		if !changed {
			break
		}
	}
	return 0
}

// bounds returns what the relation leaves for id, and the limits that rests on.
func (r relation) bounds(b *box, id param.ID) (lo, hi float64, fromLo, fromHi uint32) {
	if r.totalQ {
		return totalQBounds(b, id)
	}
	a := r.coeff[id] // a x = c - sum of the others
	lo, hi = r.lo, r.hi
	for other, c := range r.coeff {
		switch {
		case other == id:
		case c > 0:
			lo, hi = lo-c*b.hi[other], hi-c*b.lo[other]
			fromLo |= b.fromHi[other]
			fromHi |= b.fromLo[other]
		default:
			lo, hi = lo-c*b.lo[other], hi-c*b.hi[other]
			fromLo |= b.fromLo[other]
			fromHi |= b.fromHi[other]
		}
	}
	if a < 0 {
		return hi / a, lo / a, fromHi, fromLo
	}
	return lo / a, hi / a, fromLo, fromHi
}

// totalQBounds is bounds for 1/Qts = 1/Qms + 1/Qes.
func totalQBounds(b *box, id param.ID) (lo, hi float64, fromLo, fromHi uint32) {
	q := func(x float64) float64 { return math.Exp(-x) } // 1/Q from ln Q
	if id == param.Qts {
		return -math.Log(q(b.lo[param.Qms]) + q(b.lo[param.Qes])), -math.Log(q(b.hi[param.Qms]) + q(b.hi[param.Qes])),
			b.fromLo[param.Qms] | b.fromLo[param.Qes], b.fromHi[param.Qms] | b.fromHi[param.Qes]
	}
	other := param.Qms + param.Qes - id
	// 1/Q = 1/Qts - 1/Qother, largest for the smallest Qts and the largest other.
	hi = math.Inf(1)
	largest, smallest := q(b.lo[param.Qts])-q(b.hi[other]), q(b.hi[param.Qts])-q(b.lo[other])
	if largest > 0 {
		lo, fromLo = -math.Log(largest), b.fromLo[param.Qts]|b.fromHi[other]
	} // else Qts lies above the other Q, which the bounds of Qts find impossible
	if smallest > 0 {
		hi, fromHi = -math.Log(smallest), b.fromHi[param.Qts]|b.fromLo[other]
	}
	return lo, hi, fromLo, fromHi
}

// describe finds in a minimal group the member that the others leave least.
func describe(limit map[param.ID]Limit, core uint32) Conflict {
	c := Conflict{Lo: math.Inf(-1), Hi: math.Inf(1)}
	best := math.Inf(1)
	for id := range param.ID(param.Count) {
		if core>>id&1 == 0 {
			continue
		}
		c.IDs = append(c.IDs, id)
		var b box
		narrow(limit, core&^(1<<id), &b)
		if width := b.hi[id] - b.lo[id]; width < best {
			best, c.Of, c.Lo, c.Hi = width, id, math.Exp(b.lo[id]), math.Exp(b.hi[id])
		}
	}
	if math.IsInf(best, 1) {
		c.Of = c.IDs[0]
	}
	return c
}

// airStiffness is the range of rho c^2 in Pa that a spec sheet may have used:
// 95 kPa to 104 kPa of air pressure, times 1.401.
var airStiffness = [2]float64{133e3, 146e3}
