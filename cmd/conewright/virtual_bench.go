package main

import (
	"conewright/cmd/internal/quantity"
	"conewright/cmd/internal/sound"
	"conewright/sweeps/bench"
	"conewright/sweeps/virtual"
	"conewright/ts/driver"

	"github.com/spf13/pflag"
)

// mishap is something that goes wrong on the virtual bench.
type mishap uint8

const (
	noMishap mishap = iota
	looseClip
	slammedDoor
	mainsHum
	tooLoud
	unplugged
)

var mishapWords = [...]string{"nothing", "loose-clip", "slammed-door", "hum", "too-loud", "unplugged"}

func (m mishap) String() string { return mishapWords[m] }

var mishaps = []mishap{noMishap, looseClip, slammedDoor, mainsHum, tooLoud, unplugged}

// virtualOptions turn the virtual bench on.
type virtualOptions struct {
	on     bool
	speed  quantityOption
	mishap mishap
}

func (v *virtualOptions) define(g *optionGroups) *pflag.FlagSet {
	fs := g.group("Without hardware")
	fs.BoolVar(&v.on, "virtual", false, "play and record on a bench that exists only as numbers, with an invented driver")
	v.speed = quantityOption{kind: quantity.Number, lo: 0.1, hi: 1000}
	quantityVar(fs, &v.speed, "speed", "1", "of the virtual bench, times real time")
	return fs
}

// finish checks that the options go together.
func (v *virtualOptions) finish() error {
	if !v.on && (v.speed.given || v.mishap != noMishap) {
		return wrongUse("add --virtual", "only the virtual bench has a speed and goes wrong when asked to")
	}
	return nil
}

// The virtual bench: full scale of its output is 10 V at the amplifier, full scale of its
// inputs 1 V, and its resistor is 10.02 ohm.
const (
	virtualRate     = 48000 // Hz
	virtualAmp      = 10    // V
	virtualResistor = 10.02 // ohm
)

// virtualBench is the bench of the demo, turned on.
type virtualBench struct{ *sound.Virtual }

func newVirtualBench(speed float64) virtualBench {
	v := virtualBench{&sound.Virtual{RateHz: virtualRate, Amp: virtualAmp, Speed: speed}}
	v.connect(demoRecordings()[0].thatDay(1), 0, noMishap, 1)
	return v
}

// connect says which driver hangs on the terminals, the mass (kg) on its cone, and what
// goes wrong in each sweep. Equal seeds give equal noise.
func (v virtualBench) connect(d driver.Driver, mass float64, goesWrong mishap, seed uint64) {
	v.hang(func(f float64) complex128 { return d.LoadedImpedance(f, mass, 0) }, goesWrong, seed)
}

// hang hangs an impedance (ohm at a frequency in Hz) onto the terminals.
func (v virtualBench) hang(z func(f float64) complex128, goesWrong mishap, seed uint64) {
	b := virtual.Bench{
		Z:     z,
		Bench: bench.Bench{Wiring: bench.ResistorFirst, Resistor: virtualResistor},
		Flaws: virtual.Flaws{Gain: [2]float64{0, 4e-4}, Noise: [2]float64{5e-5, 5e-5}, Offset: [2]float64{3e-4, -2e-4}, Bits: 24},
		Seed:  seed,
	}
	var happenings []sound.Happening
	switch goesWrong {
	case looseClip:
		happenings = append(happenings, sound.Happening{After: 4, Do: func(s *virtual.Stream) { s.Open(0.01) }})
	case slammedDoor:
		happenings = append(happenings, sound.Happening{After: 6, Do: func(s *virtual.Stream) { s.Slam(0.01) }})
	case mainsHum:
		b.Flaws.Hum, b.Flaws.HumHz = [2]float64{2e-3, 4e-3}, 50
	case tooLoud:
		b.Flaws.Gain = [2]float64{9, 9}
		b.Flaws.Clip = 1
	case unplugged:
		happenings = append(happenings, sound.Happening{After: 4, Pull: true})
	}
	v.Connect(b, happenings...)
}
