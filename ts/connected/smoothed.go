package connected

import (
	"math"

	"conewright/ts/fitted"
	"conewright/ts/measured"
	"conewright/ts/notice"
)

const (
	nearlyOff  = 0.003 // rms of ln |Z| around the peak, below which nothing is tried
	smoothGain = 0.96  // of rms: the width itself tells smoothed curves best
	leastWidth = 0.25  // octaves; exports of coarse lines reach 0.2
	mostWidth  = 1     // octaves
	leastBias  = 1.05  // of Q
	// near and far are the factors of frequency from the peak, on either side, of the two bands that must agree: a smoothing has its
	// width in both, what creep and coil do to a peak differs.
	near, far = 1.7, 3.0
)

// smoothedOver finds a curve that was averaged over a part of an octave, which widens its
// peak: it is followed much better when magnitude and phase of the driver are averaged alike, and
// the Q of that driver is another one.
func smoothedOver(z measured.Impedance, c fitted.Curve) *notice.Notice {
	if z.Sigma != nil { // measured by a bench that knows its noise, and no export
		return nil
	}
	peaks := measured.Peaks(z)
	if len(peaks) == 0 || missed(c, peaks[0].Freq/far, peaks[0].Freq*far) < nearlyOff {
		return nil
	}
	as, s, ok := smoothedWithin(z, peaks[0].Freq, near)
	if !ok || s.rms > smoothGain*as.rms || s.rms > follows || s.q() < leastBias*as.q() || s.width() < leastWidth || s.width() > mostWidth {
		return nil
	}
	if _, s, ok := smoothedWithin(z, peaks[0].Freq, far); !ok || s.width() < leastWidth {
		return nil
	}
	return notice.New("curve-smoothed", notice.Facts{"octaves": s.width(), "q": s.q(), "as": as.q()})
}

// smoothedWithin fits a driver, and one that is smoothed, within a factor of the peak at f Hz.
func smoothedWithin(z measured.Impedance, f, factor float64) (driver, s solved, ok bool) {
	t := thin(z, f/factor, f*factor, perOctave)
	if t.Len() < fewest {
		return driver, s, false
	}
	starts, _ := guesses(t)
	if driver, ok = (circuit{kind: OneDriver, with: aDriver}).fit(t, hopeless, starts...); !ok {
		return driver, s, false
	}
	s, ok = circuit{smoothed, [][]float64{{math.Log2(1. / 4)}}, aSmoothed}.fit(t, hopeless, driver.x)
	return driver, s, ok
}

func (s solved) q() float64 { return math.Exp(s.x[xQ]) }

// width is over how many octaves it is smoothed.
func (s solved) width() float64 { return math.Exp2(s.x[xMore]) }
