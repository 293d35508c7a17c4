package main

import (
	"io"
	"math"
	"math/rand/v2"

	"conewright/sweeps"
	"conewright/sweeps/bench"
	"conewright/sweeps/signal"
	"conewright/sweeps/virtual"
	"conewright/ts/driver"
)

// The scene of the demo is invented, like every name and number in it: the two
// ten-inch woofers of the stage at a community hall got new surrounds. The
// left one came out right. The surround that went onto the right one is too
// stiff. The coil of a third, the spare, rubs. The gasket of the left cabinet leaked.

// demoSheet is the spec sheet that the driver has to meet.
const demoSheet = `# Limits for the ten-inch stage woofer of Brindle Hall. Invented for the demo.
name = "Larch 25 stage woofer"
source = "shop records, 6 healthy units"
mounting = "free-air"
temperature = "20 C"

[limits]
Re  = { nominal = "5.6 ohm", tolerance = "5 %" }
Fs  = { nominal = "31 Hz", tolerance = "10 %" }
Qts = { min = 0.33, max = 0.46 }
Mms = { nominal = "42.5 g", tolerance = "8 %" }
Cms = { nominal = "0.62 mm/N", tolerance = "20 %" }

[decision]
confidence = 0.95
`

// demoBench describes the bench of the demo.
const demoBench = `# The bench of the demo: every key is an option of the command line.
wiring = "resistor-first"
resistor = "10.02 ohm"
resistor-tolerance = "0.5 %"    # read with a hand-held meter
diameter = "210 mm"
mounting = "free-air"
temperature = "20 C"
channel-tolerance = "0.1 %"     # both inputs were compared on one point
full-scale = "2 V"              # voltage at which the inputs clip

# How this bench repeats, as "conewright repeat" found it. A good one: 1 % in Fs is usual.
[repeatability.again]
Fs = "0.08 %"
Qms = "0.5 %"
Re = "0.05 %"
degrees-of-freedom = 10

[repeatability.re-clamped]
Fs = "0.08 %"
Qms = "0.5 %"
Re = "0.05 %"
degrees-of-freedom = 5

[repeatability.session]
Fs = "0.12 %"
Qms = "0.9 %"
Re = "0.08 %"
degrees-of-freedom = 4
`

// demoManifest lists the repaired drivers for a batch.
const demoManifest = `unit,file,mass
left,left-after.wav,
left,left-after-20g.wav,20.0g
right,right-after.wav,
right,right-after-20g.wav,20.0g
`

// demoMass is the mass that the demo puts on the cone, in kg.
const demoMass = 0.020

// demoRecording is one recording of the demo.
type demoRecording struct {
	name   string
	driver driver.Driver
	mass   float64         // kg on the cone
	rubs   *virtual.Driver // followed in time in place of driver; nil: driver
	leak   float64         // Q of the leaks of the cabinet that it is screwed into; 0: free air
}

// demoCoil is a coil in iron: no model that the fit knows describes it exactly,
// as it is with real ones.
type demoCoil struct {
	rings driver.SemiCoil
	pole  driver.LossyCoil
}

// Impedance returns ZL in ohm, omega in rad/s.
func (c demoCoil) Impedance(omega float64) complex128 {
	return c.rings.Impedance(omega) + c.pole.Impedance(omega)
}

// demoRecordings lists what was recorded, before and after.
func demoRecordings() []demoRecording {
	coil := demoCoil{driver.SemiCoil{Leb: 0.25e-3, Le: 1.1e-3, Ke: 0.055, Rss: 120}, driver.LossyCoil{K: 0.004, N: 0.62}}
	healthy := driver.Driver{Re: 5.58, BL: 10.5, Mms: 0.0426, Cms: 0.615e-3, Rms: 1.65, Coil: coil, Creep: 0.08}

	leftBefore := healthy // the old foam has perished: soft, and some of it is gone
	leftBefore.Cms, leftBefore.Mms, leftBefore.Rms = 0.86e-3, 0.0414, 1.45

	right := healthy
	right.Re, right.Mms = 5.63, 0.0428
	rightBefore := right
	rightBefore.Cms, rightBefore.Mms, rightBefore.Rms = 0.83e-3, 0.0415, 1.50
	rightAfter := right // the new surround is too stiff
	rightAfter.Cms, rightAfter.Rms = 0.445e-3, 1.95

	return []demoRecording{
		{"left-before.wav", leftBefore, 0, nil, 0},
		{"left-before-20g.wav", leftBefore, demoMass, nil, 0},
		{"left-after.wav", healthy, 0, nil, 0},
		{"left-after-20g.wav", healthy, demoMass, nil, 0},
		{"right-before.wav", rightBefore, 0, nil, 0},
		{"right-before-20g.wav", rightBefore, demoMass, nil, 0},
		{"right-after.wav", rightAfter, 0, nil, 0},
		{"right-after-20g.wav", rightAfter, demoMass, nil, 0},
		{"spare.wav", healthy, 0, &demoSpare, 0},
		{"left-box-old-gasket.wav", healthy, 0, nil, 2.5},
		{"left-box.wav", healthy, 0, nil, 11},
	}
}

// demoSpare is a woofer of the same type whose coil rubs a little.
var demoSpare = virtual.Driver{Re: 5.6, L: 0.5e-3, Eddy: []virtual.Eddy{{R: 4, L: 0.8e-3}}, BL: 10.4, BL2: -1e4, Mms: 0.0427, Rms: 1.5,
	K: 1500, K2: 2e4, Creep: []virtual.Relaxing{{K: 90, Tau: 0.03}}, Friction: 0.012}

// ventedBox is a box with a port.
type ventedBox struct{ volume, tuning, sd float64 } // m^3, Hz, m^2 of the cone

// demoBox is the left cabinet of the hall.
var demoBox = ventedBox{0.060, 34, 0.0346}

// impedance is that of a driver in the box in ohm at f (Hz), from its elements: the box leaks with a Q at its tuning.
func (b ventedBox) impedance(d driver.Driver, leak, f float64) complex128 {
	s, tuned := complex(0, 2*math.Pi*f), 2*math.Pi*b.tuning
	stiffness := driver.Air{Temperature: 293.15, Pressure: 101300, Humidity: 0.5}.Stiffness() * b.sd * b.sd / b.volume // N/m
	air := s/complex(stiffness, 0) + complex(tuned*tuned/stiffness, 0)/s + complex(tuned/(stiffness*leak), 0)
	return complex(d.Re, 0) + d.Coil.Impedance(2*math.Pi*f) + complex(d.BL*d.BL, 0)/(d.Mechanical(f, 0, 0)+1/air)
}

// demoSignal is what the demo plays.
var demoSignal = signal.Signal{Kind: signal.ExponentialSweep, Rate: 48000, Lo: 5, Hi: 4000, Duration: 8, Level: 0.25}

// thatDay returns the driver as the sweep finds it: a suspension is a little
// different in each sweep.
func (r demoRecording) thatDay(seed uint64) driver.Driver {
	rng := rand.New(rand.NewPCG(seed, 0x6272696e646c65))
	driver := r.driver
	driver.Cms *= 1 + 0.003*rng.NormFloat64()
	driver.Rms *= 1 + 0.01*rng.NormFloat64()
	driver.Re *= 1 + 0.001*rng.NormFloat64()
	return driver
}

// writeTo plays the signal on the virtual bench and writes the WAV that a
// technician would have recorded.
func (r demoRecording) writeTo(w io.WriteSeeker, seed uint64) error {
	played := demoSignal
	if r.rubs != nil {
		played.Rate = 16000 // it takes long to follow a driver in time
	}
	signal, err := played.Samples()
	if err != nil {
		return err
	}
	driver := r.thatDay(seed)
	mass := r.mass * 1.002 // no scale is exact
	bench := virtual.Bench{
		Z: func(f float64) complex128 {
			if r.leak > 0 {
				return demoBox.impedance(driver, r.leak, f)
			}
			return driver.LoadedImpedance(f, mass, 0)
		},
		Driver: r.rubs,
		Bench:  bench.Bench{Wiring: bench.ResistorFirst, Resistor: 10.04, FullScale: 2},
		Flaws: virtual.Flaws{
			Gain: [2]float64{0, 4e-4}, Noise: [2]float64{1.5e-4, 1.5e-4}, Offset: [2]float64{3e-4, -2e-4},
			Latency: 0.31, After: 0.8, Clock: 12e-6, Bits: 24,
		},
		Seed: seed,
	}
	rec, err := bench.Record(signal, played.Rate)
	if err != nil {
		return err
	}
	ch1, ch2 := make([]float64, rec.Frames), make([]float64, rec.Frames)
	if err := rec.Read(ch1, ch2, 0); err != nil {
		return err
	}
	return sweeps.WriteWAV(w, ch1, ch2, int(math.Round(rec.Rate)))
}
