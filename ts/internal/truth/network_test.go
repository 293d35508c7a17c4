package truth

import (
	"math"
	"math/cmplx"
	"testing"
)

// A two-way network of which an independent program and a circuit simulator have |Z| and phase: 0.56 mH and a
// woofer in a closed box, beside 6.8 µF and a tweeter with a coil of 0.35 mH across it.
func TestNetworkAgainstTheTable(t *testing.T) {
	woofer := boxDriver().Loaded(Closed(boxDriver().Air, 0.035, 0, Losses{}))
	const bl = 3.0 // any: the tweeter is given by its electrical values
	tweeter := Lumped(5.2, 0.03e-3, bl, 40.8089598e-6*bl*bl, 0.766301578e-3/(bl*bl), bl*bl/10.8333333, 0.001)
	network := func(c, esr float64, open bool) OnePort {
		across := Inductor(0.35e-3, 0.3)
		high := Series(Capacitor(c, esr), across)
		if !open {
			high = Series(Capacitor(c, esr), Parallel(across, tweeter))
		}
		return Parallel(Series(Inductor(0.56e-3, 0.25), woofer), high)
	}
	for _, row := range [][]float64{ // healthy; C 20 % low; tweeter open; 0.5 ohm in series with C
		{20, 6.7741, 23.55, 6.7709, 23.61, 6.7741, 23.55, 6.7740, 23.55},
		{200, 6.1451, -10.14, 6.1566, -9.54, 6.1451, -10.14, 6.1438, -10.13},
		{1000, 12.2572, 25.35, 11.6460, 31.65, 12.3703, 25.49, 12.1031, 25.08},
		{2000, 13.6366, -35.73, 20.0209, -24.87, 11.9209, -67.31, 13.3515, -31.50},
		{3000, 7.7783, -38.99, 10.6608, -43.56, 1.3305, -69.74, 8.0244, -34.34},
		{8000, 4.4913, -5.50, 4.7316, -14.26, 11.7388, 87.56, 4.9779, -4.03},
	} {
		for i, p := range []OnePort{network(6.8e-6, 0.1, false), network(5.44e-6, 0.1, false), network(6.8e-6, 0.1, true), network(6.8e-6, 0.6, false)} {
			nearC(t, "Z", p.Z(row[0]), cmplx.Rect(row[1+2*i], row[2+2*i]*math.Pi/180), 2e-4)
		}
	}
}

func TestNothingIsConnected(t *testing.T) {
	nearC(t, "open", Disconnected(1e-9, 1e5).Z(1e-3), 1e5, 1e-3)
	near(t, "shorted", real(Shorted(0.1).Z(100)), 0.1, 1e-12)
}
