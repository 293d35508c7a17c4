package measured

import (
	"math"
	"slices"

	"conewright/ts/notice"
)

// AsMeasured returns the points that were measured, where a program has filled a finer
// grid of frequencies from the lines of a spectrum: rows that hold the value of a line are
// one point at the frequency of that line. step is the distance of the lines in Hz, 0 where no line is held. A sweep that came with its noise or with errors of the bench was measured by us and is returned as it is.
//
// Lines lie at the multiples of step; a row takes the line below or the nearest one, as the rows say at which the value changes. They leave the
// step open by a thousandth or two; within it the step is taken with which the curve is smoothest.
//
// Source: seen in measured files; common practice of transforms.
func (z Impedance) AsMeasured() (out Impedance, step float64) {
	if z.Sigma != nil || z.Systematic != nil {
		return z, 0
	}
	if c, ok := z.heldFrom(); ok {
		out = z.atLines(c)
		out.Warnings = append(slices.Clone(z.Warnings),
			*notice.New("lines-held", notice.Facts{"rows": z.Len(), "points": out.Len(), "step": c.step}).In(z.Source))
		return out, c.step
	}
	return z, 0
}

// comb are the lines of a spectrum, and which of them a row holds: line
// floor(f/step + shift), at least the first.
type comb struct{ step, shift float64 }

// line returns the number of the line that a row at f (Hz) holds.
func (c comb) line(f float64) float64 { return max(1, math.Floor(f/c.step+c.shift)) }

// heldFrom finds the comb from the rows at which the value changes.
func (z Impedance) heldFrom() (comb, bool) {
	const fewest = 6 // rows that hold the value of the row before
	// A run of equal rows is narrower than a step, and with the rows on either side wider.
	lo, hi, held, last := 0.0, math.Inf(1), 0, 0
	for i := 0; i < z.Len(); {
		j := i
		for j+1 < z.Len() && z.Z[j+1] == z.Z[i] {
			j++
		}
		if j > i {
			held += j - i
			last = j
			if i > 0 {
				lo = max(lo, z.Freq[j]-z.Freq[i])
				if j+1 < z.Len() {
					hi = min(hi, z.Freq[j+1]-z.Freq[i-1])
				}
			}
		}
		i = j + 1
	}
	if held < fewest || !(lo < hi) || math.IsInf(hi, 1) {
		return comb{}, false
	}
	n := min(last+2, z.Len()) // further up every row has a line of its own
	most := n/12 + 1          // the steps tried here are so far apart that at the last rows none need fit
	var best comb
	for _, shift := range []float64{0, 0.5} {
		// The steps that fit best lie together: their middle.
		fewestOff, sum, count := most, 0.0, 0.0
		for step := lo; step <= hi; step *= 1.0005 {
			off := z.off(comb{step: step, shift: shift}, n, fewestOff)
			if off < fewestOff {
				fewestOff, sum, count = off, 0, 0
			}
			if off == fewestOff {
				sum += step
				count++
			}
		}
		if count > 0 && fewestOff < most || count > 0 && best.step == 0 {
			best, most = comb{step: sum / count, shift: shift}, fewestOff
		}
	}
	if best.step == 0 {
		return comb{}, false
	}
	return z.smoothest(best, n, n/50+1)
}

// off counts among the first n rows those that change where the comb holds them, or hold
// where it changes; it stops above most. The last rows tell most, so they come first.
func (z Impedance) off(c comb, n, most int) int {
	off := 0
	k := c.line(z.Freq[n-1])
	for i := n - 1; i > 0 && off <= most; i-- {
		before := c.line(z.Freq[i-1])
		if (k == before) != (z.Z[i] == z.Z[i-1]) {
			off++
		}
		k = before
	}
	return off
}

// atLines returns one point for each line that some row holds, at its frequency.
func (z Impedance) atLines(c comb) Impedance {
	out := z
	out.Freq, out.Z = nil, nil
	before := 0.0
	for i, f := range z.Freq {
		if k := c.line(f); k > before {
			out.Freq, out.Z = append(out.Freq, k*c.step), append(out.Z, z.Z[i])
			before = k
		}
	}
	return out
}
