package main

import (
	"fmt"
	"io"
	"math"
	"os"
	"path/filepath"

	"conewright/sweeps"
	"conewright/sweeps/bench"
	"conewright/sweeps/signal"
	"conewright/sweeps/virtual"
)

var partDemoCommand = command{
	name:     "part demo",
	synopsis: "--keep DIR",
	summary:  "record a drawer of invented parts on the virtual bench",
	about: `Writes recordings of parts that exist only as numbers, those of the known things, and the list of
a network, and says which commands to try on them.`,
	examples: `
conewright part demo --keep drawer`,
	setup: func(g *optionGroups) action {
		var keep string
		g.group("Output").StringVar(&keep, "keep", "", "leave recordings and network in this `DIR`")
		return func(c *console, args []string) (answer, error) {
			if keep == "" || len(args) > 0 {
				return done, wrongUse("conewright part demo --keep drawer", "the demo of parts needs a folder for its recordings, and no file")
			}
			return done, demoParts(c, keep)
		}
	},
}

// demoPart is an invented part: a resistance and an inductance in series, with a capacitor or not.
type demoPart struct {
	file            string
	ohm, henry      float64
	farad, loss     float64 // loss factor of the dielectric
	eddyOhm, eddyMH float64 // currents beside a coil
}

// impedance is that of the part in ohm at f (Hz).
func (d demoPart) impedance(f float64) complex128 {
	s := complex(0, 2*math.Pi*f)
	z := complex(d.ohm, 0) + s*complex(d.henry, 0)
	if d.farad > 0 {
		z += complex(1, 0) / (s * complex(d.farad, -d.loss*d.farad))
	}
	if d.eddyOhm > 0 {
		l, r := s*complex(1e-3*d.eddyMH, 0), complex(d.eddyOhm, 0)
		z += l * r / (l + r)
	}
	return z
}

// drawerParts are the known things and the parts of a pair of two-way loudspeakers that exist only here.
var drawerParts = []demoPart{
	{file: "open.wav", ohm: 1e12},
	{file: "short.wav"},
	{file: "load.wav", ohm: 100.03, henry: 20e-9},
	{file: "c1-old.wav", ohm: 0.55, henry: 20e-9, farad: 7.4e-6, loss: 0.02},
	{file: "c1-new.wav", ohm: 0.012, henry: 15e-9, farad: 6.79e-6, loss: 4e-4},
	{file: "c1-new-b.wav", ohm: 0.014, henry: 15e-9, farad: 6.83e-6, loss: 5e-4},
	{file: "c1-new-c.wav", ohm: 0.011, henry: 15e-9, farad: 6.62e-6, loss: 4e-4},
	{file: "l1-left.wav", ohm: 0.25, henry: 0.5e-3, eddyOhm: 8, eddyMH: 0.06},
	{file: "l1-right.wav", ohm: 0.26, henry: 0.503e-3, eddyOhm: 8, eddyMH: 0.06},
	{file: "r1.wav", ohm: 3.31, henry: 0.3e-6},
}

const demoNetwork = `# Invented: a two-way loudspeaker
[parts]
L1      = { coil = "0.56 mH", rdc = "0.25 ohm", from = "in", to = "low" }
woofer  = { driver = "5.8 ohm", from = "low", Le = "0.6 mH", Fs = "60 Hz", Qms = 7.5, Qes = 0.85 }
C1      = { capacitor = "6.8 uF", esr = "0.6 ohm", from = "in", to = "high" }
L2      = { coil = "0.35 mH", rdc = "0.3 ohm", from = "high" }
tweeter = { driver = "5.2 ohm", from = "high", Le = "0.03 mH", Fs = "900 Hz", Qms = 2.5, Qes = 1.2 }
`

// demoParts records everything and says what to try.
func demoParts(c *console, dir string) error {
	if err := recordParts(dir); err != nil {
		return err
	}
	_, err := fmt.Fprintf(c.out, demoPartsAdvice, dir, len(drawerParts)-3)
	return err
}

// recordParts records everything.
func recordParts(dir string) error {
	if err := os.MkdirAll(dir, 0o777); err != nil {
		return err
	}
	x, err := signal.Signal{Duration: 6}.Samples()
	if err != nil {
		return err
	}
	rate := signal.Signal{}.Defaults().Rate
	for i, d := range drawerParts {
		v := virtual.Bench{
			Z:     d.impedance,
			Bench: bench.Bench{Wiring: bench.ResistorFirst, Resistor: virtualResistor, Leads: 0.1},
			Flaws: virtual.Flaws{Gain: [2]float64{0, 0.005}, Noise: [2]float64{1.8e-5, 1.8e-5}, InputResistance: 20e3, Bits: 24},
			Seed:  uint64(i + 1),
		}
		rec, err := v.Record(x, rate)
		if err != nil {
			return err
		}
		var ch [2][]float64
		for k := range ch {
			ch[k] = make([]float64, rec.Frames)
		}
		if err := rec.Read(ch[0], ch[1], 0); err != nil {
			return err
		}
		if err := writeFile(filepath.Join(dir, d.file), false, func(w io.WriteSeeker) error { return sweeps.WriteWAV(w, ch[0], ch[1], rate) }); err != nil {
			return err
		}
	}
	return writeFile(filepath.Join(dir, "network.toml"), false, func(w io.WriteSeeker) error { _, err := io.WriteString(w, demoNetwork); return err })
}

const demoPartsAdvice = `%[1]s: recordings of %[2]d invented parts, of the known things, and the list of a network. Try:

  conewright part %[1]s/c1-old.wav --open %[1]s/open.wav --short %[1]s/short.wav --load 100.0ohm=%[1]s/load.wav --nominal 6.8uF
  conewright part --before %[1]s/c1-old.wav --after %[1]s/c1-new.wav --network %[1]s/network.toml --open %[1]s/open.wav --short %[1]s/short.wav --load 100.0ohm=%[1]s/load.wav
  conewright part batch %[1]s --open %[1]s/open.wav --short %[1]s/short.wav --load 100.0ohm=%[1]s/load.wav
`
