package estimate

import (
	"math"
	"slices"

	"conewright/ts/measured"
	"conewright/ts/notice"
	"conewright/ts/param"

	"gonum.org/v1/gonum/stat"
	"gonum.org/v1/gonum/stat/distuv"
)

// massPoint is one sweep on the line of Cmes over the mass.
type massPoint struct {
	mass, std float64 // kg
	cmes      float64 // relative to that of the first
	cmesStd   float64
	source    string
}

// wrongMass refuses masses that cannot all be what was stated. Cmes = Qes/(2 pi Fs Re) does not
// hold the compliance, whatever creep or the day does to it, and is a straight line over the mass,
// theory (2.6):
//
//	Cmes = (Mms + dM)/BL^2
//
// Where the sweeps but one lie on a line, that one is named, with the mass that it would have there.
func wrongMass(sweeps []measured.Sweep, singles []*alone) *notice.Notice {
	var points []massPoint
	first := math.NaN()
	for k, s := range sweeps {
		a := singles[k]
		if a == nil || s.Load.Kind != measured.Free && s.Load.Kind != measured.AddedMass {
			continue
		}
		if math.IsNaN(first) {
			first = a.cmes
		}
		y := math.Exp(a.cmes - first)
		points = append(points, massPoint{
			mass: s.Load.Value, std: math.Hypot(s.Load.Std, s.Load.PlacingStd),
			cmes: y, cmesStd: y * math.Sqrt(a.cov[1][1]+param.Sq(cmesScatter)), source: s.Impedance.Source,
		})
	}
	_, _, probability := massLine(points)
	if probability >= leastMassLine {
		return nil
	}
	var wrong []*notice.Notice
	for i, p := range points {
		intercept, slope, fits := massLine(slices.Delete(slices.Clone(points), i, i+1))
		if fits < likelyMassLine || !(slope > 0) {
			continue
		}
		if from := (p.cmes - intercept) / slope; math.Abs(from-p.mass) > mostMassError*max(p.mass, from) {
			wrong = append(wrong, notice.New("wrong-mass", notice.Facts{"mass": p.mass, "line": from}).In(p.source))
		}
	}
	if len(wrong) == 1 {
		return wrong[0]
	}
	return notice.New("masses-disagree", nil) // three points say that one mass is wrong, and not which
}

// massLine lays the straight line through points, weighted by their uncertainties; the probability
// is that of a scatter as large or larger, 1 where two points or masses leave none.
func massLine(points []massPoint) (intercept, slope, probability float64) {
	var x, y, w []float64
	for _, p := range points {
		x, y, w = append(x, p.mass), append(y, p.cmes), append(w, 1/param.Sq(p.cmesStd))
	}
	different := slices.Compact(slices.Sorted(slices.Values(x)))
	if len(different) < 2 {
		return 0, 0, 1
	}
	for range 2 { // the uncertainty of the masses counts by the slope
		intercept, slope = stat.LinearRegression(x, y, w, false)
		for i, p := range points {
			w[i] = 1 / (param.Sq(p.cmesStd) + param.Sq(slope*p.std))
		}
	}
	if len(different) < 3 {
		return intercept, slope, 1
	}
	chi2 := 0.0
	for i := range x {
		chi2 += w[i] * param.Sq(y[i]-intercept-slope*x[i])
	}
	return intercept, slope, distuv.ChiSquared{K: float64(len(x) - 2)}.Survival(chi2)
}
