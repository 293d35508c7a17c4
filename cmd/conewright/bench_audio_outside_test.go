//go:build outside

package main

import (
	"bytes"
	"encoding/binary"
	"encoding/json"
	"math"
	"os"
	"path/filepath"
	"testing"

	"conewright/cmd/internal/browser"
	"conewright/cmd/internal/soundserver"
	"conewright/sweeps/bench"
	"conewright/sweeps/virtual"
	"conewright/ts/driver"

	"github.com/chromedp/chromedp"
)

// audioDriver is the driver behind the browser's sound.
var audioDriver = driver.Driver{Re: 5.6, BL: 8, Mms: 0.03, Cms: 0.75e-3, Rms: 1.5, Coil: driver.LossyCoil{K: 0.02, N: 0.7}}

// writeCapture writes what the inputs of the browser record: the sweep of the page through
// the driver, 16 bit at 44.1 kHz, which is what Chromium plays as an input.
func writeCapture(t *testing.T, path string, channels int) {
	t.Helper()
	s := pageSweep
	s.Rate, s.Level = 44100, 0.5
	x, err := s.Samples()
	if err != nil {
		t.Fatal(err)
	}
	rec, err := virtual.Bench{Z: audioDriver.Impedance, Bench: bench.Bench{Resistor: 10}, Flaws: virtual.Flaws{Latency: 2, After: 6, Noise: [2]float64{2e-5, 2e-5}}}.Record(x, s.Rate)
	if err != nil {
		t.Fatal(err)
	}
	ch := [2][]float64{make([]float64, rec.Frames), make([]float64, rec.Frames)}
	if err := rec.Read(ch[0], ch[1], 0); err != nil {
		t.Fatal(err)
	}
	var b bytes.Buffer
	put := func(v any) { binary.Write(&b, binary.LittleEndian, v) }
	size := uint32(2 * channels * rec.Frames)
	b.WriteString("RIFF")
	put(36 + size)
	b.WriteString("WAVEfmt ")
	put(uint32(16))
	put([]uint16{1, uint16(channels)})
	put([]uint32{44100, uint32(44100 * 2 * channels)})
	put([]uint16{uint16(2 * channels), 16})
	b.WriteString("data")
	put(size)
	for i := range ch[0] {
		for c := range channels {
			put(int16(math.Round(32767 * ch[c][i])))
		}
	}
	if err := os.WriteFile(path, b.Bytes(), 0o644); err != nil {
		t.Fatal(err)
	}
}

// capturing starts a browser whose input is the file.
func capturing(t *testing.T, path string) *browser.Browser {
	t.Helper()
	return browser.Start(t, chromedp.Flag("use-fake-ui-for-media-stream", true), chromedp.Flag("use-fake-device-for-media-stream", true),
		chromedp.Flag("use-file-for-fake-audio-capture", path+"%noloop"), chromedp.Flag("mute-audio", false), chromedp.Flag("autoplay-policy", "no-user-gesture-required"))
}

// toSweep goes to the sweep on a page that uses the sound of the browser or of the machine.
func toSweep(t *testing.T, chromium *browser.Browser, ofBrowser bool) (*browser.Page, string) {
	t.Helper()
	var options pageOptions
	options.define(newOptionGroups("bench"))
	options.folder, options.closed, options.browser = filepath.Join(t.TempDir(), "jobs"), true, ofBrowser
	p := chromium.Visit(t, startBench(t, options), browser.View{Width: 1280})
	heading(t, p, "Connect the bench")
	browser.Eval[string](p, `document.querySelector("[name=resistor]").value = "10 ohm"`)
	press(t, p, "Go on to the driver")
	heading(t, p, "Which driver is it?")
	browser.Eval[string](p, `document.querySelector("[name=name]").value = "walnut"`)
	press(t, p, "Go on to the sweep")
	return p, filepath.Join(options.folder, "walnut", "before-free-1.wav")
}

// TestOutsideBenchBrowserSound measures through the audio of Chromium: Re, Fs, Qms and Qes
// within 0.5 % of the driver's.
func TestOutsideBenchBrowserSound(t *testing.T) {
	capture := filepath.Join(t.TempDir(), "capture.wav")
	writeCapture(t, capture, 2)
	p, file := toSweep(t, capturing(t, capture), true)
	sweepGives(t, p, file, 5e-3)
}

// TestOutsideBenchNativeSound measures through PulseAudio with the driver behind it: within
// 0.1 %.
func TestOutsideBenchNativeSound(t *testing.T) {
	soundserver.Pulse(t, virtual.Bench{Z: audioDriver.Impedance, Bench: bench.Bench{Resistor: 10}}, 48000)
	p, file := toSweep(t, browser.Start(t), false)
	sweepGives(t, p, file, 1e-3)
}

// sweepGives sweeps, and holds what is in the file then against the driver, within a part of
// each value: Fs = 1/(2 pi sqrt(Mms Cms)), Qms = 2 pi Fs Mms/Rms and
// Qes = 2 pi Fs Mms Re/BL^2.
func sweepGives(t *testing.T, p *browser.Page, file string, within float64) {
	t.Helper()
	press(t, p, "Start the sweep")
	waitFor(t, p, `document.querySelectorAll("#list li").length === 1 || !document.querySelector("#trouble").hidden`)
	if said := browser.Eval[string](p, `document.querySelector("#trouble-message").textContent`); said != "" {
		t.Fatalf("the page says %s", said)
	}
	// A machine that does not keep up is told of, and spoils no ratio of the channels.
	t.Log(browser.Eval[string](p, `document.querySelector("#found").textContent`))
	var fit struct {
		Parameters map[string]struct{ Value float64 }
	}
	said, _ := conewright(t, 0, "fit", file, "--resistor", "10ohm", "--json")
	if err := json.Unmarshal([]byte(said), &fit); err != nil {
		t.Fatal(err)
	}
	d := audioDriver
	omega := 1 / math.Sqrt(d.Mms*d.Cms)
	for name, want := range map[string]float64{"Re": d.Re, "Fs": omega / (2 * math.Pi), "Qms": omega * d.Mms / d.Rms, "Qes": omega * d.Mms * d.Re / (d.BL * d.BL)} {
		got := fit.Parameters[name].Value
		t.Logf("%s is %g, %.3f %% off", name, got, 100*(got/want-1))
		if !(math.Abs(got/want-1) < within) {
			t.Errorf("%s is %g, want %g", name, got, want)
		}
	}
}

// Chromium offers an input of one channel as two that are the same. The page says what that
// means, and leaves the sweep out.
func TestOutsideBenchBrowserMono(t *testing.T) {
	capture := filepath.Join(t.TempDir(), "capture.wav")
	writeCapture(t, capture, 1)
	p, file := toSweep(t, capturing(t, capture), true)
	press(t, p, "Start the sweep")
	waitFor(t, p, `/both channels record the same signal/i.test(document.querySelector("#found").textContent)`)
	if got := browser.Eval[string](p, `document.querySelector("#list .aside").textContent`); got != "Before, no mass" {
		t.Errorf("left out is %q", got)
	}
	if _, err := os.Stat(file); err != nil {
		t.Errorf("the recording is not kept: %v", err)
	}
}
