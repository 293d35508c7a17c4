package fitted

import (
	"conewright/ts/driver"
	"conewright/ts/measured"
	"conewright/ts/notice"
	"conewright/ts/param"
)

const (
	// leastAirs is how many times the mass of the air on a cone its moving mass is at
	// least. The air is part of the moving mass, so that less than one cannot be; the
	// lightest cones, those of headphones and full-range drivers, have 2.5 (common
	// practice).
	leastAirs = 2
	// mostPerArea is the largest moving mass over cone area in kg/m^2. Woofers have 1 to 3,
	// long-throw car woofers up to 7 (common practice).
	mostPerArea = 15
	// leastRe and mostRe are the resistances in ohm that voice coils of loudspeakers have
	// (common practice).
	leastRe, mostRe = 0.3, 100
)

// fitsCone says whether a moving mass between low and high (kg) can be that of a cone with
// the area sd (m^2).
func fitsCone(low, high, sd float64, m param.Mounting, air driver.Air) bool {
	return high >= leastAirs*driver.AirMass(sd, m, air) && low <= mostPerArea*sd
}

// Slip refuses a moving mass that no cone of the entered size has: the mass, the volume or
// the diameter is not what was written. It names the slips that would explain it: the
// fact "diameter-times" is 25.4 for inches taken as mm and 10 for cm or a lost digit,
// "mass-times" 10 or 0.1; zero where none does. Nil where nothing is wrong or known.
func Slip(sweeps []measured.Sweep, p param.Parameters, cond measured.Conditions) *notice.Notice {
	mms, haveMass := p.Get(param.Mms)
	sd, haveArea := p.Get(param.Sd)
	if !haveMass || !haveArea {
		return nil
	}
	air := cond.Air()
	// With masses Mms goes as their size; with a volume alone as Sd^2/V.
	added, onSd := 0.0, 2
	for _, s := range sweeps {
		if s.Load.Kind == measured.AddedMass {
			added, onSd = max(added, s.Load.Value), 0
		}
	}
	fits := func(massTimes, diameterTimes float64) bool {
		area := diameterTimes * diameterTimes
		mass := massTimes
		for range onSd {
			mass *= area
		}
		return fitsCone(mass*mms.Low, mass*mms.High, area*sd.Value, p.Mounting, air)
	}
	if fits(1, 1) {
		return nil
	}
	var massTimes, diameterTimes float64
	for _, times := range []float64{10, 0.1} {
		if added > 0 && fits(times, 1) {
			massTimes = times
		}
	}
	for _, times := range []float64{10, 25.4} { // the likeliest last
		if fits(1, times) {
			diameterTimes = times
		}
	}
	return notice.New("mass-not-of-cone", notice.Facts{"mass": mms.Value, "area": sd.Value, "added": added,
		"mass-times": massTimes, "diameter-times": diameterTimes})
}

// UnusualRe warns of a resistance that no loudspeaker has; nil where it is usual.
func UnusualRe(p param.Parameters) *notice.Notice {
	re, ok := p.Get(param.Re)
	if !ok || re.Value >= leastRe && re.Value <= mostRe {
		return nil
	}
	return notice.New("re-unusual", notice.Facts{"re": re.Value})
}
