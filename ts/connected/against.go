package connected

import (
	"math"

	"conewright/ts/notice"
	"conewright/ts/param"
)

// Sizes from which on a change is asked about, because a repair hardly makes it: logarithms
// of ratios. Common practice: a new surround changes the stiffness by a third at most and
// the moving mass by a few percent.
const (
	boxStiffer  = 0.4  // 1.5 times: a closed box of 2 Vas
	muchStiffer = 0.79 // 2.2 times: where a mass was on the cone, somebody had the driver on a bench
	massHeavier = 0.22 // 1.25 times: half of the smallest test mass that is any use
	otherCoil   = 0.3  // Re 1.35 times or less than three quarters
	contact     = 0.04 // Re and Qes up alike
	otherCoils  = 0.45 // inductance 1.6 times, with Fs as it was
	someCoil    = 0.25 // inductance 1.28 times, with Re and Qes up alike: it has a resistance of its own
)

// Against asks about what makes a driver another one than it was, or than its sheet says, by
// more than a repair does: a box, a test mass, another driver or a part of a network beside
// it. ratio holds the natural logarithms of what is now over what it should be, for those of
// Re, Fs, Qms, Qes, Qts, L1k, Mms that both have. Nil where nothing is asked.
//
//	closed box    Fs, Qms, Qes up by sqrt(1 + alpha)             Small 1972, from memory
//	test mass     Fs down and Qms, Qes up by sqrt(1 + m/Mms)     theory (2.3)
//	two drivers   Re half or twice, the rest as before
//	resistance    Re and Qes up alike, the rest as before        theory (5.8)
func Against(ratio map[param.ID]float64) *notice.Notice {
	fs, ok := ratio[param.Fs]
	if !ok {
		return nil
	}
	re, hasRe := ratio[param.Re]
	q, hasQ := 0., false
	for _, id := range []param.ID{param.Qes, param.Qts, param.Qms} {
		if q, hasQ = ratio[id]; hasQ {
			break
		}
	}
	near := func(x, want, by float64) bool { return math.Abs(x-want) < by }
	if hasRe && math.Abs(re) > otherCoil {
		kind := TwoInParallel
		if re > 0 {
			kind = TwoInSeries
		}
		if re > 0 && hasQ && near(q, re, 0.3*re) && near(fs, 0, 0.05) {
			return notice.New("resistance-in-series", notice.Facts{"re": math.Exp(re), "q": math.Exp(q)})
		}
		return notice.New("two-drivers", notice.Facts{"kind": string(kind), "re": math.Exp(re), "fs": math.Exp(fs)})
	}
	if hasQ {
		// Stiffness and mass by Fs and a Q from which the change of Re is taken out.
		stiffness, mass := fs+q-re, q-re-fs
		if _, ok := ratio[param.Qes]; !ok {
			stiffness, mass = fs+q, q-fs
		}
		limit := boxStiffer
		if _, weighed := ratio[param.Mms]; weighed {
			limit = muchStiffer
		}
		switch {
		case stiffness > limit && mass < 0.5*stiffness && fs > 0:
			return notice.New("in-a-box", notice.Facts{"stiffness": math.Exp(stiffness), "fs": math.Exp(fs), "q": math.Exp(q)})
		case mass > massHeavier && stiffness < 0.5*mass && fs < 0:
			return notice.New("mass-on-cone", notice.Facts{"mass": math.Expm1(mass), "fs": math.Exp(fs), "q": math.Exp(q)})
		}
	}
	resistance := hasRe && hasQ && re > contact && near(q, re, 0.25*re+0.02) && near(fs, 0, 0.02)
	if l, ok := ratio[param.L1k]; ok && (l > otherCoils && near(fs, 0, 0.1) || l > someCoil && resistance) {
		return notice.New("coil-in-series", notice.Facts{"inductance": math.Exp(l), "fs": math.Exp(fs)})
	}
	if resistance {
		return notice.New("resistance-in-series", notice.Facts{"re": math.Exp(re), "q": math.Exp(q)})
	}
	return nil
}
