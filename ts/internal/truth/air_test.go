package truth

import (
	"math"
	"testing"
)

// scipy 1.10: 1 - 2 jv(1, x)/x and 2 struve(1, x)/x.
func TestPistonAgainstScipy(t *testing.T) {
	for _, c := range [][3]float64{
		{0.05, 0.000312467449612, 0.021217122555},
		{0.5, 0.0309261693005, 0.208694976969},
		{2, 0.423275192243, 0.646763728284},
		{7, 1.00133794957, 0.0989444947653},
		{9.9, 0.98618791267, 0.179319632337},
		{10.1, 0.996357323672, 0.176939073606},
		{25, 1.01002801997, 0.0431042897062},
		{80, 1.00140143242, 0.0176528777868},
	} {
		z := piston(c[0])
		near(t, "resistance", real(z), c[1], 2e-9)
		near(t, "reactance", imag(z), c[2], 2e-9)
	}
}

// Textbook limits of the air load: 8/3 ρa³ for each side in a baffle, half of it for both together without; a
// course's 12-inch driver with a radius of 128.53 mm has 6.79 g a side at 1.2 kg/m³ (university course
// 34870, notes 7).
func TestAirMass(t *testing.T) {
	const a = 0.12853
	d := Driver{Sd: math.Pi * a * a, Air: Air{Rho: 1.2, C: 344}}
	for mounting, want := range map[Mounting]float64{NoAir: 0, FreeAir: 8. / 3 * 1.2 * a * a * a, Baffle: 16. / 3 * 1.2 * a * a * a} {
		d.Mounting = mounting
		near(t, "air", d.airMass(), want, 1e-5)
	}
	d.Mounting = Baffle
	near(t, "course", d.airMass()/2*1e3, 6.79, 0.001)
}

func TestDiscIsTheDipole(t *testing.T) {
	const ka = 0.02
	// A force F on the air radiates ω²F²/(24πρc³), here F = ω(8/3)ρa³u: R = 16(ka)⁴/(27π²) ρcπa².
	z := disc(ka)
	near(t, "resistance", real(z), 16/(27*math.Pi*math.Pi)*math.Pow(ka, 4), 1e-3)
	near(t, "reactance", imag(z), 8*ka/(3*math.Pi), 1e-3)
	// Far above, each side radiates as a plane does.
	near(t, "plane", real(discExact(12, 9)), 2, 0.1)
}

func TestDiscConverges(t *testing.T) {
	for _, ka := range []float64{0.03, 0.4, 1.1, 2.7, 5.3, 7.9} {
		few, many := discExact(ka, 6), discExact(ka, 9)
		nearC(t, "terms", few, many, 2e-5)
		nearC(t, "spline", disc(ka), many, 2e-4)
	}
}

func TestAirAtTheStandardAtmosphere(t *testing.T) {
	// International standard atmosphere, sea level and 2000 m.
	sea, high := AirAt(101325, 15), AirAt(79495.2, 2)
	near(t, "density", sea.Rho, 1.225, 1e-4)
	near(t, "sound", sea.C, 340.294, 1e-5)
	near(t, "stiffness", sea.Stiffness(), 141855, 1e-5)
	near(t, "at 2000 m", high.Stiffness(), 111293.3, 1e-5)
	near(t, "room", RoomAir.Stiffness(), 141901.1, 1e-5) // public code of IEC 61094-2, 20 °C, 50 %
}
