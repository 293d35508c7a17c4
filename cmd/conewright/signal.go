package main

import (
	"fmt"
	"io"
	"math"
	"path/filepath"
	"strings"

	"conewright/cmd/internal/quantity"
	"conewright/sweeps"
	"conewright/sweeps/signal"
)

var signalCommand = command{
	name:     "signal",
	synopsis: "[options]",
	summary:  "write a test signal as WAV, and say how to hook it up and how loud",
	about: `Writes a test signal to be played through the amplifier while both channels of the bench are
recorded. The signal need not be known when the recording is read: any of them will do.`,
	examples: `
conewright signal
conewright signal -o woofer.wav --from 5Hz --to 2kHz --duration 30s --level -12dB
conewright signal --kind multitone --duration 40s -o tones.wav`,
	setup: func(g *optionGroups) action {
		var s signalOptions
		s.define(g)
		return func(c *console, args []string) (answer, error) {
			if len(args) > 0 {
				return done, wrongUse("the file to write is named with -o FILE", "signal reads no file, and %s was given", args[0])
			}
			return done, s.write(c)
		}
	},
}

type signalOptions struct {
	kind                      signal.Kind
	from, to, duration, level quantityOption
	rate                      int
	seed                      uint64
	out                       outputOptions
}

func (s *signalOptions) define(g *optionGroups) {
	fs := g.group("Signal")
	s.from = quantityOption{kind: quantity.Frequency, lo: 0.1, hi: 1e5}
	s.to = quantityOption{kind: quantity.Frequency, lo: 1, hi: 4e5}
	s.duration = quantityOption{kind: quantity.Duration, lo: 0.1, hi: 3600}
	s.level = quantityOption{kind: quantity.Decibels, lo: -80, hi: 0}
	fs.Var(wordOption[signal.Kind]{&s.kind, []signal.Kind{signal.ExponentialSweep, signal.Multitone, signal.PinkNoise}}, "kind", "what is played")
	quantityVar(fs, &s.from, "from", "5Hz", "lowest frequency; well below the resonance")
	quantityVar(fs, &s.to, "to", "20kHz", "highest frequency")
	quantityVar(fs, &s.duration, "duration", "20s", "length without the silence around it")
	quantityVar(fs, &s.level, "level", "-6dB", "peak, below full scale")
	fs.IntVar(&s.rate, "rate", 48000, "sample rate in `Hz`; that of the sound card")
	fs.Uint64Var(&s.seed, "seed", 1, "of noise and of the phases of tones; `N` makes the same signal again")
	s.out.defineFile(g.group("Output"), "`FILE` to write")
	g.list[len(g.list)-1].Lookup("output").DefValue = "signal.wav"
	s.out.file = "signal.wav"
}

// write writes the file and says how to use it.
func (s *signalOptions) write(c *console) error {
	sig := signal.Signal{
		Kind: s.kind, Rate: s.rate, Lo: s.from.value.SI, Hi: min(s.to.value.SI, 0.45*float64(s.rate)),
		Duration: s.duration.value.SI, Level: math.Pow(10, s.level.value.SI/20), Seed: s.seed,
	}
	if err := wavEnding(s.out.file); err != nil {
		return err
	}
	samples, err := sig.Samples()
	if err != nil {
		return err
	}
	err = writeFile(s.out.file, s.out.force, func(w io.WriteSeeker) error {
		return sweeps.WriteWAV(w, samples, samples, s.rate)
	})
	if err != nil {
		return err
	}
	seconds := float64(len(samples)) / float64(s.rate)
	_, err = fmt.Fprintf(c.out, signalAdvice, s.out.file, s.kind, sig.Lo, sig.Hi, seconds, s.rate, s.out.file)
	return err
}

// wavEnding refuses a name that no player takes for a WAV file.
func wavEnding(file string) error {
	if ending := filepath.Ext(file); !strings.EqualFold(ending, ".wav") {
		return wrongUse("name it .wav", "%s: what is written is a WAV file, which players do not expect under the ending %q", file, ending)
	}
	return nil
}

const signalAdvice = `%s: %s from %g Hz to %g Hz, %.1f s at %d Hz, 24 bit, the same in both channels

Hook-up
  amplifier + -> series resistor -> node -> driver -> amplifier -
  input 1 listens to the amplifier's output, input 2 to the node; 10 to 47 ohm, measured, does
  well. This is the wiring resistor-first; docs/bench.md draws it and the two others.

Before you start
  - Amplifier down before you connect or disconnect anything.
  - The first sweep quiet. Aim at 0.1 V rms at the driver, never more than 1 V.
  - Low frequencies move the cone far without being loud: watch it. Take the ear away from it.
  - An amplifier with a bridged output has no side that may be joined to the input's ground;
    look it up before you connect, or use the wiring probes with differential inputs.
  - Mains voltage and charged capacitors inside an amplifier are no part of this: leave the case
    closed. Local codes and licensed practice come first.

Then
  1. Stand the driver up, its axis horizontal, with nothing near the cone or the vent of the
     magnet, and let it come to the room's temperature.
  2. Play %s and record both inputs as one stereo WAV, 24 bit, at any rate. The recorder may
     start early and stop late. Neither channel may reach full scale.
  3. conewright fit recording.wav --resistor 10.02        (your resistor's reading)
`
