package main

import (
	"context"
	"errors"
	"fmt"
	"io"
	"math"
	"os"
	"os/signal"
	"path/filepath"
	"slices"
	"strings"
	"syscall"
	"time"

	"conewright/cmd/internal/quantity"
	"conewright/cmd/internal/sound"
	"conewright/cmd/internal/take"
	"conewright/cmd/internal/wording"
	"conewright/sweeps"
	sweepsignal "conewright/sweeps/signal"
	"conewright/ts/notice"
)

var measureCommand = command{
	name:     "measure",
	synopsis: "[-o FILE] [options]",
	summary:  "play a sweep and record it in one step",
	about: `Plays a sweep and records both inputs of the bench meanwhile, tells what goes wrong, and writes
the recording when the sweep is over. Hook up as docs/bench.md draws it. The level starts low,
and is yours to raise: at most 1 V at the driver, and take the ear away from the cone. Ctrl-C
stops the sound at once. On Linux the sound server plays and records, PulseAudio or PipeWire;
elsewhere use the page: conewright bench.`,
	examples: `
conewright measure --list
conewright measure -o before.wav
conewright measure --device usb --to 4kHz --duration 12s -o before.wav
conewright measure --virtual`,
	setup: func(g *optionGroups) action {
		var m measurement
		m.define(g)
		return func(c *console, args []string) (answer, error) {
			if len(args) > 0 {
				return done, wrongUse("the file to write is named with -o FILE", "measure reads no file, and %s was given", args[0])
			}
			return done, m.run(c)
		}
	},
}

// measurement is one sweep by the command line.
type measurement struct {
	from, to, duration, level quantityOption
	device                    string
	list                      bool
	virtual                   virtualOptions
	out                       outputOptions
}

func (m *measurement) define(g *optionGroups) {
	fs := g.group("Sweep")
	m.from = quantityOption{kind: quantity.Frequency, lo: 1, hi: 1000}
	m.to = quantityOption{kind: quantity.Frequency, lo: 100, hi: 4e5}
	m.duration = quantityOption{kind: quantity.Duration, lo: 1, hi: 600}
	m.level = quantityOption{kind: quantity.Decibels, lo: -80, hi: 0}
	quantityVar(fs, &m.from, "from", "5Hz", "lowest frequency; well below the resonance")
	quantityVar(fs, &m.to, "to", "20kHz", "highest frequency")
	quantityVar(fs, &m.duration, "duration", "12s", "length without the silence around it")
	quantityVar(fs, &m.level, "level", "-34dB", "peak, below full scale; begin low")
	device := g.group("Sound")
	device.StringVar(&m.device, "device", "", "`OUTPUT,INPUT` as --list names them, or one word that names both; the usual ones if left out")
	device.BoolVar(&m.list, "list", false, "list the outputs and inputs, and measure nothing")
	virtual := m.virtual.define(g)
	virtual.Var(wordOption[mishap]{&m.virtual.mishap, mishaps}, "goes-wrong", "what happens on the virtual bench during the sweep")
	m.out.defineFile(g.group("Output"), "`FILE` to write")
	g.list[len(g.list)-1].Lookup("output").DefValue = "sweep.wav"
	m.out.file = "sweep.wav"
}

// errStopped is the end of a sweep that the user stopped.
var errStopped = notice.New("sweep-stopped", nil)

func (m *measurement) run(c *console) error {
	if err := m.virtual.finish(); err != nil {
		return err
	}
	asked, stop := signal.NotifyContext(context.Background(), os.Interrupt, syscall.SIGTERM)
	defer stop()
	ctx, cancel := context.WithCancelCause(context.Background())
	defer context.AfterFunc(asked, func() { cancel(errStopped) })()
	system, err := m.system(ctx)
	if err != nil {
		return err
	}
	devices, err := system.Devices(ctx)
	if err != nil {
		return err
	}
	if m.list {
		return listDevices(c.out, system, devices)
	}
	if err := wavEnding(m.out.file); err != nil {
		return err
	}
	if err := m.out.finish(); err != nil {
		return err
	}
	output, input, err := chooseDevices(devices, m.device)
	if err != nil {
		return err
	}
	line, err := system.Open(ctx, output, input)
	if err != nil {
		return err
	}
	return m.sweep(ctx, c, line)
}

// system is the virtual bench or the sound server.
func (m *measurement) system(ctx context.Context) (sound.System, error) {
	if !m.virtual.on {
		return sound.NewPulse(ctx)
	}
	v := newVirtualBench(m.virtual.speed.value.SI)
	v.connect(demoRecordings()[0].thatDay(1), 0, m.virtual.mishap, 1)
	return v, nil
}

// sweep records and writes the file.
func (m *measurement) sweep(ctx context.Context, c *console, line sound.Line) error {
	bar := newLevelBar(c.screen)
	took, err := take.Sweep(ctx, line, sweepsignal.Signal{
		Lo: m.from.value.SI, Hi: min(m.to.value.SI, 0.45*float64(line.Rate())),
		Duration: m.duration.value.SI, Level: math.Pow(10, m.level.value.SI/20),
	}, bar.show)
	bar.end()
	if err != nil {
		return err
	}
	write := func(w io.WriteSeeker) error { return sweeps.WriteWAV(w, took.Ch1, took.Ch2, took.Rate) }
	if err := writeFile(m.out.file, m.out.force, write); err != nil {
		return keptElsewhere(write, err)
	}
	for _, n := range took.Found {
		said := wording.Notice(*n)
		fmt.Fprintf(c.err, "note: %s\nhint: %s\n", said.Message, said.Hint)
	}
	_, err = fmt.Fprintf(c.out, "%s: %.1f s at %d Hz, 24 bit; input 1 peaks at %s below full scale, input 2 at %s\n\nnext: conewright fit %s --resistor OHM\n",
		m.out.file, float64(len(took.Ch1))/float64(took.Rate), took.Rate, below(took.Peak[0]), below(took.Peak[1]), m.out.file)
	return err
}

// keptElsewhere keeps a sweep that cannot be written where it was wanted in the folder for
// temporary files, and returns an error that says both. Who ended the program wants no file.
func keptElsewhere(write func(io.WriteSeeker) error, why error) error {
	var n *notice.Notice
	if errors.As(why, &n) && n.Code == "save-interrupted" {
		return why
	}
	path := filepath.Join(os.TempDir(), time.Now().Format("conewright-sweep-20060102-150405.wav"))
	if writeFile(path, false, write) != nil {
		return why
	}
	message, _ := wording.Error(why)
	return notice.New("sweep-elsewhere", notice.Facts{"why": message, "path": path})
}

// below is a level as decibels below full scale.
func below(level float64) string {
	return fmt.Sprintf("%.1f dB", math.Abs(20*math.Log10(max(level, 1e-7))))
}

// listDevices prints what can play and record.
func listDevices(w io.Writer, system sound.System, d sound.Devices) error {
	fmt.Fprintf(w, "%s\n", system.Name())
	for _, part := range []struct {
		title string
		list  []sound.Device
	}{{"Outputs", d.Outputs}, {"Inputs", d.Inputs}} {
		fmt.Fprintf(w, "\n%s\n", part.title)
		if len(part.list) == 0 {
			fmt.Fprintln(w, "  none")
		}
		for _, e := range part.list {
			marks := fmt.Sprintf("%d channels", e.Channels)
			if e.Channels == 1 {
				marks = "1 channel"
			}
			if e.Usual {
				marks += ", the usual one"
			}
			if e.Loop {
				marks += ", hears an output and no bench"
			}
			if _, err := fmt.Fprintf(w, "  %s\n      %s (%s)\n", e.ID, e.Name, marks); err != nil {
				return err
			}
		}
	}
	return nil
}

// chooseDevices finds the output and the input that the text names; "" are the usual ones.
func chooseDevices(d sound.Devices, text string) (output, input string, err error) {
	if text == "" {
		return "", "", nil
	}
	out, in, two := strings.Cut(text, ",")
	if !two {
		in = out
	}
	if output, err = oneDevice(d.Outputs, out, "output"); err != nil {
		return "", "", err
	}
	input, err = oneDevice(d.Inputs, in, "input")
	return output, input, err
}

// oneDevice is the device of that ID, or the only one whose ID or name holds the word. Loops
// are named in full.
func oneDevice(list []sound.Device, word, what string) (string, error) {
	if slices.ContainsFunc(list, func(d sound.Device) bool { return d.ID == word }) {
		return word, nil
	}
	var found []string
	for _, d := range list {
		if !d.Loop && strings.Contains(strings.ToLower(d.ID+" "+d.Name), strings.ToLower(word)) {
			found = append(found, d.ID)
		}
	}
	switch len(found) {
	case 0:
		return "", notice.New("sound-unknown-device", notice.Facts{"what": what, "device": word})
	case 1:
		return found[0], nil
	}
	return "", notice.New("sound-several-devices", notice.Facts{"what": what, "device": word, "found": strings.Join(found, ", ")})
}

// levelBar shows on a terminal how loud both inputs are; anywhere else it is silent.
type levelBar struct {
	progress
	peak [2]float64 // since it was shown
}

func newLevelBar(w io.Writer) *levelBar { return &levelBar{progress: *newProgress(w, 0)} }

func (l *levelBar) show(b take.Block) {
	for c, p := range b.Peak {
		l.peak[c] = max(l.peak[c], p)
	}
	if l.w == nil || time.Since(l.shown) < 100*time.Millisecond {
		return
	}
	l.shown, l.units = time.Now(), 1
	fmt.Fprintf(l.w, "\r%s", levelLine(b, l.peak))
	l.peak = [2]float64{}
}

// levelLine is one line: how far the sweep is and how loud both inputs are.
func levelLine(b take.Block, peak [2]float64) string {
	at := "waiting "
	if b.Heard {
		at = fmt.Sprintf("%5.0f Hz", b.Passing)
	}
	for c, p := range peak {
		db := 20 * math.Log10(max(p, 1e-7))
		const cells = 20
		full := int(max(0, min(cells, (db+60)/60*cells)))
		note := "      "
		if p > 0.98 {
			note = " LOUD!"
		}
		at += fmt.Sprintf("   %d [%s%s]%s", c+1, strings.Repeat("#", full), strings.Repeat(".", cells-full), note)
	}
	return at
}
