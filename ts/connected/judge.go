package connected

import (
	"errors"
	"math"
	"math/cmplx"
	"slices"

	"conewright/ts/fitted"
	"conewright/ts/measured"
	"conewright/ts/notice"
	"conewright/ts/param"
)

// shapes are the refusals of a fit that may come of something else than one driver.
var shapes = []string{"two-peaks", "starts-above-resonance", "starts-above-f1", "ends-below-f2", "no-minimum", "no-peak", "absurd-value", "no-fit", "not-determined"}

// Judge adds to the outcome of a fit what is connected: a refusal is given its cause, and a
// result of something that is hardly a driver alone gets doubts, so that no verdict rests on
// it, unless cond says that it is alone. A curve that no driver follows is doubted where no cause is found.
func Judge(sweeps []measured.Sweep, cond measured.Conditions, r *fitted.Result, err error) (*fitted.Result, error) {
	if err != nil {
		var n *notice.Notice
		if !errors.As(err, &n) || !slices.Contains(shapes, n.Code) || cond.Alone {
			return nil, err
		}
		for _, s := range sweeps {
			if found := Look(s.Impedance, true); found != nil {
				found.Facts["refused"] = true // no word of the user makes a fit of it
				return nil, found.In(s.Impedance.Source)
			}
		}
		return nil, err
	}
	p := &r.Parameters
	if p.OneDriver = cond.Alone; p.OneDriver {
		return r, nil
	}
	for i, s := range sweeps {
		if s.Load.Kind != measured.Free {
			continue
		}
		found := Look(s.Impedance, missed(r.Curves[i], 0, highest) > off)
		if found == nil {
			found = smoothedOver(s.Impedance, r.Curves[i])
		}
		if found != nil {
			p.Doubts = append(p.Doubts, *found.In(s.Impedance.Source))
		}
	}
	p.Doubts = append(p.Doubts, unusual(*p, cond)...)
	warnings := r.Warnings
	if len(p.Doubts) == 0 { // no driver's curve, whatever it is of
		if i := slices.IndexFunc(warnings, func(n notice.Notice) bool { return n.Code == "poor-fit" }); i >= 0 {
			p.Doubts = append(p.Doubts, warnings[i])
			warnings = slices.Delete(slices.Clone(warnings), i, i+1)
		}
	}
	r.Warnings = append(slices.Clone(p.Doubts), warnings...)
	return r, nil
}

// off is the rms of ln |Z| from which on a fit does not follow a curve; measured drivers stay
// below 3 to 5 percent.
const off = 0.05

// missed is by how much a fit misses a curve from lo to hi Hz, as rms of ln |Z|.
func missed(c fitted.Curve, lo, hi float64) float64 {
	var sum float64
	n := 0
	for i, f := range c.Freq {
		if f >= lo && f <= hi {
			sum += param.Sq(math.Log(cmplx.Abs(c.Fitted[i]) / cmplx.Abs(c.Measured[i])))
			n++
		}
	}
	return math.Sqrt(sum / float64(max(1, n)))
}
