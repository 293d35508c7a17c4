package checks

import (
	"math"
	"slices"

	"conewright/sweeps/bench"
	"conewright/sweeps/internal/spectra"
	"conewright/ts/measured"
	"conewright/ts/notice"

	"gonum.org/v1/gonum/floats"
)

// LevelOf returns how loud the driver was played to. Blocks without signal do not count, as recordings are of any length.
func LevelOf(e *spectra.Result, b bench.Bench) measured.Level {
	var rms [2]float64
	n := 0.0
	on, blocks := e.Stats[0].Active(), [2][]float64{e.Stats[0].Blocks(), e.Stats[1].Blocks()}
	for i := range min(len(blocks[0]), len(blocks[1])) {
		if on[i] {
			n++
			rms[0] += blocks[0][i]
			rms[1] += blocks[1][i]
		}
	}
	if n == 0 {
		return measured.Level{}
	}
	from, to := math.Sqrt(rms[0]/n), math.Sqrt(rms[1]/n)
	v := to // at the node
	switch b.Wiring {
	case bench.DriverFirst:
		v = math.Sqrt(max(0, from*from-to*to)) // about, where the two are not in phase
	case bench.Probes:
		v = from
	}
	if b.FullScale == 0 {
		return measured.Level{Value: v}
	}
	return measured.Level{Value: v * b.FullScale, Volts: true}
}

// volts judges the level at the driver, where full scale is known in volts; nil when there
// is nothing to say.
func volts(e *spectra.Result, b bench.Bench) *notice.Notice {
	if b.FullScale == 0 {
		return nil
	}
	v := LevelOf(e, b).Value
	switch {
	case v > highVolts:
		return notice.New("level-high", notice.Facts{"voltage": v})
	case v < lowVolts:
		return notice.New("level-low", notice.Facts{"voltage": v})
	}
	return nil
}

// levelStep looks for a time at which both channels become louder or quieter by
// the same factor and stay so: from one twentieth of a second to the next for a
// sweep, over several seconds for noise, whose level is never quite steady.
func levelStep(e *spectra.Result) (at, ratio float64, ok bool) {
	a, b := e.Stats[0].Blocks(), e.Stats[1].Blocks()
	on := e.Stats[0].Active()
	if at, ratio, ok = step(a, b, on, 4, 0.22); ok {
		return at * spectra.BlockSeconds, ratio, true
	}
	const coarse = 10
	var long [2][]float64
	var active []bool
	for i := 0; i+coarse <= min(len(a), len(b)); i += coarse {
		long[0] = append(long[0], floats.Sum(a[i:i+coarse]))
		long[1] = append(long[1], floats.Sum(b[i:i+coarse]))
		active = append(active, !slices.Contains(on[i:i+coarse], false))
	}
	at, ratio, ok = step(long[0], long[1], active, 7, 0.3)
	return at * coarse * spectra.BlockSeconds, ratio, ok
}

// step looks for a lasting step of the powers a and b of two channels and
// returns its place and the factor of the amplitude. It compares so many blocks
// on either side, and asks for a step that stands far out of their scatter.
func step(a, b []float64, on []bool, side int, least float64) (at, ratio float64, ok bool) {
	const (
		agree = 0.08 // difference between the channels
		clear = 10   // standard deviations
	)
	best := least
	for i := side; i+1+side <= min(len(a), len(b)); i++ {
		if slices.Contains(on[i-side:i+1+side], false) {
			continue
		}
		// The step lies in block i.
		da, sa := logStep(a[i-side:i], a[i+1:i+1+side])
		db, sb := logStep(b[i-side:i], b[i+1:i+1+side])
		if size := math.Abs(da); size > best && size > clear*max(sa, sb) && math.Abs(da-db) < agree {
			best, at, ratio, ok = size, float64(i)+0.5, math.Exp(da), true
		}
	}
	return at, ratio, ok
}

// logStep returns the difference of the mean logarithms of the amplitudes after
// and before, and its standard deviation.
func logStep(before, after []float64) (diff, std float64) {
	mean := func(x []float64) (m, v float64) {
		for _, p := range x {
			m += 0.5 * math.Log(p) / float64(len(x))
		}
		for _, p := range x {
			d := 0.5*math.Log(p) - m
			v += d * d / float64(len(x)-1)
		}
		return m, v / float64(len(x))
	}
	m0, v0 := mean(before)
	m1, v1 := mean(after)
	return m1 - m0, math.Sqrt(v0 + v1)
}
