package spectra

import (
	"math"
	"testing"
)

// Where a signal begins and ends is found to a stretch of 20 ms, whatever silence is around it.
func TestExtent(t *testing.T) {
	const rate = 750.0
	for _, c := range []struct{ before, signal, after float64 }{{0, 4, 0}, {2, 4, 1}, {1, 5, 0}, {0, 5, 1.5}} { // s
		var o lowRate
		o.Rate = rate
		for i := range int((c.before + c.signal + c.after) * rate) {
			v := 0.0
			if at := float64(i) / rate; at >= c.before && at < c.before+c.signal {
				v = math.Sin(2 * math.Pi * 50 * at)
			}
			o.Samples = append(o.Samples, v)
		}
		on, off := o.extent()
		if math.Abs(float64(on)/rate-c.before) > 0.021 || math.Abs(float64(off)/rate-c.before-c.signal) > 0.021 {
			t.Errorf("%+v: from %.3f to %.3f s", c, float64(on)/rate, float64(off)/rate)
		}
	}
	if on, off := (lowRate{Rate: rate}).extent(); on != 0 || off != 0 {
		t.Errorf("no samples: %d to %d", on, off)
	}
}
