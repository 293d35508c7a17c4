package connected

import (
	"math"
	"math/cmplx"
	"slices"

	"conewright/ts/measured"
	"conewright/ts/notice"
	"conewright/ts/param"
)

// clipped finds a peak that was cut at the top of a meter's range: the highest value stands
// in three points or more, and the flanks beside them are so steep that a peak would have
// risen above it. A parabola that enters with the slopes of the flanks rises by a quarter
// of slope times width. Derived here.
//
// Steps of coarse lines give equal points as well, but as many beside the peak. Where there is a phase, fewer points tell.
func clipped(z measured.Impedance) *notice.Notice {
	const points, rise = 3, 0.02
	size := sizes(z)
	top := -1
	for i, v := range size { // the first of the highest
		if top < 0 || v > size[top] && !same(v, size[top]) {
			top = i
		}
	}
	end := top
	for end+1 < len(size) && same(size[end+1], size[top]) {
		end++
	}
	run := end - top + 1
	if top == 0 || end == len(size)-1 {
		return nil
	}
	found := notice.New("peak-clipped", notice.Facts{"points": run, "impedance": size[top], "from": z.Freq[top], "to": z.Freq[end]})
	if offCircle(z, size, top, end) {
		return found
	}
	if run < points {
		return nil
	}
	if beside := max(equal(size, top-1, -1), equal(size, end+1, +1)); run <= 2*beside {
		return nil
	}
	if !z.MagnitudeOnly && z.Z[top] == z.Z[end] {
		return nil // one value held, phase and all
	}
	// The point beside the run may lie just below the top, so the one after it counts as well.
	steep := func(i, step int) float64 {
		var most float64
		for j := i; j >= 0 && j < len(size) && j != i+2*step; j += step {
			most = max(most, math.Abs(math.Log(size[j]/size[j-step])/math.Log(z.Freq[j]/z.Freq[j-step])))
		}
		return most
	}
	width := math.Log(z.Freq[end] / z.Freq[top])
	if min(steep(top-1, -1), steep(end+1, +1))*width/4 < rise {
		return nil
	}
	return found
}

// offCircle says whether the points from top to end lie inside the circle that those beside them lie on, where the phase
// went on as the magnitude was cut. A resonance beside Re is a circle through Re,
//
//	Z - Re = R/(1 + jQ(f/f1 - f1/f)),  R = |Z - Re|^2/Re(Z - Re)
//
// Textbook (admittance of a resonant circuit, turned round).
func offCircle(z measured.Impedance, size []float64, top, end int) bool {
	const (
		beside  = 2    // points on either side
		inside  = 0.05 // of ln R
		scatter = 2    // times that among those beside
	)
	if z.MagnitudeOnly || top < beside || end+beside >= len(size) {
		return false
	}
	re := complex(slices.Min(size), 0)
	diameter := func(i int) float64 {
		m := z.Z[i] - re
		return math.Log(param.Sq(cmplx.Abs(m)) / real(m)) // NaN beyond the circle
	}
	least, most := math.Inf(1), math.Inf(-1)
	for k := range beside {
		for _, i := range []int{top - 1 - k, end + 1 + k} {
			d := diameter(i)
			least, most = min(least, d), max(most, d)
		}
	}
	deepest := math.Inf(1)
	for i := top; i <= end; i++ {
		deepest = min(deepest, diameter(i))
	}
	deep := least - deepest
	return deep > inside && deep > scatter*(most-least)
}

// same says whether two values are written alike; magnitude and phase turned into a complex
// number and back leave rounding errors.
func same(a, b float64) bool { return math.Abs(a-b) < 1e-9*b }

// equal is how many points from i on in a direction have the value of the point i.
func equal(size []float64, i, step int) int {
	n := 1
	for j := i + step; j >= 0 && j < len(size) && same(size[j], size[i]); j += step {
		n++
	}
	return n
}
