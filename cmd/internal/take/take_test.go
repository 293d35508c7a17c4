package take_test

import (
	"context"
	"errors"
	"math"
	"slices"
	"testing"

	"conewright/cmd/internal/sound"
	"conewright/cmd/internal/take"
	"conewright/sweeps"
	"conewright/sweeps/bench"
	"conewright/sweeps/signal"
	"conewright/sweeps/virtual"
	"conewright/ts"
	"conewright/ts/driver"
	"conewright/ts/measured"
	"conewright/ts/notice"
	"conewright/ts/param"
)

var (
	woofer = driver.Driver{Re: 5.6, BL: 8, Mms: 0.03, Cms: 0.75e-3, Rms: 1.5, Coil: driver.LossyCoil{K: 0.02, N: 0.7}}
	wired  = bench.Bench{Resistor: 10}
	sweep  = signal.Signal{Hi: 4000, Duration: 8, Level: 0.02}
)

func connect(t *testing.T, flaws virtual.Flaws, happenings ...sound.Happening) sound.Line {
	t.Helper()
	v := &sound.Virtual{RateHz: 48000, Amp: 10}
	v.Connect(virtual.Bench{Z: woofer.Impedance, Bench: wired, Flaws: flaws}, happenings...)
	line, err := v.Open(t.Context(), "", "")
	if err != nil {
		t.Fatal(err)
	}
	return line
}

// What is recorded gives the values of the driver that the bench was made of:
// Fs = 1/(2 pi sqrt(Mms Cms)), Qms = 2 pi Fs Mms/Rms, Qes = 2 pi Fs Mms Re/BL^2.
func TestSweepMeasuresTheDriver(t *testing.T) {
	parts, last := 0, 0.0
	got, err := take.Sweep(t.Context(), connect(t, virtual.Flaws{Noise: [2]float64{1e-6, 1e-6}}), sweep, func(b take.Block) {
		if b.Part < last {
			t.Errorf("the sweep goes back from %g to %g", last, b.Part)
		}
		parts, last = parts+1, b.Part
	})
	if err != nil {
		t.Fatal(err)
	}
	if len(got.Found) > 0 || parts < 100 || last != 1 {
		t.Errorf("found %v in %d blocks that end at %g", got.Found, parts, last)
	}
	rec, err := bench.NewRecording(got.Ch1, got.Ch2, float64(got.Rate), "sweep")
	if err != nil {
		t.Fatal(err)
	}
	z, err := sweeps.Measure(rec, wired)
	if err != nil {
		t.Fatal(err)
	}
	f, err := ts.Fit([]measured.Sweep{{Impedance: z}}, measured.Conditions{})
	if err != nil {
		t.Fatal(err)
	}
	fs := 1 / (2 * math.Pi * math.Sqrt(woofer.Mms*woofer.Cms))
	for id, want := range map[param.ID]float64{param.Re: 5.6, param.Fs: fs,
		param.Qms: 2 * math.Pi * fs * woofer.Mms / woofer.Rms, param.Qes: 2 * math.Pi * fs * woofer.Mms * woofer.Re / (woofer.BL * woofer.BL)} {
		e, _ := f.Parameters.Get(id)
		if math.Abs(e.Value/want-1) > 1e-3 {
			t.Errorf("%v is %g, want %g", id, e.Value, want)
		}
	}
}

func TestSweepTellsAndEnds(t *testing.T) {
	for _, c := range []struct {
		name       string
		flaws      virtual.Flaws
		happenings []sound.Happening
		found      []string
		code       string // of the error
	}{
		{name: "a contact that opens", happenings: []sound.Happening{{After: 4, Do: func(s *virtual.Stream) { s.Open(0.01) }}}, found: []string{"live-contact"}},
		{name: "a card that is pulled out", happenings: []sound.Happening{{After: 4, Pull: true}}, code: "sound-gone"},
		{name: "nothing connected", flaws: virtual.Flaws{Dead: [2]bool{true, true}}, code: "sound-no-signal"},
	} {
		got, err := take.Sweep(t.Context(), connect(t, c.flaws, c.happenings...), sweep, nil)
		var n *notice.Notice
		if errors.As(err, &n) != (c.code != "") || n != nil && n.Code != c.code {
			t.Errorf("%s: %v, want %q", c.name, err, c.code)
			continue
		}
		var codes []string
		if got != nil {
			for _, f := range got.Found {
				codes = append(codes, f.Code)
			}
		}
		if !slices.Equal(codes, c.found) {
			t.Errorf("%s: found %q, want %q", c.name, codes, c.found)
		}
	}
}

func TestSweepIsStopped(t *testing.T) {
	why := errors.New("the page is gone")
	ctx, stop := context.WithCancelCause(t.Context())
	blocks := 0
	got, err := take.Sweep(ctx, connect(t, virtual.Flaws{}), sweep, func(take.Block) {
		if blocks++; blocks == 10 {
			stop(why)
		}
	})
	if got != nil || !errors.Is(err, why) || blocks != 10 {
		t.Errorf("%v after %d blocks", err, blocks)
	}
}
