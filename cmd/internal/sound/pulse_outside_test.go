//go:build outside

package sound

import (
	"context"
	"testing"
	"time"

	"conewright/cmd/internal/soundserver"
	"conewright/sweeps"
	"conewright/sweeps/bench"
	"conewright/sweeps/signal"
	"conewright/sweeps/virtual"
	"conewright/ts"
	"conewright/ts/driver"
	"conewright/ts/measured"
	"conewright/ts/param"
)

var woofer = driver.Driver{Re: 5.6, BL: 8, Mms: 0.03, Cms: 0.75e-3, Rms: 1.5, Coil: driver.LossyCoil{K: 0.02, N: 0.7}}

func TestOutsidePulseAudioChain(t *testing.T) {
	soundserver.Pulse(t, virtual.Bench{Z: woofer.Impedance, Bench: bench.Bench{Resistor: 10}}, 48000)
	system, err := NewPulse(t.Context())
	if err != nil {
		t.Fatal(err)
	}
	t.Log(system.Name())
	d, err := system.Devices(t.Context())
	t.Logf("%+v %v", d, err)
	line, err := system.Open(t.Context(), "bench_out", "bench_in")
	if err != nil {
		t.Fatal(err)
	}
	x, err := (signal.Signal{Rate: line.Rate(), Duration: 10}).Samples()
	if err != nil {
		t.Fatal(err)
	}
	var ch1, ch2 []float64
	began := time.Now()
	err = line.Run(t.Context(), Play{Samples: x}, func(a, b []float64) error {
		if ch1 == nil {
			t.Log("first data after", time.Since(began), len(a))
		}
		ch1, ch2 = append(ch1, a...), append(ch2, b...)
		if len(ch1) > len(x)+3*line.Rate() {
			return Enough
		}
		return nil
	})
	t.Log(time.Since(began), len(ch1))
	if err != nil {
		t.Fatal(err)
	}
	rec, err := bench.NewRecording(ch1, ch2, float64(line.Rate()), "x")
	z, err := sweeps.Measure(rec, bench.Bench{Resistor: 10})
	if err != nil {
		t.Fatal(err)
	}
	f, err := ts.Fit([]measured.Sweep{{Impedance: z}}, measured.Conditions{})
	if err != nil {
		t.Fatal(err)
	}
	for _, e := range f.Parameters.All() {
		if e.ID <= param.Qts {
			t.Log(e.ID, e.Value)
		}
	}
	_ = context.Canceled
}
