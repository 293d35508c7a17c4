package truth

import (
	"math"
	"math/cmplx"
	"testing"
)

// boxDriver is the driver of a table that was worked out by an independent program and a circuit simulator,
// for boxes of 35 litres tuned to 38 Hz at ρc² = 141855 Pa.
func boxDriver() Driver {
	d := Lumped(5.8, 0.6e-3, 7.5, 0.022, 0.9e-3, 1.1, 0.022)
	d.Air = Air{Rho: 1.225, C: math.Sqrt(141855 / 1.225)}
	return d
}

func TestBoxesAgainstTheTable(t *testing.T) {
	d := boxDriver()
	v := d.Values()
	near(t, "fs", v.Fs, 35.767414, 1e-7)
	near(t, "Qts", v.Qts, 0.457863, 2e-6)
	near(t, "Vas", v.Vas*1e3, 61.792038, 1e-7)

	all := Vented(d.Air, 0.035, 38, Losses{QL: 7, QA: 50, QP: 60})
	near(t, "port", all.PortMass, 71.09673776, 1e-8)
	near(t, "leak", all.Leak, 118825.918, 1e-8)
	near(t, "absorption", all.Absorption, 339.502623, 1e-8)
	near(t, "port loss", all.PortLoss, 282.918853, 1e-8)
	// The blocked port leaves leak and absorption of the tuned box.
	blocked := all
	blocked.PortMass = 0
	columns := []Loaded{
		d.Loaded(),
		d.Loaded(Closed(d.Air, 0.035, 0, Losses{})),
		d.Loaded(blocked),
		d.Loaded(Vented(d.Air, 0.035, 38, Losses{})),
		d.Loaded(Vented(d.Air, 0.035, 38, Losses{QL: 7})),
		d.Loaded(all),
	}
	// f, then |Z| and phase: free air, closed lossless, blocked port with losses, vented lossless, QL only, all losses
	for _, row := range [][]float64{
		{10, 6.9600, 29.93, 5.9539, 11.83, 6.3683, 11.58, 7.3271, 33.43, 7.3460, 33.28, 7.3759, 33.02},
		{18, 10.2568, 47.54, 6.3493, 21.65, 6.8078, 20.14, 25.0146, 52.60, 23.7203, 45.20, 22.8292, 41.93},
		{25, 17.5447, 54.74, 7.0142, 30.60, 7.5214, 27.89, 11.8004, -50.47, 12.5491, -40.04, 12.7685, -36.94},
		{32, 40.4935, 39.37, 8.2143, 39.71, 8.7790, 35.47, 6.3705, -21.68, 7.3126, -17.77, 7.5559, -16.87},
		{38, 50.0172, -25.25, 10.0635, 47.14, 10.6611, 41.13, 5.8018, 1.41, 6.7609, 1.13, 7.0011, 1.04},
		{45, 25.0617, -52.14, 14.4137, 53.80, 14.8486, 44.74, 6.5283, 24.75, 7.5308, 19.94, 7.8001, 18.72},
		{60, 12.6257, -51.40, 56.4402, -6.42, 38.0649, -5.66, 18.8187, 54.98, 18.4802, 38.82, 18.2372, 33.46},
		{76, 9.3195, -43.96, 15.6417, -53.61, 15.5832, -48.54, 21.9039, -53.36, 20.9632, -45.34, 20.1773, -41.56},
		{100, 7.5356, -34.34, 8.7766, -41.59, 8.8853, -40.28, 9.1015, -42.96, 9.1845, -41.96, 9.2476, -40.95},
		{200, 6.0378, -12.87, 6.0786, -14.03, 6.0955, -13.97, 6.0803, -14.08, 6.0841, -14.06, 6.0985, -14.01},
	} {
		for i, p := range columns {
			nearC(t, "Z", p.Z(row[0]), cmplx.Rect(row[1+2*i], row[2+2*i]*math.Pi/180), 1.2e-4)
		}
	}
}

// Small's rule for the two peaks, on a driver of the handbook.
func TestVentedWithPeaks(t *testing.T) {
	d := boxDriver()
	box, ok := VentedWithPeaks(d.Values(), d.Air, 20.08691, 67.66406, Losses{})
	if !ok {
		t.Fatal("the box of the table exists")
	}
	near(t, "volume", box.Volume, 0.035, 1e-5)
	near(t, "tuning", 1/(2*math.Pi*math.Sqrt(box.PortMass*box.Volume/d.Air.Stiffness())), 38, 1e-5)
	if _, ok := VentedWithPeaks(d.Values(), d.Air, 10, 20, Losses{}); ok {
		t.Error("no box has both peaks below the resonance of its driver")
	}
}

// The altitude table: a closed box at 2000 m and 2 °C has fc 55.2386 Hz.
func TestBoxAtAltitude(t *testing.T) {
	d := boxDriver()
	d.Air = AirAt(79495.2, 2)
	l := d.Loaded(Closed(d.Air, 0.035, 0, Losses{}))
	fc := zeroOf(func(w float64) float64 { return imag(l.motion(w, 1/0.9e-3)) }, 200, 800) / (2 * math.Pi)
	near(t, "fc", fc, 55.2386, 2e-6)
}
