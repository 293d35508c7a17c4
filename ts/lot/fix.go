package lot

import (
	"cmp"
	"math"
	"slices"

	"conewright/ts/internal/refer"
	"conewright/ts/param"

	"gonum.org/v1/gonum/mat"
)

// PairFix is something to do to one of the two that brings them closer.
type PairFix struct {
	Side     Side
	What     FixKind
	Percent  float64 // of the moving mass to add, or of the stiffness to take away
	Mass     float64 // kg to add; 0: not known, or not a mass
	Distance float64 // that is left
	Within   bool    // all limits would then be met, at the values found
	// Level is the change of the level above resonance in dB that a mass costs.
	Level float64
}

// Side says which of a pair.
type Side uint8

// The sides.
const (
	LeftSide Side = iota
	RightSide
)

// String returns the word used in JSON.
func (s Side) String() string { return param.Word(s, "left", "right") }

// FixKind says what to change.
type FixKind string

// The kinds of fixes.
const (
	AddMass FixKind = "add-mass" // a ring on the cone
	Soften  FixKind = "soften"   // a softer surround, or running in
)

// fixes works out how much of each remedy brings the pair closest, by least
// squares in the metric of the distance: s = -(g' W d)/(g' W g) along the
// direction g that the remedy moves the difference.
func fixes(p *Paired, x refer.Difference, limits []float64) []PairFix {
	w := toleranceMetric(x.V, limits)
	if w == nil {
		return nil
	}
	n := len(x.IDs)
	d := mat.NewVecDense(n, x.D)
	var out []PairFix
	for _, side := range []Side{LeftSide, RightSide} {
		for _, what := range []FixKind{AddMass, Soften} {
			g := mat.NewVecDense(n, nil)
			for i, id := range x.IDs {
				slope := refer.MassSlope[id]
				if what == Soften {
					slope = -softenSlope[id]
				}
				if side == LeftSide {
					slope = -slope // moves left, so the difference the other way
				}
				g.SetVec(i, slope)
			}
			gg := mat.Inner(g, w, g)
			if gg == 0 {
				continue
			}
			s := -mat.Inner(g, w, d) / gg
			if s < 0.005 { // a mass can only be added, a suspension only softened
				continue
			}
			after := mat.NewVecDense(n, nil)
			after.AddScaledVec(d, s, g)
			fix := PairFix{Side: side, What: what, Percent: percentOfLog(s), Distance: math.Sqrt(mat.Inner(after, w, after)), Within: true}
			if what == Soften {
				fix.Percent = -percentOfLog(-s)
			}
			for i := range n {
				fix.Within = fix.Within && math.Abs(after.AtVec(i)) <= limits[i]
			}
			if what == AddMass {
				set := p.Left
				if side == RightSide {
					set = p.Right
				}
				if m, ok := set.Get(param.Mms); ok {
					fix.Mass = m.Value * math.Expm1(s)
				}
				fix.Level = -20 * s / math.Ln10
			}
			out = append(out, fix)
		}
	}
	slices.SortStableFunc(out, func(a, b PairFix) int { return cmp.Compare(a.Distance, b.Distance) })
	// What does not help noticeably is no advice.
	return slices.DeleteFunc(out, func(f PairFix) bool { return f.Distance > 0.8*p.Distance })
}

// softenSlope is d ln(quantity)/d ln(stiffness).
var softenSlope = map[param.ID]float64{param.Fs: 0.5, param.Qms: 0.5, param.Qes: 0.5, param.Qts: 0.5, param.Cms: -1, param.Lces: -1, param.Vas: -1}
