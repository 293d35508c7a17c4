package connected

import (
	"math"

	"conewright/ts/fitted"
	"conewright/ts/measured"
	"conewright/ts/notice"
)

// smoothedOver finds a curve that was averaged over a part of an octave, which widens its
// peak: it is followed much better when magnitude and phase of the driver are averaged alike, and
// the Q of that driver is another one.
func smoothedOver(z measured.Impedance, c fitted.Curve) *notice.Notice {
	const (
		around     = 3.0   // factors of frequency from the peak on either side
		nearlyOff  = 0.003 // rms of ln |Z| around the peak, below which nothing is tried
		gain       = 0.96  // of rms: the width itself tells smoothed curves best
		leastWidth = 0.2   // octaves
		leastBias  = 1.05  // of Q
	)
	if z.Sigma != nil { // measured by a bench that knows its noise, and no export
		return nil
	}
	peaks := measured.Peaks(z)
	if len(peaks) == 0 || missed(c, peaks[0].Freq/around, peaks[0].Freq*around) < nearlyOff {
		return nil
	}
	t := thin(z, peaks[0].Freq/around, peaks[0].Freq*around)
	if t.Len() < fewest {
		return nil
	}
	starts, _ := guesses(t)
	driver, ok := circuit{kind: OneDriver, z: driverZ}.fit(t, starts...)
	if !ok {
		return nil
	}
	s, ok := circuit{smoothed, [][]float64{{math.Log2(1. / 4)}}, smoothedZ}.fit(t, driver.x)
	if !ok || s.rms > gain*driver.rms || s.rms > follows {
		return nil
	}
	width, q := math.Exp2(s.x[xMore]), math.Exp(s.x[xQ])
	if as := math.Exp(driver.x[xQ]); width < leastWidth || width > 1 || q < leastBias*as {
		return nil
	}
	return notice.New("curve-smoothed", notice.Facts{"octaves": width, "q": q, "as": math.Exp(driver.x[xQ])})
}
