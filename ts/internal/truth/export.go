package truth

import (
	"math"
	"math/cmplx"
	"math/rand/v2"
	"slices"
)

// Fill is how a table's grid gets its values from the lines that were measured.
type Fill int

const (
	Measured    Fill = iota // measured at the frequencies of the grid
	HoldLower               // the value of the line below: steps, several rows alike
	HoldNearest             // the value of the nearest line
	Linear                  // linear between lines, magnitude and phase apart
)

// Export is what a program does to a measurement before it writes it into a table.
type Export struct {
	Bin    float64 // Hz between the lines of its spectrum
	Fill   Fill
	Smooth float64 // width in octaves over which magnitude and phase are averaged, 0: none
	Top    float64 // ohm at the top of the range, where |Z| is clipped; 0: none
}

// Table is a sweep as it stands in a file.
type Table struct {
	F     []float64 // Hz
	Mag   []float64 // ohm
	Phase []float64 // degrees
}

// Rows measures p with a rig as the export needs it, and fills the grid (Hz).
func (e Export) Rows(rng *rand.Rand, rig Rig, p OnePort, grid []float64) Table {
	// All frequencies that some row needs, each measured once: a step has one value.
	need := map[float64]int{}
	var f []float64
	for _, at := range grid {
		for _, x := range e.lines(at) {
			for _, y := range e.window(x) {
				if _, ok := need[y]; !ok {
					need[y] = 0
					f = append(f, y)
				}
			}
		}
	}
	slices.Sort(f)
	for i, x := range f {
		need[x] = i
	}
	s := rig.Measure(rng, p, f)
	var t Table
	for _, at := range grid {
		lines := e.lines(at)
		mag, phase := e.average(s, need, lines[0])
		if len(lines) == 2 {
			m2, p2 := e.average(s, need, lines[1])
			u := (at - lines[0]) / (lines[1] - lines[0])
			mag, phase = mag+u*(m2-mag), phase+u*turn(p2-phase)
		}
		if e.Top > 0 {
			mag = min(mag, e.Top)
		}
		t.F, t.Mag, t.Phase = append(t.F, at), append(t.Mag, mag), append(t.Phase, phase)
	}
	return t
}

// lines are the measured frequencies that a row takes its value from.
func (e Export) lines(at float64) []float64 {
	if e.Fill == Measured || e.Bin == 0 {
		return []float64{at}
	}
	n := at / e.Bin
	switch e.Fill {
	case HoldNearest:
		return []float64{max(1, math.Round(n)) * e.Bin}
	case Linear:
		if low := math.Floor(n); low >= 1 && low != n {
			return []float64{low * e.Bin, (low + 1) * e.Bin}
		}
	}
	return []float64{max(1, math.Floor(n+1e-9)) * e.Bin}
}

// window are the measured frequencies over which the value at a line is averaged; at most 21 of them.
func (e Export) window(at float64) []float64 {
	if e.Smooth == 0 {
		return []float64{at}
	}
	low, high := at*math.Exp2(-e.Smooth/2), at*math.Exp2(e.Smooth/2)
	step := max(e.Bin, (high-low)/21)
	if e.Bin > 0 { // lines of the spectrum only
		step = math.Ceil(step/e.Bin) * e.Bin
	}
	var f []float64
	for k := -math.Floor((at - low) / step); at+k*step <= high; k++ {
		f = append(f, at+k*step)
	}
	return f
}

// average is magnitude in ohm and phase in degrees at a line.
func (e Export) average(s Sweep, index map[float64]int, at float64) (mag, phase float64) {
	w := e.window(at)
	first := cmplx.Phase(s.Z[index[w[0]]]) * 180 / math.Pi
	for _, f := range w {
		z := s.Z[index[f]]
		mag += cmplx.Abs(z) / float64(len(w))
		phase += turn(cmplx.Phase(z)*180/math.Pi-first) / float64(len(w))
	}
	return mag, turn(first + phase)
}

// turn brings an angle in degrees to -180 to 180.
func turn(degrees float64) float64 { return math.Remainder(degrees, 360) }

// DrawExport is a program that fills a grid from coarse lines, in one of the ways that are seen: half of them
// smooth over a 24th or a 12th of an octave.
func DrawExport(rng *rand.Rand) Export {
	e := Export{Bin: betweenLog(rng, 0.25, 1), Fill: []Fill{HoldLower, HoldNearest, Linear}[rng.IntN(3)]}
	if chance(rng, 0.5) {
		e.Smooth = []float64{1. / 48, 1. / 24, 1. / 12}[rng.IntN(3)]
	}
	return e
}
