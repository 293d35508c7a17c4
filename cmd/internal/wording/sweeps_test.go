package wording

import (
	"errors"
	"io/fs"
	"math"
	"strings"
	"testing"

	"conewright/sweeps/bench"
	"conewright/ts/notice"
)

// What is wrong with a file or a recording, word for word where the facts decide the words.
func TestSweepSentences(t *testing.T) {
	for _, c := range []struct {
		n             *notice.Notice
		message, hint string // the hint in part
	}{
		{notice.New("file-open", nil).In("x.wav").Because(&fs.PathError{Op: "open", Path: "x.wav", Err: fs.ErrNotExist}), "x.wav: file does not exist", "check the name and the folder"},
		{notice.New("file-kind", notice.Facts{"kind": "flac"}).In("x"), "x: this is a FLAC recording", "sox in.flac out.wav"},
		{notice.New("file-kind", notice.Facts{"kind": "zip"}).In("x"), "x: this is a spreadsheet or an archive", "as CSV"},
		{notice.New("read-failed", notice.Facts{"bytes": 6, "offset": 44.0}).In("x").Because(errors.New("disk on fire")), "x: cannot read 6 bytes at offset 44: disk on fire", "disk can be read"},
		{notice.New("save-exists", notice.Facts{"path": "out.json"}), "out.json exists and is not overwritten", "--force"},
		{notice.New("batch-unfinished", notice.Facts{"path": "out.json.part"}), "out.json.part exists and is not overwritten", "--resume"},

		{notice.New("wav-compressed", notice.Facts{"tag": 6}), "the WAV file holds A-law samples", "two-channel PCM"},
		{notice.New("wav-compressed", notice.Facts{"tag": 2}), "the WAV file holds compressed samples (format 0x2)", "two-channel PCM"},
		{notice.New("wav-truncated", notice.Facts{"promised": 12.5, "there": 3.0}), "the WAV file ends early: its header promises 12.50 s, 3.00 s are there", "what is there was used"},
		{notice.New("bad-sample", notice.Facts{"sample": 2, "value": math.NaN()}), "sample 2 is not a finite number", "record or export"},
		{notice.New("bad-sample", notice.Facts{"sample": 2, "value": 1e30}), "sample 2 is 1e+30 times full scale", "record or export"},

		{notice.New("channel-silent", notice.Facts{"channel": 1, "input": 1, "wiring": "probes"}), "channel 1 is silent", "the input you connected"},
		{notice.New("channel-silent", notice.Facts{"channel": 2, "input": 2, "wiring": "resistor-first"}), "channel 2 is silent", "shorted terminals of the driver"},
		{notice.New("channel-trace", notice.Facts{"channel": 2, "other": 1, "share": 0.001, "input": 2, "wiring": "driver-first"}), "channel 2 records only a trace of what channel 1 records, 0.1 % of it", "open or not connected"},
		{notice.New("same-signal", notice.Facts{"wiring": "driver-first"}), "both channels record the same signal", "between driver and resistor"},
		{notice.New("wrong-wiring", notice.Facts{"wiring": "probes", "try": "no-swap"}), "the curve is upside down for the wiring probes: a dip where the resonance should rise", "try no --swap-channels"},
		{notice.New("clipped", notice.Facts{"channel": 2, "level": 0.3, "samples": 6000, "share": 0.21, "first": 0.1}), "channel 2 is clipped at 30 % of full scale in 6000 samples (21 %), first 0.10 s from the start", "turn down the gain"},
		{notice.New("level-low", notice.Facts{"peak": 0.001}), "the recording is very quiet, with peaks at 60 dB below full scale", "6 to 20 dB"},
		{notice.New("level-low", notice.Facts{"channel": 2, "steps": 12.0}), "channel 2 is so quiet that its peaks are only 12 steps of the recorder high", "24 bit"},
		{notice.New("level-low", notice.Facts{"voltage": 0.002}), "the driver gets 2 mV rms only", "0.1 V rms"},
		{notice.New("soft-clipping", notice.Facts{"channel": 2, "loss": 0.0125}), "channel 2 clips softly: it loses 1.2 % of its gain where it is loudest, and the impedance is off by about as much", "turn that input down"},
		{notice.New("levels-apart", notice.Facts{"before": 0.1, "after": 0.25, "volts": true}), "the driver got 0.1 V rms before and 0.25 V after: a suspension answers differently when it moves farther, which may be all that changed in Fs, Qms and Cms; their uncertainty holds that", "one level"},
		{notice.New("levels-apart", notice.Facts{"before": 0.1, "after": 0.25, "volts": false}), "the recording after is at 2.5 times the level of the one before; if the driver was played to louder or more softly, that alone may change Fs, Qms and Cms, and their uncertainty does not hold it", "--full-scale"},
		{notice.New("levels-differ", notice.Facts{"first": 0.1, "other": 0.25, "volts": true}), "the sweeps were not taken at one level: one has 0.1 V rms at the driver, another 0.25 V; the suspension answers differently, and the values are a mixture", "leave the amplifier alone"},
		{notice.New("levels-differ", notice.Facts{"first": 0.1, "other": 0.25, "volts": false}), "the sweeps were not recorded at one level: one is at 2.5 times another; if the amplifier was turned, the values are a mixture", "--full-scale"},
		{notice.New("unsteady-contact", notice.Facts{"channel": 2, "kept": 1}), "the contact was not steady: channel 2 jumps once, and that part could not be left out", "press the leads"},
		{notice.New("unsteady-contact", notice.Facts{"channel": 2, "kept": 3}), "the contact was not steady: channel 2 jumps 3 times, and not all of those parts could be left out", "press the leads"},
		{notice.New("unsteady-contact", notice.Facts{"channel": 2, "gaps": 1, "first": 4.25}), "the contact was not steady: 4.2 s from the start channel 2 jumps, and that part was left out", "press the leads"},
		{notice.New("unsteady-contact", notice.Facts{"channel": 1, "gaps": 2, "first": 4.0}), "the contact was not steady: 2 times, first 4.0 s from the start, channel 1 jumps, and those parts were left out", "press the leads"},
		{notice.New("contact-not-watched", notice.Facts{"from": 600.0, "to": 14400.0}), "the recording lasts 240 minutes, and contacts that open were looked for in the first 10 only", "shorter"},

		{notice.New("text-too-large", notice.Facts{"count": 17 << 20, "of": "bytes"}), "a text file with 17 MB is larger than a sweep can be; 4 MB and 70000 lines are the most", "a file of its own"},
		{notice.New("text-too-large", notice.Facts{"count": 600000, "of": "lines"}), "a text file with 600000 lines is larger than a sweep can be; 4 MB and 70000 lines are the most", "a file of its own"},
		{notice.New("table-no-row", notice.Facts{"text": "the end"}).At("x.txt", 5), `x.txt:5: this is not a row of numbers: "the end"`, "#"},
		{notice.New("table-few-points", notice.Facts{"points": 1, "least": 3}), "the table holds 1 point that can be used, a sweep needs at least 3", "more frequencies"},
		{notice.New("points-missing", notice.Facts{"points": 2}), "2 points without a value left out", "measure them again"},
		{notice.New("points-held", notice.Facts{"points": 3, "below": 20.5}), "3 points below 20.5 Hz have one and the same value, which the device held and did not measure; they were left out", "measures lower"},
		{notice.New("column-unit", notice.Facts{"column": 2, "holds": "|Z|", "example": "f[Hz], |Z|[ohm]", "unnamed": 2}),
			"column 2 holds |Z|, but the table does not say whether in ohm, kohm, mohm or dB of ohm", `--columns "f[Hz], |Z|[ohm]"`},
		{notice.New("column-unit", notice.Facts{"column": 3, "holds": "phase", "example": "f[Hz], |Z|[ohm], phase[deg]", "unnamed": 3}),
			"column 3 holds phase, but the table does not say whether in degrees or radians, or the imaginary part in ohm", `--columns "f[Hz], |Z|[ohm], phase[deg]"`},
		{notice.New("column-unit-row", notice.Facts{"column": 2, "holds": "|Z|", "unnamed": 2, "line": 2, "complex": false, "first": "f[Hz], |Z|[ohm]", "frequency": 31.0, "size": 40.0, "phase": 0.0,
			"second": "f[Hz], |Z|[dBohm]", "otherFrequency": 31.0, "otherSize": 100.0, "otherPhase": 0.0}),
			"column 2 holds |Z|, but the table does not say whether in ohm, kohm, mohm or dB of ohm. Line 2 means 31.0 Hz, 40.0 ohm, or 31.0 Hz, 100 ohm", `--columns "f[Hz], |Z|[dBohm]" for the second`},
		{notice.New("column-slip", notice.Facts{"column": 1, "of": "peak", "value": 0.031, "line": 30, "complex": true,
			"first": "f[Hz], |Z|[ohm], phase[deg]", "frequency": 0.02, "size": 12.34, "phase": 0.5,
			"second": "f[kHz], |Z|[ohm], phase[deg]", "otherFrequency": 20.0, "otherSize": 12.34, "otherPhase": 0.5}),
			"column 1 is hardly in the unit that its header gives: the peak would lie at 0.0310 Hz, and drivers have it between 5 and 5,000 Hz. Line 30 means 0.0200 Hz, 12.3 ohm, 28.6°, or 20.0 Hz, 12.3 ohm, 28.6°",
			`--columns "f[kHz], |Z|[ohm], phase[deg]" for the second`},
		{notice.New("column-ratio", notice.Facts{"column": 2, "lowest": 0.36, "highest": 0.9}), "column 2 goes from 0.360 to 0.900 and never above 1: that is a ratio of two voltages and not an impedance in ohm", "V resistor[V]"},
		{notice.New("column-guessed", notice.Facts{"name": "req[Hz]", "holds": "f"}), `the column "req[Hz]" was taken for f`, "--columns"},
		{notice.New("two-resonances", notice.Facts{"lower": 43.0, "upper": 114.0, "between": 70.0, "kinds": "vented-box two-in-series"}),
			"there are two resonances, at 43.0 Hz and 114 Hz, with a dip near 70.0 Hz: this is most likely the driver in a vented box, or two drivers in series", "--alone"},
		{notice.New("capacitor-in-series", notice.Facts{"capacitance": 68e-6, "peak": 40.0}), "there is a capacitor of about 68 uF in series: towards low frequencies |Z| rises as 1/f, besides the peak at 40.0 Hz", "off its network"},
		{notice.New("channels-coupled-apart", notice.Facts{"lower": 2., "upper": 2.4, "off": 0.12, "from": 1.03}), "towards low frequencies the phase turns as that of no driver: it looks like two inputs whose AC coupling differs (lower limits near 2.0 Hz and 2.4 Hz), which makes 12 % of the impedance at 1.03 Hz, and Re and the Q values are wrong by it", "measure Re with a meter"},
		{notice.New("channels-late", notice.Facts{"time": 3. / 48000}), "one channel lags behind the other by about 62 us (3.0 samples at 48 kHz): the phase turns with frequency as that of no driver", "one device"},
		{notice.New("lossless-coil", notice.Facts{"phase": 1.4, "reactance": 2.1}),
			"beyond Re the phase is 80 degrees at the highest frequencies, where the reactance is 2.1 times Re, and the iron of a motor gives a voice coil more loss: there may be a coil of a network in series", "off its network"},
		{notice.New("in-a-box", notice.Facts{"stiffness": 2.0, "fs": 1.41, "q": 1.41}),
			"Fs is 1.4 times and the Q values are 1.4 times what they should be, which is a suspension 2 times as stiff: is the driver in its cabinet?", "out of the box"},
		{notice.New("mass-on-cone", notice.Facts{"mass": 0.5, "fs": 0.816, "q": 1.22}),
			"Fs is 0.82 times and the Q values are 1.2 times what they should be, which is a moving mass 50 % higher: is a test mass still on the cone?", "--mass"},
		{notice.New("unusual-value", notice.Facts{"of": "Mms/Sd", "value": 0.02, "low": 0.1, "high": 8.0}), "the moving mass would be 0.00200 g for each cm2 of the cone, and drivers have 0.0100 to 0.800", "--diameter"},
		{notice.New("unusual-value", notice.Facts{"of": "Fs", "value": 0.03, "low": 5.0, "high": 5000.0}), "Fs would be 0.0300 Hz, and drivers have 5.00 Hz to 5000 Hz", "--columns"},
		{notice.New("columns-mistaken", notice.Facts{"named": "|Z|[ohm] phase[deg]", "fits": "re[ohm] im[ohm]"}),
			"taken as |Z|[ohm] phase[deg], the columns cannot belong to one impedance; taken as re[ohm] im[ohm] they do", `--columns "f[Hz] re[ohm] im[ohm]"`},
		{notice.New("voltages-contradict", notice.Facts{"rows": 1, "first": 3}), "in 1 row (the first in line 3) V source does not fit V driver and V resistor, the other two were used", "connections"},
		{notice.New("touchstone-early-data", notice.Facts{"before": "[Network Data]"}).At("x", 5), "x:5: data begin before the [Network Data]", "# Hz Z RI R 1"},
	} {
		message, hint := Error(c.n)
		if message != c.message || !strings.Contains(hint, c.hint) {
			t.Errorf("%v says\n%s\n%s\nwant\n%s\n%s", c.n, message, hint, c.message, c.hint)
		}
	}
}

// Every value of a bench that can be wrong has a name in words.
func TestBenchValueSentences(t *testing.T) {
	nan := math.NaN()
	for _, b := range []bench.Bench{
		{Resistor: -1}, {Resistor: 10, ResistorTolerance: nan}, {Resistor: 10, Leads: -1}, {Resistor: 10, LeadsStd: nan},
		{Resistor: 10, InputResistance: 5}, {Resistor: 10, FullScale: math.Inf(1)}, {Resistor: 10, ChannelTolerance: 2},
	} {
		message, hint := Error(b.Check())
		if strings.HasPrefix(message, " ") || !strings.HasSuffix(message, " is not usable") || hint == "" {
			t.Errorf("%+v: %q, %q", b, message, hint)
		}
	}
	if len(benchValues) != 7 {
		t.Errorf("%d names, 7 of them are tried here", len(benchValues))
	}
}
