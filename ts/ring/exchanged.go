package ring

import (
	"math"
	"slices"

	"conewright/ts/measured"
	"conewright/ts/notice"

	"gonum.org/v1/gonum/stat/distuv"
)

const (
	// leastReversal is by how much, relative, the resonance with the heavier of two masses
	// lies higher before the two are taken as exchanged: more than a suspension that warms
	// up between two sweeps explains (common practice). In standard deviations of the noise
	// it is three.
	leastReversal = 0.005
	// mostWrong is the relative error of a mass above which a point off the line of the
	// others is a wrong mass and no bend of the line: a bend by creep looks like some
	// percent.
	mostWrong = 0.1
)

// exchanged refuses masses whose resonances are in the wrong order; the points are in the
// order of the sweeps, noise is that of their resonances in Hz.
func (m *MassLine) exchanged(sweeps []measured.Sweep, noise []float64) error {
	for j, heavy := range m.Points {
		for i, light := range m.Points[:j] {
			if !(heavy.Mass.Value > light.Mass.Value) {
				continue
			}
			rise := heavy.Fs.Value - light.Fs.Value
			if rise > leastReversal*light.Fs.Value && rise > 3*math.Hypot(noise[j], noise[i]) {
				return notice.New("masses-exchanged", notice.Facts{
					"heavy": heavy.Mass.Value, "high": heavy.Fs.Value, "light": light.Mass.Value, "low": light.Fs.Value,
					"light-sweep": sweeps[i].Impedance.Source,
				}).In(sweeps[j].Impedance.Source)
			}
		}
	}
	return nil
}

// odd names the one mass that cannot be what was stated, when all other points lie on a
// line; nil where there is none.
func (m *MassLine) odd(sweeps []measured.Sweep) *notice.Notice {
	if m.Line.DoF < 2 || m.ProbabilityOfScatter >= leastScatter {
		return nil
	}
	for i, p := range m.Points {
		others, err := FitLine(slices.Delete(slices.Clone(m.Line.Points), i, i+1))
		if err != nil || !(others.Slope > 0) || (distuv.ChiSquared{K: float64(others.DoF)}).Survival(others.Chi2) < leastScatter {
			continue
		}
		from := (m.Line.Points[i].Y - others.Intercept) / others.Slope
		if off := math.Abs(from - p.Mass.Value); off > mostWrong*max(p.Mass.Value, math.Abs(from)) && p.Mass.Value > 0 {
			return notice.New("line-wrong-mass", notice.Facts{"mass": p.Mass.Value, "line": from, "sweep": sweeps[i].Impedance.Source})
		}
	}
	return nil
}
