package connected_test

import (
	"math"
	"math/cmplx"
	"math/rand/v2"
	"slices"
	"testing"

	"conewright/ts/connected"
	"conewright/ts/driver"
	"conewright/ts/internal/truth"
	"conewright/ts/measured"
)

// A coil of a network is seen by the phase of most drivers behind it, by one sweep. The drivers alone are not doubted, and nothing is
// said of magnitudes, which do not show it.
func TestCoilOfANetwork(t *testing.T) {
	const n, most = 80, 28 // of n that the loss of the voice coil hides; about a quarter of 400 others are
	missed := 0
	for seed := range uint64(n) {
		alone, with := truth.Connect(seed, truth.CoilInSeries)
		if found := connected.Look(taken(t, alone.Sweep), false); found != nil {
			t.Errorf("seed %d: a driver alone: %v", seed, found)
		}
		z := taken(t, with.Sweep)
		found := connected.Look(z, false)
		if found == nil || found.Code != "lossless-coil" {
			missed++
			continue
		}
		if phase := found.Num("phase"); phase < 70*math.Pi/180 || phase > math.Pi/2 || found.Num("reactance") < 1 {
			t.Errorf("seed %d: %v", seed, found.Facts)
		}
		for i, v := range z.Z {
			z.Z[i] = complex(cmplx.Abs(v), 0)
		}
		z.MagnitudeOnly = true
		if found := connected.Look(z, false); found != nil && found.Code == "lossless-coil" {
			t.Errorf("seed %d: by a magnitude: %v", seed, found)
		}
	}
	if missed > most {
		t.Errorf("%d of %d coils are not named", missed, n)
	}
}

// A coil without loss is judged where its reactance counts and the sweep reaches far enough: 2 ohm per ohm of Re at 1,240 Hz, the mean of
// the highest octaves, and not 0.8, nor to 1,400 Hz.
func TestCoilThatIsNotJudged(t *testing.T) {
	for _, c := range []struct {
		reactance, top float64 // over Re; Hz
		want           string
	}{{2, 2000, "lossless-coil"}, {0.8, 2000, ""}, {4, 1400, ""}} {
		d := driver.Driver{Re: 5.6, BL: 8, Mms: 30e-3, Cms: 0.75e-3, Rms: 1.5, Coil: driver.LossyCoil{K: 1e-4, N: 0.7}}
		z := sweep(rand.New(rand.NewPCG(8, 13)), 5, func(f float64) complex128 { return d.Impedance(f) + complex(0, c.reactance*d.Re*f/1240) })
		n, _ := slices.BinarySearch(z.Freq, c.top)
		z.Freq, z.Z = z.Freq[:n], z.Z[:n]
		if found := connected.Look(z, false); code(found) != c.want {
			t.Errorf("%v of Re to %v Hz: %v, want %q", c.reactance, c.top, found, c.want)
		}
	}
}

// A channel that is late turns the phase of a driver as a coil does, but not the rise of |Z| with it. Whatever is said, it is
// not a coil.
func TestDelayIsNoCoil(t *testing.T) {
	for seed := uint64(80); seed < 120; seed++ {
		_, with := truth.Connect(seed, truth.ChannelDelay)
		if found := connected.Look(taken(t, with.Sweep), false); found != nil && found.Code == "lossless-coil" {
			t.Errorf("seed %d: %v", seed, found)
		}
	}
}

func taken(t *testing.T, s truth.Sweep) measured.Impedance {
	z, err := measured.NewImpedance(s.F, s.Z, s.Sigma)
	if err != nil {
		t.Fatal(err)
	}
	return z
}
